"""Straight at the end: the bend must not start at the ferrule.

Over the first two outside diameters of free hose the mean radius of the centre line is the length over the angle that
it turns. A real hose is never quite straight there; how little it may bend is our choice.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from hosewright.checks.bend_radius import MOST_SHOWN
from hosewright.checks.finding import Finding, judge
from hosewright.checks.lacking import MINIMUM_BEND_RADIUS, OUTSIDE_DIAMETER, lacks
from hosewright.checks.run import Job
from hosewright.checks.solve import SolvedRun, SolvedSpan
from hosewright.checks.worst import as_proven, place_of, unproven, worst
from hosewright.words import Figure, Sentence

Array = NDArray[np.float64]

RULE = "straight at the end"
SHOWN_TURN = math.radians(5.0)


def check(solved: SolvedRun, job: Job) -> list[Finding]:
    """One finding for each end."""
    return [
        _finding(solved, solved.spans[0], job, "end a", from_a=True),
        _finding(solved, solved.spans[-1], job, "end b", from_a=False),
    ]


def _finding(solved: SolvedRun, span: SolvedSpan, job: Job, end: str, *, from_a: bool) -> Finding:
    hose, profile = solved.run.assembly.hose, job.profile
    moves = span.moves(profile["moving_distance"], profile["moving_angle"])
    name = "straight_factor_moving" if moves else "straight_factor_still"
    source = profile.source(name)
    if hose.outside_diameter is None or hose.minimum_bend_radius is None:
        said = lacks(hose.name, OUTSIDE_DIAMETER if hose.outside_diameter is None else MINIMUM_BEND_RADIUS)
        return Finding(RULE, end, judge(None, None, at_least=True), "length", None, None, True, source, said)
    length = profile["straight_length"] * hose.outside_diameter
    half = hose.outside_diameter / 2.0
    limit = profile[name] * hose.minimum_bend_radius + half
    advice = profile["straight_factor_advice"] * hose.minimum_bend_radius + half
    length = min(length, *span.lengths)
    turns = np.array([turn_near_end(span, s, length, from_a=from_a) for s in range(len(span.shapes))])
    radius = length / np.maximum(turns, 1e-6)
    state, pose = worst(radius, at_least=True)
    measure, turn = float(radius[state, pose]), float(turns[state, pose])
    straight = arc_to_turn(span, state, pose, SHOWN_TURN, from_a=from_a)
    said = Sentence.of(
        "findings.turns_at_end",
        length=Figure.length(length),
        turn=Figure.angle(turn),
        radius=Figure.length(min(measure, MOST_SHOWN)),
        shown=Figure.angle(SHOWN_TURN),
        straight=Figure.length(straight),
    )
    said = as_proven(said, solved)
    complete = not unproven(solved)
    verdict = judge(measure, limit, at_least=True, advice_limit=advice, source=source, complete=complete)
    at = span.start if from_a else span.start + span.length
    return Finding(
        RULE,
        end,
        verdict,
        "length",
        measure,
        limit,
        True,
        source,
        said,
        advice,
        place_of(solved, state, pose, span.name, at),
    )


def _turned(span: SolvedSpan, state: int, *, from_a: bool) -> tuple[Array, Array]:
    # arc length from the end, and the angle turned up to there in each pose
    curvature = span.shapes[state].curvature
    if not from_a:
        curvature = curvature[:, ::-1]
    arcs = np.linspace(0.0, span.lengths[state], curvature.shape[1])
    steps = 0.5 * (curvature[:, 1:] + curvature[:, :-1]) * np.diff(arcs)
    return arcs, np.concatenate([np.zeros((len(curvature), 1)), np.cumsum(steps, axis=1)], axis=1)


def turn_near_end(span: SolvedSpan, state: int, length: float, *, from_a: bool) -> Array:
    """Angle that the hose turns over its first so much length, (m,). [rad]"""
    arcs, turned = _turned(span, state, from_a=from_a)
    k = min(int(np.searchsorted(arcs, length, side="right")), len(arcs) - 1)
    part = (length - arcs[k - 1]) / (arcs[k] - arcs[k - 1])
    return turned[:, k - 1] + part * (turned[:, k] - turned[:, k - 1])


def arc_to_turn(span: SolvedSpan, state: int, pose: int, turn: float, *, from_a: bool) -> float:
    """Length of hose from the end until it has turned by an angle. [m]"""
    arcs, turned = _turned(span, state, from_a=from_a)
    return float(np.interp(turn, turned[pose], arcs))
