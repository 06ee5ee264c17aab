"""In which order the hoses of a machine go on: those that lie nearest to the machine first.

A hose that lies over another keeps off the machine by more than that one. Nearness is the mean distance of a hose's
centre line from the nearest part, in the pose in which it is fitted; parts that are taken off for fitting do not count.
Hoses that are fitted in one pose go on together, so that the machine is moved as little as can be.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from hosewright.checks.run import Job
from hosewright.checks.solve import SolvedRun
from hosewright.machine import Machine, cycle

Array = NDArray[np.float64]

TOGETHER = 1e-3
"""Joint values that differ by less are one pose. [rad, m]"""


def fitting_order(solved: Sequence[SolvedRun], job: Job) -> list[SolvedRun]:
    """The runs in the order in which their hoses go on; as they come where nothing tells them apart."""
    poses: list[SolvedRun] = []
    keys = []
    for one in solved:
        group = next((k for k, known in enumerate(poses) if _same_pose(one, known)), len(poses))
        if group == len(poses):
            poses.append(one)
        keys.append((group, round(distance_off(one, job.machine), 4)))
    return [solved[k] for k in sorted(range(len(solved)), key=lambda k: keys[k])]


def distance_off(solved: SolvedRun, machine: Machine) -> float:
    """Mean distance of a fitted hose's centre line from the nearest part of the machine; 0 where it has none. [m]"""
    placement = machine.place(cycle([solved.fitting_pose], 1)) if solved.fitting_pose else solved.placement
    line = np.concatenate([span.fitted.position for span in solved.spans])[None]
    fixed = [part for part in machine.obstacles if not part.removable]
    if not fixed:
        return 0.0
    nearest = np.min([part.shape.quick_distance(placement.body(part.on).local(line)[0]) for part in fixed], axis=0)
    return float(np.maximum(nearest, 0.0).mean())


def _same_pose(one: SolvedRun, other: SolvedRun) -> bool:
    a, b = one.fitting_pose, other.fitting_pose
    return a.keys() == b.keys() and all(math.isclose(a[joint], b[joint], abs_tol=TOGETHER) for joint in a)
