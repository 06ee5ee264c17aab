"""Closed linkages: the joints that nobody moves follow from the pins that close the loops and from cylinder strokes.

All poses are solved at once. Each is walked from the drawn pose in small steps, none of which may lead through a dead
centre, where the linkage could fall into its other way of closing. At every step the closing conditions are solved by
Newton's method with the pseudo-inverse, which also serves loops with more conditions than freedoms (a plane linkage
closed by a pin in space has three too many).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from hosewright.geometry import Frames
from hosewright.geometry.frames import Array
from hosewright.machine.closings import Closing, LengthClosing, PinClosing
from hosewright.machine.kinematics import Rate, Tree
from hosewright.machine.parts import Cylinder, Pin, Turn

Indices = NDArray[np.int64]

GAP = 1e-4
"""A loop counts as closed when its pins meet this well: no port is measured better. [m]"""

FIRST_STEP = 0.1
"""No given joint moves more in one step at first. [rad, or machine size]"""

LONGEST_STEP = 0.3
"""No joint, given or following, moves more in one step, or it might reach the other way of closing. [likewise]"""

SHORTEST_STEP = 1e-5
"""Of the way that is walked; what still fails then cannot be reached."""

SETTLED = 1e-11
"""Newton's method ends when no joint moves more. [rad, m]"""

NEWTON_STEPS = 10

SINGULAR = 1e-7
"""Singular values below this part of the largest leave a joint free."""


@dataclass(frozen=True)
class Walked:
    """Where a walk ended.

    Attributes
    ----------
    values : (m, k) float
        Joint values at the end, or where the walk got stuck.
    arrived : (m,) bool
        Whether the end was reached.
    """

    values: Array
    arrived: NDArray[np.bool_]


