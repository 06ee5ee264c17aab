"""Samples made again: what is chosen, what is missing, what is doubted."""

import datetime
import math
from dataclasses import replace
from pathlib import Path

import pytest

from hosewright import catalog
from hosewright.assembly import Adapter, End
from hosewright.jobfile import read_job
from hosewright.service import Flange, Sample, SampleEnd, Thread, read_markings, read_period, read_seat, remake
from hosewright.service.advice import about
from hosewright.service.failures import causes
from hosewright.service.sample import Reach
from hosewright.sources import Confidence, Source

CATALOG = catalog.load()
DATE = datetime.date(2025, 4, 14)
STRAIGHT = SampleEnd("straight", "face seal -8 female", reach=Reach.FACE)
ELBOW = SampleEnd("90 short", "face seal -8 female", reach=Reach.FACE)
WHOLE = Sample("hose", "C-9", "2SN -8", 0.8, "seats", (STRAIGHT, ELBOW), working_pressure=150e5, fluid="HM 46")


def changed(**more):
    return remake(replace(WHOLE, **more), CATALOG, DATE)


def told(made, kind):
    return [warning.text for warning in made.warnings if warning.kind == kind]


def test_a_whole_sample_gives_its_assembly():
    made = changed()
    assert made.missing == ()
    assert (made.name, made.number, made.sample) == ("hose", "C-9", WHOLE)
    assembly = made.assembly
    assert (assembly.hose.name, assembly.a.form.name, assembly.b.form.name) == ("2SN -8", "straight", "90 short")
    assert (assembly.overall_length, assembly.orientation_angle) == (0.8, None)


@pytest.mark.parametrize(
    ("more", "named"),
    [
        ({"hose": None}, "hose: its construction"),
        ({"hose": "2SX -8"}, "2SX -8"),
        ({"overall_length": None}, "length: the overall length"),
        ({"overall_length": 0.05}, "leaves no free hose"),
        ({"ends": ()}, "end a: nothing"),
        ({"ends": (STRAIGHT,)}, "end b: nothing"),
        ({"ends": (SampleEnd(), ELBOW)}, "end a: nothing"),
        ({"ends": (STRAIGHT, replace(ELBOW, form=None))}, "end b: its form"),
        ({"ends": (STRAIGHT, replace(ELBOW, form="91 short"))}, "91 short"),
        ({"ends": (replace(STRAIGHT, connection=None), ELBOW)}, "end a: its connection"),
        ({"ends": (replace(STRAIGHT, connection="face steal -8 female"), ELBOW)}, "Did you mean 'face seal'"),
        ({"ends": (ELBOW, ELBOW)}, "orientation: both ends are bent"),
        ({"ends": (SampleEnd("straight", reading=Thread(22e-3, "male", pitch=1.5e-3)), ELBOW)}, "24 cone S14"),
        ({"ends": (SampleEnd("straight", reading=Thread(18.5e-3, "male", pitch=3e-3)), ELBOW)}, "match no thread"),
        ({"ends": (SampleEnd("straight", reading=Thread(0.4, "male")), ELBOW)}, "400 mm"),
    ],
)
def test_what_is_missing_is_named(more, named):
    made = changed(**more)
    assert made.assembly is None
    assert any(named in line for line in made.missing), made.missing


def test_an_identified_end_is_taken():
    thread = Thread(18.9e-3, "female", threads_per_inch=16, seat="flat")
    made = changed(ends=(SampleEnd("straight", reading=thread, reach=Reach.FACE), ELBOW))
    assert made.assembly.a.form.connection == "face seal -8 female"
    assert not any("end a" in text for text in told(made, "connection"))  # pitch and seat rule the look-alikes out


