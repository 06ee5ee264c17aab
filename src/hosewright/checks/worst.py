"""The worst state and pose of a measure."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from hosewright.checks.finding import Place
from hosewright.checks.lacking import LENGTH_CHANGE, MASS
from hosewright.checks.solve import SolvedRun
from hosewright.words import Sentence

Array = NDArray[np.float64]

TIE = 1e-9
"""Values nearer than this are one: the earlier pose of the first state counts."""


def worst(values: Array, *, at_least: bool) -> tuple[int, int]:
    """State and pose of the worst of values (states, poses): the smallest where they must reach a limit."""
    signed = values if at_least else -values
    states, poses = np.nonzero(signed <= np.nanmin(signed) + TIE)
    first = np.lexsort((states, poses))[0]
    return int(states[first]), int(poses[first])


def unproven(solved: SolvedRun) -> tuple[Sentence, ...]:
    """What is missing where the worst of the known states proves nothing; empty where it does."""
    hose = solved.run.assembly.hose
    known = (
        (LENGTH_CHANGE, hose.shorter is not None and hose.longer is not None),
        (MASS, hose.mass_per_length is not None),
    )
    return tuple(what for what, is_known in known if not is_known)


def as_proven(said: Sentence, solved: SolvedRun) -> Sentence:
    """A sentence, and behind it why it proves nothing."""
    missing, hose = unproven(solved), solved.run.assembly.hose.name
    if not missing:
        return said
    if len(missing) == 1:
        return Sentence.of("findings.not_proven", said=said, hose=hose, what=missing[0])
    return Sentence.of("findings.not_proven_two", said=said, hose=hose, first=missing[0], second=missing[1])


def place_of(solved: SolvedRun, state: int, pose: int, span: str = "", at: float | None = None) -> Place:
    """Where and when, for a finding."""
    poses = solved.poses
    return Place(span, at, solved.pose(pose), int(poses.path[pose]), float(poses.at[pose]), solved.states[state].name)
