"""The use cases: each returns what happened and prints nothing."""

from __future__ import annotations

import datetime
import os
import re
from collections.abc import Iterable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from hosewright.catalog import load as load_catalog
from hosewright.checks.check import CheckResult, Progress, check
from hosewright.checks.explain import Explanation, explain
from hosewright.checks.finding import Verdict
from hosewright.checks.profile import Profile
from hosewright.checks.run import JobWarning
from hosewright.errors import ArgumentError, DataError, JobError, nearest
from hosewright.jobfile import JobFile, assembly_table, limits_list, read_job, read_text, settled, write_plan
from hosewright.jobfile.end_words import read_end
from hosewright.mechanics import Section, Shapes, Support, sweep
from hosewright.search import surplus
from hosewright.search.candidates import nearest_in_pressure
from hosewright.search.plan import Plan, RunPlan, plan
from hosewright.search.remedies import with_remedies
from hosewright.search.seek import Over
from hosewright.service import Identification, identify
from hosewright.words import Figures, Sentence

if TYPE_CHECKING:
    from hosewright.documents.catalog_table import Table

PLAN = "plan.json"
NO_BREAK = re.compile(r"[^\n]")
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
    try:
        file = read_job(path, load_catalog())
    except JobError as error:
        alone = None if run is None else _alone(_to_plan(path, error), run)
        if alone is None:
            raise
        file = alone
    return check_job(file, run, progress)


def _alone(file: JobFile, run: str) -> JobFile | None:
    """A job that was read to be planned, to check one run; ``None`` where that has no assembly yet, either.

    Other runs that have none are passed over.
    """
    names = [request.name for request in file.requests]
    _known(run, names, file)
    try:
        return read_text(file.text, file.path, file.catalog)
    except JobError as error:
        parts = {problem.path[:2] for problem in error.problems}
    if ("run", names.index(run)) in parts:
        return None
    without = _readable(_blanked(file, parts), file)
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


def check_job(file: JobFile, run: str | None = None, progress: Progress | None = None) -> Checked:
    """Check a job that was read; see :func:`check_file`."""
    _known(run, [known.name for known in file.job.runs], file)
    result = check(file.job, None if run is None else [run], progress)
    result = _improved(result, file, progress)
    return Checked(file, result, file.catalog.version)


def _known(run: str | None, names: Sequence[str], file: JobFile) -> None:
    if run is not None and run not in names:
        raise ArgumentError(f"{file.path.name} has no run '{run}'.{nearest(run, names)}")


def _improved(result: CheckResult, file: JobFile, progress: Progress | None) -> CheckResult:
    # runs that fail get remedies, runs that pass their surplus: two sets of runs, worked on at once
    with ThreadPoolExecutor(max_workers=2) as pool:
        mended = pool.submit(with_remedies, result, file.catalog, progress)
        trimmed = {run.run.name: run for run in surplus.with_surplus(result, progress).runs}
    runs = tuple(run if run.count(Verdict.FAIL) else trimmed[run.run.name] for run in mended.result().runs)
    return replace(result, runs=runs)


@dataclass(frozen=True, eq=False, repr=False)
class Planned(Plan):
    """A plan with the job as it is to be written; prints as the report.

    Attributes
    ----------
    file
        The job as it was read.
    text
        The job with the assemblies written into it.
    nearest
        By run for which the catalog holds nothing, a sentence on what comes nearest.
    """

    file: JobFile
    text: str
    nearest: Mapping[str, str]

    def __str__(self) -> str:
        """The report of the terminal as plain text."""
        from hosewright.documents import plan_terminal

        return plan_terminal.plain_text(self, self.nearest)

    def __repr__(self) -> str:
        """The last line of the report alone."""
        from hosewright.documents import plan_terminal

        return f"<Plan: {plan_terminal.summary(self)}>"

    def json(self) -> str:
        """The plan as JSON text."""
        from hosewright.documents import plan_json
        from hosewright.documents.assembly_numbers import run_numbers

        file = self.file
        numbers = run_numbers(file, self.result)
        return plan_json.as_text(
            plan_json.as_dict(self, file.path.name, file.hash, file.catalog.version, numbers, self.nearest)
        )

    def save(self, folder: Path | str) -> list[Path]:
        """Write the job with its assemblies, ``plan.json``, a picture of every run, and files that the job names.

        All or none; files of these names in the folder are replaced, whatever else lies there stays.

        Raises
        ------
        DataError
            The folder cannot be written, or it is the job's own and the job was changed since it was read.
        """
        from hosewright.documents.folder import add_files
        from hosewright.documents.pictures import run_picture

        self._check_unchanged(Path(folder))
        contents = {self.file.path.name: self.text.encode(), PLAN: self.json().encode()}
        pictures = _picture_names(self.file)
        for run in self.result.runs:
            contents[pictures[run.run.name]] = run_picture(self.result, run)
        return add_files(Path(folder), contents | _named_files(self.file, Path(folder)))

    def _check_unchanged(self, folder: Path) -> None:
        path = self.file.path
        if folder.resolve() == path.parent.resolve() and read_job(path, to_plan=True).text != self.file.text:
            raise DataError(f"{path} was changed while it was planned: nothing is written; plan it again")


