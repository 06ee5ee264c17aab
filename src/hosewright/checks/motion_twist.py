"""Twist in motion: the lay line stays straight; the motion must bend the hose, not twist it.

The largest turn about the hose's own axis away from the untwisted hose, per metre of free hose, over the whole motion:
half the range where the fitting pose is in the middle of it.
"""

from __future__ import annotations

import numpy as np

from hosewright.checks.finding import Finding, judge
from hosewright.checks.lacking import OUTSIDE_DIAMETER, lacks
from hosewright.checks.run import Job
from hosewright.checks.solve import SolvedRun, SolvedSpan
from hosewright.checks.worst import place_of, worst
from hosewright.words import Figure, Sentence

RULE = "twist in motion"


def check(solved: SolvedRun, job: Job) -> list[Finding]:
    """One finding for each span."""
    return [_finding(solved, span, job) for span in solved.spans]


def _finding(solved: SolvedRun, span: SolvedSpan, job: Job) -> Finding:
    profile = job.profile
    source = profile.source("twist_limit")
    diameter = solved.run.assembly.hose.outside_diameter
    twist = np.array([shapes.twist for shapes in span.shapes])
    lengths = np.array(span.lengths)[:, None]
    state, pose = worst(np.abs(twist) / lengths, at_least=False)
    measure = float(abs(twist[state, pose]) / span.lengths[state])
    scale = None if diameter is None else profile["twist_diameter"] / diameter
    limit = None if scale is None else profile["twist_limit"] * scale
    advice = None if scale is None else profile["twist_advice"] * scale
    turn, spread = Figure.angle(float(twist[state, pose]), sign=True), Figure.angle(float(np.ptp(twist[state])))
    said = Sentence.of("findings.turned", turn=turn, spread=spread)
    if diameter is None:
        said = lacks(solved.run.assembly.hose.name, OUTSIDE_DIAMETER).then(said)
    verdict = judge(measure, limit, at_least=False, advice_limit=advice, source=source)
    return Finding(
        RULE,
        span.name,
        verdict,
        "twist",
        measure,
        limit,
        False,
        source,
        said,
        advice,
        place_of(solved, state, pose, span.name),
    )
