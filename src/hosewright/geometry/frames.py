"""Right-handed frames, many at a time."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Frames:
    """Frames in m poses.

    Attributes
    ----------
    origin : (m, 3) float
        Where each frame sits. [m]
    axes : (m, 3, 3) float
        Unit vectors as columns: x, y, z. Of a port: ``facing``, ``up`` and ``facing x up``.
    """

    origin: Array
    axes: Array

    @property
    def facing(self) -> Array:
        """First axis, (m, 3): out of a port."""
        return self.axes[:, :, 0]

    @property
    def up(self) -> Array:
        """Second axis, (m, 3): the zero of a port's clock."""
        return self.axes[:, :, 1]

    def __len__(self) -> int:
        return len(self.origin)

    def place(self, local: Frames) -> Frames:
        """Frames given in these frames, expressed in the machine frame."""
        return Frames(self.origin + np.einsum("mij,mj->mi", self.axes, local.origin), self.axes @ local.axes)

    def points(self, local: Array) -> Array:
        """Points (k, 3) fixed to these frames, in the machine frame: (m, k, 3)."""
        return self.origin[:, None, :] + np.einsum("mij,kj->mki", self.axes, local)

    def local(self, points: Array) -> Array:
        """Points (m, k, 3) of the machine frame, expressed in these frames: (m, k, 3)."""
        return (points - self.origin[:, None, :]) @ self.axes

    def directions(self, local: Array) -> Array:
        """Directions (k, 3) fixed to these frames, in the machine frame: (m, k, 3)."""
        return np.einsum("mij,kj->mki", self.axes, local)


def cross(a: Array, b: Array) -> Array:
    """Vector product of vectors (..., 3), broadcast; on few vectors twice as fast as the general one of NumPy."""
    x = a[..., 1] * b[..., 2] - a[..., 2] * b[..., 1]
    y = a[..., 2] * b[..., 0] - a[..., 0] * b[..., 2]
    z = a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]
    return np.stack([x, y, z], axis=-1)


def upright(along: Array, up: Array) -> Array:
    """Axes with x along ``along`` and y in the plane of ``along`` and ``up``, on the side of ``up``.

    Parameters
    ----------
    along, up : (m, 3) float
        Any length, not parallel.

    Returns
    -------
    (m, 3, 3) float
        Unit vectors as columns.
    """
    x = along / np.linalg.norm(along, axis=-1, keepdims=True)
    y = up - (x * up).sum(axis=-1, keepdims=True) * x
    y = y / np.linalg.norm(y, axis=-1, keepdims=True)
    return np.stack([x, y, cross(x, y)], axis=-1)


def rotation(axis: Array, angle: Array) -> Array:
    """Rotation matrices about one unit axis by each angle, right-handed.

    Parameters
    ----------
    axis : (3,) float
        Unit vector.
    angle : (m,) float
        [rad]

    Returns
    -------
    (m, 3, 3) float
    """
    angle = np.atleast_1d(np.asarray(angle, dtype=float))
    x, y, z = axis
    cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    sin, cos = np.sin(angle)[:, None, None], np.cos(angle)[:, None, None]
    return np.eye(3) + sin * cross + (1.0 - cos) * (cross @ cross)
