"""What a re-making warns of, and what it misses."""

from __future__ import annotations

from dataclasses import dataclass, field

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
    stops
        Whether the new assembly must not be built so.
    """

    kind: str
    text: str
    source: Source | None = None
    stops: bool = False

    def __str__(self) -> str:
        return f"{self.kind}: {self.text}" + (f" [{self.source}]" if self.source else "")


@dataclass
class Notes:
    """Gathers warnings and what is missing while a sample is gone through."""

    warnings: list[RemakeWarning] = field(default_factory=list)
    missing: list[str] = field(default_factory=list)

    def warn(self, kind: str, text: str, source: Source | None = None) -> None:
        """Note a doubt."""
        self.warnings.append(RemakeWarning(kind, text, source))

    def miss(self, what: str, text: object) -> None:
        """Note something without which there is no assembly."""
        self.missing.append(f"{what}: {text}")
