"""Bend radius: nowhere, at no time, tighter than the hose's minimum, more where the run moves.

Measured to the inside of the bend, as the hose standards give it: least radius of the centre line less half the outside
diameter.
"""

from __future__ import annotations

import numpy as np

from hosewright.checks.finding import Finding, judge
from hosewright.checks.run import Job
from hosewright.checks.solve import SolvedRun, SolvedSpan
from hosewright.checks.worst import place_of, unproven, worst

RULE = "bend radius"


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
        text = f"the data of {hose.name} gives no outside diameter, so the inside radius is not known"
    elif limit is None:
        text = f"the data of {hose.name} gives no minimum bend radius"
    else:
        asked = f"{factor:g} x {limit / factor * 1e3:.0f} mm" if moves else f"{limit * 1e3:.0f} mm"
        text = (
            f"inside radius {min(measure, 99.999) * 1e3:.0f} mm, {asked} asked; tightest {at * 1e3:.0f} mm from "
            f"ferrule tail a{unproven(solved)}"
        )
    verdict = judge(measure, limit, at_least=True, source=source, complete=not unproven(solved))
    place = place_of(solved, state, pose, span.name, at)
    return Finding(RULE, span.name, verdict, "length", measure, limit, True, source, text, place=place)
