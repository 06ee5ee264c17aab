"""hosewright from Python: read a job, change it, check it, plan it. ``import hosewright`` offers all of this.

A script that does so: ``docs/examples/plan_a_hose.py``.
"""

from __future__ import annotations

import math
import re
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from hosewright import app
from hosewright.app import Planned
from hosewright.checks.check import CheckResult
from hosewright.documents.terminal import ReadableResult
from hosewright.errors import ArgumentError
from hosewright.jobfile import JobFile, read_job, read_text, set_value

Job = JobFile | Planned | Path | str
Progress = Callable[[str], None]

STEP = re.compile(r"\.?([^.\[\]]+)|\[(\d+)\]")
"""A key, or the place in a list, of a dotted path."""


def read(path: Path | str) -> JobFile:
    """Read a job file, whether it is planned yet or not.

    Raises
    ------
    JobError
        Something is wrong; all of it, each with its place.
    """
    return read_job(path, to_plan=True)


def change(job: Job, place: str | Sequence[str | int], value: Any) -> JobFile:
    """The job with one value changed or added; the file stays as it is.

    Parameters
    ----------
    job
        Path of a job file, what :func:`read` returned, or a plan.
    place
        Such as ``"job.port_error"`` or ``"run[0].length"``, or its steps: ``("run", 0, "length")``.
    value
        As the file would have it: bare numbers in mm, degrees, bar; texts with any unit.

    Raises
    ------
    HosewrightError
        The job has no such place, or the value does not fit there.
    """
    file = _read(job)
    steps = _steps(place) if isinstance(place, str) else tuple(place)
    return read_text(set_value(file.places, steps, value), file.path, file.catalog, to_plan=True)


def check(job: Job, run: str | None = None, progress: Progress | None = None) -> CheckResult:
    """Check every routing rule on the runs of a job; ``print`` the result to read it.

    Parameters
    ----------
    job
        Path of a job file, what :func:`read` returned, or a plan.
    run
        Check this run alone.
    progress
        Is told what is going on.

    Raises
    ------
    HosewrightError
        The job has problems, among them runs that are not planned yet, or the machine cannot take a pose.
    """
    file = _read(job)
    result = app.check_job(read_text(file.text, file.path, file.catalog), run, progress).result
    return ReadableResult(result.job, result.runs, result.poses, result.solved, result.not_checked)


def plan(
    job: Job, run: str | None = None, time_limit: float | None = None, progress: Progress | None = None
) -> Planned:
    """Choose hose, ends, length and angle for every run of a job; ``print`` the plan to read it.

    Parameters
    ----------
    job
        Path of a job file, what :func:`read` returned, or a plan.
    run
        Plan this run alone, beside the others as they are.
    time_limit
        Of the search; the best so far is then checked and kept. [s]
    progress
        Is told what is going on.

    Raises
    ------
    HosewrightError
        The job has problems, or the machine cannot take a pose.
    """
    if time_limit is not None and not time_limit > 0.0:
        raise ArgumentError(f"the time limit is {time_limit:g} s; give more than 0")
    end = math.inf if time_limit is None else time.monotonic() + time_limit
    return app.plan_job(_read(job), run, progress, lambda: time.monotonic() >= end)


def _read(job: Job) -> JobFile:
    if isinstance(job, Planned):
        return read_text(job.text, job.file.path, job.file.catalog, to_plan=True)
    if not isinstance(job, JobFile):
        return read(job)
    return job if job.requests else read_text(job.text, job.path, job.catalog, to_plan=True)


def _steps(place: str) -> tuple[str | int, ...]:
    found = list(STEP.finditer(place))
    if not found or "".join(step.group() for step in found) != place:
        raise ArgumentError(f"'{place}' is no place in a job; write it like 'job.port_error' or 'run[0].length'")
    return tuple(int(step[2]) if step[2] else step[1] for step in found)
