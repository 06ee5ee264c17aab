"""Seat and tail of an end against vectors made by hand, in the port's frame: facing x, up y, facing x up z."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from hosewright import catalog
from hosewright.assembly import Adapter, Assembly, End
from hosewright.errors import ArgumentError
from hosewright.geometry import Frames

CATALOG = catalog.load()
STRAIGHT = CATALOG.end_form("straight", "face seal -8 female")
CUTOFF, INSERTION, DROP = 0.040, 0.030, 0.025
OUT = CUTOFF + INSERTION
R2 = math.sqrt(0.5)
QUARTER = math.pi / 2


def form(degrees):
    drop = DROP if degrees else 0.0
    return replace(STRAIGHT, exit_angle=math.radians(degrees), cutoff=CUTOFF, insertion=INSERTION, drop=drop)


def elbow(degrees, run=0.035, leg=0.030):
    return Adapter("elbow", "face seal -8 female", "face seal -8 male", math.radians(degrees), run, leg)


def assert_frame(frame, origin, facing, up):
    assert frame.origin[0] == pytest.approx(origin, abs=1e-12)
    assert frame.facing[0] == pytest.approx(facing, abs=1e-12)
    assert frame.up[0] == pytest.approx(up, abs=1e-12)


@pytest.mark.parametrize(
    ("degrees", "clock", "origin", "facing", "up"),
    [
        (0, 0, (OUT, 0, 0), (1, 0, 0), (0, 1, 0)),
        (0, 90, (OUT, 0, 0), (1, 0, 0), (0, 0, -1)),
        # a 90 degree end: out by its drop, then along the clock's hand; the outlet lies back towards the port
        (90, 0, (DROP, OUT, 0), (0, 1, 0), (-1, 0, 0)),
        (90, 90, (DROP, 0, -OUT), (0, 0, -1), (-1, 0, 0)),  # 3 o'clock: right hand of one who faces the port
        (90, 180, (DROP, -OUT, 0), (0, -1, 0), (-1, 0, 0)),
        (90, 270, (DROP, 0, OUT), (0, 0, 1), (-1, 0, 0)),
        # a 45 degree end: drop and cut-off along and across the slanting hose axis
        (45, 0, ((OUT + DROP) * R2, (OUT - DROP) * R2, 0), (R2, R2, 0), (-R2, R2, 0)),
        (45, 90, ((OUT + DROP) * R2, 0, -(OUT - DROP) * R2), (R2, 0, -R2), (-R2, 0, -R2)),
        (45, 180, ((OUT + DROP) * R2, -(OUT - DROP) * R2, 0), (R2, -R2, 0), (-R2, -R2, 0)),
    ],
)
def test_tail_without_an_adapter(degrees, clock, origin, facing, up):
    assert_frame(End(form(degrees), math.radians(clock)).tail(), origin, facing, up)


@pytest.mark.parametrize(
    ("degrees", "clock", "origin", "facing", "up"),
    [
        (0, 0, (0.065, 0, 0), (1, 0, 0), (0, 1, 0)),
        (90, 0, (0.035, 0.030, 0), (0, 1, 0), (-1, 0, 0)),
        (90, 90, (0.035, 0, -0.030), (0, 0, -1), (-1, 0, 0)),
        (90, 180, (0.035, -0.030, 0), (0, -1, 0), (-1, 0, 0)),
        (45, 0, (0.035 + 0.030 * R2, 0.030 * R2, 0), (R2, R2, 0), (-R2, R2, 0)),
    ],
)
def test_seat_on_an_adapter(degrees, clock, origin, facing, up):
    assert_frame(End(STRAIGHT, 0.0, ((elbow(degrees), math.radians(clock)),)).seat(), origin, facing, up)


def test_seat_without_adapters_is_the_port():
    assert_frame(End(STRAIGHT, 1.0).seat(), (0, 0, 0), (1, 0, 0), (0, 1, 0))


def test_tail_of_a_straight_end_on_an_elbow():
    end = End(form(0), 0.0, ((elbow(90), 0.0),))
    assert_frame(end.tail(), (0.035, 0.030 + OUT, 0), (0, 1, 0), (-1, 0, 0))


def test_two_elbows_turn_the_hose_back():
    """Elbow up, then an elbow at clock 0 of the new seat, whose up points back at the port."""
    end = End(form(0), 0.0, ((elbow(90), 0.0), (elbow(90), 0.0)))
    assert_frame(end.tail(), (0.035 - 0.030 - OUT, 0.030 + 0.035, 0), (-1, 0, 0), (0, -1, 0))


def test_bent_end_on_an_elbow_at_three_o_clock():
    """Elbow to 3 o'clock (-z), its up is -x; a 90 end at clock 90 then leaves to the right of one who faces the seat.

    That one looks along +z with -x up, so their right hand is +z cross -x = -y.
    """
    end = End(form(90), QUARTER, ((elbow(90), QUARTER),))
    assert_frame(end.tail(), (0.035, -OUT, -0.030 - DROP), (0, -1, 0), (0, 0, 1))


angles = st.floats(0.0, math.tau)
bends = st.floats(0.05, 3.0)


@given(bends, angles, bends, angles, angles)
def test_frames_stay_right_handed_and_the_hose_axis_keeps_its_drop(bend, clock, adapter_bend, adapter_clock, other):
    adapter = replace(elbow(90), angle=adapter_bend)
    end = End(replace(form(90), exit_angle=bend), clock, ((adapter, adapter_clock),))
    seat, tail = end.seat(), end.tail()
    np.testing.assert_allclose(tail.axes[0].T @ tail.axes[0], np.eye(3), atol=1e-12)
    assert np.linalg.det(tail.axes[0]) == pytest.approx(1.0)
    back = seat.origin[0] - tail.origin[0]
    # seen from the tail the measuring point lies OUT back along the hose and the drop away towards the outlet
    assert back @ tail.facing[0] == pytest.approx(-OUT, abs=1e-12)
    assert back @ tail.up[0] == pytest.approx(DROP, abs=1e-12)
    assert tail.facing[0] @ seat.facing[0] == pytest.approx(math.cos(bend), abs=1e-12)


@given(angles, angles)
def test_turning_the_clock_turns_the_tail_about_the_port(first, second):
    one, other = End(form(90), first).tail(), End(form(90), second).tail()
    turn = first - second  # clockwise for one who faces the port is left-handed about its facing
    matrix = np.array([[1, 0, 0], [0, math.cos(turn), -math.sin(turn)], [0, math.sin(turn), math.cos(turn)]])
    np.testing.assert_allclose(other.origin[0], matrix @ one.origin[0], atol=1e-12)
    np.testing.assert_allclose(other.facing[0], matrix @ one.facing[0], atol=1e-12)


def test_lengths_laid_straight_add_up_to_the_overall_length():
    """Two 90 ends on a straight hose: the distance of their outlets along the hose is the overall length."""
    hose = CATALOG.hose("2SN -8")
    assembly = Assembly(hose, End(form(90)), End(form(90)), 0.600)
    a = assembly.a.tail()
    # the far port stands so that its hose comes straight back: origin of b at the end of the free length
    b_tail = a.origin[0] + assembly.free_length * a.facing[0]
    port_b = Frames(np.array([[0.0, 0.600, 0.0]]), np.array([np.diag([1.0, -1.0, -1.0])]))
    b = port_b.place(assembly.b.tail())
    np.testing.assert_allclose(b.origin[0], b_tail, atol=1e-12)
    np.testing.assert_allclose(b.facing[0], -a.facing[0], atol=1e-12)
    assert assembly.overall_length == pytest.approx(assembly.free_length + 2 * OUT)


def test_assembly_without_free_hose_says_what_the_ends_take():
    with pytest.raises(ArgumentError, match=r"120 mm.*140 mm"):
        Assembly(CATALOG.hose("2SN -8"), End(form(90)), End(form(0)), 0.120)


def test_weight_of_a_filled_hose():
    hose = replace(CATALOG.hose("2SN -8"), mass_per_length=0.6, inside_diameter=0.0125)
    assert hose.filled_mass_per_length(870.0) == pytest.approx(0.6 + 870.0 * math.pi / 4 * 0.0125**2)
    assert replace(hose, mass_per_length=None).filled_mass_per_length(870.0) is None
