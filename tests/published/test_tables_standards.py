"""Tolerances, ages and test lengths against the documents' own figures."""

import math

import pytest

from hosewright.errors import ArgumentError
from hosewright.standards import (
    dguv_113_020,
    din_20066,
    hose_handbook,
    iso_8331,
    mil_dtl_83796,
    sae_j343,
    sae_j516,
    sae_j517,
    sae_j1273,
    sae_j1405,
)

MM = 1e-3


def in_mm(tolerance):
    return tolerance.plus / MM, tolerance.minus / MM


@pytest.mark.parametrize(
    ("length", "bore", "plus", "minus"),
    [
        # DIN 20066, length tolerance of assemblies, as reprinted in equipment manuals
        (600, 12.5, 7, 3),
        (630, 25, 7, 3),
        (630.1, 25, 12, 4),
        (600, 31.5, 12, 4),
        (600, 63, 25, 6),
        (1250, 51, 20, 6),
        (2500, 25, 20, 6),
        (2500, 31.5, 25, 6),
        (8000, 25, 120, 40),
    ],
)
def test_length_tolerance_of_din_20066(length, bore, plus, minus):
    tolerance = din_20066.length_tolerance(length * MM, bore * MM)
    assert in_mm(tolerance) == pytest.approx((plus, minus))
    assert tolerance.source.document == "DIN 20066"


@pytest.mark.parametrize(
    ("ordered", "bore", "least", "greatest"),
    [(2000, 19, 1994, 2020), (5000, 25, 4975, 5075), (10_000, 25, 9900, 10_300), (600, 12.5, 597, 607)],
)
def test_limits_worked_from_din_20066(ordered, bore, least, greatest):
    tolerance = din_20066.length_tolerance(ordered * MM, bore * MM)
    assert (ordered - tolerance.minus / MM, ordered + tolerance.plus / MM) == pytest.approx((least, greatest))


@pytest.mark.parametrize(
    ("bore", "measured", "accepted"),
    [
        (12.5, 606, True),
        (12.5, 607, True),
        (12.5, 597, True),
        (12.5, 596, False),
        (31.5, 611, True),
        (31.5, 613, False),
    ],
)
def test_acceptance_of_600_mm_by_din_20066(bore, measured, accepted):
    assert din_20066.length_tolerance(0.6, bore * MM).allows((measured - 600) * MM) is accepted


def test_large_bores_of_din_20066_are_doubtful_where_the_reprint_is_blank():
    assert din_20066.length_tolerance(1.0, 76 * MM).source.confidence == "doubtful"
    assert din_20066.length_tolerance(0.5, 76 * MM).source.confidence == "standard"


@pytest.mark.parametrize(("length", "bore"), [(0.0, 12.5), (-1.0, 12.5), (math.nan, 12.5), (1000, 130)])
def test_din_20066_refuses_what_is_outside_its_table(length, bore):
    with pytest.raises(ArgumentError, match=r"mm"):
        din_20066.length_tolerance(length * MM, bore * MM)


@pytest.mark.parametrize(
    ("length", "tolerance", "confidence"),
    [
        # SAE J517; first row as +-1/8 inch up to 12 inches, the others from memory
        (300, 3, "standard"),
        (450, 5, "memory"),
        (900, 6, "memory"),
        (1000, 9, "memory"),
        (2000, 21, "memory"),  # 20 mm to the nearest 3 mm
    ],
)
def test_length_tolerance_of_sae_j517(length, tolerance, confidence):
    found = sae_j517.length_tolerance(length * MM)
    assert in_mm(found) == pytest.approx((tolerance, tolerance))
    assert found.source.confidence == confidence


@pytest.mark.parametrize(("length", "tolerance"), [(305, 3.2), (900, 6.4), (1830, 12.7), (3000, 30)])
def test_tolerance_of_cut_hose(length, tolerance):
    """Hose handbook of the rubber manufacturers' association."""
    assert in_mm(hose_handbook.cut_length_tolerance(length * MM)) == pytest.approx((tolerance, tolerance))