def _picture_names(file: JobFile) -> dict[str, str]:
    """Of the runs; where two would be called the same, the second has its number, too."""
    from hosewright.documents.folder import slug

    names: dict[str, str] = {}
    for place, request in enumerate(file.requests, start=1):
        name = f"{slug(request.name)}.svg"
        names[request.name] = f"{slug(request.name)}-{place}.svg" if name in names.values() else name
    return names


def _named_files(file: JobFile, folder: Path) -> dict[str, bytes]:
    """What the job names lies beside it, and so it does beside the planned job."""
    root = file.path.parent
    if folder.resolve() == root.resolve():
        return {}
    try:
        return {name: (root / name).read_bytes() for name in (one.replace("\\", "/") for one in file.named)}
    except OSError as error:
        raise DataError(f"{error.filename}: cannot be read any more: {error.strerror}") from error


def check_target(file: JobFile, folder: Path) -> None:
    """Make sure that a plan can be saved, before it is made.

    Raises
    ------
    DataError
        The folder cannot be written, or a file that the job names has the name of one that is to be written.
    """
    from hosewright.documents.folder import check_writable

    own = [file.path.name, PLAN, *_picture_names(file).values()]
    clash = [name for name in file.named if name in own]
    if clash:
        raise DataError(f"the job names a file '{clash[0]}', and so does the plan; give the job's file another name")
    check_writable(folder, [*own, *file.named])


def check_file_target(path: Path) -> None:
    """Make sure that a file can be written, before what goes into it is made.

    Raises
    ------
    DataError
        It cannot.
    """
    from hosewright.documents.folder import check_file_writable

    check_file_writable(path)


def plan_job(
    file: JobFile, run: str | None = None, progress: Progress | None = None, over: Over | None = None
) -> Planned:
    """Choose an assembly for every run of a job, or for the one named beside the others as they are.

    Parameters
    ----------
    file
        Read to be planned.
    run
        Name of the run.
    progress
        Is told what is going on.
    over
        Whether to stop; the best so far is kept.

    Raises
    ------
    HosewrightError
        The machine cannot take a pose, or there is no such run.
    """
    names = [request.name for request in file.requests]
    _known(run, names, file)
    if run is None:
        return _as_written(plan(file.job, file.requests, file.catalog, progress, over), names, file, progress)
    alone = [request for request in file.requests if request.name == run]
    around = _readable(file.text, file)
    if around is None:  # the run itself may be what is missing
        made = _as_written(plan(file.job, alone, file.catalog, progress, over), [run], file, progress)
        around = _readable(made.text, file)
        if around is None or len(names) == 1:
            return made if len(names) == 1 else _warned(made, JobWarning(Sentence.of("warnings.alone", run=run), run))
    lying = {other.name: other for other in around.job.runs if other.name != run}
    requests = [request.fixed(lying[request.name]) if request.name in lying else request for request in file.requests]
    return _as_written(plan(file.job, requests, file.catalog, progress, over), [run], file, progress)


def _readable(text: str, file: JobFile) -> JobFile | None:
    """The job to be checked; ``None`` where a run has no assembly yet."""
    try:
        return read_text(text, file.path, file.catalog)
    except JobError:
        return None


def _warned(planned: Planned, warning: JobWarning) -> Planned:
    job = planned.result.job
    warnings = (*job.warnings, warning)
    return replace(planned, result=replace(planned.result, job=replace(job, warnings=warnings)))


