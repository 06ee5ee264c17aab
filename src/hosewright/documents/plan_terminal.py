"""A plan on the terminal: what to build, how much room there is, what else would do and why the rest would not."""

from __future__ import annotations

import math
import textwrap
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from rich.console import Console, RenderableType
from rich.padding import Padding
from rich.text import Text

from hosewright.assembly import Assembly, End
from hosewright.checks import slack
from hosewright.checks.check import RunResult
from hosewright.checks.finding import Finding, Verdict
from hosewright.documents.terminal import CAUTION, METRIC, as_text, counted, difference, entry, measured, pose_text
from hosewright.machine import Machine
from hosewright.search.bounds import Bound
from hosewright.search.candidates import Refused
from hosewright.search.coarse import centre_radius
from hosewright.search.plan import Alternative, Plan, RunPlan
from hosewright.search.robust import AXIS_RESERVE, Case
from hosewright.search.seeds import family
from hosewright.search.trial import scale_of
from hosewright.words import Figures, Texts, read, read_difference, reading, whole_mm

TOGETHER = "\N{NO-BREAK SPACE}"
"""Between a figure and its unit until the lines are broken."""
LEAST_WIDTH = 30
LABELS = 15
"""Columns of the labels, indent included."""
MAIN_RULES = (
    "slack", "bend radius", "straight at the end", "twist in motion", "twist as built", "clearance", "end clearance",
    "pressure",
)  # fmt: skip
"""Rules whose least margins are told."""
WEIGHED = {
    "stiffness other than the nominal one": "stiffness",
    "ports off by their measuring error, in radius and clearance": "ports",
}
"""What a check leaves out and a plan tries, by the kind of case that does."""
KINDS = {"ports": "ports off"}
"""Kinds of case whose name says too little."""
IN_THE_WAY = "end clearance"
PREFERENCE = "preference"
MOST_IN_THE_WAY = 3
LONG = 2.0
"""A hose that is so many times as long as it need be must have a reason that is told."""

NO_PROOF = (
    "Limits (stiffness, ports off, angles of bent ends) are tried in the hardest poses, ports off in a few directions: "
    "good evidence, no proof."
)


def show(
    plan: Plan,
    nearest: Mapping[str, str],
    console: Console,
    *,
    everything: bool = False,
    figures: Figures = METRIC,
) -> None:
    """Print a plan.

    Parameters
    ----------
    plan
        With findings of the assemblies as they are written.
    nearest
        By run for which the catalog holds nothing, what comes nearest.
    console
        To print on.
    everything
        Whether to list all families that were refused.
    figures
        Writes the numbers; why families were refused is told in metric units.
    """
    for warning in plan.result.job.warnings:
        console.print(Text(f"Warning: {warning}", style="yellow"))
    for run in plan.runs:
        for part in _run(run, plan, nearest, console.width, figures, everything=everything):
            console.print(part)
    console.print()
    if len(plan.order) > 1:
        console.print(Text("Planned in this order: " + ", ".join(f"'{name}'" for name in plan.order) + "."))
    console.print(Text("Not checked: " + "; ".join(_not_checked(plan)) + ".", style="dim"))
    if any(run.cases for run in plan.runs):
        console.print(Text(NO_PROOF, style="dim"))
    console.print(Text(CAUTION, style="dim"))
    if not plan.complete:
        console.print(Text(_stopped(plan), style="yellow"))
    console.print(Text(summary(plan), style="bold"))


def plain_text(plan: Plan, nearest: Mapping[str, str]) -> str:
    """The report as plain text."""
    return as_text(lambda console: show(plan, nearest, console))


def summary(plan: Plan) -> str:
    """Last line: which runs have an assembly that passes."""
    failing = [run for run in plan.runs if not run.passed]
    passing = len(plan.runs) - len(failing)
    if not failing:
        unknown = sum(run.result.count(Verdict.UNKNOWN) for run in plan.runs if run.result is not None)
        if unknown:
            return f"{counted(passing, 'run')} planned; nothing fails, at the limits either, but {unknown} unknown."
        return f"{counted(passing, 'run')} planned; everything passes, at the limits too."
    reasons = ", ".join(f"'{run.request.name}' {_verdict(run)}" for run in failing)
    return f"{passing} of {counted(len(plan.runs), 'run')} planned so that all passes; {reasons}."


