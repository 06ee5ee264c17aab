"""Connections: what a port or a hose end mates as, with thread, rating, nut and torque of its standard."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache

from hosewright import tables
from hosewright.errors import ArgumentError
from hosewright.sources import Source
from hosewright.tables import Row
from hosewright.words import Name, Sentence, nearest_names

PACKAGE = "hosewright.catalog"
OPPOSITE = {"male": "female", "female": "male", "port": "head", "head": "port"}


@dataclass(frozen=True)
class Family:
    """Connections of one standard that mate with each other.

    Attributes
    ----------
    aliases
        Other names in the trade.
    thread_angle
        Between the flanks; ``None`` for a flange. [rad]
    seat
        What seals, as the eye or a gauge tells it: ``"74 cone"``, ``"flat"`` and so on.
    tapered
        Whether the thread is tapered and seals.
    """

    name: str
    table: str
    standard: str
    aliases: tuple[str, ...]
    thread_angle: float | None
    seat: str
    seal: str
    tapered: bool

    @property
    def halves(self) -> tuple[str, str]:
        """Names of the two halves, the machine's first."""
        return ("port", "head") if self.seat == "flange" else ("male", "female")


@dataclass(frozen=True)
class Size:
    """One size of a family. SI units; ``None`` where the data is missing or does not apply.

    Attributes
    ----------
    male_diameter
        Nominal major diameter of the male thread. [m]
    female_diameter
        Basic minor diameter of the female thread. [m]
    pitch
        [m]
    tube_diameter
        Recess of a 24 degree cone, which tells the series apart. [m]
    nut_width
        Across flats. [m]
    torque_low, torque_high
        Tightening range for steel, lubricated; of each screw for a flange. [N m]
    sources
        Source of each figure by attribute name.
    """

    family: str
    size: str
    dash_size: int | None = None
    thread: str | None = None
    screw: str | None = None
    male_diameter: float | None = None
    female_diameter: float | None = None
    pitch: float | None = None
    tube_diameter: float | None = None
    max_working_pressure: float | None = None
    nut_width: float | None = None
    torque_low: float | None = None
    torque_high: float | None = None
    bolt_spacing_long: float | None = None
    bolt_spacing_short: float | None = None
    head_diameter: float | None = None
    head_thickness: float | None = None
    sources: Mapping[str, Source] = field(default_factory=dict)

    @property
    def name(self) -> str:
        """Family and size: ``"face seal -8"``."""
        return f"{self.family} {self.size}"


COLUMNS = {
    "male_diameter": "male_diameter_mm",
    "female_diameter": "female_diameter_mm",
    "pitch": "pitch_mm",
    "tube_diameter": "tube_diameter_mm",
    "max_working_pressure": "max_working_pressure_bar",
    "nut_width": "nut_width_mm",
    "torque_low": "torque_low_Nm",
    "torque_high": "torque_high_Nm",
    "bolt_spacing_long": "bolt_spacing_long_mm",
    "bolt_spacing_short": "bolt_spacing_short_mm",
    "head_diameter": "head_diameter_mm",
    "head_thickness": "head_thickness_mm",
}


@cache
def families() -> Mapping[str, Family]:
    """All families by name."""
    return {row.text("family"): _family(row) for row in tables.packaged(PACKAGE, "families.csv")}


def _family(row: Row) -> Family:
    return Family(
        row.text("family"),
        row.text("table"),
        row.text("document"),
        tuple(row.text("aliases").split("|")),
        row.number("thread_angle_deg"),
        row.text("seat"),
        row.text("seal"),
        row.text("tapered") == "yes",
    )


@cache
def sizes(family: str) -> Mapping[str, Size]:
    """Sizes of a family by name."""
    rows = tables.packaged(PACKAGE, families()[family].table)
    return {row.text("size"): _size(family, row) for row in rows}


def _size(family: str, row: Row) -> Size:
    present = {attribute: column for attribute, column in COLUMNS.items() if row.has(column)}
    return Size(
        family,
        row.text("size"),
        row.dash_size() if row.has("dash_size") else None,
        row.cells.get("thread") or None,
        row.cells.get("screw") or None,
        **{attribute: row.number(column) for attribute, column in present.items()},
        sources={attribute: row.source(column) for attribute, column in present.items()},
    )


