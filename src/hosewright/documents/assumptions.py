"""What a result takes for granted, as plain data: lengths, stiffness, slopes, errors, figures of the profile."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from hosewright.catalog import TORSION_OVER_BENDING
from hosewright.checks.check import CheckResult, RunResult
from hosewright.checks.profile import Profile
from hosewright.checks.solve import LENGTHS
from hosewright.words import read

UNITS = {
    "m": ("mm", "length"),
    "rad": ("deg", "angle"),
    "rad/m": ("deg/m", "twist"),
    "Pa": ("bar", "pressure"),
    "K": ("°C", "temperature"),
}
"""Units of the profile to those of the contract, and their kind; the rest are plain factors."""

OF_THE_SEARCH = ("cost_",)
"""How figures begin that a check does not use."""

STIFFNESS_DECIMALS = 2


def job_assumptions(result: CheckResult) -> dict[str, Any]:
    """What goes for all runs."""
    job = result.job
    return {
        "attitude_deg": read(job.attitude, "angle"),
        "port_error_mm": read(job.port_error, "length"),
        "port_angle_error_deg": read(job.port_angle_error, "angle"),
        "poses": len(result.poses),
        "torsional_over_bending_stiffness": TORSION_OVER_BENDING,
        "profile": profile_data(job.profile),
    }


def run_assumptions(run: RunResult) -> dict[str, Any]:
    """What goes for one run: stiffness of its hose, and the free length of each span in the three states."""
    hose = run.run.assembly.hose
    source = hose.sources.get("bending_stiffness")
    stiffness = hose.bending_stiffness
    return {
        "bending_stiffness_nm2": None if stiffness is None else round(stiffness, STIFFNESS_DECIMALS),
        "bending_stiffness_source": None if source is None else str(source),
        "spans": [
            {"span": span.name, **{f"{name}_mm": read(span.lengths[k], "length") for k, name in enumerate(LENGTHS)}}
            for span in run.solved.spans
        ],
    }


def profile_data(profile: Profile) -> dict[str, Mapping[str, Any]]:
    """Figures of a profile by name, in the units of a job file."""
    return {
        name: _figure(figure.value, figure.unit) | {"source": str(figure.source)}
        for name, figure in profile.figures.items()
        if not name.startswith(OF_THE_SEARCH)
    }


def _figure(value: float, unit: str) -> dict[str, Any]:
    if unit in UNITS:
        shown, kind = UNITS[unit]
        return {"value": read(value, kind), "unit": shown}
    return {"value": value, "unit": "" if unit == "-" else unit}
