"""Bend radius: nowhere, at no time, tighter than the hose's minimum, more where the run moves.

Measured to the inside of the bend, as the hose standards give it: least radius of the centre line less half the outside
diameter.
"""

from __future__ import annotations

import numpy as np

from hosewright.checks.finding import Finding, judge
from hosewright.checks.lacking import MINIMUM_BEND_RADIUS, lacks
from hosewright.checks.run import Job
from hosewright.checks.solve import SolvedRun, SolvedSpan
from hosewright.checks.worst import as_proven, place_of, unproven, worst
from hosewright.words import Figure, Sentence

RULE = "bend radius"
MOST_SHOWN = 99.999
"""A straight hose has no radius: this one is told. [m]"""


def check(solved: SolvedRun, job: Job) -> list[Finding]:
    """One finding for each span."""
    return [_finding(solved, span, job) for span in solved.spans]


def _finding(solved: SolvedRun, span: SolvedSpan, job: Job) -> Finding:
    hose = solved.run.assembly.hose
    profile = job.profile
    moves = span.moves(profile["moving_distance"], profile["moving_angle"])
    factor = profile["moving_radius_factor"] if moves else 1.0
    limit = None if hose.minimum_bend_radius is None else factor * hose.minimum_bend_radius
    source = hose.sources.get("minimum_bend_radius")
    radius = np.array([shapes.least_radius for shapes in span.shapes])
    state, pose = worst(radius, at_least=True)
    at = span.nominal_place(float(span.shapes[state].least_radius_at[pose]), state)
    measure = None if hose.outside_diameter is None else float(radius[state, pose]) - hose.outside_diameter / 2.0
    if measure is None:
        said = Sentence.of("findings.no_inside_radius", hose=hose.name)
    elif limit is None:
        said = lacks(hose.name, MINIMUM_BEND_RADIUS)
    else:
        said = as_proven(_sentence(measure, limit, factor, at), solved)
    verdict = judge(measure, limit, at_least=True, source=source, complete=not unproven(solved))
    place = place_of(solved, state, pose, span.name, at)
    return Finding(RULE, span.name, verdict, "length", measure, limit, True, source, said, place=place)


def _sentence(measure: float, limit: float, factor: float, at: float) -> Sentence:
    radius, place = Figure.length(min(measure, MOST_SHOWN)), Figure.length(at)
    if factor == 1.0:
        return Sentence.of("findings.radius", radius=radius, least=Figure.length(limit), at=place)
    least, times = Figure.length(limit / factor), Figure.number(factor)
    return Sentence.of("findings.radius_moving", radius=radius, factor=times, least=least, at=place)
