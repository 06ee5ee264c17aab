"""Support: a run that lies still is held at intervals, no clamp sits in a bend, every hose has clamps of its own."""

from __future__ import annotations

import numpy as np

from hosewright.checks.bend_radius import MOST_SHOWN
from hosewright.checks.finding import Finding, Place, Verdict, judge
from hosewright.checks.run import Job, Run
from hosewright.checks.solve import SolvedRun, SolvedSpan
from hosewright.checks.worst import place_of, worst
from hosewright.sources import Source
from hosewright.words import Figure, Sentence

RULE = "support"


def check(solved: SolvedRun, job: Job) -> list[Finding]:
    """Findings on the longest unsupported span, on clamps in bends and on clamps that are shared."""
    return [*_unsupported(solved, job), *_bent_clamps(solved, job), *_shared_clamps(solved.run, job)]


def _unsupported(solved: SolvedRun, job: Job) -> list[Finding]:
    profile = job.profile
    size = solved.run.assembly.hose.dash_size
    name = "support_to_8" if size <= 8 else "support_to_16" if size <= 16 else "support_above"
    still = [span for span in solved.spans if not span.moves(profile["moving_distance"], profile["moving_angle"])]
    if not still:
        return []
    longest = max(still, key=lambda span: span.length)
    limit, source = profile[name], profile.source(name)
    said = Sentence.of("findings.unsupported", length=Figure.length(longest.length))
    verdict = judge(longest.length, None, at_least=False, advice_limit=limit, source=source)
    if verdict is not Verdict.PASS and not job.machine.mounts:
        verdict, said = Verdict.UNKNOWN, Sentence.of("findings.no_mounts", said=said)
    place = Place(longest.name, longest.start)
    return [_advice("unsupported length", verdict, longest.length, limit, source, said, place)]


def _bent_clamps(solved: SolvedRun, job: Job) -> list[Finding]:
    hose = solved.run.assembly.hose
    if hose.minimum_bend_radius is None:
        return []
    limit = job.profile["clamp_bend_radius"] * hose.minimum_bend_radius
    source = job.profile.source("clamp_bend_radius")
    findings = []
    for clamp, before, after in zip(solved.run.clamps, solved.spans, solved.spans[1:], strict=False):
        radius = np.minimum(_radius_at(before, last=True), _radius_at(after, last=False))
        state, pose = worst(radius, at_least=True)
        measure = float(radius[state, pose])
        radius_there = Figure.length(min(measure, MOST_SHOWN))
        said = Sentence.of("findings.bent_clamp", radius=radius_there, mount=clamp.mount)
        verdict = judge(measure, None, at_least=True, advice_limit=limit, source=source)
        place = place_of(solved, state, pose, before.name, clamp.at)
        findings.append(_advice(f"clamp {clamp.mount}", verdict, measure, limit, source, said, place, at_least=True))
    return findings


def _radius_at(span: SolvedSpan, *, last: bool) -> np.ndarray:
    column = -1 if last else 0
    return 1.0 / np.maximum([shapes.curvature[:, column] for shapes in span.shapes], 1e-6)


def _shared_clamps(run: Run, job: Job) -> list[Finding]:
    source = job.profile.source("support_to_8")
    others = {clamp.mount: other.name for other in job.runs if other.name != run.name for clamp in other.clamps}
    shared = [clamp for clamp in run.clamps if clamp.mount in others]
    return [
        Finding(
            RULE,
            f"shared {clamp.mount}",
            Verdict.FAIL,
            "count",
            2.0,
            1.0,
            False,
            source,
            Sentence.of("findings.shared_clamp", mount=clamp.mount, run=others[clamp.mount]),
            place=Place(at=clamp.at),
        )
        for clamp in shared
    ]


def _advice(
    subject: str,
    verdict: Verdict,
    measure: float,
    limit: float,
    source: Source,
    said: Sentence,
    place: Place,
    at_least: bool = False,
) -> Finding:
    return Finding(RULE, subject, verdict, "length", measure, None, at_least, source, said, limit, place)
