"""Few poses that stand for a whole motion."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from hosewright.geometry import Frames
from hosewright.machine import Placement, Poses

TURN_AS_LENGTH = 0.3
"""Length for which a turn of one radian counts when poses are compared. [m]"""
ALIKE = 1e-3
"""Poses nearer to each other than this add nothing. [m]"""


def relative(a: Frames, b: Frames) -> NDArray[np.float64]:
    """Place and direction of one frame seen from another, (m, 9). [m]"""
    offset = np.einsum("mji,mj->mi", a.axes, b.origin - a.origin)
    turn = np.swapaxes(a.axes, 1, 2) @ b.axes
    return np.concatenate([offset, TURN_AS_LENGTH * turn[:, :, :2].reshape(len(offset), 6)], axis=1)


def typical(
    poses: Poses, placement: Placement, pairs: Sequence[tuple[str, str]], most: int, also: Sequence[int] = ()
) -> NDArray[np.int64]:
    """Indices of poses in which the ports of all pairs lie most differently, in order of the motion.

    Parameters
    ----------
    poses, placement
        The motion.
    pairs
        Ports of the runs.
    most
        Poses at most, but for the first of each path and those asked for.
    also
        Indices asked for.
    """
    features = np.concatenate([relative(placement.port(a), placement.port(b)) for a, b in pairs], axis=1)
    firsts = [int(np.flatnonzero(poses.path == path)[0]) for path in np.unique(poses.path)]
    chosen = sorted({*firsts, *also})
    distance = np.min([np.linalg.norm(features - features[k], axis=1) for k in chosen], axis=0)
    while len(chosen) < most:
        far = int(np.argmax(distance))
        if distance[far] < ALIKE:
            break
        chosen.append(far)
        distance = np.minimum(distance, np.linalg.norm(features - features[far], axis=1))
    return np.array(sorted(chosen))
