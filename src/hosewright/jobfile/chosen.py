"""From a run to the values of its ``[run.assembly]``, in the units of the job file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from hosewright import units
from hosewright.assembly import ORIENTATION_CONVENTION, Assembly, End
from hosewright.checks.finding import Finding
from hosewright.checks.run import Clamp, Run
from hosewright.jobfile.parts import joint_kinds
from hosewright.machine import Machine
from hosewright.search.request import EndRequest, Request
from hosewright.search.robust import Case
from hosewright.units import Kind
from hosewright.words import read, read_difference, reading

DECIMALS = 1
"""Of lengths in mm and angles in degrees: a shop works to no less."""

FINEST = 12
"""Decimals that are tried for a value that must be read back as it is."""


def assembly_table(run: Run, machine: Machine, number: str | None = None) -> dict[str, Any]:
    """Values of ``[run.assembly]`` to 0.1 mm and 0.1 degree: read back they give the run once it is ``settled``.

    Parameters
    ----------
    run
        With the assembly that was chosen.
    machine
        Tells which joints turn and which slide.
    number
        Assembly number.
    """
    assembly = run.assembly
    table: dict[str, Any] = {
        "hose": assembly.hose.name,
        "length": _millimetres(assembly.overall_length),
        "ends": [_end(end) for end in (assembly.a, assembly.b)],
    }
    if _angled(assembly):
        table |= {"orientation": _bearing(assembly.orientation_angle or 0.0), "convention": ORIENTATION_CONVENTION}
    table |= {"clamps": [_clamp(clamp) for clamp in run.clamps], "sleeve": run.sleeve}
    if run.fitting_pose:
        table["fitting_pose"] = _pose(run.fitting_pose, machine)
    return table if number is None else {**table, "number": number}


def limits_list(cases: Sequence[Case]) -> list[dict[str, Any]]:
    """Value of ``limits`` in ``[run.assembly]`` and in the contract: each with its finding of the least margin."""
    return [{"name": case.name, "kind": case.kind, "holds": case.passed, **least(case.worst)} for case in cases]


def least(finding: Finding | None) -> dict[str, Any]:
    """Figures of a finding in the unit of their kind; ``None`` where no shape was found."""
    if finding is None:
        return dict.fromkeys(("rule", "subject", "measure", "limit", "unit", "margin"))
    kind = finding.kind
    return {
        "rule": finding.rule,
        "subject": finding.subject,
        "measure": read(finding.measure, kind),
        "limit": read(finding.limit, kind),
        "unit": reading(kind).unit,
        "margin": read_difference(finding.margin, kind),
    }


def settled(run: Run, request: Request) -> Run:
    """The run with chosen lengths and angles as the file will hold them; what the user fixed is as he typed it.

    What is checked after this is what is written.
    """
    assembly, length, clamps = run.assembly, request.overall_length, request.clamps
    if length is None:
        length = _length(_millimetres(assembly.overall_length))
    if clamps is None:
        clamps = tuple(replace(clamp, at=_length(_millimetres(clamp.at))) for clamp in run.clamps)
    a, b = _settled_end(assembly.a, request.a), _settled_end(assembly.b, request.b)
    orientation = request.orientation_angle
    if orientation is None and _angled(assembly):
        orientation = _angle(_bearing(assembly.orientation_angle or 0.0))
    return replace(run, assembly=Assembly(assembly.hose, a, b, length, orientation), clamps=clamps)


def _angled(assembly: Assembly) -> bool:
    """Whether an orientation angle is set, and two bent ends give it a meaning."""
    bent = min(assembly.a.form.exit_angle, assembly.b.form.exit_angle) > 0.0
    return bent and assembly.orientation_angle is not None


def _end(end: End) -> dict[str, Any]:
    return {
        "form": end.form.name,
        "clock": _degrees(end.clock),
        "connection": end.form.connection,
        # the port's own are among them, so that an empty list is needed, too: it takes the port's off
        "adapter": [
            {"name": adapter.name, "clock": _exact(clock, Kind.ANGLE), "to": adapter.hose_side}
            for adapter, clock in end.adapters
        ],
    }


def _settled_end(end: End, request: EndRequest) -> End:
    clock = _angle(_degrees(end.clock)) if request.clock is None else request.clock
    return replace(end, clock=clock)


def _clamp(clamp: Clamp) -> dict[str, Any]:
    return {"mount": clamp.mount, "at": _millimetres(clamp.at), "hold": str(clamp.hold)}


def _pose(pose: Mapping[str, float], machine: Machine) -> dict[str, float]:
    kinds = joint_kinds(machine.bodies)
    return {joint: _exact(value, kinds.get(joint, Kind.LENGTH)) for joint, value in pose.items()}


def _exact(value: float, kind: Kind) -> float:
    """The shortest number that is read as this value.

    A joint value may lie at the end of the joint's range, an adapter's clock angle may be the port's own.
    """
    unit = units.si(1, kind)
    numbers = (round(value / unit, decimals) for decimals in range(FINEST))
    return next((number + 0.0 for number in numbers if units.si(number, kind) == value), value / unit)


def _millimetres(length: float) -> float:
    return round(length * 1e3, DECIMALS)


def _degrees(angle: float) -> float:
    return round(angle / units.si(1, Kind.ANGLE), DECIMALS) + 0.0


def _bearing(angle: float) -> float:
    """Degrees from 0 to less than 360."""
    return round(_degrees(angle) % 360.0, DECIMALS) % 360.0


def _length(millimetres: float) -> float:
    return units.si(millimetres, Kind.LENGTH)


def _angle(degrees: float) -> float:
    return units.si(degrees, Kind.ANGLE)
