"""Tables as CSV for other programs: UTF-8, commas, decimal points, whatever the language of the papers."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from typing import Any

FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r")
"""A spreadsheet would take a text that begins so for a formula and run it."""


def table(head: Sequence[str], rows: Iterable[Sequence[Any]]) -> bytes:
    """A table with its heading line; texts that a spreadsheet would run get an apostrophe in front."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(map(_cell, head))
    writer.writerows([_cell(value) for value in row] for row in rows)
    return stream.getvalue().encode("utf-8")


def _cell(value: Any) -> Any:
    if isinstance(value, str):
        return f"'{value}" if value.startswith(FORMULA_SIGNS) else value
    if isinstance(value, float) and value.is_integer():
        return int(value)
    return value
