"""Solid shapes and the signed distance to them: outside positive, inside negative.

The plain shapes are exact to rounding. Every ``distance`` takes points (..., 3) and gives distances (...). [m]
"""

from __future__ import annotations

import functools
import math
from abc import ABC, abstractmethod
from dataclasses import dataclass
from functools import cached_property
from typing import Protocol

import numpy as np

from hosewright.errors import ArgumentError
from hosewright.geometry.frames import Array, upright

Point = tuple[float, float, float]


class Shape(Protocol):
    """What a hose may touch.

    Attributes
    ----------
    tolerance
        How far ``quick_distance`` may be from ``distance``. [m]
    """

    @property
    def tolerance(self) -> float: ...  # noqa: D102

    @property
    def bounds(self) -> Array:
        """Corners (2, 3) of the smallest upright box around the shape. [m]"""

    def distance(self, points: Array) -> Array:
        """Exact signed distances (...) of points (..., 3). [m]"""

    def quick_distance(self, points: Array) -> Array:
        """Signed distances within ``tolerance`` of the exact ones. [m]"""


class _PlainShape(ABC):
    """A shape whose exact distance is also the quick one."""

    tolerance = 0.0

    @abstractmethod
    def distance(self, points: Array) -> Array:
        """Exact signed distances. [m]"""

    def quick_distance(self, points: Array) -> Array:
        return self.distance(points)


@dataclass(frozen=True)
class SphereShape(_PlainShape):
    """A ball."""

    centre: Point
    radius: float

    def __post_init__(self) -> None:
        _need_size(self.radius, "radius")

    @property
    def bounds(self) -> Array:
        """Corners (2, 3). [m]"""
        return np.array([self.centre, self.centre]) + np.array([[-self.radius], [self.radius]])

    def distance(self, points: Array) -> Array:
        """Exact signed distances. [m]"""
        return _length(np.asarray(points) - np.asarray(self.centre)) - self.radius


@dataclass(frozen=True)
class BoxShape(_PlainShape):
    """A block with edges of ``size`` along its x, y and z; x runs along ``along``, y towards ``up``."""

    centre: Point
    size: Point
    along: Point = (1.0, 0.0, 0.0)
    up: Point = (0.0, 1.0, 0.0)

    def __post_init__(self) -> None:
        for edge in self.size:
            _need_size(edge, "edge of the box")
        span = float(np.linalg.norm(self.along) * np.linalg.norm(self.up))
        if not float(np.linalg.norm(np.cross(self.along, self.up))) > 1e-6 * span:
            raise ArgumentError(f"the box's along {self.along} and up {self.up} must not be parallel or zero")

    @cached_property
    def axes(self) -> Array:
        """Directions of the edges as columns, (3, 3)."""
        return upright(np.array([self.along], dtype=float), np.array([self.up], dtype=float))[0]

    @property
    def bounds(self) -> Array:
        """Corners (2, 3). [m]"""
        reach = np.abs(self.axes) @ np.asarray(self.size) / 2.0
        return np.stack([self.centre - reach, self.centre + reach])

    def distance(self, points: Array) -> Array:
        """Exact signed distances. [m]"""
        local = (np.asarray(points) - np.asarray(self.centre)) @ self.axes
        return _outside_and_inside(np.abs(local) - np.asarray(self.size) / 2.0)


@dataclass(frozen=True)
class _AlongAxis(_PlainShape):
    start: Point
    end: Point
    radius: float

    def __post_init__(self) -> None:
        _need_size(self.radius, "radius")
        _need_size(self.length, "distance from start to end")

    @cached_property
    def length(self) -> float:
        """From start to end. [m]"""
        return math.dist(self.start, self.end)

    @cached_property
    def direction(self) -> Array:
        """Unit vector from start to end."""
        return (np.asarray(self.end, dtype=float) - np.asarray(self.start, dtype=float)) / self.length

    def _along_and_off(self, points: Array) -> tuple[Array, Array]:
        from_start = np.asarray(points) - np.asarray(self.start)
        along = from_start @ self.direction
        return along, _length(from_start - along[..., None] * self.direction)


@dataclass(frozen=True)
class CylinderShape(_AlongAxis):
    """A round bar with flat ends, from ``start`` to ``end``."""

    @property
    def bounds(self) -> Array:
        """Corners (2, 3). [m]"""
        reach = self.radius * np.sqrt(np.maximum(1.0 - self.direction**2, 0.0))
        ends = np.array([self.start, self.end])
        return np.stack([ends.min(axis=0) - reach, ends.max(axis=0) + reach])

    def distance(self, points: Array) -> Array:
        """Exact signed distances. [m]"""
        along, off = self._along_and_off(points)
        beyond = np.abs(along - self.length / 2.0) - self.length / 2.0
        return _outside_and_inside(np.stack([beyond, off - self.radius], axis=-1))


@dataclass(frozen=True)
class CapsuleShape(_AlongAxis):
    """A round bar with half balls on its ends; ``start`` and ``end`` are their centres."""

    @property
    def bounds(self) -> Array:
        """Corners (2, 3). [m]"""
        ends = np.array([self.start, self.end])
        return np.stack([ends.min(axis=0) - self.radius, ends.max(axis=0) + self.radius])

    def distance(self, points: Array) -> Array:
        """Exact signed distances. [m]"""
        along, off = self._along_and_off(points)
        return np.hypot(along - np.clip(along, 0.0, self.length), off) - self.radius


def _outside_and_inside(beyond: Array) -> Array:
    # beyond: how far a point lies past each pair of faces; all negative inside
    deepest = functools.reduce(np.maximum, np.moveaxis(beyond, -1, 0))  # numpy is slow along a short last axis
    return _length(np.maximum(beyond, 0.0)) + np.minimum(deepest, 0.0)


def _length(vectors: Array) -> Array:
    vectors = np.asarray(vectors, dtype=float)
    return np.sqrt(np.einsum("...k,...k->...", vectors, vectors))


def _need_size(value: float, what: str) -> None:
    if not 0.0 < value < math.inf:
        raise ArgumentError(f"{what} must be above 0, got {value * 1e3:g} mm")
