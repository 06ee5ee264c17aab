"""First shapes: smooth curves of the right length between two held ends, for Newton's method to start from.

Eight of them (a cubic with three ratios of its handles, and bulges to five sides of the chord) found the lowest energy
that fifty random starts found in all but a few of some hundred trials; one alone finds it in nine of ten.
"""

from __future__ import annotations

import numpy as np

from hosewright.mechanics.compiled import entry, kernel

COUNT = 8
"""Starts without a hint; a ninth bulges to the side that the hint names."""

_FINE = 96  # pieces of a curve while its length is measured


@kernel
def _hermite(a: np.ndarray, b: np.ndarray, da: np.ndarray, db: np.ndarray, out: np.ndarray) -> None:
    for i in range(len(out)):
        s = i / (len(out) - 1)
        t = 1.0 - s
        out[i] = (1.0 + 2.0 * s) * t * t * a + s * t * t * da + (1.0 + 2.0 * t) * s * s * b - s * s * t * db


@kernel
def _curve_length(points: np.ndarray) -> float:
    total = 0.0
    for i in range(len(points) - 1):
        step = points[i + 1] - points[i]
        total += np.sqrt(np.dot(step, step))
    return total


@kernel
def _side(chord: np.ndarray, choice: int) -> np.ndarray:
    # one of five directions across the chord
    helper = np.zeros(3)
    helper[np.argmin(np.abs(chord))] = 1.0
    first = helper - np.dot(helper, chord) * chord
    first /= np.sqrt(np.dot(first, first))
    second = np.array(
        [
            chord[1] * first[2] - chord[2] * first[1],
            chord[2] * first[0] - chord[0] * first[2],
            chord[0] * first[1] - chord[1] * first[0],
        ]
    )
    angle = 2.0 * np.pi * (choice / 5.0 + 0.04)
    return np.cos(angle) * first + np.sin(angle) * second


@kernel
def _draw(ends: np.ndarray, which: int, size: float, bow: np.ndarray, out: np.ndarray) -> None:
    # ends: position a, direction a, position b, direction b
    if which < 3:
        ratio = 1.0 if which == 0 else 0.4 if which == 1 else 2.5
        _hermite(ends[0], ends[2], size * ratio * ends[1], size / ratio * ends[3], out)
        return
    chord = ends[2] - ends[0]
    distance = np.sqrt(np.dot(chord, chord))
    chord = chord / distance if distance > 1e-9 else ends[1].copy()
    handle = max(distance, 0.3 * size)
    _hermite(ends[0], ends[2], handle * ends[1], handle * ends[3], out)
    side = bow if which >= COUNT else _side(chord, which - 3)
    for i in range(len(out)):
        s = i / (len(out) - 1)
        out[i] += size * (4.0 * s * (1.0 - s)) ** 2 * side


@entry
def draw_starts(ends: np.ndarray, length: float, bow: np.ndarray, x: np.ndarray) -> None:
    """Draw the first so many starts into ``x`` (k, n + 1, 3), evenly spaced and of about the given length.

    Parameters
    ----------
    ends : (4, 3) float
        Position and direction of a, then of b.
    length : float
        Rest length. [m]
    bow : (3,) float
        Unit vector to the side that start number COUNT bulges to.
    x : (k, n + 1, 3) float
        Filled.
    """
    fine = np.empty((_FINE + 1, 3))
    for which in range(len(x)):
        low, high = 0.0, 4.0 * length
        for _ in range(12):
            size = 0.5 * (low + high)
            _draw(ends, which, size, bow, fine)
            if _curve_length(fine) < length:
                low = size
            else:
                high = size
        _spread(fine, x[which])


@kernel
def _spread(points: np.ndarray, x: np.ndarray) -> None:
    # evenly spaced nodes along a polygon
    n = len(x) - 1
    piece = _curve_length(points) / n
    x[0], x[n] = points[0], points[-1]
    done, node = 0.0, 1
    for i in range(len(points) - 1):
        step = points[i + 1] - points[i]
        size = np.sqrt(np.dot(step, step))
        while node < n and node * piece <= done + size and size > 0.0:
            x[node] = points[i] + (node * piece - done) / size * step
            node += 1
        done += size
    while node < n:
        x[node] = points[-1]
        node += 1


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
    return sum(w[:, None] * coarse[..., first + k, :] for k, w in enumerate(weights))
