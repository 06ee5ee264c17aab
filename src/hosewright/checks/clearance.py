"""Clearance: a planned hose touches nothing, neither parts of the machine nor another hose, in any pose or state.

Surface to surface: distance of the centre line less half the largest outside diameter, less a part of the bow for the
natural curve of coiled hose. Left out is the hose next to what holds it: the first outside diameters off a ferrule
against the part that its port sits on, and the neighbourhood of a clamp. Two hoses whose boxes stay 100 mm apart are
given the distance of the boxes, which is a lower bound.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from hosewright.checks.finding import Finding, judge
from hosewright.checks.lacking import OUTSIDE_DIAMETER, lacks
from hosewright.checks.run import Job
from hosewright.checks.solve import SolvedRun
from hosewright.checks.worst import TIE, as_proven, place_of, unproven, worst
from hosewright.geometry import Frames, LeastBetween, least_between, least_distance
from hosewright.machine import Obstacle, Placement, Surface
from hosewright.sources import Source
from hosewright.words import Figure, Name, Sentence

Array = NDArray[np.float64]

RULE = "clearance"
SPACING = 0.006
"""Greatest distance of the points at which the centre line is measured: a corner between two of them reads less than
0.3 mm too far off a hose of 20 mm at the plain clearance. [m]"""
OFF_FERRULE = 3.0
OFF_CLAMP = 2.0
"""Hose, in outside diameters, that is not measured against what holds it."""
FAR = 0.1
"""Hoses whose boxes are further apart than this are not measured more closely. [m]"""
SEATED = 0.005
"""A port nearer than this to an obstacle's surface sits on it. [m]"""


def check(solved: SolvedRun, job: Job, within: float = math.inf) -> list[Finding]:
    """One finding for each obstacle; those that the hose's axis stays further from than ``within`` are left out."""
    near = (_nearest_to(solved, obstacle, within) for obstacle in job.machine.obstacles)
    return [
        _finding(solved, job, obstacle, nearest)
        for obstacle, nearest in zip(job.machine.obstacles, near, strict=True)
        if nearest is None or nearest.distance <= within
    ]


def seated(placement: Placement, obstacle: Obstacle, port: str) -> bool:
    """Whether a port sits on an obstacle."""
    return obstacle.name in placement.carriers(port, SEATED)


def _finding(solved: SolvedRun, job: Job, obstacle: Obstacle, near: _Near | None) -> Finding:
    hose, profile = solved.run.assembly.hose, job.profile
    name = _figure(solved, job, obstacle)
    limit, source = profile[name], profile.source(name)
    if hose.outside_diameter is None:
        said = lacks(hose.name, OUTSIDE_DIAMETER)
        return Finding(
            RULE, obstacle.name, judge(None, limit, at_least=True), "length", None, limit, True, source, said
        )
    if near is None:
        return _apart(obstacle, limit, Sentence.of("findings.all_beside_its_hold"))
    state, pose, at = near.state, near.pose, near.at
    measure = near.distance - hose.outside_diameter / 2.0 - coil_set(solved, job)
    said = as_proven(_sentence(measure, obstacle, at), solved)
    verdict = judge(measure, limit, at_least=True, source=source, complete=not unproven(solved))
    place = place_of(solved, state, pose, _span_at(solved, at), at)
    return Finding(RULE, obstacle.name, verdict, "length", measure, limit, True, source, said, place=place)


def _sentence(measure: float, obstacle: Obstacle, at: float) -> Sentence:
    key = "findings.inside_part" if measure < 0.0 else "findings.from_part"
    surface, place = Name(str(obstacle.surface), "surfaces"), Figure.length(at)
    return Sentence.of(key, distance=Figure.length(abs(measure)), part=obstacle.name, surface=surface, at=place)


@dataclass(frozen=True)
class _Near:
    """Nearest place of a centre line to an obstacle, from ferrule tail a on nominal length. [m]"""

    distance: float
    state: int
    pose: int
    at: float


