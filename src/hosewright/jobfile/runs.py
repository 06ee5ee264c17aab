"""From the runs of a job file to runs with their duty and their assembly."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from hosewright.assembly import Adapter, Assembly, End, EndForm, Hose, Roll
from hosewright.catalog import Catalog, Connection
from hosewright.checks.run import Clamp, Hold, Run
from hosewright.duty import CylinderSide, Duty, Fluid, FluidClass, Line, Side
from hosewright.errors import ArgumentError, nearest
from hosewright.jobfile.models import (
    AdapterTable,
    BothEnds,
    ClampTable,
    EndTable,
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

Path = tuple[str | int, ...]

LEAST_SPAN = 0.01
"""Two clamps that are closer than this hold the same place. [m]"""

TEMPERATURES = ("min", "working", "max")


@dataclass(frozen=True)
class Surroundings:
    """What all runs of a job share; ``None`` where it could not be read.

    Attributes
    ----------
    held
        Value of every joint in the drawn pose.
    """

    job: Salvage
    parts: Parts
    machine: Machine | None
    held: Mapping[str, float]
    catalog: Catalog
    fluid: Fluid | None
    found: Collector


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
    _check_names(around)
    _check_connections(around)
    runs = (_run(around, index, table) for index, table in around.job.each("run"))
    return tuple(run for run in runs if run is not None)


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


def _run(around: Surroundings, index: int, table: RunDraft) -> Run | None:
    path = ("run", index)
    duty = _duty(around, path, table)
    fitting_pose = _fitting_pose(around, path, table)
    assembly = _assembly(around, path, table)
    clamps = _clamps(around, path, table, assembly)
    if duty is None or assembly is None or table.name is None or table.start is None or table.end is None:
        return None
    sleeve, _ = _chosen(path, table, "sleeve")
    return Run(
        table.name, table.start, table.end, duty, assembly, clamps, bool(sleeve), table.bow, fitting_pose or None
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


def _assembly(around: Surroundings, path: Path, table: RunDraft) -> Assembly | None:
    hose = _hose(around, path, table)
    length, length_place = _chosen(path, table, "length")
    if length is None and not _given(around, path, "length"):
        around.found.add(path, "'length' is missing: the overall length, such as length = 850")
    ends = _ends(around, path, table, hose)
    orientation, place = _chosen(path, table, "orientation")
    if hose is None or length is None or ends is None:
        return None
    if orientation is not None and any(end.form.exit_angle == 0.0 for end in ends):
        around.found.add(place, "an orientation angle needs two bent ends, and one of these is straight")
    with around.found.at(*length_place):
        return Assembly(hose, *ends, length, orientation)
    return None


def _hose(around: Surroundings, path: Path, table: RunDraft) -> Hose | None:
    name, place = _chosen(path, table, "hose")
    if name is None and not _given(around, path, "hose"):
        around.found.add(path, "'hose' is missing: construction and dash size, such as hose = \"2SC -8\"")
    if name is None:
        return None
    with around.found.at(*place):
        return around.catalog.hose(name)
    return None


def _ends(around: Surroundings, path: Path, table: RunDraft, hose: Hose | None) -> tuple[End, End] | None:
    chosen, place = _chosen(path, table, "ends")
    if isinstance(chosen, list) and len(chosen) != 2:
        around.found.add(place, f"a hose has two ends, a and b; got {len(chosen)}")
        return None
    tables, keys = _pair(chosen)
    if table.start is not None and table.start == table.end:
        around.found.add((*path, "to"), f"'{table.end}' is also the port that the run comes from")
    found = []
    for end, key, name, side in zip(tables, keys, (table.start, table.end), ("from", "to"), strict=True):
        port = _port(around, name, (*path, side))
        if hose is not None and port is not None:
            found.append(_EndReader(around, hose, *port, end, (*place, key) if chosen else path).read())
    if len(found) < 2 or found[0] is None or found[1] is None:
        return None
    _refuse_two_fixed(around, place, found[0], found[1])
    return found[0], found[1]


def _pair(chosen: list[EndTable] | BothEnds | None) -> tuple[tuple[EndTable, EndTable], tuple[str | int, str | int]]:
    if isinstance(chosen, list):
        return (chosen[0], chosen[1]), (0, 1)
    both = chosen or BothEnds()
    return (both.a, both.b), ("a", "b")


def _port(around: Surroundings, name: str | None, path: Path) -> tuple[int, PortTable] | None:
    known = around.job.names("port")
    if name is not None and name not in known:
        around.found.add(path, f"there is no port '{name}'.{nearest(name, known)}")
    return next(((index, port) for index, port in around.job.each("port") if port.name == name), None)


def _refuse_two_fixed(around: Surroundings, path: Path, a: End, b: End) -> None:
    """An adapter's own nut can turn where the hose's end cannot."""
    if a.form.roll is Roll.FIXED and b.form.roll is Roll.FIXED and not (a.adapters or b.adapters):
        around.found.add(
            path,
            f"'{a.form.connection}' and '{b.form.connection}' are both fixed: when one is tight the other cannot be "
            "screwed in without twisting the hose; choose a swivel end for one of them, or an adapter on its port",
        )


@dataclass(frozen=True)
class _EndReader:
    """Reads one end: the port's connection, what the adapters make of it, and the end form that mates."""

    around: Surroundings
    hose: Hose
    port_index: int
    port: PortTable
    table: EndTable
    path: Path

    def read(self) -> End | None:
        try:
            connection = str(Connection.parse(self.port.connection))
        except ArgumentError:
            return None  # noted with the port
        adapters = []
        own = self.table.adapter is not None
        given = self.table.adapter if self.table.adapter is not None else self.port.adapter
        place: Path = (*self.path, "adapter") if own else ("port", self.port_index, "adapter")
        for number, adapter in enumerate(_tables(given)):
            found = self._adapter(adapter, connection, (*place, number))
            if found is None:
                return None
            adapters.append((found, adapter.clock))
            connection = found.hose_side
        form = self._form(connection)
        return None if form is None else End(form, self.table.clock, tuple(adapters))

    def _adapter(self, table: AdapterTable, connection: str, path: Path) -> Adapter | None:
        with self.around.found.at(*path):
            return self.around.catalog.adapter(table.name, connection, table.to)
        return None

    def _form(self, connection: str) -> EndForm | None:
        wanted = self.table.connection
        if wanted is not None:
            with self.around.found.at(*self.path, "connection"):
                reason = self.around.catalog.why_not(wanted, connection)
                if reason:
                    raise ArgumentError(f"does not mate with port '{self.port.name}': {reason}")
        with self.around.found.at(*self.path, *(["form"] if self.table.form else [])):
            return self._mating(connection)
        return None

    def _mating(self, connection: str) -> EndForm:
        catalog, dash_size = self.around.catalog, self.hose.dash_size
        name = (self.table.form or "straight").strip()
        forms = catalog.end_forms(dash_size=dash_size, mating=connection)
        for form in forms:
            if form.name in (name, name.casefold()):
                return form
        if forms:
            raise ArgumentError(
                f"no end '{name}' for -{dash_size} hose mates with '{connection}' at port '{self.port.name}'."
                f"{nearest(name, dict.fromkeys(form.name for form in forms))}"
            )
        sizes = sorted({form.dash_size for form in catalog.end_forms(mating=connection)})
        known = ", ".join(f"-{size}" for size in sizes) or "no hose at all"
        raise ArgumentError(
            f"no end for -{dash_size} hose mates with '{connection}' at port '{self.port.name}'; the catalog has such "
            f"ends for {known}"
        )


