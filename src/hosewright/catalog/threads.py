"""Identification of a connection in the hand from caliper, pitch gauge and eye."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import combinations

from hosewright import tables
from hosewright.catalog.connections import PACKAGE, Family, Size, all_sizes, families
from hosewright.errors import ArgumentError, nearest

INCH = 0.0254
DIAMETER_WINDOW = 0.65e-3  # a worn or dirty thread still reads within this of its nominal diameter [m]
TAPER_WINDOW = 1.2e-3  # a taper reads less towards its end: 1/16 mm for each mm from the gauge plane [m]
PITCH_WINDOW = 0.05  # a pitch gauge separates 11 from 12 threads to the inch, not closer ones
RECESS_WINDOW = 0.5e-3  # the recess of a 24 degree cone is a tube's diameter and a little [m]
TYPICAL_CLEARANCE = {"male": -0.1e-3, "female": 0.1e-3}  # a real part against the nominal figure [m]
DIAMETER_SCALE = 0.25e-3
PITCH_SCALE = 0.02


@dataclass(frozen=True)
class Match:
    """A size that a measured thread may be.

    Attributes
    ----------
    size
        The connection.
    half
        ``"male"`` or ``"female"``.
    distance
        How far the readings lie from the size, in typical reading errors; the smaller the likelier.
    diameter_error
        Measured less nominal. [m]
    look_alikes
        Connections that pass for this one in the hand, each with what tells them apart.
    """

    size: Size
    half: str
    distance: float
    diameter_error: float
    look_alikes: tuple[tuple[str, str], ...]

    def __str__(self) -> str:
        return f"{self.size.name} {self.half} ({self.size.thread}, {self.diameter_error * 1e3:+.2f} mm)"


def identify(
    diameter: float,
    *,
    half: str = "male",
    pitch: float | None = None,
    threads_per_inch: float | None = None,
    seat: str | None = None,
    tapered: bool | None = None,
    recess: float | None = None,
) -> tuple[Match, ...]:
    """Connections that a measured thread may be, the likeliest first; empty where none comes close.

    Parameters
    ----------
    diameter
        Over the thread of a male, inside the thread of a female. [m]
    half
        ``"male"`` or ``"female"``.
    pitch, threads_per_inch
        Either, where it was gauged. [m], [1/inch]
    seat
        One of the families' seats, such as ``"74 cone"``, ``"flat"``, ``"24 cone"``, ``"60 cone"``, ``"30 flare"``.
    tapered
        Whether the thread is tapered.
    recess
        Diameter of the tube recess of a 24 degree cone. [m]

    Raises
    ------
    ArgumentError
        A reading is not one that a thread can have.
    """
    pitch = _checked(diameter, half, pitch, threads_per_inch, seat)
    matches = []
    for size in all_sizes():
        family = families()[size.family]
        if seat not in (None, family.seat) or tapered not in (None, family.tapered):
            continue
        match = _match(size, diameter, half, pitch, recess)
        if match is not None:
            matches.append(match)
    return tuple(sorted(matches, key=lambda match: match.distance))


def _checked(
    diameter: float, half: str, pitch: float | None, threads_per_inch: float | None, seat: str | None
) -> float | None:
    if not 3e-3 < diameter < 0.15:
        raise ArgumentError(f"thread diameter {diameter * 1e3:.4g} mm: expected between 3 and 150 mm")
    if half not in TYPICAL_CLEARANCE:
        raise ArgumentError(f"half '{half}': expected 'male' or 'female'")
    if threads_per_inch is not None:
        if pitch is not None:
            raise ArgumentError("give either the pitch or the threads per inch, not both")
        if not 4.0 <= threads_per_inch <= 80.0:
            raise ArgumentError(f"{threads_per_inch:.4g} threads per inch: expected between 4 and 80")
        pitch = INCH / threads_per_inch
    if pitch is not None and not 0.3e-3 <= pitch <= 6.4e-3:
        raise ArgumentError(f"pitch {pitch * 1e3:.4g} mm: expected between 0.3 and 6.4 mm")
    seats = {family.seat for family in families().values()}
    if seat is not None and seat not in seats:
        raise ArgumentError(f"unknown seat '{seat}'.{nearest(seat, sorted(seats))}")
    return pitch


def _match(size: Size, diameter: float, half: str, pitch: float | None, recess: float | None) -> Match | None:
    nominal = size.male_diameter if half == "male" else size.female_diameter
    if nominal is None or size.pitch is None:
        return None
    error = diameter - nominal
    lowest = -TAPER_WINDOW if families()[size.family].tapered else -DIAMETER_WINDOW
    if not lowest <= error <= DIAMETER_WINDOW:
        return None
    distance = abs(error - TYPICAL_CLEARANCE[half]) / DIAMETER_SCALE
    if pitch is not None:
        pitch_error = abs(pitch / size.pitch - 1.0)
        if pitch_error > PITCH_WINDOW:
            return None
        distance += pitch_error / PITCH_SCALE
    if recess is not None and (size.tube_diameter is None or abs(recess - size.tube_diameter) > RECESS_WINDOW):
        return None
    return Match(size, half, distance, error, look_alikes(size.name))


def look_alikes(name: str) -> tuple[tuple[str, str], ...]:
    """Connections that pass for a family and size in the hand, each with what tells them apart."""
    return _look_alikes().get(name, ())


@cache
def _look_alikes() -> dict[str, tuple[tuple[str, str], ...]]:
    found: dict[str, tuple[tuple[str, str], ...]] = {}
    for a, b, tell in (*_tabulated(), *_with_the_same_thread()):
        found[a] = (*found.get(a, ()), (b, tell))
        found[b] = (*found.get(b, ()), (a, tell))
    return found


def _tabulated() -> Iterator[tuple[str, str, str]]:
    for row in tables.packaged(PACKAGE, "look_alikes.csv"):
        yield row.text("a"), row.text("b"), row.text("tell_apart_by")


def _with_the_same_thread() -> Iterator[tuple[str, str, str]]:
    threaded = [size for size in all_sizes() if size.male_diameter is not None]
    for a, b in combinations(threaded, 2):
        if (a.male_diameter, a.pitch) == (b.male_diameter, b.pitch):
            yield a.name, b.name, _difference(families()[a.family], families()[b.family])


def _difference(a: Family, b: Family) -> str:
    if a.tapered != b.tapered:
        return "taper"
    mark = "recess diameter" if a.name == b.name else "seat"
    return f"the {mark}, as the thread is the same"
