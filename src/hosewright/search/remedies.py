"""Remedies: for each failing finding the smallest change that clears it, checked again.

First figures of the run as it is, a few of each kind, the smallest first: length, angles, end form, fitting pose,
sleeve. What they do not clear goes to the changes that the search draws (``wider``): another hose, another end, a
clamp, an adapter, and last a turned port.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from hosewright.assembly import Assembly, End, Roll
from hosewright.catalog import Catalog
from hosewright.checks import slack
from hosewright.checks.check import SHAPE_RULES as CHECKED
from hosewright.checks.check import CheckResult, Progress, RunResult, duty_findings, shape_findings
from hosewright.checks.finding import Finding, Remedy, Verdict
from hosewright.checks.run import Job, Run
from hosewright.checks.solve import SolvedRun, solve_runs
from hosewright.errors import ArgumentError, MachineError
from hosewright.machine import Machine, Poses, Turn
from hosewright.search.trial import trial_job
from hosewright.search.wider import Scene, freed_orientation, wider_changes

LENGTH_STEPS = (0, 1, 2, 4, 8, 16, 32)
"""Changes of the overall length that are tried, in the shop's increments, beyond what a hose is too short."""
TURNS = (15.0, 30.0, 60.0, 90.0, 180.0)
"""Changes of an angle that are tried. [deg]"""
SHARES = {"length": 12, "clock": 6, "orientation": 2, "form": 6, "fitting pose": 2, "sleeve": 1}
"""Changes of each kind that are tried for one run, the smallest."""
MUCH_LONGER = 1.5
"""Hoses so much longer are tried last: where they loop, an end or a port is wrong rather than the length."""
SCREENED = 8
"""Poses, besides the worst ones, on which a change is tried first; one that is kept is checked on all of them."""
MENDABLE = {
    "slack": ("length", "form"),
    "bend radius": ("length", "clock", "form"),
    "straight at the end": ("length", "clock", "form"),
    "twist in motion": ("orientation", "clock", "form", "fitting pose"),
    "twist as built": ("length", "form"),
    "clearance": ("length", "clock", "form", "sleeve"),
    "end clearance": ("clock", "form"),
    "guard": ("sleeve",),
    "steady shape": ("length", "form", "fitting pose"),
}
"""Rules that a single change can clear, and the kinds of change that may."""
LENGTH_PATH = "run.assembly.length"


@dataclass(frozen=True)
class Change:
    """One change to one run; ``size`` orders changes, smallest first."""

    kind: str
    size: float
    text: str
    path: str
    value: Any
    run: Run
    machine: Machine | None = None


def with_remedies(result: CheckResult, catalog: Catalog, progress: Progress | None = None) -> CheckResult:
    """The result with a remedy on each failing finding."""
    tell = progress or (lambda _: None)
    failing = [run for run in result.runs if run.count(Verdict.FAIL)]
    if failing:
        tell("looking for remedies for " + ", ".join(f"'{run.run.name}'" for run in failing))
    with ThreadPoolExecutor(max_workers=2) as pool:
        mended = pool.map(lambda run: _remedied(run, _others(run, result), result, catalog), failing)
        by_name = {run.run.name: run for run in mended}
    return replace(result, runs=tuple(by_name.get(run.run.name, run) for run in result.runs))


def _others(run: RunResult, result: CheckResult) -> list[SolvedRun]:
    return [other for other in result.solved if other.run.name != run.run.name]


def _remedied(run: RunResult, others: Sequence[SolvedRun], result: CheckResult, catalog: Catalog) -> RunResult:
    failing = [f for f in run.findings if f.verdict is Verdict.FAIL]
    open_keys = {f.key for f in failing}
    found: dict[str, Remedy] = {}
    tried = 0
    screen = _Screen(run, others, result)
    for change in _candidates(run, failing, others, result, catalog):
        tried += 1
        cleared = screen.clears(change) & (open_keys - found.keys())
        if cleared and (cleared := cleared & screen.clears(change, full=True)):
            change = _smallest(change, cleared, screen, run.run, result.job)
            found |= {key: Remedy(change.text, change.path, change.value, tried, verified=True) for key in cleared}
        if not open_keys - found.keys():
            break
    findings = tuple(_with_remedy(f, found, tried, run.run.name) for f in run.findings)
    return replace(run, findings=findings)


