"""Changes that the search draws: another hose, other ends and adapters, clamps, a turned port.

Ends, adapters, clamps and ports are ranked by first looks beside the other hoses with everything else as it is, and
only the nearest to passing are offered; lengths and places of clamps go along, since another end needs another length.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from hosewright.assembly import End, Hose
from hosewright.catalog import Catalog
from hosewright.checks.check import RunResult, duty_findings
from hosewright.checks.finding import Verdict
from hosewright.checks.run import Clamp, Job, Run
from hosewright.checks.solve import SolvedRun
from hosewright.errors import ArgumentError
from hosewright.geometry.frames import rotation
from hosewright.machine import Machine, Placement, Port
from hosewright.machine.description import named
from hosewright.machine.placement import drawn_axes
from hosewright.search import candidates
from hosewright.search.changes import Change, freed_orientation, together, use_form
from hosewright.search.poses import typical
from hosewright.search.preference import Preference
from hosewright.search.request import EndRequest, Request
from hosewright.search.seeds import Ground, Seed, clamped, clear_ends, direct
from hosewright.words import Figure, Name, Sentence

LOOKED_AT = 4
"""Poses of a first look."""
NEAR = 0.5
"""What falls further short in a first look is not offered."""
HOSES, ENDS, CLAMPS, PORTS = 3, 3, 2, 2
"""Changes of each kind that are offered, the most promising."""
Of = TypeVar("Of")
TURNS = (math.pi / 2.0, -math.pi / 2.0)
ANGLE_DECIMALS, FACING_DECIMALS = 1, 3
"""As changes are written: what is checked is what is written."""


@dataclass(frozen=True, eq=False)
class Scene:
    """A checked run among the other hoses, solved in the same poses; ``job`` as changes are screened."""

    run: RunResult
    others: Sequence[SolvedRun]
    job: Job
    catalog: Catalog

    @cached_property
    def ground(self) -> Ground:
        """What first looks need."""
        run, found = self.run.run, self.run.solved
        mass = run.assembly.hose.mass_per_length or 1.0
        lines = tuple(self._line(other) for other in self.others)
        placement = found.placement.take(self._index)
        return Ground(_request(run, self.job), self.job, placement, Preference(self.job.profile, mass), lines)

    def turned(self, machine: Machine) -> Ground:
        """The same with a turned port."""
        placement: Placement = replace(self.ground.placement, machine=machine)
        return replace(self.ground, job=replace(self.job, machine=machine), placement=placement)

    @cached_property
    def _index(self) -> NDArray[np.int64]:
        found = self.run.solved
        return typical(found.poses, found.placement, [(self.run.run.port_a, self.run.run.port_b)], LOOKED_AT)

    def _line(self, other: SolvedRun) -> tuple[NDArray[np.float64], float]:
        diameter = other.run.assembly.hose.outside_diameter or 0.0
        return other.lines[0][self._index], (0.5 + self.job.profile["clearance_hose"]) * diameter

    @property
    def mounts(self) -> list[str]:
        """Those that the run is clamped to."""
        return [clamp.mount for clamp in self.run.run.clamps]

    @property
    def free_mounts(self) -> list[str]:
        """Those that no hose is clamped to."""
        taken = {clamp.mount for other in self.others for clamp in other.run.clamps} | set(self.mounts)
        return [mount.name for mount in self.job.machine.mounts if mount.name not in taken]


def wider_changes(scene: Scene) -> Iterator[Change]:
    """All of them, the least trouble first."""
    yield from other_hoses(scene)
    yield from other_ends(scene, adapters=False)
    yield from other_clamps(scene)
    yield from other_ends(scene, adapters=True)
    yield from turned_ports(scene)


def other_hoses(scene: Scene) -> Iterator[Change]:
    """Hoses of the same size that fail no more of the duty; those that carry it, bend tighter, are lighter first."""
    run = scene.run.run
    failing = {finding.key for finding in scene.run.findings if finding.verdict is Verdict.FAIL}
    ranked = []
    for hose in scene.catalog.hoses():
        if hose.name == run.assembly.hose.name or hose.dash_size != run.assembly.hose.dash_size or _unknown(hose):
            continue
        changed = replace(run, assembly=replace(run.assembly, hose=hose))
        bad = {f.key for f in duty_findings(changed, scene.job) if f.verdict is Verdict.FAIL}
        if bad <= failing:
            stiffer_bends = (hose.minimum_bend_radius or 9.9) >= (run.assembly.hose.minimum_bend_radius or 9.9)
            ranked.append((len(bad), stiffer_bends, hose.mass_per_length or 99.0, hose.name, changed))
    best = [changed for *_, changed in sorted(ranked, key=lambda one: one[:4])[:HOSES]]
    for changed in best:
        name = changed.assembly.hose.name
        yield Change("hose", math.inf, Sentence.of("remedies.hose", hose=name), "run.assembly.hose", name, changed)
    if any(finding.verdict is Verdict.FAIL for finding in duty_findings(run, scene.job)):
        for changed in best:  # it has to be another one, if at another length
            hose, own = changed.assembly.hose, run.assembly
            words = [Sentence.of("remedies.hose", hose=hose.name)]
            for seed in _looked(scene.ground, hose, [own.a], [own.b], scene.mounts):
                yield _together("hose", words, {"hose": hose.name}, seed, scene)


def _unknown(hose: Hose) -> bool:
    return any(getattr(hose, name) is None for name in candidates.NEEDED)


def other_ends(scene: Scene, *, adapters: bool) -> Iterator[Change]:
    """Another end, straight from the forms or behind an adapter, at a or b, with the length that it needs."""
    ground, own = scene.ground, scene.run.run.assembly
    seeds: list[tuple[Seed, str]] = []
    for name, had, wanted in (("a", own.a, ground.request.a), ("b", own.b, ground.request.b)):
        if adapters:
            ends = candidates.adapted_ends(wanted, own.hose.dash_size, scene.catalog, live=False)
        else:
            ends = candidates.first_ends(wanted, own.hose.dash_size, scene.catalog)
        ends, _ = clear_ends([_as_written(end) for end in ends if _kind(end) != _kind(had)], wanted.port, ground)
        sides = (ends, [own.b]) if name == "a" else ([own.a], ends)
        seeds += [(seed, name) for seed in _looked(ground, own.hose, *sides, scene.mounts)] if ends else []
    for seed, name in _nearest(seeds, ENDS):
        made, had = (getattr(assembly, name) for assembly in (seed.run.assembly, own))
        table = {"ends": {name: _end_table(made, had)}}
        yield _together("adapter" if adapters else "end", [_end_words(made, had, name)], table, seed, scene)


def _kind(end: End) -> tuple[object, ...]:
    return end.form.name, end.form.connection, end.adapters


def _as_written(end: End) -> End:
    adapters = tuple((one, _written(clock)) for one, clock in end.adapters)
    return replace(end, clock=_written(end.clock), adapters=adapters)


def _written(angle: float) -> float:
    return math.radians(_degrees(angle))


def _degrees(angle: float) -> float:
    return round(math.degrees(angle), ANGLE_DECIMALS) % 360.0


def other_clamps(scene: Scene) -> Iterator[Change]:
    """One more clamp on a mount that is free, those that are there elsewhere on the hose, or one less."""
    own, mounts = scene.run.run.assembly, scene.mounts
    chains = [[*mounts[:k], name, *mounts[k:]] for name in scene.free_mounts for k in range(len(mounts) + 1)]
    if mounts:
        chains += [mounts, *([*mounts[:k], *mounts[k + 1 :]] for k in range(len(mounts)))]
    seeds = [(seed, "") for chain in chains for seed in _looked(scene.ground, own.hose, [own.a], [own.b], chain)]
    for seed, _ in _nearest(seeds, CLAMPS):
        if seed.run.clamps != scene.run.run.clamps:
            yield _together("clamp", [], {}, seed, scene)


def turned_ports(scene: Scene) -> Iterator[Change]:
    """A port that faces another way by a right angle, with the length that the hose needs then."""
    own = scene.run.run.assembly
    offers: list[tuple[Seed, tuple[Port, Machine]]] = []
    for name in (scene.run.run.port_a, scene.run.run.port_b):
        for port in _turned(named(scene.job.machine.ports, name, "port")):
            machine = scene.job.machine.with_port(port)
            found = _looked(scene.turned(machine), own.hose, [own.a], [own.b], scene.mounts)
            offers += [(seed, (port, machine)) for seed in found]
    for seed, (port, machine) in _nearest(offers, PORTS):
        x, y, z = (Figure.number(value, FACING_DECIMALS) for value in port.facing)
        words = Sentence.of("remedies.turn_port", port=port.name, x=x, y=y, z=z)
        table = {"facing": list(port.facing), "up": list(port.up or ())}
        change = _together("port", [words], table, seed, scene)
        yield replace(change, path=f"port.{port.name}.facing", machine=machine)


def _turned(port: Port) -> Iterator[Port]:
    """The port facing four other ways, its zero of the clock turned along."""
    axes = drawn_axes(port.facing, port.up)
    for axis in (axes[:, 1], axes[:, 2]):
        for turn in TURNS:
            matrix = rotation(axis, np.array([turn]))[0]
            yield replace(port, facing=_point(matrix @ axes[:, 0]), up=_point(matrix @ axes[:, 1]))


def _point(vector: NDArray[np.float64]) -> tuple[float, float, float]:
    x, y, z = (round(float(value), FACING_DECIMALS) + 0.0 for value in vector)
    return x, y, z


def _looked(
    ground: Ground, hose: Hose, ends_a: Sequence[End], ends_b: Sequence[End], mounts: Sequence[str]
) -> list[Seed]:
    try:
        if mounts:
            return clamped(ground, hose, ends_a, ends_b, mounts, ())
        return direct(ground, [hose], ends_a, ends_b)
    except ArgumentError:
        return []  # a place that no hose can lie in


def _nearest(seeds: Sequence[tuple[Seed, Of]], most: int) -> list[tuple[Seed, Of]]:
    near = [one for one in seeds if one[0].shortfall <= NEAR]
    return sorted(near, key=lambda one: (round(one[0].shortfall, 6), one[0].cost))[:most]


def _request(run: Run, job: Job) -> Request:
    ports = [named(job.machine.ports, name, "port") for name in (run.port_a, run.port_b)]
    a, b = (EndRequest(port.name, port.connection) for port in ports)
    return Request(run.name, a, b, run.duty, sleeve=run.sleeve, bow=run.bow, fitting_pose=run.fitting_pose)


def _together(kind: str, words: Sequence[Sentence], table: dict[str, Any], seed: Seed, scene: Scene) -> Change:
    """A change with the clamps and the length that go along."""
    run, old, words = seed.run, scene.run.run, list(words)
    built = old.assembly.orientation_angle
    if built is not None and "ends" not in table:
        run = replace(run, assembly=replace(run.assembly, orientation_angle=built))
    if run.clamps != old.clamps:
        words += _clamp_words(run.clamps, old.clamps)
        table = {**table, "clamps": [{"mount": one.mount, "at": round(one.at * 1e3, 1)} for one in run.clamps]}
    freed, orientation = freed_orientation(old, run)
    words, table = [*words, *freed], {**table, **orientation}
    length = run.assembly.overall_length
    if abs(length - old.assembly.overall_length) > 1e-6:
        words.append(Sentence.of("remedies.whole_length", length=Figure.length(length)))
        table = {**table, "length": round(length * 1e3, 1)}
    return Change(kind, math.inf, together(words), "run.assembly", table, run)


def _clamp_words(clamps: Sequence[Clamp], old: Sequence[Clamp]) -> list[Sentence]:
    off = [clamp.mount for clamp in old if clamp.mount not in [one.mount for one in clamps]]
    words = [Sentence.of("remedies.clamp_off", mount=mount) for mount in off]
    known = {(clamp.mount, clamp.at) for clamp in old}
    places = tuple(
        Sentence.of("remedies.clamp_place", mount=clamp.mount, at=Figure.length(clamp.at))
        for clamp in clamps
        if (clamp.mount, clamp.at) not in known
    )
    return [*words, Sentence.of("remedies.clamp", places=places)] if places else words


def _end_words(end: End, had: End, name: str) -> Sentence:
    clock = _written(end.clock) if end.form.exit_angle > 0.0 else None
    said = use_form(end.form, name, clock, connection=end.form.connection != had.form.connection)
    for adapter, turn in reversed(end.adapters):
        adapter_name = Name(adapter.name)
        if adapter.angle > 0.0:
            angle = Figure.angle(_written(turn))
            said = Sentence.of("remedies.behind_turned", said=said, adapter=adapter_name, clock=angle)
        else:
            said = Sentence.of("remedies.behind", said=said, adapter=adapter_name)
    return said


def _end_table(end: End, had: End) -> dict[str, Any]:
    adapters = [{"name": one.name, "to": one.hose_side, "clock": _degrees(clock)} for one, clock in end.adapters]
    table = {"form": end.form.name, "clock": _degrees(end.clock), "adapter": adapters}
    return table | ({"connection": end.form.connection} if end.form.connection != had.form.connection else {})
