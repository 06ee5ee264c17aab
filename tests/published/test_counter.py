"""The work at the counter against figures of the standards: threads, measuring points, angle conventions, ages."""

import datetime
import math

import pytest

from hosewright import catalog
from hosewright.assembly import orientation_angle
from hosewright.service import Flange, Sample, SampleEnd, Thread, identify, read_markings, remake
from hosewright.service.identify import connection
from hosewright.service.orientation import ours
from hosewright.service.sample import Reach

CATALOG = catalog.load()
INCH = 25.4e-3


def identified(thread):
    found = identify(thread)
    return None if found.best is None else str(connection(found.best))


@pytest.mark.parametrize(
    ("thread", "expected"),
    [
        # ISO 228-1: G1/2 has a major diameter of 20.955 mm and 14 threads to the inch; ISO 8434-6 gives the 60 cone
        (Thread(20.9e-3, "male", threads_per_inch=14, tapered=False, seat="60 cone"), "BSP G1/2 male"),
        (Thread(20.955e-3, "male", threads_per_inch=14, seat="30 flare"), "JIS 30 flare G1/2 male"),
        # ISO 228-1: G1/2 has a minor diameter of 18.631 mm
        (Thread(18.75e-3, "female", threads_per_inch=14, seat="60 cone"), "BSP G1/2 female"),
        # SAE J1453: 13/16-16 for -8, 20.64 mm over the thread; 1 to 2 % from G1/2, parted by the pitch
        (Thread(20.6e-3, "male", threads_per_inch=16), "face seal -8 male"),
        (Thread(20.6e-3, "male", pitch=25.4e-3 / 16, seat="flat"), "face seal -8 male"),
        # ISO 8434-1: M22x1.5 is the light 15 mm tube and the heavy 14 mm tube; SAE J514: 7/8-14 is 22.225 mm
        (Thread(22.0e-3, "male", pitch=1.5e-3, seat="24 cone", recess=15e-3), "24 cone L15 male"),
        (Thread(22.0e-3, "male", pitch=1.5e-3, seat="24 cone", recess=14e-3), "24 cone S14 male"),
        (Thread(22.0e-3, "male", threads_per_inch=14, seat="74 cone"), "37 flare -10 male"),
        # the same thread 9/16-18 on SAE J514 -6 and SAE J1453 -4: the seat parts them
        (Thread(14.2e-3, "male", threads_per_inch=18, seat="74 cone"), "37 flare -6 male"),
        (Thread(14.2e-3, "male", threads_per_inch=18, seat="flat"), "face seal -4 male"),
        # ISO 8434-1: M16x1.5 is L10 or S8
        (Thread(14.6e-3, "female", pitch=1.5e-3, recess=10e-3), "24 cone L10 female"),
        (Thread(14.6e-3, "female", pitch=1.5e-3, recess=8e-3), "24 cone S8 female"),
        # ASME B1.20.1: 1 NPT has 11.5 threads to the inch; ISO 228-1: G1 has 11
        (Thread(33.0e-3, "male", threads_per_inch=11.5), "NPT 1 male"),
        (Thread(33.1e-3, "male", threads_per_inch=11, tapered=False, seat="60 cone"), "BSP G1 male"),
    ],
)
def test_threads_of_the_standards(thread, expected):
    found = identify(thread)
    assert str(connection(found.matches[0])) == expected


