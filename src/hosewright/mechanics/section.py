"""What a span is made of and held by, with the checks on it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hosewright.errors import ArgumentError

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Section:
    """Stiffness and weight of a hose.

    Parameters
    ----------
    bending_stiffness, torsional_stiffness : float
        [N m2]
    axial_stiffness : float
        A numerical device rather than a property: large enough that the hose keeps its length. [N]
    weight : float
        Per length, filled. [N/m]

    Raises
    ------
    ArgumentError
        Where a stiffness is not positive, or the weight negative.
    """

    bending_stiffness: float
    torsional_stiffness: float
    axial_stiffness: float = 1e6
    weight: float = 0.0

    def __post_init__(self) -> None:
        for name in ("bending_stiffness", "torsional_stiffness", "axial_stiffness"):
            positive(name, getattr(self, name))
        if not (math.isfinite(self.weight) and self.weight >= 0.0):
            raise ArgumentError(f"weight is {self.weight!r}; it must be a number of N/m, zero or more")


@dataclass(frozen=True)
class Support:
    """One held end, in one pose or in m poses.

    Parameters
    ----------
    position : (3,) or (m, 3) float
        [m]
    direction : (3,) or (m, 3) float
        The way the hose runs, from a to b at both ends; of any length but zero.
    reference : (3,) or (m, 3) float, optional
        A vector fixed to this end; its part across ``direction`` counts. Without it the hose is free to roll.
    """

    position: ArrayLike
    direction: ArrayLike
    reference: ArrayLike | None = None


def positive(name: str, value: float) -> float:
    """The value, if it is a positive number."""
    if not (isinstance(value, int | float | np.number) and math.isfinite(value) and value > 0.0):
        raise ArgumentError(f"{name} is {value!r}; it must be a positive number")
    return float(value)


def vectors(name: str, value: ArrayLike) -> Array:
    """The value as (m, 3) floats."""
    try:
        array = np.asarray(value, dtype=float)
    except (TypeError, ValueError):
        raise ArgumentError(f"{name} is {value!r}; it must be three numbers, or m rows of three") from None
    if array.ndim == 1:
        array = array[None]
    if array.ndim != 2 or array.shape[1] != 3 or len(array) == 0:
        raise ArgumentError(f"{name} has shape {np.shape(value)}; it must be (3,) or (m, 3)")
    bad = np.flatnonzero(~np.isfinite(array).all(axis=1))
    if len(bad):
        raise ArgumentError(f"{name} holds {array[bad[0]].tolist()} in pose {bad[0]}; all numbers must be finite")
    return array


def directions(name: str, value: ArrayLike) -> Array:
    """The value as (m, 3) unit vectors."""
    array = vectors(name, value)
    size = np.linalg.norm(array, axis=1, keepdims=True)
    bad = np.flatnonzero(size[:, 0] < 1e-12)
    if len(bad):
        raise ArgumentError(f"{name} is {array[bad[0]].tolist()} in pose {bad[0]}; a direction must not be zero")
    return array / size


def held_frames(name: str, support: Support) -> tuple[Array, Array, Array | None]:
    """Position, unit direction and unit reference across it (or None) of a support, each (m, 3) or (1, 3)."""
    position = vectors(f"{name}.position", support.position)
    direction = directions(f"{name}.direction", support.direction)
    if support.reference is None:
        return position, direction, None
    reference = directions(f"{name}.reference", support.reference)
    count = max(len(direction), len(reference))
    if min(len(direction), len(reference)) not in (1, count):
        raise ArgumentError(
            f"{name}.direction has {len(direction)} poses and {name}.reference {len(reference)}; they must be as many"
        )
    across = reference - np.sum(reference * direction, axis=1, keepdims=True) * direction
    size = np.linalg.norm(across, axis=1, keepdims=True)
    bad = np.flatnonzero(size[:, 0] < 1e-6)
    if len(bad):
        raise ArgumentError(f"{name}.reference is parallel to {name}.direction in pose {bad[0]}; it must point across")
    return position, direction, across / size
