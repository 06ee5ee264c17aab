"""Units in which people read the kinds of quantity that findings hold, and how their numbers are written."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal, NamedTuple

from hosewright.errors import nearest

System = Literal["metric", "us"]


class Reading(NamedTuple):
    """How a kind is read: ``value = si * factor + offset``, rounded to so many decimals."""

    unit: str
    factor: float
    decimals: int
    offset: float = 0.0


READINGS = {
    "length": Reading("mm", 1e3, 1),
    "angle": Reading("deg", 180.0 / math.pi, 2),
    "twist": Reading("deg/m", 180.0 / math.pi, 2),
    "pressure": Reading("bar", 1e-5, 2),
    "temperature": Reading("°C", 1.0, 1, -273.15),
    "velocity": Reading("m/s", 1.0, 2),
    "torque": Reading("Nm", 1.0, 1),
    "flow": Reading("L/min", 6e4, 1),
    "part": Reading("%", 100.0, 1),
    "count": Reading("", 1.0, 0),
}

MOST = 1e6
"""Readings above this, such as the radius of a straight hose in mm, are shown as this."""


def reading(kind: str) -> Reading:
    """How a kind is read."""
    if kind not in READINGS:
        raise KeyError(f"findings hold no '{kind}'.{nearest(kind, READINGS)}")
    return READINGS[kind]


def read(value: float | None, kind: str) -> float | None:
    """A measure or limit in the unit of its kind, rounded."""
    if value is None or math.isnan(value):
        return None
    how = reading(kind)
    return rounded(value * how.factor + how.offset, how.decimals)


def read_difference(value: float | None, kind: str) -> float | None:
    """A margin in the unit of its kind, rounded towards zero so that no failing margin reads as none."""
    if value is None or math.isnan(value):
        return None
    how = reading(kind)
    difference = rounded(value * how.factor, how.decimals)
    if value < 0.0 and difference >= 0.0:
        return -(10.0**-how.decimals)
    return max(difference, 0.0) if value >= 0.0 else difference


def rounded(value: float, decimals: int) -> float:
    """A reading to so many decimals, never a negative zero."""
    number = round(max(-MOST, min(MOST, value)), decimals)
    return 0.0 if number == 0.0 else number


US = {
    "mm": Reading("in", 1.0 / 25.4, 2),
    "m": Reading("ft", 1.0 / 0.3048, 1),
    "bar": Reading("psi", 1e5 / 6894.757293168, 0),
    "°C": Reading("°F", 1.8, 0, 32.0),
    "Nm": Reading("lb-ft", 1.0 / 1.3558179483314, 0),
    "m/s": Reading("ft/s", 1.0 / 0.3048, 1),
    "L/min": Reading("gpm", 1.0 / 3.785411784, 1),
    "kg": Reading("lb", 1.0 / 0.45359237, 1),
}
"""US customary readings of the rounded metric ones; the factors are exact by definition of the units."""

SIGNS = {"deg": "°", "deg/m": "°/m", "Nm": "N m"}
"""Units as they are written on paper, where their name differs."""

UNSPACED = ("", "deg", "deg/m")
"""Units that stand right behind their number."""

SIXTEENTHS = 16
"""A rule in inches is read to a sixteenth."""


@dataclass(frozen=True)
class Figures:
    """Writes the numbers of the contract on paper: in a system of units, without separators of thousands.

    Attributes
    ----------
    decimal_mark
        Point or comma.
    unknown
        Word for a figure that is missing.
    """

    system: System = "metric"
    decimal_mark: str = "."
    unknown: str = "unknown"

    def __call__(self, value: float | None, unit: str, *, sign: bool = False) -> str:
        """A number with its unit, such as ``"842 mm"``.

        Parameters
        ----------
        value
            As the contract has it.
        unit
            Metric one of the contract: ``"mm"``, ``"deg"``, ``"bar"``, ``"°C"``, ``"Nm"``, ``"m"``, ``"m/s"``, ...
        sign
            Whether to write a plus, too.
        """
        if value is None:
            return self.unknown
        shown = self.unit(unit)
        blank = "" if unit in UNSPACED else "\N{NO-BREAK SPACE}"
        return f"{'+' if sign and value >= 0.0 else ''}{self.number(value, unit)}{blank}{shown}"

    def number(self, value: float, unit: str) -> str:
        """The number alone, converted and rounded."""
        how = self._us(unit)
        if how is not None:
            value = rounded(value * how.factor + how.offset, how.decimals)
        return f"{value:.4f}".rstrip("0").rstrip(".").replace(".", self.decimal_mark)

    def unit(self, unit: str) -> str:
        """The unit as it is written."""
        how = self._us(unit)
        return SIGNS.get(unit, unit) if how is None else how.unit

    def cut(self, value: float | None) -> str:
        """A length [mm] that a shop measures off: in inches to the next sixteenth, too."""
        if value is None or self.system == "metric":
            return self(value, "mm")
        whole, rest = divmod(round(value / 25.4 * SIXTEENTHS), SIXTEENTHS)
        part = Fraction(rest, SIXTEENTHS)
        fraction = f"{whole} {part}" if whole and part else str(part or whole)
        return f"{self(value, 'mm')} ({fraction})"

    def span(self, low: float | None, high: float | None, unit: str) -> str:
        """A range, such as ``"43–53 N m"``."""
        if low is None or high is None:
            return self.unknown
        return (
            f"{self.number(low, unit)}–{self(high, unit)}" if low >= 0.0 else f"{self(low, unit)} … {self(high, unit)}"
        )

    def _us(self, unit: str) -> Reading | None:
        return US.get(unit) if self.system == "us" else None
