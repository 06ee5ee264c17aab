"""SAE J1405, optional impulse test with flexing: free length of the test assembly."""

from __future__ import annotations

from hosewright.sources import Source
from hosewright.standards.values import Value


def free_length(outside_diameter: float, minimum_bend_radius: float) -> Value:
    """Free length of the flexing assembly, ``4.142 r + 3.57 d`` with r to the inside of the bend. [m]"""
    return Value(4.142 * minimum_bend_radius + 3.57 * outside_diameter, Source("SAE J1405", "free length"))
