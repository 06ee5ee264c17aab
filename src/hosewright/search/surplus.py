"""Surplus: how much shorter the assembly could be and still pass.

More hose than needed sags, rubs and costs. Found by trying shorter assemblies of the same ends, in the shop's
increments, by halving.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from hosewright.checks.check import CheckResult, Progress, RunResult, duty_findings, in_order, shape_findings
from hosewright.checks.finding import Finding, Verdict, judge
from hosewright.checks.run import Job, Run
from hosewright.checks.solve import SolvedRun, solve_runs
from hosewright.errors import ArgumentError
from hosewright.machine import Poses
from hosewright.search.remedies import chosen
from hosewright.search.trial import trial_job
from hosewright.standards import din_20066
from hosewright.words import Figure, Sentence

RULE = "surplus"


def with_surplus(result: CheckResult, progress: Progress | None = None) -> CheckResult:
    """The result with a surplus finding on each run that passes."""
    tell = progress or (lambda _: None)
    runs = []
    for run in result.runs:
        if run.count(Verdict.FAIL) or not run.solved.solved:
            runs.append(run)
            continue
        tell(f"looking for the shortest '{run.run.name}'")
        others = [other for other in result.solved if other.run.name != run.run.name]
        runs.append(replace(run, findings=in_order([*run.findings, _finding(run, others, result)])))
    return replace(result, runs=tuple(runs))


def _finding(run: RunResult, others: Sequence[SolvedRun], result: CheckResult) -> Finding:
    profile, assembly = result.job.profile, run.run.assembly
    shortest = shortest_passing(run, others, result)
    measure = assembly.overall_length - shortest
    advice = max(profile["surplus_part"] * assembly.free_length, profile["surplus_length"])
    source = profile.source("surplus_part")
    said = Sentence.of("findings.surplus", length=Figure.length(shortest))
    verdict = judge(measure, None, at_least=False, advice_limit=advice, source=source)
    return Finding(RULE, "", verdict, "length", measure, None, False, source, said, advice)


def shortest_passing(run: RunResult, others: Sequence[SolvedRun], result: CheckResult) -> float:
    """Shortest overall length, on the shop's increment, that passes as the run does; clamps stay where they are. [m]

    Sought on some poses, level; then lengthened until it passes in all poses and on all slopes.
    """
    increment = result.job.profile["length_increment"]
    assembly = run.run.assembly
    ends = assembly.overall_length - assembly.free_length
    tolerance = din_20066.length_tolerance(assembly.overall_length, assembly.hose.inside_diameter).minus
    straight = sum(float(span.distance.max()) for span in run.solved.spans)
    needed = ends + straight / (1.0 - (assembly.hose.shorter or 0.0)) + min(tolerance, 0.003)
    low = int(0.999 * needed / increment)  # too short even for the straight way
    high = longest = math.floor(assembly.overall_length / increment + 1e-6)
    level = trial_job(result.job)
    poses = result.poses.take(chosen(run, result.poses))
    few = solve_runs(level, [other.run for other in others], poses)
    while high - low > 1:
        middle = (low + high) // 2
        if _passes(run, middle * increment, few, level, poses):
            high = middle
        else:
            low = middle
    while high < longest and not _passes(run, high * increment, others, result.job, result.poses):
        high += 1
    return high * increment if high < longest else assembly.overall_length


def _passes(run: RunResult, length: float, others: Sequence[SolvedRun], job: Job, poses: Poses) -> bool:
    try:
        changed: Run = replace(run.run, assembly=replace(run.run.assembly, overall_length=length))
        (solved,) = solve_runs(job, [changed], poses)
    except ArgumentError:
        return False  # a clamp would lie off the hose, or the ends leave none
    unknown = {finding.key for finding in run.findings if finding.verdict is Verdict.UNKNOWN}
    return solved.solved and all(
        finding.verdict is not Verdict.FAIL and (finding.verdict is not Verdict.UNKNOWN or finding.key in unknown)
        for finding in [*shape_findings(solved, others, job), *duty_findings(changed, job)]
    )
