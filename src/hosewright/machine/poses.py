"""Poses: joint values along the paths of a motion."""

from __future__ import annotations

import csv
import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from hosewright.errors import ArgumentError, DataError
from hosewright.geometry.frames import Array

MOST_POSES = 100_000
"""Every pose of every hose is solved; beyond this a motion is a mistake."""

SUFFIXES = {"deg": math.pi / 180.0, "rad": 1.0, "mm": 1e-3, "m": 1.0}
"""Units of the columns of measured poses, as factors to SI."""


@dataclass(frozen=True, eq=False)
class Poses:
    """Values of k joints in m poses.

    Attributes
    ----------
    joints
        Names of bodies with a joint, or of cylinders (the value is the stroke).
    values : (m, k) float
        [rad] for turning joints, [m] for sliding ones and strokes.
    path : (m,) int
        Which path a pose belongs to; neighbours on a path are neighbours here.
    at : (m,) float
        How far along its path, 0 to 1.
    """

    joints: tuple[str, ...]
    values: Array
    path: NDArray[np.int64]
    at: Array

    def __post_init__(self) -> None:
        if self.values.shape != (len(self.path), len(self.joints)) or self.at.shape != self.path.shape:
            raise ArgumentError(
                f"poses of {len(self.joints)} joints need values (m, {len(self.joints)}), path (m,) and at (m,); "
                f"got {self.values.shape}, {self.path.shape} and {self.at.shape}"
            )
        if len(self.path) > MOST_POSES:
            raise ArgumentError(f"{len(self.path):,} poses are too many; at most {MOST_POSES:,}")
        if not np.isfinite(self.values).all():
            raise ArgumentError("a joint value of the poses is not a finite number")

    def __len__(self) -> int:
        return len(self.path)

    def of(self, joint: str) -> Array:
        """Values (m,) of one joint."""
        return self.values[:, self.joints.index(joint)]

    def nearest(self, path: int, at: float) -> int:
        """Number of the pose of a path that is nearest to a place on it, 0 to 1."""
        off = np.where(self.path == path, np.abs(self.at - at), np.inf)
        return int(np.argmin(off))

    def take(self, index: NDArray[np.int64] | NDArray[np.bool_] | slice | Sequence[int]) -> Poses:
        """Some of the poses, in the order asked."""
        return Poses(self.joints, self.values[index], self.path[index], self.at[index])


def cycle(waypoints: Sequence[Mapping[str, float]], steps: int, held: Mapping[str, float] | None = None) -> Poses:
    """One path through waypoints, joint values in straight lines between them.

    Parameters
    ----------
    waypoints
        Joint values; a joint that a waypoint leaves out stays where it was.
    steps
        Intervals from each waypoint to the next.
    held
        Values of joints that the first waypoint leaves out.
    """
    if steps < 1:
        raise ArgumentError(f"steps between waypoints must be at least 1, got {steps}")
    joints, corners = _corners(waypoints, held or {})
    legs = len(corners) - 1
    place = np.linspace(0.0, legs, legs * steps + 1)
    values = np.stack([np.interp(place, np.arange(legs + 1), column) for column in corners.T], axis=1)
    return Poses(joints, values, np.zeros(len(place), dtype=np.int64), place / max(legs, 1))


def separate(waypoints: Sequence[Mapping[str, float]], held: Mapping[str, float] | None = None) -> Poses:
    """Poses without a way between them, each a path of its own, such as the service poses."""
    return joined([cycle([waypoint], 1) for waypoint in waypoints], held)


def _corners(waypoints: Sequence[Mapping[str, float]], held: Mapping[str, float]) -> tuple[tuple[str, ...], Array]:
    joints = tuple(dict.fromkeys(joint for waypoint in waypoints for joint in waypoint))
    if not joints:
        raise ArgumentError("a path needs at least one waypoint with a joint value, such as { mast = 10 }")
    now = {joint: held[joint] for joint in joints if joint in held}
    corners = []
    for number, waypoint in enumerate(waypoints, start=1):
        now = {**now, **waypoint}
        missing = [joint for joint in joints if joint not in now]
        if missing:
            raise ArgumentError(f"waypoint {number} does not say where '{missing[0]}' is, and nothing before it does")
        corners.append([now[joint] for joint in joints])
    return joints, np.array(corners, dtype=float)


