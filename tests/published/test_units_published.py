"""Conversion factors against their legal definitions and printed tables."""

from __future__ import annotations

import math

import pytest

from hosewright.units import si


@pytest.mark.parametrize(
    ("text", "kind", "expected", "tolerance"),
    [
        # exact by definition of the international yard, pound and US gallon; NIST SP 811, appendix B
        ("1 in", "length", 0.0254, 1e-14),
        ("1 ft", "length", 0.3048, 1e-14),
        ("1 lb", "mass", 0.45359237, 1e-14),
        ("1 gpm", "flow", 231 * 0.0254**3 / 60, 1e-12),
        ("1 bar", "pressure", 1e5, 1e-14),
        ("1 rad", "angle", 1.0, 1e-14),
        ("180 deg", "angle", math.pi, 1e-14),
        ("32 F", "temperature", 273.15, 1e-12),
        ("212 F", "temperature", 373.15, 1e-12),
        ("-40 F", "temperature", 233.15, 1e-12),
        # printed with seven digits in NIST SP 811 (from memory); tolerance is half of the last digit
        ("1 psi", "pressure", 6894.757, 1e-7),
        ("1 lb/ft3", "density", 16.01846, 3.2e-7),
        ("1 lb/ft", "mass per length", 1.488164, 3.4e-7),
        ("1 lbf in2", "stiffness", 4.448222 * 0.0254**2, 1.2e-7),
        ("1 cSt", "viscosity", 1e-6, 1e-12),
    ],
)
def test_conversion_factors(text, kind, expected, tolerance):
    assert si(text, kind) == pytest.approx(expected, rel=tolerance)