@pytest.mark.parametrize(("bore", "out_of_square"), [(19, 1.6), (25, 3.2), (51, 3.2)])
def test_squareness_of_cut_ends(bore, out_of_square):
    assert hose_handbook.squareness(bore * MM).value == pytest.approx(out_of_square * MM)


def test_squareness_ends_with_the_table():
    with pytest.raises(ArgumentError, match="51 mm"):
        hose_handbook.squareness(63 * MM)


@pytest.mark.parametrize(("length", "degrees"), [(600, 3), (610, 3), (611, 5), (2000, 5)])
def test_orientation_tolerance(length, degrees):
    """MIL-DTL-83796, pointing to SAE J517: 3 degrees up to 24 inches, 5 above."""
    assert math.degrees(mil_dtl_83796.orientation_tolerance(length * MM).plus) == pytest.approx(degrees)


@pytest.mark.parametrize(
    ("bore", "radius", "diameter", "turn", "length", "flexing"),
    [
        # SAE J343:2016 and SAE J1405 free lengths; hoses of EN 853 and EN 856, sizes as the test pages give them
        (6.3, 100, 13.2, 180, 385.7, 461.3),
        (12.5, 180, 22.2, 180, 651.2, 824.8),
        (19, 240, 29.3, 180, 858.6, 1098.7),
        (25, 300, 37.2, 90, 574.9, 1375.4),
        (25, 340, 38.5, 90, 641.3, 1545.7),
    ],
)
def test_free_length_of_impulse_tests(bore, radius, diameter, turn, length, flexing):
    found = sae_j343.free_length(bore * MM, diameter * MM, radius * MM).value
    assert found / MM == pytest.approx(length, abs=0.051)
    assert sae_j1405.free_length(diameter * MM, radius * MM).value / MM == pytest.approx(flexing, abs=0.051)
    assert math.degrees(sae_j343.bend(bore * MM).value) == pytest.approx(turn)


def test_manifold_spacing():
    """SAE J343: 2 r + d, so that the hose bends at its minimum."""
    assert sae_j343.manifold_spacing(22.2 * MM, 180 * MM).value == pytest.approx(382.2 * MM)


def test_ages():
    """DGUV Regel 113-020 and DIN 20066: 4 years for the hose, 2 in store, 6 in all, 2 under raised duty."""
    for document in (dguv_113_020, din_20066):
        assert document.hose_age_at_assembly().value == 4
        assert document.storage_time().value == 2
        assert document.service_time().value == 6
    assert dguv_113_020.service_time(raised_duty=True).value == 2
    assert "113-020" in str(dguv_113_020.service_time().source)
    assert sae_j1273.shelf_life().value == 10  # 40 quarters, from memory


def test_storage_conditions():
    """ISO 8331, 4.2.3 and 4.2.4."""
    storage = iso_8331.storage()
    assert (storage.lowest_temperature, storage.highest_temperature) == pytest.approx((243.15, 323.15))
    assert (storage.greatest_humidity, iso_8331.storage(polyurethane=True).greatest_humidity) == (0.70, 0.65)


def test_inspection_list():
    """DIN 20066, inspection, ten findings: first, a middle and the last."""
    defects = din_20066.defects()
    assert len(defects) == 10
    assert "down to the reinforcement" in defects[0].finding
    assert "moving out of the fitting" in defects[5].finding
    assert "marking missing" in defects[9].finding


def test_fittings_by_sae_j516():
    """SAE J516:2019: elbows within 3 degrees, crimping closes at most 10 %, corners at least 1.092 times the flats."""
    assert math.degrees(sae_j516.elbow_tolerance().plus) == pytest.approx(3)
    assert sae_j516.least_crimped_bore(10 * MM).value == pytest.approx(9 * MM)
    assert sae_j516.least_width_across_corners(24 * MM).value == pytest.approx(26.208 * MM)
