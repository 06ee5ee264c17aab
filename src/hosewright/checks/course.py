"""How a measure goes over the motion: the worst state of it in each pose."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from hosewright.checks import bend_radius, clearance, motion_twist, slack
from hosewright.checks.finding import Finding
from hosewright.checks.run import Job
from hosewright.checks.solve import SHORTEST, SolvedRun, SolvedSpan
from hosewright.geometry import least_distance

Array = NDArray[np.float64]


def course(finding: Finding, solved: SolvedRun, job: Job) -> Array | None:
    """The measure of a finding in each pose of the motion, (m,), in the worst state; its worst is the finding's own.

    Only for radius, slack, twist in motion, and the clearance to a part of the machine; ``None`` for the rest.
    """
    if finding.measure is None:
        return None
    if finding.rule == clearance.RULE:
        return _clearance(finding, solved, job)
    of = {bend_radius.RULE: _radius, slack.RULE: _slack, motion_twist.RULE: _twist}.get(finding.rule)
    span = next((span for span in solved.spans if span.name == finding.subject), None)
    return None if of is None or span is None else of(solved, span, job)


def _radius(solved: SolvedRun, span: SolvedSpan, job: Job) -> Array:
    radius = np.min([shapes.least_radius for shapes in span.shapes], axis=0)
    return radius - (solved.run.assembly.hose.outside_diameter or 0.0) / 2.0


def _slack(solved: SolvedRun, span: SolvedSpan, job: Job) -> Array:
    lengths = [length for length, state in zip(span.lengths, solved.states, strict=True) if state.name == SHORTEST]
    return min(lengths) - slack.shortest_way(span, slack.least_radius(solved, span, job))


def _twist(solved: SolvedRun, span: SolvedSpan, job: Job) -> Array:
    turned = [np.abs(shapes.twist) / length for shapes, length in zip(span.shapes, span.lengths, strict=True)]
    return np.max(turned, axis=0)


def _clearance(finding: Finding, solved: SolvedRun, job: Job) -> Array | None:
    part = next((part for part in job.machine.obstacles if part.name == finding.subject), None)
    diameter = solved.run.assembly.hose.outside_diameter
    if part is None or diameter is None:
        return None
    arcs, lines = clearance.finer_lines(solved)
    counted = clearance.counted_places(solved, part, arcs, diameter)
    points = np.concatenate([line[:, counted] for line in lines], axis=1)
    distance = least_distance(part.shape, solved.placement.body(part.on).local(points)).distance
    return distance - diameter / 2.0 - clearance.coil_set(solved, job)