def _verdict(run: RunPlan) -> str:
    if run.result is None:
        return "has no assembly"
    if not run.result.solved.solved:
        return "is not solved"
    if run.result.count(Verdict.FAIL):
        return "fails"
    return "passes" if run.passed else "does not hold at its limits"


def _stopped(plan: Plan) -> str:
    names = [f"'{run.request.name}'" for run in plan.runs if not run.complete]
    if not names:
        return "Stopped early: every run was sought to the end, but none was planned again after the last check."
    return f"Stopped early, the best so far is kept. Not sought to the end: {', '.join(names)}."


def _not_checked(plan: Plan) -> list[str]:
    tried = {case.kind for run in plan.runs for case in run.cases}
    return [text for text in plan.result.not_checked if WEIGHED.get(text) not in tried]


# ---- one run ----


def _run(
    run: RunPlan, plan: Plan, nearest: Mapping[str, str], width: int, figures: Figures, *, everything: bool
) -> Iterator[RenderableType]:
    style = "bold green" if run.passed else "bold red"
    yield Text.assemble(f"\n{run.request.name}   ", (_verdict(run), style), style="bold")
    if run.result is None:
        sentence = nearest.get(run.request.name, "nothing in the catalog does for this run")
        yield from _lines([("", sentence), *_refused_lines(run, everything=everything)], width)
        return
    machine = plan.result.job.machine
    yield from _lines(_told(run, run.result, machine, figures, everything=everything), width)
    yield from _faults(run, run.result, machine, figures, everything=everything)


def _told(
    run: RunPlan, result: RunResult, machine: Machine, figures: Figures, *, everything: bool
) -> Iterator[tuple[str, str]]:
    """Labels and sentences."""
    yield from _assembly_lines(result, machine, figures)
    yield "bounds", _length(run, result, figures)
    yield from (("clamps" if k == 0 else "", text) for k, text in enumerate(_forced(run, result, figures)))
    yield "margins", _margins(result, figures)
    yield "limits", _limits(run.cases)
    yield from (("", text) for text in _weak(run.cases, figures))
    yield from _alternative_lines(run, figures)
    yield from _refused_lines(run, everything=everything)


def _lines(lines: Iterable[tuple[str, str]], width: int) -> Iterator[Text]:
    """Wrapped behind their labels; figures stay with their units."""
    for label, text in lines:
        wrapped = textwrap.wrap(text, max(width - LABELS, LEAST_WIDTH), break_on_hyphens=False) or [""]
        for place, part in enumerate(wrapped):
            shown = Text(f"  {label if place == 0 else ''}".ljust(LABELS), style="dim")
            yield shown.append(part.replace(TOGETHER, " "), style="not dim")


def _assembly_lines(result: RunResult, machine: Machine, figures: Figures) -> Iterator[tuple[str, str]]:
    run, assembly = result.run, result.run.assembly
    yield "hose", f"{assembly.hose.name}{', in a sleeve over its whole length' if run.sleeve else ''}"
    for name, end, port in (("a", assembly.a, run.port_a), ("b", assembly.b, run.port_b)):
        yield f"end {name}", _end(end, port)
    yield "lengths", _lengths(assembly, figures)
    if min(assembly.a.form.exit_angle, assembly.b.form.exit_angle) > 0.0:
        angle = result.solved.orientation if assembly.orientation_angle is None else assembly.orientation_angle
        yield (
            "orientation",
            f"{_degrees(angle % math.tau)}, seen along the hose, clockwise from the near end's outlet to the far end's",
        )
    for clamp in run.clamps:
        yield "clamp", f"on {clamp.mount}, {_cut(clamp.at, figures)} from the ferrule of end a, {clamp.hold}"
    pose = pose_text(result.solved.fitting_pose, machine, figures)
    if pose:
        yield "put on at", pose


def _end(end: End, port: str) -> str:
    clock = f", clock {_degrees(end.clock)}" if end.form.exit_angle > 0.0 else ""
    behind = "".join(f", behind {adapter.name} at clock {_degrees(turn)}" for adapter, turn in end.adapters)
    zero = " (clock from the port's 'up')" if clock or behind else ""  # papers tell the hour seen from plumb
    return f"{end.form.name}{clock}, {end.form.connection}, on port {port}{behind}{zero}"


