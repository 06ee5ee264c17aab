"""What a re-making warns of, and what it misses."""

from __future__ import annotations

from dataclasses import dataclass, field

from hosewright.sources import Source
from hosewright.words import Name, Sentence

ORDER = ("pressure", "connection", "orientation", "age", "length", "failure", "fluid")
"""Kinds of warning, the weightiest first: what may burst or come off, then what makes a wrong hose. Others follow."""
WEIGHTY = 4
"""Warnings of a lesser rank stand out: those that stop, and those of the first three kinds."""


@dataclass(frozen=True)
class RemakeWarning:
    """A doubt about a sample or about making it again.

    Attributes
    ----------
    kind
        What it is about: ``"length"``, ``"connection"``, ``"age"`` and so on.
    said
        One sentence, to be written in any language; ``text`` is English and metric.
    source
        ``None`` where it only compares what was taken down.
    stops
        Whether the new assembly must not be built so.
    """

    kind: str
    said: Sentence
    source: Source | None = None
    stops: bool = False

    @property
    def text(self) -> str:
        """The doubt, in a sentence."""
        return str(self.said)

    @property
    def told(self) -> Sentence:
        """The doubt behind what it is about."""
        return Sentence.of("samples.told", kind=Name(self.kind, "kinds"), said=self.said)

    @property
    def rank(self) -> int:
        """Place in the order in which warnings are told: 0 of those that stop, then by kind."""
        if self.stops:
            return 0
        return 1 + (ORDER.index(self.kind) if self.kind in ORDER else len(ORDER))

    def __str__(self) -> str:
        return str(self.told) + (f" [{self.source}]" if self.source else "")


@dataclass
class Notes:
    """Gathers warnings and what is missing while a sample is gone through."""

    warnings: list[RemakeWarning] = field(default_factory=list)
    missing: list[str] = field(default_factory=list)

    def warn(self, kind: str, said: Sentence, source: Source | None = None, *, stops: bool = False) -> None:
        """Note a doubt."""
        self.warnings.append(RemakeWarning(kind, said, source, stops))

    def miss(self, what: str, text: object) -> None:
        """Note something without which there is no assembly."""
        self.missing.append(f"{what}: {text}")
