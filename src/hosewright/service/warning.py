"""What a re-making warns of."""

from __future__ import annotations

from dataclasses import dataclass

from hosewright.sources import Source


@dataclass(frozen=True)
class RemakeWarning:
    """A doubt about a sample or about making it again.

    Attributes
    ----------
    kind
        What it is about: ``"length"``, ``"connection"``, ``"age"`` and so on.
    text
        One sentence.
    source
        ``None`` where it only compares what was taken down.
    """

    kind: str
    text: str
    source: Source | None = None

    def __str__(self) -> str:
        return f"{self.kind}: {self.text}" + (f" [{self.source}]" if self.source else "")
