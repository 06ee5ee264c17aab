"""Reading a job file: everything that is wrong is said at once, each with its place."""

from __future__ import annotations

import datetime
import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from tomlkit import TOMLDocument

from hosewright import units
from hosewright.catalog import Catalog, load
from hosewright.checks.profile import Profile
from hosewright.checks.run import Job, JobWarning
from hosewright.errors import ArgumentError, DataError, MachineError, Problem, nearest
from hosewright.jobfile.files import MOST_JOB_BYTES, Folder, read_bytes
from hosewright.jobfile.hashes import changed_by_hand, hashes_of_runs, inputs_hash, made_from, without_records
from hosewright.jobfile.models import AssemblyRecord, LimitTable, RunTable
from hosewright.jobfile.motions import read_motions, service_poses, whole_motion
from hosewright.jobfile.numbers import refuse_same_numbers
from hosewright.jobfile.parts import Parts, drawn_values, read_parts
from hosewright.jobfile.places import Places, TomlError
from hosewright.jobfile.problems import Collector, LastingProblem, not_toml, of_file
from hosewright.jobfile.runs import Surroundings, read_fluid, read_requests, read_runs
from hosewright.jobfile.salvage import MACHINE, Salvage, validate
from hosewright.jobfile.samples import sample
from hosewright.machine import GROUND, Body, Machine, Obstacle, Poses
from hosewright.search.request import Request
from hosewright.service import Sample
from hosewright.units import Kind
from hosewright.words import Figure, Name, Sentence

FIGURE_KINDS = {"m": Kind.LENGTH, "rad": Kind.ANGLE, "Pa": Kind.PRESSURE, "K": Kind.TEMPERATURE}
"""Kinds of the profile's figures by their unit."""

DRAWN_AT = ("job", "drawn_at")

FIGURE_HINTS = {"OD": ", in outside diameters", "rad/m": ", in degrees per metre"}


@dataclass(frozen=True)
class JobFile:
    """A job file that was read.

    Attributes
    ----------
    document
        The TOML document with its comments.
    places
        Places of all keys and values in it.
    hash
        Of the inputs: the job without what the program wrote into it, the files it names and the catalog.
    run_hashes
        By run, of the inputs of its plan; see :func:`hashes_of_runs`.
    requests
        What the user fixed of each run, where the job was read to be planned; it then holds no runs.
    line_break
        As the file has it; ``text`` has plain ones.
    named
        Files that the job names, seen from its folder.
    limits
        Of the runs that were planned, the limits at which the plan was tried, as the contract has them; those that
        nothing shows to be as the plan wrote them are left out.
    """

    path: Path
    job: Job
    places: Places
    catalog: Catalog
    hash: str
    run_hashes: Mapping[str, str]
    date: datetime.date | None = None
    samples: tuple[Sample, ...] = ()
    requests: tuple[Request, ...] = ()
    line_break: str = "\n"
    named: tuple[str, ...] = ()
    limits: Mapping[str, list[dict[str, Any]]] = field(default_factory=dict)

    def __repr__(self) -> str:
        """Short: the machine and the catalog would fill pages."""
        return f"<job file {self.path.name}: {self.job.title}>"

    @property
    def text(self) -> str:
        """The file as it was read, with plain line breaks."""
        return self.places.text

    @property
    def document(self) -> TOMLDocument:
        """The TOML document with its comments."""
        return self.places.toml


def read_job(path: Path | str, catalog: Catalog | None = None, *, to_plan: bool = False) -> JobFile:
    """Read a job file and everything that it names.

    Parameters
    ----------
    path
        Of the job file.
    catalog
        To look up hoses, ends and fluids in; the packaged one unless given.
    to_plan
        Read what the user fixed of the runs as ``requests``. Whatever is missing may then be chosen, and what the
        program wrote is passed over, but for the assemblies' numbers.

    Raises
    ------
    JobFileError
        Something is wrong; the error holds every problem with its line and column.
    """
    path = Path(path)
    try:
        data = read_bytes(path, str(path), MOST_JOB_BYTES)
        text = data.decode("utf-8-sig")
    except DataError as error:
        raise of_file(str(error), path.name) from error
    except UnicodeDecodeError as error:
        raise of_file(f"is not UTF-8 text (byte {error.start}); save it as UTF-8", path.name) from error
    return read_text(text, path, catalog, to_plan=to_plan)


