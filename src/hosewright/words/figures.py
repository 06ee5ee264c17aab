"""Units in which people read the kinds of quantity that findings hold, and how their numbers are written."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
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

UNSPACED = ("", "°", "°/m")
"""Units, as they are written, that stand right behind their number."""
NO_BREAK = "\N{NO-BREAK SPACE}"

BESIDE = ("Nm",)
"""Units of ranges behind whose US figures the metric ones stand, as they decide."""

SIXTEENTHS = 16
"""A rule in inches is read to a sixteenth."""
MM_PER_INCH = 25.4

MOST_DECIMALS = 4
"""Of any number on paper."""
FINE_INCHES = 3
"""Decimals of an inch in a dimension that decides a crimp."""
SAME = 0.05
"""The contract gives dimensions to a tenth; so much may lie between one and what it was read from. [mm]"""
BINARY = 1e-9
"""A figure that is a whole number but for this is one: what is left are the digits of binary fractions."""


@dataclass(frozen=True)
class Figures:
    """Writes the numbers of the contract on paper: in a system of units, without separators of thousands.

    Metric figures are written as the contract has them. US customary ones are converted and rounded, and how they are
    rounded depends on what they are for:

    ==============  ==================================  ===========================================
    ``figures()``   a measure; to the nearest           ``33.15 in``, ``3989 psi``
    ``at_most``     a greatest value; down              ``0.48 in (12.3 mm)``, but ``3989 psi (275 bar)``
    ``at_least``    a least value; up                   ``7.09 in (180 mm)``
    ``span``        a range to keep in; inwards         ``32–39 lb-ft (43–53 N m)``
    ``demand``      a range that will come; outwards    ``14–176 °F``
    ``cut``         a length on a rule; a sixteenth     ``949 mm (≈ 37 3/8 in)``; mm are binding
    ``window``      lengths to keep in; inwards         ``1036–1052 mm (40 13/16–41 3/8 in)``
    ``crimp``       what decides a crimp                ``31 mm (1.22 in)``; mm are binding
    ``spanner``     width across flats, either system   ``27 mm (1.06 in)``, ``15/16 in (23.8 mm)``
    ==============  ==================================  ===========================================

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
        return f"{'+' if sign and value >= 0.0 else ''}{_joined(self.number(value, unit), self.unit(unit))}"

    @property
    def metric(self) -> Figures:
        """The same in metric units."""
        return replace(self, system="metric")

    def number(self, value: float, unit: str) -> str:
        """The number alone, converted and rounded to the nearest."""
        how = self._us(unit)
        return self._plain(value if how is None else rounded(_converted(value, how), how.decimals))

    def unit(self, unit: str) -> str:
        """The unit as it is written."""
        how = self._us(unit)
        return SIGNS.get(unit, unit) if how is None else how.unit

    def at_most(self, value: float | None, unit: str) -> str:
        """A greatest value: rounded down in US units, with the metric one, which is binding, behind it.

        Pressures are rounded to the nearest psi: a rating and a load of the same bar must not read as an overload.
        """
        return self._to_the_safe_side(value, unit, math.floor)

    def at_least(self, value: float | None, unit: str) -> str:
        """A least value, or a load that has to be borne: rounded up in US units, with the metric one behind it."""
        return self._to_the_safe_side(value, unit, math.ceil)

    def span(self, low: float | None, high: float | None, unit: str) -> str:
        """A range that must be kept, such as ``"43–53 N m"``: in US units never a wider one.

        Of a torque the metric range stands behind it. Where the range is so narrow that no figure of the usual
        decimals lies in it, it gets more; a single figure is written to the nearest.
        """
        if low is None or high is None:
            return self.unknown
        how = self._us(unit)
        if how is None:
            return self._range(low, high, unit)
        shown = self._range(*_inside(_converted(low, how), _converted(high, how), how.decimals), how.unit)
        return f"{shown} ({self.metric.span(low, high, unit)})" if unit in BESIDE else shown

    def demand(self, low: float | None, high: float | None, unit: str) -> str:
        """A range that will come, such as the temperatures of the oil: in US units never a narrower one."""
        if low is None or high is None:
            return self.unknown
        how = self._us(unit)
        if how is None:
            return self._range(low, high, unit)
        low, high = (_converted(value, how) for value in (low, high))
        return self._range(_stepped(low, how.decimals, math.floor), _stepped(high, how.decimals, math.ceil), how.unit)

    def cut(self, value: float | None) -> str:
        """A length [mm] that a shop measures off: mm, which are binding, and in US units a sixteenth of an inch.

        The sixteenth is at most 0.8 mm off, a quarter of the least tolerance of DIN 20066, and bears a sign where it
        is off at all.
        """
        if value is None or self.system == "metric":
            return self.metric(value, "mm")
        return f"{self.metric(value, 'mm')} ({self.inches(value)})"

    def inches(self, value: float) -> str:
        """The sixteenths of :meth:`cut` alone."""
        return f"{_about(value)}{_joined(_sixteenths(_nearest(value)), 'in')}"

    def window(self, low: float | None, high: float | None) -> str:
        """Least and greatest length [mm] of what was made; the sixteenths lie inside."""
        if low is None or high is None:
            return self.unknown
        shown = self.metric.span(low, high, "mm")
        per_mm = SIXTEENTHS / MM_PER_INCH
        least, most = int(_stepped(low * per_mm, 0, math.ceil)), int(_stepped(high * per_mm, 0, math.floor))
        if self.system == "metric" or least > most:
            return shown
        return f"{shown} ({_sixteenths(least)}–{_joined(_sixteenths(most), 'in')})"

    def crimp(self, value: float | None) -> str:
        """A dimension [mm] that decides a crimp, such as an insertion: mm, which are binding, and decimal inches."""
        return self._with_inches(value, FINE_INCHES)

    def spanner(self, width: float | None) -> str:
        """A width across flats [mm]: as the spanner for it is named, in whole mm or in sixteenths of an inch.

        A width that is both within a tenth, such as 27 mm and 1 1/16 in, is named in mm: either spanner fits.
        """
        if width is None:
            return self.unknown
        inches = width / MM_PER_INCH
        if width == round(width) or abs(_nearest(width) / SIXTEENTHS - inches) * MM_PER_INCH > SAME + BINARY:
            return self._with_inches(width, US["mm"].decimals)
        return f"{_joined(_sixteenths(_nearest(width)), 'in')} ({self.metric(width, 'mm')})"

    def _with_inches(self, value: float | None, decimals: int) -> str:
        shown = self.metric(value, "mm")
        if value is None or self.system == "metric":
            return shown
        return f"{shown} ({_joined(self._plain(round(value / MM_PER_INCH, decimals)), 'in')})"

    def _to_the_safe_side(self, value: float | None, unit: str, side: Callable[[float], int]) -> str:
        how = self._us(unit)
        if value is None or how is None:
            return self(value, unit)
        converted = _converted(value, how)
        shown = rounded(converted, how.decimals) if unit == "bar" else _stepped(converted, how.decimals, side)
        return f"{_joined(self._plain(shown), how.unit)} ({self.metric(value, unit)})"

    def _range(self, low: float, high: float, unit: str) -> str:
        shown = SIGNS.get(unit, unit)
        last = _joined(self._plain(high), shown)
        if low == high:
            return last
        return f"{self._plain(low)}–{last}" if low >= 0.0 else f"{_joined(self._plain(low), shown)} … {last}"

    def _plain(self, value: float) -> str:
        return f"{value:.{MOST_DECIMALS}f}".rstrip("0").rstrip(".").replace(".", self.decimal_mark)

    def _us(self, unit: str) -> Reading | None:
        return US.get(unit) if self.system == "us" else None