@pytest.mark.parametrize(
    ("thread", "names", "decider"),
    [
        # where a reading is missing that alone can decide, nothing is decided, and that reading is asked for
        (Thread(22.0e-3, "male", pitch=1.5e-3), {"24 cone L15", "24 cone S14", "metric 30 flare M22x1.5"}, "seat"),
        (Thread(22.0e-3, "male", pitch=1.5e-3, seat="24 cone"), {"24 cone L15", "24 cone S14"}, "recess"),
        (Thread(20.9e-3, "male", threads_per_inch=14, tapered=False), {"BSP G1/2", "JIS 30 flare G1/2"}, "seat"),
        (Thread(14.2e-3, "male", threads_per_inch=18), {"37 flare -6", "face seal -4"}, "seat"),
        (Thread(30.1e-3, "male", threads_per_inch=12), {"37 flare -14", "face seal -12"}, "seat"),
        # ASME B1.20.1: 1/2 NPT is 20.72 mm over its first thread (E0 19.264 mm and 0.8 pitches), 21.3 mm further up;
        # ISO 7-1: R1/2 is 20.44 mm there (20.955 mm less 8.2 mm / 16), both with 14 threads to the inch
        (Thread(20.72e-3, "male", threads_per_inch=14, tapered=True), {"NPT 1/2", "BSP taper R1/2"}, "flank angle"),
        (Thread(21.2e-3, "male", threads_per_inch=14, tapered=True), {"NPT 1/2", "BSP taper R1/2"}, "flank angle"),
        (
            Thread(20.9e-3, "male", threads_per_inch=14),
            {"BSP G1/2", "BSP taper R1/2", "JIS 30 flare G1/2", "NPT 1/2"},
            "taper",
        ),
    ],
)
def test_same_thread_is_not_decided(thread, names, decider):
    found = identify(thread)
    assert found.best is None
    assert {match.size.name for match in found.undecided} == names
    assert any(str(line).startswith(f"{decider}:") for line in found.measure_next)


@pytest.mark.parametrize(
    ("reading", "expected"),
    [
        # ISO 6162-1 and -2 (SAE J518 codes 61 and 62): heads (from memory) and bolt spacings of size -12, -16, -24, -32
        (Flange(head_diameter=38.0e-3), "flange 61 -12 head"),
        (Flange(head_diameter=41.4e-3), "flange 62 -12 head"),
        (Flange(head_diameter=44.5e-3), "flange 61 -16 head"),
        (Flange(bolts_long=47.6e-3, bolts_short=22.2e-3), "flange 61 -12 port"),
        (Flange(bolts_long=50.8e-3, bolts_short=23.8e-3), "flange 62 -12 port"),
        (Flange(bolts_long=57.0e-3), "flange 62 -16 port"),
        # 77.8 mm is code 61 of -32; a misprint in tables gives it to code 62, which has 96.8 mm
        (Flange(bolts_long=77.8e-3), "flange 61 -32 port"),
        (Flange(bolts_long=96.8e-3), "flange 62 -32 port"),
    ],
)
def test_flanges_of_the_standards(reading, expected):
    assert identified(reading) == expected


def test_pitch_over_ten_threads_parts_metric_from_inch():
    """M30x2 and 1 3/16-12: 20.0 against 21.2 mm over ten threads (ISO 261, ASME B1.1)."""
    (line,) = [line for line in map(str, identify(Thread(30.0e-3, "male")).measure_next) if line.startswith("pitch")]
    assert "over 10 threads" in line
    assert "2 mm: 24 cone L22" in line
    assert "12 to the inch (2.117 mm): " in line


def sample(length, a, b, measured=None, **more):
    ends = tuple(SampleEnd(form, "face seal -8 female", **extra) for form, extra in (a, b))
    return Sample("x", hose="2SN -8", overall_length=length, measured=measured, ends=ends, **more)


@pytest.mark.parametrize("measured", ["between sealing faces", "seat to seat", "flat seal face to flat seal face"])
def test_a_face_seal_is_measured_to_its_face(measured):
    """Ordering guides of hose shops: a straight face seal end to its flat face (common practice)."""
    made = remake(sample(0.7, ("straight", {}), ("straight", {}), measured), CATALOG)
    assert made.assembly.overall_length == 0.7
    assert not [warning for warning in made.warnings if "sealing face" in warning.text]


@pytest.mark.parametrize("form", ["90 short", "90 long"])
def test_an_elbow_is_measured_to_its_centre_line(form):
    """SAE J517 as cited by a military specification: to the centre line of the outlet for a 90 degree end."""
    words = "elbow to the centre line of its outlet, the other end to the sealing face"
    made = remake(sample(0.7, (form, {}), ("straight", {}), words), CATALOG)
    assert made.assembly.overall_length == 0.7
    assert not [warning for warning in made.warnings if "axes" in warning.text]