def _candidates(
    run: RunResult, failing: Sequence[Finding], others: Sequence[SolvedRun], result: CheckResult, catalog: Catalog
) -> Iterator[Change]:
    """Changes to try, the smallest first: figures, a fair share of each kind that may mend, then what is drawn."""
    kinds = {kind for finding in failing for kind in MENDABLE.get(finding.rule, ())}
    figures = sorted(changes(run, result.job, catalog), key=lambda change: change.size)
    share = dict(SHARES)
    large = []
    for change in figures:
        if change.kind in kinds and share[change.kind]:
            share[change.kind] -= 1
            if change.run.assembly.overall_length > MUCH_LONGER * run.run.assembly.overall_length:
                large.append(change)
            else:
                yield change
    for one in wider_changes(Scene(run, others, trial_job(result.job), catalog)):
        yield Change(one.kind, math.inf, one.text, one.path, one.value, one.run, one.machine)
    yield from large


def _with_remedy(finding: Finding, found: Mapping[str, Remedy], tried: int, name: str) -> Finding:
    if finding.verdict is not Verdict.FAIL:
        return finding
    text = f"no single change clears this without failing another rule: none found among {tried} tried"
    none = Remedy(f"{text}; to choose the assembly anew: hosewright plan JOB --run '{name}'", tried=tried)
    return replace(finding, remedy=found.get(finding.key, none))


class _Screen:
    """Tries changes of one run against the other runs as they stand: the failing rules first, then the rest."""

    def __init__(self, run: RunResult, others: Sequence[SolvedRun], result: CheckResult) -> None:
        self.run = run
        self.failing = {f.key: f.rule for f in run.findings if f.verdict is Verdict.FAIL}
        self.unknown = {f.key for f in run.findings if f.verdict is Verdict.UNKNOWN}
        subjects = {f.subject for f in run.findings if f.verdict is Verdict.FAIL}
        self.rules = [rule for rule in CHECKED if rule in self.failing.values()]
        self.duty = set(self.failing.values()) - set(self.rules)
        self.close = {other.run.name for other in others if f"hose {other.run.name}" in subjects}
        self.all = (result.job, result.poses, others)
        level = trial_job(result.job)  # slopes and the stiff axis count when a change is checked in full
        poses = result.poses.take(chosen(run, result.poses))
        self.few = (level, poses, solve_runs(level, [other.run for other in others], poses))

    def clears(self, change: Change, *, full: bool = False) -> set[str]:
        """Keys of failing findings that the change clears; none where it fails or hides anything new."""
        job, poses, others = self.all if full else self.few
        if change.machine is not None:
            job = replace(job, machine=change.machine)
        duty = duty_findings(change.run, job)
        mended = self._cleared(duty, self.duty)
        if self._worse(duty) or not (mended or self.rules):
            return set()  # whatever its shape
        try:
            (solved,) = solve_runs(job, [change.run], poses)
        except (ArgumentError, MachineError):
            return set()
        if not solved.solved:
            return set()
        if not (mended or full):
            close = [other for other in others if other.run.name in self.close]
            if not self._cleared(shape_findings(solved, close, job, self.rules), self.rules):
                return set()
        return self._cleared([*shape_findings(solved, others, job), *duty], self.failing.values())

    def _cleared(self, findings: Sequence[Finding], rules: Collection[str]) -> set[str]:
        if self._worse(findings):
            return set()
        still = {f.key for f in findings if f.verdict in (Verdict.FAIL, Verdict.UNKNOWN)}
        return {key for key, rule in self.failing.items() if rule in rules and key not in still}

    def _worse(self, findings: Sequence[Finding]) -> bool:
        """Whether something fails or is unknown that was neither before."""
        bad = {f.key for f in findings if f.verdict is Verdict.FAIL}
        unknown = {f.key for f in findings if f.verdict is Verdict.UNKNOWN}
        return bool(bad - self.failing.keys() or unknown - self.unknown - self.failing.keys())


