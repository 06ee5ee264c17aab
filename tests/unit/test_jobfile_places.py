"""Places of every kind of key, value and table; they rest on private methods of the TOML library."""

import re

import pytest

from hosewright.jobfile import starter
from hosewright.jobfile.places import Place, Places, TomlError

TEXT = """\
# note
top = 1
[job]
title = "a"  # note
  drawn_at = { mast = 0, "lift arm" = "3 deg" }
on = true
[[run]]
name = "one"
ends = [
  { form = "90 short", clock = 90 },
  { form = 'straight' },
]
day = 2026-03-01
[run.assembly]
length = 850
[[port]]
name = "p"
at = [0, true, "12 brr"]
[[run]]
name = "two"
pressure.peak = 250.5
[a.b]
c = 1
[q]
[a.d]
c = 2
"""


@pytest.fixture(scope="module")
def places():
    return Places.parse(TEXT)


def shown(places, path):
    span = places.span(path)
    return TEXT[span.start : span.end].strip()


@pytest.mark.parametrize(
    ("path", "text"),
    [
        (("top",), "1"),
        (("job", "title"), '"a"'),
        (("job", "drawn_at", "mast"), "0"),
        (("job", "drawn_at", "lift arm"), '"3 deg"'),
        (("job", "on"), "true"),
        (("run", 0, "name"), '"one"'),
        (("run", 0, "ends", 0, "clock"), "90"),
        (("run", 0, "ends", 1), "{ form = 'straight' }"),
        (("run", 0, "day"), "2026-03-01"),
        (("run", 0, "assembly", "length"), "850"),
        (("port", 0, "at", 0), "0"),
        (("port", 0, "at", 1), "true"),
        (("port", 0, "at", 2), '"12 brr"'),
        (("run", 1, "name"), '"two"'),
        (("run", 1, "pressure", "peak"), "250.5"),
        (("a", "b", "c"), "1"),
        (("a", "d", "c"), "2"),
    ],
)
def test_span_of_a_value(places, path, text):
    assert shown(places, path) == text


@pytest.mark.parametrize(
    ("path", "key"),
    [
        (("job", "title"), "title"),
        (("job", "drawn_at", "lift arm"), '"lift arm"'),
        (("run", 0, "ends", 0, "clock"), "clock"),
        (("run", 1, "pressure", "peak"), "peak"),
        (("a", "d", "c"), "c"),
    ],
)
def test_span_of_a_key(places, path, key):
    span = places.key_span(path)
    assert TEXT[span.start : span.end].strip() == key


@pytest.mark.parametrize(
    ("path", "start"),
    [
        (("job",), "[job]"),
        (("run", 0), '[[run]]\nname = "one"'),
        (("run", 0, "assembly"), "[run.assembly]"),
        (("port", 0), "[[port]]"),
        (("run", 1), '[[run]]\nname = "two"'),
    ],
)
def test_span_of_a_table_starts_at_its_header(places, path, start):
    assert shown(places, path).startswith(start)


def test_table_spans_end_where_the_next_header_starts(places):
    assert shown(places, ("run", 0)).endswith("length = 850")
    assert shown(places, ("run", 1)).endswith("peak = 250.5")


@pytest.mark.parametrize(
    ("path", "key", "place"),
    [
        (("port", 0, "at", 2), False, Place(18, 16)),
        (("port", 0, "at", 7), False, Place(18, 6)),
        (("run", 0, "missing"), False, Place(7, 1)),
        (("job", "drawn_at", "mast"), True, Place(5, 16)),
        (("nowhere", 3), False, Place(1, 1)),
    ],
)
def test_place_falls_back_to_what_is_around(places, path, key, place):
    assert places.place(path, key) == place


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("[job]\ntitle = \n", Place(2, 9)),
        ("[job]\na = 1\nb = 12 mm\n", Place(3, 8)),
        ("[[[[", Place(1, 3)),
        ('x = "no end', Place(1, 5)),
        ("at = [0, 1\n[[port]]\n", Place(1, 6)),
        ("a = 1\nb =", Place(2, 4)),
        ("[job]\na = 1\nb = 2\n  a = 3\nc = 4\n", Place(4, 3)),
        ("[job]\na = 1\n[x]\n[job]\nb = 3\n[y]\n", Place(4, 1)),
    ],
)
def test_what_is_not_toml_is_refused_with_its_place(text, place):
    with pytest.raises(TomlError) as caught:
        Places.parse(text)
    assert abs(caught.value.place.line - place.line) == 0
    assert abs(caught.value.place.column - place.column) <= 1


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("pressure = { working = 210 peak = 250 }", "a comma is missing before 'peak'"),
        ("at = [0 40, 620]", "a comma is missing before '40'"),
        ("at = [0, -1.5 # mm\n -2.5]", "a comma is missing before '-2.5'"),
        ("ends = [{ clock = 1 }\n { clock = 2 }]", "a comma is missing before this '{'"),
        ('names = ["a" "b"]', "a comma is missing before this text"),
        ("a = [true false]", "a comma is missing before 'false'"),
        ("a = [12 mm]", "text needs quotes"),
        ("a = [0, 0, 1,,]", "unexpected character: ','"),
        ("a = 1 b = 2", "'b' needs a line of its own"),
        ('a = "x" "y"', "need brackets"),
        ("a = “x”", "straight quotes"),
        ("a : 3", "joined by ="),
        ("a = [1, 2\nb = 3\n", "the list that begins here is not closed"),
        ("a = [\n  { b = 1 },\n[[run]]\n", "the list that begins here is not closed"),
        ("a = { b = 1", "the table that begins here is not closed"),
        ("[[run]\na = 1", "write [run] or [[run]]"),
        ("a = \nb = 1", "'a' has no value"),
        ("a = 'x\nb = 1", "quote is missing"),
    ],
)
def test_what_is_not_toml_is_named(text, said):
    with pytest.raises(TomlError) as caught:
        Places.parse(text)
    assert said in str(caught.value)


def test_every_comma_of_the_starter_is_missed_where_it_is_left_out():
    whole = starter()
    values = [line for line in whole.splitlines() if not line.startswith("#")]
    lines = [(line, place.start()) for line in values for place in re.finditer(", ", line.partition("#")[0])]
    assert len(lines) > 20
    for line, place in lines:
        if line.count('"', 0, place) % 2 == 0:
            with pytest.raises(TomlError, match="a comma is missing before") as caught:
                Places.parse(line[:place] + " " + line[place + 2 :])
            assert caught.value.place == Place(1, place + 2)


def test_deep_nesting_is_refused():
    with pytest.raises(TomlError):
        Places.parse("a = " + "[" * 5000)


def test_long_lines_are_cut_around_the_place():
    places = Places.parse("x = [" + "1, " * 400 + '"here"]\n')
    line, column = places.line(places.place(("x", 400)))
    assert len(line) <= 110
    assert line[column:].startswith('"here"')
