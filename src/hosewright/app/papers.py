"""All papers of a job."""

from __future__ import annotations

import datetime
import os
from dataclasses import dataclass
from itertools import chain
from pathlib import Path

from hosewright.app.checking import Checked, check_file, check_job
from hosewright.app.planning import plan_job
from hosewright.app.reading import run_alone, to_plan
from hosewright.checks.check import Progress
from hosewright.errors import ArgumentError, JobError
from hosewright.jobfile import read_text


@dataclass(frozen=True, eq=False)
class Papers:
    """What was written for a job.

    Attributes
    ----------
    files
        In the order in which they were made.
    missing
        Of the samples, what must be known before they can be made again, one sentence each.
    stopped
        Runs and samples whose papers say DO NOT BUILD, each with the first reason.
    """

    checked: Checked
    files: tuple[Path, ...]
    missing: tuple[str, ...]
    stopped: tuple[str, ...]


def sheets(
    path: Path,
    folder: Path,
    settings: Path | None = None,
    date: datetime.date | None = None,
    run: str | None = None,
    progress: Progress | None = None,
    *,
    units: str | None = None,
    language: str | None = None,
    paper: str | None = None,
) -> Papers:
    """Check a job, or the run named, and write all its papers into a folder, whole or not at all.

    A job whose runs have no assembly yet is planned first; the folder then holds the job with what was chosen, too.

    Parameters
    ----------
    path, run
        Job file, and the run where it is one alone.
    folder
        Made where it is missing; what else lies there stays.
    settings
        File of the shop's settings; the user's own unless given.
    date
        That the papers bear; else that of the job, else that of SOURCE_DATE_EPOCH, else a blank.
    progress
        Is told what is going on.
    units, language, paper
        Count before those of the settings.

    Raises
    ------
    JobError
        The file has problems; all of them, each with its place.
    HosewrightError
        Settings, machine or a run cannot be used, or the folder cannot be written.
    """
    from hosewright.documents.bundle import Bundle
    from hosewright.documents.folder import check_writable, write_folder
    from hosewright.documents.makers import all_files
    from hosewright.settings import read_settings

    check_writable(folder, ())
    shop = read_settings(settings, units=units, language=language, paper=paper)
    checked, chosen = _checked_or_planned(path, run, progress)
    bundle = Bundle.make(checked.file, checked.result, shop, date or checked.file.date or _source_date())
    if progress is not None:
        progress("writing the papers")
    files = write_folder(folder, chain(chosen, all_files(bundle)))
    missing = [f"{one['name']}: {text}" for one in bundle.data["samples"] for text in one["missing"]]
    reasons = {run["name"]: bundle.stops(run) for run in bundle.data["runs"]}
    reasons |= {one["name"]: bundle.stops(one) for one in bundle.data["samples"]}
    stopped = tuple(f"'{name}': {texts[0]}" for name, texts in reasons.items() if texts)
    return Papers(checked, tuple(files), tuple(missing), stopped)


def _checked_or_planned(
    path: Path, run: str | None, progress: Progress | None
) -> tuple[Checked, list[tuple[str, bytes]]]:
    """The job as it is checked, and where it had to be planned first the file that holds the plan."""
    try:
        return check_file(path, run, progress), []
    except JobError as error:
        file = to_plan(path, error)
    planned = plan_job(file, run, progress)
    without = next(iter(planned.nearest.items()), None)
    if without is not None:
        raise ArgumentError(f"run '{without[0]}' of {path.name} has no assembly to make papers of. {without[1]}")
    whole = read_text(planned.text, path, file.catalog, to_plan=run is not None)
    read = whole if run is None else run_alone(whole, run)
    if read is None:
        raise ArgumentError(f"not all runs of {path.name} have an assembly; plan them first: hosewright plan {path}")
    return check_job(read, run, progress), [(path.name, planned.text.encode())]


def _source_date() -> datetime.date | None:
    """Date of the sources, as builds that can be repeated set it."""
    given = os.environ.get("SOURCE_DATE_EPOCH")
    if given is None:
        return None
    try:
        return datetime.datetime.fromtimestamp(int(given), datetime.UTC).date()
    except (ValueError, OverflowError, OSError):
        raise ArgumentError(f"SOURCE_DATE_EPOCH is '{given}': it needs to be a whole number of seconds") from None
