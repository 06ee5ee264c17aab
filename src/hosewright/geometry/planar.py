"""Shortest path of bounded curvature in a plane.

References
----------
L. E. Dubins, "On curves of minimal length with a constraint on average curvature, and with prescribed initial and
terminal positions and tangents", American Journal of Mathematics 79 (1957) 497-516.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from hosewright.geometry.frames import cross

Array = NDArray[np.float64]

TOUCHING = 1e-6
"""Rounding, in radii and radians, by which circles that touch may seem apart and an arc of nothing a full turn."""


def shortest_planar_path(chord: Array, start: Array, end: Array, normal: Array, radius: float) -> float:
    """Length of the shortest path between two poses of a plane that nowhere bends tighter than a radius. [m]

    Parameters
    ----------
    chord : (3,) float
        From the first place to the last. [m]
    start, end : (3,) float
        Unit directions there.
    normal : (3,) float
        Unit normal of the plane.
    radius : float
        [m]
    """
    side = cross(normal, start)
    x, y = float(chord @ start) / radius, float(chord @ side) / radius
    turn = math.atan2(float(end @ side), float(end @ start))
    return radius * shortest_path(x, y, turn)


def shortest_path(x: float, y: float, turn: float) -> float:
    """Length of the shortest path of unit radius from the origin, heading along x, to (x, y), heading at ``turn``."""
    distance, line = math.hypot(x, y), math.atan2(y, x)
    return min(_words(-line % math.tau, (turn - line) % math.tau, distance))


def _words(a: float, b: float, d: float) -> list[float]:
    # lengths of the six words L S L, R S R, L S R, R S L, R L R, L R L in coordinates turned along the chord
    sin_a, cos_a, sin_b, cos_b = math.sin(a), math.cos(a), math.sin(b), math.cos(b)
    between = math.cos(a - b)
    lengths = []
    for sign in (1.0, -1.0):  # left first, then right: the mirror image
        a1, b1 = sign * a, sign * b
        square = 2.0 + d * d - 2.0 * between + 2.0 * d * sign * (sin_a - sin_b)
        if square >= -(TOUCHING**2):  # both arcs the same way
            lead = math.atan2(cos_b - cos_a, d + sign * (sin_a - sin_b)) if square > TOUCHING**2 else a1
            lengths.append(_arc(lead - a1) + math.sqrt(max(square, 0.0)) + _arc(b1 - lead))
        square = d * d - 2.0 + 2.0 * between + 2.0 * d * sign * (sin_a + sin_b)
        if square >= -(TOUCHING**2):  # straight part crosses over
            straight = math.sqrt(max(square, 0.0))
            lead = math.atan2(-cos_a - cos_b, d + sign * (sin_a + sin_b)) - math.atan2(-2.0, straight)
            lengths.append(_arc(lead - a1) + straight + _arc(lead - b1))
        cosine = (6.0 - d * d + 2.0 * between + 2.0 * d * sign * (sin_b - sin_a)) / 8.0
        if abs(cosine) <= 1.0:  # three arcs
            middle = (math.tau - math.acos(cosine)) % math.tau
            first = _arc(-a1 + math.atan2(-(cos_a - cos_b), d + sign * (sin_a - sin_b)) + middle / 2.0)
            lengths.append(first + middle + _arc(b1 - a1 - first + middle))
    return lengths


def _arc(angle: float) -> float:
    angle %= math.tau
    return 0.0 if math.tau - angle < TOUCHING else angle