def bent_by(degrees, drop):
    """An invented end of any angle."""
    row = {
        "name": "bent", "connection": "face seal -8 female", "dash_size": 8, "exit_angle_deg": degrees,
        "drop_mm": drop, "cutoff_mm": 60, "insertion_mm": 30, "roll": "swivel", "max_working_pressure_bar": 400,
    }  # fmt: skip
    return CATALOG.with_own([row])


@pytest.mark.parametrize(
    ("degrees", "further"),
    [
        # by hand, of a seat that lies 20 mm beside the hose axis: an axis that falls to it at 45 degrees comes down
        # 20 mm further along, at 90 degrees straight below; at 30 degrees 20 mm times the root of 3 further along, at
        # 60 degrees 20 mm over the root of 3; at 135 degrees 20 mm the other way
        (45, 20.0),
        (90, 0.0),
        (30, 34.64),
        (60, 11.55),
        (135, -20.0),
    ],
)
def test_where_the_axes_of_outlet_and_hose_meet(degrees, further):
    end = {"reach": Reach.CORNER}
    catalog_ = bent_by(degrees, 20.0)
    made = remake(sample(0.7, ("bent", end), ("straight", {"reach": Reach.FACE})), catalog_)
    assert made.assembly.overall_length == pytest.approx(0.7 + further * 1e-3, abs=0.01e-3)
    told = [warning.text for warning in made.warnings if "axes" in warning.text]
    assert all(text[0] in "+-" for text in told)
    assert [float(text.split(" mm for end a")[0]) for text in told] == pytest.approx(
        [further] if further else [], abs=0.06
    )
    # the axis of the outlet is the port's: a point so far along the hose axis lies on it
    tail = made.assembly.a.tail()
    form = made.assembly.a.form
    back = form.cutoff + form.insertion - further * 1e-3
    assert (tail.origin[0] - back * tail.facing[0])[1:] == pytest.approx([0.0, 0.0], abs=0.01e-3)


def test_a_centre_line_of_another_bend_is_doubted():
    """Common practice, no source: some measure such an end to where the axes meet, some to the middle of its face."""
    made = remake(sample(0.7, ("45 medium", {}), ("straight", {}), "centre line to seat"), CATALOG)
    assert made.assembly.a.form.drop == 0.021
    assert made.assembly.overall_length == pytest.approx(0.721)
    (told,) = [warning.text for warning in made.warnings if "axes" in warning.text]
    assert "+21 mm for end a" in told
    assert "measure end a again" in told
    own = remake(sample(0.7, ("45 medium", {"drop": 22e-3}), ("straight", {}), "centre line to seat"), CATALOG)
    assert own.assembly.overall_length == pytest.approx(0.722)  # the sample's own drop, where it was measured
    face = remake(sample(0.7, ("45 medium", {"reach": Reach.FACE}), ("straight", {}), "centre line to seat"), CATALOG)
    assert face.assembly.overall_length == 0.7
    assert not [warning for warning in face.warnings if "axes" in warning.text]


def test_axes_that_never_meet_say_nothing_of_the_length():
    back = remake(sample(0.7, ("bent", {}), ("straight", {}), "centre line to the other"), bent_by(180, 50.0))
    straight = remake(sample(0.7, ("straight", {"reach": Reach.CORNER}), ("straight", {})), CATALOG)
    for made in (back, straight):
        assert made.assembly.overall_length == 0.7
        assert any("not said" in text and "end a" in text for text in (one.text for one in made.warnings))


def test_an_elbow_measured_to_its_far_edge_is_longer_by_half_its_nut():
    """A hexagon of 24 mm across flats reaches 12 mm with a flat and 13.86 mm with a corner (width times 2/sqrt 3)."""
    made = remake(sample(0.7, ("90 short", {}), ("straight", {"reach": Reach.FACE}), "over all"), CATALOG)
    off = 0.7 - made.assembly.overall_length
    assert 12e-3 < off < 24e-3 / math.sqrt(3.0)
    assert off == pytest.approx(12.93e-3, abs=0.01e-3)
    (told,) = [warning for warning in made.warnings if "12.9 mm" in warning.text]
    assert "0.9 mm" in told.text


