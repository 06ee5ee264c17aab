"""How far one end of a hose is rolled against the other, measured along a given shape."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def carried_roll(
    position: Array, direction_a: Array, direction_b: Array, reference_a: Array, reference_b: Array
) -> Array:
    """Angle from a's reference, carried along each shape without twist, to b's reference.

    The twist that a hose of this shape has between the two references, whether or not it resists it; right-handed about
    the direction a to b, in (-pi, pi]. Fourth order in the node spacing, like the solver's.

    Parameters
    ----------
    position : (m, n + 1, 3) float
        Nodes, evenly spaced. [m]
    direction_a, direction_b, reference_a, reference_b : (m, 3) float
        Unit vectors; each reference across its direction.

    Returns
    -------
    (m,) float
        [rad]
    """
    edges = np.diff(position, axis=1)
    unit = edges / np.linalg.norm(edges, axis=2, keepdims=True)
    unit = np.concatenate([direction_a[:, None], unit, direction_b[:, None]], axis=1)
    carried = reference_a
    for u, v in zip(np.moveaxis(unit[:, :-1], 1, 0), np.moveaxis(unit[:, 1:], 1, 0), strict=True):
        turn = np.sum(carried * v, axis=1) / (1.0 + np.sum(u * v, axis=1))
        carried = carried - turn[:, None] * (u + v)
    sine = np.sum(direction_b * np.cross(carried, reference_b), axis=1)
    triple = np.sum(unit[:, :-2] * np.cross(unit[:, 1:-1], unit[:, 2:]), axis=2)
    weight = np.full(triple.shape[1], 0.125)
    weight[[0, -1]] = 0.25
    angle = np.arctan2(sine, np.sum(carried * reference_b, axis=1)) - triple @ weight
    return angle - 2.0 * np.pi * np.ceil((angle - np.pi) / (2.0 * np.pi))
