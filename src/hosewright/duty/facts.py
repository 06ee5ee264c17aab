"""One measure with its limit. The rules make findings of them; no verdict is passed here."""

from __future__ import annotations

from dataclasses import dataclass

from hosewright.sources import Source


@dataclass(frozen=True)
class Fact:
    """A measure beside its limit, in SI units; ``None`` where the data is missing.

    Attributes
    ----------
    name
        What is measured, in trade words.
    place
        Where on the line: ``"hose"``, ``"end a"``, ``"end b"`` or ``"line"``.
    at_least
        Whether the measure has to reach the limit, or else to stay at or below it.
    source
        Of the limit; ``None`` where the limit is missing.
    """

    name: str
    place: str
    measure: float | None
    limit: float | None
    at_least: bool
    source: Source | None

    @property
    def margin(self) -> float | None:
        """Distance to the limit, plus is good; ``None`` where either figure is missing."""
        if self.measure is None or self.limit is None:
            return None
        return self.measure - self.limit if self.at_least else self.limit - self.measure