def chosen(run: RunResult, poses: Poses) -> np.ndarray:
    """Indices of evenly spread poses, every worst one and the first of each path."""
    chosen = set(np.linspace(0, len(poses) - 1, min(SCREENED, len(poses))).astype(int).tolist())
    for finding in run.findings:
        place = finding.place
        if finding.verdict is Verdict.FAIL and place.path is not None and place.path_at is not None:
            chosen.add(int(np.argmin(np.abs(poses.at - place.path_at) + 10.0 * (poses.path != place.path))))
    for path in np.unique(poses.path):
        chosen.add(int(np.flatnonzero(poses.path == path)[0]))
    return np.array(sorted(chosen))


def changes(run: RunResult, job: Job, catalog: Catalog) -> Iterator[Change]:
    """Single changes to a run, each with its size: a step of length counts 1, 15 degrees 3, another end 20."""
    yield from _lengths(run, job)
    yield from _orientations(run)
    for end in ("a", "b"):
        yield from _clocks(run.run, end)
        yield from _forms(run.run, end, catalog)
    yield from _fitting_poses(run.run, job)
    if not run.run.sleeve:
        text = "cover it with a protective sleeve (slid on before the second end is crimped)"
        yield Change("sleeve", 8.0, text, "run.sleeve", True, replace(run.run, sleeve=True))


def _with_assembly(run: Run, **parts: Any) -> Run | None:
    try:
        return replace(run, assembly=replace(run.assembly, **parts))
    except ArgumentError:
        return None  # the ends leave no free hose


def _lengths(run: RunResult, job: Job) -> Iterator[Change]:
    reach = steps_to_reach(run, job)
    for steps in LENGTH_STEPS:
        for more in (reach + steps,) if reach else (steps, -steps) if steps else ():
            change = length_change(run.run, job, more)
            if change is not None:
                yield change


def steps_to_reach(run: RunResult, job: Job) -> int:
    """Least increments by which a hose that fails for slack has to be longer; 0 where it reaches."""
    short = [-(f.margin or 0.0) for f in run.findings if f.rule == slack.RULE and f.verdict is Verdict.FAIL]
    if not short:
        return 0
    increment, assembly = job.profile["length_increment"], run.run.assembly
    needed = assembly.overall_length + max(short) / (1.0 - (assembly.hose.shorter or 0.0))
    return max(1, math.ceil(needed / increment - 1e-6) - round(assembly.overall_length / increment))


def length_change(run: Run, job: Job, steps: int) -> Change | None:
    """Another overall length, so many of the shop's increments away; ``None`` where no free hose is left."""
    increment = job.profile["length_increment"]
    length = (round(run.assembly.overall_length / increment) + steps) * increment
    changed = _with_assembly(run, overall_length=length) if length > 0.0 else None
    if changed is None:
        return None
    delta = (length - run.assembly.overall_length) * 1e3
    text = f"make the overall length {length * 1e3:.0f} mm ({delta:+.0f} mm)"
    return Change("length", abs(steps), text, LENGTH_PATH, round(length * 1e3, 3), changed)


def _smallest(change: Change, cleared: set[str], screen: _Screen, run: Run, job: Job) -> Change:
    """The change, or where it is one of length the smallest of its kind that clears as much, by halving."""
    if change.path != LENGTH_PATH:
        return change
    sign = 1 if change.run.assembly.overall_length > run.assembly.overall_length else -1
    high = round(change.size)
    reach = steps_to_reach(screen.run, job)
    low = max((reach + steps for steps in LENGTH_STEPS if reach + steps < high), default=max(reach - 1, 0))
    while high - low > 1:
        middle = (low + high) // 2
        smaller = length_change(run, job, sign * middle)
        if smaller is not None and cleared <= screen.clears(smaller) and cleared <= screen.clears(smaller, full=True):
            high, change = middle, smaller
        else:
            low = middle
    return change