def joined(paths: Sequence[Poses], held: Mapping[str, float] | None = None) -> Poses:
    """Several motions as one, their paths numbered on.

    Parameters
    ----------
    paths
        At least one.
    held
        Values of joints in the motions that do not name them.
    """
    joints = tuple(dict.fromkeys(joint for poses in paths for joint in poses.joints))
    values, numbers, at = [], [], []
    count = 0
    for poses in paths:
        values.append(_filled(poses, joints, held or {}))
        numbers.append(poses.path + count)
        at.append(poses.at)
        count = int(numbers[-1].max(initial=count - 1)) + 1
    if not values:
        raise ArgumentError("a motion needs at least one path")
    return Poses(joints, np.concatenate(values), np.concatenate(numbers), np.concatenate(at))


def _filled(poses: Poses, joints: tuple[str, ...], held: Mapping[str, float]) -> Array:
    columns = []
    for joint in joints:
        if joint in poses.joints:
            columns.append(poses.of(joint))
        elif joint in held:
            columns.append(np.full(len(poses), held[joint]))
        else:
            raise ArgumentError(f"one path moves '{joint}' and another does not say where it is; give it there too")
    return np.stack(columns, axis=1)


def lattice(ranges: Mapping[str, tuple[float, float]], counts: Mapping[str, int] | int) -> Poses:
    """All combinations of evenly spaced joint values, as one path that turns back at each end.

    Neighbours on the path differ in one joint by one step, so that a shape can be carried along it.

    Parameters
    ----------
    ranges
        Lowest and highest value of each joint.
    counts
        Values of each joint, or one number for all.
    """
    for joint, (lowest, highest) in ranges.items():
        if not (math.isfinite(lowest) and math.isfinite(highest) and lowest <= highest):
            raise ArgumentError(f"free joint '{joint}' needs a finite range, got {lowest:g} to {highest:g}")
    number = [counts if isinstance(counts, int) else counts[joint] for joint in ranges]
    if not ranges or min(number) < 1 or math.prod(number) > MOST_POSES:
        raise ArgumentError(
            f"a lattice needs 1 to {MOST_POSES:,} poses in all, got {' x '.join(str(n) for n in number) or 'no joint'}"
        )
    levels = [np.linspace(*limits, count) for limits, count in zip(ranges.values(), number, strict=True)]
    index = _there_and_back(number)
    values = np.stack([level[column] for level, column in zip(levels, index.T, strict=True)], axis=1)
    at = np.linspace(0.0, 1.0, len(values)) if len(values) > 1 else np.zeros(1)
    return Poses(tuple(ranges), values, np.zeros(len(values), dtype=np.int64), at)


def _there_and_back(counts: Sequence[int]) -> NDArray[np.int64]:
    rows = np.zeros((1, 0), dtype=np.int64)
    for count in counts:
        turned = [rows if step % 2 == 0 else rows[::-1] for step in range(count)]
        step = np.repeat(np.arange(count), len(rows))
        rows = np.concatenate([np.concatenate(turned), step[:, None]], axis=1)
    return rows


def refine(poses: Poses, where: NDArray[np.bool_]) -> Poses:
    """The poses with midpoints put between neighbours.

    Parameters
    ----------
    poses
        Of any number of paths.
    where : (m - 1,) bool
        True at i asks for a pose between i and i + 1. The step from one path to the next is never split.
    """
    split = np.asarray(where, dtype=bool) & (poses.path[1:] == poses.path[:-1])
    left = np.flatnonzero(split)

    def inserted(column: Array) -> Array:
        return np.insert(column, left + 1, (column[left] + column[left + 1]) / 2.0, axis=0)

    path = np.insert(poses.path, left + 1, poses.path[left])
    return Poses(poses.joints, inserted(poses.values), path, inserted(poses.at))


