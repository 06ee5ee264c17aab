"""From the runs of a job file to runs with their duty and their assembly."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from hosewright.assembly import Assembly, Hose
from hosewright.catalog import Catalog, Connection
from hosewright.checks.run import Clamp, Hold, Run
from hosewright.duty import CylinderSide, Duty, Fluid, FluidClass, Line, Side
from hosewright.errors import nearest
from hosewright.jobfile.ends import EndOptions, EndReader, end_choices
from hosewright.jobfile.models import (
    ClampTable,
    FluidTable,
    PortTable,
    PressureTable,
    RunDraft,
)
from hosewright.jobfile.motions import try_pose
from hosewright.jobfile.parts import Parts
from hosewright.jobfile.problems import Collector
from hosewright.jobfile.salvage import Salvage
from hosewright.machine import Machine
from hosewright.search.request import Request

Path = tuple[str | int, ...]

LEAST_SPAN = 0.01
"""Two clamps that are closer than this hold the same place. [m]"""

EXAMPLES = {"hose": '"2SC -8"', "length": "850"}
"""What a run needs to be checked, and no port implies."""

TEMPERATURES = ("min", "working", "max")


@dataclass(frozen=True)
class Surroundings:
    """What all runs of a job share; ``None`` where it could not be read.

    Attributes
    ----------
    held
        Value of every joint in the drawn pose.
    to_plan
        Whether hose, length and ends may be left open.
    """

    job: Salvage
    parts: Parts
    machine: Machine | None
    held: Mapping[str, float]
    catalog: Catalog
    fluid: Fluid | None
    found: Collector
    to_plan: bool = False


def read_fluid(job: Salvage, catalog: Catalog, found: Collector) -> Fluid | None:
    """The fluid of all runs."""
    table = job.tables.fluid
    if table is None:
        if job.data.get("run") and "fluid" not in job.broken:
            example = '{ grade = "HM 46", temperature = { min = -15, working = 55, max = 80 } }'
            found.add(("fluid",), f"the table [fluid] is missing: the fluid of all runs, such as fluid = {example}")
        return None
    with found.at("fluid", "grade" if table.kind is None else "class"):
        return _fluid(table, catalog)
    return None


def _fluid(table: FluidTable, catalog: Catalog) -> Fluid:
    if table.kind is not None:
        figures = (table.viscosity_40, table.viscosity_100, table.density_15)
        return Fluid(table.grade, FluidClass(table.kind.strip().upper()), *figures)
    data = catalog.fluid(table.grade)
    return Fluid(**{**vars(data), "fluid_class": FluidClass(data.fluid_class)})


def read_runs(around: Surroundings) -> tuple[Run, ...]:
    """All runs that can be used; problems go to ``around.found``."""
    runs = [_run(around, ("run", index), table) for index, table in _each(around)]
    return tuple(run for run in runs if run is not None)


def read_requests(around: Surroundings) -> tuple[Request, ...]:
    """What is fixed of all runs; problems go to ``around.found``."""
    if not around.job.data.get("run") and "run" not in around.job.broken:
        around.found.add(
            (),
            'the job has no [[run]]: a line from port to port, such as [[run]] name = "lift, rod side", '
            'from = "V1.A", to = "lift.R", pressure = 210, flow = 45, each on a line of its own',
        )
    fixed = [_fixed(around, ("run", index), table) for index, table in _each(around)]
    return tuple(one.request for one in fixed if one is not None)


def _each(around: Surroundings) -> list[tuple[int, RunDraft]]:
    _check_names(around)
    _check_connections(around)
    return list(around.job.each("run"))


def _check_names(around: Surroundings) -> None:
    seen = {""}
    for index, table in around.job.each("run"):
        if table.name is not None and table.name in seen:
            around.found.add(("run", index, "name"), f"the name '{table.name}' is already taken; choose another one")
        seen.add(table.name or "")


def _check_connections(around: Surroundings) -> None:
    for index, table in around.job.each("port"):
        with around.found.at("port", index, "connection"):
            Connection.parse(table.connection)


@dataclass(frozen=True)
class _Fixed:
    """A run with all that is fixed, and the ends that this leaves."""

    request: Request
    ends: tuple[EndOptions, EndOptions]


def _run(around: Surroundings, path: Path, table: RunDraft) -> Run | None:
    _refuse_incomplete(around, path, table)
    fixed = _fixed(around, path, table)
    if fixed is None or fixed.request.hose is None or fixed.request.overall_length is None:
        return None
    asked, hose, length, (a, b) = fixed.request, fixed.request.hose, fixed.request.overall_length, fixed.ends
    with around.found.at(*_chosen(path, table, "length")[1]):
        assembly = Assembly(hose, a.ends[0], b.ends[0], length, asked.orientation_angle)
        return Run(
            asked.name, asked.a.port, asked.b.port, asked.duty, assembly, asked.clamps or (), bool(asked.sleeve),
            asked.bow, asked.fitting_pose,
        )  # fmt: skip
    return None


def _fixed(around: Surroundings, path: Path, table: RunDraft) -> _Fixed | None:
    duty = _duty(around, path, table)
    fitting_pose = _fitting_pose(around, path, table)
    hose = _hose(around, path, table)
    ends = _ends(around, path, table, hose)
    if ends is not None:
        _refuse_two_fixed(around, path, table, ends)
        _refuse_orientation(around, path, table, ends)
    clamps = _clamps(around, path, table, _free_length(around, path, table, ends))
    if duty is None or ends is None or table.name is None:
        return None
    length, orientation, sleeve, number = (
        _chosen(path, table, key)[0] for key in ("length", "orientation", "sleeve", "number")
    )
    requests = (ends[0].request, ends[1].request)
    request = Request(
        table.name, *requests, duty, hose, length, orientation, clamps, sleeve, table.bow, fitting_pose or None, number
    )
    return _Fixed(request, ends)


def _refuse_incomplete(around: Surroundings, path: Path, table: RunDraft) -> None:
    missing = [key for key in EXAMPLES if _chosen(path, table, key)[0] is None and not _given(around, path, key)]
    if missing:
        names = " and ".join(f"'{key}'" for key in missing)
        examples = ", ".join(f"{key} = {EXAMPLES[key]}" for key in missing)
        are, them = ("are", "them") if len(missing) > 1 else ("is", "it")
        around.found.add(
            path,
            f"{names} {are} missing for run '{table.name}', such as {examples}; "
            f"'hosewright plan JOB' can choose {them}",
        )


def _chosen(path: Path, table: RunDraft, key: str) -> tuple[Any, Path]:
    """What the user fixed, else what the program wrote; with its place in the file."""
    own = getattr(table, key)
    if own is None and table.assembly is not None and getattr(table.assembly, key) is not None:
        return getattr(table.assembly, key), (*path, "assembly", key)
    return own, (*path, key) if own is not None else path


def _given(around: Surroundings, path: Path, key: str) -> bool:
    """Whether the file has a value, though it cannot be used; that is noted already."""
    run = around.job.data["run"][path[1]]
    written = run.get("assembly")
    return key in run or (isinstance(written, dict) and key in written)


def _duty(around: Surroundings, path: Path, table: RunDraft) -> Duty | None:
    side = _cylinder_side(around, path, table)
    pressure, flow = table.pressure, table.flow
    if around.fluid is None or around.job.tables.fluid is None or pressure is None or flow is None:
        return None
    working = pressure.working if isinstance(pressure, PressureTable) else pressure
    peak = pressure.peak if isinstance(pressure, PressureTable) and pressure.peak is not None else working
    usual = around.job.tables.fluid.temperature
    cold, warm, hot = (
        getattr(usual, name) if getattr(table.temperature, name) is None else getattr(table.temperature, name)
        for name in TEMPERATURES
    )
    place = (*path, "pressure") if peak < working else (*path, "temperature") if table.temperature else ("fluid",)
    with around.found.at(*place):
        return Duty(Line(table.line), working, peak, flow, around.fluid, cold, warm, hot, side)
    return None


def _cylinder_side(around: Surroundings, path: Path, table: RunDraft) -> CylinderSide | None:
    if table.cylinder is None:
        return None
    name, known = table.cylinder.name, around.job.names("cylinder")
    if name not in known:
        around.found.add((*path, "cylinder", "name"), f"there is no cylinder '{name}'.{nearest(name, known)}")
    for index, cylinder in around.job.each("cylinder"):
        if cylinder.name != name:
            continue
        if cylinder.bore is None or cylinder.rod_diameter is None:
            missing = "bore" if cylinder.bore is None else "rod_diameter"
            around.found.add(
                ("cylinder", index),
                f"'{missing}' is missing: run '{table.name}' serves a side of '{name}', and its pressure and flow "
                "follow from bore and rod, such as bore = 80, rod_diameter = 50",
            )
            return None
        with around.found.at("cylinder", index, "rod_diameter"):
            return CylinderSide(cylinder.bore, cylinder.rod_diameter, Side(table.cylinder.side))
    return None


def _fitting_pose(around: Surroundings, path: Path, table: RunDraft) -> dict[str, float]:
    given, place = _chosen(path, table, "fitting_pose")
    pose = around.parts.joints.values(given or {}, around.found, place)
    try_pose(around.machine, pose, around.held, around.found, place)
    return pose


def _hose(around: Surroundings, path: Path, table: RunDraft) -> Hose | None:
    name, place = _chosen(path, table, "hose")
    if name is None:
        return None
    with around.found.at(*place):
        return around.catalog.hose(name)
    return None


def _ends(around: Surroundings, path: Path, table: RunDraft, hose: Hose | None) -> tuple[EndOptions, EndOptions] | None:
    if table.start is not None and table.start == table.end:
        around.found.add((*path, "to"), f"'{table.end}' is also the port that the run comes from; choose another one")
    ports = _port(around, table.start, (*path, "from")), _port(around, table.end, (*path, "to"))
    _, hose_path = _chosen(path, table, "hose")
    choices = end_choices(table, path, around.found)
    if choices is None:
        return None
    a, b = (
        EndReader(around.catalog, around.found, hose, hose_path, *port, choice, around.to_plan).read()
        if port is not None
        else None
        for port, choice in zip(ports, choices, strict=True)
    )
    if a is None or b is None:
        return None
    common = a.dash_sizes & b.dash_sizes
    if not common:
        around.found.add(path, f"no hose fits both ends: {_sizes(a)}, {_sizes(b)}; an adapter on one port may help")
        return None
    return a.of(common), b.of(common)


def _sizes(end: EndOptions) -> str:
    sizes = ", ".join(f"-{size}" for size in sorted(end.dash_sizes))
    return f"port '{end.request.port}' ({end.request.connection}) takes {sizes}"


def _port(around: Surroundings, name: str | None, path: Path) -> tuple[int, PortTable] | None:
    known = around.job.names("port")
    if name is not None and name not in known:
        around.found.add(path, f"there is no port '{name}'.{nearest(name, known)}")
    return next(((index, port) for index, port in around.job.each("port") if port.name == name), None)


def _refuse_two_fixed(around: Surroundings, path: Path, table: RunDraft, ends: tuple[EndOptions, EndOptions]) -> None:
    if ends[0].turns or ends[1].turns:
        return
    a, b = (end.ends[0].form.connection for end in ends)
    around.found.add(
        _chosen(path, table, "ends")[1],
        f"'{a}' and '{b}' are both fixed: when one is tight the other cannot be screwed in without twisting the hose; "
        "choose a swivel end for one of them, or an adapter on its port",
    )


def _refuse_orientation(around: Surroundings, path: Path, table: RunDraft, ends: tuple[EndOptions, EndOptions]) -> None:
    orientation, place = _chosen(path, table, "orientation")
    straight = [end for end in ends if end.straight]
    if orientation is None or not straight:
        return
    ports = " and ".join(f"'{end.request.port}'" for end in straight)
    bent = f"choose a bent one, such as '{straight[0].bent[0]}', or " if straight[0].bent else ""
    around.found.add(
        place,
        f"an orientation angle needs two bent ends, and only a straight one will do for what is fixed at port {ports}: "
        f"{bent}leave the angle out",
    )


def _free_length(
    around: Surroundings, path: Path, table: RunDraft, ends: tuple[EndOptions, EndOptions] | None
) -> float | None:
    """The most free hose that the overall length leaves; ``None`` where that is open. [m]"""
    length, place = _chosen(path, table, "length")
    if length is None or ends is None:
        return None
    needed = min(sum(end.least(size) for end in ends) for size in ends[0].dash_sizes)
    if length > needed:
        return float(length - needed)
    around.found.add(
        place,
        f"overall length {length * 1e3:.0f} mm leaves no free hose: the ends alone take {needed * 1e3:.0f} mm"
        f"{' at least' if len(ends[0].ends) + len(ends[1].ends) > 2 else ''}",
    )
    return None


def _clamps(around: Surroundings, path: Path, table: RunDraft, free_length: float | None) -> tuple[Clamp, ...] | None:
    given, place = _chosen(path, table, "clamps")
    if given is None:
        return None
    clamps: list[Clamp] = []
    for number, clamp in enumerate(given):
        _check_clamp(around, (*place, number), clamp, free_length)
        if any(abs(clamp.at - other.at) < LEAST_SPAN for other in clamps):
            around.found.add((*place, number, "at"), f"another clamp is already at {clamp.at * 1e3:.0f} mm")
        clamps.append(Clamp(clamp.mount, clamp.at, Hold(clamp.hold)))
    return tuple(sorted(clamps, key=lambda one: one.at))


def _check_clamp(around: Surroundings, path: Path, clamp: ClampTable, free_length: float | None) -> None:
    known = around.job.names("mount")
    if clamp.mount not in known:
        around.found.add((*path, "mount"), f"there is no mount '{clamp.mount}'.{nearest(clamp.mount, known)}")
    if clamp.at <= 0.0 or (free_length is not None and clamp.at >= free_length):
        end = "that of end b" if free_length is None else f"{free_length * 1e3:.0f} mm at that of end b"
        around.found.add(
            (*path, "at"),
            f"{clamp.at * 1e3:.0f} mm is not on the free hose, which runs from 0 at the ferrule of end a to {end}",
        )
