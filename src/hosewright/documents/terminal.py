"""The result of a check on the terminal: for each run a compact list, worst first."""

from __future__ import annotations

import io
from collections.abc import Callable, Mapping

from rich.console import Console, Group, RenderableType
from rich.padding import Padding
from rich.text import Text

from hosewright.checks.check import CheckResult, RunResult
from hosewright.checks.finding import Finding, Verdict
from hosewright.documents.joint_values import read_pose, slides
from hosewright.machine import Machine
from hosewright.words import US, Figures, Sentence, Texts, as_data, read, read_difference, reading, whole_mm, written

COLOURS = {Verdict.FAIL: "bold red", Verdict.UNKNOWN: "magenta", Verdict.ADVICE: "yellow", Verdict.PASS: "green"}
CAUTION = (
    "Depressurise and lock out before you touch a line; never feel for leaks by hand: oil injected under the skin is "
    "an emergency. The makers' data and local rules prevail; a competent person approves the result."
)

NOTHING = (
    "The job has no run, so that nothing was checked: add a [[run]] between two ports; for papers of samples alone "
    "take 'hosewright sheets'."
)

METRIC = Figures()

TEXT_WIDTH = 100
"""Columns of a report as plain text."""


class ReadableResult(CheckResult):
    """A result that prints as the report."""

    def __str__(self) -> str:
        """The report as plain text."""
        return as_text(lambda console: show(self, console))

    def __repr__(self) -> str:
        """The last line of the report alone."""
        return f"<CheckResult: {summary(self)}>"


def as_text(shown: Callable[[Console], None]) -> str:
    """What is shown on a console, as plain text."""
    text = io.StringIO()
    shown(Console(file=text, width=TEXT_WIDTH, color_system=None))
    return "\n".join(line.rstrip() for line in text.getvalue().strip("\n").splitlines())


def show(result: CheckResult, console: Console, *, passes: bool = False, figures: Figures = METRIC) -> None:
    """Print a result: findings that do not pass, or with ``passes`` all of them."""
    for warning in result.job.warnings:
        console.print(Text(f"Warning: {warning}", style="yellow"))
    if not result.job.runs:
        console.print(Text(NOTHING, style="bold"))
        return
    for run in result.runs:
        console.print(_run(run, result.job.machine, figures, passes=passes))
    console.print(Text("Not checked: " + "; ".join(result.not_checked) + ".", style="dim"))
    console.print(Text(CAUTION, style="dim"))
    console.print(Text(summary(result), style="bold"))


def summary(result: CheckResult) -> str:
    """Last line: how many findings of each verdict."""
    if not result.job.runs:
        return NOTHING
    counts = {verdict: sum(run.count(verdict) for run in result.runs) for verdict in Verdict}
    unsolved = sum(not run.solved.solved for run in result.runs)
    parts = [f"{counts[Verdict.FAIL]} fail", f"{counts[Verdict.UNKNOWN]} unknown", f"{counts[Verdict.ADVICE]} advice"]
    parts.append(f"{counts[Verdict.PASS]} pass")
    if unsolved:
        parts.insert(0, f"{unsolved} runs not solved")
    return f"{counted(len(result.runs), 'run')} in {counted(len(result.poses), 'pose')}: " + ", ".join(parts) + "."


def counted(number: int, what: str) -> str:
    """A number of things, such as ``"2 runs"``."""
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


def _run(run: RunResult, machine: Machine, figures: Figures, *, passes: bool) -> RenderableType:
    assembly = run.run.assembly
    heading = Text(f"\n{run.run.name}", style="bold")
    overall, cut = (plain(figures.cut(whole_mm(1e3 * one))) for one in (assembly.overall_length, assembly.cut_length))
    heading.append(
        f"   {assembly.hose.name}, {assembly.a.form.name} / {assembly.b.form.name}, overall {overall}, cut {cut}",
        style="not bold",
    )
    shown = [finding for finding in run.findings if passes or finding.verdict is not Verdict.PASS]
    passed = run.count(Verdict.PASS)
    if not shown:
        return Group(heading, Text(f"  all {passed} findings pass", style="green"))
    rest = [] if passes else [Text(f"  {passed} more pass", style="dim")]
    return Group(heading, *(part for finding in shown for part in entry(finding, machine, figures)), *rest)


def entry(finding: Finding, machine: Machine, figures: Figures) -> list[RenderableType]:
    """One finding with its figures, what it says and its remedy."""
    name = f"{finding.rule}, {finding.subject}" if finding.subject else finding.rule
    line = Text(f"  {finding.verdict:8}", style=COLOURS[finding.verdict])
    line.append(f"{name:38} ", style="not bold default")
    line.append(measured(finding, figures), style="not bold default")
    text = sentence(finding.said, figures)
    where = _where(finding, machine, figures)
    shown = text[:1].upper() + text[1:]
    note = Text(f"{shown} [{where}]" if where else shown, style="dim")
    lines: list[RenderableType] = [line, Padding(note, (0, 0, 0, 10))]
    if finding.remedy is not None:
        style = "cyan" if finding.remedy.verified else "dim"
        lines.append(Padding(Text(f"→ {sentence(finding.remedy.said, figures)}", style=style), (0, 0, 0, 10)))
    return lines


def sentence(said: Sentence, figures: Figures) -> str:
    """A sentence in English, in the units of the report."""
    return plain(written(as_data(said), Texts.load("en"), figures))


def plain(text: str) -> str:
    """A text that lines may be broken in."""
    return text.replace("\N{NO-BREAK SPACE}", " ")


def measured(finding: Finding, figures: Figures) -> str:
    """Measure, what bounds it, and the margin."""
    unit = reading(finding.kind).unit
    measure = read(finding.measure, finding.kind)
    advises = finding.limit is None or (finding.verdict is Verdict.ADVICE and finding.advice_limit is not None)
    bound = read(finding.advice_limit if advises else finding.limit, finding.kind)
    if measure is None and bound is None:
        return ""
    sign = "≥" if finding.at_least else "≤"
    shown, limit = ("?" if one is None else figures.number(one, unit) for one in (measure, bound))
    margin = read_difference(finding.margin, finding.kind)
    text = f"{shown} {sign} {limit} {figures.unit(unit)}".rstrip()
    return text if margin is None or advises else f"{text}  ({difference(margin, unit, figures)})"


def difference(value: float, unit: str, figures: Figures) -> str:
    """A margin with its sign, without its unit; that of temperatures has no zero to shift."""
    if unit == "°C" and figures.system == "us":
        return f"{value * US[unit].factor:+.0f}"
    return f"{'+' if value >= 0.0 else ''}{figures.number(value, unit)}"


def _where(finding: Finding, machine: Machine, figures: Figures) -> str:
    place = finding.place
    return ", ".join(part for part in (pose_text(place.pose, machine, figures), place.state) if part)


def pose_text(pose: Mapping[str, float], machine: Machine, figures: Figures) -> str:
    """Joint values as the job file has them: bare degrees and mm; lengths in other units carry these."""
    lengths = set() if figures.system == "metric" else slides(machine)
    values = read_pose(pose, machine).items()
    return ", ".join(
        f"{name} {plain(figures(value, 'mm')) if name in lengths else f'{value:g}'}" for name, value in values
    )
