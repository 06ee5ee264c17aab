"""What a connection in the hand is: its sizes by likelihood, what tells them apart, and what to measure next."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from hosewright import catalog
from hosewright.catalog import Connection, Family, Match, Size, families, sizes
from hosewright.catalog.connections import OPPOSITE
from hosewright.errors import ArgumentError
from hosewright.service import flanges
from hosewright.service.flanges import Flange
from hosewright.words import Figure, Name, Sentence, Value, one_after_another

INCH = 0.0254
UNDECIDED = 1.0
"""Matches whose distances differ by less cannot be told apart by the readings. [typical reading errors]"""

READINGS = {
    "pitch": "pitch", "threads_per_inch": "pitch", "seat": "seat", "tapered": "taper", "recess": "recess",
}  # fmt: skip
"""What can be read besides the diameter, and its name in the trade."""

SAME_PITCH = 0.01
"""Relative difference of pitches that no gauge shows."""

ABOVE_GAUGE_PLANE = 0.35e-3
"""A taper grows so much from its gauge plane to its last useful thread, 5 mm on at 1 in 16. [m]"""

MOST_NEAR, MOST_TRIED = 5, 25
CONTRADICTION = 1e-3
"""Of sizes that are near, a reading that speaks against one counts like so much of the diameter. [m]"""

SEATS = {
    "37 flare": "74 cone", "37 cone": "74 cone", "37": "74 cone", "74": "74 cone", "74 flare": "74 cone",
    "flat face": "flat", "o-ring": "flat", "o-ring face": "flat", "face": "flat", "face seal": "flat",
    "24": "24 cone", "60": "60 cone", "30": "30 flare", "30 cone": "30 flare", "thread": "none", "no seat": "none",
}  # fmt: skip
"""Seats as the trade calls them, to those of the families."""


@dataclass(frozen=True)
class Thread:
    """What caliper, pitch gauge and eye read of an end; ``None`` where it was not looked at.

    Attributes
    ----------
    diameter
        Over the thread of a male, inside the thread of a female. [m]
    half
        ``"male"`` or ``"female"``.
    pitch, threads_per_inch
        Either. [m], [1/inch]
    seat
        One of the families' seats; see :func:`read_seat`.
    tapered
        Whether the thread is tapered.
    recess
        Diameter of the tube recess of a 24 degree cone. [m]
    """

    diameter: float
    half: str
    pitch: float | None = None
    threads_per_inch: float | None = None
    seat: str | None = None
    tapered: bool | None = None
    recess: float | None = None


@dataclass(frozen=True)
class Near:
    """A size that is close to readings that match none.

    Attributes
    ----------
    diameter_error
        Measured less nominal. [m]
    contradicted
        Readings that speak against it.
    """

    size: Size
    half: str
    diameter_error: float
    contradicted: tuple[str, ...]


@dataclass(frozen=True)
class Identification:
    """What an end may be.

    Attributes
    ----------
    reading
        What was measured.
    matches
        The likeliest first; empty where none comes close.
    near
        Nearest sizes, where nothing matches.
    measure_next
        What to look at next, each as a sentence.
    """

    reading: Thread | Flange
    matches: tuple[Match, ...]
    near: tuple[Near, ...]
    measure_next: tuple[Sentence, ...]

    @property
    def best(self) -> Match | None:
        """The one that the readings single out; ``None`` where they leave several or none."""
        if not self.matches or self.undecided:
            return None
        return self.matches[0]

    @property
    def undecided(self) -> tuple[Match, ...]:
        """Matches that the readings cannot tell from the likeliest, with it; empty where it stands alone."""
        close = tuple(match for match in self.matches if _is_as_likely(match, self.matches[0]))
        return close if len(close) > 1 else ()


def _is_as_likely(match: Match, best: Match) -> bool:
    """A taper's diameter depends on where it is measured, so only its pitch can tell it from another thread."""
    if match.distance < best.distance + UNDECIDED:
        return True
    pitches = match.size.pitch, best.size.pitch
    if not families()[match.size.family].tapered or pitches[0] is None or pitches[1] is None:
        return False
    if match.diameter_error > ABOVE_GAUGE_PLANE:
        return False
    return abs(pitches[0] / pitches[1] - 1.0) < SAME_PITCH


def read_seat(text: str) -> str:
    """A seat as the families name it, from the words of the trade: ``"24° cone"``, ``"37 flare"``, ``"flat face"``.

    Raises
    ------
    ArgumentError
        No such seat.
    """
    words = " ".join(re.sub(r"°|\bdeg(ree)?s?\b|\bseat\b", " ", text.casefold()).split())
    known = {family.seat for family in families().values() if family.seat != "flange"}
    seat = SEATS.get(words, words)
    if seat not in known:
        raise ArgumentError(
            f"no seat '{text.strip()}' is known: expected one of {', '.join(sorted(known))} (none where the thread "
            "seals); a 37 degree flare is a 74 cone"
        )
    return seat


def connection(match: Match | Near) -> Connection:
    """The half in the hand."""
    return Connection(match.size.family, match.size.size, match.half)


def mate(match: Match | Near) -> Connection:
    """What mates with it."""
    return Connection(match.size.family, match.size.size, OPPOSITE[match.half])


def identify(reading: Thread | Flange) -> Identification:
    """What an end may be, what its look-alikes are and what to measure next.

    Raises
    ------
    ArgumentError
        A reading is not one that an end can have.
    """
    if isinstance(reading, Flange):
        return _identify_flange(reading)
    matches = _matches(reading)
    if not matches:
        return Identification(reading, (), _near(reading), tuple(_measure_again(reading)))
    return Identification(reading, matches, (), tuple(_measure_next(reading, matches)))


