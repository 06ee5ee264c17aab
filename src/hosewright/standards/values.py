"""What a standard's rule answers: a figure or a tolerance, with its source."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from hosewright import tables
from hosewright.errors import ArgumentError
from hosewright.sources import Source
from hosewright.tables import Row

PACKAGE = "hosewright.standards"


@dataclass(frozen=True)
class Value:
    """A figure with its source; SI units unless its function says otherwise."""

    value: float
    source: Source


@dataclass(frozen=True)
class Tolerance:
    """How much more and how much less than nominal is allowed, both as positive figures.

    Attributes
    ----------
    plus, minus
        [m] for lengths, [rad] for angles.
    """

    plus: float
    minus: float
    source: Source

    def allows(self, deviation: float) -> bool:
        """Whether measured less nominal lies within; on the limit counts as within."""
        slip = 1e-9  # rounding of the subtraction, far below any reading
        return -self.minus - slip <= deviation <= self.plus + slip


@cache
def rows(name: str) -> tuple[Row, ...]:
    """Rows of a packaged table."""
    return tables.packaged(PACKAGE, name)


def tolerance_of(name: str, length: float, bore: float | None = None, step: float = 0.0) -> Tolerance:
    """Tolerance of a length from a table, in percent rounded to a step where the table says so.

    Raises
    ------
    ArgumentError
        The table does not cover the length or the bore.
    """
    if not 0.0 < length < math.inf:
        raise ArgumentError(f"length {length * 1e3:.4g} mm: expected more than 0")
    row = _row(rows(name), length, bore)
    return Tolerance(_figure(row, "plus", length, step), _figure(row, "minus", length, step), row.source("plus_mm"))


def _row(candidates: Iterable[Row], length: float, bore: float | None) -> Row:
    for row in candidates:
        if _covers(row, "length", length) and (bore is None or _covers(row, "bore", bore)):
            return row
    greatest = max(row.number("bore_to_mm") or math.inf for row in candidates)
    assert bore is not None  # lengths have no end, so only a bore can lie outside
    raise ArgumentError(f"bore {bore * 1e3:.4g} mm is outside the table, which goes up to {greatest * 1e3:.4g} mm")


def _covers(row: Row, quantity: str, value: float) -> bool:
    over, to = row.required(f"{quantity}_over_mm"), row.number(f"{quantity}_to_mm")
    return over < value <= (math.inf if to is None else to + 1e-9)


def _figure(row: Row, side: str, length: float, step: float) -> float:
    absolute = row.number(f"{side}_mm")
    if absolute is not None:
        return absolute
    share = row.required(f"{side}_pct") * length
    return round(share / step) * step if step else share
