"""Sentences: a key and its values, written in any language and any system of units."""

import json
import math

import pytest

from hosewright.errors import ArgumentError, nearest
from hosewright.words import (
    Figure,
    Figures,
    Sentence,
    Texts,
    as_data,
    nearest_names,
    one_after_another,
    said_by,
    written,
)

GERMAN = Texts.load("de")


def test_a_figure_is_rounded_once_and_written_in_the_units_asked_for() -> None:
    data = as_data(Figure(0.03456, "length"))
    assert data == {"value": 34.6, "unit": "mm", "decimals": 1}
    assert written(data, GERMAN, Figures(decimal_mark=",")) == "34,6\N{NO-BREAK SPACE}mm"
    assert written(data, GERMAN, Figures("us", ",")) == "1,36\N{NO-BREAK SPACE}in"


def test_inches_are_not_converted_from_whole_millimetres() -> None:
    data = as_data(Figure.length(-0.0206))
    assert written(data, GERMAN, Figures()) == "-21\N{NO-BREAK SPACE}mm"
    assert written(data, GERMAN, Figures("us")) == "-0.81\N{NO-BREAK SPACE}in"


def test_a_sentence_is_english_and_metric_unless_said_otherwise() -> None:
    sentence = Sentence.of("common.end", name="a")
    assert str(sentence) == "End a"
    assert written(as_data(sentence), GERMAN, Figures()) == "Ende a"


def test_a_sentence_may_hold_others_and_its_data_are_plain() -> None:
    inner = Sentence.of("common.end", name="b")
    data = as_data(Sentence.of("common.end", name=inner))
    assert json.loads(json.dumps(data)) == data
    assert written(data, GERMAN, Figures()) == "Ende Ende b"


def test_what_is_listed_stands_once() -> None:
    ends = tuple(Sentence.of("common.end", name=name) for name in "aba")
    assert written(as_data(("x", "y", "z", "x")), GERMAN, Figures()) == "x, y und z"
    assert written(as_data(("x",)), GERMAN, Figures()) == "x"
    assert written(as_data(ends), GERMAN, Figures()) == "Ende a und Ende b"


def test_sentences_follow_each_other_behind_semicolons() -> None:
    first, second, third = (Sentence.of("common.end", name=name) for name in "abc")
    assert str(first.then(second).then(None)) == "End a; End b"
    assert str(one_after_another([first, second, third])) == "End a; End b; End c"


@pytest.mark.parametrize(
    ("figure", "shown"),
    [
        (Figure.pressure(275e5), "275 bar"),
        (Figure.pressure(344.62e5), "344.6 bar"),
        (Figure.pressure(0.344e5), "0.34 bar"),
        (Figure.pressure(-1.0), "0 bar"),
        (Figure.length(0.0125, 1), "12.5 mm"),
        (Figure.length(0.1004), "100 mm"),
        (Figure.length(0.02, sign=True), "+20 mm"),
        (Figure.angle(math.pi), "180°"),
        (Figure.angle(-math.pi, sign=True), "-180°"),
        (Figure(258.15, "temperature"), "-15 °C"),
        (Figure(45 / 6e4, "flow"), "45 L/min"),
        (Figure(6.109, "velocity", 2), "6.11 m/s"),
        (Figure(0.02, "part"), "2 %"),
        (Figure.number(1.2), "1.2"),
    ],
)
def test_figures_as_sentences_show_them(figure: Figure, shown: str) -> None:
    assert str(Sentence.of("common.end", name=figure)) == f"End {shown}"


def test_names_of_data_have_words_and_those_of_a_user_stay() -> None:
    assert GERMAN.name("straight") == "gerade"
    assert GERMAN.name("my own elbow") == "my own elbow"
    assert GERMAN.name("face seal -8 female", "connections") == "ORFS -8 Innengewinde"
    assert GERMAN.name("BSP taper R1/2 male", "connections") == "BSP konisch R1/2 Außengewinde"
    assert GERMAN.name("any", "connections") == "any"
    assert Texts.load("en").name("face seal -8 female", "connections") == "face seal -8 female"


def test_an_error_may_speak_in_a_sentence() -> None:
    sentence = Sentence.of("common.end", name="a")
    assert said_by(ArgumentError(sentence)) == sentence
    assert str(ArgumentError(sentence)) == "End a"
    assert str(said_by(ArgumentError("as it is"))) == "as it is"


def test_near_names_are_told_as_the_errors_tell_them() -> None:
    names = ["lift.rod", "lift.barrel"]
    for word, known in (("lift.r", names), ("x", names), ("aab", ["aaa", "aac"]), ("x", [])):
        told = Sentence.of("findings.error", text=nearest_names(word, known))
        assert str(told) == nearest(word, known)


def test_braces_in_a_value_stay_as_they_are() -> None:
    assert str(Sentence.of("common.end", name="{name}")) == "End {name}"
