"""SAE J516:2019, hydraulic hose fittings."""

from __future__ import annotations

import math

from hosewright.sources import Source
from hosewright.standards.values import Tolerance, Value


def elbow_tolerance() -> Tolerance:
    """Tolerance of the bend angle of an elbow end, on top of that of the orientation angle. [rad]"""
    return Tolerance(math.radians(3.0), math.radians(3.0), Source("SAE J516:2019", "bend angle of elbows"))


def least_crimped_bore(insert_bore: float) -> Value:
    """Bore that crimping must leave of an insert's. [m]"""
    return Value(0.9 * insert_bore, Source("SAE J516:2019", "closing of the bore by crimping"))


def least_width_across_corners(width_across_flats: float) -> Value:
    """Least width across corners of a hex. [m]"""
    return Value(1.092 * width_across_flats, Source("SAE J516:2019", "hexes"))
