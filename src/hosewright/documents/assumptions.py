"""What a result takes for granted, as plain data: motion, data of the hoses, stiffness, slopes, errors, the profile."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any

from hosewright.assembly import Hose
from hosewright.catalog import TORSION_OVER_BENDING
from hosewright.checks.check import CheckResult, RunResult
from hosewright.checks.profile import Profile
from hosewright.checks.solve import LENGTHS
from hosewright.documents.joint_values import read_pose, slides
from hosewright.duty import Duty, highest_flow, pressure_demand
from hosewright.machine import Machine
from hosewright.words import cited_data, read, reading

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
FLOW_DECIMALS, RATIO_DECIMALS = 2, 4

HOSE_FIGURES = {
    "inside_diameter": "length",
    "outside_diameter": "length",
    "minimum_bend_radius": "length",
    "max_working_pressure": "pressure",
    "lowest_temperature": "temperature",
    "highest_temperature": "temperature",
}
"""Figures of a hose that the rules rest on, and their kinds; the length change and the mass have none."""


def job_assumptions(result: CheckResult) -> dict[str, Any]:
    """What goes for all runs."""
    job = result.job
    return {
        "attitude_deg": read(job.attitude, "angle"),
        "port_error_mm": read(job.port_error, "length"),
        "port_angle_error_deg": read(job.port_angle_error, "angle"),
        "poses": len(result.poses),
        "motion": motion_data(result),
        "torsional_over_bending_stiffness": TORSION_OVER_BENDING,
        "profile": profile_data(job.profile),
    }


def motion_data(result: CheckResult) -> dict[str, Any]:
    """What moves: paths, every joint with the range that it has and the one that the motion uses, service poses."""
    machine, poses = result.job.machine, result.poses
    ranges, sliding = joint_ranges(machine), slides(machine)
    joints = []
    for name in poses.joints:
        kind = "length" if name in sliding else "angle"
        lowest, highest = (read(value, kind) if math.isfinite(value) else None for value in ranges[name])
        used = poses.of(name)
        joints.append(
            {
                "joint": name,
                "unit": reading(kind).unit,
                "lowest": lowest,
                "highest": highest,
                "from": read(float(used.min()), kind),
                "to": read(float(used.max()), kind),
            }
        )
    service = [read_pose(pose, machine) for pose in result.job.service_poses]
    return {"paths": len(set(poses.path.tolist())), "joints": joints, "service_poses": service}


def joint_ranges(machine: Machine) -> dict[str, tuple[float, float]]:
    """Lowest and highest value of every joint and of every cylinder's stroke. [rad, m]"""
    joints = {body.name: (body.joint.lowest, body.joint.highest) for body in machine.bodies if body.joint is not None}
    return joints | {cylinder.name: (0.0, cylinder.open - cylinder.closed) for cylinder in machine.cylinders}


def run_assumptions(run: RunResult) -> dict[str, Any]:
    """What goes for one run: flow and cylinder, data and stiffness of its hose, length of each span in three states."""
    hose = run.run.assembly.hose
    source = hose.sources.get("bending_stiffness")
    stiffness = hose.bending_stiffness
    return {
        "flow_l_min": _flow(run.run.duty.flow),
        "cylinder": _cylinder(run.run.duty),
        "hose_data": list(_hose_data(hose)),
        "bending_stiffness_nm2": None if stiffness is None else round(stiffness, STIFFNESS_DECIMALS),
        "bending_stiffness_source": None if source is None else str(source),
        "bending_stiffness_source_said": cited_data(source),
        "spans": [
            {"span": span.name, **{f"{name}_mm": read(span.lengths[k], "length") for k, name in enumerate(LENGTHS)}}
            for span in run.solved.spans
        ],
    }


def _flow(flow: float) -> float:
    return round(flow * 6e4, FLOW_DECIMALS)


def _cylinder(duty: Duty) -> dict[str, Any] | None:
    """The side of a cylinder that a line serves, and what it makes of the flow and the pressures of the supply."""
    if duty.cylinder is None:
        return None
    demand = pressure_demand(duty)
    return {
        "bore_mm": read(duty.cylinder.bore, "length"),
        "rod_diameter_mm": read(duty.cylinder.rod_diameter, "length"),
        "side": str(duty.cylinder.side),
        "area_ratio": round(duty.cylinder.area_ratio, RATIO_DECIMALS),
        "flow_l_min": _flow(highest_flow(duty)),
        "working_pressure_bar": read(demand.working, "pressure"),
        "peak_pressure_bar": read(demand.peak, "pressure"),
    }


def _hose_data(hose: Hose) -> Iterator[dict[str, Any]]:
    """Every figure with its unit and source; ``None`` where it is missing."""
    for name, kind in HOSE_FIGURES.items():
        yield _hose_figure(hose, name, read(getattr(hose, name), kind), reading(kind).unit)
    for name in ("longer", "shorter"):
        part = getattr(hose, name)
        yield _hose_figure(hose, name, None if part is None else round(100.0 * part, 2), "%")
    mass = hose.mass_per_length
    yield _hose_figure(hose, "mass_per_length", None if mass is None else round(mass, 3), "kg/m")


def _hose_figure(hose: Hose, name: str, value: float | None, unit: str) -> dict[str, Any]:
    source = hose.sources.get(name)
    told = {"source": None if source is None else str(source), "source_said": cited_data(source)}
    return {"figure": name, "value": value, "unit": unit, **told}


def profile_data(profile: Profile) -> dict[str, Mapping[str, Any]]:
    """Figures of a profile by name, in the units of a job file."""
    return {
        name: _figure(figure.value, figure.unit)
        | {"source": str(figure.source), "source_said": cited_data(figure.source)}
        for name, figure in profile.figures.items()
        if not name.startswith(OF_THE_SEARCH)
    }


def _figure(value: float, unit: str) -> dict[str, Any]:
    if unit in UNITS:
        shown, kind = UNITS[unit]
        return {"value": read(value, kind), "unit": shown}
    return {"value": value, "unit": "" if unit == "-" else unit}
