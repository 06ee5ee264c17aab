"""Checking a job file, or one run of it, with remedies for what fails and what could be shorter."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path

from hosewright.app.reading import known, run_alone, to_plan
from hosewright.catalog import load as load_catalog
from hosewright.checks.check import CheckResult, Progress, check
from hosewright.checks.finding import Verdict
from hosewright.errors import JobError
from hosewright.jobfile import JobFile, read_job
from hosewright.search import surplus
from hosewright.search.remedies import with_remedies


@dataclass(frozen=True, eq=False)
class Checked:
    """A job file and what was found about it."""

    file: JobFile
    result: CheckResult
    catalog_version: str


def check_file(path: Path, run: str | None = None, progress: Progress | None = None) -> Checked:
    """Check the runs of a job file, or the one named, with remedies for what fails.

    Raises
    ------
    JobError
        The file has problems; all of them, each with its place.
    HosewrightError
        The machine cannot take a pose, or a run contradicts itself.
    """
    try:
        file = read_job(path, load_catalog())
    except JobError as error:
        alone = None if run is None else run_alone(to_plan(path, error), run)
        if alone is None:
            raise
        file = alone
    return check_job(file, run, progress)


def check_job(file: JobFile, run: str | None = None, progress: Progress | None = None) -> Checked:
    """Check a job that was read; see :func:`check_file`."""
    known(run, [one.name for one in file.job.runs], file)
    result = check(file.job, None if run is None else [run], progress)
    result = _improved(result, file, progress)
    return Checked(file, result, file.catalog.version)


def _improved(result: CheckResult, file: JobFile, progress: Progress | None) -> CheckResult:
    # runs that fail get remedies, runs that pass their surplus: two sets of runs, worked on at once
    with ThreadPoolExecutor(max_workers=2) as pool:
        mended = pool.submit(with_remedies, result, file.catalog, progress)
        trimmed = {run.run.name: run for run in surplus.with_surplus(result, progress).runs}
    runs = tuple(run if run.count(Verdict.FAIL) else trimmed[run.run.name] for run in mended.result().runs)
    return replace(result, runs=runs)
