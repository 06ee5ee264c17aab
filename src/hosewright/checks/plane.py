"""One plane: a moving hose bends in the plane of the motion.

Measured as the way that any place on the hose travels across that plane over the motion, seen from end a. The plane's
normal is the axis about which end b turns against end a; where it does not turn, the direction in which the hose
reaches least over all poses, that of its own plane.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from hosewright.checks.finding import Finding, judge
from hosewright.checks.lacking import OUTSIDE_DIAMETER, lacks
from hosewright.checks.run import Job
from hosewright.checks.solve import NOMINAL, SolvedRun, SolvedSpan
from hosewright.checks.worst import place_of
from hosewright.words import Figure, Sentence

Array = NDArray[np.float64]

RULE = "plane"
LEAST_TURN = 0.02
"""A turn of the ends against each other below this says nothing about its axis. [rad]"""


def check(solved: SolvedRun, job: Job) -> list[Finding]:
    """One finding for each span whose ends move against each other."""
    distance, angle = job.profile["moving_distance"], job.profile["moving_angle"]
    return [_finding(solved, span, job) for span in solved.spans if span.moves(distance, angle)]


def _finding(solved: SolvedRun, span: SolvedSpan, job: Job) -> Finding:
    diameter = solved.run.assembly.hose.outside_diameter
    source = job.profile.source("plane_travel")
    advice = None if diameter is None else job.profile["plane_travel"] * diameter
    state = next(s for s, state in enumerate(solved.states) if state.name == NOMINAL)
    local = np.einsum("mji,mkj->mki", span.a.axes, span.shapes[state].position - span.a.origin[:, None])
    normal = motion_normal(span, local)
    across = local @ normal
    travel = np.ptp(across, axis=0)
    node = int(np.argmax(travel))
    pose = int(np.argmax(np.abs(across[:, node] - across[0, node])))
    measure = float(travel[node])
    at = span.nominal_place(float(np.linspace(0.0, span.lengths[state], len(travel))[node]), state)
    said = Sentence.of("findings.travel", travel=Figure.length(measure))
    if diameter is None:
        said = lacks(solved.run.assembly.hose.name, OUTSIDE_DIAMETER).then(said)
    verdict = judge(measure, None, at_least=False, advice_limit=advice, source=source)
    place = place_of(solved, state, pose, span.name, at)
    return Finding(RULE, span.name, verdict, "length", measure, None, False, source, said, advice, place)


def motion_normal(span: SolvedSpan, local: Array) -> Array:
    """Normal of the plane of the motion in the frame of end a, (3,).

    Parameters
    ----------
    span : SolvedSpan
        Whose ends move.
    local : (m, k, 3) float
        Nodes in the frame of end a. [m]
    """
    turn = np.swapaxes(span.a.axes, 1, 2) @ span.b.axes
    if np.linalg.norm(_axes_of(turn @ turn[0].T), axis=1).max() > 2.0 * LEAST_TURN:
        # from neighbour to neighbour, so that it does not matter where a cycle begins
        return np.linalg.svd(_axes_of(turn[1:] @ np.swapaxes(turn[:-1], 1, 2)), full_matrices=False)[2][0]
    places = local.reshape(-1, 3)
    return np.linalg.svd(places - places.mean(axis=0), full_matrices=False)[2][2]


def _axes_of(rotations: Array) -> Array:
    # twice the sine of each angle along its axis, (m, 3)
    upper = rotations - np.swapaxes(rotations, 1, 2)
    return np.stack([upper[:, 2, 1], upper[:, 0, 2], upper[:, 1, 0]], axis=1)
