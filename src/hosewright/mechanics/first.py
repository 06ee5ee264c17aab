"""The first shape of a span: several starts settled on few elements, the different ones finished on all elements."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from hosewright.mechanics.rod import Work, make_work
from hosewright.mechanics.starts import COUNT, bulge_sides, draw_starts, prolong
from hosewright.mechanics.terms import no_springs
from hosewright.mechanics.walk import A_DIRECTION, B_DIRECTION, A, B, Path, settle

Array = NDArray[np.float64]

COARSE = 24
"""Elements on which first shapes are sought."""
SOFT_STRETCH = 3000.0
"""Axial stiffness times length squared over bending stiffness at which a rough start sheds its kinks; the real axis
follows on the shape so found. A stiff axis from a rough start takes hundreds of steps."""
FIRMER = 100.0
"""The axis is stiffened by at most this factor at a time."""
SAME_SHAPE = 1e-2
"""Two coarse shapes nearer than this part of the length are one."""


TURNED = 3
"""First so many starts that are also begun with a full turn of twist either way, where the roll is held: the turn goes
into the shape, and the search reaches shapes that no untwisted start leads to. Without them 6 of 1505 spans, described
from the other end or in the mirror, led to another energy; with them none."""


class FirstShapes(NamedTuple):
    """Shapes of the first pose, lowest energy first."""

    position: Array  # (k, n + 1, 3)
    twist: Array  # (k,)
    steps: int
    factorisations: int


def first_shapes(path: Path, elements: int, bow: Array | None, only: int = -1) -> FirstShapes:
    """Stable shapes in the first pose of a path.

    Parameters
    ----------
    path : Path
        Only its first pose counts.
    elements : int
        Elements of the finished shapes.
    bow : (3,) float or None
        Unit vector; adds a start that bulges to this side.
    only : int
        Number of the one start to use; all where negative.
    """
    ends, length = path.ends[0], path.length[0]
    four = np.stack((ends[A], ends[A_DIRECTION], ends[B], ends[B_DIRECTION]))
    starts = range(COUNT if bow is None else COUNT + 1) if only < 0 else range(only, only + 1)
    x = np.empty((len(starts), min(COARSE, elements) + 1, 3))
    draw_starts(four, length, bulge_sides(four, bow), starts[0], x)
    if only >= 0:
        return shapes_from(path, x, elements)
    if path.twist == 0.0:
        return shapes_from(path, x, elements)
    turned = [np.full(TURNED, turn) for turn in (2.0 * np.pi, -2.0 * np.pi)]
    return shapes_from(path, np.concatenate([x, x[:TURNED], x[:TURNED]]), elements, np.r_[np.zeros(len(x)), *turned])


def shapes_from(path: Path, x: Array, elements: int, near: Array | None = None) -> FirstShapes:
    """Stable shapes in the first pose of a path.

    Parameters
    ----------
    path : Path
        Only its first pose counts.
    x : (k, m + 1, 3) float
        Starts on fewer elements; moved.
    elements : int
        Elements of the finished shapes.
    near : (k,) float, optional
        Twist near which each start's is counted at first; 0 without it.
    """
    length = path.length[0]
    whole = path.stretch * length**2
    firmness, twist = min(whole, SOFT_STRETCH), np.zeros(len(x)) if near is None else near
    spent = np.zeros(2)
    work = make_work(x.shape[1] - 1, 1)
    while True:
        found = _settle(path, firmness, x, twist, work)
        spent += found[:, 1:3].sum(axis=0)
        kept = _distinct(x, found, SAME_SHAPE * length)
        x, twist = x[kept], found[kept, 4]
        if firmness == whole:
            break
        firmness = min(whole, FIRMER * firmness)
    x = prolong(x, elements)
    found = _settle(path, whole, x, twist)
    spent += found[:, 1:3].sum(axis=0)
    kept = _distinct(x, found, 0.1 * SAME_SHAPE * length)  # on all elements some of them become one
    return FirstShapes(x[kept], found[kept, 4], int(spent[0]), int(spent[1]))


def _settle(path: Path, firmness: float, x: Array, near: Array, work: Work | None = None) -> Array:
    out = np.empty((len(x), 5))
    work = work or make_work(x.shape[1] - 1, 1)
    settle(path, firmness / path.length[0] ** 2, np.zeros(len(x), dtype=int), x, near, True, no_springs(), work, out)
    return out


def _ranked(found: Array) -> list[int]:
    # solved ones first, by energy; mirror images have the same energy but for rounding and keep their order
    if len(found) == 1:
        return [0]
    energy = found[:, 3]
    steps = np.round((energy - energy.min()) / (1e-7 * max(abs(energy.min()), 1e-12)))
    return [int(k) for k in np.lexsort((np.minimum(steps, 1e15), found[:, 0] < 0.5))]


def _distinct(x: Array, found: Array, gap: float) -> list[int]:
    # lowest first; shapes that did not converge only where nothing did
    kept: list[int] = []
    for k in _ranked(found):
        usable = found[k, 0] > 0.5 or not kept
        if usable and all(np.abs(x[k] - x[other]).max() > gap for other in kept):
            kept.append(int(k))
    return kept


def choose(shapes: Array, ends: Array, bow: Array | None) -> int:
    """Index of the shape to follow: the lowest energy, or with a bow the lowest that lies within 60 degrees of it."""
    if bow is None:
        return 0
    offset = shapes.mean(axis=1) - 0.5 * (ends[A] + ends[B])
    lean = offset @ bow / np.maximum(np.linalg.norm(offset, axis=1), 1e-12)
    return int(np.argmax(lean > 0.5)) if (lean > 0.5).any() else int(np.argmax(lean))
