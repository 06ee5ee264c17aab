"""Rules of the trade that no single document stands behind."""

from __future__ import annotations

import math

from hosewright.errors import ArgumentError
from hosewright.sources import Confidence, Source
from hosewright.standards.values import Tolerance, Value

BENDS = Source("hose makers' worked examples", "length of hose in a bend", Confidence.PRACTICE)
ORIENTATION = Source("hose shops' ordering guides", "orientation angle", Confidence.PRACTICE)
STRAIGHT = Source("common practice", "straight before the bend", Confidence.PRACTICE)
SLACK = Source("common practice", "slack for the length change", Confidence.PRACTICE)
CARRIAGE = Source("geometry of a rolling loop", confidence=Confidence.OURS)


def bend_allowance(angle: float, inside_radius: float, outside_diameter: float) -> Value:
    """Length of hose in a bend, on its centre line. [m]

    Parameters
    ----------
    angle
        Of the bend. [rad]
    inside_radius
        To the inside of the bend. [m]
    outside_diameter
        [m]

    Raises
    ------
    ArgumentError
        A figure is negative.
    """
    if min(angle, inside_radius, outside_diameter) < 0.0:
        raise ArgumentError(
            f"angle {math.degrees(angle):.4g} degrees, radius {inside_radius * 1e3:.4g} mm, diameter "
            f"{outside_diameter * 1e3:.4g} mm: none may be negative"
        )
    return Value(angle * (inside_radius + outside_diameter / 2.0), BENDS)


def orientation_tolerance(overall_length: float) -> Tolerance:
    """Tolerance of the orientation angle: 3 degrees up to 600 mm, 5 degrees above. [rad]"""
    angle = math.radians(3.0 if overall_length <= 0.600 else 5.0)
    return Tolerance(angle, angle, ORIENTATION)


def straight_length(outside_diameter: float) -> Value:
    """Straight hose that good practice keeps between ferrule and bend. [m]"""
    return Value(2.0 * outside_diameter, STRAIGHT)


def shortening(free_length: float, shorter: float) -> Value:
    """How much a hose draws up under pressure. [m]

    Parameters
    ----------
    free_length
        [m]
    shorter
        Limit of the length change, a positive fraction.
    """
    return Value(free_length * shorter, SLACK)


def carriage_loop_length(
    travel: float, centerline_radius: float, straight: float, fixed_at_middle: bool = True
) -> Value:
    """Free length of a U-shaped loop between a fixed point and a carriage that runs along it. [m]

    The bend rolls half of the travel: the loop needs half the travel with the fixed point at mid travel, all of it with
    the fixed point at one end, besides the half circle and the straight parts.

    Parameters
    ----------
    travel, centerline_radius
        [m]
    straight
        Both straight parts together. [m]
    fixed_at_middle
        Whether the fixed point stands at mid travel.
    """
    legs = travel / 2.0 if fixed_at_middle else travel
    return Value(legs + math.pi * centerline_radius + straight, CARRIAGE)