def _lengths(assembly: Assembly, figures: Figures) -> str:
    overall, free = (_cut(length, figures) for length in (assembly.overall_length, assembly.free_length))
    cut = figures.cut(whole_mm(1e3 * assembly.cut_length))
    return f"overall {overall}, cut {cut}, free between the ferrules {free}"


def _length(run: RunPlan, result: RunResult, figures: Figures) -> str:
    length, fixed = result.run.assembly.overall_length, run.request.overall_length is not None
    known = ", ".join(_bound(bound, figures) for bound in run.bounds)
    short = any(bound.proven and length < bound.value for bound in run.bounds)
    never = ", with which no hose passes between these ends" if short else ""
    return f"{known}; {'fixed by the job at' if fixed else 'planned'} {_cut(length, figures)}{never}"


def _bound(bound: Bound, figures: Figures) -> str:
    least = figures(math.floor(bound.value * 1e3 + 1e-6), "mm")
    return f"{bound.name} at least {least} (proven)" if bound.proven else f"about {least} along the shortest path"


def _forced(run: RunPlan, result: RunResult, figures: Figures) -> Iterator[str]:
    """Clamps whose places, fixed by the job, make the hose long, or are not reached."""
    hose, clamps = result.run.assembly.hose, run.request.clamps or ()
    keeps = 1.0 - (hose.shorter or 0.0)
    least = max((bound.value for bound in run.bounds if bound.proven), default=math.inf)
    long = result.run.assembly.overall_length > LONG * least
    short = {one.subject: one.margin or 0.0 for one in result.findings if one.rule == slack.RULE}
    for clamp, span in zip(clamps, result.solved.spans, strict=False):
        said = f"the job fixes the clamp on '{clamp.mount}' at {_cut(clamp.at, figures)}"
        way = float(slack.shortest_way(span, centre_radius(hose)).max())
        need = span.length - short.get(span.name, 0.0) / keeps
        if long and span.length > LONG * way / keeps:
            enough = figures(math.ceil(1e3 * (span.start + way / keeps)), "mm")
            yield f"{said}, and about {enough} would reach it: that is why the hose is so long"
        elif need > span.length:
            enough = figures(math.ceil(1e3 * (span.start + need) - 1e-6), "mm")
            yield f"{said}: too short; from {enough} on the hose is slack enough there"


def _margins(result: RunResult, figures: Figures) -> str:
    least: dict[str, Finding] = {}
    for finding in result.findings:
        margin = finding.margin
        if finding.rule in MAIN_RULES and finding.limit is not None and margin is not None:
            before = least.get(finding.rule)
            if before is None or margin < (before.margin or 0.0):
                least[finding.rule] = finding
    return ", ".join(_margin(least[rule], figures) for rule in MAIN_RULES if rule in least)


def _margin(finding: Finding, figures: Figures) -> str:
    about = f" to {finding.subject}" if finding.rule == "clearance" else ""
    unit, margin = reading(finding.kind).unit, read_difference(finding.margin, finding.kind) or 0.0
    return f"{finding.rule}{about} {difference(margin, unit, figures)}{TOGETHER}{figures.unit(unit)}"


def _limits(cases: Sequence[Case]) -> str:
    if not cases:
        return "not tried, since it fails without"
    kinds = Counter(KINDS.get(case.kind, case.kind) for case in cases)
    tried = ", ".join(f"{kind} {count}" for kind, count in kinds.items())
    return f"holds at {sum(case.passed for case in cases)} of {len(cases)} limits ({tried})"


def _weak(cases: Sequence[Case], figures: Figures) -> Iterator[str]:
    for case in (case for case in cases if not case.passed):
        name = Texts.load("en").name(case.name, "limits")
        if not case.failing:
            yield f"{name}: a shape was not found"
        for finding in case.failing:
            yield f"{name}: {finding.rule}, {finding.subject} {_short(finding, figures)}"