def test_a_less_likely_match_is_doubted():
    made = changed(ends=(SampleEnd("straight", reading=Thread(20.6e-3, "male", seat="flat")), ELBOW))
    assert made.assembly.a.form.connection == "face seal -8 male"
    likely = changed(ends=(SampleEnd("straight", reading=Thread(12.6e-3, "male")), ELBOW))
    (text,) = [text for text in told(likely, "connection") if "less likely" in text]
    assert text.startswith("end a is taken as '37 flare -5 male', less likely it is BSP G1/4 male")
    assert "pitch: gauge the pitch" in text


def test_what_a_typical_reading_error_could_turn_is_not_decided():
    """13/16-16 and G1/2 differ by 0.3 mm over the thread: without the pitch neither is taken."""
    unsure = changed(ends=(SampleEnd("straight", reading=Thread(20.7e-3, "male")), ELBOW))
    assert unsure.assembly is None
    assert any("face seal -8 or BSP G1/2" in line and "pitch" in line for line in unsure.missing)


def test_a_flange_is_taken_by_its_head():
    made = changed(hose="2SN -12", ends=(
        SampleEnd("straight", reading=Flange(head_diameter=38.0e-3), reach=Reach.FACE),
        SampleEnd("90", reading=Flange(head_diameter=41.4e-3), reach=Reach.FACE, drop=60e-3),
    ))  # fmt: skip
    assert (made.assembly.a.form.connection, made.assembly.b.form.connection) == (
        "flange 61 -12 head", "flange 62 -12 head",
    )  # fmt: skip
    missed = changed(ends=(SampleEnd("straight", reading=Flange(head_diameter=55e-3)), ELBOW))
    assert any("nearest flange 62 -20" in line for line in missed.missing)


def test_readings_that_contradict_the_name_are_told():
    thread = Thread(20.9e-3, "male", threads_per_inch=14, seat="60 cone")
    made = changed(ends=(replace(STRAIGHT, connection="face seal -8 male", reading=thread), ELBOW))
    assert any("BSP G1/2 male" in text and "measure again" in text for text in told(made, "connection"))
    assert made.assembly.a.form.connection == "face seal -8 male"
    (stop,) = (one for one in made.warnings if one.stops)
    assert stop.kind == "connection"


STOPPED = [
    # ISO 228-1: G3/4 has a major diameter of 26.441 mm and 14 threads to the inch
    ("face seal -8 female", Thread(26.4e-3, "male", threads_per_inch=14), "BSP G3/4 male"),
    ("face seal -8 female", Thread(20.6e-3, "male", threads_per_inch=16, seat="flat"), "face seal -8 male"),
    ("face seal -8 female", Thread(18.5e-3, "female", pitch=3e-3), "no known thread"),
    ("NPT 1/2 female", Thread(20.9e-3, "male", threads_per_inch=14, seat="60 cone"), "BSP G1/2 male"),
    ("face seal -8 female", Flange(head_diameter=38.1e-3), "flange 61 -12 head"),
    ("flange 61 -12 head", Flange(head_diameter=41.3e-3), "flange 62 -12 head"),
    ("flange 61 -12 head", Flange(bolts_long=50.8e-3, bolts_short=23.8e-3), "flange 62 -12 port"),
]


@pytest.mark.parametrize(("connection", "reading", "read"), STOPPED)
def test_readings_of_another_connection_stop(connection, reading, read):
    made = changed(ends=(replace(STRAIGHT, connection=connection, reading=reading), ELBOW))
    (stop,) = (one for one in made.warnings if one.stops)
    assert stop.kind == "connection"
    assert f"end a is taken down as '{connection}'" in stop.text
    assert read in stop.text


FITTING = [
    ("face seal -8 female", Thread(18.9e-3, "female", threads_per_inch=16, seat="flat")),
    ("face seal -8 female", Thread(18.8e-3, "female")),  # may be G1/2 as well
    ("BSP G1/2 female", Thread(18.8e-3, "female")),
    ("37 flare -10 male", Thread(22.1e-3, "male")),
    ("24 cone L15 male", Thread(22.0e-3, "male", pitch=1.5e-3)),
    ("24 cone S14 male", Thread(22.0e-3, "male", pitch=1.5e-3)),
    ("NPT 1/2 male", Thread(20.9e-3, "male", threads_per_inch=14)),
    ("NPT 1/2 female", Thread(18.6e-3, "female", threads_per_inch=14)),  # the tables have no figure to compare with
    ("flange 61 -12 head", Flange(head_diameter=38.0e-3)),
    ("flange 61 -12 head", Flange(bolts_long=47.6e-3, bolts_short=22.2e-3)),  # bolts are those of either half
]


