"""Validation of a whole file: all problems, and the tables that can be used in spite of them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from hosewright.jobfile.models import JobTables, SalvagedTables
from hosewright.jobfile.problems import Collector
from hosewright.jobfile.table import UNKNOWN_KEY

Path = tuple[str | int, ...]

MACHINE = ("job", "machine", "body", "cylinder", "pin", "port", "obstacle", "mount", "operator")
"""Keys of the tables that make a machine."""


@dataclass(frozen=True)
class Salvage:
    """Tables of a file without those that have problems.

    Attributes
    ----------
    data
        The whole file as plain values.
    tables
        What can be used.
    kept
        Index in the file of every element of ``tables``' lists, by key.
    broken
        Keys under which something could not be used.
    """

    data: Mapping[str, Any]
    tables: JobTables
    kept: Mapping[str, tuple[int, ...]]
    broken: frozenset[str]

    def each(self, key: str) -> Iterator[tuple[int, Any]]:
        """Usable tables of an array, each with its index in the file."""
        return zip(self.kept.get(key, ()), getattr(self.tables, key), strict=True)

    def names(self, key: str) -> list[str]:
        """Names of all tables of an array, usable or not."""
        rows = self.data.get(key, [])
        found = [row.get("name") for row in (rows if isinstance(rows, list) else [rows]) if isinstance(row, dict)]
        return [name for name in found if isinstance(name, str)]

    @property
    def machine_is_whole(self) -> bool:
        """Whether no table of the machine has a problem."""
        return not self.broken & set(MACHINE)


def validate(data: Mapping[str, Any], found: Collector) -> Salvage:
    """Validate a file's values; problems go to ``found``."""
    try:
        tables, bad = JobTables.model_validate(data), set[Path]()
        usable: Mapping[str, Any] = data
    except ValidationError as error:
        places = note(error, found)
        bad = {_lost(place, data) for place in places}
        usable = {key: _without(key, value, bad) for key, value in data.items() if (key,) not in bad}
        tables = SalvagedTables.model_validate(usable)
    kept = {
        key: tuple(index for index in range(len(value)) if (key, index) not in bad)
        for key, value in data.items()
        if isinstance(value, list) and (key,) not in bad
    }
    harmless = [path for path in bad if path[0] == "job" and path[1:] and path[1] != "drawn_at"]
    return Salvage(data, tables, kept, frozenset(str(path[0]) for path in bad.difference(harmless)))


def note(error: ValidationError, found: Collector) -> set[Path]:
    """Note all problems; gives their places."""
    places = set()
    for one in error.errors(include_url=False):
        path = tuple(part for part in one["loc"] if not str(part).startswith("<"))
        add = found.add_key if one["type"] == UNKNOWN_KEY else found.add
        add(path, one["msg"])
        places.add(path)
    return places


def _lost(path: Path, data: Mapping[str, Any]) -> Path:
    """What cannot be used because of a problem: a table, an element of an array; of [job] and runs a value only."""
    if len(path) > 1 and isinstance(path[1], int):
        in_run = path[0] == "run" and len(path) > 2 and isinstance(data["run"][path[1]], dict)
        return path[:3] if in_run else path[:2]
    return path[:2] if path[0] == "job" else path[:1]


def _without(key: str, value: Any, bad: set[Path]) -> Any:
    if key == "job":
        return {name: part for name, part in value.items() if (key, name) not in bad}
    if not isinstance(value, list):
        return value
    kept = [(index, element) for index, element in enumerate(value) if (key, index) not in bad]
    if key != "run":
        return [element for _, element in kept]
    return [{name: part for name, part in run.items() if (key, index, name) not in bad} for index, run in kept]
