"""The worst state and pose of a measure."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from hosewright.checks.finding import Place
from hosewright.checks.solve import SolvedRun

Array = NDArray[np.float64]

TIE = 1e-9
"""Values nearer than this are one: the earlier pose of the first state counts."""


def worst(values: Array, *, at_least: bool) -> tuple[int, int]:
    """State and pose of the worst of values (states, poses): the smallest where they must reach a limit."""
    signed = values if at_least else -values
    states, poses = np.nonzero(signed <= np.nanmin(signed) + TIE)
    first = np.lexsort((states, poses))[0]
    return int(states[first]), int(poses[first])


def unproven(solved: SolvedRun) -> str:
    """Why the worst of the known states proves nothing, to end a finding's text with; empty where it does."""
    hose = solved.run.assembly.hose
    missing = [
        what
        for what, known in (
            ("length change", hose.shorter is not None and hose.longer is not None),
            ("mass", hose.mass_per_length is not None),
        )
        if not known
    ]
    return f"; not proven, since the data of {hose.name} gives no {' and no '.join(missing)}" if missing else ""


def place_of(solved: SolvedRun, state: int, pose: int, span: str = "", at: float | None = None) -> Place:
    """Where and when, for a finding."""
    poses = solved.poses
    return Place(span, at, solved.pose(pose), int(poses.path[pose]), float(poses.at[pose]), solved.states[state].name)
