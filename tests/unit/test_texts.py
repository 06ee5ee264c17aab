"""Words on paper: the same keys and the same places to fill in, in every language."""

import string

import pytest

from hosewright.checks import explain
from hosewright.errors import ArgumentError
from hosewright.search import surplus
from hosewright.words import LANGUAGES, Texts


def places(text: str) -> set[str]:
    return {name for _, name, _, _ in string.Formatter().parse(text) if name is not None}


@pytest.mark.parametrize("language", LANGUAGES)
def test_all_languages_have_equal_keys_and_places(language: str) -> None:
    words, english = Texts.load(language).words, Texts.load("en").words
    assert words.keys() == english.keys()
    for section, sentences in words.items():
        assert sentences.keys() == english[section].keys(), section
        for key, sentence in sentences.items():
            assert places(sentence) == places(english[section][key]), f"{section}.{key}"
            assert sentence.strip() or english[section][key] == sentence, f"{section}.{key}"


def test_every_rule_has_a_word() -> None:
    assert {*explain.rules(), surplus.RULE} <= Texts.load("en").words["rules"].keys()


def test_a_sentence_is_filled_and_what_is_filled_in_stays_as_it_is() -> None:
    texts = Texts.load("de")
    assert texts("common.end", name="{a}") == "Ende {a}"
    assert texts.decimal_mark == ","
    assert Texts.load("en").decimal_mark == "."


def test_an_unknown_language_or_word() -> None:
    with pytest.raises(ArgumentError, match="'fr'"):
        Texts.load("fr")
    with pytest.raises(KeyError):
        Texts.load("en")("common.no such word")
