"""The result of a check on the terminal: for each run a compact list, worst first."""

from __future__ import annotations

import io
from collections.abc import Callable

from rich.console import Console, Group, RenderableType
from rich.padding import Padding
from rich.text import Text

from hosewright.checks.check import CheckResult, RunResult
from hosewright.checks.finding import Finding, Verdict
from hosewright.documents.joint_values import read_pose
from hosewright.machine import Machine
from hosewright.words import read, read_difference, reading

COLOURS = {Verdict.FAIL: "bold red", Verdict.UNKNOWN: "magenta", Verdict.ADVICE: "yellow", Verdict.PASS: "green"}
CAUTION = (
    "Depressurise and lock out before you touch a line; never feel for leaks by hand: oil injected under the skin is "
    "an emergency. The makers' data and local rules prevail; a competent person approves the result."
)


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


def show(result: CheckResult, console: Console, *, passes: bool = False) -> None:
    """Print a result: findings that do not pass, or with ``passes`` all of them."""
    for warning in result.job.warnings:
        console.print(Text(f"Warning: {warning}", style="yellow"))
    for run in result.runs:
        console.print(_run(run, result.job.machine, passes=passes))
    console.print(Text("Not checked: " + "; ".join(result.not_checked) + ".", style="dim"))
    console.print(Text(CAUTION, style="dim"))
    console.print(Text(summary(result), style="bold"))


def summary(result: CheckResult) -> str:
    """Last line: how many findings of each verdict."""
    if not result.job.runs:
        return "The job has no run: nothing was checked (samples go to 'hosewright sheets')."
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


def _run(run: RunResult, machine: Machine, *, passes: bool) -> RenderableType:
    assembly = run.run.assembly
    heading = Text(f"\n{run.run.name}", style="bold")
    heading.append(
        f"   {assembly.hose.name}, {assembly.a.form.name} / {assembly.b.form.name}, overall "
        f"{assembly.overall_length * 1e3:.0f} mm, cut {assembly.cut_length * 1e3:.0f} mm",
        style="not bold",
    )
    shown = [finding for finding in run.findings if passes or finding.verdict is not Verdict.PASS]
    passed = run.count(Verdict.PASS)
    if not shown:
        return Group(heading, Text(f"  all {passed} findings pass", style="green"))
    rest = [] if passes else [Text(f"  {passed} more pass", style="dim")]
    return Group(heading, *(part for finding in shown for part in entry(finding, machine)), *rest)


def entry(finding: Finding, machine: Machine) -> list[RenderableType]:
    """One finding with its figures, what it says and its remedy."""
    name = f"{finding.rule}, {finding.subject}" if finding.subject else finding.rule
    line = Text(f"  {finding.verdict:8}", style=COLOURS[finding.verdict])
    line.append(f"{name:38} ", style="not bold default")
    line.append(figures(finding), style="not bold default")
    text = finding.text[:1].upper() + finding.text[1:]
    where = _where(finding, machine)
    note = Text(f"{text} [{where}]" if where else text, style="dim")
    lines: list[RenderableType] = [line, Padding(note, (0, 0, 0, 10))]
    if finding.remedy is not None:
        style = "cyan" if finding.remedy.verified else "dim"
        lines.append(Padding(Text(f"→ {finding.remedy.text}", style=style), (0, 0, 0, 10)))
    return lines


def figures(finding: Finding) -> str:
    """Measure, what bounds it, and the margin."""
    unit = reading(finding.kind).unit
    measure = read(finding.measure, finding.kind)
    advises = finding.limit is None or (finding.verdict is Verdict.ADVICE and finding.advice_limit is not None)
    bound = read(finding.advice_limit if advises else finding.limit, finding.kind)
    if measure is None and bound is None:
        return ""
    sign = "≥" if finding.at_least else "≤"
    margin = read_difference(finding.margin, finding.kind)
    shown = f"{'?' if measure is None else f'{measure:g}'} {sign} {'?' if bound is None else f'{bound:g}'} {unit}"
    return shown if margin is None or advises else f"{shown}  ({margin:+g})"


def _where(finding: Finding, machine: Machine) -> str:
    place = finding.place
    parts = [f"{name} {value:g}" for name, value in read_pose(place.pose, machine).items()]
    if place.state:
        parts.append(place.state)
    return ", ".join(parts)
