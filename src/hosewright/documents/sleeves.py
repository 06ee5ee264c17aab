"""What the sleeve of a hose must withstand: a job only says that there is one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from hosewright.checks import clearance, guard
from hosewright.checks.check import RunResult
from hosewright.checks.finding import Verdict
from hosewright.checks.run import Job
from hosewright.machine import Surface
from hosewright.words import Texts

ABRASION, HEAT, SPRAY = "abrasion", "heat", "spray"

SURFACES = {Surface.SHARP: ("clearance_sharp", ABRASION), Surface.HOT: ("clearance_hot", HEAT)}
"""Distance that a bare hose keeps from a surface, and what a sleeve that stands in for it must withstand."""


def sleeve_kinds(run: RunResult, job: Job) -> list[str]:
    """What asks for the sleeve of a run: ``"abrasion"``, ``"heat"``, ``"spray"``, in this order.

    Abrasion where a sharp part, and heat where a hot part, lies nearer than a bare hose may come; spray where the
    guard rule would fail without the sleeve, so that a burst or a leak would reach people. Without a sleeve, and where
    nothing but the job asks for it, there is none.
    """
    if not run.run.sleeve:
        return []
    found = {*_from_parts(run, job), *_from_people(run, job)}
    return [kind for kind in (ABRASION, HEAT, SPRAY) if kind in found]


def against_what(kinds: Sequence[str], texts: Texts) -> str:
    """What a sleeve must withstand, in words such as ``"abrasion and heat"``; empty where nothing is known."""
    words = [texts(f"build_sheet.sleeve_{kind}") for kind in kinds]
    if len(words) < 2:
        return "".join(words)
    return texts("common.and", first=", ".join(words[:-1]), last=words[-1])


def _from_parts(run: RunResult, job: Job) -> Iterator[str]:
    surfaces = {obstacle.name: obstacle.surface for obstacle in job.machine.obstacles}
    for finding in run.findings:
        known = finding.rule == clearance.RULE and SURFACES.get(surfaces.get(finding.subject, Surface.PLAIN))
        if known and finding.measure is not None and finding.measure < job.profile[known[0]]:
            yield known[1]


def _from_people(run: RunResult, job: Job) -> Iterator[str]:
    bare = replace(run.solved, run=replace(run.run, sleeve=False))
    if any(finding.verdict is not Verdict.PASS for finding in guard.check(bare, job)):
        yield SPRAY
