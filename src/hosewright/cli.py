"""The command line: parse, call, show."""

from __future__ import annotations

import gc
import io
import logging
import math
import signal
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from hosewright import __version__
from hosewright.errors import ArgumentError, HosewrightError

if TYPE_CHECKING:
    from rich.console import Console

    from hosewright.app import Planned

JsonFile = Annotated[Path | None, typer.Option("--json", help="Write the result as JSON to this file; - prints it.")]
UnitsWord = Annotated[
    str | None, typer.Option("--units", help='"metric" or "us"; else as the settings of the shop say.')
]

BAD_INPUT = 2
SOMETHING_FAILS = 1
QUIT = 130

program = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    rich_markup_mode="markdown",  # or else paragraphs keep the line breaks of this file
    pretty_exceptions_enable=False,
    help="Hydraulic hose assemblies: chosen, proved and documented by computing the real shape of the hose.",
)


def _show_version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"hosewright {__version__}")
        raise typer.Exit


@program.callback()
def _options(
    version: Annotated[
        bool, typer.Option("--version", help="Print the version and stop.", callback=_show_version, is_eager=True)
    ] = False,
) -> None:
    del version  # dealt with before any command


@program.command()
def warmup() -> None:
    """Compile the solver for this machine; needed once, and done by itself when it is first used."""
    from hosewright.mechanics import warm_up

    warm_up()
    typer.echo("The solver is ready.")


@program.command()
def demo(
    out: Annotated[Path, typer.Option("-o", "--out", help="Folder for the picture.")] = Path("out"),
) -> None:
    """Carry one hose through a swinging motion of 200 poses; prints a table and draws a picture."""
    from hosewright import app

    report = app.demonstrate(out)
    typer.echo(report)


@program.command()
def check(
    job: Annotated[Path | None, typer.Argument(help="Job file (TOML).")] = None,
    json: JsonFile = None,
    run: Annotated[str | None, typer.Option("--run", help="Check this run alone.")] = None,
    all_findings: Annotated[bool, typer.Option("--all", help="List what passes, too.")] = False,
    explain: Annotated[
        str | None, typer.Option("--explain", help="Say what a rule means, its limit and its source.")
    ] = None,
    units: UnitsWord = None,
) -> None:
    """Check every routing rule on the runs of a job.

    Exit status 0: all pass (advice and unknown are counted in the last line); 1: something fails or was not solved;
    2: the input cannot be used.
    """
    if explain is not None:
        from hosewright import app

        typer.echo(app.explain_rule(explain))
        return
    if job is None:
        raise ArgumentError("which job? Give a job file: hosewright check JOB.toml ('hosewright new' writes one)")
    raise typer.Exit(_check(job, json, run, all_findings, units))


def _check(job: Path, json: Path | None, run: str | None, all_findings: bool, units: str | None) -> int:
    from rich.console import Console

    from hosewright import app
    from hosewright.documents import result_json, terminal
    from hosewright.documents.assembly_numbers import run_numbers

    figures = app.report_figures(units)
    _check_target(json)
    with Console(stderr=True).status("reading") as status:
        checked = app.check_file(job, run, lambda text: status.update(text))
    file = checked.file
    numbers = run_numbers(file, checked.result)
    text = result_json.as_text(checked.result, job.name, file.hash, checked.catalog_version, numbers, file.limits)
    if _prints(json):
        typer.echo(text, nl=False)
    else:
        terminal.show(checked.result, Console(), passes=all_findings, figures=figures)
        if json is not None:
            app.write_text(json, text)
    return 0 if checked.result.passed else SOMETHING_FAILS


def _prints(json: Path | None) -> bool:
    """Whether the result as JSON is all that is to be printed."""
    return str(json) in ("-", "/dev/stdout")


def _check_target(json: Path | None) -> None:
    """Tell that a file cannot be written before the work that goes into it."""
    from hosewright import app

    if json is not None and not _prints(json):
        app.check_file_target(json)


@program.command()
def plan(
    job: Annotated[Path, typer.Argument(help="Job file (TOML).")],
    out: Annotated[
        Path | None, typer.Option("-o", "--out", help="Folder for the planned job, plan.json and pictures.")
    ] = None,
    run: Annotated[
        str | None, typer.Option("--run", help="Plan this run alone, beside the others as they are.")
    ] = None,
    time_limit: Annotated[
        float | None, typer.Option("--time-limit", help="Seconds of search; the best so far is then checked and kept.")
    ] = None,
    json: Annotated[
        Path | None, typer.Option("--json", help="Write the plan as JSON to this file; - prints it.")
    ] = None,
    everything: Annotated[
        bool, typer.Option("--all", help="List every kind of hose and ends that was refused.")
    ] = False,
    units: UnitsWord = None,
) -> None:
    """Choose hose, ends, length and angle for every run of a job, so that all rules pass, at the limits too.

    The folder gets the job with an assembly table for each run (your own lines stay as they are), the files that the
    job names, plan.json, and a picture of each run; files of these names there are replaced. Ctrl-C ends the search and
    keeps the best so far; once more quits.

    Exit status 0: all runs are planned and pass; 1: something fails, is not solved or does not hold at its limits;
    2: the input cannot be used, nothing is written; 130: quit, nothing is written.
    """
    if time_limit is not None and not time_limit > 0.0:
        raise ArgumentError(f"the time limit is {time_limit:g} s; give more than 0")
    try:
        status = _plan(job, out, run, _Search(time_limit), json, everything, units)
    except KeyboardInterrupt:
        typer.echo("Quit; nothing was written.", err=True)
        status = QUIT
    raise typer.Exit(status)


