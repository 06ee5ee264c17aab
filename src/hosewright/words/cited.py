"""Sources in words: names of standards stay, the other words of documents and clauses are those of the language."""

from __future__ import annotations

from typing import Any

from hosewright.sources import Source
from hosewright.words.sentence import Name, Sentence, Value, as_data

SECTION = "sources"
OWN = {"own data: ": "sources.own_data", "profile in ": "sources.profile_in"}
"""How documents of a shop begin, before the name of a file."""


def cited(source: Source) -> Sentence:
    """Document, clause and confidence, each looked up as a whole; ``str`` of it is that of the source."""
    document, confidence = _document(source.document), Name(str(source.confidence), SECTION)
    if not source.clause:
        return Sentence.of("sources.whole", document=document, confidence=confidence)
    clause = Name(source.clause, SECTION)
    return Sentence.of("sources.clause", document=document, clause=clause, confidence=confidence)


def _document(words: str) -> Value:
    for beginning, key in OWN.items():
        if words.startswith(beginning):
            return Sentence.of(key, file=words.removeprefix(beginning))
    return Name(words, SECTION)


def cited_data(source: Source | None) -> Any:
    """A source as plain data, to be written in any language; ``None`` where there is none."""
    return None if source is None else as_data(cited(source))