@pytest.mark.parametrize(("connection", "reading"), FITTING)
def test_readings_that_fit_or_leave_the_name_open_do_not_stop(connection, reading):
    made = changed(ends=(replace(STRAIGHT, connection=connection, reading=reading), ELBOW))
    assert not any(one.stops and one.kind == "connection" for one in made.warnings)


def test_look_alikes_are_told_once_for_equal_ends():
    (text,) = told(changed(), "connection")
    assert text.startswith("end a and end b")
    assert "BSP G1/2 (tell by pitch)" in text


def test_hose_from_the_markings():
    made = changed(hose=None, markings="2SN DN12")
    assert made.assembly.hose.name == "2SN -8"
    assert any("2SN -8, as the markings say" in text for text in told(made, "markings"))


@pytest.mark.parametrize(
    ("markings", "kind", "text"),
    [
        ("2SC -8", "markings", "say 2SC -8"),
        ("2SN -8 DN16", "markings", "two sizes"),
        ("2SN -8 WP 400 bar", "pressure", "400 bar"),
        ("2SN -8 2Q20", "age", "taken down as of 2019"),
        ("2SN -8 1Q30", "age", "the markings say quarter 1 of 2030"),
    ],
)
def test_markings_that_contradict(markings, kind, text):
    assert any(text in one for one in told(changed(markings=markings, made=read_period("2019")), kind))


def test_markings_that_agree():
    made = changed(markings="2SN -8 WP 4000 psi 2Q19", made=read_period("2019"))  # 4000 psi is the table's 275 bar
    assert told(made, "pressure") == told(made, "markings") == []
    assert not any("taken down" in text for text in told(made, "age"))


def test_unreadable_markings_are_told():
    made = changed(hose=None, markings="painted over")
    assert any("painted over" in text for text in told(made, "markings"))
    assert made.assembly is None


def test_pressure_above_the_rating():
    made = changed(working_pressure=300e5)
    assert any("300 bar" in text and "275 bar" in text for text in told(made, "pressure"))
    assert told(changed(), "pressure") == []


def test_rating_that_is_not_known():
    own = {"name": "plain", "connection": "BSP G1/2 female", "dash_size": 8, "exit_angle_deg": 0}
    rows = [{**own, "cutoff_mm": 30, "insertion_mm": 30, "roll": "swivel"}]
    ends = (SampleEnd("plain", "BSP G1/2 female", reach=Reach.FACE), ELBOW)
    made = remake(replace(WHOLE, ends=ends), CATALOG.with_own(rows), DATE)
    (stop,) = (one for one in made.warnings if one.stops)
    assert "no rating is known of the plain end" in stop.text
    assert "(end a)" in stop.text


@pytest.mark.parametrize("pressure", [None, 150e5, 500e5])
def test_a_doubtful_rating_stops_whatever_the_line_asks(pressure):
    """The catalog doubts R15 in -6 and -8; R15 -12 and 2SN are sure."""
    made = changed(hose="R15 -8", working_pressure=pressure)
    assert made.assembly.hose.max_working_pressure == 420e5
    stops = [one for one in made.warnings if one.stops and "R15" in one.text]
    assert [one.text for one in stops] == ["the rating of the hose R15 -8 is doubtful: take it from the data sheet"]
    assert (stops[0].kind, stops[0].source.confidence) == ("pressure", "doubtful")
    assert not any(one.stops for one in changed(working_pressure=None).warnings)


