"""Clearance of ends: elbow, adapters and ferrule of each end against the parts that its port does not sit on.

Surface to surface, the end taken as round with the largest of its diameters. Parts that do not move against the port
must not be hit; parts that move past it keep the distance of the profile.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from hosewright.assembly import End
from hosewright.checks.clearance import moves_past, seated
from hosewright.checks.finding import Finding, judge
from hosewright.checks.run import Job
from hosewright.checks.solve import SolvedRun
from hosewright.checks.worst import TIE, place_of
from hosewright.machine import Placement
from hosewright.words import Figure, Name, Sentence

Array = NDArray[np.float64]

RULE = "end clearance"
SPACING = 0.005
"""Points along the axis of an end. [m]"""


def check(solved: SolvedRun, job: Job) -> list[Finding]:
    """One finding for each end, on the part that comes nearest; none where there are no parts."""
    findings = [_finding(solved, job, name) for name in ("a", "b")]
    return [finding for finding in findings if finding is not None]


@dataclass(frozen=True)
class Gap:
    """How near an end comes to a part. [m]"""

    part: str
    measure: float
    limit: float
    figure: str
    pose: int
    complete: bool


def least_gap(end: End, port: str, placement: Placement, job: Job) -> Gap | None:
    """The part that an end at a port comes nearest to; ``None`` where there are no parts."""
    apart = [part for part in job.machine.obstacles if not seated(placement, part, port)]
    if not apart:
        return None
    seat = placement.port(port)
    axis = seat.points(_sampled(end.axis()))
    gaps = [placement.least_distance(part.name, axis).distance for part in apart]
    number = int(np.argmin([gap.min() for gap in gaps]))
    part, gap = apart[number], gaps[number]
    widths = [end.form.ferrule_diameter, end.form.nut_width, *(adapter.body_diameter for adapter, _ in end.adapters)]
    known = [width for width in widths if width is not None]
    moving = (job.profile["moving_distance"], job.profile["moving_angle"])
    past = moves_past(placement.body(part.on), seat, *moving)
    figure = "clearance_moving_past" if past else "clearance_plain"
    limit = job.profile[figure] if past else 0.0
    pose = int(np.argmin(np.round(gap / TIE)))
    measure = float(gap[pose]) - max(known, default=0.0) / 2.0
    return Gap(part.name, measure, limit, figure, pose, end.form.ferrule_diameter is not None)


def _finding(solved: SolvedRun, job: Job, name: str) -> Finding | None:
    run = solved.run
    end, port = (run.assembly.a, run.port_a) if name == "a" else (run.assembly.b, run.port_b)
    gap = least_gap(end, port, solved.placement, job)
    if gap is None:
        return None
    source = job.profile.source(gap.figure)
    said = Sentence.of("findings.end_near_part", distance=Figure.length(gap.measure), part=gap.part)
    if not gap.complete:
        said = Sentence.of("findings.no_ferrule_diameter", form=Name(end.form.name)).then(said)
    verdict = judge(gap.measure, gap.limit, at_least=True, source=source, complete=gap.complete)
    place = place_of(solved, 0, gap.pose)
    return Finding(RULE, f"end {name}", verdict, "length", gap.measure, gap.limit, True, source, said, place=place)


def _sampled(corners: Array) -> Array:
    # points along a line of corners, SPACING apart
    arcs = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(corners, axis=0), axis=1))])
    at = np.linspace(0.0, arcs[-1], int(arcs[-1] / SPACING) + 2)
    return np.stack([np.interp(at, arcs, corners[:, k]) for k in range(3)], axis=1)
