"""Slack: the hose must reach in its shortest state, in every pose.

Measured as the shortest free length less the shortest way between the held ends. The straight distance is a bound that
holds for any hose, as does the radius times the angle between both directions; where both ends lie in one plane, the
shortest planar path that keeps the bend radius (of a moving hose, where it moves) is longer and counts instead. Where
the direct way is too tight that path is a loop: then the radius is the trouble, and more hose alone will not mend it.
What must be left is the measuring error of the ports (``port_error`` of the job).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from hosewright.checks.finding import Finding, judge
from hosewright.checks.lacking import LENGTH_CHANGE, MINIMUM_BEND_RADIUS, OUTSIDE_DIAMETER
from hosewright.checks.run import Job
from hosewright.checks.solve import SHORTEST, SolvedRun, SolvedSpan
from hosewright.checks.worst import place_of, worst
from hosewright.geometry.planar import shortest_planar_path
from hosewright.sources import Confidence, Source
from hosewright.words import Figure, Sentence

Array = NDArray[np.float64]

RULE = "slack"
SOURCE = Source("SAE J1273", "length change under pressure", Confidence.MEMORY)
NEEDED = {
    "shorter": LENGTH_CHANGE,
    "minimum_bend_radius": MINIMUM_BEND_RADIUS,
    "outside_diameter": OUTSIDE_DIAMETER,
}
IN_PLANE = 0.03
"""Ends whose directions and offset leave a common plane by less than this (2 degrees; part of the distance) count as in
one plane: ports are not measured more closely, and the way through space is hardly shorter."""
LOOP = np.pi
"""A way that is longer than the straight distance and the mere turn by more than so many radii goes round in a loop."""


def check(solved: SolvedRun, job: Job) -> list[Finding]:
    """One finding for each span."""
    return [_finding(solved, span, job) for span in solved.spans]


def _finding(solved: SolvedRun, span: SolvedSpan, job: Job) -> Finding:
    hose = solved.run.assembly.hose
    radius = least_radius(solved, span, job)
    way = shortest_way(span, radius)
    states = [s for s, state in enumerate(solved.states) if state.name == SHORTEST]
    slack = np.array([span.lengths[s] - way for s in states])
    row, pose = worst(slack, at_least=True)
    measure = float(slack[row, pose])
    limit = job.port_error
    missing = tuple(what for name, what in NEEDED.items() if getattr(hose, name) is None)
    said = _sentence(span, pose, span.lengths[states[row]], float(way[pose]), radius)
    if missing:
        said = Sentence.of("findings.slack_lacking", hose=hose.name, what=missing, said=said)
    verdict = judge(measure, limit, at_least=True, complete=not missing)
    return Finding(
        RULE,
        span.name,
        verdict,
        "length",
        measure,
        limit,
        True,
        hose.sources.get("shorter", SOURCE),
        said,
        place=place_of(solved, states[row], pose, span.name),
    )


def _sentence(span: SolvedSpan, pose: int, length: float, way: float, radius: float) -> Sentence:
    figures = {
        "length": Figure.length(length),
        "straight": Figure.length(float(span.distance[pose])),
        "way": Figure.length(way),
    }
    if way - direct_way(span, radius)[pose] > LOOP * radius:
        return Sentence.of("findings.slack_loop", radius=Figure.length(radius), **figures)
    return Sentence.of("findings.slack_direct", slack=Figure.length(length - way), **figures)


def least_radius(solved: SolvedRun, span: SolvedSpan, job: Job) -> float:
    """Least radius of the centre line that the hose permits on a span; 0 where its data does not say. [m]"""
    hose = solved.run.assembly.hose
    moves = span.moves(job.profile["moving_distance"], job.profile["moving_angle"])
    factor = job.profile["moving_radius_factor"] if moves else 1.0
    return factor * (hose.minimum_bend_radius or 0.0) + (hose.outside_diameter or 0.0) / 2.0


def shortest_way(span: SolvedSpan, radius: float) -> Array:
    """Shortest way between the held ends of a span, nowhere tighter than a radius, in each pose, (m,). [m]"""
    if radius == 0.0:
        return span.distance
    way = direct_way(span, radius)
    chord = span.b.origin - span.a.origin
    normals, flat = _planes(span.a.facing, span.b.facing, chord)
    for k in np.flatnonzero(flat):
        start, end = span.a.facing[k], span.b.facing[k]
        there = shortest_planar_path(chord[k], start, end, normals[k], radius)
        back = shortest_planar_path(-chord[k], -end, -start, normals[k], radius)
        way[k] = max(way[k], there, back)  # the same but for what leaves the plane
    return way


def direct_way(span: SolvedSpan, radius: float) -> Array:
    """The longer of the straight distance and of radius times turn, a bound for any hose, (m,). [m]"""
    cosine = np.sum(span.a.facing * span.b.facing, axis=1)
    return np.maximum(span.distance, radius * np.arccos(np.clip(cosine, -1.0, 1.0)))


def _planes(start: Array, end: Array, chord: Array) -> tuple[Array, NDArray[np.bool_]]:
    # normals (m, 3) of the planes that hold both directions and the chord best, and which hold them
    along = chord / np.maximum(np.linalg.norm(chord, axis=1, keepdims=True), 1e-9)
    _, sizes, axes = np.linalg.svd(np.stack([start, end, along], axis=1))
    return axes[:, 2], sizes[:, 2] <= IN_PLANE
