"""Planning the runs of a job, and saving the plan."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from hosewright.app.reading import known, readable
from hosewright.checks.check import Progress, check
from hosewright.checks.finding import Verdict
from hosewright.checks.run import JobWarning
from hosewright.errors import DataError
from hosewright.jobfile import JobFile, assembly_table, limits_list, read_job, settled, write_plan
from hosewright.search.candidates import nearest_in_pressure
from hosewright.search.plan import Plan, RunPlan, plan
from hosewright.search.seek import Over
from hosewright.words import Sentence

PLAN = "plan.json"


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
    known(run, names, file)
    if run is None:
        return _as_written(plan(file.job, file.requests, file.catalog, progress, over), names, file, progress)
    alone = [request for request in file.requests if request.name == run]
    around = readable(file.text, file)
    if around is None:  # the run itself may be what is missing
        made = _as_written(plan(file.job, alone, file.catalog, progress, over), [run], file, progress)
        around = readable(made.text, file)
        if around is None or len(names) == 1:
            return made if len(names) == 1 else _warned(made, JobWarning(Sentence.of("warnings.alone", run=run), run))
    lying = {other.name: other for other in around.job.runs if other.name != run}
    requests = [request.fixed(lying[request.name]) if request.name in lying else request for request in file.requests]
    return _as_written(plan(file.job, requests, file.catalog, progress, over), [run], file, progress)


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
    whole = readable(text, file)
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