def read_text(text: str, path: Path, catalog: Catalog | None = None, *, to_plan: bool = False) -> JobFile:
    """Read the text of a job file that lies, or will lie, at ``path``; see :func:`read_job`."""
    if len(text.encode("utf-8", "surrogatepass")) > MOST_JOB_BYTES:
        raise of_file(f"is larger than {MOST_JOB_BYTES / 1e6:.0f} MB, the most that is read", path.name)
    try:
        places = Places.parse(text.replace("\r\n", "\n"))
    except TomlError as error:
        raise not_toml(text, path.name, error) from error
    reader = _Reader(path, places, Folder(path.parent), to_plan)
    windows = 0 < text.count("\r\n") == text.count("\n")
    return replace(reader.read(catalog or load()), line_break="\r\n" if windows else "\n")


@dataclass
class _Reader:
    """One reading: gathers problems and, where there are none, the job."""

    path: Path
    places: Places
    folder: Folder
    to_plan: bool
    found: Collector = field(default_factory=Collector)

    def read(self, catalog: Catalog) -> JobFile:
        data = self.places.toml.unwrap()
        tables = validate(without_records(data, keep_number=True) if self.to_plan else data, self.found)
        catalog = self._with_own(tables, catalog)
        refuse_same_numbers(tables, self.places, self.found)
        parts = read_parts(tables, self.folder, self.found)
        drawn = drawn_values(tables, parts, self.found)
        held = parts.held(drawn)
        machine = self._machine(tables, parts, drawn)
        motions = read_motions(tables, parts, held, self.folder, self.found)
        poses = whole_motion(machine, motions, held, self.found) if machine else None
        service = service_poses(tables, machine, parts, held, self.found)
        fluid = read_fluid(tables, catalog, self.found)
        around = Surroundings(tables, parts, machine, held, catalog, fluid, self.found, self.to_plan)
        requests = read_requests(around) if self.to_plan else ()
        runs = () if self.to_plan else read_runs(around)
        profile = self._profile(tables)
        if self.found.problems or machine is None or poses is None:
            self.found.problems = [_mendable(problem) for problem in self.found.problems]
            raise self.found.error(self.path.name, self.places)
        digest = inputs_hash(tables.data, self.folder, catalog)
        of_runs = hashes_of_runs(tables.data, self.folder, catalog)
        head = tables.tables.job
        changed = set() if self.to_plan else changed_by_hand(data)
        warnings = (*self.folder.warnings, *_doubts(tables, machine, poses, of_runs, changed))
        job = Job(
            title=head.title,
            machine=machine,
            poses=poses,
            runs=runs,
            service_poses=service,
            attitude=head.attitude,
            port_error=head.port_error,
            port_angle_error=head.port_angle_error,
            profile=profile,
            warnings=warnings,
        )
        samples = tuple(map(sample, tables.tables.assembly))
        named = tuple(sorted(self.folder.digests))
        tried = [table for table in tables.tables.run if table.name not in changed]
        limits = {table.name: limits for table in tried if (limits := _limits(table)) is not None}
        return JobFile(
            self.path, job, self.places, catalog, digest, of_runs, head.date, samples, requests, named=named,
            limits=limits,
        )  # fmt: skip

    def _with_own(self, tables: Salvage, catalog: Catalog) -> Catalog:
        for number, name in enumerate(tables.tables.catalog.own):
            with self.found.at("catalog", "own", number):
                self.folder.read(name)
                catalog = catalog.with_own(self.folder.path(name))
        return catalog

    def _machine(self, tables: Salvage, parts: Parts, drawn: Mapping[str, float]) -> Machine | None:
        """The machine, unless a table of it has a problem already: what is left would raise false ones."""
        if self.found.problems and not tables.machine_is_whole:
            self._check_riders(tables, parts)
            return None
        if any(problem.path[0] in MACHINE[1:] or problem.path[:2] == DRAWN_AT for problem in self.found.problems):
            return None
        try:
            return Machine(
                parts.bodies, parts.cylinders, parts.pins, parts.ports, parts.mounts, parts.operators, parts.obstacles,
                drawn,
            )  # fmt: skip
        except MachineError as error:
            for problem in error.problems:
                self._note(problem, parts, tables)
        return None

    def _note(self, problem: Problem, parts: Parts, tables: Salvage) -> None:
        """Parts of the URDF file have no table of their own."""
        lists: dict[str, Sequence[Body | Obstacle]] = {"body": parts.bodies, "obstacle": parts.obstacles}
        kind, number = (*problem.path, "", "")[:2]
        if kind in lists and isinstance(number, int) and number >= len(tables.kept.get(str(kind), ())):
            name = lists[str(kind)][number].name
            self.found.add(("machine", "urdf"), f"{kind} '{name}' of the URDF file: {problem.text}")
        else:
            self.found.add(problem.path, problem.text)

    def _check_riders(self, tables: Salvage, parts: Parts) -> None:
        """The names that parts are on; of a machine that is not whole nothing else can be said."""
        if not parts.joints.complete and tables.tables.machine is not None:
            return
        ends = [f"{name}.{end}" for name in tables.names("cylinder") for end in ("barrel", "rod")]
        known = [GROUND, *tables.names("body"), *(body.name for body in parts.bodies), *ends]
        for path, name in _uses(tables):
            if name not in known:
                self.found.add(path, f"there is no body '{name}'.{nearest(name, dict.fromkeys(known))}")

    def _profile(self, tables: Salvage) -> Profile:
        profile = Profile.standard()
        for name, value in tables.tables.profile.items():
            with self.found.at("profile", name):
                if name in profile.figures:
                    value = _figure(value, profile.figures[name].unit)
                profile = profile.with_own({name: value}, f"profile in {self.path.name}")  # type: ignore[dict-item]
        return profile


