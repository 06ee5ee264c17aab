"""What a four-bolt flange in the hand is, from the diameter of its head or the spacing of its bolts."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from hosewright.catalog import Match, Size, families, sizes
from hosewright.errors import ArgumentError

HEAD_WINDOW = 0.8e-3
"""A head still reads within this of its nominal diameter; heads of both codes lie 1.6 mm apart or more. [m]"""

BOLT_WINDOW = 1.0e-3
"""Bolt centres still read within this; those of both codes lie 2.4 mm apart or more the long way. [m]"""

READING_ERROR = 0.25e-3
"""Typical. [m]"""

OTHER_RINGS = "the groove and the O-ring, as the bolts are the same"


@dataclass(frozen=True)
class Flange:
    """What was measured of a flange: the head of a hose end, or the bolts of a port; ``None`` where it was not.

    Attributes
    ----------
    head_diameter
        Over the head that the clamp halves hold. [m]
    bolts_long, bolts_short
        Centre to centre, either way. [m]
    """

    head_diameter: float | None = None
    bolts_long: float | None = None
    bolts_short: float | None = None

    @property
    def half(self) -> str:
        """A head belongs to a hose end, bolts alone to a port."""
        return "port" if self.head_diameter is None else "head"


def errors(flange: Flange, size: Size) -> tuple[float, ...]:
    """Measured less nominal of each reading; empty where the size has no such figures. [m]"""
    pairs = (
        (flange.head_diameter, size.head_diameter),
        (flange.bolts_long, size.bolt_spacing_long),
        (flange.bolts_short, size.bolt_spacing_short),
    )
    return tuple(read - nominal for read, nominal in pairs if read is not None and nominal is not None)


def flange_sizes() -> Iterator[Size]:
    """Every size of every flange."""
    for family in families().values():
        if family.seat == "flange":
            yield from sizes(family.name).values()


def matches(flange: Flange) -> tuple[Match, ...]:
    """Flanges whose figures all lie close to the readings, the likeliest first.

    Raises
    ------
    ArgumentError
        Nothing was measured, or something that no flange has.
    """
    readings = (flange.head_diameter, flange.bolts_long, flange.bolts_short)
    given = [value for value in readings if value is not None]
    if not given:
        raise ArgumentError("a flange needs the diameter of its head, such as 38.1 mm, or the spacing of its bolts")
    for value in given:
        if not 10e-3 < value < 0.3:
            raise ArgumentError(f"a flange of {value * 1e3:.4g} mm: expected between 10 and 300 mm")
    found = [match for size in flange_sizes() if (match := _match(flange, size)) is not None]
    return tuple(sorted(found, key=lambda match: match.distance))


def _match(flange: Flange, size: Size) -> Match | None:
    off = errors(flange, size)
    windows = [HEAD_WINDOW] if flange.head_diameter is not None else []
    windows += [BOLT_WINDOW] * (len(off) - len(windows))
    if any(abs(error) > window for error, window in zip(off, windows, strict=True)):
        return None
    distance = sum(map(abs, off)) / READING_ERROR
    return Match(size, flange.half, distance, off[0], tuple(_look_alikes(size)))


def _look_alikes(size: Size) -> Iterator[tuple[str, str]]:
    """The flange of the same bore in the other code, and a foreign one with the same bolts (practice, no source)."""
    if size.family == "flange 61":
        yield "Japanese four-bolt flange", OTHER_RINGS
    for other in flange_sizes():
        if other.size == size.size and other.family != size.family and other.head_diameter and size.head_diameter:
            heads = f"{size.head_diameter * 1e3:g} against {other.head_diameter * 1e3:g} mm"
            bolts = ""
            if size.bolt_spacing_long and other.bolt_spacing_long:
                bolts = f", bolts {size.bolt_spacing_long * 1e3:g} against {other.bolt_spacing_long * 1e3:g} mm"
            yield other.name, f"the head, {heads}{bolts}"
