"""Assembly numbers as people write them: no two assemblies of a job may have the same."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass

from hosewright.jobfile.places import Place, Places
from hosewright.jobfile.problems import Collector, Path
from hosewright.jobfile.salvage import Salvage


@dataclass(frozen=True)
class _Written:
    """A number with whose it is and its place in the file."""

    number: str
    owner: str
    path: Path
    place: Place


def counted(number: str) -> str:
    """What counts of a number, as for its check characters: letters, small or capital, and digits.

    A number that has none of them counts as it is written.
    """
    whole = unicodedata.normalize("NFKC", number).casefold()
    return "".join(sign for sign in whole if sign.isalnum()) or whole


def refuse_same_numbers(job: Salvage, places: Places, found: Collector) -> None:
    """Note each number that a run or sample further up in the file has already."""
    taken: dict[str, _Written] = {}
    for one in sorted(_written(job, places), key=lambda one: (one.place.line, one.place.column)):
        first = taken.setdefault(counted(one.number), one)
        if first is not one:
            found.add_lasting(one.path, _taken(one, first))


def _written(job: Salvage, places: Places) -> Iterator[_Written]:
    for path, owner, number in (*_of_runs(job), *_of_samples(job)):
        if number:
            yield _Written(number, owner, path, places.place(path))


def _of_runs(job: Salvage) -> Iterator[tuple[Path, str, str | None]]:
    """What a run says itself goes before what the program wrote."""
    for index, table in job.each("run"):
        owner = "a run" if table.name is None else f"run '{table.name}'"
        if table.number or table.assembly is None:
            yield ("run", index, "number"), owner, table.number
        else:
            yield ("run", index, "assembly", "number"), owner, table.assembly.number


def _of_samples(job: Salvage) -> Iterator[tuple[Path, str, str | None]]:
    for index, table in job.each("assembly"):
        yield ("assembly", index, "number"), f"sample '{table.name}'", table.number


def _taken(one: _Written, first: _Written) -> str:
    alike = "" if one.number == first.number else f" as '{first.number}'; blanks, dashes and capitals do not count"
    text = f"the number '{one.number}' is already that of {first.owner} (line {first.place.line})"
    return f"{text}{alike}; choose another one"