def _orientations(run: RunResult) -> Iterator[Change]:
    assembly, solved = run.run.assembly, run.solved
    if assembly.orientation_angle is None or not _bent(assembly):
        return
    best = math.degrees(solved.orientation)
    twists = np.concatenate([sum_of_twist(solved, s) for s in range(len(solved.states))])
    centred = best + math.degrees(float(twists.max() + twists.min()) / 2.0 - solved.misfit)
    for angle in dict.fromkeys((round(best), round(centred))):
        turned = math.radians(angle) % math.tau
        changed = _with_assembly(run.run, orientation_angle=turned)
        if changed is not None:
            value = angle % 360
            size = 3.0 * abs(math.remainder(turned - assembly.orientation_angle, math.tau)) / math.radians(15.0)
            yield Change(
                "orientation",
                size,
                f"build it to an orientation angle of {value} degrees",
                "run.assembly.orientation",
                value,
                changed,
            )


def sum_of_twist(solved: SolvedRun, state: int) -> np.ndarray:
    """Twist of the whole hose in each pose of a state, (m,). [rad]"""
    return np.sum([span.shapes[state].twist for span in solved.spans], axis=0)


def _bent(assembly: Assembly) -> bool:
    return min(assembly.a.form.exit_angle, assembly.b.form.exit_angle) > 0.0


def _end(run: Run, end: str) -> End:
    return run.assembly.a if end == "a" else run.assembly.b


def _clocks(run: Run, end: str) -> Iterator[Change]:
    old = _end(run, end)
    if old.form.exit_angle <= 0.0 or old.form.roll is Roll.FIXED:
        return
    for turn in TURNS:
        for sign in (1.0, -1.0) if turn < 180.0 else (1.0,):
            clock = (old.clock + sign * math.radians(turn)) % math.tau
            if not _allowed(old, clock):
                continue
            # the orientation angle follows from the new lie
            changed = _with_assembly(run, **{end: replace(old, clock=clock)}, orientation_angle=None)
            if changed is not None:
                value = round(math.degrees(clock), 1)
                text = f"turn end {end} to {value:g} degrees ({sign * turn:+.0f} degrees)"
                yield _end_change("clock", 3.0 * turn / 15.0, text, {end: {"clock": value}}, run, changed)


def _allowed(end: End, clock: float) -> bool:
    if end.form.roll is not Roll.STEPPED or not end.form.step:
        return True
    return abs(math.remainder(clock - end.clock, end.form.step)) < 1e-6


def _forms(run: Run, end: str, catalog: Catalog) -> Iterator[Change]:
    old = _end(run, end)
    for form in catalog.end_forms(connection=old.form.connection, dash_size=old.form.dash_size):
        if form.name == old.form.name:
            continue
        clocks = [0.0, 90.0, 180.0, 270.0] if form.exit_angle > 0.0 and old.form.exit_angle <= 0.0 else [None]
        for clock in clocks:
            turned = old.clock if clock is None else math.radians(clock)
            changed = _with_assembly(run, **{end: replace(old, form=form, clock=turned)}, orientation_angle=None)
            if changed is None:
                continue
            turn = "" if clock is None else f" at {clock:.0f} degrees"
            table = {"form": form.name} if clock is None else {"form": form.name, "clock": clock}
            text = f"use a {form.name} end at {end}{turn}"
            yield _end_change("form", 20.0 + 0.01 * form.drop * 1e3, text, {end: table}, run, changed)


def _end_change(kind: str, size: float, text: str, ends: dict[str, dict[str, Any]], run: Run, changed: Run) -> Change:
    words, table = freed_orientation(run, changed)
    return Change(kind, size, ", ".join([text, *words]), "run.assembly", {"ends": ends, **table}, changed)


def _fitting_poses(run: Run, job: Job) -> Iterator[Change]:
    for pose in job.service_poses[1:] if run.fitting_pose is None else job.service_poses:
        values = {joint: _as_typed(joint, float(value), job) for joint, value in pose.items()}
        words = ", ".join(f"{joint} {value:g}" for joint, value in values.items())
        text = f"fit it in another service pose ({words})"
        yield Change("fitting pose", 10.0, text, "run.fitting_pose", values, replace(run, fitting_pose=pose))


def _as_typed(joint: str, value: float, job: Job) -> float:
    # degrees for a joint that turns, else millimetres
    turns = any(body.name == joint and isinstance(body.joint, Turn) for body in job.machine.bodies)
    return round(math.degrees(value) if turns else value * 1e3, 6)
