"""Sentences: a key and its values, written in any language and any system of units."""

import json

from hosewright.words import Figure, Figures, Sentence, Texts, as_data
from hosewright.words.sentence import written

GERMAN = Texts.load("de")


def test_a_figure_is_rounded_once_and_written_in_the_units_asked_for() -> None:
    data = as_data(Figure(0.03456, "length"))
    assert data == {"value": 34.6, "unit": "mm"}
    assert written(data, GERMAN, Figures(decimal_mark=",")) == "34,6\N{NO-BREAK SPACE}mm"
    assert written(data, GERMAN, Figures("us", ",")) == "1,36\N{NO-BREAK SPACE}in"


def test_a_sentence_is_english_and_metric_unless_said_otherwise() -> None:
    sentence = Sentence.of("common.end", name="a")
    assert str(sentence) == "End a"
    assert written(as_data(sentence), GERMAN, Figures()) == "Ende a"


def test_a_sentence_may_hold_others_and_its_data_are_plain() -> None:
    inner = Sentence.of("common.end", name="b")
    data = as_data(Sentence.of("common.end", name=inner))
    assert json.loads(json.dumps(data)) == data
    assert written(data, GERMAN, Figures()) == "Ende Ende b"


def test_names_are_listed_and_sentences_parted() -> None:
    ends = tuple(Sentence.of("common.end", name=name) for name in "ab")
    assert written(as_data(("x", "y", "z", "x")), GERMAN, Figures()) == "x, y und z"
    assert written(as_data(("x",)), GERMAN, Figures()) == "x"
    assert written(as_data(ends), GERMAN, Figures()) == "Ende a; Ende b"


def test_braces_in_a_value_stay_as_they_are() -> None:
    assert str(Sentence.of("common.end", name="{name}")) == "End {name}"
