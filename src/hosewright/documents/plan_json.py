"""A plan as JSON: the contract of a check, and with it what else was tried and why this was chosen."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from hosewright.checks.finding import Finding
from hosewright.documents import result_json
from hosewright.documents.assembly_data import parts_data
from hosewright.jobfile import least, limits_list
from hosewright.search.bounds import Bound
from hosewright.search.candidates import Refused
from hosewright.search.plan import Alternative, Plan, RunPlan
from hosewright.search.robust import Case
from hosewright.words import read

NO_CANDIDATE = "no candidate"
"""Status of a run for which the catalog holds nothing; its assembly is ``None``."""
NOTHING: dict[str, Any] = {"assembly": None, "assumptions": None, "limits": None, "findings": []}


def as_dict(
    plan: Plan,
    job_name: str,
    input_hash: str,
    catalog: str,
    numbers: Mapping[str, str],
    nearest: Mapping[str, str],
) -> dict[str, Any]:
    """The plan as plain data, in the units of the contract.

    Parameters
    ----------
    plan
        With findings of the assemblies as they are written.
    job_name, input_hash, catalog
        File of the job, hash of all that it says, version of the catalog.
    numbers
        Assembly numbers by run.
    nearest
        By run for which the catalog holds nothing, what comes nearest.
    """
    limits = {run.request.name: limits_list(run.cases) for run in plan.runs}
    data = result_json.as_dict(plan.result, job_name, input_hash, catalog, numbers, limits)
    checked = {run["name"]: run for run in data.pop("runs")}
    runs = [_run(run, checked.get(run.request.name), nearest.get(run.request.name)) for run in plan.runs]
    return data | {"order": list(plan.order), "complete": plan.complete, "passed": plan.passed, "runs": runs}


def as_text(data: Mapping[str, Any]) -> str:
    """Plain data as JSON text; the same input gives the same bytes."""
    return json.dumps(data, indent=2, ensure_ascii=False) + "\n"


def _run(run: RunPlan, checked: Mapping[str, Any] | None, nearest: str | None) -> dict[str, Any]:
    data = checked or {"name": run.request.name, "status": NO_CANDIDATE, **NOTHING}
    return {
        **data,
        "passed": run.passed,
        "complete": run.complete,
        "cost": round(run.cost, 4),
        "tried": run.tried,
        "nearest": nearest,
        "bounds": {_key(bound): _bound(bound) for bound in run.bounds},
        "robust": [_case(case) for case in run.cases],
        "alternatives": [_alternative(other, run.cost) for other in run.alternatives],
        "refused": [_refused(one) for one in run.refused],
    }


def _key(bound: Bound) -> str:
    return bound.name.replace(" ", "_") + "_mm"


def _bound(bound: Bound) -> dict[str, Any]:
    return {"value": read(bound.value, "length"), "proven": bound.proven, "text": bound.text}


def _case(case: Case) -> dict[str, Any]:
    return {
        "name": case.name,
        "kind": case.kind,
        "passed": case.passed,
        "solved": case.solved,
        "worst": None if case.worst is None else _worst(case.worst),
    }


def _worst(finding: Finding) -> dict[str, Any]:
    return {**least(finding), "verdict": str(finding.verdict), "text": finding.text}


def _alternative(other: Alternative, cost: float) -> dict[str, Any]:
    run = other.run
    clamps = [{"mount": clamp.mount, "at_mm": read(clamp.at, "length")} for clamp in run.clamps]
    return {
        "assembly": parts_data(run.assembly) | {"clamps": clamps, "sleeve": run.sleeve},
        "cost": round(other.cost, 4),
        "cost_more": round(other.cost - cost, 4),
    }


def _refused(one: Refused) -> dict[str, Any]:
    return {"family": one.family, "rule": one.rule, "text": one.text}
