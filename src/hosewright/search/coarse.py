"""A first look at many spans: the real shape on few elements in few poses, over a ladder of lengths.

Shapes are solved free to roll, each span in one walk that goes forth and back through the poses while the length
climbs. The neighbours on the ladder stand for the shortest and the longest state. What fails here by much is not looked
at again; what passes is only a candidate, and every rule is checked on the real thing later.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from hosewright.assembly import Hose
from hosewright.catalog import TORSION_OVER_BENDING
from hosewright.checks import bend_radius, motion_twist, slack, snap
from hosewright.checks import clearance as clearance_rule
from hosewright.checks import straight as straight_rule
from hosewright.checks.clearance import OFF_FERRULE, moves_past, seated
from hosewright.checks.run import Job
from hosewright.geometry import Frames
from hosewright.machine import Obstacle, Placement, Surface
from hosewright.mechanics import Section, Shapes, Span, Support, carried_roll, sweeps

Array = NDArray[np.float64]

ELEMENTS = 16
SOFT_AXIS = 3e3
"""Axial stiffness times length squared over bending stiffness: ten times faster than a stiff axis, and straight hoses
read a percent or two too long, which a first look bears."""
RUNGS = 9
RATIO, RADII = 0.045, 0.12
"""A rung is longer than the one before by this part of it and so many bend radii."""
KEPT = 0.02
"""A rung that falls short by no more than this may pass."""
GAP_SCALE = 0.05
"""Clearance that counts as one whole shortfall. [m]"""
LEAST_TOLERANCE, SLACK_WEIGHT = 0.003, 5.0
"""What a hose may be too short [m], and how much a missing part of the length weighs."""
MISSED = 5.0
"""Counted for a shape that was not found."""


@dataclass(frozen=True, eq=False)
class Look:
    """Shapes of one span on a ladder of lengths.

    Attributes
    ----------
    length : (k,) float
        Free lengths of the ladder. [m]
    way
        Least that a hose must reach over all poses. [m]
    position : (k, p, n + 1, 3) float
        Centre lines. [m]
    curvature : (k, p, n + 1) float
        [1/m]
    least_radius : (k, p) float
        [m]
    roll : (k, p) float
        Turn about the hose's own axis, against the first pose. [rad]
    converged : (k, p) bool
    moves
        Whether the ends move against each other.
    """

    length: Array
    way: float
    position: Array
    curvature: Array
    least_radius: Array
    roll: Array
    converged: NDArray[np.bool_]
    moves: bool


def look(
    spans: Sequence[tuple[Frames, Frames]], hose: Hose, weight: float, job: Job, fixed: float | None = None
) -> list[Look]:
    """Solve spans over p poses, the fitting pose first.

    Parameters
    ----------
    spans
        Held ends in p poses; both face from a to b.
    hose
        For stiffness and bend radius.
    weight
        Of the filled hose. [N/m]
    job
        For the profile.
    fixed
        The one length to look at; a ladder without it. [m]
    """
    setups = [_setup(a, b, hose, weight, fixed) for a, b in spans]
    shapes = sweeps([setup.span for setup in setups])
    return [_look(*span, setup, shape, job) for span, setup, shape in zip(spans, setups, shapes, strict=True)]


@dataclass(frozen=True, eq=False)
class _Setup:
    span: Span
    length: Array
    way: float
    order: NDArray[np.int64]  # (k, p): pose of the walk for each rung and pose


def _setup(a: Frames, b: Frames, hose: Hose, weight: float, fixed: float | None) -> _Setup:
    poses = len(a.origin)
    radius = centre_radius(hose)
    way = least_way(a, b, radius)
    length = ladder(way, radius) if fixed is None else np.array([fixed])
    walk = np.concatenate([np.arange(poses) if k % 2 == 0 else np.arange(poses)[::-1] for k in range(len(length))])
    order = np.arange(len(length) * poses).reshape(len(length), poses)
    order[1::2] = order[1::2, ::-1]
    stiffness = hose.bending_stiffness or 1.0
    section = Section(
        stiffness, TORSION_OVER_BENDING * stiffness, SOFT_AXIS * stiffness / length[0] ** 2, weight=weight
    )
    ends = Support(a.origin[walk], a.facing[walk]), Support(b.origin[walk], b.facing[walk])
    return _Setup(Span(section, np.repeat(length, poses), *ends, ELEMENTS, quick=True), length, way, order)


def centre_radius(hose: Hose) -> float:
    """Least radius of the centre line. [m]"""
    return (hose.minimum_bend_radius or 0.0) + (hose.outside_diameter or 0.0) / 2.0


def least_way(a: Frames, b: Frames, radius: float) -> float:
    """Longest over the poses of the straight distance and of radius times turn: a bound for any hose. [m]"""
    cosine = np.clip(np.sum(a.facing * b.facing, axis=1), -1.0, 1.0)
    return float(np.maximum(np.linalg.norm(b.origin - a.origin, axis=1), radius * np.arccos(cosine)).max())


def ladder(way: float, radius: float) -> Array:
    """Free lengths from the shortest that reaches on. [m]"""
    rungs = [max(way * 1.002, 0.02)]
    for _ in range(RUNGS - 1):
        rungs.append(rungs[-1] * (1.0 + RATIO) + RADII * radius)
    return np.array(rungs)


def _look(a: Frames, b: Frames, setup: _Setup, shapes: Shapes, job: Job) -> Look:
    order = setup.order
    position = shapes.position[order]
    rungs, poses = order.shape
    flat = np.tile(np.arange(poses), rungs)
    nodes = position.reshape(rungs * poses, -1, 3)
    roll = carried_roll(nodes, a.facing[flat], b.facing[flat], a.up[flat], b.up[flat]).reshape(rungs, poses)
    return Look(
        setup.length,
        setup.way,
        position,
        shapes.curvature[order],
        shapes.least_radius[order],
        np.unwrap(roll, axis=1) - roll[:, :1],
        shapes.converged[order],
        moves_past(a, b, job.profile["moving_distance"], job.profile["moving_angle"]),
    )


@dataclass(frozen=True, eq=False)
class Surroundings:
    """What the hose of one run must keep away from, over the same poses.

    Attributes
    ----------
    near_a, near_b
        Whether each obstacle carries that port, so that the hose next to the ferrule does not count.
    lines
        Centre lines (p, k, 3) of other hoses, each with the distance that it asks of a surface. [m]
    """

    obstacles: tuple[Obstacle, ...]
    frames: tuple[Frames, ...]
    limits: tuple[float, ...]
    near_a: tuple[bool, ...]
    near_b: tuple[bool, ...]
    lines: tuple[tuple[Array, float], ...] = ()


def surroundings(placement: Placement, port_a: str, port_b: str, job: Job, *, sleeve: bool) -> Surroundings:
    """Obstacles of a run with the clearance that each asks at least."""
    obstacles = job.machine.obstacles
    limit = {Surface.SHARP: "clearance_sharp", Surface.HOT: "clearance_hot"}
    names = ["clearance_plain" if sleeve else limit.get(one.surface, "clearance_plain") for one in obstacles]
    return Surroundings(
        obstacles,
        tuple(placement.body(one.on) for one in obstacles),
        tuple(job.profile[name] for name in names),
        tuple(seated(placement, one, port_a) for one in obstacles),
        tuple(seated(placement, one, port_b) for one in obstacles),
    )


def clearances(looks: Sequence[Look], around: Surroundings, diameter: float) -> Array:
    """Least of surface distance less what is asked, over all obstacles, (looks, k, p). [m]"""
    least = np.full((len(looks), *looks[0].roll.shape), np.inf)
    for number, one in enumerate(looks):
        rungs, poses, nodes = one.position.shape[:3]
        arcs = np.linspace(0.0, 1.0, nodes)[None] * one.length[:, None]
        flat = np.tile(np.arange(poses), rungs)
        points = one.position.reshape(rungs * poses, nodes, 3)
        for part, frames, limit, near_a, near_b in zip(
            around.obstacles, around.frames, around.limits, around.near_a, around.near_b, strict=True
        ):
            local = Frames(frames.origin[flat], frames.axes[flat]).local(points)
            gap = part.shape.quick_distance(local).reshape(rungs, poses, nodes) - diameter / 2.0 - limit
            skip = OFF_FERRULE * diameter
            if near_a:
                gap = np.where(arcs[:, None] <= skip, np.inf, gap)
            if near_b:
                gap = np.where(arcs[:, None] >= one.length[:, None, None] - skip, np.inf, gap)
            least[number] = np.minimum(least[number], gap.min(axis=2))
        for line, asked in around.lines:
            gap = _to_line(one.position, line) - diameter / 2.0 - asked
            least[number] = np.minimum(least[number], gap)
    return least


def _to_line(position: Array, line: Array) -> Array:
    # least distance of the nodes (k, p, n, 3) to every other node of another hose's line (p, l, 3), (k, p)
    apart = position[:, :, :, None] - line[None, :, None, ::2]
    return np.sqrt(np.einsum("kpnlx,kpnlx->kpnl", apart, apart).min(axis=(2, 3)))


@dataclass(frozen=True, eq=False)
class Shortfall:
    """How far each rung of a ladder falls short of the rules, in parts of their limits.

    Attributes
    ----------
    by_rule : mapping of (k,) float
        0 where a rule is kept.
    total : (k,) float
        Of all rules.
    """

    by_rule: Mapping[str, Array]
    total: Array

    @property
    def best(self) -> int:
        """The shortest rung that keeps all rules, else the one that falls least short."""
        kept = np.flatnonzero(self.total <= KEPT)
        return int(kept[0]) if len(kept) else int(np.argmin(self.total))

    def reason(self, rung: int) -> str:
        """The rule that a rung is furthest from."""
        return max(self.by_rule, key=lambda rule: float(self.by_rule[rule][rung]))


def shortfall(one: Look, hose: Hose, clearance: Array, job: Job, *, free: bool = False) -> Shortfall:
    """How far each rung falls short; its neighbours count with it, as the shortest and the longest state.

    ``free`` says that a live swivel lets the hose turn about its own axis.
    """
    profile = job.profile
    least, diameter = hose.minimum_bend_radius or 0.0, hose.outside_diameter or 0.0
    factor = profile["moving_radius_factor"] if one.moves else 1.0
    name = "straight_factor_moving" if one.moves else "straight_factor_still"
    straight = (profile[name] * least + diameter / 2.0) * _end_curvature(one, profile["straight_length"] * diameter)
    half_range = np.ptp(one.roll, axis=1) / 2.0 / one.length
    parts = {
        snap.RULE: np.where(one.converged, 0.0, MISSED),
        bend_radius.RULE: (factor * least + diameter / 2.0) / one.least_radius - 1.0,
        straight_rule.RULE: straight - 1.0,
        clearance_rule.RULE: -clearance / GAP_SCALE,
    }
    by_rule = {rule: _beside(np.maximum(part, 0.0).max(axis=1)) for rule, part in parts.items()}
    limit = profile["twist_limit"] * profile["twist_diameter"] / max(diameter, 1e-3)
    shortest = one.length * (1.0 - (hose.shorter or 0.0)) - LEAST_TOLERANCE
    by_rule[slack.RULE] = SLACK_WEIGHT * np.maximum(1.0 - shortest / (one.way + job.port_error), 0.0)
    by_rule[motion_twist.RULE] = np.maximum(half_range / limit - 1.0, 0.0) * (not free)
    return Shortfall(by_rule, np.sum(list(by_rule.values()), axis=0))


def _beside(values: Array) -> Array:
    # the worst of each rung and its neighbours
    padded = np.concatenate([values[:1], values, values[-1:]])
    worst: Array = np.maximum(np.maximum(padded[:-2], padded[1:-1]), padded[2:])
    return worst


def _end_curvature(one: Look, length: float) -> Array:
    # mean curvature over the first so much hose, the larger of both ends, (k, p)
    nodes = one.curvature.shape[2]
    arcs = np.linspace(0.0, 1.0, nodes)[None] * one.length[:, None]
    counted = arcs <= np.maximum(length, arcs[:, 1:2])
    weight = counted / counted.sum(axis=1, keepdims=True)
    from_a = np.einsum("kpn,kn->kp", one.curvature, weight)
    from_b = np.einsum("kpn,kn->kp", one.curvature[:, :, ::-1], weight)
    return np.maximum(from_a, from_b)
