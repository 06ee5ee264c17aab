"""The result of a check as JSON: the contract that other programs read."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from hosewright import __version__
from hosewright.checks.check import CheckResult, RunResult
from hosewright.checks.finding import Finding, Remedy
from hosewright.checks.run import JobWarning
from hosewright.documents.assembly_data import assembly_data
from hosewright.documents.assumptions import job_assumptions, run_assumptions
from hosewright.documents.joint_values import read_pose
from hosewright.words import as_data, cited_data, read, read_difference, reading

Limits = Mapping[str, list[dict[str, Any]]]
"""By run: name, kind, holds, rule, subject, measure, limit, unit and margin of each limit."""

FORMAT, VERSION = "hosewright-result", 1


def as_dict(
    result: CheckResult,
    job_name: str,
    input_hash: str,
    catalog: str,
    numbers: Mapping[str, str] | None = None,
    limits: Limits | None = None,
) -> dict[str, Any]:
    """The result as plain data, in mm, degrees, bar and so on, numbers rounded once and for all.

    Parameters
    ----------
    result : CheckResult
        Of ``check``.
    job_name, input_hash, catalog : str
        File of the job, hash of all that it says, version of the catalog.
    numbers : mapping, optional
        Assembly numbers by run.
    limits : mapping, optional
        Of the runs that were planned, the limits at which their plans were tried.
    """
    named, tried = numbers or {}, limits or {}
    return {
        "format": FORMAT,
        "version": VERSION,
        "program": f"hosewright {__version__}",
        "catalog": catalog,
        "job": job_name,
        "title": result.job.title,
        "input_hash": input_hash,
        "not_checked": list(result.not_checked),
        "warnings": [_warning(warning) for warning in result.job.warnings],
        "assumptions": job_assumptions(result),
        "runs": [_run(run, result, named.get(run.run.name), tried.get(run.run.name)) for run in result.runs],
    }


def as_text(
    result: CheckResult,
    job_name: str,
    input_hash: str,
    catalog: str,
    numbers: Mapping[str, str] | None = None,
    limits: Limits | None = None,
) -> str:
    """The result as JSON text; the same input gives the same bytes."""
    data = as_dict(result, job_name, input_hash, catalog, numbers, limits)
    return json.dumps(data, indent=2, ensure_ascii=False) + "\n"


def _run(
    run: RunResult, result: CheckResult, number: str | None, limits: list[dict[str, Any]] | None
) -> dict[str, Any]:
    return {
        "name": run.run.name,
        "status": "solved" if run.solved.solved else "not solved",
        "assembly": assembly_data(run, result, number),
        "assumptions": run_assumptions(run),
        "limits": limits,
        "findings": [_finding(finding, run, result) for finding in run.findings],
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
        "at_least": finding.at_least,
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
        "source_said": cited_data(finding.source),
        "text": finding.text,
        "said": as_data(finding.said),
        "remedy": None if finding.remedy is None else _remedy(finding.remedy),
    }


def _warning(warning: JobWarning) -> dict[str, Any]:
    return {"text": str(warning), "said": as_data(warning.said), "run": warning.run, "stops": warning.stops}


def _remedy(remedy: Remedy) -> dict[str, Any]:
    change = None if remedy.path is None else {"path": remedy.path, "value": remedy.value}
    said = {"text": remedy.text, "said": as_data(remedy.said)}
    return said | {"change": change, "tried": remedy.tried, "verified": remedy.verified}
