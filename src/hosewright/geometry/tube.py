"""Closed surface of a round tube along a line."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from hosewright.geometry.frames import Array

SIDES = 24


def tube(line: Array, radius: float, sides: int = SIDES) -> tuple[Array, NDArray[np.int64]]:
    """Vertices (v, 3) and faces (f, 3) of a watertight tube along a smooth line, its corners on the true radius.

    Parameters
    ----------
    line : (n, 3) float
        At least two points, neighbours apart. [m]
    radius : float
        [m]
    sides : int
        Of the polygon that stands for the circle: its area is ``sin(x) / x`` of the circle's, ``x = 2 pi / sides``.
    """
    line = np.asarray(line, dtype=float)
    count = len(line)
    side, other = _across(_tangents(line))
    turn = math.tau * np.arange(sides) / sides
    ring = np.cos(turn)[:, None] * side[:, None, :] + np.sin(turn)[:, None] * other[:, None, :]
    vertices = np.concatenate([(line[:, None, :] + radius * ring).reshape(-1, 3), line[[0, -1]]])
    return vertices, np.concatenate([_walls(count, sides), *_caps(count, sides)])


def _tangents(line: Array) -> Array:
    # of second order also at the ends, so that the caps stand square to the line
    along = np.gradient(line, axis=0, edge_order=2 if len(line) > 2 else 1)
    return along / np.linalg.norm(along, axis=1, keepdims=True)


def _across(tangents: Array) -> tuple[Array, Array]:
    # carried along the line, so that the surface does not twist
    side = np.empty_like(tangents)
    start = np.eye(3)[int(np.argmin(np.abs(tangents[0])))]
    for k, tangent in enumerate(tangents):
        start = start - (start @ tangent) * tangent
        side[k] = start = start / np.linalg.norm(start)
    return side, np.cross(tangents, side)


def _walls(count: int, sides: int) -> NDArray[np.int64]:
    first = (sides * np.arange(count - 1)[:, None] + np.arange(sides)).reshape(-1)
    beside = (sides * np.arange(count - 1)[:, None] + (np.arange(sides) + 1) % sides).reshape(-1)
    lower = np.stack([first, beside, first + sides], axis=1)
    return np.concatenate([lower, np.stack([beside, beside + sides, first + sides], axis=1)])


def _caps(count: int, sides: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    here, beside = np.arange(sides), (np.arange(sides) + 1) % sides
    last = sides * (count - 1)
    start, end = np.full(sides, sides * count), np.full(sides, sides * count + 1)
    return np.stack([start, beside, here], axis=1), np.stack([end, last + here, last + beside], axis=1)
