"""Clearance of ends: elbow, adapters and ferrule of each end against the parts that its port does not sit on.

Surface to surface, the end taken as round with the largest of its diameters. Parts that do not move against the port
must not be hit; parts that move past it keep the distance of the profile.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from hosewright.checks.clearance import moves_past, seated
from hosewright.checks.finding import Finding, judge
from hosewright.checks.run import Job
from hosewright.checks.solve import SolvedRun
from hosewright.checks.worst import TIE, place_of

Array = NDArray[np.float64]

RULE = "end clearance"
SPACING = 0.005
"""Points along the axis of an end. [m]"""


def check(solved: SolvedRun, job: Job) -> list[Finding]:
    """One finding for each end, on the part that comes nearest; none where there are no parts."""
    findings = [_finding(solved, job, name) for name in ("a", "b")]
    return [finding for finding in findings if finding is not None]


def _finding(solved: SolvedRun, job: Job, name: str) -> Finding | None:
    run = solved.run
    end, port = (run.assembly.a, run.port_a) if name == "a" else (run.assembly.b, run.port_b)
    seat = solved.placement.port(port)
    axis = seat.points(_sampled(end.axis()))
    apart = [part for part in job.machine.obstacles if not seated(solved, part, port)]
    if not apart:
        return None
    gaps = [solved.placement.least_distance(part.name, axis).distance for part in apart]
    number = int(np.argmin([gap.min() for gap in gaps]))
    part, gap = apart[number], gaps[number]
    widths = [end.form.ferrule_diameter, end.form.nut_width, *(adapter.body_diameter for adapter, _ in end.adapters)]
    known = [width for width in widths if width is not None]
    moving = (job.profile["moving_distance"], job.profile["moving_angle"])
    past = moves_past(solved.placement.body(part.on), seat, *moving)
    limit = job.profile["clearance_moving_past"] if past else 0.0
    source = job.profile.source("clearance_moving_past" if past else "clearance_plain")
    pose = int(np.argmin(np.round(gap / TIE)))
    measure = float(gap[pose]) - max(known, default=0.0) / 2.0
    complete = end.form.ferrule_diameter is not None
    text = f"it comes within {measure * 1e3:.0f} mm of '{part.name}'"
    if not complete:
        text = f"the data of the {end.form.name} end gives no ferrule diameter; {text}"
    verdict = judge(measure, limit, at_least=True, source=source, complete=complete)
    place = place_of(solved, 0, pose)
    return Finding(RULE, f"end {name}", verdict, "length", measure, limit, True, source, text, place=place)


def _sampled(corners: Array) -> Array:
    # points along a line of corners, SPACING apart
    arcs = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(corners, axis=0), axis=1))])
    at = np.linspace(0.0, arcs[-1], int(arcs[-1] / SPACING) + 2)
    return np.stack([np.interp(at, arcs, corners[:, k]) for k in range(3)], axis=1)
