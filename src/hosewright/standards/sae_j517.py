"""SAE J517, hydraulic hose. Edition not established."""

from __future__ import annotations

from hosewright.standards.values import Tolerance, tolerance_of


def length_tolerance(overall_length: float) -> Tolerance:
    """Tolerance of the overall length of an assembly; above 900 mm 1 % rounded to the nearest 3 mm. [m]

    Raises
    ------
    ArgumentError
        The length is not above 0.
    """
    return tolerance_of("sae_j517_length.csv", overall_length, step=3e-3)
