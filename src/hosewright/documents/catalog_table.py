"""What the catalog holds, as a table on the terminal: one line a hose, end, adapter, connection or fluid."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from hosewright.assembly import Adapter, EndForm, Hose
from hosewright.catalog import Catalog, FluidData, Size, families, sizes
from hosewright.catalog.fluids import classes, grades
from hosewright.errors import ArgumentError, nearest
from hosewright.sources import Source
from hosewright.words import Figures, read

Cells = tuple[str, ...]

UNKNOWN = "?"
"""A figure that the catalog does not hold."""

GAP = "  "
LONGEST_HINT = 12


@dataclass(frozen=True)
class Kind:
    """A kind of thing in the catalog.

    Attributes
    ----------
    heads
        Of the columns, with the metric unit of their figures or nothing.
    rows
        Lists all of the catalog as cells, before a search.
    """

    heads: Sequence[tuple[str, str]]
    rows: Callable[[Catalog, Figures], Iterator[Cells]]


@dataclass(frozen=True)
class Table:
    """Lines of a table.

    Attributes
    ----------
    rows
        Those that have all words that were asked for.
    known
        Words of all rows, to tell what may have been meant.
    """

    heads: Cells
    rows: tuple[Cells, ...]
    known: tuple[str, ...]

    def __str__(self) -> str:
        """Columns side by side, the last one as long as it is."""
        lines = (self.heads, *self.rows)
        widths = [max(len(line[column]) for line in lines) for column in range(len(self.heads))]
        padded = (GAP.join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)) for line in lines)
        return "\n".join(line.rstrip() for line in padded)


def catalog_table(kind: str, words: Sequence[str], catalog: Catalog, figures: Figures) -> Table:
    """Everything of a kind that has all of some words.

    Parameters
    ----------
    kind
        ``"hoses"``, ``"ends"``, ``"adapters"``, ``"connections"`` or ``"fluids"``.
    words
        Beginnings of words in a line; what ends in a digit is a whole word, so that ``-1`` is not ``-16``. The blank
        before a size may be left out.
    catalog
        With a shop's own data, where it has some.
    figures
        Writes the numbers.

    Raises
    ------
    ArgumentError
        There is no such kind.
    """
    if kind.casefold() not in KINDS:
        raise ArgumentError(f"the catalog has no '{kind}'.{nearest(kind.casefold(), KINDS)}")
    one = KINDS[kind.casefold()]
    heads = tuple(f"{head} [{figures.unit(unit)}]" if unit else head for head, unit in one.heads)
    rows = tuple(one.rows(catalog, figures))
    wanted = " ".join(words).casefold().split()
    found = tuple(row for row in rows if all(_has(row, word) for word in wanted))
    return Table(heads, found, tuple(dict.fromkeys(word for row in rows for word in _words(row))))


def missed(table: Table, words: Sequence[str]) -> str:
    """End of a message that nothing was found: the words that stand in no line, and what may be meant."""
    for word in " ".join(words).casefold().split():
        if not any(_fits(known, word) for known in table.known):
            near = nearest(word, [known for known in table.known if len(known) <= LONGEST_HINT])
            return f"No line has '{word}'.{near if 'Did you mean' in near else ''}"
    return "No line has all of these words."


def _words(row: Cells) -> list[str]:
    return [word for cell in row for word in _words_of(cell)]


def _words_of(cell: str) -> list[str]:
    """Words of a cell, and those that people write as one: ``2sc``, ``-8`` and ``2sc-8``."""
    words = cell.casefold().replace(",", " ").replace("(", " ").replace(")", " ").split()
    sizes = (f"{one}{other}" for one, other in pairwise(words) if re.search(r"\d", one + other))
    return [*words, *sizes]


def _has(row: Cells, word: str) -> bool:
    return any(_fits(known, word) for known in _words(row))


def _fits(known: str, word: str) -> bool:
    return known == word or (not word[-1].isdigit() and known.startswith(word))


def _figure(value: float | None, kind: str, unit: str, figures: Figures) -> str:
    shown = read(value, kind)
    return UNKNOWN if shown is None else figures.number(shown, unit)


def _length(value: float | None, figures: Figures) -> str:
    return _figure(value, "length", "mm", figures)


def _pressure(value: float | None, figures: Figures) -> str:
    return _figure(value, "pressure", "bar", figures)


def _span(low: float | None, high: float | None, figures: Figures) -> str:
    first, last = (_figure(value, "temperature", "°C", figures) for value in (low, high))
    return UNKNOWN if first == last == UNKNOWN else f"{first} to {last}"


def _source(sources: Mapping[str, Source], *attributes: str) -> str:
    """The sources of the figures in a line, each once, with how far they can be trusted."""
    found = dict.fromkeys(f"{one.document} ({one.confidence})" for name in attributes if (one := sources.get(name)))
    return ", ".join(found) or UNKNOWN


def _hose(hose: Hose, catalog: Catalog, figures: Figures) -> Cells:
    known = catalog.construction(hose)
    return (
        hose.name,
        hose.construction if known is None else f"{known.reinforcement}, {known.standard}",
        _length(hose.inside_diameter, figures),
        _length(hose.outside_diameter, figures),
        _pressure(hose.max_working_pressure, figures),
        _length(hose.minimum_bend_radius, figures),
        _span(hose.lowest_temperature, hose.highest_temperature, figures),
        _source(hose.sources, "max_working_pressure", "minimum_bend_radius"),
    )


def _end(form: EndForm, figures: Figures) -> Cells:
    return (
        form.name,
        form.connection,
        f"-{form.dash_size}",
        _length(form.cutoff, figures),
        _length(form.drop, figures),
        _pressure(form.max_working_pressure, figures),
        str(form.roll),
        str(form.source or UNKNOWN),
    )


def _adapter(adapter: Adapter, figures: Figures) -> Cells:
    return (
        adapter.name,
        adapter.port_side,
        adapter.hose_side,
        f"{math.degrees(adapter.angle):.0f}",
        _pressure(adapter.max_working_pressure, figures),
        "yes" if adapter.live else "no",
        str(adapter.source or UNKNOWN),
    )


def _connection(size: Size, figures: Figures) -> Cells:
    family = families()[size.family]
    torque = [_figure(value, "torque", "Nm", figures) for value in (size.torque_low, size.torque_high)]
    return (
        size.name,
        size.thread or f"screws {size.screw}",
        family.seat,
        _pressure(size.max_working_pressure, figures),
        _length(size.nut_width, figures),
        UNKNOWN if torque[0] == UNKNOWN else " to ".join(dict.fromkeys(torque)),
        family.standard,
        _source(size.sources, "max_working_pressure", "torque_low"),
    )


def _fluid(fluid: FluidData) -> Cells:
    described = classes().get(fluid.fluid_class)
    viscosities = (fluid.viscosity_40, fluid.viscosity_100)
    return (
        fluid.name,
        "" if described is None else described.text("description"),
        *(UNKNOWN if value is None else f"{value * 1e6:g}" for value in viscosities),
        UNKNOWN if fluid.density_15 is None else f"{fluid.density_15:g}",
        _source(fluid.sources, "viscosity_40", "viscosity_100", "density_15"),
    )


def _fluids(catalog: Catalog) -> Iterator[FluidData]:
    yield from catalog.own_fluids.values()
    yield from (catalog.fluid(f"{name} {grade}") for name in classes() for grade in grades())


KINDS: Mapping[str, Kind] = {
    "hoses": Kind(
        (
            ("hose", ""), ("construction", ""), ("inside", "mm"), ("outside", "mm"), ("pressure", "bar"),
            ("bend radius", "mm"), ("temperature", "°C"), ("source of pressure and radius", ""),
        ),
        lambda catalog, figures: (_hose(one, catalog, figures) for one in catalog.hoses()),
    ),
    "ends": Kind(
        (
            ("form", ""), ("connection", ""), ("hose", ""), ("cut-off", "mm"), ("drop", "mm"), ("pressure", "bar"),
            ("turns", ""), ("source", ""),
        ),
        lambda catalog, figures: (_end(one, figures) for one in catalog.end_forms()),
    ),
    "adapters": Kind(
        (
            ("adapter", ""), ("on the port", ""), ("to the hose", ""), ("angle", "deg"), ("pressure", "bar"),
            ("turns under pressure", ""), ("source", ""),
        ),
        lambda catalog, figures: (_adapter(one, figures) for one in catalog.adapters()),
    ),
    "connections": Kind(
        (
            ("connection", ""), ("thread", ""), ("seat", ""), ("pressure", "bar"), ("nut", "mm"), ("torque", "Nm"),
            ("standard", ""), ("source of pressure and torque", ""),
        ),
        lambda _, figures: (_connection(one, figures) for family in families() for one in sizes(family).values()),
    ),
    "fluids": Kind(
        (
            ("fluid", ""), ("class", ""), ("at 40 °C", "mm²/s"), ("at 100 °C", "mm²/s"), ("density", "kg/m³"),
            ("source", ""),
        ),
        lambda catalog, _: (_fluid(one) for one in _fluids(catalog)),
    ),
}  # fmt: skip