def _tables(given: Iterable[AdapterTable | str]) -> list[AdapterTable]:
    return [one if isinstance(one, AdapterTable) else AdapterTable(name=one) for one in given]


def _clamps(around: Surroundings, path: Path, table: RunDraft, assembly: Assembly | None) -> tuple[Clamp, ...]:
    given, place = _chosen(path, table, "clamps")
    clamps: list[Clamp] = []
    for number, clamp in enumerate(given or []):
        _check_clamp(around, (*place, number), clamp, assembly)
        if any(abs(clamp.at - other.at) < LEAST_SPAN for other in clamps):
            around.found.add((*place, number, "at"), f"another clamp is already at {clamp.at * 1e3:.0f} mm")
        clamps.append(Clamp(clamp.mount, clamp.at, Hold(clamp.hold)))
    return tuple(sorted(clamps, key=lambda one: one.at))


def _check_clamp(around: Surroundings, path: Path, clamp: ClampTable, assembly: Assembly | None) -> None:
    known = around.job.names("mount")
    if clamp.mount not in known:
        around.found.add((*path, "mount"), f"there is no mount '{clamp.mount}'.{nearest(clamp.mount, known)}")
    if assembly is not None and not 0.0 < clamp.at < assembly.free_length:
        around.found.add(
            (*path, "at"),
            f"{clamp.at * 1e3:.0f} mm is not on the free hose, which runs from 0 at the ferrule of end a to "
            f"{assembly.free_length * 1e3:.0f} mm at that of end b",
        )