@dataclass(frozen=True)
class Linkage:
    """The loops that move when the given joints and cylinders do.

    Attributes
    ----------
    names
        Joints and driving cylinders: the columns of all values (m, k) below.
    pins, drivers
        What closes the loops.
    following
        Joints that are solved for.
    size
        Length that makes slides comparable with turns. [m]
    """

    tree: Tree
    names: tuple[str, ...]
    pins: tuple[Pin, ...]
    drivers: tuple[Cylinder, ...]
    following: tuple[str, ...]
    size: float

    @cached_property
    def columns(self) -> Indices:
        """Columns of the following joints."""
        return np.array([self.names.index(joint) for joint in self.following], dtype=np.int64)

    @cached_property
    def scale(self) -> Array:
        """What counts as one unit of each column, (k,)."""
        turning = [name in self.tree.body_of and isinstance(self.tree.body_of[name].joint, Turn) for name in self.names]
        return np.where(turning, 1.0, self.size)

    def closings(self, values: Array) -> list[Closing]:
        """The conditions, with cylinder lengths as the values say."""
        lengths = [LengthClosing(c, c.closed + values[:, self.names.index(c.name)]) for c in self.drivers]
        return [*map(PinClosing, self.pins), *lengths]

    def frames(self, values: Array) -> dict[str, Frames]:
        """Frames of the bodies that the closing conditions name, and of those below them."""
        bodies = [name for closing in self.closings(values) for name in closing.bodies]
        return self.tree.frames(dict(zip(self.names, values.T, strict=True)), bodies, len(values))

    def misses(self, values: Array) -> Array:
        """What the closing conditions lack, (m, r). [m]"""
        frames = self.frames(values)
        return np.concatenate([closing.miss(frames) for closing in self.closings(values)], axis=1)

    def slopes(self, values: Array) -> Array:
        """Change of ``misses`` with each following joint, (m, r, u)."""
        frames = self.frames(values)
        still = Rate(np.zeros((len(values), 3)), np.zeros((len(values), 3)))
        rates = {joint: self.tree.rate(joint, frames) for joint in self.following if joint in frames}

        def slope(closing: Closing, joint: str) -> Array:
            a, b = (rates[joint] if joint in self.tree.chain(body) else still for body in closing.bodies)
            return closing.slope(frames, a, b)

        columns = [
            np.concatenate([slope(closing, joint) for closing in self.closings(values)], axis=1)
            for joint in self.following
        ]
        return np.stack(columns, axis=2)

    def loose(self, drawn: Array) -> int:
        """How many following joints the conditions leave free in the drawn pose (1, k)."""
        if not self.following:
            return 0
        slopes = self.slopes(drawn)[0] * self.scale[self.columns]
        singular = np.linalg.svd(slopes, compute_uv=False)
        held = int((singular > SINGULAR * max(singular.max(initial=0.0), self.size * SINGULAR)).sum())
        return len(self.following) - held

    def walk(self, start: Array, target: Array) -> Walked:
        """Walk each pose from values (m, k) at which the loops close to given values (m, k).

        The columns of the following joints in ``target`` do not count.
        """
        if not self.following:
            return Walked(target, np.abs(self.misses(target)).max(axis=1) < GAP)
        now, goal = start.copy(), target.copy()
        goal[:, self.columns] = start[:, self.columns]
        way = np.maximum(np.abs((goal - start) / self.scale).max(axis=1), FIRST_STEP)
        step = FIRST_STEP / way
        done = np.zeros(len(start))
        slopes = self.slopes(start)
        active = np.arange(len(start))
        while len(active):
            ahead = np.minimum(done[active] + step[active], 1.0)
            trial = start[active] + ahead[:, None] * (goal - start)[active]
            trial[:, self.columns] = now[active][:, self.columns]
            trial, closed = self._closed(trial)
            onward = self.slopes(trial)
            closed &= _same_way(slopes[active], onward)
            good, bad = active[closed], active[~closed]
            now[good], done[good], slopes[good] = trial[closed], ahead[closed], onward[closed]
            step[good] = np.minimum(1.5 * step[good], LONGEST_STEP / way[good])
            step[bad] *= 0.5
            active = active[(done[active] < 1.0) & (step[active] > SHORTEST_STEP)]
        return Walked(now, done >= 1.0)

    def _closed(self, values: Array) -> tuple[Array, NDArray[np.bool_]]:
        """Close the loops by the following joints; tells where that worked without a long way."""
        begun, values = values[:, self.columns], values.copy()
        settled = np.zeros(len(values), dtype=bool)
        for _ in range(NEWTON_STEPS):
            change = -(np.linalg.pinv(self.slopes(values), rcond=SINGULAR) @ self.misses(values)[..., None])[..., 0]
            values[:, self.columns] += np.clip(change, -1.0, 1.0)
            settled = np.abs(change).max(axis=1) < SETTLED
            if settled.all():
                break
        followed = np.abs((values[:, self.columns] - begun) / self.scale[self.columns]).max(axis=1)
        together = np.abs(self.misses(values)).max(axis=1) < GAP
        return values, settled & together & (followed < LONGEST_STEP)

    def complaints(self, stuck: Array, target: Array) -> list[str]:
        """What stays apart when one pose (k,) is forced as far towards its target (k,) as it will go."""
        values = target.copy()
        values[self.columns] = stuck[self.columns]

        def missing(following: Array) -> Array:
            values[self.columns] = following
            return self.misses(values[None])[0]

        if self.following:
            from scipy.optimize import least_squares  # takes a quarter of a second to load, for a message only

            missing(least_squares(missing, stuck[self.columns]).x)
        frames = self.frames(values[None])
        misses = [(closing, closing.miss(frames)[0]) for closing in self.closings(values[None])]
        return [closing.complaint(miss) for closing, miss in misses if np.abs(miss).max() > GAP]


SAME = 1e-3
"""Two solutions of one pose that differ more are two ways of closing. [rad, or machine size]"""


@dataclass(frozen=True)
class Solved:
    """Values (m, k) with the following joints filled in; ``failed`` is the first pose that cannot be reached."""

    values: Array
    failed: int | None


