"""The plan of a job: an assembly for each run, chosen one after the other so that no hose is in another's way."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace

from hosewright.catalog import Catalog
from hosewright.checks import clearance
from hosewright.checks.check import CheckResult, Progress, RunResult, check, duty_findings, in_order, shape_findings
from hosewright.checks.finding import Finding, Verdict
from hosewright.checks.run import Job, Run
from hosewright.checks.solve import solve_runs
from hosewright.machine import Poses
from hosewright.search import robust
from hosewright.search.bounds import Bound, bounds
from hosewright.search.candidates import Refused
from hosewright.search.poses import typical
from hosewright.search.request import Request
from hosewright.search.robust import Case
from hosewright.search.seek import LEAST_RESERVE, MORE_RESERVE, RUNNERS_UP, Over, Seeker, Sought
from hosewright.search.trial import Trial, key_of, shortfall, trial_job

TRIED_POSES = 8
REPAIRS = 3
"""Times that runs are planned again after the full check has found a worse pose."""


@dataclass(frozen=True, eq=False)
class Alternative:
    """A runner-up, checked in all poses of the motion."""

    run: Run
    findings: tuple[Finding, ...]
    cost: float


@dataclass(frozen=True, eq=False)
class RunPlan:
    """What was chosen for one run.

    Attributes
    ----------
    result
        The chosen assembly with all its findings; ``None`` where there is no candidate.
    cases
        It at its limits.
    bounds
        Of its length.
    alternatives
        Runners-up of other families.
    refused
        Families that were refused, each with the rule.
    tried
        Assemblies that were tried.
    complete
        Whether the search for it came to its end.
    """

    request: Request
    result: RunResult | None
    cases: tuple[Case, ...]
    bounds: tuple[Bound, ...]
    alternatives: tuple[Alternative, ...]
    refused: tuple[Refused, ...]
    tried: int
    cost: float
    complete: bool = True

    @property
    def passed(self) -> bool:
        """Whether the assembly passes every rule, at its limits too."""
        solid = self.result is not None and not self.result.count(Verdict.FAIL) and self.result.solved.solved
        return solid and bool(self.cases) and all(case.passed for case in self.cases)


@dataclass(frozen=True, eq=False)
class Plan:
    """Plans of all runs of a job.

    Attributes
    ----------
    result
        Check of all chosen assemblies together.
    order
        In which runs were planned.
    complete
        Whether the search came to its end; not where it was stopped.
    """

    result: CheckResult
    runs: tuple[RunPlan, ...]
    order: tuple[str, ...]
    complete: bool

    @property
    def passed(self) -> bool:
        """Whether every run has an assembly that passes."""
        return all(run.passed for run in self.runs)

    def run(self, name: str) -> RunPlan:
        """Plan of one run."""
        return next(run for run in self.runs if run.request.name == name)


def plan(
    job: Job,
    requests: Sequence[Request],
    catalog: Catalog,
    progress: Progress | None = None,
    over: Over | None = None,
) -> Plan:
    """Choose an assembly for each request.

    Parameters
    ----------
    job
        The machine and its motion; its own runs do not count.
    requests
        What is asked for.
    catalog
        To choose from.
    progress
        Told what is done.
    over
        Whether to stop; the best so far is kept.

    Raises
    ------
    HosewrightError
        The machine cannot take a pose.
    """
    return _Planner(job, requests, catalog, progress or (lambda _: None), over or (lambda: False)).plan()


@dataclass(eq=False)
class _Planner:
    job: Job
    requests: Sequence[Request]
    catalog: Catalog
    tell: Callable[[str], None]
    over: Over
    sought: dict[str, Sought] = field(default_factory=dict)
    alone: dict[str, Sought] = field(default_factory=dict)
    seekers: dict[tuple[object, ...], Seeker] = field(default_factory=dict)
    extra: set[int] = field(default_factory=set)
    reserves: dict[str, dict[str, float]] = field(default_factory=dict)
    stopped: set[str] = field(default_factory=set)

    def plan(self) -> Plan:
        order = [request.name for request in sorted(self.requests, key=self._size, reverse=True)]
        order = self._in_order(order)
        result = self._checked()
        for _ in range(REPAIRS):
            failing = [run.run.name for run in result.runs if self._broken(run)]
            if not failing or self.over():
                break
            self._add_worst(result, failing)
            order = self._in_order(failing, [name for name in order if name not in failing])
            result = self._checked()
        runs = tuple(self._run_plan(request, result) for request in self.requests)
        return Plan(result, runs, tuple(order), complete=not self.over())

    def _size(self, request: Request) -> tuple[float, float]:
        # the thickest lines first, then those that pass most oil
        return (request.hose.dash_size if request.hose else 0.0, request.duty.flow)

    # ---- one after the other ----

    def _in_order(self, names: Sequence[str], placed: Sequence[str] = ()) -> list[str]:
        """Plan runs one after the other beside those that are placed, and return the order in which they were.

        A run that finds no room goes before those that hinder it, where that serves them all better. Only what fails
        then, too, is sought with adapters among other hoses.
        """
        done = list(placed)
        for name in names:
            self.seekers.clear()
            self.sought[name] = self._seek(name, done, thorough=not done)
            hinders = self._hindering(name, done)
            done = self._going_first(name, hinders, done) if hinders else [*done, name]
            for other in [name, *hinders]:
                beside = [one for one in done if one != other]
                if beside and not self.sought[other].passed and not self.over():
                    found = self._seek(other, beside)
                    self.sought[other] = min(self.sought[other], found, key=lambda one: _standing([one]))
        return done

    def _going_first(self, name: str, hinders: Sequence[str], done: Sequence[str]) -> list[str]:
        """Place a run that finds no room before those that hinder it, where that serves them all better."""
        group = [name, *hinders]
        before = {one: self.sought[one] for one in group}
        self.sought[name] = self.alone[name]
        order = [*(other for other in done if other not in hinders), name]
        for other in hinders:
            self.sought[other] = self._seek(other, order, thorough=False)
            order.append(other)
        if _standing(self.sought[one] for one in group) <= _standing(before.values()):
            return order
        self.sought |= before
        return [*done, name]

    def _seek(self, name: str, beside: Sequence[str], *, thorough: bool = True) -> Sought:
        """Seek an assembly for a run beside others, or go on where that was left off."""
        self.tell(f"planning '{name}'")
        runs = self._runs(beside)
        key = (name, tuple(sorted((run.name, key_of(run)) for run in runs)), len(self.extra))
        if key in self.seekers:
            return self._noted(name, self.seekers[key].go_on())
        request = next(request for request in self.requests if request.name == name)
        poses, job = self._poses(), trial_job(self.job)
        others = solve_runs(job, runs, poses)
        taken = frozenset(clamp.mount for run in runs for clamp in run.clamps)
        reserves = self.reserves.get(name, {})
        job = replace(job, runs=runs)
        seeker = Seeker(request, job, self.catalog, poses, others, taken, self.over, reserves, thorough)
        self.seekers[key] = seeker
        found = self._noted(name, seeker.seek())
        if not beside:
            self.alone[name] = found
        return found

    def _noted(self, name: str, found: Sought) -> Sought:
        if self.over():
            self.stopped.add(name)
        return found

    def _runs(self, names: Iterable[str]) -> tuple[Run, ...]:
        chosen = (self.sought[name].chosen for name in names)
        return tuple(trial.run for trial in chosen if trial is not None)

    def _hindering(self, name: str, done: Sequence[str]) -> list[str]:
        """Hoses placed before, but for which a run would pass."""
        if not done or self.sought[name].chosen is None or self.sought[name].passed or self.over():
            return []
        alone = self.alone[name] if name in self.alone else self._seek(name, ())
        if not alone.passed or alone.chosen is None or alone.chosen.solved is None:
            return []
        job = trial_job(self.job)
        others = solve_runs(job, self._runs(done), self._poses())
        pairs = clearance.check_pairs([alone.chosen.solved, *others], self.job, only=name)[name]
        close = {finding.subject for finding in pairs if finding.verdict is Verdict.FAIL}
        return [other for other in done if f"hose {other}" in close]

    # ---- all together ----

    def _poses(self) -> Poses:
        poses = self.job.poses
        pairs = [(request.a.port, request.b.port) for request in self.requests]
        return poses.take(typical(poses, self.job.machine.place(poses), pairs, TRIED_POSES, sorted(self.extra)))

    def _checked(self) -> CheckResult:
        self.tell("checking all runs together")
        chosen = (self.sought[request.name].chosen for request in self.requests)
        runs = tuple(trial.run for trial in chosen if trial is not None)
        return check(replace(self.job, runs=runs), progress=self.tell)

    def _broken(self, run: RunResult) -> bool:
        # passes where it was tried and fails in the full check
        chosen = self.sought[run.run.name].chosen
        return chosen is not None and not chosen.failing and bool(run.count(Verdict.FAIL))

    def _add_worst(self, result: CheckResult, names: Iterable[str]) -> None:
        """Try the poses in which runs fail from now on, and keep in reserve what they fell short by."""
        poses = self.job.poses
        for name in names:
            reserves = self.reserves.setdefault(name, {})
            for finding in (f for f in result.run(name).findings if f.verdict is Verdict.FAIL):
                tried = {one.key: one for one in chosen.findings} if (chosen := self.sought[name].chosen) else {}
                had = max(-shortfall(tried[finding.key]), 0.0) if finding.key in tried else 0.0
                reserves[finding.key] = had + MORE_RESERVE * max(shortfall(finding), LEAST_RESERVE)
                place = finding.place
                if place.path is not None and place.path_at is not None:
                    self.extra.add(poses.nearest(place.path, place.path_at))

    # ---- what is told ----

    def _run_plan(self, request: Request, result: CheckResult) -> RunPlan:
        sought = self.sought[request.name]
        complete = request.name not in self.stopped
        if sought.chosen is None:
            return RunPlan(request, None, (), (), (), sought.refused, sought.tried, 0.0, complete)
        own = result.run(request.name)
        return RunPlan(
            request,
            own,
            self._cases(sought, result),
            bounds(own, result.job),
            self._alternatives(sought, result),
            sought.refused,
            sought.tried,
            sought.chosen.cost,
            complete,
        )

    def _cases(self, sought: Sought, result: CheckResult) -> tuple[Case, ...]:
        """The chosen assembly at its limits beside all hoses, those too that were planned after it."""
        chosen = sought.chosen
        others = tuple(one.run for one in result.runs if one.run.name != sought.request.name)
        if chosen is None or not sought.cases or not others:
            return sought.cases
        job, poses = replace(trial_job(self.job), runs=others), self._poses()
        return robust.cases(chosen.run, job, poses, solve_runs(job, others, poses))

    def _alternatives(self, sought: Sought, result: CheckResult) -> tuple[Alternative, ...]:
        """Runners-up that pass in all poses, beside the other hoses as planned."""
        found: list[Alternative] = []
        for trial in sought.others:
            if len(found) == RUNNERS_UP or trial.failing or trial.solved is None:
                break
            findings = self._in_all_poses(trial, result)
            if findings is not None:
                found.append(Alternative(trial.run, findings, trial.cost))
        return tuple(found)

    def _in_all_poses(self, trial: Trial, result: CheckResult) -> tuple[Finding, ...] | None:
        (solved,) = solve_runs(result.job, [trial.run], result.poses)
        others = [other for other in result.solved if other.run.name != trial.run.name]
        findings = in_order([*shape_findings(solved, others, result.job), *duty_findings(trial.run, result.job)])
        bad = any(finding.verdict is Verdict.FAIL for finding in findings)
        return None if bad or not solved.solved else findings


def _standing(several: Iterable[Sought]) -> tuple[int, float, float]:
    """Runs that do not pass, their penalties and their costs: smaller is better."""
    chosen = [(sought.passed, sought.chosen) for sought in several]
    penalty = sum(trial.penalty for _, trial in chosen if trial is not None)
    return sum(not passed for passed, _ in chosen), penalty, sum(trial.cost for _, trial in chosen if trial is not None)
