"""Errors that a user can mend.

HosewrightError
├── ArgumentError    a call's argument is out of range; names the argument and its value
├── DataError        a data file (catalog, mesh, measured poses) cannot be used; names file and line
├── MachineError     the machine cannot take the pose that was asked for, or its tables contradict each other
└── JobError         a job file has problems; carries all of them, each with its place

Everything else that is raised is a fault of the program and keeps its traceback.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass


class HosewrightError(Exception):
    """Something that the user asked for cannot be done as asked; the message says what would be right."""


class ArgumentError(HosewrightError, ValueError):
    """A call's argument is out of range."""


class DataError(HosewrightError):
    """A data file cannot be used."""


class MachineError(HosewrightError):
    """The machine cannot be built or cannot take a pose; ``problems`` names the places where that can be told."""

    def __init__(self, text: str, problems: Iterable[Problem] = ()) -> None:
        self.problems = tuple(problems)
        super().__init__(text)


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong in a job.

    Attributes
    ----------
    path
        Keys and indices that lead to the value in the job, such as ``("run", 0, "pressure", "peak")``.
    text
        One sentence: what was found and what would be right.
    """

    path: tuple[str | int, ...]
    text: str


class JobError(HosewrightError):
    """A job has one or more problems."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(f"{dotted(p.path)}: {p.text}" for p in self.problems))


def dotted(path: Iterable[str | int]) -> str:
    """Path of a value as people write it: ``run[0].pressure.peak``."""
    text = ""
    for part in path:
        text += f"[{part}]" if isinstance(part, int) else f".{part}" if text else str(part)
    return text


def close_names(word: str, known: Iterable[str]) -> list[str]:
    """The known names, two at most, that a mistyped word may stand for."""
    return difflib.get_close_matches(word, list(known), n=2, cutoff=0.6)


def nearest(word: str, known: Iterable[str]) -> str:
    """End of a message: `` Did you mean 'lift.rod'?``, or all known names where none is close."""
    names = list(known)
    close = close_names(word, names)
    if close:
        return " Did you mean " + " or ".join(f"'{name}'" for name in close) + "?"
    return " Known: " + ", ".join(f"'{name}'" for name in names) + "." if 0 < len(names) <= 12 else ""
