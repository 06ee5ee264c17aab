"""Looking at a machine: parallel projection, what hides what, and from where a hose is seen best."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

ELEVATIONS = (18.0, 32.0, -18.0)
"""Of the eye above the horizon, the most usual first. [degrees]"""
FROM_BELOW = 0.8
"""Worth of a view from below against one from above."""
TURN = 15.0
"""Step from one azimuth to the next; none looks along an axis of the machine. [degrees]"""
TESTED = 24
"""Views, the least foreshortened, of which it is worked out how much they hide."""
AT_ONCE = 2_000_000
"""Pairs of points and triangles: keeps the arrays within some 100 MB."""


@dataclass(frozen=True, eq=False)
class View:
    """A parallel projection.

    Attributes
    ----------
    axes : (3, 3) float
        Rows: to the right on the paper, up on it, towards the eye.
    """

    axes: Array

    @staticmethod
    def of(azimuth: float, elevation: float) -> View:
        """From an eye at these angles, z up on the paper. [degrees]"""
        a, e = math.radians(azimuth), math.radians(elevation)
        towards = np.array([math.cos(e) * math.cos(a), math.cos(e) * math.sin(a), math.sin(e)])
        right = np.array([-math.sin(a), math.cos(a), 0.0])
        return View(np.stack([right, np.cross(towards, right), towards]))

    @property
    def towards(self) -> Array:
        """Direction to the eye, (3,)."""
        return self.axes[2]

    def flat(self, points: Array) -> Array:
        """Points (..., 3) on the paper, (..., 2). [m]"""
        return points @ self.axes[:2].T

    def depth(self, points: Array) -> Array:
        """How near points (..., 3) are to the eye, (...). [m]"""
        return points @ self.axes[2]

    def hidden(self, points: Array, triangles: Array, tolerance: float) -> NDArray[np.bool_]:
        """Which of the points (p, 3) lie behind a triangle (t, 3, 3) by more than the tolerance. [m]"""
        found = np.zeros(len(points), dtype=bool)
        if not len(triangles) or not len(points):
            return found
        step = max(1, AT_ONCE // len(triangles))
        for start in range(0, len(points), step):
            found[start : start + step] = self._behind(points[start : start + step], triangles, tolerance)
        return found

    def _behind(self, points: Array, triangles: Array, tolerance: float) -> NDArray[np.bool_]:
        spot, corner = self.flat(points), self.flat(triangles)
        depth, height = self.depth(points), self.depth(triangles)
        a, ab, ac = corner[:, 0], corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
        area = ab[:, 0] * ac[:, 1] - ab[:, 1] * ac[:, 0]
        area = np.where(np.abs(area) < 1e-12, np.inf, area)  # seen edge on, it hides nothing
        x, y = spot[:, None, 0] - a[:, 0], spot[:, None, 1] - a[:, 1]
        u = (x * ac[:, 1] - y * ac[:, 0]) / area
        v = (y * ab[:, 0] - x * ab[:, 1]) / area
        inside = (u >= 0.0) & (v >= 0.0) & (u + v <= 1.0) & np.isfinite(area)
        front = height[:, 0] + u * (height[:, 1] - height[:, 0]) + v * (height[:, 2] - height[:, 0])
        return np.any(inside & (front > depth[:, None] + tolerance), axis=1)


def best_view(line: Array, others: Sequence[Array], triangles: Array) -> View:
    """The view that shows a hose least hidden and least foreshortened.

    Parameters
    ----------
    line : (k, 3) float
        Centre line of the hose with its ends. [m]
    others
        Lines that should be seen, too, such as the hose in other poses.
    triangles : (t, 3, 3) float
        What may hide it. [m]
    """
    views = sorted(_views(), key=lambda item: -_seen_length(item[0], line, others) * item[1])[:TESTED]
    points = line[:: max(1, len(line) // 16)]

    def worth(item: tuple[View, float]) -> float:
        view, factor = item
        open_part = 1.0 - float(view.hidden(points, triangles, 0.01).mean())
        return factor * (0.2 + 0.8 * open_part) * _seen_length(view, line, others)

    return max(views, key=worth)[0]


@cache
def _views() -> tuple[tuple[View, float], ...]:
    return tuple(_every_view())


def _every_view() -> Iterator[tuple[View, float]]:
    for elevation in ELEVATIONS:
        for number in range(int(360.0 / TURN)):
            # beginning behind the machine's left side, for those who measure x forward and y to the left
            azimuth = 180.0 + TURN * (number + 0.5)
            yield View.of(azimuth, elevation), 1.0 if elevation > 0.0 else FROM_BELOW


def _seen_length(view: View, line: Array, others: Sequence[Array]) -> float:
    # part of the lengths that is seen, that of the hose itself counted most
    parts = [_part_seen(view, line), *(0.3 * _part_seen(view, other) for other in others)]
    return sum(parts)


def _part_seen(view: View, line: Array) -> float:
    steps = np.diff(line, axis=0)
    length = float(np.linalg.norm(steps, axis=1).sum())
    return float(np.linalg.norm(view.flat(steps), axis=1).sum()) / max(length, 1e-9)
