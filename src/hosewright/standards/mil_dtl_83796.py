"""MIL-DTL-83796, hose assemblies: how length and orientation angle are specified; points to SAE J517."""

from __future__ import annotations

import math

from hosewright.errors import ArgumentError
from hosewright.sources import Source
from hosewright.standards.values import Tolerance

ORIENTATION = Source("MIL-DTL-83796/5", "orientation of elbows")


def orientation_tolerance(overall_length: float) -> Tolerance:
    """Tolerance of the orientation angle: 3 degrees up to 610 mm, 5 degrees above. [rad]

    Raises
    ------
    ArgumentError
        The length is not above 0.
    """
    if not 0.0 < overall_length < math.inf:
        raise ArgumentError(f"length {overall_length * 1e3:.4g} mm: expected more than 0")
    angle = math.radians(3.0 if overall_length <= 0.610 else 5.0)
    return Tolerance(angle, angle, ORIENTATION)


def orientation_angle(angle: float) -> float:
    """The specification's angle from ours, or ours from it.

    The specification holds the near end at 6 o'clock and counts counter-clockwise to the far one; our convention counts
    clockwise from near to far. Each is a full turn less the other. [rad]
    """
    return -angle % math.tau
