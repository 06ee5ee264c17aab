"""What must hold of the work at the counter whatever is typed or measured."""

import datetime
import math
from dataclasses import replace

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from hosewright import catalog
from hosewright.catalog import families, sizes
from hosewright.errors import HosewrightError
from hosewright.jobfile.end_words import read_end, read_thread
from hosewright.service import Sample, SampleEnd, Thread, identify, read_markings, read_period, remake
from hosewright.service.ages import shifted
from hosewright.service.identify import connection, mate
from hosewright.service.orientation import between, ours
from hosewright.service.sample import Reach

CATALOG = catalog.load()
THREADED = [size for family in families() for size in sizes(family).values() if size.male_diameter is not None]
HALVES = [
    (size, half, diameter)
    for size in THREADED
    for half, diameter in (("male", size.male_diameter), ("female", size.female_diameter))
    if diameter is not None
]


@given(st.sampled_from(HALVES), st.floats(-0.25e-3, 0.1e-3))
def test_a_thread_that_is_fully_read_is_found_among_those_left(chosen, error):
    """Whoever reads pitch, taper, seat and recess rightly has the size among what cannot be told apart."""
    size, half, diameter = chosen
    family = families()[size.family]
    thread = Thread(
        diameter + (error if half == "male" else -error), half, size.pitch, None, family.seat, family.tapered,
        size.tube_diameter,
    )  # fmt: skip
    found = identify(thread)
    left = found.undecided or (found.matches[0],)
    assert size.name in [match.size.name for match in left]


@given(st.floats(3.1e-3, 0.149), st.sampled_from(["male", "female"]), st.one_of(st.none(), st.floats(0.3e-3, 6.4e-3)))
def test_every_reading_is_answered(diameter, half, pitch):
    """Either matches, sorted by likelihood, or near sizes and something to measure again."""
    found = identify(Thread(diameter, half, pitch))
    distances = [match.distance for match in found.matches]
    assert distances == sorted(distances)
    if not found.matches:
        assert found.near
        assert found.measure_next
    for match in found.matches:
        assert connection(match).why_not(mate(match)) is None
    if len(found.matches) == 1:
        assert found.best is not None


@given(st.sampled_from(THREADED))
def test_leaving_a_reading_out_never_loses_a_match(size):
    family = families()[size.family]
    whole = Thread(size.male_diameter, "male", size.pitch, None, family.seat, family.tapered, size.tube_diameter)
    names = {match.size.name for match in identify(whole).matches}
    for name in ("pitch", "seat", "tapered", "recess"):
        fewer = {match.size.name for match in identify(replace(whole, **{name: None})).matches}
        assert names <= fewer


WORDS = st.lists(
    st.sampled_from(
        ["male", "female", "20.9 mm", "13/16 in", "7/8-14", "M22x1.5", "14 tpi", "14 threads per inch", "pitch", "1.5",
         "recess 12", "24 cone", "37 flare", "flat", "tapered", "parallel", "not", "flange",
         "bolts 47.6 x 22.2", ",", "-", "/", "1/0", "°", "x", "é"]
    ),
    max_size=8,
).map(" ".join)  # fmt: skip


@given(st.one_of(st.text(max_size=60), WORDS))
@example("male 1/0 in")
@example("male 2-99 20")
@example("9" * 150)
@example("male ½ in")
def test_any_words_give_a_thread_or_a_sentence(words):
    try:
        reading = read_end(words, {})
        identify(reading)
    except HosewrightError:  # a sentence for the user; anything else would be a traceback
        return
    assert reading.half in ("male", "female", "head", "port")


@given(st.floats(3.1, 99.0), st.sampled_from(["male", "female"]), st.integers(4, 40), st.booleans())
def test_words_and_options_say_the_same(diameter, half, threads, tapered):
    diameter = round(diameter, 1)
    word = "tapered" if tapered else "parallel"
    spoken = read_thread(f"{half}, {diameter} mm, {threads} threads per inch, {word}", {})
    options = {"half": half, "threads_per_inch": float(threads), "tapered": tapered}
    assert read_thread(f"{diameter}", options) == spoken
    assert spoken.diameter == pytest.approx(diameter * 1e-3)


@given(st.text(max_size=80))
@example('EN 853 2SN 0/0" 2Q19')
@example("99Q99 4Q00 DN99 -99 9/9in")
def test_any_markings_can_be_read(text):
    found = read_markings(text, CATALOG)
    assert found.hose is None or found.hose.construction == found.construction


@given(st.text(max_size=20))
def test_any_text_is_a_date_or_none(text):
    period = read_period(text)
    assert period is None or period.first <= period.last


@given(st.dates(datetime.date(1950, 1, 1), datetime.date(2090, 1, 1)), st.integers(-20, 9))
def test_shifting_keeps_the_day_of_the_year(date, years):
    moved = shifted(date, years)
    assert (moved.year - date.year, moved.month) == (years, date.month)
    assert abs(moved.day - date.day) <= 1


@given(st.floats(0.0, math.tau), st.floats(0.0, math.tau))
def test_either_sense_and_either_start_make_the_mirror_image(angle, clock):
    same = ours(angle, "clockwise from near to far")
    for words in ("counter-clockwise from near to far", "clockwise from far to near"):
        assert math.isclose(math.cos(same + ours(angle, words)), 1.0, abs_tol=1e-12)
    assert math.isclose(ours(angle, "ccw, far to near"), same)
    assert math.isclose(math.cos(between(clock, clock + angle) - angle), 1.0, abs_tol=1e-12)


@given(st.floats(0.2, 5.0), st.floats(0.0, 30e-3), st.floats(0.0, 30e-3))
def test_what_lies_beyond_is_taken_off(length, at_a, at_b):
    ends = tuple(
        SampleEnd("straight", "face seal -8 female", reach=Reach.NUT, beyond=beyond) for beyond in (at_a, at_b)
    )
    made = remake(Sample("x", hose="2SN -8", overall_length=length, ends=ends), CATALOG)
    assert math.isclose(made.assembly.overall_length + at_a + at_b, length)


@given(st.lists(st.text(max_size=30), min_size=7, max_size=7))
def test_any_words_on_a_sample_give_a_remake(texts):
    hose, measured, form, half, convention, markings, failed = texts
    end = SampleEnd(form, half)
    made = remake(
        Sample("x", hose=hose, overall_length=0.5, measured=measured, ends=(end, end), orientation_angle=1.0,
               convention=convention, markings=markings, fluid=failed, failed=failed),
        CATALOG, datetime.date(2025, 1, 1),
    )  # fmt: skip
    assert made.assembly is not None or made.missing
