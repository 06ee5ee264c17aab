"""All rules on all runs, on poses that are refined until the worst figures stand still."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from hosewright.checks import (
    bend_radius,
    built_twist,
    clearance,
    connection,
    end_clearance,
    fluid,
    guard,
    motion_twist,
    plane,
    pressure,
    pressure_drop,
    slack,
    snap,
    straight,
    support,
    temperature,
    vacuum,
    velocity,
)
from hosewright.checks.finding import Finding, Verdict
from hosewright.checks.run import Job, Run
from hosewright.checks.solve import SolvedRun, solve_runs
from hosewright.machine import Poses, refine

SHAPE_RULES: dict[str, Callable[[SolvedRun, Job], list[Finding]]] = {
    rule.RULE: rule.check
    for rule in (snap, slack, bend_radius, straight, motion_twist, plane, clearance, end_clearance, support, guard)
}
DUTY_RULES: tuple[Callable[[Run, Job], list[Finding]], ...] = (
    pressure.check,
    temperature.check,
    fluid.check,
    vacuum.check,
    velocity.check,
    pressure_drop.check,
    connection.check,
    built_twist.check,
)
NOT_CHECKED = (
    "access with two spanners",
    "life under a pressure record",
    "stiffness other than the nominal one",
    "ends and adapters against other hoses",
    "ports off by their measuring error, in radius and clearance",
)
OF_SLEEVES = "thickness of sleeves, in clearance"
"""Not checked either, where a run has one."""
NEAR = 0.15
"""Parts that a hose's axis stays further from pass whatever they are, and are left out where a run is tried. [m]"""
ROUNDS = 5
"""Times that poses are refined at most."""
HALVINGS = 2
"""Times that a step beside a worst pose is halved in one of them."""
SETTLED = {"length": 0.0005, "angle": 0.00175, "twist": 0.00175}
"""Change of a worst measure below which it stands still: 0.5 mm, 0.1 degrees (per metre)."""

Progress = Callable[[str], None]


@dataclass(frozen=True, eq=False)
class RunResult:
    """What was found about one run; findings worst first."""

    run: Run
    solved: SolvedRun
    findings: tuple[Finding, ...]

    def count(self, verdict: Verdict) -> int:
        """Findings of a verdict."""
        return sum(finding.verdict is verdict for finding in self.findings)


@dataclass(frozen=True, eq=False)
class CheckResult:
    """What was found about a job.

    Attributes
    ----------
    runs
        Results of the runs that were asked for.
    poses
        As refined.
    solved
        All runs of the job, asked for or not.
    """

    job: Job
    runs: tuple[RunResult, ...]
    poses: Poses
    solved: tuple[SolvedRun, ...]
    not_checked: tuple[str, ...] = NOT_CHECKED

    @property
    def passed(self) -> bool:
        """Whether nothing fails and everything was solved."""
        return all(result.count(Verdict.FAIL) == 0 and result.solved.solved for result in self.runs)

    def run(self, name: str) -> RunResult:
        """Result of one run."""
        return next(result for result in self.runs if result.run.name == name)


def check(job: Job, names: Iterable[str] | None = None, progress: Progress | None = None) -> CheckResult:
    """Check the runs of a job, or those named; hose against hose counts all runs.

    Raises
    ------
    HosewrightError
        The machine cannot take a pose, or a run contradicts itself.
    """
    tell = progress or (lambda _: None)
    wanted = {run.name for run in job.runs} if names is None else set(names)
    tell(f"solving {len(job.runs)} runs in {len(job.poses)} poses")
    solved = solve_runs(job, job.runs, job.poses)
    shape_findings = _shape_findings(solved, job)
    poses = job.poses
    for round_number in range(ROUNDS):
        finer = _refined(poses, shape_findings)
        if len(finer) == len(poses):
            break
        tell(f"refining to {len(finer)} poses, round {round_number + 1}")
        before, poses = shape_findings, finer
        solved = solve_runs(job, job.runs, poses)
        shape_findings = _shape_findings(solved, job)
        if _stands_still(before, shape_findings, job):
            break
    results = [
        RunResult(item.run, item, in_order([*shape_findings[item.run.name], *duty_findings(item.run, job)]))
        for item in solved
        if item.run.name in wanted
    ]
    not_checked = (*NOT_CHECKED, OF_SLEEVES) if any(run.sleeve for run in job.runs) else NOT_CHECKED
    return CheckResult(job, tuple(results), poses, tuple(solved), not_checked)


def shape_findings(
    solved: SolvedRun, others: Sequence[SolvedRun], job: Job, rules: Iterable[str] = SHAPE_RULES
) -> list[Finding]:
    """Findings of the shape rules named on one run; parts and hoses that stay far away are left out."""
    findings = [finding for rule in rules if rule != clearance.RULE for finding in SHAPE_RULES[rule](solved, job)]
    if clearance.RULE in rules:
        name = solved.run.name
        findings += clearance.check(solved, job, NEAR)
        findings += clearance.check_pairs([solved, *others], job, only=name)[name]
    return findings


def duty_findings(run: Run, job: Job) -> list[Finding]:
    """Findings that need no shape."""
    return [finding for rule in DUTY_RULES for finding in rule(run, job)]


def _own_findings(solved: SolvedRun, job: Job) -> list[Finding]:
    return [finding for rule in SHAPE_RULES.values() for finding in rule(solved, job)]


def _shape_findings(solved: Sequence[SolvedRun], job: Job) -> dict[str, list[Finding]]:
    pairs = clearance.check_pairs(solved, job)
    return {item.run.name: [*_own_findings(item, job), *pairs[item.run.name]] for item in solved}


def in_order(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Worst verdict first, else as they come."""
    order = list(Verdict)
    return tuple(sorted(findings, key=lambda finding: order.index(finding.verdict)))


def _refined(poses: Poses, findings: Mapping[str, list[Finding]]) -> Poses:
    """Poses with new ones a quarter and half a step to both sides of every worst pose.

    With half a step alone, a peak just beside a pose seems to stand still: it is lower in the middles on both sides.
    """
    for _ in range(HALVINGS):
        if len(poses) > 1:
            poses = refine(poses, _beside_worst(poses, findings))
    return poses


def _beside_worst(poses: Poses, findings: Mapping[str, list[Finding]]) -> NDArray[np.bool_]:
    where = np.zeros(len(poses) - 1, dtype=bool)
    for finding in (finding for group in findings.values() for finding in group):
        place = finding.place
        if finding.kind in SETTLED and place.path is not None and place.path_at is not None:
            k = poses.nearest(place.path, place.path_at)
            where[max(k - 1, 0) : k + 1] = True
    return where


def _stands_still(before: Mapping[str, list[Finding]], after: Mapping[str, list[Finding]], job: Job) -> bool:
    part = job.profile["pose_change"]
    for name, group in after.items():
        old = {finding.key: finding.measure for finding in before[name]}
        for finding in group:
            measure, last = finding.measure, old.get(finding.key)
            if finding.kind not in SETTLED or measure is None or last is None:
                continue
            bound = finding.limit if finding.limit is not None else finding.advice_limit
            allowed = max(SETTLED[finding.kind], part * abs(bound or 0.0))
            if abs(measure - last) > allowed and not _far_from(finding, bound):
                return False
    return True


def _far_from(finding: Finding, bound: float | None) -> bool:
    # a measure many times over its limit, such as the radius of a nearly straight hose, need not stand still
    if bound is None or finding.measure is None:
        return bound is None
    return finding.at_least and finding.measure > 3.0 * abs(bound) + 0.05