def whole_mm(value: float) -> float:
    """A length [mm] as a bench measures it off: in whole mm, half a mm as the longer one.

    Half a mm is an eighth or less of what the length tolerances of DIN 20066 allow, and they allow more above.
    """
    return float(math.floor(value + 0.5 + BINARY))


def _joined(number: str, unit: str) -> str:
    return f"{number}{'' if unit in UNSPACED else NO_BREAK}{unit}"


def _converted(value: float, how: Reading) -> float:
    return value * how.factor + how.offset


def _stepped(value: float, decimals: int, side: Callable[[float], int]) -> float:
    """Rounded to one side, with so many decimals; tens and more where they are negative."""
    step = 10.0**decimals
    safe = value * step
    return rounded((round(safe) if math.isclose(safe, round(safe), rel_tol=BINARY) else side(safe)) / step, decimals)


def _inside(low: float, high: float, decimals: int) -> tuple[float, float]:
    for more in range(3):
        least, most = _stepped(low, decimals + more, math.ceil), _stepped(high, decimals + more, math.floor)
        if least <= most:
            return least, most
    return rounded(low, decimals), rounded(high, decimals)


def _nearest(value: float) -> int:
    """The nearest number of sixteenths to a length [mm]."""
    return round(value / MM_PER_INCH * SIXTEENTHS)


def _about(value: float) -> str:
    return "" if abs(_nearest(value) * MM_PER_INCH / SIXTEENTHS - value) <= SAME + BINARY else f"≈{NO_BREAK}"


def _sixteenths(count: int) -> str:
    """Inches on a rule, such as ``"37 3/8"``."""
    whole, rest = divmod(count, SIXTEENTHS)
    part = Fraction(rest, SIXTEENTHS)
    return f"{whole}{NO_BREAK}{part}" if whole and part else str(part or whole)