def _identify_flange(flange: Flange) -> Identification:
    matches = flanges.matches(flange)
    if matches:
        return Identification(flange, matches, (), ())
    sizes = sorted(flanges.flange_sizes(), key=lambda size: max(map(abs, flanges.errors(flange, size))))
    near = tuple(Near(size, flange.half, flanges.errors(flange, size)[0], ()) for size in sizes[:MOST_NEAR])
    again = Sentence.of("samples.measure_flange_again")
    return Identification(flange, (), near, (again,))


def _matches(thread: Thread) -> tuple[Match, ...]:
    readings = {name: value for name, value in vars(thread).items() if name != "diameter"}
    return catalog.identify(thread.diameter, **readings)


@dataclass(frozen=True)
class _Property:
    """Something that can be measured or seen, and how."""

    name: str
    read: Callable[[Size, Family], Value | None]
    how: str
    known: Callable[[Thread], bool]


def _pitch(size: Size, family: Family) -> Value | None:
    if size.pitch is None:
        return None
    inches = INCH / size.pitch
    whole = round(2.0 * inches) / 2.0
    inch = family.thread_angle is not None and abs(inches - whole) < 0.02
    if not inch:
        return Figure.length(size.pitch, 3)
    number = Figure.number(whole)
    return Sentence.of("samples.threads_per_inch", number=number, pitch=Figure.length(size.pitch, 3))


def _recess(size: Size, family: Family) -> Value | None:
    del family
    return None if size.tube_diameter is None else Figure.length(size.tube_diameter, 2)


def _taper_angle(size: Size, family: Family) -> Value | None:
    del size
    angle = family.thread_angle if family.tapered else None  # parallel threads are told apart by their seats
    return None if angle is None else Figure.angle(angle, 0)


def _taper(size: Size, family: Family) -> Value | None:
    del size
    return Name("tapered" if family.tapered else "parallel", "tells")


def _seat(size: Size, family: Family) -> Value | None:
    del size
    return None if family.tapered else Name(family.seat, "tells")


PROPERTIES = (
    _Property(
        "pitch", _pitch, "samples.measure_pitch",
        lambda thread: thread.pitch is not None or thread.threads_per_inch is not None,
    ),
    _Property(
        "taper", _taper, "samples.measure_taper",
        lambda thread: thread.tapered is not None or thread.seat is not None,
    ),
    _Property(
        "seat", _seat, "samples.measure_seat",
        lambda thread: thread.seat is not None,
    ),
    _Property(
        "recess", _recess, "samples.measure_recess",
        lambda thread: thread.recess is not None,
    ),
    _Property(
        "flank angle", _taper_angle, "samples.measure_flanks", lambda _: False,
    ),
)  # fmt: skip


def _measure_next(thread: Thread, matches: tuple[Match, ...]) -> Iterator[Sentence]:
    """What would part the matches that are left, one reading after the other."""
    for one in PROPERTIES:
        values = _grouped(one, matches)
        if len(values) > 1 and not one.known(thread):
            told = one_after_another(
                Sentence.of("samples.reads", value=value, sizes=names) for value, names in values.items()
            )
            yield Sentence.of(one.how, told=told)


def _grouped(one: _Property, matches: tuple[Match, ...]) -> dict[Value, tuple[Name, ...]]:
    values: dict[Value, tuple[Name, ...]] = {}
    for match in matches:
        value = one.read(match.size, families()[match.size.family])
        if value is not None:
            values[value] = (*values.get(value, ()), Name(match.size.name, "connections"))
    return values


def _near(thread: Thread) -> tuple[Near, ...]:
    nominal = [(size, size.male_diameter if thread.half == "male" else size.female_diameter) for size in _all_sizes()]
    errors = [(size, thread.diameter - diameter) for size, diameter in nominal if diameter is not None]
    errors.sort(key=lambda pair: abs(pair[1]))
    found = [Near(size, thread.half, error, _contradicted(thread, size, error)) for size, error in errors[:MOST_TRIED]]
    found.sort(key=lambda near: abs(near.diameter_error) + CONTRADICTION * len(near.contradicted))
    return tuple(found[:MOST_NEAR])


def _all_sizes() -> Iterator[Size]:
    for family in families():
        yield from sizes(family).values()


def _contradicted(thread: Thread, size: Size, error: float) -> tuple[str, ...]:
    """Readings, each alone with the size's own diameter, that do not lead to the size."""
    single = Thread(thread.diameter - error, thread.half)
    given = [name for name in READINGS if getattr(thread, name) is not None]
    against = [name for name in given if size.name not in _names(_with(single, name, getattr(thread, name)))]
    return tuple(READINGS[name] for name in against)


def _with(thread: Thread, reading: str, value: Any) -> Thread:
    return replace(thread, **{reading: value})


def _names(thread: Thread) -> list[str]:
    return [match.size.name for match in _matches(thread)]


def _measure_again(thread: Thread) -> Iterator[Sentence]:
    """Which single reading, left out, would leave matches; else the diameter itself."""
    given = [name for name in READINGS if getattr(thread, name) is not None]
    freed = {name: _names(_with(thread, name, None)) for name in given}
    for name, names in freed.items():
        if names:
            reading = Name(READINGS[name], "tells")
            yield Sentence.of("samples.look_again", reading=reading, sizes=_said(names))
    if not any(freed.values()):
        yield Sentence.of("samples.measure_diameter_again")
    other = replace(thread, half=OPPOSITE[thread.half])
    if names := _names(other):
        yield Sentence.of("samples.other_half", half=Name(other.half, "connections"), sizes=_said(names))


def _said(names: Iterable[str]) -> tuple[Name, ...]:
    return tuple(Name(name, "connections") for name in names)
