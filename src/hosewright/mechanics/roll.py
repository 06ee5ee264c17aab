"""How far one end of a hose is rolled against the other, measured along a given shape."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from hosewright.mechanics.kernel import load

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
    load()
    from hosewright.mechanics.carried import carry

    angle = np.empty(len(position))
    arrays = (position, direction_a, direction_b, reference_a, reference_b)
    carry(*(np.ascontiguousarray(array, dtype=float) for array in arrays), angle)
    return angle - 2.0 * np.pi * np.ceil((angle - np.pi) / (2.0 * np.pi))