def test_a_doubtful_rating_of_an_end_or_an_adapter_stops():
    doubtful = Source("a reprint", "", Confidence.DOUBTFUL)
    whole = changed().assembly
    form = replace(whole.a.form, source=doubtful)
    adapter = Adapter("union", "face seal -8 male", "face seal -8 male", 0.0, 0.02, 0.0, None, 400e5, source=doubtful)
    unrated = replace(adapter, name="bulkhead union", max_working_pressure=None)
    made = replace(whole, a=End(form, adapters=((adapter, 0.0),)), b=End(whole.b.form, adapters=((unrated, 0.0),)))
    stops = [one.text for one in about(WHOLE, CATALOG, DATE, None, made.hose, made) if one.stops]
    assert stops == [
        "the rating of the adapter union (end a) is doubtful: take it from the data sheet",
        "the rating of the straight end, face seal -8 female (end a) is doubtful: take it from the data sheet",
        "no rating is known of the adapter bulkhead union (end b)",
    ]


@pytest.mark.parametrize(
    ("fluid", "text"), [("HFDR 46", "leaves HFDR 46 out"), ("HETG 46", "leaves HETG 46 out"), ("treacle", "treacle")]
)
def test_fluid_that_does_not_suit(fluid, text):
    assert any(text in one for one in told(changed(fluid=fluid), "fluid"))
    assert told(changed(), "fluid") == []


@pytest.mark.parametrize(
    ("failed", "findings"),
    [
        ("burst at the ferrule", {"failed at the end"}),
        ("split 40 mm behind the fitting", {"failed at the end"}),
        ("layline runs in a spiral", {"twisted"}),
        ("Twisted", {"twisted"}),
        ("chafed through on the frame", {"worn from outside"}),
        ("pulled out of the ferrule", {"came out of the fitting"}),
        ("kinked near the valve", {"kinked or flattened"}),
        ("blisters on the cover", {"blistered cover"}),
        ("cover hard and brittle, near the exhaust", {"hardened by heat"}),
        ("liner swollen and soft", {"attacked by the fluid"}),
        ("leaks at the o-ring", {"leaked at the connection"}),
        ("run over by a trailer", {"hurt from outside"}),
        ("wires rusted", {"rusted"}),
        ("a mystery", set()),
    ],
)
def test_ways_of_failing(failed, findings):
    assert {cause.finding for cause in causes() if cause.words.search(failed)} == findings
    texts = told(changed(failed=failed), "failure")
    assert len(texts) == max(len(findings), 1)
    assert all("again" in text for text in texts)


def test_causes_say_that_they_have_no_source():
    assert all("no source" in str(cause.source) and cause.source.confidence == "practice" for cause in causes())


def test_an_unused_pattern_has_no_set_and_no_failure():
    made = changed(used=False)
    assert told(made, "length") == []
    assert told(made, "failure") == []


def test_words_that_leave_the_reach_open_are_doubted():
    ends = tuple(replace(end, reach=None) for end in (STRAIGHT, ELBOW))
    open_ends = [text for text in told(changed(ends=ends, measured="with a tape"), "length") if "not said" in text]
    assert [text[-1] for text in [line.split(":")[0] for line in open_ends]] == ["a", "b"]
    assert not any("not said" in text for text in told(changed(ends=ends, measured="seat to seat"), "length"))


def test_over_all_ends_at_the_tip_of_a_male():
    male = SampleEnd("straight", "face seal -8 male")
    made = changed(ends=(male, ELBOW), measured="over all")
    assert not any("end a" in text for text in told(made, "length"))


def test_an_angle_without_two_elbows_is_left_out():
    made = changed(orientation_angle=1.0)
    assert made.assembly.orientation_angle is None
    assert told(made, "orientation")


def test_an_angle_without_a_sense_is_doubted():
    made = changed(ends=(ELBOW, ELBOW), orientation_angle=1.0, convention="near at 6 o'clock")
    assert made.assembly.orientation_angle == pytest.approx(1.0)
    assert any("360 degrees less" in text for text in told(made, "orientation"))


