"""Viscosity at temperature against published D341 lines and ISO 3448."""

from __future__ import annotations

import pytest

from hosewright.duty import ViscosityCurve, density_at, grade_viscosity

CELSIUS = 273.15


def line(viscosity_40, viscosity_100):
    return ViscosityCurve.through((CELSIUS + 40, viscosity_40 * 1e-6), (CELSIUS + 100, viscosity_100 * 1e-6))


# ASTM D341 (two-point form of Walther) for the grade's midpoint and a usual viscosity at 100 degrees:
# VG, nu100, A, B, then mm2/s at -20, -10, 0, 20, 50, 60, 80 degrees
TABLE = [
    (15, 3.3, 9.84863, 3.91503, (561.7, 230.0, 109.5, 34.66, 10.71, 7.979, 4.884)),
    (22, 4.3, 9.56733, 3.78045, (1072, 413.7, 186.9, 54.29, 15.30, 11.13, 6.558)),
    (32, 5.4, 9.53082, 3.74658, (2291, 805.1, 336.0, 86.28, 21.50, 15.19, 8.533)),
    (46, 6.8, 9.41799, 3.68444, (4518, 1474, 577.3, 133.8, 29.97, 20.62, 11.10)),
    (68, 8.7, 9.30969, 3.62440, (9354, 2823, 1033, 214.8, 42.87, 28.66, 14.72)),
    (100, 11.2, 9.15482, 3.54728, (18180, 5159, 1788, 339.2, 61.20, 39.86, 19.61)),
]


@pytest.mark.parametrize(("grade", "viscosity_100", "a", "b", "expected"), TABLE)
def test_lines_of_the_grades(grade, viscosity_100, a, b, expected):
    """To the printed digits: four of them."""
    curve = ViscosityCurve.of_grade(grade, viscosity_100 * 1e-6)
    assert curve.a == pytest.approx(a, abs=1e-4)
    assert curve.b == pytest.approx(b, abs=1e-4)
    for celsius, viscosity in zip((-20, -10, 0, 20, 50, 60, 80), expected, strict=True):
        assert curve.viscosity(CELSIUS + celsius) * 1e6 == pytest.approx(viscosity, rel=6e-4)


def test_worked_example_of_a_calculator_note():
    """A published D341 calculation, 32 at 40 and 5.4 at 100 °C (zero at 273 K): A 9.5259, B 3.7449, 8.5 at 80 °C."""
    curve = ViscosityCurve.through((313.0, 32e-6), (373.0, 5.4e-6))
    assert curve.a == pytest.approx(9.5259, abs=1e-4)
    assert curve.b == pytest.approx(3.7449, abs=1e-4)
    assert curve.viscosity(353.0) * 1e6 == pytest.approx(8.5, abs=0.05)


@pytest.mark.parametrize(("grade", "lowest", "highest"), [(10, 9.0, 11.0), (46, 41.4, 50.6), (150, 135, 165)])
def test_grades_of_iso_3448(grade, lowest, highest):
    """ISO 3448 table 1: first, middle and last hydraulic grade; midpoint plus or minus 10 %."""
    least, midpoint, greatest = grade_viscosity(grade)
    assert (least * 1e6, midpoint * 1e6, greatest * 1e6) == pytest.approx((lowest, grade, highest), rel=1e-12)


@pytest.mark.parametrize("viscosity", [0.3, 0.7, 1.0, 1.8, 5.0, 300.0])
def test_thin_fluids_return_to_their_points(viscosity):
    """Equations 2 and 3 of ASTM D341 undo each other to 1 % (the standard's fit) down to 0.21 mm2/s."""
    curve = line(viscosity, 0.8 * viscosity)
    assert curve.viscosity(CELSIUS + 40) * 1e6 == pytest.approx(viscosity, rel=0.01)


def test_oil_expands_by_two_thirds_of_a_kilogram_a_degree():
    """Handbooks: mineral oil loses some 0.65 kg/m3 a degree (from memory), 0.6 to 0.7."""
    assert density_at(870.0, CELSIUS + 15) == 870.0
    assert 0.6 < (870.0 - density_at(870.0, CELSIUS + 65)) / 50.0 < 0.7
