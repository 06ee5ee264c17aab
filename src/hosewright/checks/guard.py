"""Guard: where people stand close to a hose under pressure or hot, a burst or a leak must not reach them."""

from __future__ import annotations

import numpy as np

from hosewright.checks.finding import Finding, judge
from hosewright.checks.run import Job
from hosewright.checks.solve import SolvedRun
from hosewright.checks.worst import place_of, worst
from hosewright.duty import pressure_demand
from hosewright.words import Figure, Sentence

RULE = "guard"


def check(solved: SolvedRun, job: Job) -> list[Finding]:
    """One finding for each place where people stand."""
    return [_finding(solved, job, operator.name) for operator in job.machine.operators]


def _finding(solved: SolvedRun, job: Job, operator: str) -> Finding:
    profile, run = job.profile, solved.run
    limit, source = profile["guard_distance"], profile.source("guard_distance")
    where = solved.placement.operator(operator).origin
    gaps = np.array([np.linalg.norm(line - where[:, None], axis=2) for line in solved.lines])
    state, pose = worst(gaps.min(axis=2), at_least=True)
    node = int(np.argmin(gaps[state, pose]))
    measure = float(gaps[state, pose, node]) - (run.assembly.hose.outside_diameter or 0.0) / 2.0
    peak = pressure_demand(run.duty).peak
    harmful = peak > profile["guard_pressure"] or run.duty.temperature_max > profile["guard_temperature"]
    limit, key = _bound(measure, limit, harmful=harmful, sleeve=run.sleeve)
    said = Sentence.of(key, distance=Figure.length(measure), operator=operator)
    complete = run.assembly.hose.outside_diameter is not None or not harmful
    if not complete:
        said = Sentence.of("findings.near_without_diameter", said=said, hose=run.assembly.hose.name)
    verdict = judge(measure, limit, at_least=True, source=source, complete=complete)
    place = place_of(solved, state, pose, at=float(solved.arcs[node]))
    return Finding(RULE, operator, verdict, "length", measure, limit, True, source, said, place=place)


def _bound(measure: float, limit: float, *, harmful: bool, sleeve: bool) -> tuple[float, str]:
    """Distance that is asked for, and which sentence says so."""
    if not harmful:
        return 0.0, "findings.near_harmless"
    if sleeve:
        return 0.0, "findings.near_covered"
    return limit, "findings.near_unguarded" if measure < limit else "findings.near"
