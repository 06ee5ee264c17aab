"""The result of a check as JSON: the contract that other programs read."""

from __future__ import annotations

import json
import math
from typing import Any

from hosewright import __version__
from hosewright.assembly import ORIENTATION_CONVENTION, End
from hosewright.checks.check import CheckResult, RunResult
from hosewright.checks.finding import Finding, Remedy
from hosewright.documents.quantities import read, read_difference, read_pose, reading

FORMAT, VERSION = "hosewright-result", 1


def as_dict(result: CheckResult, job_name: str, input_hash: str, catalog: str) -> dict[str, Any]:
    """The result as plain data, in mm, degrees, bar and so on, numbers rounded once and for all.

    Parameters
    ----------
    result : CheckResult
        Of ``check``.
    job_name, input_hash, catalog : str
        File of the job, hash of all that it says, version of the catalog.
    """
    return {
        "format": FORMAT,
        "version": VERSION,
        "program": f"hosewright {__version__}",
        "catalog": catalog,
        "job": job_name,
        "input_hash": input_hash,
        "not_checked": list(result.not_checked),
        "warnings": list(result.job.warnings),
        "runs": [_run(run, result) for run in result.runs],
    }


def as_text(result: CheckResult, job_name: str, input_hash: str, catalog: str) -> str:
    """The result as JSON text; the same input gives the same bytes."""
    return json.dumps(as_dict(result, job_name, input_hash, catalog), indent=2, ensure_ascii=False) + "\n"


def _run(run: RunResult, result: CheckResult) -> dict[str, Any]:
    assembly, solved, machine = run.run.assembly, run.solved, result.job.machine
    return {
        "name": run.run.name,
        "status": "solved" if solved.solved else "not solved",
        "assembly": {
            "hose": assembly.hose.name,
            "overall_length_mm": read(assembly.overall_length, "length"),
            "cut_length_mm": read(assembly.cut_length, "length"),
            "free_length_mm": read(assembly.free_length, "length"),
            "orientation_angle_deg": _orientation(run),
            "orientation_convention": ORIENTATION_CONVENTION,
            "fitting_pose": read_pose(solved.fitting_pose, machine),
            "ends": [_end(assembly.a), _end(assembly.b)],
            "clamps": [
                {"mount": clamp.mount, "at_mm": read(clamp.at, "length"), "hold": str(clamp.hold)}
                for clamp in run.run.clamps
            ],
        },
        "findings": [_finding(finding, run, result) for finding in run.findings],
    }


def _orientation(run: RunResult) -> float | None:
    # matters where both ends are bent only: as built, else as the fitting pose asks
    assembly = run.run.assembly
    if min(assembly.a.form.exit_angle, assembly.b.form.exit_angle) <= 0.0:
        return None
    built = assembly.orientation_angle
    return read((run.solved.orientation if built is None else built) % math.tau, "angle")


def _end(end: End) -> dict[str, Any]:
    return {
        "form": end.form.name,
        "clock_deg": read(end.clock, "angle"),
        "connection": end.form.connection,
        "adapters": [{"name": adapter.name, "clock_deg": read(clock, "angle")} for adapter, clock in end.adapters],
    }


def _finding(finding: Finding, run: RunResult, result: CheckResult) -> dict[str, Any]:
    place, kind = finding.place, finding.kind
    return {
        "id": f"{run.run.name}/{finding.key}".replace(" ", "-"),
        "rule": finding.rule,
        "subject": finding.subject,
        "measure": read(finding.measure, kind),
        "limit": read(finding.limit, kind),
        "advice_limit": read(finding.advice_limit, kind),
        "unit": reading(kind).unit,
        "margin": read_difference(finding.margin, kind),
        "verdict": str(finding.verdict),
        "confidence": None if finding.confidence is None else str(finding.confidence),
        "span": place.span or None,
        "at_mm": read(place.at, "length"),
        "pose": read_pose(place.pose, result.job.machine),
        "path": place.path,
        "path_at": None if place.path_at is None else round(place.path_at, 4),
        "state": place.state or None,
        "source": None if finding.source is None else str(finding.source),
        "text": finding.text,
        "remedy": None if finding.remedy is None else _remedy(finding.remedy),
    }


def _remedy(remedy: Remedy) -> dict[str, Any]:
    change = None if remedy.path is None else {"path": remedy.path, "value": remedy.value}
    return {"text": remedy.text, "change": change, "tried": remedy.tried, "verified": remedy.verified}