class _Search:
    """Whether the search is over: its time is up, or somebody pressed Ctrl-C."""

    def __init__(self, seconds: float | None) -> None:
        self.end = math.inf if seconds is None else time.monotonic() + seconds
        self.interrupted = False

    def __call__(self) -> bool:
        return self.interrupted or time.monotonic() >= self.end

    @contextmanager
    def interruptible(self, console: Console) -> Iterator[None]:
        """The first Ctrl-C ends the search, the second one quits."""

        def interrupt(_signal: int, _frame: object) -> None:
            if self.interrupted:
                raise KeyboardInterrupt
            self.interrupted = True
            console.print("Stopping: the best so far is checked and kept. Ctrl-C once more quits.")

        before = signal.signal(signal.SIGINT, interrupt)
        try:
            yield
        finally:
            signal.signal(signal.SIGINT, before)


def _plan(
    job: Path,
    out: Path | None,
    run: str | None,
    search: _Search,
    json: Path | None,
    everything: bool,
    units: str | None,
) -> int:
    from rich.console import Console

    from hosewright import app
    from hosewright.documents import plan_terminal
    from hosewright.jobfile import read_job

    figures = app.report_figures(units)
    file = read_job(job, to_plan=True)
    if out is not None:
        app.check_target(file, out)
    _check_target(json)
    messages = Console(stderr=True)
    with search.interruptible(messages), _steps(messages) as step:
        planned = app.plan_job(file, run, step, search)
        step("writing")
        files = [] if out is None else planned.save(out)
    if _prints(json):
        typer.echo(planned.json(), nl=False)
    else:
        plan_terminal.show(planned, planned.nearest, Console(), everything=everything, figures=figures)
        if json is not None:
            app.write_text(json, planned.json())
        typer.echo(_written(files, planned))
    return 0 if planned.passed else SOMETHING_FAILS


@contextmanager
def _steps(console: Console) -> Iterator[Callable[[str], None]]:
    """Shows the current step and the time; nothing where the output is not a terminal."""
    from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

    columns = (SpinnerColumn(), TextColumn("{task.description}", markup=False), TimeElapsedColumn())
    with Progress(*columns, console=console, transient=True, disable=not console.is_terminal) as progress:
        task = progress.add_task("reading", total=None)
        yield lambda text: progress.update(task, description=text)


def _written(files: Sequence[Path], planned: Planned) -> str:
    if not files:
        return "Nothing was written; -o FOLDER writes the planned job."
    job = next(path for path in files if path.name == planned.file.path.name)
    check = f"; to check the planned job: hosewright check {job}" if not planned.nearest else ""
    return f"{len(files)} files in {job.parent}{check}"


@program.command()
def sheets(
    job: Annotated[Path, typer.Argument(help="Job file (TOML).")],
    out: Annotated[Path, typer.Option("-o", "--out", help="Folder for the papers.")],
    settings: Annotated[
        Path | None, typer.Option("--settings", help="Settings of the shop (TOML); else those of the user.")
    ] = None,
    day: Annotated[
        str | None, typer.Option("--date", help="Date on the papers, such as 2026-03-01; else that of the job.")
    ] = None,
    run: Annotated[str | None, typer.Option("--run", help="Papers of this run alone.")] = None,
    units: UnitsWord = None,
    language: Annotated[str | None, typer.Option("--language", help='"en" or "de"; else as the settings say.')] = None,
    paper: Annotated[str | None, typer.Option("--paper", help='"a4" or "letter"; else as the settings say.')] = None,
) -> None:
    """Check a job and write its papers: build sheets with drawings, tags and the rest.

    Runs that have no assembly yet are planned first; the folder then holds the planned job, too. It is written whole
    or not at all.

    Exit status 0: all may be built; 1: something fails, was not solved, is out of date or does not hold at its limits:
    the papers are written and say DO NOT BUILD; 2: the input cannot be used, nothing is written.
    """
    words = {"units": units, "language": language, "paper": paper}
    raise typer.Exit(_sheets(job, out, settings, None if day is None else _date(day), run, words))


def _date(text: str) -> date:
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise ArgumentError(f"the date is '{text}': write year, month and day, such as 2026-03-01") from None


