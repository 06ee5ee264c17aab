"""Lengths of assemblies and angles between their ends against worked examples of the trade."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from hosewright import catalog
from hosewright.assembly import Assembly, End, orientation_angle
from hosewright.standards import common_practice, din_20066, mil_dtl_83796

MM = 1e-3
INCH = 0.0254
CATALOG = catalog.load()


def straight_end(cutoff, insertion=31):
    return End(
        replace(CATALOG.end_form("straight", "face seal -8 female"), cutoff=cutoff * MM, insertion=insertion * MM)
    )


def test_cut_length():
    """Cut length is the overall length less both cut-offs (hose shops' ordering guides): 1000 - 31.5 - 48 = 920.5."""
    assembly = Assembly(CATALOG.hose("2SN -8"), straight_end(31.5), straight_end(48.0), 1000 * MM)
    assert assembly.cut_length == pytest.approx(920.5 * MM, abs=1e-9)


def test_lengths_add_up():
    """Overall = cut + cut-offs; cut = free + what both ferrules hold."""
    assembly = Assembly(CATALOG.hose("2SN -8"), straight_end(31.5, 30), straight_end(48.0, 33), 1000 * MM)
    assert assembly.free_length == pytest.approx((920.5 - 63) * MM, abs=1e-9)
    longer = assembly.with_free_length(assembly.free_length + 0.1)
    assert longer.overall_length == pytest.approx(1.1, abs=1e-9)
    assert (longer.a, longer.b, longer.hose) == (assembly.a, assembly.b, assembly.hose)


@pytest.mark.parametrize(
    ("inside_radius", "diameter", "printed", "rounding"),
    [(400, 90, 700, 1.0), (450, 70, 762, 0.5)],
)
def test_length_in_a_quarter_bend(inside_radius, diameter, printed, rounding):
    """Hose makers' examples of 90 degree bends; the first is printed as "at least 700 mm", rounded up."""
    found = common_practice.bend_allowance(math.pi / 2, inside_radius * MM, diameter * MM).value
    assert found / MM == pytest.approx(printed, abs=rounding)


def test_overall_length_of_a_layout_with_one_corner():
    """Hose makers' example: centre-line radius 334, legs 400 and 600, ends 66 each; bend 525, straights 266 and 66."""
    bend = common_practice.bend_allowance(math.pi / 2, 334 * MM, 0.0).value
    assert bend / MM == pytest.approx(525, abs=0.5)
    assert 266 + 66 + bend / MM == pytest.approx(857, abs=0.5)


def test_a_yard_of_straight_run_draws_up():
    """Common practice, no source: 36 in at 4 % shortens by 1.44 in."""
    shorter = CATALOG.hose("2SN -8").shorter
    assert common_practice.shortening(36 * INCH, shorter).value == pytest.approx(1.44 * INCH)


def test_straight_before_the_bend():
    """Common practice, no source: a hose of 1/2 in outside diameter needs 1 in; DIN 20066 asks for 1.5 diameters."""
    assert common_practice.straight_length(0.5 * INCH).value == pytest.approx(1.0 * INCH)
    assert din_20066.straight_length(20 * MM).value == pytest.approx(30 * MM)


def test_rolling_loop():
    """Half circle and half the travel: travel 600, inside radius 240, diameter 29.3 give 1100.0 and the straights."""
    radius = (240 + 29.3 / 2) * MM
    assert common_practice.carriage_loop_length(600 * MM, radius, 0.0).value / MM == pytest.approx(1100.0, abs=0.05)
    at_end = common_practice.carriage_loop_length(600 * MM, radius, 0.0, fixed_at_middle=False).value
    assert at_end / MM == pytest.approx(1400.0, abs=0.05)


# along x, seen by one who looks from end a to end b with z up: y is to the left, so -y is to the right
UP, RIGHT, DOWN, LEFT = (0, 0, 1), (0, -1, 0), (0, 0, -1), (0, 1, 0)


@pytest.mark.parametrize(
    ("near", "far", "degrees"),
    [(UP, UP, 0), (UP, RIGHT, 90), (DOWN, UP, 180), (UP, LEFT, 270), (DOWN, LEFT, 90), (RIGHT, DOWN, 90)],
)
def test_orientation_is_clockwise_from_near_to_far(near, far, degrees):
    assert math.degrees(orientation_angle((1, 0, 0), near, far)) == pytest.approx(degrees, abs=1e-9)


def test_far_end_at_three_o_clock_in_the_military_specification():
    """MIL-DTL-83796/5: near elbow at 6 o'clock, counter-clockwise to the far one: 3 o'clock is 90 degrees."""
    ours = orientation_angle((1, 0, 0), DOWN, RIGHT)
    assert math.degrees(mil_dtl_83796.orientation_angle(ours)) == pytest.approx(90)
    assert math.degrees(ours) == pytest.approx(270)


clock = st.floats(0, math.tau, exclude_max=True)
unit = st.tuples(*[st.floats(-1, 1)] * 3).filter(lambda v: sum(x * x for x in v) > 0.01)


def outlets(axis, first, second):
    """Two directions normal to an axis at two clock angles."""
    axis = np.array(axis) / np.linalg.norm(axis)
    start = np.cross(axis, np.eye(3)[np.argmin(np.abs(axis))])
    start /= np.linalg.norm(start)
    side = np.cross(axis, start)
    return [math.cos(t) * start + math.sin(t) * side for t in (first, second)]


def turn_between(a, b):
    return abs((a - b + math.pi) % math.tau - math.pi)


@given(unit, clock, clock)
def test_orientation_does_not_depend_on_which_end_is_near(axis, first, second):
    near, far = outlets(axis, first, second)
    back = tuple(-x for x in axis)
    assert turn_between(orientation_angle(axis, near, far), orientation_angle(back, far, near)) < 1e-9


@given(unit, clock, clock)
def test_mirror_image_has_a_full_turn_less_the_angle(axis, first, second):
    near, far = outlets(axis, first, second)
    mirrored = [(-x, y, z) for x, y, z in (axis, near, far)]
    assert turn_between(orientation_angle(axis, near, far), -orientation_angle(*mirrored)) < 1e-9


@given(unit, clock, clock)
def test_orientation_is_the_difference_of_the_clock_angles(axis, first, second):
    near, far = outlets(axis, first, second)
    found = orientation_angle(axis, near, far)
    assert 0.0 <= found < math.tau
    assert turn_between(found, second - first) < 1e-9
