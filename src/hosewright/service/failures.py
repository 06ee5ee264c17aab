"""Why hoses fail, and what must change so that the next one does not; common practice, no source."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from hosewright import tables
from hosewright.service.sample import Sample
from hosewright.service.warning import RemakeWarning
from hosewright.sources import Source
from hosewright.words import Name, Sentence


@dataclass(frozen=True)
class Cause:
    """A way in which hoses fail, why, and what must change so that the next one does not."""

    words: re.Pattern[str]
    finding: str
    cause: str
    mend: str
    source: Source


@cache
def causes() -> tuple[Cause, ...]:
    """Common ways of failing; practice, no source."""
    return tuple(
        Cause(
            re.compile(rf"\b(?:{row.text('words')})", re.IGNORECASE),
            row.text("finding"),
            row.text("cause"),
            row.text("mend"),
            row.source("finding"),
        )
        for row in tables.packaged("hosewright.service", "failures.csv")
    )


def why_it_failed(sample: Sample) -> Iterator[RemakeWarning]:
    """Causes that fit the words in which it is said why a sample failed."""
    if sample.failed is None:
        if sample.used:
            yield RemakeWarning("failure", Sentence.of("samples.no_cause"))
        return
    found = [cause for cause in causes() if cause.words.search(sample.failed)]
    for one in found:
        parts = {name: Name(getattr(one, name), "failures") for name in ("finding", "cause", "mend")}
        yield RemakeWarning("failure", Sentence.of("samples.cause", **parts), one.source)
    if not found:
        yield RemakeWarning("failure", Sentence.of("samples.unknown_cause", words=sample.failed))
