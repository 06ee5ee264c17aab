"""Open-end spanners: room that a head takes."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from hosewright import tables
from hosewright.catalog.connections import PACKAGE
from hosewright.sources import Source


@dataclass(frozen=True)
class Spanner:
    """An open-end spanner.

    Attributes
    ----------
    width
        Across flats of the hex that it fits. [m]
    head_width, head_thickness
        [m]
    """

    width: float
    head_width: float
    head_thickness: float
    source: Source


@cache
def spanners() -> tuple[Spanner, ...]:
    """Typical forged heads, the smallest first."""
    return tuple(
        Spanner(
            row.required("width_mm"),
            row.required("head_width_mm"),
            row.required("head_thickness_mm"),
            row.source("head_width_mm"),
        )
        for row in tables.packaged(PACKAGE, "spanners.csv")
    )


def spanner_for(width: float) -> Spanner | None:
    """The smallest spanner whose room is known and that is not narrower than a hex; ``None`` above the largest.

    Parameters
    ----------
    width
        Across flats. An inch hex takes the next metric head as the room that its spanner needs. [m]
    """
    return next((one for one in spanners() if one.width >= width - 0.5e-3), None)
