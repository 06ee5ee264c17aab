"""Tables as CSV: unit in the column name, source and confidence in the header, everything SI once read.

A table opens with comment lines::

    # source: EN 853, table 2; confidence: standard
    # source: EN 853, table 1; confidence: memory; columns: outside_diameter_mm
    # note: free text

The first source holds for every column, a further one for the columns that it names. Within a row the cell
``document`` replaces the document, ``source`` the clause and ``confidence`` the confidence; the cells ``memory``,
``practice`` and ``doubtful`` name the columns (or ``all``) whose figures in this row deserve that confidence. An empty
cell is a missing figure.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib import resources
from pathlib import Path

from hosewright.errors import DataError, nearest
from hosewright.sources import Confidence, Source

CELSIUS = 273.15

FACTORS = {
    "": 1.0,
    "_mm": 1e-3,
    "_bar": 1e5,
    "_MPa": 1e6,
    "_deg": math.pi / 180.0,
    "_pct": 1e-2,
    "_kg_m": 1.0,
    "_kg_m3": 1.0,
    "_Nm": 1.0,
    "_Nm2": 1.0,
    "_mm2_s": 1e-6,
    "_m_s": 1.0,
    "_years": 1.0,
}
CONFIDENCE_COLUMNS = ("memory", "practice", "doubtful")
SOURCE_COLUMNS = ("document", "source", "confidence", *CONFIDENCE_COLUMNS)


@dataclass(frozen=True)
class Row:
    """One row of a table.

    Attributes
    ----------
    cells
        Text by column, stripped.
    place
        File and line, for messages.
    base
        Source of the table, and of single columns where they differ.
    """

    cells: Mapping[str, str]
    place: str
    base: Source
    by_column: Mapping[str, Source] = field(default_factory=dict)

    def has(self, column: str) -> bool:
        """Whether the cell is filled."""
        return bool(self.cells.get(column))

    def text(self, column: str) -> str:
        """Cell of a column that must be filled."""
        if not self.has(column):
            raise DataError(f"{self.place}: column '{column}' is empty, but this row needs it")
        return self.cells[column]

    def number(self, column: str) -> float | None:
        """Figure in SI, or ``None`` where the cell is empty."""
        return self.required(column) if self.has(column) else None

    def price(self, column: str = "price") -> float | None:
        """Price in the shop's own currency, or ``None`` where the cell is empty."""
        price = self.number(column)
        if price is not None and price < 0.0:
            raise DataError(f"{self.place}: column '{column}' holds '{self.cells[column]}', expected 0 or more")
        return price

    def required(self, column: str) -> float:
        """Figure in SI of a column that must be filled."""
        text = self.text(column)
        try:
            value = float(text)
        except ValueError:
            value = math.nan
        if not math.isfinite(value):
            raise DataError(f"{self.place}: column '{column}' holds '{text}', which is not a number such as 12.5")
        return to_si(column, value)

    def dash_size(self, column: str = "dash_size") -> int:
        """Dash size, written ``8``, ``-8`` or ``-08``."""
        text = self.text(column)
        digits = text.removeprefix("-")
        if not digits.isdigit() or int(digits) == 0:
            raise DataError(f"{self.place}: column '{column}' holds '{text}', which is not a dash size such as -8")
        return int(digits)

    def words(self, column: str) -> tuple[str, ...]:
        """Words of a cell that holds a list."""
        return tuple(self.cells.get(column, "").split())

    def source(self, column: str) -> Source:
        """Where the figure in a column comes from."""
        base = self.by_column.get(column, self.base)
        confidence = base.confidence
        if self.has("confidence"):
            confidence = _confidence(self.cells["confidence"], self.place)
        for name in CONFIDENCE_COLUMNS:
            if {column, "all"} & set(self.words(name)):
                confidence = Confidence(name)
        return _source(self.cells.get("document") or base.document, self.cells.get("source") or base.clause, confidence)


_source = cache(Source)


def to_si(column: str, value: float) -> float:
    """Value of a column in SI, by the unit that ends the column's name; temperatures in kelvin."""
    return value + CELSIUS if column.endswith("_C") else value * _factor(column)


@cache
def _factor(column: str) -> float:
    return FACTORS[max((suffix for suffix in FACTORS if column.endswith(suffix)), key=len, default="")]


def packaged(package: str, name: str) -> tuple[Row, ...]:
    """Rows of a table that is shipped in ``package``'s data folder."""
    text = (resources.files(package) / "data" / name).read_text(encoding="utf-8")
    return tuple(parse(text.splitlines(), name))


def from_file(path: Path, base: Source) -> tuple[Row, ...]:
    """Rows of a user's file."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise DataError(f"{path}: cannot be read: {error.strerror}") from error
    except UnicodeDecodeError as error:
        raise DataError(f"{path}: is not UTF-8 text (byte {error.start}); save it as CSV in UTF-8") from error
    return tuple(parse(text.splitlines(), path.name, base))


def from_mappings(rows: Iterable[Mapping[str, object]], name: str, base: Source) -> tuple[Row, ...]:
    """Rows given as mappings from column to value, counted from 1."""
    return tuple(
        Row(
            {column: "" if value is None else str(value).strip() for column, value in row.items()},
            f"{name}, row {count}",
            base,
        )
        for count, row in enumerate(rows, start=1)
    )


def check_columns(row: Row, columns: Iterable[str]) -> None:
    """Refuse columns that are not known."""
    known = [*columns, *SOURCE_COLUMNS]
    for column in row.cells:
        if column not in known:
            raise DataError(f"{row.place}: unknown column '{column}'.{nearest(column, known)}")


def parse(lines: Iterable[str], name: str, base: Source | None = None) -> Iterator[Row]:
    """Rows of a table; ``base`` is the source where the header names none."""
    by_column: dict[str, Source] = {}
    header: list[str] | None = None
    for number, line in enumerate(lines, start=1):
        place = f"{name}, line {number}"
        if line.startswith("# source:") and header is None:
            source, columns = _header_source(line, place)
            by_column.update(dict.fromkeys(columns, source))
            base = source if base is None else base
        elif line.strip() and not line.startswith("#"):
            cells = [cell.strip() for cell in next(csv.reader([line]))]
            if header is None:
                _check_separator(cells, place)
                header = cells
                base = base or Source(name)
                continue
            if len(cells) != len(header):
                raise DataError(f"{place}: {len(cells)} cells under a header of {len(header)} columns")
            yield Row(dict(zip(header, cells, strict=True)), place, base or Source(name), by_column)


def _check_separator(header: list[str], place: str) -> None:
    """Spread sheets write other signs than commas in countries that have a decimal comma."""
    sign = next((sign for sign in ";\t" if sign in header[0]), None)
    if len(header) == 1 and sign is not None:
        name = "tabs" if sign == "\t" else f"'{sign}'"
        raise DataError(f"{place}: the columns are separated by {name}: use commas, and points in numbers")


def _header_source(line: str, place: str) -> tuple[Source, list[str]]:
    parts = dict(part.strip().split(": ", 1) for part in line.removeprefix("# ").split(";"))
    document, _, clause = parts["source"].partition(", ")
    source = _source(document, clause, _confidence(parts["confidence"], place))
    return source, parts.get("columns", "").split()


def _confidence(text: str, place: str) -> Confidence:
    try:
        return Confidence(text)
    except ValueError:
        raise DataError(f"{place}: unknown confidence '{text}'.{nearest(text, list(Confidence))}") from None