def _nearest_to(solved: SolvedRun, obstacle: Obstacle, within: float) -> _Near | None:
    """Nearest place in all poses and states: from a few nodes, from all, then from places between where it may be.

    Beyond ``within`` the distance is a lower bound. ``None`` where the whole hose lies next to what holds it.
    """
    diameter = solved.run.assembly.hose.outside_diameter or 0.0
    arcs, parts = finer_arcs(solved), _parts(solved)
    counted = counted_places(solved, obstacle, arcs, diameter)
    if not counted.any():
        return None
    body, shape = solved.placement.body(obstacle.on), obstacle.shape
    nodes = np.stack(solved.lines, axis=1)
    element = float(np.linalg.norm(np.diff(nodes, axis=2), axis=3).max())
    off = ~counted[::parts]
    poses, states = (index.ravel() for index in np.indices(nodes.shape[:2]))
    for stride in (6, 1):
        some = np.flatnonzero(~off[::stride]) * stride
        if len(some) == 0:
            continue
        where = Frames(body.origin[poses], body.axes[poses])
        least = shape.quick_distance(where.local(nodes[poses, states][:, some])).min(axis=1)
        # between two nodes it is at most half their distance nearer than at one, all of it where one is left out
        reach = (1.02 if off.any() else 0.51) * stride * element + 2.0 * shape.tolerance
        if least.min() - reach > within:
            return _Near(float(least.min() - reach), 0, 0, 0.0)
        near = least <= least.min() + reach
        poses, states = poses[near], states[near]
    fine = _finer(nodes[poses, states], parts)[:, counted]
    where = Frames(body.origin[poses], body.axes[poses])
    nearest = least_distance(shape, where.local(fine))
    row = int(np.lexsort((states, poses, np.round(nearest.distance / TIE)))[0])
    place = float(arcs[counted][nearest.index[row]])
    return _Near(float(nearest.distance[row]), int(states[row]), int(poses[row]), place)


def _apart(obstacle: Obstacle, limit: float, said: Sentence) -> Finding:
    verdict = judge(None, limit, at_least=True)
    return Finding(RULE, obstacle.name, verdict, "length", None, limit, True, None, said)


def _figure(solved: SolvedRun, job: Job, obstacle: Obstacle) -> str:
    # name of the profile's figure; a sleeve stands in for the distance to hot and sharp parts
    if obstacle.surface is Surface.HOT and not solved.run.sleeve:
        return "clearance_hot"
    if obstacle.surface is Surface.SHARP and not solved.run.sleeve:
        return "clearance_sharp"
    body = solved.placement.body(obstacle.on)
    moving = (job.profile["moving_distance"], job.profile["moving_angle"])
    past = any(moves_past(body, end, *moving) for end in (solved.spans[0].a, solved.spans[-1].b))
    return "clearance_moving_past" if past else "clearance_plain"


def moves_past(a: Frames, b: Frames, distance: float, angle: float) -> bool:
    """Whether one frame moves against another by more than a distance or an angle."""
    offset = np.einsum("mji,mj->mi", a.axes, b.origin - a.origin)
    turn = np.swapaxes(a.axes, 1, 2) @ b.axes
    cosine = (np.einsum("ij,mij->m", turn[0], turn) - 1.0) / 2.0
    far = np.linalg.norm(offset - offset[0], axis=1).max()
    return bool(far > distance or np.arccos(np.clip(cosine, -1.0, 1.0)).max() > angle)


def finer_lines(solved: SolvedRun) -> tuple[Array, list[Array]]:
    """Centre lines with points between the nodes: places on nominal length (k,), and (m, k, 3) in each state. [m]"""
    return finer_arcs(solved), [_finer(line, _parts(solved)) for line in solved.lines]


def finer_arcs(solved: SolvedRun) -> Array:
    """Places of the points of ``finer_lines`` on nominal length, (k,). [m]"""
    arcs, parts = solved.arcs, _parts(solved)
    return np.interp(np.arange((len(arcs) - 1) * parts + 1) / parts, np.arange(len(arcs)), arcs)


def _parts(solved: SolvedRun) -> int:
    # points per element
    return math.ceil(float(np.diff(solved.arcs).max()) / SPACING)


def _finer(line: Array, parts: int) -> Array:
    # cubic through four neighbours, so many parts to an element
    padded = np.concatenate([2.0 * line[:, :1] - line[:, 1:2], line, 2.0 * line[:, -1:] - line[:, -2:-1]], axis=1)
    m, k = line.shape[0], line.shape[1] - 1
    out = np.empty((m, k * parts + 1, 3))
    out[:, ::parts] = line
    p0, p1, p2, p3 = padded[:, :-3], padded[:, 1:-2], padded[:, 2:-1], padded[:, 3:]
    for part in range(1, parts):
        t = part / parts
        slope1, slope2 = 0.5 * (p2 - p0), 0.5 * (p3 - p1)
        h = 1.0 - t
        out[:, part::parts] = (
            (1.0 + 2.0 * t) * h * h * p1 + t * h * h * slope1 + t * t * (3.0 - 2.0 * t) * p2 - t * t * h * slope2
        )
    return out