def _as_written(made: Plan, names: Sequence[str], file: JobFile, progress: Progress | None) -> Planned:
    """The plan of the runs named with the findings of what is written: lengths and angles as the file holds them."""
    runs = tuple(one for one in made.runs if one.request.name in names)
    chosen = {one.request.name: settled(one.result.run, one.request) for one in runs if one.result is not None}
    machine, wanted = file.job.machine, {one.request.name: one.request for one in runs}
    tables = {name: assembly_table(run, machine, wanted[name].number) for name, run in chosen.items()}
    for one in runs:
        if one.request.name in tables:
            tables[one.request.name]["limits"] = limits_list(one.cases)
    text = write_plan(file, tables)
    whole = _readable(text, file)
    job = replace(file.job, runs=tuple(chosen.values())) if whole is None else whole.job
    result = made.result
    if job.runs != tuple(one.run for one in result.runs):
        result = check(job, chosen, progress)
    result = replace(result, job=job, runs=tuple(one for one in result.runs if one.run.name in chosen))
    runs = tuple(replace(one, result=result.run(one.request.name)) if one.result else one for one in runs)
    order = tuple(name for name in made.order if name in names)
    missing = {one.request.name: _nearest(one, file) for one in runs if one.result is None}
    return Planned(result, runs, order, made.complete, file, text, missing)


def _nearest(run: RunPlan, file: JobFile) -> str:
    """Why the catalog holds nothing for a run, and what comes nearest."""
    if not run.complete:
        return "The search was stopped before it came upon an assembly for this run."
    sentence = "No hose of the catalog does for this run."
    finding = nearest_in_pressure(run.request, file.job, file.catalog)
    if finding is None:
        return f"{sentence} No hose of any size has ends that mate with both ports."
    if finding.verdict is Verdict.FAIL:
        return f"{sentence} Nearest in pressure: {finding.text}."
    return sentence


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
        file = _to_plan(path, error)
    planned = plan_job(file, run, progress)
    without = next(iter(planned.nearest.items()), None)
    if without is not None:
        raise ArgumentError(f"run '{without[0]}' of {path.name} has no assembly to make papers of. {without[1]}")
    whole = read_text(planned.text, path, file.catalog, to_plan=run is not None)
    read = whole if run is None else _alone(whole, run)
    if read is None:
        raise ArgumentError(f"not all runs of {path.name} have an assembly; plan them first: hosewright plan {path}")
    return check_job(read, run, progress), [(path.name, planned.text.encode())]


def _to_plan(path: Path, error: JobError) -> JobFile:
    """A job that cannot be checked, read to be planned; where that cannot be either, the fewer problems are told."""
    try:
        return read_job(path, load_catalog(), to_plan=True)
    except JobError as other:
        raise min(other, error, key=lambda one: len(one.problems)) from None


def report_figures(units: str | None = None) -> Figures:
    """Writes the numbers of a report.

    Parameters
    ----------
    units
        ``"metric"`` or ``"us"``; without them those of the user's settings, if there are any.

    Raises
    ------
    HosewrightError
        There is no such system of units, or the user's settings cannot be used.
    """
    from hosewright.settings import read_settings, read_word

    return Figures(read_settings().units if units is None else read_word("units", units))


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


def list_catalog(
    kind: str, words: Sequence[str], own: Sequence[Path] = (), units: str | None = None
) -> tuple[Table, str]:
    """What the catalog holds of a kind, as a table, and the catalog's version.

    Parameters
    ----------
    kind, words
        As for :func:`hosewright.documents.catalog_table.catalog_table`.
    own
        Files of own data.
    units
        As for :func:`report_figures`.

    Raises
    ------
    HosewrightError
        There is no such kind or system of units, or a file cannot be used.
    """
    from hosewright.documents.catalog_table import catalog_table

    catalog = load_catalog()
    for path in own:
        catalog = catalog.with_own(path)
    return catalog_table(kind, words, catalog, report_figures(units)), catalog.version


def write_text(path: Path, text: str) -> None:
    """Write a file whole or not at all; a pipe or a device as it comes, and what a link leads to.

    Raises
    ------
    DataError
        It cannot be written.
    """
    from hosewright.documents.folder import write_file

    write_file(path, text.encode("utf-8"))


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
