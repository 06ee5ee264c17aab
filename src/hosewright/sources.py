"""Where a figure comes from and how far it can be trusted."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Confidence(StrEnum):
    """How far a figure can be trusted. A verdict never rests on a DOUBTFUL one."""

    STANDARD = "standard"
    DATA_SHEET = "data sheet"
    MEMORY = "memory"
    PRACTICE = "practice"
    OURS = "ours"
    DOUBTFUL = "doubtful"


@dataclass(frozen=True)
class Source:
    """Document and place of a figure."""

    document: str
    clause: str = ""
    confidence: Confidence = Confidence.STANDARD

    def __str__(self) -> str:
        place = f"{self.document}, {self.clause}" if self.clause else self.document
        return f"{place} ({self.confidence})"
