"""The public calls: one equilibrium, a sweep through poses, many sweeps on all cores."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hosewright.errors import ArgumentError
from hosewright.geometry import cross
from hosewright.mechanics.kernel import load
from hosewright.mechanics.section import Section, Support, directions, held_frames
from hosewright.mechanics.shapes import Shape, Shapes, check_start, from_track

if TYPE_CHECKING:
    from hosewright.mechanics.first import FirstShapes
    from hosewright.mechanics.walk import Path, Track

Array = NDArray[np.float64]

ELEMENTS = 48
DOWN = (0.0, 0.0, -1.0)


@dataclass(frozen=True)
class Span:
    """The arguments of one sweep, for ``sweeps``; each as ``sweep`` takes it.

    ``quick`` is a first look at poses that lie far apart: it begins with one start alone, which finds the lowest shape
    in some nine of ten spans, and does not cut steps on which the shape jumps, though it reports them.
    """

    section: Section
    length: ArrayLike
    a: Support
    b: Support
    elements: int = ELEMENTS
    gravity: ArrayLike = DOWN
    bow: ArrayLike | None = None
    start: Shape | None = None
    quick: bool = False


def equilibrium(
    section: Section,
    length: float,
    a: Support,
    b: Support,
    elements: int = ELEMENTS,
    gravity: ArrayLike = DOWN,
    bow: ArrayLike | None = None,
) -> Shape:
    """Shape of least energy of a hose between two held ends.

    Parameters
    ----------
    section : Section
        Stiffness and weight.
    length : float
        Rest length between the ends. Shorter than the straight distance, it is solved as a stretched hose and says so.
        [m]
    a, b : Support
        In one pose.
    elements : int
        Even, 8 or more.
    gravity : (3,) float
        The way down in the frame of the supports, of any length.
    bow : (3,) float, optional
        Side to which the hose is laid: takes the shape of least energy among those that bow that way.

    Returns
    -------
    Shape
        ``others`` holds the nodes of the other stable shapes that were found.

    Raises
    ------
    ArgumentError
        Where an argument is out of range; names it and its value.
    """
    shapes = sweep(section, length, a, b, elements=elements, gravity=gravity, bow=bow)
    if len(shapes) != 1:
        raise ArgumentError(f"a or b has {len(shapes)} poses; equilibrium takes one pose, use sweep")
    return shapes[0]


def sweep(
    section: Section,
    length: ArrayLike,
    a: Support,
    b: Support,
    elements: int = ELEMENTS,
    gravity: ArrayLike = DOWN,
    bow: ArrayLike | None = None,
    start: Shape | None = None,
) -> Shapes:
    """Shapes of a hose through poses, followed from the first to the last on one branch.

    The first pose is the shape of least energy (or with a bow), as ``equilibrium`` finds it, unless ``start`` is given.
    A step on which the shape would jump is cut smaller until it does not, or is reported in ``snaps``.

    Parameters
    ----------
    section : Section
        Stiffness and weight.
    length : float or (m,) float
        Rest length, or that of each pose: a length ramp with ends that stand still follows one branch to other lengths.
        [m]
    a, b : Support
        Fields of one pose or of m poses.
    elements, bow
        As for ``equilibrium``.
    gravity : (3,) or (m, 3) float
        The way down in the frame of the supports.
    start : Shape, optional
        Shape to walk on from in the first pose; its branch and its count of twist are kept.

    Returns
    -------
    Shapes

    Raises
    ------
    ArgumentError
        Where an argument is out of range; names it and its value.
    """
    return _solve(Span(section, length, a, b, elements, gravity, bow, start))


def sweeps(spans: Iterable[Span | Mapping[str, Any] | Sequence[Any]]) -> list[Shapes]:
    """Independent sweeps on all cores, in the order given.

    Parameters
    ----------
    spans
        Each a Span, a mapping of ``sweep``'s arguments, or a tuple of them in order.
    """
    tasks = [_span(item) for item in spans]
    load()
    if len(tasks) < 2:
        return [_solve(task) for task in tasks]
    return list(_pool().map(_solve, tasks))


@cache
def _pool() -> ThreadPoolExecutor:
    count = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    return ThreadPoolExecutor(count, thread_name_prefix="hosewright")


def _span(item: Span | Mapping[str, Any] | Sequence[Any]) -> Span:
    if isinstance(item, Span):
        return item
    return Span(**item) if isinstance(item, Mapping) else Span(*item)


def _solve(span: Span) -> Shapes:
    load()
    from hosewright.mechanics import walk
    from hosewright.mechanics.rod import make_work
    from hosewright.mechanics.terms import no_springs

    _check_elements(span.elements)
    path, distance = _path(span)
    first = _first(path, span) if span.start is None else _given(span.start, span.elements)
    track = walk.make_track(len(path.length), span.elements)
    work, levels = make_work(span.elements, 1), 1 if span.quick else walk.LEVELS
    walk.walk(path, no_springs(), work, first.position[0].copy(), first.twist[0], track, levels)
    track.scalars[0, walk.ITERATIONS] += first.steps
    track.scalars[0, walk.FACTORISATIONS] += first.factorisations
    others = tuple(first.position[1:])
    errors = _Errors(path, track, span.elements)
    return from_track(track, path.length, distance, float(span.section.bending_stiffness), others, errors)


def _first(path: Path, span: Span) -> FirstShapes:
    # the shape to follow first, then the others
    from hosewright.mechanics.first import choose, first_shapes

    bow = None if span.bow is None else directions("bow", span.bow)[0]
    found = first_shapes(path, span.elements, bow, 0 if span.quick else -1)
    chosen = choose(found.position, path.ends[0], bow)
    order = [chosen, *(k for k in range(len(found.position)) if k != chosen)]
    return found._replace(position=found.position[order], twist=found.twist[order])


def _given(start: Shape, elements: int) -> FirstShapes:
    from hosewright.mechanics.first import FirstShapes

    return FirstShapes(check_start(start, elements)[None], np.array([start.twist]), 0, 0)


class _Errors:
    """Error estimates of a walk: three fifteenths of the change from half the elements. Worked out when first asked."""

    def __init__(self, path: Path, track: Track, elements: int) -> None:
        self._problem = path, track, elements
        self._values: Array | None = None

    def __call__(self) -> Array:
        if self._values is None:
            self._values = self._halve()
        return self._values

    def _halve(self) -> Array:
        from hosewright.mechanics.rod import make_work
        from hosewright.mechanics.terms import no_springs
        from hosewright.mechanics.walk import TWIST, settle

        path, track, elements = self._problem
        x, twist = track.position[:, ::2].copy(), track.scalars[:, TWIST].copy()
        out, work = np.empty((len(x), 5)), make_work(elements // 2, 1)
        settle(path, path.stretch, np.arange(len(x)), x, twist, False, no_springs(), work, out)
        gap = np.linalg.norm(x - track.position[:, ::2], axis=2).max(axis=1)
        return np.where(out[:, 0] > 0.5, 3.0 / 15.0 * gap / path.length, np.inf)


def _check_elements(elements: int) -> None:
    if not (isinstance(elements, int | np.integer) and elements >= 8 and elements % 2 == 0):
        raise ArgumentError(f"elements is {elements!r}; it must be an even number, 8 or more")


def _path(span: Span) -> tuple[Path, Array]:
    # everything of m poses, divided by the bending stiffness; and the straight distance between the ends
    from hosewright.mechanics.walk import Path

    length = np.atleast_1d(np.asarray(span.length, dtype=float))
    if length.ndim != 1 or not (np.isfinite(length).all() and (length > 0.0).all()):
        raise ArgumentError(f"length is {span.length!r}; it must be a positive number or m positive numbers")
    a = held_frames("a", span.a)
    b = held_frames("b", span.b)
    down = directions("gravity", span.gravity)
    held = a[2] is not None and b[2] is not None
    parts = {"a.position": a[0], "a.direction": a[1], "b.position": b[0], "b.direction": b[1]}
    for name, reference in (("a.reference", a[2]), ("b.reference", b[2])):
        if reference is not None:
            parts[name] = reference
    poses = _count({**parts, "gravity": down, "length": length})
    ends = np.empty((poses, 6, 3))
    ends[:, 0], ends[:, 1], ends[:, 3], ends[:, 4] = a[0], a[1], b[0], b[1]
    ends[:, 2] = a[2] if held and a[2] is not None else _across(ends[:, 1])
    ends[:, 5] = b[2] if held and b[2] is not None else _across(ends[:, 4])
    section = span.section
    stiffness = float(section.bending_stiffness)
    weight = np.broadcast_to(down * (section.weight / stiffness), (poses, 3)).copy()
    path = Path(
        ends,
        np.broadcast_to(length, poses).copy(),
        weight,
        section.torsional_stiffness / stiffness if held else 0.0,
        section.axial_stiffness / stiffness,
    )
    return path, np.linalg.norm(ends[:, 3] - ends[:, 0], axis=1)


def _count(parts: Mapping[str, Array]) -> int:
    counts = {name: len(part) for name, part in parts.items()}
    poses = max(counts.values())
    longest = next(name for name, count in counts.items() if count == poses)
    for name, count in counts.items():
        if count not in (1, poses):
            raise ArgumentError(f"{name} has {count} poses and {longest} {poses}; they must be as many, or one")
    return poses


def _across(direction: Array) -> Array:
    # any unit vectors across (m, 3) directions, for a hose that is free to roll
    helper = np.eye(3)[np.argmin(np.abs(direction), axis=1)]
    across = cross(direction, helper)
    return across / np.linalg.norm(across, axis=1, keepdims=True)
