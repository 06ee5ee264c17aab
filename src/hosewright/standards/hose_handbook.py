"""Hose handbook of the rubber manufacturers' association: tolerances of cut hose."""

from __future__ import annotations

from hosewright.errors import ArgumentError
from hosewright.sources import Source
from hosewright.standards.values import Tolerance, Value, tolerance_of

HANDBOOK = "hose handbook of the rubber manufacturers' association"


def cut_length_tolerance(cut_length: float) -> Tolerance:
    """Tolerance of a length of hose as cut. [m]

    Raises
    ------
    ArgumentError
        The length is not above 0.
    """
    return tolerance_of("cut_hose_length.csv", cut_length)


def squareness(inside_diameter: float) -> Value:
    """How far the end of a cut hose may be out of square. [m]

    Raises
    ------
    ArgumentError
        The bore is not one of the table, which ends at 51 mm.
    """
    bore = round(inside_diameter, 6)  # so that 51 mm written in binary is still 51 mm
    if not 0.0 < bore <= 51e-3:
        raise ArgumentError(f"bore {inside_diameter * 1e3:.4g} mm is outside the table, which goes up to 51 mm")
    return Value(1.6e-3 if bore <= 19e-3 else 3.2e-3, Source(HANDBOOK, "squareness of ends"))
