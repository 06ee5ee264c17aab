"""Job files of which a part alone is asked for, or is there."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path

from hosewright.catalog import load as load_catalog
from hosewright.checks.run import JobWarning
from hosewright.errors import ArgumentError, JobError, nearest
from hosewright.jobfile import JobFile, read_job, read_text
from hosewright.words import Sentence

NO_BREAK = re.compile(r"[^\n]")


def to_plan(path: Path, error: JobError) -> JobFile:
    """A job that cannot be checked, read to be planned; where that cannot be either, the fewer problems are told."""
    try:
        return read_job(path, load_catalog(), to_plan=True)
    except JobError as other:
        raise min(other, error, key=lambda one: len(one.problems)) from None


def run_alone(file: JobFile, run: str) -> JobFile | None:
    """A job that was read to be planned, to check one run; ``None`` where that has no assembly yet, either.

    Other runs that have none are passed over.
    """
    names = [request.name for request in file.requests]
    known(run, names, file)
    try:
        return read_text(file.text, file.path, file.catalog)
    except JobError as error:
        parts = {problem.path[:2] for problem in error.problems}
    if ("run", names.index(run)) in parts:
        return None
    without = readable(_blanked(file, parts), file)
    if without is None:
        return None
    said = JobWarning(Sentence.of("warnings.beside_open", run=run))
    job = replace(without.job, warnings=(*without.job.warnings, said))
    return replace(without, job=job, hash=file.hash)


def _blanked(file: JobFile, tables: Iterable[Sequence[str | int]]) -> str:
    """The text without some tables; lines keep their numbers."""
    text = file.text
    for span in filter(None, map(file.places.span, tables)):
        text = text[: span.start] + NO_BREAK.sub(" ", text[span.start : span.end]) + text[span.end :]
    return text


def known(run: str | None, names: Sequence[str], file: JobFile) -> None:
    """Make sure that a job has a run.

    Raises
    ------
    ArgumentError
        It has none of this name.
    """
    if run is not None and run not in names:
        raise ArgumentError(f"{file.path.name} has no run '{run}'.{nearest(run, names)}")


def readable(text: str, file: JobFile) -> JobFile | None:
    """The job to be checked; ``None`` where a run has no assembly yet."""
    try:
        return read_text(text, file.path, file.catalog)
    except JobError:
        return None