def test_both_schools_of_the_swivel_nut():
    """A swivel nut is measured to its seat or to its farthest reach (ordering guides differ): the depth parts them."""
    to_seat = sample(0.7, ("straight", {"reach": Reach.FACE}), ("straight", {"reach": Reach.FACE}))
    to_nut = sample(0.709, ("straight", {"reach": Reach.NUT, "beyond": 9e-3}), ("straight", {"reach": Reach.FACE}))
    assert remake(to_nut, CATALOG).assembly.overall_length == pytest.approx(
        remake(to_seat, CATALOG).assembly.overall_length
    )


def test_a_nut_whose_reach_is_not_known_is_named():
    made = remake(sample(0.709, ("straight", {"reach": Reach.NUT}), ("straight", {"reach": Reach.FACE})), CATALOG)
    assert made.assembly.overall_length == 0.709
    (warning,) = [warning for warning in made.warnings if "nut" in warning.text]
    assert warning.kind == "length"
    assert "end a" in warning.text


# Two bent ends on a hose that runs along x; each outlet as the hands of a clock seen from end a (looking along +x).
def outlet(hour):
    turn = math.radians(30.0 * hour)
    return 0.0, -math.sin(turn), math.cos(turn)  # looking along +x with z up, 3 o'clock lies at -y


@pytest.mark.parametrize(("a", "b"), [(6, 3), (12, 4), (6, 11), (12, 12), (2, 9)])
def test_conventions_of_the_orientation_angle(a, b):
    """MIL-DTL-83796/5, citing SAE J517: near at 6 o'clock, counter-clockwise to the far one. Shops in metric countries:
    clockwise between near and far. Others: far at 12 o'clock as the datum. All against the vectors of the outlets."""
    truth = orientation_angle((1, 0, 0), outlet(a), outlet(b))
    clockwise = math.radians(30.0 * (b - a)) % math.tau
    assert clockwise == pytest.approx(truth)
    counter = -clockwise % math.tau
    for angle, words in [
        (clockwise, "clockwise from the near end to the far end"),
        (clockwise, "clockwise"),
        (counter, "counter-clockwise, near end at 6 o'clock"),
        (counter, "near fitting at 6 o'clock, counterclockwise to the far fitting"),
        (counter, "anticlockwise"),
        (counter, "clockwise from the far end at 12 o'clock to the near end"),
        (clockwise, "ccw from the far end to the near end"),
    ]:
        assert math.cos(ours(angle, words) - truth) == pytest.approx(1.0), words
    # from the other end the same number
    assert orientation_angle((-1, 0, 0), outlet(b), outlet(a)) == pytest.approx(truth)


def bent(**more):
    return sample(0.7, ("90 short", more.pop("a", {})), ("90 short", more.pop("b", {})), "centre lines", **more)


def test_counter_clockwise_gives_360_less_the_angle():
    made = remake(bent(orientation_angle=math.radians(60), convention="counter-clockwise, near at 6 o'clock"), CATALOG)
    assert math.degrees(made.assembly.orientation_angle) == pytest.approx(300.0)


def test_clock_positions_give_the_angle():
    made = remake(bent(a={"clock": math.pi}, b={"clock": math.pi / 2}), CATALOG)
    assert math.degrees(made.assembly.orientation_angle) == pytest.approx(270.0)
    assert made.missing == ()


def about(kind, made):
    return [warning for warning in made.warnings if warning.kind == kind]


def test_ages_of_the_new_assembly():
    """DIN 20066 and DGUV Regel 113-020: hose at most 4 years old, 2 years in store, 6 in all from the making."""
    texts = " ".join(str(w) for w in about("age", remake(sample(0.7, ("straight", {}), ("straight", {})), CATALOG,
                                                         datetime.date(2025, 4, 14))))  # fmt: skip
    assert "2021-04-14" in texts
    assert "2027-04-14" in texts
    assert "2031-04-14" in texts
    assert "DIN 20066" in texts


