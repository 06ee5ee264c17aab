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


def least_distance(shape: Shape, points: Array, radii: Array | float = 0.0) -> Least:
    """Exact least distance of each line of points (m, n, 3), or of balls of radii (n,) round them, to a shape.

    The quick distances of all points rule most of them out; only those that may be the nearest are asked exactly.
    """
    points = np.asarray(points, dtype=np.float64)
    balls = np.broadcast_to(radii, points.shape[1:2])
    distance = shape.quick_distance(points) - balls
    if shape.tolerance > 0.0:
        near = distance <= distance.min(axis=1, keepdims=True) + 2.0 * shape.tolerance
        distance = np.where(near, distance, np.inf)
        distance[near] = shape.distance(points[near]) - np.broadcast_to(balls, near.shape)[near]
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
    """Exact distances between the segments of two lines of nodes (m, n + 1, 3) and (m, k + 1, 3)."""
    return segment_pairs(
        a[:, :-1, None], np.diff(a, axis=1)[:, :, None], b[:, None, :-1], np.diff(b, axis=1)[:, None, :]
    )


def segment_pairs(start_a: Array, along_a: Array, start_b: Array, along_b: Array) -> LinePairs:
    """Exact distances between segments, each given by its start and the way to its end, (..., 3).

    References
    ----------
    Ericson: Real-Time Collision Detection (2005), section 5.1.9
    """
    d1, d2, r = along_a, along_b, start_a - start_b
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
    # two segments lie at most half their lengths nearer than their middles, which rules out most pairs
    along_a, along_b = np.diff(a, axis=1), np.diff(b, axis=1)
    middle = _distances(a[:, :-1] + 0.5 * along_a, b[:, :-1] + 0.5 * along_b)
    if skip is not None:
        middle[:, skip] = np.inf
    reach = 0.5 * (np.linalg.norm(along_a, axis=2).max(axis=1) + np.linalg.norm(along_b, axis=2).max(axis=1))
    bound = middle.min(axis=(1, 2)) + 1.001 * reach + 1e-9
    pose, i, j = np.unravel_index(np.flatnonzero(middle <= bound[:, None, None]), middle.shape)
    pairs = segment_pairs(a[pose, i], along_a[pose, i], b[pose, j], along_b[pose, j])
    order = np.lexsort((pairs.distance, pose))
    best = order[np.searchsorted(pose[order], np.arange(len(a)))]
    return LeastBetween(pairs.distance[best], i[best] + pairs.on_a[best], j[best] + pairs.on_b[best])


def _distances(a: Array, b: Array) -> Array:
    # (m, n, k) distances of points (m, n, 3) and (m, k, 3); near the first point of a, so that no digits are lost
    a, b = a - a[:, :1], b - a[:, :1]
    squares = a @ np.swapaxes(b, 1, 2)
    squares *= -2.0
    squares += np.einsum("mik,mik->mi", a, a)[:, :, None]
    squares += np.einsum("mik,mik->mi", b, b)[:, None]
    np.maximum(squares, 0.0, out=squares)
    return np.sqrt(squares, out=squares)
