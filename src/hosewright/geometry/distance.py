"""Least distances: from lines of points to a shape, and between two lines."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from hosewright.geometry.frames import Array
from hosewright.geometry.shapes import Shape

POSES_AT_ONCE = 64
"""Keeps the arrays of pairs of segments within some 100 MB."""


@dataclass(frozen=True)
class Least:
    """Nearest point of each of m lines.

    Attributes
    ----------
    distance : (m,) float
        Exact, negative inside the shape. [m]
    index : (m,) int
        Which point of the line.
    """

    distance: Array
    index: NDArray[np.int64]


def least_distance(shape: Shape, points: Array) -> Least:
    """Exact least distance of each line of points (m, n, 3) to a shape.

    The quick distances of all points rule most of them out; only those that may be the nearest are asked exactly.
    """
    points = np.asarray(points, dtype=np.float64)
    distance = shape.quick_distance(points)
    if shape.tolerance > 0.0:
        near = distance <= distance.min(axis=1, keepdims=True) + 2.0 * shape.tolerance
        distance = np.where(near, distance, np.inf)
        distance[near] = shape.distance(points[near])
    index = distance.argmin(axis=1)
    return Least(np.take_along_axis(distance, index[:, None], axis=1)[:, 0], index)


@dataclass(frozen=True)
class LinePairs:
    """Nearest points of every segment of one line and every segment of another.

    Attributes
    ----------
    distance : (m, n, k) float
        [m]
    on_a, on_b : (m, n, k) float
        Where on the segment, 0 at its start and 1 at its end.
    """

    distance: Array
    on_a: Array
    on_b: Array


def line_pairs(a: Array, b: Array) -> LinePairs:
    """Exact distances between the segments of two lines of nodes (m, n + 1, 3) and (m, k + 1, 3).

    References
    ----------
    Ericson: Real-Time Collision Detection (2005), section 5.1.9
    """
    d1, d2 = np.diff(a, axis=1)[:, :, None], np.diff(b, axis=1)[:, None, :]
    r = a[:, :-1, None] - b[:, None, :-1]
    tiny = np.finfo(float).tiny
    aa, ee = np.maximum((d1 * d1).sum(-1), tiny), np.maximum((d2 * d2).sum(-1), tiny)
    bb, cc, ff = (d1 * d2).sum(-1), (d1 * r).sum(-1), (d2 * r).sum(-1)
    across = aa * ee - bb * bb
    parallel = across <= 1e-14 * aa * ee
    s = np.where(parallel, 0.0, np.clip((bb * ff - cc * ee) / np.where(parallel, 1.0, across), 0.0, 1.0))
    t = (bb * s + ff) / ee
    s = np.where(t < 0.0, np.clip(-cc / aa, 0.0, 1.0), np.where(t > 1.0, np.clip((bb - cc) / aa, 0.0, 1.0), s))
    t = np.clip(t, 0.0, 1.0)
    gap = r + s[..., None] * d1 - t[..., None] * d2
    return LinePairs(np.sqrt((gap * gap).sum(-1)), s, t)


@dataclass(frozen=True)
class LeastBetween:
    """Nearest points of two lines in each of m poses.

    Attributes
    ----------
    distance : (m,) float
        [m]
    on_a, on_b : (m,) float
        Segment and part of it: 3.25 is a quarter into the fourth segment.
    """

    distance: Array
    on_a: Array
    on_b: Array


def least_between(a: Array, b: Array, skip: NDArray[np.bool_] | None = None) -> LeastBetween:
    """Exact least distance between two lines, pose by pose.

    Parameters
    ----------
    a, b : (m, n + 1, 3) and (m, k + 1, 3) float
        Nodes. [m]
    skip : (n, k) bool, optional
        Pairs of segments that do not count, such as those in a common clamp.
    """
    parts = [_least_between(a[i : i + POSES_AT_ONCE], b[i : i + POSES_AT_ONCE], skip) for i in _slices(len(a))]
    return LeastBetween(
        *(np.concatenate([getattr(part, name) for part in parts]) for name in ("distance", "on_a", "on_b"))
    )


def _slices(count: int) -> range:
    return range(0, max(count, 1), POSES_AT_ONCE)


def _least_between(a: Array, b: Array, skip: NDArray[np.bool_] | None) -> LeastBetween:
    pairs = line_pairs(a, b)
    distance = pairs.distance if skip is None else np.where(skip, np.inf, pairs.distance)
    poses, _, columns = distance.shape
    flat = distance.reshape(poses, -1).argmin(axis=1)
    i, j = flat // columns, flat % columns
    pose = np.arange(poses)
    return LeastBetween(distance[pose, i, j], i + pairs.on_a[pose, i, j], j + pairs.on_b[pose, i, j])