def solve(loops: Linkage, drawn: Array, targets: Array, path: Indices) -> Solved:
    """Close the loops in every pose, keeping the way of closing that the drawn pose (k,) leads to.

    Poses of one path must also follow from each other; where they do not follow the straight way from the drawn pose,
    the path counts.
    """
    walked = loops.walk(np.repeat(drawn[None], len(targets), axis=0), targets)
    values, arrived = walked.values, walked.arrived
    joins = np.flatnonzero(path[1:] == path[:-1])
    for start, end in ((joins, joins + 1), (joins[::-1] + 1, joins[::-1])):
        _reach_from_neighbours(loops, values, arrived, targets, start, end)
    if not arrived.all():
        return Solved(values, int(np.argmin(arrived)))
    onward = loops.walk(values[joins], targets[joins + 1])
    differs = ~onward.arrived | (
        np.abs((onward.values - values[joins + 1]) / loops.scale).max(axis=1, initial=0.0) > SAME
    )
    return _follow_paths(loops, values, targets, joins, differs)


def _reach_from_neighbours(
    loops: Linkage, values: Array, arrived: NDArray[np.bool_], targets: Array, start: Indices, end: Indices
) -> None:
    """Walk to poses that were not reached from those beside them that were; fills ``values`` and ``arrived``."""
    for here, there in zip(start, end, strict=True):
        if arrived[here] and not arrived[there]:
            step = loops.walk(values[here : here + 1], targets[there : there + 1])
            values[there], arrived[there] = step.values[0], step.arrived[0]


def _follow_paths(loops: Linkage, values: Array, targets: Array, joins: Indices, differs: NDArray[np.bool_]) -> Solved:
    """Walk on along a path from each place where the next pose does not follow."""
    stale = set((joins[differs] + 1).tolist())
    for here in joins:
        if here + 1 in stale:
            step = loops.walk(values[here : here + 1], targets[here + 1 : here + 2])
            if not step.arrived[0]:
                return Solved(values, int(here) + 1)
            values[here + 1] = step.values[0]
            stale.add(int(here) + 2)  # it may follow from what was here before
    return Solved(values, None)


def _same_way(before: Array, after: Array) -> NDArray[np.bool_]:
    """Whether the linkage still closes the way it did, from its slopes (m, r, u) before and after a small step.

    The ways of closing meet where the slopes become dependent, in a dead centre; on its two sides the determinant of a
    plane loop has opposite signs. The product of both matrices tells it for loops in space too.
    """
    product: NDArray[np.bool_] = np.linalg.det(before.transpose(0, 2, 1) @ after) > 0.0
    return product


@dataclass(frozen=True)
class _Loop:
    part: Pin | Cylinder
    joints: frozenset[str]
    following: frozenset[str]


def linkages(
    tree: Tree, pins: Sequence[Pin], cylinders: Sequence[Cylinder], given: Sequence[str], size: float
) -> list[Linkage]:
    """The loops that move when the given joints and cylinders do, those that share a following joint together.

    Loops that share none are solved apart: two that fold over at once would hide it from each other. A loop none of
    whose joints is given stays as it is drawn.
    """
    drivers = [cylinder for cylinder in cylinders if cylinder.name in given]
    ends = [(pin, *pin.bodies) for pin in pins] + [(c, c.base.on, c.rod.on) for c in drivers]
    groups: list[list[_Loop]] = []
    for part, a, b in ends:
        joints = frozenset(between(tree, a, b))
        loop = _Loop(part, joints, joints - set(given))
        shared = [group for group in groups if any(loop.following & other.following for other in group)]
        groups = [group for group in groups if group not in shared]
        groups.append([*(other for group in shared for other in group), loop])
    return [
        _linkage(tree, group, size)
        for group in groups
        if any(isinstance(loop.part, Cylinder) or loop.joints & set(given) for loop in group)
    ]


def _linkage(tree: Tree, group: Sequence[_Loop], size: float) -> Linkage:
    drivers = tuple(loop.part for loop in group if isinstance(loop.part, Cylinder))
    return Linkage(
        tree,
        tree.joints + tuple(cylinder.name for cylinder in drivers),
        tuple(loop.part for loop in group if isinstance(loop.part, Pin)),
        drivers,
        tuple(joint for joint in tree.joints if any(joint in loop.following for loop in group)),
        size,
    )


def between(tree: Tree, a: str, b: str) -> set[str]:
    """Joints that move one body against the other."""
    return {name for name in set(tree.chain(a)) ^ set(tree.chain(b)) if name in tree.joints}