def _uses(tables: Salvage) -> Iterator[tuple[tuple[str | int, ...], str]]:
    for kind in ("body", "port", "mount", "operator", "obstacle"):
        for index, table in tables.each(kind):
            yield (kind, index, "on"), table.on
    for index, table in tables.each("cylinder"):
        yield ("cylinder", index, "base", "on"), table.base.on
        yield ("cylinder", index, "rod", "on"), table.rod.on
    for index, table in tables.each("pin"):
        for side, name in enumerate(table.bodies):
            yield ("pin", index, "bodies", side), name


def _figure(value: float | str, unit: str) -> float:
    """Value of a figure of the profile; bare numbers as everywhere, turns per metre in degrees per metre."""
    if unit in FIGURE_KINDS:
        return units.si(value, FIGURE_KINDS[unit])
    if isinstance(value, str):
        raise ArgumentError(f"'{value}' needs to be a plain number here{FIGURE_HINTS.get(unit, '')}")
    return math.radians(value) if unit == "rad/m" else value


def _mendable(problem: Problem) -> Problem:
    """What the program wrote need not be mended by hand."""
    if isinstance(problem, LastingProblem) or problem.path[:1] != ("run",) or problem.path[2:3] != ("assembly",):
        return problem
    end = " " if problem.text.endswith((".", "?")) else "; "
    return replace(problem, text=f"{problem.text}{end}'hosewright plan JOB' writes this table anew")


def _limits(table: RunTable) -> list[dict[str, Any]] | None:
    """What the plan of a run says of its limits; ``None`` where it tells their number alone, or nothing."""
    limits = None if table.assembly is None else table.assembly.limits
    return [limit.model_dump() for limit in limits] if isinstance(limits, list) else None


def _weak(limits: list[LimitTable] | str | None) -> Sentence | None:
    """At how many of its limits a plan holds; ``None`` where that is all."""
    if isinstance(limits, list):
        weak = tuple(Name(limit.name, "limits") for limit in limits if not limit.holds)
        held, number = len(limits) - len(weak), len(limits)
        return Sentence.of("warnings.held_not_at", held=held, number=number, names=weak) if weak else None
    first, _, last = (limits or "").partition(" of ")
    return Sentence.of("warnings.held", held=first, number=last) if first != last else None


def _doubts(
    tables: Salvage, machine: Machine, poses: Poses, digests: Mapping[str, str], changed: Collection[str]
) -> Iterator[JobWarning]:
    for table in tables.tables.run:
        record = table.assembly or AssemblyRecord()
        if record.hash is not None and not made_from(digests[table.name], record.hash):
            yield JobWarning(Sentence.of("warnings.stale", run=table.name), table.name, stops=True)
        if table.name in changed:
            yield JobWarning(Sentence.of("warnings.changed", run=table.name), table.name)
        if (weak := _weak(record.limits)) is not None:  # even where it was changed since: a failure must not get lost
            yield JobWarning(Sentence.of("warnings.weak", run=table.name, held=weak), table.name, stops=True)
    taken: dict[str, str] = {}
    for run in tables.tables.run:
        for port in (run.start, run.end):
            if port in taken:
                yield JobWarning(Sentence.of("warnings.port_used", port=port, first=taken[port], second=run.name))
            taken[port] = run.name
    for cylinder in machine.cylinders:
        stroke = cylinder.open - cylinder.closed
        if stroke > cylinder.closed:
            lengths = {"stroke": Figure.length(stroke), "closed": Figure.length(cylinder.closed)}
            yield JobWarning(Sentence.of("warnings.telescopic", cylinder=cylinder.name, **lengths))
    if not poses.joints and any(body.turn or body.slide for body in tables.tables.body):
        yield JobWarning(Sentence.of("warnings.no_motion"))