def counted_places(solved: SolvedRun, obstacle: Obstacle, arcs: Array, diameter: float) -> NDArray[np.bool_]:
    """Which places on the hose are measured against an obstacle, (k,)."""
    counted = np.ones(len(arcs), dtype=bool)
    for port, end in ((solved.run.port_a, 0.0), (solved.run.port_b, arcs[-1])):
        if seated(solved.placement, obstacle, port):
            counted &= np.abs(arcs - end) > OFF_FERRULE * diameter
    for clamp in solved.run.clamps:
        mount = next(mount for mount in solved.placement.machine.mounts if mount.name == clamp.mount)
        if mount.on == obstacle.on:
            counted &= np.abs(arcs - clamp.at) > OFF_CLAMP * diameter
    return counted


def coil_set(solved: SolvedRun, job: Job) -> float:
    """Part of the largest bow off the straight line between held ends. [m]"""
    bow = 0.0
    for span in solved.spans:
        line = span.shapes[0].position
        chord = line[:, -1:] - line[:, :1]
        along = chord / np.maximum(np.linalg.norm(chord, axis=2, keepdims=True), 1e-9)
        offset = line - line[:, :1]
        across = offset - np.sum(offset * along, axis=2, keepdims=True) * along
        bow = max(bow, float(np.linalg.norm(across, axis=2).max()))
    return job.profile["coil_set"] * bow


def _span_at(solved: SolvedRun, at: float) -> str:
    return [span.name for span in solved.spans if span.start <= at + 1e-9][-1]


def check_pairs(runs: Sequence[SolvedRun], job: Job, only: str | None = None) -> dict[str, list[Finding]]:
    """Hose against hose for all pairs of runs, in all poses and all pairs of states; findings by run, on both runs.

    ``only`` names a run to which the pairs are limited, and leaves out those that stay far apart: they pass.
    """
    found: dict[str, list[Finding]] = {solved.run.name: [] for solved in runs}
    for number, a in enumerate(runs):
        for b in runs[number + 1 :]:
            if only is not None and (only not in (a.run.name, b.run.name) or _far_apart(a, b, job)):
                continue
            finding_a, finding_b = _pair(a, b, job)
            found[a.run.name].append(finding_a)
            found[b.run.name].append(finding_b)
    return found


def _far_apart(a: SolvedRun, b: SolvedRun, job: Job) -> bool:
    """Whether the boxes round two hoses, in all states together, stay further apart than the clearance asks."""
    diameters = [x.run.assembly.hose.outside_diameter for x in (a, b)]
    if diameters[0] is None or diameters[1] is None:
        return False
    gap = _box_gap(np.concatenate(a.lines, axis=1), np.concatenate(b.lines, axis=1))
    reach = (diameters[0] + diameters[1]) / 2.0 + job.profile["clearance_hose"] * max(diameters[0], diameters[1])
    return bool(gap.min() > reach)


def _box_gap(a: Array, b: Array) -> Array:
    # gap (m,) between the boxes round lines (m, k, 3) and (m, l, 3), a lower bound of their distance
    apart = np.maximum(a.min(axis=1) - b.max(axis=1), b.min(axis=1) - a.max(axis=1))
    return np.linalg.norm(np.maximum(apart, 0.0), axis=1)


def _pair(a: SolvedRun, b: SolvedRun, job: Job) -> tuple[Finding, Finding]:
    profile, source = job.profile, job.profile.source("clearance_hose")
    for solved in (a, b):
        if solved.run.assembly.hose.outside_diameter is None:
            return _not_measured(a, b, lacks(solved.run.assembly.hose.name, OUTSIDE_DIAMETER), source)
    diameters = [x.run.assembly.hose.outside_diameter or 0.0 for x in (a, b)]
    limit = profile["clearance_hose"] * max(diameters)
    radii = sum(diameters) / 2.0
    boxes = _box_gap(np.concatenate(a.lines, axis=1), np.concatenate(b.lines, axis=1)) - radii
    if boxes.min() > FAR:
        return _far_pair(a, b, float(boxes.min()), int(np.argmin(boxes)), limit, source)
    gap = _nearest(a, b, radii + limit)
    state, pose = worst(gap.distance, at_least=True)
    states = divmod(state, len(b.states))
    nearest = _nearest_of(a, b, states, pose)
    measure = float(nearest.distance[0]) - radii
    at = (_arc(a, float(nearest.on_a[0]) / _parts(a)), _arc(b, float(nearest.on_b[0]) / _parts(b)))
    complete = not (unproven(a) or unproven(b))
    verdict = judge(measure, limit, at_least=True, source=source, complete=complete)
    findings = []
    for solved, other, s, here in ((a, b, states[0], at[0]), (b, a, states[1], at[1])):
        key = "findings.hoses_overlap" if measure < 0.0 else "findings.hoses_pass"
        said = Sentence.of(key, distance=Figure.length(abs(measure)), at=Figure.length(here))
        said = as_proven(said, a if unproven(a) else b)
        place = place_of(solved, s, pose, _span_at(solved, here), here)
        subject = f"hose {other.run.name}"
        findings.append(Finding(RULE, subject, verdict, "length", measure, limit, True, source, said, place=place))
    return findings[0], findings[1]


