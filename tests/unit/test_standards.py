import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hosewright.errors import ArgumentError
from hosewright.standards import (
    Tolerance,
    common_practice,
    din_20066,
    hose_handbook,
    mil_dtl_83796,
    sae_j343,
    sae_j517,
    sae_j1405,
)

lengths = st.floats(1e-3, 30.0)
bores = st.floats(3e-3, 0.1)


@given(lengths, bores)
def test_every_length_and_bore_of_the_trade_has_a_tolerance(length, bore):
    tolerance = din_20066.length_tolerance(length, bore)
    assert 0.0 < tolerance.minus < tolerance.plus


@given(lengths)
def test_tolerances_are_never_negative_and_sae_rounds_to_3_mm(length):
    tolerance = sae_j517.length_tolerance(length)
    assert tolerance.plus == tolerance.minus >= 3e-3 - 1e-12
    if length > 0.9:
        assert tolerance.plus / 3e-3 == pytest.approx(round(tolerance.plus / 3e-3))
        assert abs(tolerance.plus - 0.01 * length) <= 1.5e-3 + 1e-12


def test_limits_themselves_are_within():
    tolerance = Tolerance(7e-3, 3e-3, din_20066.STORAGE)
    assert tolerance.allows(0.607 - 0.600)
    assert tolerance.allows(0.597 - 0.600)
    assert not tolerance.allows(0.6071 - 0.600)
    assert not tolerance.allows(math.nan)


@pytest.mark.parametrize("rule", [sae_j517.length_tolerance, hose_handbook.cut_length_tolerance])
@pytest.mark.parametrize("length", [0.0, -0.3, math.inf, math.nan])
def test_lengths_that_are_none_are_refused(rule, length):
    with pytest.raises(ArgumentError, match="mm"):
        rule(length)


def test_orientation_tolerance_refuses_no_length():
    with pytest.raises(ArgumentError, match="-300 mm"):
        mil_dtl_83796.orientation_tolerance(-0.3)


def test_orientation_conventions_are_their_own_inverse():
    for degrees in (0, 1, 90, 359):
        angle = math.radians(degrees)
        assert mil_dtl_83796.orientation_angle(mil_dtl_83796.orientation_angle(angle)) == pytest.approx(angle)


def test_thin_hose_keeps_an_inch_straight_in_the_test():
    """Only the straight part has the floor: the bend takes the true diameter."""
    thin, inch = sae_j343.free_length(6e-3, 12e-3, 0.1).value, 0.0254
    assert thin == pytest.approx(math.pi * (0.1 + 6e-3) + 2 * inch)


@given(st.floats(1e-2, 0.1), st.floats(0.02, 0.7))
def test_flexing_length_is_the_bent_length_and_a_radius_more(diameter, radius):
    """4.142 r + 3.57 d = pi (r + d/2) + r + 2 d to the rounding of its figures."""
    bend = common_practice.bend_allowance(math.pi, radius, diameter).value
    assert sae_j1405.free_length(diameter, radius).value == pytest.approx(bend + radius + 2 * diameter, rel=1e-3)


def test_bend_allowance_refuses_negative_figures():
    with pytest.raises(ArgumentError, match="-50 mm"):
        common_practice.bend_allowance(1.0, -0.05, 0.02)
