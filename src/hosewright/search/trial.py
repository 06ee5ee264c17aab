"""Trying assemblies: every rule on the real shapes, in some poses, with reserves for what the robust test asks."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from hosewright.assembly import Assembly, End
from hosewright.checks import bend_radius, clearance, end_clearance, guard, motion_twist, straight
from hosewright.checks.check import SHAPE_RULES, duty_findings, shape_findings
from hosewright.checks.finding import Finding, Verdict
from hosewright.checks.run import Job, Run
from hosewright.checks.solve import SolvedRun, solve_runs
from hosewright.errors import ArgumentError, MachineError
from hosewright.machine import Poses
from hosewright.search.preference import Preference

UNSOLVED = 10.0
FAILING = 0.05
"""Counted for each failing finding on top of how far it falls short."""
SCALE = {"length": 0.02, "twist": 0.02, "pressure": 1e6, "temperature": 10.0, "velocity": 1.0, "count": 1.0}
"""Least by which a shortfall is divided, where the limit itself is small."""
RESERVES = {
    bend_radius.RULE: 0.03,
    straight.RULE: 0.03,
    motion_twist.RULE: 0.10,
    clearance.RULE: 0.20,
}
"""Parts of the limit that the search keeps in reserve, for ports and stiffnesses that are not quite as told."""
RESERVE_WEIGHT = 0.5
"""A missing reserve counts as this part of a shortfall."""
LENGTH_CLASS = 0.05
ON_SHAPES = tuple(rule for rule in SHAPE_RULES if rule != end_clearance.RULE)
SLEEVE_MENDS = (clearance.RULE, guard.RULE)


TRIAL_AXIS, TRIAL_ELEMENTS = 1e4, 24
"""Stiffness of the axis and elements while assemblies are tried; what is chosen is checked with those of the check."""


def trial_job(job: Job) -> Job:
    """The job as assemblies are tried on it: level, and solved in less time."""
    return replace(job, attitude=0.0, stiff_axis=TRIAL_AXIS, elements=TRIAL_ELEMENTS)


@dataclass(frozen=True, eq=False)
class Trial:
    """One assembly that was tried.

    Attributes
    ----------
    penalty
        How far it falls short of the rules and reserves, 0 where it does not.
    cost
        In the order of preference.
    """

    run: Run
    solved: SolvedRun | None
    findings: tuple[Finding, ...]
    penalty: float
    cost: float

    @property
    def rank(self) -> tuple[float, float]:
        """Smaller is better."""
        return (round(self.penalty, 6), self.cost)

    @property
    def failing(self) -> tuple[Finding, ...]:
        """Findings that fail, the furthest from its limit first."""
        bad = [finding for finding in self.findings if finding.verdict is Verdict.FAIL]
        return tuple(sorted(bad, key=shortfall, reverse=True))


@dataclass(eq=False)
class Trials:
    """Tries assemblies of one run, beside other hoses that stay as they are.

    Attributes
    ----------
    poses
        In which assemblies are tried.
    others
        The other hoses, solved in the same poses.
    reserves
        What is asked beyond its limit by key of the finding, as ``shortfall`` counts, where it is not as usual.
    count
        Assemblies tried so far.
    """

    job: Job
    poses: Poses
    others: Sequence[SolvedRun]
    preference: Preference
    sleeve: bool | None
    reserves: dict[str, float] = field(default_factory=dict)
    count: int = 0
    _kept: dict[tuple[object, ...], Trial] = field(default_factory=dict)
    _ends: dict[tuple[object, ...], list[Finding]] = field(default_factory=dict)
    _duty: dict[tuple[object, ...], list[Finding]] = field(default_factory=dict)

    def all(self, runs: Iterable[Run]) -> list[Trial]:
        """Try runs, those that are the same once."""
        wanted = list(runs)
        new = {key_of(run): run for run in wanted if key_of(run) not in self._kept}
        for key, trial in zip(new, self._tried(list(new.values())), strict=True):
            self._kept[key] = trial
        return [self._kept[key_of(run)] for run in wanted]

    def one(self, run: Run) -> Trial:
        """Try one run."""
        return self.all([run])[0]

    def reserve(self, finding: Finding) -> float:
        """What is asked of a finding beyond its limit, as ``shortfall`` counts."""
        if finding.key in self.reserves:
            return self.reserves[finding.key]
        return RESERVES.get(finding.rule, 0.0) * abs(finding.limit or 0.0) / scale_of(finding)

    def asking(self, reserves: Mapping[str, float]) -> None:
        """Ask for other reserves from now on."""
        self.reserves = dict(reserves)
        self._kept = {key: self._judged(t.run, t.solved, t.findings) for key, t in self._kept.items()}

    def _tried(self, runs: list[Run]) -> list[Trial]:
        self.count += len(runs)
        if self.sleeve is not None:
            runs = [replace(run, sleeve=self.sleeve) for run in runs]
        return [self._judged(run, solved, None) for run, solved in zip(runs, self._solve(runs), strict=True)]

    def _solve(self, runs: list[Run]) -> list[SolvedRun | None]:
        try:
            return list(solve_runs(self.job, runs, self.poses))
        except (ArgumentError, MachineError):
            if len(runs) == 1:
                return [None]
            return [self._solve([run])[0] for run in runs]

    def _judged(self, run: Run, solved: SolvedRun | None, findings: tuple[Finding, ...] | None) -> Trial:
        if solved is None:
            return Trial(run, None, (), 2.0 * UNSOLVED, self.preference.cost(run))
        if findings is None:
            findings = (
                *shape_findings(solved, self.others, self.job, ON_SHAPES),
                *self._of_ends(solved),
                *self._of_duty(run),
            )
            run, solved, findings = self._sleeved(run, solved, findings)
        penalty = 0.0 if solved.solved else UNSOLVED
        for finding in findings:
            penalty += self._short(finding, solved)
        return Trial(run, solved, findings, penalty, self.preference.cost(run, findings))

    def _of_ends(self, solved: SolvedRun) -> list[Finding]:
        """Clearance of the ends, which is the same for all hoses between them."""
        key = tuple(_end_key(end) for end in (solved.run.assembly.a, solved.run.assembly.b))
        if key not in self._ends:
            self._ends[key] = end_clearance.check(solved, self.job)
        return self._ends[key]

    def _of_duty(self, run: Run) -> list[Finding]:
        """Findings of the duty, which hardly depend on the length: the same for each 50 mm of it."""
        key = (*key_of(run)[:3], round(run.assembly.overall_length / LENGTH_CLASS))
        if key not in self._duty:
            self._duty[key] = duty_findings(run, self.job)
        return self._duty[key]

    def _sleeved(
        self, run: Run, solved: SolvedRun, findings: tuple[Finding, ...]
    ) -> tuple[Run, SolvedRun, tuple[Finding, ...]]:
        """With a sleeve, where the choice is open and one mends something."""
        failing = {f.key for f in findings if f.verdict is Verdict.FAIL and f.rule in SLEEVE_MENDS}
        if self.sleeve is not None or not failing:
            return run, solved, findings
        covered = replace(run, sleeve=True)
        again = replace(solved, run=covered)
        new = shape_findings(again, self.others, self.job, SLEEVE_MENDS)
        if failing <= {f.key for f in new if f.verdict is Verdict.FAIL}:
            return run, solved, findings
        rest = [f for f in findings if f.rule not in SLEEVE_MENDS]
        return covered, again, (*rest, *new)

    def _short(self, finding: Finding, solved: SolvedRun) -> float:
        measure, limit = finding.measure, finding.limit
        if finding.rule == motion_twist.RULE and measure is not None:
            measure = min(measure, centred_twist(finding, solved))
        if measure is None or limit is None:
            return FAILING if finding.verdict is Verdict.FAIL else 0.0
        sign = 1.0 if finding.at_least else -1.0
        short = -sign * (measure - limit) / scale_of(finding)
        if short > 0.0:
            return FAILING + min(short, 3.0)
        missing = short + self.reserve(finding)
        return RESERVE_WEIGHT * missing if missing > 1e-9 else 0.0


def scale_of(finding: Finding) -> float:
    """What a finding's distance to its limit is divided by: the limit, or where that is small a least figure."""
    return max(abs(finding.limit or 0.0), SCALE.get(finding.kind, 1.0))