def _short(finding: Finding, figures: Figures) -> str:
    """What a finding at the limits has, and what is asked of it there: at times more than the limit of the rule."""
    margin = finding.margin
    if margin is None or margin < 0.0 or finding.limit is None:
        return measured(replace(finding, advice_limit=None), figures)
    sign, word, and_ = (1.0, "at least", "and") if finding.at_least else (-1.0, "at most", "less")
    asked = finding.limit + sign * AXIS_RESERVE * scale_of(finding)
    unit = reading(finding.kind).unit
    has, bound, limit = (figures(read(one, finding.kind), unit) for one in (finding.measure, asked, finding.limit))
    reserve = f"{100.0 * AXIS_RESERVE:g}{TOGETHER}%"
    return f"{has}, but {word} {bound} is asked here: {limit} {and_} {reserve} for the coarser mesh of these trials"


def _alternative_lines(run: RunPlan, figures: Figures) -> Iterator[tuple[str, str]]:
    for place, other in enumerate(sorted(run.alternatives, key=lambda other: other.cost)):
        weak = [one for one in run.refused if one.family == family(other.run)]
        but = f", but {weak[0].text}" if weak and weak[0].rule != PREFERENCE else ""
        yield "or" if place == 0 else "", _alternative(other, run.cost, figures) + but


def _alternative(other: Alternative, cost: float, figures: Figures) -> str:
    assembly = other.run.assembly
    parts = [assembly.hose.name, f"{assembly.a.form.name} / {assembly.b.form.name}"]
    parts += [f"{adapter.name} at {name}" for name in "ab" for adapter, _ in getattr(assembly, name).adapters]
    parts += [f"clamp on {clamp.mount}" for clamp in other.run.clamps]
    more = (other.cost / cost - 1.0) * 100.0 if cost > 0.0 else 0.0
    worth = f"{abs(more):.0f}{TOGETHER}% {'more' if more >= 0.0 else 'less'} in parts and length"
    return f"{', '.join(parts)}, overall {_cut(assembly.overall_length, figures)}: {worth}"


# ---- what was refused, what fails ----


def _refused_lines(run: RunPlan, *, everything: bool) -> Iterator[tuple[str, str]]:
    if not run.refused:
        return
    if everything:
        for place, one in enumerate(run.refused):
            yield "refused" if place == 0 else "", _refused(one)
        return
    rules = Counter(one.rule for one in run.refused)
    dear = rules.pop(PREFERENCE, 0)
    groups = [f"{rule} {count}" for rule, count in rules.most_common()]
    groups += [f"only dearer {dear}"] if dear else []
    yield "refused", f"{counted(len(run.refused), 'kind')} of hose and ends ({', '.join(groups)}); --all lists them"


def _refused(one: Refused) -> str:
    return f"{one.family}: {one.text}" if one.rule == PREFERENCE else f"{one.family} ({one.rule}): {one.text}"


def _faults(
    run: RunPlan, result: RunResult, machine: Machine, figures: Figures, *, everything: bool
) -> Iterator[RenderableType]:
    """The failing findings of the least bad plan, and what stands in the way of a better one."""
    failing = [finding for finding in result.findings if finding.verdict is Verdict.FAIL]
    others = [finding for finding in result.findings if finding.verdict in (Verdict.UNKNOWN, Verdict.ADVICE)]
    if failing:
        yield Text("  Nothing that was tried passes; this falls least short:")
    for finding in (*failing, *others):
        yield from entry(finding, machine, figures)
    if failing and not everything:
        yield from _in_the_way(run.refused)


def _in_the_way(refused: Iterable[Refused]) -> Iterator[RenderableType]:
    """Ends that would not have room on their ports, each form once."""
    blocked: dict[str, Refused] = {}
    for one in refused:
        if one.rule == IN_THE_WAY:
            blocked.setdefault(one.family, one)
    for one in list(blocked.values())[:MOST_IN_THE_WAY]:
        yield Padding(Text(f"In the way: {one.text}"), (0, 0, 0, 2))
    if len(blocked) > MOST_IN_THE_WAY:
        yield Text(f"  and {len(blocked) - MOST_IN_THE_WAY} more kinds of end that have no room; --all lists them")


def _cut(length: float, figures: Figures) -> str:
    """A length that is measured off."""
    return figures.cut(read(length, "length"))


def _degrees(angle: float) -> str:
    return f"{read(angle, 'angle'):g}°"
