"""Every word that the program says exists in all languages, and every sentence of the language files is said."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import hosewright
from hosewright import tables
from hosewright.catalog import connections, constructions, families, load
from hosewright.catalog.threads import look_alikes
from hosewright.checks.profile import Profile
from hosewright.service.failures import causes
from hosewright.sources import Confidence, Source
from hosewright.words import Texts, cited, cited_data, written
from hosewright.words.figures import Figures

PACKAGE = Path(hosewright.__file__).parent
SAID = ("findings", "remedies", "warnings", "samples")
"""Sections of sentences that the program builds by their key."""
KEY = re.compile(rf"(?:{'|'.join((*SAID, 'names', 'sources'))})\.[a-z_0-9]+")
STANDARD = re.compile(r"(?:EN|ISO|DIN|SAE|ASTM|JIS|ASME|MIL-DTL|DGUV Regel|Darcy-Weisbach)[- A-Z0-9./:]*")
"""Names of standards and laws of nature, which are the same in every language."""
GERMAN = Texts.load("de")


def modules() -> Iterator[ast.Module]:
    return (ast.parse(path.read_text(encoding="utf-8")) for path in sorted(PACKAGE.rglob("*.py")))


def keys_in_code() -> set[str]:
    strings = (node.value for tree in modules() for node in ast.walk(tree) if isinstance(node, ast.Constant))
    return {text for text in strings if isinstance(text, str) and KEY.fullmatch(text)}


def test_every_sentence_that_is_built_exists() -> None:
    for key in keys_in_code():
        section, _, name = key.partition(".")
        assert name in GERMAN.words[section], key


@pytest.mark.parametrize("section", SAID)
def test_every_sentence_of_the_files_is_built(section: str) -> None:
    assert {f"{section}.{name}" for name in GERMAN.words[section]} - keys_in_code() == set()


def sources_in_code() -> Iterator[Source]:
    for tree in modules():
        for node in ast.walk(tree):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "Source":
                words = [one.value if isinstance(one, ast.Constant) else "" for one in node.args[:2]]
                yield Source(*map(str, words))


def sources_in_tables() -> Iterator[Source]:
    for path in sorted(PACKAGE.rglob("data/*.csv")):
        for row in tables.parse(path.read_text(encoding="utf-8").splitlines(), path.name):
            yield from (row.source(column) for column in row.cells)
    yield from (figure.source for figure in Profile.standard().figures.values())


def test_every_source_has_german_words() -> None:
    """Documents and clauses that are not merely the name of a standard."""
    known = GERMAN.words["sources"]
    parts = {part for one in (*sources_in_code(), *sources_in_tables()) for part in (one.document, one.clause)}
    assert len(parts) > 100
    assert {part for part in parts if part and not STANDARD.fullmatch(part)} - known.keys() == set()
    assert set(map(str, Confidence)) <= known.keys()


def test_a_source_is_written_as_it_reads_and_in_german() -> None:
    source = Source("common practice, no source", "nuts", Confidence.PRACTICE)
    assert str(cited(source)) == str(source)
    assert str(cited(Source("EN 853"))) == str(Source("EN 853"))
    assert written(cited_data(source), GERMAN, Figures()) == "im Gewerbe üblich, ohne Quelle, Muttern (Praxis)"
    own = Source("own data: own.csv", "sheet 7", Confidence.DATA_SHEET)
    assert str(cited(own)) == str(own)
    assert written(cited_data(own), GERMAN, Figures()) == "eigene Daten: own.csv, sheet 7 (Datenblatt)"
    assert cited_data(None) is None


def test_names_of_the_packaged_data_have_german_words() -> None:
    catalog = load()
    forms = {form.name for form in catalog.end_forms()}
    adapters = {adapter.name for adapter in catalog.adapters()}
    assert forms | adapters <= GERMAN.words["names"].keys()
    halves = {half for family in families().values() for half in family.halves}
    assert families().keys() | halves <= GERMAN.words["connections"].keys()
    tells = {tell for size in connections.all_sizes() for _, tell in look_alikes(size.name)}
    assert tells <= {*GERMAN.words["tells"], *(tell for tell in tells if tell.startswith("the head"))}
    ways = {words for cause in causes() for words in (cause.finding, cause.cause, cause.mend)}
    assert ways == GERMAN.words["failures"].keys()
    assert {known.reinforcement for known in constructions().values()} <= GERMAN.words["layers"].keys()
