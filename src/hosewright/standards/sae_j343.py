"""SAE J343:2016 (as ISO 6605 and ISO 6803), tests of hydraulic hose: free length of the test assembly."""

from __future__ import annotations

import math

from hosewright.sources import Source
from hosewright.standards.values import Value

FREE_LENGTH = Source("SAE J343:2016", "free length for the impulse test")
LARGEST_BORE_IN_U = 22e-3
LEAST_DIAMETER = 25.4e-3


def bend(inside_diameter: float) -> Value:
    """Bend of the test assembly: 180 degrees for bores up to 22 mm, 90 degrees above. [rad]"""
    return Value(math.pi if inside_diameter <= LARGEST_BORE_IN_U else math.pi / 2.0, FREE_LENGTH)


def free_length(inside_diameter: float, outside_diameter: float, minimum_bend_radius: float) -> Value:
    """Free length of the test assembly: the bend at the minimum radius and one diameter straight at each end. [m]

    Notes
    -----
    ``angle (r + d/2) + 2 d``, where only the straight part takes 25.4 mm for a thinner hose; older texts put that floor
    on every d.

    Parameters
    ----------
    inside_diameter, outside_diameter
        [m]
    minimum_bend_radius
        To the inside of the bend. [m]
    """
    arc = bend(inside_diameter).value * (minimum_bend_radius + outside_diameter / 2.0)
    return Value(arc + 2.0 * max(outside_diameter, LEAST_DIAMETER), FREE_LENGTH)


def manifold_spacing(outside_diameter: float, minimum_bend_radius: float) -> Value:
    """Distance between the manifolds of the 180 degree test. [m]"""
    return Value(2.0 * minimum_bend_radius + outside_diameter, FREE_LENGTH)
