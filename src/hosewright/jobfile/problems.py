"""The problems of a job file, collected and shown with their places."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

from tomlkit import TOMLDocument

from hosewright.errors import HosewrightError, JobError, MachineError, Problem, dotted
from hosewright.jobfile.places import Place, Places, TomlError

Path = tuple[str | int, ...]


@dataclass(frozen=True)
class KeyProblem(Problem):
    """A problem of the key itself, not of its value."""


@dataclass(frozen=True)
class LastingProblem(Problem):
    """A problem of a value that another plan does not clear."""


@dataclass(frozen=True)
class Located:
    """A problem with its place in the file."""

    problem: Problem
    file: str
    place: Place
    source: str
    column: int

    def __str__(self) -> str:
        subject = f"{dotted(self.problem.path)}: " if self.problem.path else ""
        if not self.problem.path and self.place == Place(1, 1) and not self.source:  # of the file as a whole
            return f"{self.file}: {_printable(self.problem.text)}"
        head = f"{self.file}:{self.place.line}:{self.place.column}: {_printable(subject + self.problem.text)}"
        source = _printable(self.source)
        if not source.strip():
            return head
        return f"{head}\n    {source}\n    {' ' * self.column}^"


class JobFileError(JobError):
    """A job file has one or more problems, each with its place in ``located``, in the file's order."""

    def __init__(self, located: Iterable[Located]) -> None:
        self.located = tuple(sorted(located, key=lambda one: (one.place.line, one.place.column)))
        super().__init__(one.problem for one in self.located)
        self.args = ("\n".join(str(one) for one in self.located),)


@dataclass
class Collector:
    """Gathers problems, so that a person learns of all of them at once."""

    problems: list[Problem] = field(default_factory=list)

    def add(self, path: Path, text: str) -> None:
        """Note a problem of a value."""
        self._note(Problem(path, text))

    def add_key(self, path: Path, text: str) -> None:
        """Note a problem of a key."""
        self._note(KeyProblem(path, text))

    def add_lasting(self, path: Path, text: str) -> None:
        """Note a problem of a value that another plan does not clear."""
        self._note(LastingProblem(path, text))

    def _note(self, problem: Problem) -> None:
        if problem not in self.problems:
            self.problems.append(problem)

    @contextmanager
    def at(self, *path: str | int) -> Iterator[None]:
        """Turn errors that the user can mend into problems of a value."""
        try:
            yield
        except MachineError as error:
            for problem in error.problems:
                self._note(problem)
            if not error.problems:
                self._add_lines(path, error)
        except HosewrightError as error:
            self._add_lines(path, error)

    def _add_lines(self, path: Path, error: HosewrightError) -> None:
        for line in str(error).splitlines():
            self.add(path, line)

    def error(self, name: str, places: Places) -> JobFileError:
        """All problems with their places."""
        return JobFileError(located(problem, name, places) for problem in self.problems)


def located(problem: Problem, name: str, places: Places) -> Located:
    """A problem with its place."""
    place = places.place(problem.path, key=isinstance(problem, KeyProblem))
    return Located(problem, name, place, *places.line(place))


def of_file(text: str, name: str) -> JobFileError:
    """A problem of the file as a whole."""
    return JobFileError([Located(Problem((), text), name, Place(1, 1), "", 0)])


def not_toml(text: str, name: str, error: TomlError) -> JobFileError:
    """The problem of a text that is not TOML, with its place."""
    source = Places(text, TOMLDocument()).line(error.place)
    return JobFileError([Located(Problem((), str(error)), name, error.place, *source)])


def _printable(text: str) -> str:
    """Escapes of a terminal must not come through from a file."""
    return "".join(c if c.isprintable() else c.encode("unicode_escape", "backslashreplace").decode() for c in text)
