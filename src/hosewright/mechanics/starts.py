"""First shapes: smooth curves of the right length between two held ends, for Newton's method to start from.

A cubic with three ratios of its handles, and bulges to five sides of the chord. With the turned ones that are begun
from them, they reached the lowest of fifty random starts on 300 of 300 random spans (``benchmarks/robustness.py``).
"""

from __future__ import annotations

import math

import numpy as np

from hosewright.mechanics.compiled import entry, kernel

COUNT = 8
"""Starts without a hint; a ninth bulges to the side that the hint names."""

_FINE = 64  # pieces of a curve while its length is measured
_HALVINGS = 10  # of the size that gives a curve its length


@kernel
def _draw(ends: np.ndarray, which: int, size: float, side: np.ndarray, out: np.ndarray) -> float:
    # cubic between two ends, with a bulge where ``which`` asks for one; returns its length
    if which < 3:
        ratio = 1.0 if which == 0 else 0.4 if which == 1 else 2.5
        handle_a, handle_b, bulge = size * ratio, size / ratio, 0.0
    else:
        distance = np.sqrt(_squared_gap(ends, 0, ends, 2))
        handle_a = handle_b = max(distance, 0.3 * size)
        bulge = size
    for i in range(len(out)):
        s = i / (len(out) - 1)
        t = 1.0 - s
        wa, wb = (1.0 + 2.0 * s) * t * t, (1.0 + 2.0 * t) * s * s
        ha, hb, hump = s * t * t * handle_a, s * s * t * handle_b, bulge * (4.0 * s * t) ** 2
        for k in range(3):
            out[i, k] = wa * ends[0, k] + ha * ends[1, k] + wb * ends[2, k] - hb * ends[3, k] + hump * side[k]
    return _curve_length(out)


@kernel
def _squared_gap(a: np.ndarray, i: int, b: np.ndarray, j: int) -> float:
    return (a[i, 0] - b[j, 0]) ** 2 + (a[i, 1] - b[j, 1]) ** 2 + (a[i, 2] - b[j, 2]) ** 2


@kernel
def _curve_length(points: np.ndarray) -> float:
    total = 0.0
    for i in range(len(points) - 1):
        total += np.sqrt(_squared_gap(points, i, points, i + 1))
    return total


@entry
def draw_starts(ends: np.ndarray, length: float, sides: np.ndarray, first: int, x: np.ndarray) -> None:
    """Draw starts into ``x`` (k, n + 1, 3), evenly spaced and of about the given length.

    Parameters
    ----------
    ends : (4, 3) float
        Position and direction of a, then of b.
    length : float
        Rest length. [m]
    sides : (COUNT + 1, 3) float
        Unit vector to the side that each start bulges to; not used for cubics.
    first : int
        Number of the first start to draw.
    x : (k, n + 1, 3) float
        Filled with starts ``first`` to ``first + k - 1``.
    """
    fine = np.empty((_FINE + 1, 3))
    for row in range(len(x)):
        which = first + row
        low, high = 0.0, 4.0 * length
        for _ in range(_HALVINGS):
            size = 0.5 * (low + high)
            if _draw(ends, which, size, sides[which], fine) < length:
                low = size
            else:
                high = size
        _spread(fine, x[row])


@kernel
def _spread(points: np.ndarray, x: np.ndarray) -> None:
    # evenly spaced nodes along a polygon
    n = len(x) - 1
    piece = _curve_length(points) / n
    done, node = 0.0, 1
    for i in range(len(points) - 1):
        size = np.sqrt(_squared_gap(points, i, points, i + 1))
        while node < n and node * piece <= done + size and size > 0.0:
            part = (node * piece - done) / size
            for k in range(3):
                x[node, k] = points[i, k] + part * (points[i + 1, k] - points[i, k])
            node += 1
        done += size
    for k in range(3):
        x[0, k] = points[0, k]
        for rest in range(node, n + 1):
            x[rest, k] = points[-1, k]


def bulge_sides(ends: np.ndarray, bow: np.ndarray | None) -> np.ndarray:
    """Side that each start bulges to, (COUNT + 1, 3): none for cubics, five round the chord, then the bow."""
    chord = ends[2] - ends[0]
    distance = math.sqrt(chord @ chord)
    along = chord / distance if distance > 1e-9 else ends[1]
    across = _crossed(along, np.eye(3)[np.argmin(np.abs(along))])
    across /= math.sqrt(across @ across)
    angle = 2.0 * np.pi * (np.arange(5.0) / 5.0 + 0.04)[:, None]
    round_chord = np.cos(angle) * _crossed(across, along) + np.sin(angle) * across
    return np.concatenate([np.zeros((3, 3)), round_chord, [np.zeros(3) if bow is None else bow]])


def _crossed(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    # numpy's own takes ten times as long for a single pair
    return np.array([a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]])


def prolong(coarse: np.ndarray, elements: int) -> np.ndarray:
    """Nodes (..., m + 1, 3) interpolated to so many elements by the cubic through the four nearest nodes."""
    m = coarse.shape[-2] - 1
    place = np.arange(elements + 1) * m / elements
    first = np.clip(place.astype(int) - 1, 0, m - 3)
    t = place - first
    weights = (
        -(t - 1.0) * (t - 2.0) * (t - 3.0) / 6.0,
        t * (t - 2.0) * (t - 3.0) / 2.0,
        -t * (t - 1.0) * (t - 3.0) / 2.0,
        t * (t - 1.0) * (t - 2.0) / 6.0,
    )
    # contiguous, as another layout would have the whole solver compiled a second time
    return np.ascontiguousarray(sum(w[:, None] * coarse[..., first + k, :] for k, w in enumerate(weights)))
