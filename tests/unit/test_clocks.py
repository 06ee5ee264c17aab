"""How bent ends are turned for a fitter, against directions worked out by hand."""

import math
from dataclasses import replace

import pytest

from checked_runs import BENT, STRAIGHT, assembly, job, run
from hosewright.assembly import Adapter, End
from hosewright.checks.check import check
from hosewright.documents.clocks import clock_in_words, clock_pictures, clock_views, clock_with_reference
from hosewright.machine import Port, Turn
from hosewright.words import Figures, Texts

ELBOW = Adapter("90 swivel", "any", "any", math.pi / 2, 0.03, 0.03)
QUARTER = math.pi / 2
SHORT = replace(BENT, name="45 short", exit_angle=math.pi / 4)


def views(facing, up=None, *, on="chassis", clock=0.0, other=(0.5, 0.3, 0.1), adapters=(), form=BENT, arm=0.0):
    """Bent parts of end a at a port in the origin, the other end at ``other``; the arm turns about x when fitted."""
    ports = [Port("A", on, (0.0, 0.0, 0.0), facing, up), Port("B", "chassis", other, (0.0, 1.0, 0.0))]
    hose = assembly(1.2, a=End(form, clock, adapters), b=End(STRAIGHT))
    made = job(run(0.0, assembly=hose), ports, joint=Turn((0, 0, 0), (1, 0, 0)), poses=0.2)
    result = check(replace(made, service_poses=({"arm": arm},)))
    return clock_views(result, result.runs[0])


def test_an_elbow_at_a_quarter_on_a_port_to_the_left():
    # who stands left of the machine (y) and looks at the port has its rear (-x) to the right: there clock 90 points
    (view,) = views((0, 1, 0), (0, 0, 1), clock=QUARTER)
    assert (view.end, view.port, view.reference, view.look) == ("a", "A", "plumb", "outside")
    assert (view.degrees, view.hour) == (90, "3:00")


def test_the_mark_of_the_port_is_not_what_the_fitter_sees():
    (view,) = views((0, 1, 0), (1, 0, 0), clock=QUARTER)  # the mark points forward, which is 9:00; a quarter on is up
    assert view.clock == pytest.approx(QUARTER)
    assert (view.degrees, view.hour) == (0, "12:00")


def test_the_fitting_pose_turns_the_port():
    # a quarter about x takes up (z) to the right (-y); who looks back at a port that faces forward has -y on the left
    (view,) = views((1, 0, 0), (0, 0, 1), on="arm", arm=QUARTER)
    assert (view.reference, view.degrees, view.hour) == ("plumb", 270, "9:00")


def test_a_port_that_faces_up_is_read_from_the_other_port():
    # the mark is x; a quarter clockwise from above is -y, away from a port at y
    (view,) = views((0, 0, 1), clock=QUARTER, other=(0.0, 0.6, 0.1))
    assert (view.reference, view.look, view.hour, view.other) == ("port", "above", "6:00", "B")


def test_a_port_that_faces_down_over_the_other_is_read_from_the_way_forward():
    # from below with x up the paper, y is on the right
    (view,) = views((0, 0, -1), clock=QUARTER, other=(0.02, 0.0, -0.6))
    assert (view.reference, view.look, view.degrees) == ("forward", "below", 90)


def test_an_end_behind_an_adapter_is_seen_from_the_side_of_the_adapter():
    # the adapter turns the seat from y up to z; its zero is then -y, away from the other port
    adapter, form = views((0, 1, 0), (0, 0, 1), adapters=((ELBOW, 0.0),), other=(0.0, 0.7, 0.1))
    assert (adapter.part, adapter.adapter, adapter.outlet, adapter.hour) == ("90 swivel", 0, None, "12:00")
    assert (form.part, form.adapter, form.outlet, form.look, form.hour) == ("90", None, "90 swivel", "above", "6:00")


def test_an_end_behind_a_level_elbow_is_read_into_the_outlet_of_the_elbow():
    # the port faces left (y); the elbow at 3:00 takes the seat to the rear (-x), where its zero is -y. Who stands
    # behind the machine and looks forward into that outlet has -y on the right; a quarter clockwise from there is down
    adapter, form = views((0, 1, 0), (0, 0, 1), clock=QUARTER, adapters=((ELBOW, QUARTER),), form=SHORT)
    assert (adapter.outlet, adapter.hour) == (None, "3:00")
    assert (form.outlet, form.reference, form.look, form.hour) == ("90 swivel", "plumb", "outside", "6:00")
    for language, look in (
        ("en", "looking into the outlet of the adapter "),
        ("de", "Blick in den Auslass des Adapters "),
    ):
        texts = Texts.load(language)
        for written in (clock_in_words(form, texts, Figures()), clock_with_reference(form, texts)):
            assert look + texts.name("90 swivel") in written
        for written in (clock_in_words(adapter, texts, Figures()), clock_with_reference(adapter, texts)):
            assert look not in written


def test_a_straight_adapter_leaves_the_view_at_the_port():
    straight = replace(ELBOW, name="straight", angle=0.0)
    (form,) = views((0, 1, 0), (0, 0, 1), clock=QUARTER, adapters=((straight, 0.0),))
    assert (form.outlet, form.hour) == (None, "3:00")


def test_straight_ends_have_no_clock():
    assert views((0, 1, 0), form=STRAIGHT) == []


@pytest.mark.parametrize(
    ("degrees", "hour"), [(0, "12:00"), (135, "4:30"), (57, "2:00"), (22, "12:30"), (359, "12:00")]
)
def test_hours_to_the_half(degrees, hour):
    (view,) = views((0, 1, 0), (0, 0, 1), clock=math.radians(degrees))
    assert (view.degrees, view.hour) == (degrees, hour)


def test_words_and_pictures_in_both_languages():
    found = views((0, 1, 0), (0, 0, 1), clock=0.75 * math.pi)
    said = {}
    for language in ("en", "de"):
        texts = Texts.load(language)
        figures = Figures(decimal_mark=texts.decimal_mark)
        (said[language],) = (clock_in_words(view, texts, figures) for view in found)
        first, second = (clock_pictures(found, texts, figures) for _ in range(2))
        assert first == second
        assert b"<svg" in first[0]
    assert said == {
        "en": "to 4:30 (135°); 12 o'clock is plumb up, looking at A from outside",
        "de": "auf 4:30 Uhr (135°); 12 Uhr: lotrecht oben, Blick von außen auf A",
    }