def measured(text: str, name: str) -> Poses:
    """Poses from a table of measured joint values.

    Parameters
    ----------
    text
        Comma-separated values with a heading line. A column is named by joint (or cylinder) and unit, such as
        ``mast_deg`` or ``lift_mm`` (known units: deg, rad, mm, m); optional are ``time_s``, which must not fall on a
        path, and ``path``, a whole number. Lines that start with ``#`` are skipped.
    name
        Of the file, for messages.

    Raises
    ------
    DataError
        Names the line and the value that cannot be used.
    """
    lines = [
        (number, line) for number, line in enumerate(text.splitlines(), 1) if line.strip() and line.lstrip()[0] != "#"
    ]
    if len(lines) < 2:
        raise DataError(f"{name}: needs a heading line such as 'time_s,mast_deg' and at least one line of values")
    heading = [cell.strip() for cell in _cells(lines[0][1])]
    factors = _factors(heading, f"{name}:{lines[0][0]}")
    table = np.array([_numbers(line, heading, f"{name}:{number}") for number, line in lines[1:]])
    columns = dict(zip(heading, table.T, strict=True))
    path = _path_numbers(columns.get("path", np.zeros(len(table))), name)
    values = np.stack([columns[column] * factor for column, factor in factors.items()], axis=1)
    joints = tuple(column.rpartition("_")[0] for column in factors)
    return Poses(joints, values, path, _progress(columns.get("time_s"), path, name))


def _numbers(line: str, heading: Sequence[str], place: str) -> list[float]:
    cells = _cells(line)
    if len(cells) != len(heading):
        raise DataError(f"{place}: {len(cells)} values under {len(heading)} headings ({', '.join(heading)})")
    numbers = []
    for cell, column in zip(cells, heading, strict=True):
        try:
            number = float(cell)
        except ValueError:
            number = math.nan
        if not math.isfinite(number):
            raise DataError(f"{place}: {column} is '{cell.strip()}'; a number such as 12.5 is needed")
        numbers.append(number)
    return numbers


def _cells(line: str) -> list[str]:
    try:
        return next(csv.reader([line]))
    except csv.Error:  # a cell beyond all reason
        return [line[:20] + "..."]


def _factors(heading: Sequence[str], place: str) -> dict[str, float]:
    """Factor to SI of every column of joint values."""
    factors = {column: _factor(column, place) for column in heading if column not in ("time_s", "path")}
    joints = [column.rpartition("_")[0] for column in heading if column in factors]
    if not factors:
        raise DataError(f"{place}: no column of joint values such as 'mast_deg'")
    twice = [joint for joint in joints if joints.count(joint) > 1]
    if twice or len(set(heading)) < len(heading):
        raise DataError(f"{place}: '{(twice or ['time_s or path'])[0]}' has more than one column")
    return factors


def _factor(column: str, place: str) -> float:
    joint, _, unit = column.rpartition("_")
    if not joint or unit not in SUFFIXES:
        raise DataError(f"{place}: column '{column}' must end in its unit: {', '.join('_' + u for u in SUFFIXES)}")
    return SUFFIXES[unit]


def _path_numbers(column: Array, name: str) -> NDArray[np.int64]:
    changes = np.flatnonzero(np.diff(column)) + 1
    starts = column[np.concatenate([[0], changes])]
    if len(np.unique(starts)) != len(starts) or (column != np.round(column)).any():
        raise DataError(f"{name}: the column 'path' must hold whole numbers, with all lines of a path together")
    return np.searchsorted(changes, np.arange(len(column)), side="right").astype(np.int64)


def _progress(time: Array | None, path: NDArray[np.int64], name: str) -> Array:
    at = np.zeros(len(path))
    for _, group in itertools.groupby(range(len(path)), key=lambda row: path[row]):
        rows = np.array(list(group))
        clock = np.arange(len(rows), dtype=float) if time is None else time[rows]
        if (np.diff(clock) < 0.0).any():
            raise DataError(
                f"{name}: time_s falls from {clock[np.argmin(np.diff(clock))]:g} s on; sort the lines by time"
            )
        span = clock[-1] - clock[0]
        at[rows] = (clock - clock[0]) / span if span > 0.0 else np.linspace(0.0, 1.0, len(rows))
    return at