@pytest.mark.parametrize(
    ("markings", "date", "over"),
    [
        # six years from the end of the quarter (DIN 20066)
        ("2SN -8 2Q19", datetime.date(2025, 6, 30), False),
        ("2SN -8 2Q19", datetime.date(2025, 7, 2), True),
        ("2SN -8 4Q 21", datetime.date(2027, 12, 30), False),
        ("2SN -8 10/2019", datetime.date(2025, 11, 2), True),
    ],
)
def test_age_of_the_sample(markings, date, over):
    made = remake(sample(0.7, ("straight", {}), ("straight", {}), markings=markings), CATALOG, date)
    assert any("above the guide of 6 years" in warning.text for warning in about("age", made)) is over


def test_raised_duty_is_two_years():
    """DGUV Regel 113-020: two years of operation under raised duty."""
    one = sample(0.7, ("straight", {}), ("straight", {}), raised_duty=True)
    assert any("2 years of operation" in warning.text for warning in about("age", remake(one, CATALOG)))


def test_nothing_old_is_used_again():
    """DIN 20066: no repair with used hose or used fittings."""
    (warning,) = about("reuse", remake(sample(0.7, ("straight", {}), ("straight", {})), CATALOG))
    assert warning.source.document == "DIN 20066"


def test_a_used_hose_may_be_off_by_its_length_change():
    """EN 853: +2/-4 %. A length that drew up by 4 % was 1/0.96 times as long, one that grew by 2 % 1/1.02 times."""
    made = remake(sample(1.0, ("straight", {}), ("straight", {}), "seats"), CATALOG)
    held, free = 1.0 - made.assembly.free_length, made.assembly.free_length
    (warning,) = [w for w in about("length", made) if "as new" in w.text]
    assert f"{(held + free / 1.02) * 1e3:.0f} mm to {(held + free / 0.96) * 1e3:.0f} mm" in warning.text
    assert "+2 %/-4 %" in warning.text


@pytest.mark.parametrize(
    ("text", "hose", "bar", "made"),
    [
        # invented, with what EN 853 to EN 857 and SAE J517 ask of a layline: standard, type, bore, quarter and year
        ('EN 853 2SN 1/2" DN12 WP 275 bar 2Q19', "2SN -8", 275, "quarter 2 of 2019"),
        ("EN 857 2SC DN16 250 bar / 3625 psi 4Q 21", "2SC -10", 249.9, "quarter 4 of 2021"),
        ("SAE 100R2AT-8 4000 psi 10/2019", "2SN -8", 275.8, "10/2019"),
        ("EN 856 4SP 3/4 in 35 MPa Q3/2020", "4SP -12", 350, "quarter 3 of 2020"),
        ("EN 855 R7 -4 200 bar 1Q22", "EN R7 -4", 200, "quarter 1 of 2022"),
        ("SAE 100 R15 - 16 6000 PSI", "R15 -16", 413.7, None),
        ("1 SN  12,5 mm", "1SN -8", None, None),
        # dash numbers of R5 follow the tube: 13/32 in of bore is -8 (SAE J517)
        ('SAE 100R5 13/32"', "R5 -8", None, None),
        ("R2AT 1 1/4 in", "2SN -20", None, None),
        # ISO 1307: 3/8 and 3/16 in stand for bores of 10 and 5 mm
        ('R2AT 3/8"', "2SN -6", None, None),
        ("EN 853 1SN 3/16 inch", "1SN -3", None, None),
    ],
)
def test_laylines(text, hose, bar, made):
    found = read_markings(text, CATALOG)
    assert found.hose.name == hose
    assert (found.working_pressure or 0.0) == pytest.approx((bar or 0.0) * 1e5, rel=5e-4)
    assert (str(found.made) if found.made else None) == made
