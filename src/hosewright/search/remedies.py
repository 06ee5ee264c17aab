"""Remedies: for each failing finding the smallest change that clears it, checked again.

First figures of the run as it is, a few of each kind, the smallest first: length, angles, end form, fitting pose,
sleeve. What they do not clear goes to the changes that the search draws (``wider``): another hose, another end, a
clamp, an adapter, and last a turned port.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import numpy as np

from hosewright.catalog import Catalog
from hosewright.checks.check import SHAPE_RULES as CHECKED
from hosewright.checks.check import CheckResult, Progress, RunResult, duty_findings, shape_findings
from hosewright.checks.finding import Finding, Remedy, Verdict
from hosewright.checks.run import Job, Run
from hosewright.checks.solve import SolvedRun, solve_runs
from hosewright.errors import ArgumentError, MachineError
from hosewright.machine import Poses
from hosewright.search.changes import LENGTH_PATH, LENGTH_STEPS, Change, figure_changes, length_change, steps_to_reach
from hosewright.search.trial import trial_job
from hosewright.search.wider import Scene, wider_changes
from hosewright.words import Sentence

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
            found |= {key: Remedy(change.said, change.path, change.value, tried, verified=True) for key in cleared}
        if not open_keys - found.keys():
            break
    findings = tuple(_with_remedy(f, found, tried, run.run.name) for f in run.findings)
    return replace(run, findings=findings)


def _candidates(
    run: RunResult, failing: Sequence[Finding], others: Sequence[SolvedRun], result: CheckResult, catalog: Catalog
) -> Iterator[Change]:
    """Changes to try, the smallest first: figures, a fair share of each kind that may mend, then what is drawn."""
    kinds = {kind for finding in failing for kind in MENDABLE.get(finding.rule, ())}
    figures = sorted(figure_changes(run, result.job, catalog), key=lambda change: change.size)
    share = dict(SHARES)
    large = []
    for change in figures:
        if change.kind in kinds and share[change.kind]:
            share[change.kind] -= 1
            if change.run.assembly.overall_length > MUCH_LONGER * run.run.assembly.overall_length:
                large.append(change)
            else:
                yield change
    yield from wider_changes(Scene(run, others, trial_job(result.job), catalog))
    yield from large


def _with_remedy(finding: Finding, found: Mapping[str, Remedy], tried: int, name: str) -> Finding:
    if finding.verdict is not Verdict.FAIL:
        return finding
    none = Remedy(Sentence.of("remedies.none", tried=tried, run=name), tried=tried)
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
            chosen.add(poses.nearest(place.path, place.path_at))
    for path in np.unique(poses.path):
        chosen.add(int(np.flatnonzero(poses.path == path)[0]))
    return np.array(sorted(chosen))


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