def shortfall(finding: Finding) -> float:
    """How far a finding is beyond its limit, in parts of it; negative where it is not."""
    if finding.margin is None or finding.limit is None:
        return 0.0
    return -finding.margin / scale_of(finding)


def centred_twist(finding: Finding, solved: SolvedRun) -> float:
    """Twist of a finding's span if the orientation angle put the fitting pose into the middle of it. [rad/m]

    Infinite where no orientation angle can: where it is fixed, or where an end is straight.
    """
    assembly = solved.run.assembly
    if assembly.orientation_angle is not None or not can_centre(assembly):
        return math.inf
    span = next((span for span in solved.spans if span.name == finding.subject), None)
    if span is None:
        return math.inf
    highest = max(float(shapes.twist.max()) for shapes in span.shapes)
    lowest = min(float(shapes.twist.min()) for shapes in span.shapes)
    return (highest - lowest) / 2.0 / min(span.lengths)


def can_centre(assembly: Assembly) -> bool:
    """Whether the twist may be centred by the orientation angle: two bent ends."""
    return min(assembly.a.form.exit_angle, assembly.b.form.exit_angle) > 0.0


def key_of(run: Run) -> tuple[object, ...]:
    """What tells one assembly of a run from another."""
    assembly = run.assembly
    return (
        assembly.hose.name,
        *(_end_key(end) for end in (assembly.a, assembly.b)),
        round(assembly.overall_length * 1e5),
        None if assembly.orientation_angle is None else round(assembly.orientation_angle * 1e5),
        tuple((clamp.mount, round(clamp.at * 1e5)) for clamp in run.clamps),
        run.sleeve,
        tuple(sorted((run.fitting_pose or {}).items())),
    )


def _end_key(end: End) -> tuple[object, ...]:
    adapters = tuple((adapter.name, adapter.hose_side, round(clock * 1e4)) for adapter, clock in end.adapters)
    return (end.form.name, end.form.connection, round(end.clock % math.tau * 1e4), adapters)
