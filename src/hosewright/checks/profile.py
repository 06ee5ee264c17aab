"""The figures that are practice or ours, each with its source; a shop may tighten them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from hosewright.errors import ArgumentError, nearest
from hosewright.sources import Confidence, Source
from hosewright.tables import packaged


@dataclass(frozen=True)
class Figure:
    """One figure of the profile, in SI units (or in outside diameters, where its unit says OD)."""

    value: float
    unit: str
    source: Source


@dataclass(frozen=True)
class Profile:
    """All figures by name."""

    figures: Mapping[str, Figure]

    @staticmethod
    def standard() -> Profile:
        """The figures that come with the program."""
        return _standard()

    def __getitem__(self, name: str) -> float:
        return self.figures[name].value

    def source(self, name: str) -> Source:
        """Source of a figure."""
        return self.figures[name].source

    def with_own(self, own: Mapping[str, float], document: str) -> Profile:
        """The profile with a shop's own values, in the units of the table.

        Raises
        ------
        ArgumentError
            A name is unknown or a value is not a positive number.
        """
        figures = dict(self.figures)
        for name, value in own.items():
            if name not in figures:
                raise ArgumentError(f"the profile has no '{name}'.{nearest(name, figures)}")
            if not 0.0 < value < float("inf"):
                raise ArgumentError(f"profile '{name}' is {value!r}; it must be a positive number")
            figures[name] = Figure(value, figures[name].unit, Source(document, name, Confidence.PRACTICE))
        return Profile(figures)


@cache
def _standard() -> Profile:
    rows = packaged("hosewright.checks", "profile.csv")
    return Profile(
        {row.text("name"): Figure(row.required("value"), row.text("unit"), row.source("value")) for row in rows}
    )