def _sheets(
    job: Path, out: Path, settings: Path | None, day: date | None, run: str | None, words: dict[str, str | None]
) -> int:
    from rich.console import Console

    from hosewright import app
    from hosewright.documents import terminal

    with Console(stderr=True).status("reading") as status:
        papers = app.sheets(job, out, settings, day, run, lambda text: status.update(text), **words)
    for sentence in papers.missing:
        typer.echo(f"Not made yet, {sentence}")
    if papers.checked.result.runs or not papers.checked.file.samples:
        typer.echo(terminal.summary(papers.checked.result))
    typer.echo(f"{len(papers.files)} files in {out}")
    for sentence in papers.stopped:
        typer.echo(f"DO NOT BUILD {sentence}")
    return SOMETHING_FAILS if papers.stopped or not papers.checked.result.passed else 0


@program.command()
def new(
    job: Annotated[Path, typer.Argument(help="Job file to write.")],
) -> None:
    """Write a commented starter job; an existing file is left alone."""
    from hosewright import app
    from hosewright.jobfile import starter

    if job.exists():
        raise ArgumentError(f"{job} exists already; give another name, it is not overwritten")
    app.write_text(job, starter())
    typer.echo(f"{job} is written. Change it to your machine, then: hosewright check {job}")


@program.command()
def identify(
    readings: Annotated[
        list[str] | None,
        typer.Argument(help='Diameter, or all readings in words: "male, 20.9 mm, 14 threads per inch, parallel".'),
    ] = None,
    male: Annotated[
        bool | None, typer.Option("--male/--female", help="Thread outside, or inside.", show_default=False)
    ] = None,
    pitch: Annotated[str | None, typer.Option("--pitch", help="Crest to crest, in mm.")] = None,
    tpi: Annotated[str | None, typer.Option("--tpi", help="Threads per inch.")] = None,
    taper: Annotated[
        bool | None, typer.Option("--taper/--parallel", help="Tapered, or parallel.", show_default=False)
    ] = None,
    seat: Annotated[
        str | None, typer.Option("--seat", help='"37 flare", "60 cone", "24 cone", "30 flare", "flat" or "none".')
    ] = None,
    recess: Annotated[str | None, typer.Option("--recess", help="Bore for the tube in a 24 degree cone.")] = None,
    bolts: Annotated[
        str | None,
        typer.Option("--bolts", help='Bolts of a flange, "47.6 x 22.2"; the diameter is its head.'),
    ] = None,
    json: JsonFile = None,
) -> None:
    """Say what a connection in the hand is, from caliper, pitch gauge and eye.

    The diameter is taken over a male thread or inside a female one; a bare number is in mm, "13/16 in" in inches. Exit
    status 0: something matches; 1: nothing does, the nearest sizes are named; 2: the readings cannot be used.
    """
    from rich.console import Console

    from hosewright import app
    from hosewright.documents import identified

    _check_target(json)
    half = None if male is None else "male" if male else "female"
    given = {"half": half, "pitch": pitch, "threads_per_inch": tpi, "tapered": taper, "seat": seat, "recess": recess}
    found, catalog_version = app.identify_end(" ".join(readings or []), given, bolts)
    text = identified.as_text(found, catalog_version)
    if _prints(json):
        typer.echo(text, nl=False)
    else:
        identified.show(found, Console())
        if json is not None:
            app.write_text(json, text)
    if not found.matches:
        raise typer.Exit(SOMETHING_FAILS)


@program.command(context_settings={"ignore_unknown_options": True})  # so that -8 is a size
def catalog(
    kind: Annotated[str, typer.Argument(help="hoses, ends, adapters, connections or fluids.")],
    words: Annotated[list[str] | None, typer.Argument(help='Words that a line must have: "2SC -8".')] = None,
    own: Annotated[list[Path] | None, typer.Option("--own", help="Own data (CSV), as a job names it.")] = None,
    units: UnitsWord = None,
) -> None:
    """List what the catalog holds, each line with the source of its figures and how far it can be trusted.

    A figure that is not known is shown as ?. Exit status 0; 1: no line has the words; 2: there is no such kind.
    """
    from hosewright import app
    from hosewright.documents.catalog_table import missed
    from hosewright.documents.terminal import counted

    table, version = app.list_catalog(kind, words or [], own or [], units)
    if not table.rows:
        typer.echo(missed(table, words or []))
        raise typer.Exit(SOMETHING_FAILS)
    typer.echo(f"{table}\n{counted(len(table.rows), kind.casefold()[:-1])}; catalog {version}")


@program.command()
def schema() -> None:
    """Print the JSON Schema of job files, for editors."""
    import json

    from hosewright.jobfile import schema as job_schema

    typer.echo(json.dumps(job_schema(), indent=2, ensure_ascii=False))


def main() -> None:
    """Run the command line; what a user can mend is said in a sentence, with exit status 2."""
    logging.basicConfig(level=logging.WARNING, format="%(message)s", stream=sys.stderr)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")  # a code page without some sign must not end the command
    gc.disable()  # a command lives for seconds, and looking for cycles takes a tenth of them
    try:
        program()
    except HosewrightError as error:
        typer.echo(f"hosewright: {error}", err=True)
        sys.exit(BAD_INPUT)
    finally:
        gc.freeze()  # nor is there anything to collect on the way out
