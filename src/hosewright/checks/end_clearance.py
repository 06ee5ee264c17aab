"""Clearance of ends: elbow, adapters and ferrule of each end against the parts that its port does not sit on.

Surface to surface, the end taken as round with the largest of its diameters, that of a hexagon across its corners.
Parts that do not move against the port must not be hit; parts that move past it keep the distance of the profile.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from hosewright.assembly import End
from hosewright.checks.clearance import moves_past, seated
from hosewright.checks.finding import Finding, judge
from hosewright.checks.run import Job
from hosewright.checks.solve import SolvedRun, port_frames
from hosewright.checks.worst import TIE, place_of
from hosewright.machine import Placement
from hosewright.words import Figure, Name, Sentence

Array = NDArray[np.float64]

RULE = "end clearance"
SPACING = 0.005
"""Points along the axis of an end. [m]"""
AROUND = 12
"""Points of a ring."""
CORNERS = 2.0 / math.sqrt(3.0)
"""Width of a hexagon across its corners over that across its flats."""


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
    seat = port_frames(placement, port, job.port_offsets)
    local, radii = _body(end)
    points = seat.points(local)
    gaps = [placement.least_distance(part.name, points, radii).distance for part in apart]
    number = int(np.argmin([gap.min() for gap in gaps]))
    part, gap = apart[number], gaps[number]
    moving = (job.profile["moving_distance"], job.profile["moving_angle"])
    past = moves_past(placement.body(part.on), seat, *moving)
    figure = "clearance_moving_past" if past else "clearance_plain"
    limit = job.profile[figure] if past else 0.0
    pose = int(np.argmin(np.round(gap / TIE)))
    return Gap(part.name, float(gap[pose]), limit, figure, pose, end.form.ferrule_diameter is not None)


def _largest_diameter(end: End) -> float:
    """Of all that is known of an end. [m]"""
    hexagons = [CORNERS * width for width in (end.form.nut_width, end.form.hex_width) if width is not None]
    round_parts = [end.form.ferrule_diameter, *(adapter.body_diameter for adapter, _ in end.adapters)]
    return max([*hexagons, *(diameter for diameter in round_parts if diameter is not None)], default=0.0)


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


def _body(end: End) -> tuple[Array, Array]:
    """Points (n, 3) in the port's frame and radii (n,) of balls that fill an end.

    It begins flat at the port's seat: balls round its axis from one radius off the seat on, and rings before that.
    """
    radius = _largest_diameter(end) / 2.0
    axis, arcs = _sampled(end.axis())
    balls = axis[arcs >= radius]
    turns = np.linspace(0.0, 2.0 * np.pi, AROUND, endpoint=False)
    ring = radius * np.stack([np.zeros(AROUND), np.cos(turns), np.sin(turns)], axis=1)
    rings = [ring + np.array([off * radius, 0.0, 0.0]) for off in (0.0, 0.5)]
    points = np.concatenate([balls, *rings])
    return points, np.where(np.arange(len(points)) < len(balls), radius, 0.0)


def _sampled(corners: Array) -> tuple[Array, Array]:
    # points along a line of corners, SPACING apart, and how far along it they are
    arcs = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(corners, axis=0), axis=1))])
    at = np.linspace(0.0, arcs[-1], int(arcs[-1] / SPACING) + 2)
    return np.stack([np.interp(at, arcs, corners[:, k]) for k in range(3)], axis=1), at
