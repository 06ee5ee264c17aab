"""Samples in a job file: what is read, and what a wrong value is told."""

import datetime
import math
from pathlib import Path

import pytest

from hosewright.jobfile import JobFileError, read_text
from hosewright.service import Sample
from hosewright.service.sample import Reach

HEAD = '[job]\nformat = 1\ntitle = "counter"\n[[assembly]]\nname = "one"\n'


def read(text: str) -> Sample:
    (sample,) = read_text(HEAD + text, Path("job.toml")).samples
    return sample


def problems(text: str) -> str:
    with pytest.raises(JobFileError) as caught:
        read(text)
    return str(caught.value)


def test_a_name_is_enough() -> None:
    assert read("") == Sample("one")


def test_everything_that_can_be_taken_down() -> None:
    sample = read(
        'number = "A 17"\nhose = "2SN -8"\nlength = "33 1/2 in"\nmeasured = "over all"\n'
        'ends = [{ form = "straight", thread = { diameter = "13/16 in", tpi = 16, half = "male", seat = "flat face", '
        'tapered = false }, reach = "nut", beyond = 9 }, { form = "90 short", connection = "face seal -8 female", '
        'clock = "3 o\'clock" }]\norientation = 60\nconvention = "ccw"\nmarkings = "2SN 2Q19"\nmade = "2Q19"\n'
        'fitted = 2019-10-05\nraised_duty = true\nused = false\npressure = "3000 psi"\nfluid = "HM 46"\n'
        'failed = "burst"\n'
    )
    first, second = sample.ends
    assert (sample.number, sample.hose, sample.raised_duty, sample.used) == ("A 17", "2SN -8", True, False)
    assert sample.overall_length == pytest.approx(0.8509)
    assert sample.working_pressure == pytest.approx(206.84e5, rel=1e-4)
    assert (sample.made.first, sample.made.last) == (datetime.date(2019, 4, 1), datetime.date(2019, 6, 30))
    assert sample.fitted.first == sample.fitted.last == datetime.date(2019, 10, 5)
    assert sample.orientation_angle == pytest.approx(math.pi / 3)
    assert (first.reading.diameter, first.reading.threads_per_inch) == (pytest.approx(20.6375e-3), 16)
    assert (first.reading.seat, first.reading.tapered, first.reach) == ("flat", False, Reach.NUT)
    assert first.beyond == pytest.approx(9e-3)
    assert second.clock == pytest.approx(math.pi / 2)


def test_a_flange() -> None:
    (end,) = read("ends = [{ flange = { head = 38.1, bolts = [22.2, 47.6] } }]").ends
    assert (end.reading.bolts_long, end.reading.bolts_short) == pytest.approx((47.6e-3, 22.2e-3))
    assert end.reading.head_diameter == pytest.approx(38.1e-3)


@pytest.mark.parametrize(
    ("clock", "degrees"),
    [('"12 o\'clock"', 0), ('"6 o\'clock"', 180), ('"7:30 h"', 225), ("45", 45), ('"1 rad"', 57.29578)],
)
def test_clock_positions(clock: str, degrees: float) -> None:
    (end,) = read(f"ends = [{{ clock = {clock} }}]").ends
    assert math.degrees(end.clock) == pytest.approx(degrees)


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("ends = [{}, {}, {}]", ("ends",)),
        ('made = "spring"', ("made", "2Q19", "spring")),
        ('fitted = "13/2019"', ("fitted", "13/2019")),
        ("made = 2019", ("made", "2019")),
        ('ends = [{ thread = { half = "male" } }]', ("thread", "'diameter' is missing")),
        ('ends = [{ thread = { diameter = 20, half = "port" } }]', ("port", "male, female")),
        ('ends = [{ thread = { diameter = 20, half = "male", pitch = 1.5, tpi = 14 } }]', ("'pitch' or 'tpi'",)),
        ('ends = [{ thread = { diameter = 20, half = "male", seat = "45 cone" } }]', ("45 cone", "74 cone")),
        ('ends = [{ thread = { diameter = 20, half = "male", seat = 24 } }]', ("24",)),
        ('ends = [{ thread = { diameter = -1, half = "male" } }]', ("-1",)),
        ('ends = [{ thread = { diamter = 20, half = "male" } }]', ("diamter", "Did you mean 'diameter'")),
        ("ends = [{ flange = {} }]", ("head = 38.1",)),
        ("ends = [{ flange = { bolts = [1, 2, 3] } }]", ("bolts",)),
        ('ends = [{ flange = { head = 38 }, thread = { diameter = 20, half = "male" } }]', ("'thread' or 'flange'",)),
        ('ends = [{ reach = "nuts" }]', ("nuts", "nut")),
        ("ends = [{ beyond = -2 }]", ("-2",)),
        ('ends = [{ clock = "13 o\'clock" }]', ("13 o'clock",)),
        ('length = "850 bar"', ("850 bar",)),
        ('used = "yes"', ("true or false",)),
    ],
)
def test_wrong_values_are_told_with_their_place(text: str, parts: tuple[str, ...]) -> None:
    told = problems(text)
    assert "job.toml:" in told
    for part in parts:
        assert part in told
