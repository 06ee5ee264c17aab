"""The use cases: each returns what happened and prints nothing."""

from __future__ import annotations

import datetime
import os
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from hosewright.catalog import load as load_catalog
from hosewright.checks.check import CheckResult, Progress, check
from hosewright.checks.explain import Explanation, explain
from hosewright.checks.finding import Verdict
from hosewright.checks.profile import Profile
from hosewright.errors import ArgumentError, DataError, nearest
from hosewright.jobfile import JobFile, read_job
from hosewright.jobfile.end_words import read_end
from hosewright.mechanics import Section, Shapes, Support, sweep
from hosewright.search import surplus
from hosewright.search.remedies import with_remedies
from hosewright.service import Identification, identify

DEMO_POSES = 200
DEMO_RADIUS = 0.130 + 0.0215 / 2.0
"""Minimum bend radius of a compact two-wire hose of size -8 (130 mm inside), on the centre line. [m]"""


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
    catalog = load_catalog()
    file = read_job(path, catalog)
    names = [known.name for known in file.job.runs]
    if run is not None and run not in names:
        raise ArgumentError(f"{path.name} has no run '{run}'.{nearest(run, names)}")
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


@dataclass(frozen=True, eq=False)
class Papers:
    """What was written for a job.

    Attributes
    ----------
    files
        In the order in which they were made.
    missing
        Of the samples, what must be known before they can be made again, one sentence each.
    """

    checked: Checked
    files: tuple[Path, ...]
    missing: tuple[str, ...]


def sheets(
    path: Path,
    folder: Path,
    settings: Path | None = None,
    date: datetime.date | None = None,
    run: str | None = None,
    progress: Progress | None = None,
) -> Papers:
    """Check a job, or the run named, and write all its papers into a folder, whole or not at all.

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

    Raises
    ------
    JobError
        The file has problems; all of them, each with its place.
    HosewrightError
        Settings, machine or a run cannot be used, or the folder cannot be written.
    """
    from hosewright.documents.bundle import Bundle
    from hosewright.documents.folder import write_folder
    from hosewright.documents.makers import all_files
    from hosewright.settings import read_settings

    shop = read_settings(settings)
    checked = check_file(path, run, progress)  # a job with runs that are not planned yet is planned here first
    bundle = Bundle.make(checked.file, checked.result, shop, date or checked.file.date or _source_date())
    if progress is not None:
        progress("writing the papers")
    files = write_folder(folder, all_files(bundle))
    missing = [f"{one['name']}: {text}" for one in bundle.data["samples"] for text in one["missing"]]
    return Papers(checked, tuple(files), tuple(missing))


def _source_date() -> datetime.date | None:
    """Date of the sources, as builds that can be repeated set it."""
    given = os.environ.get("SOURCE_DATE_EPOCH")
    if given is None:
        return None
    try:
        return datetime.datetime.fromtimestamp(int(given), datetime.UTC).date()
    except (ValueError, OverflowError, OSError):
        raise ArgumentError(f"SOURCE_DATE_EPOCH is '{given}': it needs to be a whole number of seconds") from None


def explain_rule(rule: str) -> str:
    """What a rule means, its figures and their sources.

    Raises
    ------
    ArgumentError
        There is no such rule.
    """
    more = {surplus.RULE: Explanation(surplus.__doc__ or "", ("surplus_part", "surplus_length", "length_increment"))}
    return explain(rule, Profile.standard(), more)


def identify_end(words: str, given: Mapping[str, Any], bolts: str | None = None) -> tuple[Identification, str]:
    """What an end in the hand may be, and the version of the catalog that was asked.

    Parameters
    ----------
    words
        Readings in words; may be empty.
    given
        Further readings by the names of ``service.Thread``, ``None`` where they were not given.
    bolts
        Spacing of a flange's bolts.

    Raises
    ------
    ArgumentError
        The readings cannot be used.
    """
    return identify(read_end(words, given, bolts)), load_catalog().version


def write_text(path: Path, text: str) -> None:
    """Write a file whole or not at all.

    Raises
    ------
    DataError
        It cannot be written.
    """
    part = path.with_name(path.name + ".part")
    try:
        part.write_text(text, encoding="utf-8")
        part.replace(path)
    except OSError as error:
        raise DataError(f"{path}: cannot be written: {error.strerror}") from error


def demonstrate(out: Path) -> str:
    """Carry an invented hose from a chassis to a swinging boom; draws ``swing.png`` and returns a table.

    Raises
    ------
    DataError
        The folder cannot be written.
    """
    from hosewright.documents.motion_picture import draw_motion

    shapes = swing(DEMO_POSES)
    try:
        out.mkdir(parents=True, exist_ok=True)
        draw_motion(
            shapes,
            "An invented hose from chassis to boom, the boom swings by 90 degrees",
            out / "swing.png",
            DEMO_RADIUS,
        )
    except OSError as error:
        raise DataError(f"{out}: cannot be written: {error.strerror}") from error
    return f"{_table(shapes)}\n\nPicture: {out / 'swing.png'}"


def swing(poses: int) -> Shapes:
    """A hose of 0.9 m from a fixed port to one on a boom that swings by 90 degrees about a slightly skewed pin."""
    angle = np.radians(np.linspace(-20.0, 70.0, poses))
    zero, one = np.zeros(poses), np.ones(poses)
    reach = np.stack([np.cos(angle), 0.12 * one, np.sin(angle)], axis=1)
    along = np.stack([np.sin(angle), zero, -np.cos(angle)], axis=1)
    section = Section(bending_stiffness=1.3, torsional_stiffness=13.0, axial_stiffness=1.6e5, weight=7.0)
    a = Support(position=(0.0, 0.0, 0.25), direction=(0.0, 0.0, 1.0), reference=(0.0, 1.0, 0.0))
    b = Support(position=0.45 * reach + np.array([0.1, 0.0, 0.25]), direction=along, reference=(0.0, 1.0, 0.0))
    return sweep(section, 0.9, a, b)


def _table(shapes: Shapes) -> str:
    lines = ["pose   least radius     at    twist   energy  status", "           [mm]      [mm]    [deg]      [J]"]
    for k in np.unique(np.linspace(0, len(shapes) - 1, 11).astype(int)):
        shape = shapes[int(k)]
        lines.append(
            f"{k + 1:4d} {shape.least_radius * 1e3:12.1f} {shape.least_radius_at * 1e3:9.0f} "
            f"{np.degrees(shape.twist):8.2f} {shape.energy:8.3f}  {shape.status}"
        )
    worst = int(np.argmin(shapes.least_radius))
    lines.append(
        f"Tightest of {len(shapes)} poses: {shapes.least_radius[worst] * 1e3:.1f} mm in pose {worst + 1}; "
        f"{shapes.iterations.mean():.1f} Newton steps a pose; largest error estimate "
        f"{shapes.error_estimate.max():.1e} of the length"
    )
    return "\n".join(lines)