@pytest.mark.parametrize(("angle", "stops"), [(90.0, False), (105.0, False), (200.0, True), (270.0, True)])
def test_an_angle_that_contradicts_the_clock_positions_stops(angle, stops):
    """Outlets at 12 and at 3 o'clock, looking along the hose from end a, are 90 degrees apart."""
    ends = tuple(replace(ELBOW, clock=math.radians(clock)) for clock in (0.0, 90.0))
    made = changed(ends=ends, orientation_angle=math.radians(angle), convention="clockwise from the near end")
    contradicts = [one for one in made.warnings if "contradict" in str(one.said)]
    assert bool(contradicts) == stops
    assert all(one.stops for one in contradicts)


@pytest.mark.parametrize(
    ("fitted", "made", "text"),
    [
        ("10/2019", None, "before its time"),
        ("2015", None, "over its time"),
        ("2026", None, "after the job's date"),
        ("2020", "2Q16", "it lay 3.5 years, more than 2"),
    ],
)
def test_service_ages(fitted, made, text):
    found = changed(fitted=read_period(fitted), made=made and read_period(made), failed="burst")
    assert any(text in one for one in told(found, "age"))


def test_ages_without_a_date_are_in_years_alone():
    texts = told(remake(WHOLE, CATALOG), "age")
    assert not any("20" in text for text in texts)
    assert any("6 years" in text for text in texts)


@pytest.mark.parametrize(
    ("text", "shown", "first", "last"),
    [
        ("2Q19", "quarter 2 of 2019", (2019, 4, 1), (2019, 6, 30)),
        ("4Q 21", "quarter 4 of 2021", (2021, 10, 1), (2021, 12, 31)),
        ("Q1/2020", "quarter 1 of 2020", (2020, 1, 1), (2020, 3, 31)),
        ("10/2019", "10/2019", (2019, 10, 1), (2019, 10, 31)),
        ("2/2020", "02/2020", (2020, 2, 1), (2020, 2, 29)),
        ("2019-10", "10/2019", (2019, 10, 1), (2019, 10, 31)),
        ("2019-10-05", "2019-10-05", (2019, 10, 5), (2019, 10, 5)),
        ("2019", "2019", (2019, 1, 1), (2019, 12, 31)),
        ("3Q98", "quarter 3 of 1998", (1998, 7, 1), (1998, 9, 30)),
    ],
)
def test_printed_dates(text, shown, first, last):
    period = read_period(text)
    assert str(period) == shown
    assert (period.first, period.last) == (datetime.date(*first), datetime.date(*last))


@pytest.mark.parametrize("text", ["5Q19", "13/2019", "1/2", "2019-02-30", "19", "Q5 2020", "", "2Q19 and more"])
def test_what_is_no_date(text):
    assert read_period(text) is None


@pytest.mark.parametrize(
    ("text", "seat"),
    [("24° cone", "24 cone"), ("37 flare", "74 cone"), ("74 degree seat", "74 cone"), ("Flat face", "flat"),
     ("O-ring", "flat"), ("30 deg flare", "30 flare"), ("none", "none")],
)  # fmt: skip
def test_seats_in_the_words_of_the_trade(text, seat):
    assert read_seat(text) == seat


@pytest.mark.parametrize("text", ["2SN", "12.5 mm", "WP 275 bar", "R2AT 7/0 in", "2SN DN13", "2SN 850 mm"])
def test_markings_without_a_whole_hose(text):
    assert read_markings(text, CATALOG).hose is None


def test_the_example_of_the_counter():
    file = read_job(Path(__file__).parents[2] / "examples" / "counter.toml")
    sprayer, steering, tilt, shed = (remake(sample, file.catalog, file.date) for sample in file.samples)
    assert sprayer.assembly.overall_length == pytest.approx(0.8509)
    assert sprayer.assembly.hose.name == "2SN -8"
    assert steering.assembly.overall_length == pytest.approx(0.6305)
    assert {steering.assembly.a.form.connection, steering.assembly.b.form.connection} == {"24 cone L12 female"}
    assert tilt.assembly.orientation_angle == pytest.approx(5.235987756)
    assert shed.assembly is None
    assert [line.split(":")[0] for line in shed.missing] == ["hose", "end b", "length"]


