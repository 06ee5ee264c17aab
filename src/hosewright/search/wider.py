"""Changes that the search draws: another hose, other ends and adapters, a clamp, a turned port.

Ends, adapters, clamps and ports are ranked by first looks with everything else as it is, and only the nearest to
passing are offered; the length goes along, since another end needs another length.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from hosewright.assembly import End
from hosewright.catalog import Catalog
from hosewright.checks.check import RunResult, duty_findings
from hosewright.checks.finding import Verdict
from hosewright.checks.run import Job, Run
from hosewright.geometry.frames import rotation
from hosewright.machine import Machine, Port
from hosewright.machine.description import named
from hosewright.search import candidates
from hosewright.search.poses import typical
from hosewright.search.preference import Preference
from hosewright.search.request import EndRequest, Request
from hosewright.search.seeds import Ground, Seed, clamped, clear_ends, direct

LOOKED_AT = 4
"""Poses of a first look."""
NEAR = 0.5
"""What falls further short in a first look is not offered."""
HOSES, ENDS, CLAMPS, PORTS = 3, 3, 2, 2
"""Changes of each kind that are offered, the most promising."""
TURNS = (math.pi / 2.0, -math.pi / 2.0)


@dataclass(frozen=True)
class Wider:
    """A change that is more than a figure of the run.

    Attributes
    ----------
    path, value
        Field of the job and its new value, in the job file's units.
    machine
        The changed machine, where a port is turned.
    """

    kind: str
    text: str
    path: str
    value: Any
    run: Run
    machine: Machine | None = None


def wider_changes(run: RunResult, job: Job, catalog: Catalog, taken: frozenset[str]) -> Iterator[Wider]:
    """All of them, the least trouble first; ``taken`` are mounts that other hoses are clamped to."""
    yield from other_hoses(run, job, catalog)
    yield from other_ends(run, job, catalog, adapters=False)
    yield from clamps(run, job, taken)
    yield from other_ends(run, job, catalog, adapters=True)
    yield from turned_ports(run, job)


def other_hoses(run: RunResult, job: Job, catalog: Catalog) -> Iterator[Wider]:
    """Hoses of the same size that carry the duty, the lightest first."""
    found = candidates.hoses(_request(run.run, job), job, catalog).fitting
    own = run.run.assembly.hose
    others = [hose for hose in found if hose.name != own.name and hose.dash_size == own.dash_size]
    better = [hose for hose in others if (hose.minimum_bend_radius or 9.9) < (own.minimum_bend_radius or 9.9)]
    for hose in [*better, *(hose for hose in others if hose not in better)][:HOSES]:
        changed = replace(run.run, assembly=replace(run.run.assembly, hose=hose))
        if not any(finding.verdict is Verdict.FAIL for finding in duty_findings(changed, job)):
            yield Wider("hose", f"use hose {hose.name}", "run.assembly.hose", hose.name, changed)


def other_ends(run: RunResult, job: Job, catalog: Catalog, *, adapters: bool) -> Iterator[Wider]:
    """Another end, straight from the forms or behind an adapter, at a or b, with the length that it needs."""
    ground, own = _ground(run, job), run.run.assembly
    if run.run.clamps:
        return
    seeds: list[Seed] = []
    for name, wanted in (("a", ground.request.a), ("b", ground.request.b)):
        if adapters:
            ends = candidates.adapted_ends(wanted, own.hose.dash_size, catalog, live=False)
        else:
            ends = candidates.first_ends(wanted, own.hose.dash_size, catalog)
        had = own.a if name == "a" else own.b
        ends = [end for end in ends if (end.form.name, end.adapters) != (had.form.name, had.adapters)]
        ends, _ = clear_ends(ends, wanted.port, ground)
        sides = (ends, [own.b]) if name == "a" else ([own.a], ends)
        seeds += direct(ground, [own.hose], *sides) if ends else []
    for seed in _nearest(seeds, ENDS):
        end = "a" if seed.run.assembly.b == own.b else "b"
        made = seed.run.assembly.a if end == "a" else seed.run.assembly.b
        yield _with_length(
            "adapter" if adapters else "end", _end_words(made, end), {"ends": {end: _end_table(made)}}, seed
        )


def clamps(run: RunResult, job: Job, taken: frozenset[str]) -> Iterator[Wider]:
    """A clamp on a mount that is free, with the length that it needs."""
    ground, own = _ground(run, job), run.run.assembly
    if run.run.clamps:
        return
    seeds: list[Seed] = []
    for mount in job.machine.mounts:
        if mount.name not in taken:
            seeds += clamped(ground, own.hose, [own.a], [own.b], [mount.name], ())
    for seed in _nearest(seeds, CLAMPS):
        (clamp,) = seed.run.clamps
        table = {"clamps": [{"mount": clamp.mount, "at": round(clamp.at * 1e3, 1)}]}
        text = f"clamp it at mount {clamp.mount}, {clamp.at * 1e3:.0f} mm from the ferrule of end a"
        yield _with_length("clamp", text, table, seed)


def turned_ports(run: RunResult, job: Job) -> Iterator[Wider]:
    """A port that faces another way by a right angle, with the length that it needs."""
    if run.run.clamps:
        return
    offers = []
    for port in (run.run.port_a, run.run.port_b):
        for turned in _turned(named(job.machine.ports, port, "port")):
            ports = tuple(turned if one.name == port else one for one in job.machine.ports)
            machine = replace(job.machine, ports=ports)
            changed = replace(job, machine=machine)
            own = run.run.assembly
            offers += [(seed, turned, machine) for seed in direct(_ground(run, changed), [own.hose], [own.a], [own.b])]
    offers = [offer for offer in offers if offer[0].shortfall <= NEAR]
    for seed, turned, machine in sorted(offers, key=lambda offer: (round(offer[0].shortfall, 6), offer[0].cost))[
        :PORTS
    ]:
        facing = [round(value, 3) + 0.0 for value in turned.facing]
        length = seed.run.assembly.overall_length
        text = f"turn port {turned.name} to face {facing} and make the overall length {length * 1e3:.0f} mm"
        value = {"facing": facing, "length": round(length * 1e3, 1)}
        yield Wider("port", text, f"port.{turned.name}.facing", value, seed.run, machine)


def _turned(port: Port) -> Iterator[Port]:
    facing = np.asarray(port.facing, dtype=float) / np.linalg.norm(port.facing)
    up = np.asarray(port.up if port.up is not None else _across(facing), dtype=float)
    up = up - (up @ facing) * facing
    up = up / np.linalg.norm(up)
    for axis in (up, np.cross(facing, up)):
        for turn in TURNS:
            matrix = rotation(axis, np.array([turn]))[0]
            new, zero = matrix @ facing, matrix @ up
            yield replace(port, facing=_point(new), up=_point(zero))


def _point(vector: np.ndarray) -> tuple[float, float, float]:
    return float(vector[0]), float(vector[1]), float(vector[2])


def _across(facing: np.ndarray) -> np.ndarray:
    return np.array([1.0, 0.0, 0.0]) if abs(facing[2]) > 0.999 else np.array([0.0, 0.0, 1.0])


def _nearest(seeds: Sequence[Seed], most: int) -> list[Seed]:
    near = [seed for seed in seeds if seed.shortfall <= NEAR]
    return sorted(near, key=lambda seed: (round(seed.shortfall, 6), seed.cost))[:most]


def _request(run: Run, job: Job) -> Request:
    ports = [named(job.machine.ports, name, "port") for name in (run.port_a, run.port_b)]
    a, b = (EndRequest(port.name, port.connection) for port in ports)
    return Request(run.name, a, b, run.duty, sleeve=run.sleeve, bow=run.bow, fitting_pose=run.fitting_pose)


def _ground(run: RunResult, job: Job) -> Ground:
    placement = job.machine.place(job.poses)
    pair = [(run.run.port_a, run.run.port_b)]
    poses = job.poses.take(typical(job.poses, placement, pair, LOOKED_AT))
    mass = run.run.assembly.hose.mass_per_length or 1.0
    return Ground(_request(run.run, job), job, job.machine.place(poses), Preference(job.profile, mass))


def _with_length(kind: str, text: str, table: dict[str, Any], seed: Seed) -> Wider:
    length = seed.run.assembly.overall_length
    text = f"{text} and make the overall length {length * 1e3:.0f} mm"
    return Wider(kind, text, "run.assembly", {**table, "length": round(length * 1e3, 1)}, seed.run)


def _end_words(end: End, name: str) -> str:
    clock = f" at {math.degrees(end.clock):.0f} degrees" if end.form.exit_angle > 0.0 else ""
    words = f"use a {end.form.name} end at {name}{clock}"
    for adapter, turn in end.adapters:
        words += f" behind a {adapter.name} adapter at {math.degrees(turn):.0f} degrees"
    return words


def _end_table(end: End) -> dict[str, Any]:
    adapters = [{"name": one.name, "clock": round(math.degrees(clock), 1)} for one, clock in end.adapters]
    return {"form": end.form.name, "clock": round(math.degrees(end.clock), 1), "adapter": adapters}
