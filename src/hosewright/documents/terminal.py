"""The result of a check on the terminal: a compact table for each run, worst first."""

from __future__ import annotations

from rich.console import Console, Group, RenderableType
from rich.table import Table
from rich.text import Text

from hosewright.checks.check import CheckResult, RunResult
from hosewright.checks.finding import Finding, Verdict
from hosewright.documents.quantities import read, read_difference, read_pose, reading
from hosewright.machine import Machine

COLOURS = {Verdict.FAIL: "bold red", Verdict.UNKNOWN: "magenta", Verdict.ADVICE: "yellow", Verdict.PASS: "green"}
CAUTION = (
    "Depressurise and lock out before you touch a line; never feel for leaks by hand: oil injected under the skin is "
    "an emergency. The makers' data and local rules prevail; a competent person approves the result."
)


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
    counts = {verdict: sum(run.count(verdict) for run in result.runs) for verdict in Verdict}
    unsolved = sum(not run.solved.solved for run in result.runs)
    parts = [f"{counts[Verdict.FAIL]} fail", f"{counts[Verdict.UNKNOWN]} unknown", f"{counts[Verdict.ADVICE]} advice"]
    parts.append(f"{counts[Verdict.PASS]} pass")
    if unsolved:
        parts.insert(0, f"{unsolved} runs not solved")
    return f"{len(result.runs)} runs in {len(result.poses)} poses: " + ", ".join(parts) + "."


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
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), show_edge=False, header_style="dim")
    for name, justify in (
        ("", "left"),
        ("rule", "left"),
        ("measure", "right"),
        ("limit", "right"),
        ("margin", "right"),
    ):
        table.add_column(name, justify=justify, no_wrap=True)  # type: ignore[arg-type]
    table.add_column("what was found, and where it is worst")
    for finding in shown:
        table.add_row(*_row(finding, machine))
    rest = "" if passes else f"  {passed} more pass"
    return Group(heading, table, Text(rest, style="dim"))


def _row(finding: Finding, machine: Machine) -> list[RenderableType]:
    how = reading(finding.kind)
    margin = read_difference(finding.margin, finding.kind)
    bound = finding.advice_limit if finding.limit is None else finding.limit
    text = Text(finding.text[:1].upper() + finding.text[1:])
    where = _where(finding, machine)
    if where:
        text.append(f" [{where}]", style="dim")
    if finding.remedy is not None:
        text.append(f"\n→ {finding.remedy.text}", style="cyan" if finding.remedy.verified else "dim")
    return [
        Text(str(finding.verdict), style=COLOURS[finding.verdict]),
        Text(f"{finding.rule}\n{finding.subject}" if finding.subject else finding.rule),
        _figure(read(finding.measure, finding.kind), how.unit),
        _figure(read(bound, finding.kind), how.unit),
        "" if margin is None else f"{margin:+g}",
        text,
    ]


def _figure(value: float | None, unit: str) -> str:
    return "?" if value is None else f"{value:g} {unit}".strip()


def _where(finding: Finding, machine: Machine) -> str:
    place = finding.place
    parts = [f"{name} {value:g}" for name, value in read_pose(place.pose, machine).items()]
    if place.state:
        parts.append(place.state)
    return ", ".join(parts)
