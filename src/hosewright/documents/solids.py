"""Parts of a machine as triangles, coarse enough to be drawn."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

from hosewright.geometry import BoxShape, CapsuleShape, CylinderShape, Mesh, MeshShape, Shape, SphereShape, upright

Array = NDArray[np.float64]
Index = NDArray[np.int64]

AROUND = 24
"""Corners of a circle."""
MOST_FACES = 600
"""A mesh with more faces is drawn with its corners gathered in a lattice."""
SHARP = 0.85
"""Two faces whose normals have a cosine below this meet in an edge that is drawn."""


@dataclass(frozen=True, eq=False)
class Solid:
    """A surface.

    Attributes
    ----------
    vertices : (v, 3) float
        [m]
    faces : (f, 3) int
        Corners of each triangle.
    """

    vertices: Array
    faces: Index

    @cached_property
    def corners(self) -> Array:
        """(f, 3, 3): corners of each triangle. [m]"""
        return self.vertices[self.faces]

    @cached_property
    def normals(self) -> Array:
        """Unit normals (f, 3)."""
        across = np.cross(self.corners[:, 1] - self.corners[:, 0], self.corners[:, 2] - self.corners[:, 0])
        return across / np.maximum(np.linalg.norm(across, axis=1, keepdims=True), 1e-30)

    @cached_property
    def _meetings(self) -> tuple[Index, Index, Index]:
        # edges (e, 2) in which two faces meet with these faces (e, 2), and edges (o, 2) of one face alone
        pairs = np.sort(self.faces[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1)
        owners = np.repeat(np.arange(len(self.faces)), 3)
        order = np.lexsort(pairs.T[::-1])
        pairs, owners = pairs[order], owners[order]
        same = np.flatnonzero((pairs[1:] == pairs[:-1]).all(axis=1))
        alone = np.setdiff1d(np.arange(len(pairs)), np.r_[same, same + 1])
        return pairs[same], np.stack([owners[same], owners[same + 1]], axis=1), pairs[alone]

    @cached_property
    def _outward(self) -> float:
        # 1 where the normals of a closed surface point out, -1 where they point in, 0 where it is open or mixed
        directed = self.faces[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2) @ np.array([len(self.vertices), 1])
        if len(self._meetings[2]) or len(np.unique(directed)) < len(directed):
            return 0.0
        a, b, c = np.moveaxis(self.corners, 1, 0)
        return float(np.sign(np.sum(a * np.cross(b, c))))

    def seen_from(self, towards: Array) -> Array:
        """Triangles (k, 3, 3) of which one in this direction can see the outside: those of an open surface all. [m]"""
        if self._outward == 0.0:
            return self.corners
        return self.corners[self._outward * (self.normals @ towards) > 0.0]

    def edges(self, towards: Array) -> Array:
        """Lines (e, 2, 3) that a drawing shows: sharp edges, the outline seen from this direction, open rims. [m]"""
        pairs, owners, alone = self._meetings
        first, second = self.normals[owners[:, 0]], self.normals[owners[:, 1]]
        sharp = np.sum(first * second, axis=1) < SHARP
        outline = (first @ towards > 1e-9) != (second @ towards > 1e-9)
        return self.vertices[np.concatenate([pairs[sharp | outline], alone])]

    def finer(self, longest: float) -> Array:
        """Triangles (k, 3, 3) that cover the same surface, with no edge longer than asked. [m]"""
        done, rest = [], self.corners
        for _ in range(12):
            sides = np.linalg.norm(rest - np.roll(rest, -1, axis=1), axis=2)
            large = sides.max(axis=1) > longest
            done.append(rest[~large])
            if not large.any():
                break
            rest = _halved(rest[large], sides[large].argmax(axis=1))
        return np.concatenate(done)


def _halved(triangles: Array, side: Index) -> Array:
    # across the side that begins at this corner
    row = np.arange(len(triangles))
    a, b, c = (triangles[row, (side + k) % 3] for k in range(3))
    middle = (a + b) / 2.0
    return np.concatenate([np.stack([a, middle, c], axis=1), np.stack([middle, b, c], axis=1)])


def solid(shape: Shape) -> Solid:
    """A shape as triangles in its own frame."""
    match shape:
        case BoxShape():
            return _box(shape)
        case CylinderShape():
            ends = np.array([shape.start, shape.start, shape.end, shape.end])
            return _turned(ends, np.array([0.0, shape.radius, shape.radius, 0.0]))
        case CapsuleShape():
            return _round(np.array(shape.start), np.array(shape.end), shape.radius)
        case SphereShape():
            centre = np.array(shape.centre)
            return _round(centre, centre, shape.radius)
        case MeshShape():
            return _of_mesh(shape.mesh)
    raise TypeError(f"no drawing of a {type(shape).__name__}")


def _box(shape: BoxShape) -> Solid:
    signs = np.array([[x, y, z] for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)], dtype=float)
    vertices = np.asarray(shape.centre) + (signs * np.asarray(shape.size) / 2.0) @ shape.axes.T
    squares = np.array([[0, 1, 3, 2], [4, 6, 7, 5], [0, 4, 5, 1], [2, 3, 7, 6], [0, 2, 6, 4], [1, 5, 7, 3]])
    return Solid(vertices, np.concatenate([squares[:, [0, 1, 2]], squares[:, [0, 2, 3]]]))


def _round(start: Array, end: Array, radius: float) -> Solid:
    # half balls on both ends
    along = end - start
    along = along / np.linalg.norm(along) if along.any() else np.array([0.0, 0.0, 1.0])
    angles = np.linspace(0.0, np.pi / 2.0, AROUND // 4 + 1)
    first = start - radius * np.cos(angles)[:, None] * along
    last = end + radius * np.cos(angles[::-1])[:, None] * along
    radii = radius * np.sin(angles)
    return _turned(np.concatenate([first, last]), np.concatenate([radii, radii[::-1]]), along)


def _turned(centres: Array, radii: Array, along: Array | None = None) -> Solid:
    # a body of rotation from circles one after the other, first and last of radius 0
    along = centres[-1] - centres[0] if along is None else along
    side = np.eye(3)[int(np.argmin(np.abs(along)))]
    axes = upright(along[None], side[None])[0]
    angle = np.linspace(0.0, 2.0 * np.pi, AROUND, endpoint=False)
    ring = np.cos(angle)[:, None] * axes[:, 1] + np.sin(angle)[:, None] * axes[:, 2]
    vertices = (centres[:, None] + radii[:, None, None] * ring).reshape(-1, 3)
    low = (np.arange(len(radii) - 1)[:, None] * AROUND + np.arange(AROUND)).ravel()
    beside = low - low % AROUND + (low + 1) % AROUND
    faces = np.concatenate(
        [np.stack([low, beside, beside + AROUND], axis=1), np.stack([low, beside + AROUND, low + AROUND], axis=1)]
    )
    return _welded(vertices, faces)


def _of_mesh(mesh: Mesh) -> Solid:
    if mesh not in _gathered_meshes:
        _gathered_meshes[mesh] = _gathered(mesh.vertices, mesh.faces)
    return _gathered_meshes[mesh]


_gathered_meshes: WeakKeyDictionary[Mesh, Solid] = WeakKeyDictionary()
"""Every picture shows the same few meshes; they are forgotten with their job."""


def _gathered(vertices: Array, faces: Index) -> Solid:
    # corners that fall into one cell of a lattice become their mean
    size = float(np.linalg.norm(np.ptp(vertices, axis=0)))
    cells = 64
    kept = _welded(vertices, faces, 1e-6)
    while len(kept.faces) > MOST_FACES and cells > 4:
        kept = _welded(vertices, faces, size / cells)
        cells = cells * 3 // 4
    return kept


def _welded(vertices: Array, faces: Index, cell: float = 1e-6) -> Solid:
    # without faces that have lost their area, and each face once
    _, number = np.unique(np.round(vertices / cell).astype(np.int64), axis=0, return_inverse=True)
    number = number.reshape(-1)
    count = np.bincount(number)
    places = np.stack([np.bincount(number, column) / count for column in vertices.T], axis=1)
    faces = number[faces]
    whole = (faces[:, 0] != faces[:, 1]) & (faces[:, 1] != faces[:, 2]) & (faces[:, 2] != faces[:, 0])
    _, first = np.unique(np.sort(faces[whole], axis=1), axis=0, return_index=True)
    return Solid(places, faces[whole][np.sort(first)])