@pytest.mark.parametrize(
    ("text", "names"),
    [
        # reinforcement and bore as the hose standards describe the types
        ("lay line gone; two wire, 12.5 mm", {"2SN -8", "2SC -8", "R16 -8", "R17 -8"}),
        ("4 wire spirals 3/4 in", {"4SP -12", "4SH -12", "R12 -12", "R13 -12", "R15 -12"}),
        ("one steel braid, 1/4 in", {"1SN -4", "1SC -4", "R5 -5", "R16 -4", "R17 -4"}),
        ("two wire", set()),
        ("12.5 mm", set()),
    ],
)
def test_layers_and_bore_leave_candidates(text, names):
    assert {hose.name for hose in read_markings(text, CATALOG).candidates} == names
    missing = next(line for line in changed(hose=None, markings=text).missing if line.startswith("hose"))
    assert all(name in missing for name in names)


def test_an_elbow_by_its_angle_and_drop():
    forms = {form.drop: form.name for form in CATALOG.end_forms(connection="face seal -8 female", dash_size=8)}
    for drop, name in forms.items():
        if name.startswith("90"):
            made = changed(ends=(STRAIGHT, replace(ELBOW, form="90°", drop=drop + 1e-3)))
            assert made.assembly.b.form.name == name
            assert told(made, "form") == []
    far = changed(ends=(STRAIGHT, replace(ELBOW, form="90 deg", drop=35e-3)))
    assert far.assembly.b.form.name in ("90 short", "90 medium")
    assert any("35 mm" in text for text in told(far, "form"))
    assert told(changed(ends=(STRAIGHT, replace(ELBOW, drop=50e-3))), "form")


@pytest.mark.parametrize(("form", "text"), [("90", "measure the drop"), ("30", "0, 45, 90"), ("90 tall", "90 tall")])
def test_an_elbow_that_cannot_be_chosen(form, text):
    made = changed(ends=(STRAIGHT, replace(ELBOW, form=form)))
    assert any(text in line for line in made.missing)


@pytest.mark.parametrize(
    ("hose", "markings", "told_of"),
    [
        ("2SN -8", "EN 853 1SN DN12", "1SN -8"),  # another type
        ("2SN -8", "2SN -10", "2SN -10"),  # another size
        ("2SN -8", "EN 853 1SN 2Q19", "1SN"),  # another type, no size to be read
        ("2SN -8", "2SN -8 DN16", "2SN -10"),  # two sizes
    ],
)
def test_markings_of_another_hose_stop(hose, markings, told_of):
    (stop,) = (one for one in changed(hose=hose, markings=markings).warnings if one.stops)
    assert stop.kind == "markings"
    assert f"say {told_of}, the sample is taken down as {hose}" in stop.text


@pytest.mark.parametrize("markings", ["EN 853 2SN DN12", "2SN", "painted over", "WP 275 bar"])
def test_markings_of_the_same_hose_or_of_none_do_not_stop(markings):
    assert not any(one.stops for one in changed(hose="2SN -8", markings=markings, working_pressure=100e5).warnings)


def test_the_weightiest_warnings_come_first():
    made = changed(hose="2SN -8", markings="1SN -8", failed="burst", working_pressure=None)
    kinds = list(dict.fromkeys(one.kind for one in made.warnings))
    assert made.warnings[0].stops
    wanted = ["markings", "pressure", "connection", "age", "length", "failure", "fluid", "reuse", "machine"]
    assert kinds == [kind for kind in wanted if kind in kinds]
    assert {"pressure", "length", "failure", "reuse"} <= set(kinds)