def _far_pair(
    a: SolvedRun, b: SolvedRun, measure: float, pose: int, limit: float, source: Source
) -> tuple[Finding, Finding]:
    # so far apart that the distance of the boxes round both, a lower bound, says all that is wanted
    said = Sentence.of("findings.hoses_apart", distance=Figure.length(measure))
    verdict = judge(measure, limit, at_least=True, source=source, complete=not unproven(a) and not unproven(b))
    first, second = (
        Finding(RULE, f"hose {y.run.name}", verdict, "length", measure, limit, True, source, as_proven(said, x))
        for x, y in ((a, b), (b, a))
    )
    where = place_of(a, 0, pose)
    return replace(first, place=where), replace(second, place=where)


def _not_measured(a: SolvedRun, b: SolvedRun, said: Sentence, source: Source) -> tuple[Finding, Finding]:
    verdict = judge(None, None, at_least=True)
    first, second = (
        Finding(RULE, f"hose {x.run.name}", verdict, "length", None, None, True, source, said) for x in (b, a)
    )
    return first, second


def _nearest_of(a: SolvedRun, b: SolvedRun, states: tuple[int, int], pose: int) -> LeastBetween:
    # in one pose and pair of states, on lines with points between the nodes: chords cut the bends short
    parts = _parts(a), _parts(b)
    line_a, line_b = (
        _finer(x.lines[s][pose : pose + 1], part) for x, s, part in zip((a, b), states, parts, strict=True)
    )
    skip = _beside_clamps(a, b)
    if skip is not None:
        skip = np.repeat(np.repeat(skip, parts[0], axis=0), parts[1], axis=1)
    return least_between(line_a, line_b, skip)


class _Gap:
    """Least distances between two hoses, (pairs of states, poses)."""

    def __init__(self, pairs: int, poses: int) -> None:
        self.distance = np.full((pairs, poses), np.inf)
        self.on_a = np.zeros((pairs, poses))
        self.on_b = np.zeros((pairs, poses))


def _nearest(a: SolvedRun, b: SolvedRun, wanted: float) -> _Gap:
    # pairs of states that cannot come nearer than the first pair's worst are not measured: no node of a hose lies
    # further from its nominal place than ``away``, and no hose leaves the box round it
    gap = _Gap(len(a.states) * len(b.states), len(a.poses))
    skip = _beside_clamps(a, b)
    away = [[np.linalg.norm(line - x.lines[0], axis=2).max(axis=1) for line in x.lines] for x in (a, b)]
    first = least_between(a.lines[0], b.lines[0], skip)
    gap.distance[0], gap.on_a[0], gap.on_b[0] = first.distance, first.on_a, first.on_b
    bound = max(float(first.distance.min()), wanted)
    rows = [
        (s, t, pose)
        for s, state in enumerate(a.states)
        for t, other in enumerate(b.states)
        if (s, t) != (0, 0) and state.down == other.down  # both hoses lie on the same machine
        for pose in np.flatnonzero(
            (first.distance - away[0][s] - away[1][t] < bound) & (_box_gap(a.lines[s], b.lines[t]) < bound - TIE)
        )
    ]
    if rows:
        s_rows, t_rows, poses = np.array(rows).T
        lines_a, lines_b = np.stack(a.lines), np.stack(b.lines)
        near = least_between(lines_a[s_rows, poses], lines_b[t_rows, poses], skip)
        place = (s_rows * len(b.states) + t_rows, poses)
        gap.distance[place], gap.on_a[place], gap.on_b[place] = near.distance, near.on_a, near.on_b
    return gap


def _beside_clamps(a: SolvedRun, b: SolvedRun) -> NDArray[np.bool_] | None:
    if not (a.run.clamps and b.run.clamps):
        return None
    held = []
    for solved in (a, b):
        middle = 0.5 * (solved.arcs[1:] + solved.arcs[:-1])
        reach = OFF_CLAMP * (solved.run.assembly.hose.outside_diameter or 0.0)
        held.append(np.any([np.abs(middle - clamp.at) < reach for clamp in solved.run.clamps], axis=0))
    return held[0][:, None] & held[1][None, :]


def _arc(solved: SolvedRun, place: float) -> float:
    return float(np.interp(place, np.arange(len(solved.arcs)), solved.arcs))