@dataclass(frozen=True)
class Connection:
    """Half of a connection in one family and size, such as ``face seal -8 male`` or ``flange 61 -12 port``."""

    family: str
    size: str
    half: str

    @classmethod
    @cache
    def parse(cls, text: str) -> Connection:
        """The connection that a text names, in any case and spelling of the trade.

        Raises
        ------
        ArgumentError
            No such family, size or half.
        """
        words = " ".join(text.replace("°", " ").split())
        family, rest = _split_family(words, text)
        size, _, half = rest.rpartition(" ")
        halves = families()[family].halves
        if half.casefold() not in halves:
            whole = f"{family} {_spelling(family, rest)}"
            raise ArgumentError(
                Sentence.of("findings.no_half", given=text, whole=whole, first=halves[0], second=halves[1])
            )
        return cls(family, _find_size(family, size, text), half.casefold())

    @property
    def data(self) -> Size:
        """Thread, rating, nut and torque."""
        return sizes(self.family)[self.size]

    @property
    def said(self) -> Name:
        """Its name, as a language has words for it."""
        return Name(str(self), "connections")

    def why_not(self, other: Connection) -> Sentence | None:
        """Why this does not mate with another connection; ``None`` where it does."""
        if self.family != other.family:
            return self._other_family(other)
        if self.size != other.size:
            return Sentence.of("findings.other_size", a=self.said, b=other.said)
        if OPPOSITE[self.half] != other.half:
            half = Name(self.half, "connections")
            return Sentence.of("findings.same_half", a=self.said, b=other.said, half=half)
        return None

    def _other_family(self, other: Connection) -> Sentence:
        thread = self.data.thread
        if thread is not None and thread == other.data.thread:
            return Sentence.of("findings.other_family_same_thread", a=self.said, b=other.said, thread=thread)
        return Sentence.of("findings.other_family", a=self.said, b=other.said)

    def __str__(self) -> str:
        return f"{self.family} {self.size} {self.half}"


@cache
def mates(a: Connection | str, b: Connection | str) -> bool:
    """Whether two connections mate: the two halves of one family and size."""
    return why_not(a, b) is None


def why_not(a: Connection | str, b: Connection | str) -> Sentence | None:
    """Why two connections do not mate, as a sentence; ``None`` where they do."""
    return _connection(a).why_not(_connection(b))


def _connection(given: Connection | str) -> Connection:
    return given if isinstance(given, Connection) else Connection.parse(given)


def _split_family(words: str, text: str) -> tuple[str, str]:
    for name, family in _names():
        if words.casefold().startswith(name.casefold() + " "):
            return family, words[len(name) :].strip()
    near = nearest_names(_first_words(words), families())
    raise ArgumentError(Sentence.of("findings.unknown_connection", given=text, near=near))


@cache
def _names() -> tuple[tuple[str, str], ...]:
    names = [(name, family.name) for family in families().values() for name in (family.name, *family.aliases)]
    return tuple(sorted(names, key=lambda pair: -len(pair[0])))  # "BSP taper" before "BSP"


def _first_words(words: str) -> str:
    return re.sub(r"\s+(\S*\d\S*)?\s*(male|female|port|head)?$", "", words, flags=re.IGNORECASE)


def _spelling(family: str, size: str) -> str:
    """A size as the tables write it, where it is one."""
    key = _key(size)
    return next((known for known in sizes(family) if _key(known) == key), size)


def _key(size: str) -> str:
    return re.sub(r"^-?0*(?=\d+$)", "-", size.replace(" ", "").casefold())


def _find_size(family: str, size: str, text: str) -> str:
    spelling = _spelling(family, size)
    if spelling not in sizes(family):
        near = nearest_names(size, sizes(family))
        raise ArgumentError(Sentence.of("findings.unknown_size", given=text, family=family, size=size, near=near))
    return spelling


def all_sizes() -> Iterator[Size]:
    """Every size of every family."""
    for name in families():
        yield from sizes(name).values()
