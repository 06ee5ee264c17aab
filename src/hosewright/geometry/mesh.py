"""Triangle meshes: reading them from the bytes of a file, and the exact distance to them.

The distance is the unsigned one of a bounding-volume tree, given its sign by the generalised winding number, which
also holds on meshes with holes, doubled faces and loose triangles.

References
----------
Barill, Dickson, Schmidt, Levin, Jacobson: Fast winding numbers for soups and clouds, ACM Trans. Graph. 37 (2018)
"""

from __future__ import annotations

import hashlib
import io
import struct
import warnings
from dataclasses import dataclass
from functools import cached_property, lru_cache
from pathlib import PurePath
from typing import Any

import numpy as np
from numpy.typing import NDArray

from hosewright.errors import DataError
from hosewright.geometry.frames import Array
from hosewright.geometry.grid import DistanceGrid
from hosewright.geometry.mesh_collada import stated_unit
from hosewright.words import Sentence

MOST_BYTES = 200_000_000
MOST_FACES = 2_000_000
"""Beyond this a tree alone takes gigabytes; hoses need millimetres, which a tenth of it gives."""

FARTHEST = 10_000.0
"""No machine is larger; numbers beyond it come from damaged files and wrong units. [m]"""

SUFFIXES = ("stl", "obj", "ply", "glb", "dae", "step", "stp")


class MeshWarning(UserWarning):
    """A mesh can be used, but not everything about it is as it should be."""


@dataclass(frozen=True, eq=False)
class Mesh:
    """Triangles of an obstacle.

    Attributes
    ----------
    vertices : (v, 3) float
        [m]
    faces : (f, 3) int
        Indices of vertices.
    name
        For messages.
    """

    vertices: Array
    faces: NDArray[np.int64]
    name: str = "mesh"

    def __post_init__(self) -> None:
        if len(self.faces) > MOST_FACES:
            raise DataError(
                f"{self.name}: {len(self.faces):,} faces are too many; at most {MOST_FACES:,} can be used: "
                "simplify the mesh (50,000 faces are plenty for hoses)"
            )
        if self.vertices.ndim != 2 or self.vertices.shape[1] != 3 or self.faces.ndim != 2 or self.faces.shape[1] != 3:
            raise DataError(
                f"{self.name}: needs vertices of three numbers and faces of three corners, "
                f"got {self.vertices.shape} and {self.faces.shape}"
            )
        if not np.isfinite(self.vertices).all():
            raise DataError(f"{self.name}: a vertex is not a finite number")
        if np.abs(self.vertices).max(initial=0.0) > FARTHEST:
            raise DataError(
                f"{self.name}: a vertex is {np.abs(self.vertices).max():.3g} m away, at most {FARTHEST:.0f} m can be "
                "used; is the unit of the file right?"
            )
        if len(self.faces) and not 0 <= self.faces.min() <= self.faces.max() < len(self.vertices):
            raise DataError(f"{self.name}: a face names vertex {self.faces.max()}, there are {len(self.vertices)}")
        whole = self._faces_with_area()
        if not whole.any():
            raise DataError(f"{self.name}: the mesh has no face with an area")
        object.__setattr__(self, "vertices", np.ascontiguousarray(self.vertices, dtype=np.float64))
        object.__setattr__(self, "faces", np.ascontiguousarray(self.faces[whole], dtype=np.int64))

    def _faces_with_area(self) -> NDArray[np.bool_]:
        corner = self.vertices[self.faces]
        across = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0])
        return (across**2).sum(axis=1) > 0.0

    @cached_property
    def bounds(self) -> Array:
        """Corners (2, 3) of the smallest upright box around the mesh. [m]"""
        used = self.vertices[self.faces.reshape(-1)]
        return np.stack([used.min(axis=0), used.max(axis=0)])

    @cached_property
    def watertight(self) -> bool:
        """Whether every edge joins two faces."""
        edges = np.sort(self.faces[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1)
        _, counts = np.unique(edges, axis=0, return_counts=True)
        return bool((counts % 2 == 0).all())

    @cached_property
    def fingerprint(self) -> str:
        """Hash of the triangles; equal for equal meshes, whatever file they came from."""
        digest = hashlib.sha256(self.vertices.tobytes())
        digest.update(self.faces.tobytes())
        return digest.hexdigest()

    def placed(self, axes: Array, origin: Array) -> Mesh:
        """The mesh turned (or scaled) by a matrix (3, 3), then moved."""
        return Mesh(self.vertices @ np.asarray(axes, dtype=float).T + np.asarray(origin), self.faces, self.name)

    def distance(self, points: Array) -> Array:
        """Exact signed distances (...) of points (..., 3), negative inside. [m]"""
        points = np.asarray(points, dtype=np.float64)
        flat = np.ascontiguousarray(points.reshape(-1, 3))
        if not len(flat):
            return np.zeros(points.shape[:-1])
        tree, winding = _trees(self)
        squared, _, _ = tree.squared_distance(self.vertices, self.faces, flat)
        # a mesh whose faces all look inwards winds -1 inside
        inside = np.abs(winding.winding_number(flat)) > 0.5
        distance = np.sqrt(np.maximum(squared, 0.0)) * np.where(inside, -1.0, 1.0)
        return distance.reshape(points.shape[:-1])


@lru_cache(maxsize=64)
def _trees(mesh: Mesh) -> tuple[Any, Any]:
    # kept beside the mesh, not in it: the trees cannot be sent to another process
    import igl  # slow to import, and only needed where a mesh is

    tree, winding = igl.AABB(), igl.FastWindingNumberBVH()
    tree.init(mesh.vertices, mesh.faces)
    winding.init(mesh.vertices, mesh.faces)
    return tree, winding


@dataclass(frozen=True, eq=False)
class MeshShape:
    """A mesh as an obstacle, with a grid for quick distances.

    Attributes
    ----------
    spacing
        Of the grid; ``None`` for 1/150 of the mesh's diagonal, between 2 and 20 mm. [m]
    """

    mesh: Mesh
    spacing: float | None = None

    @property
    def bounds(self) -> Array:
        """Corners (2, 3). [m]"""
        return self.mesh.bounds

    @property
    def tolerance(self) -> float:
        """How far ``quick_distance`` may be from ``distance``. [m]"""
        return self.grid.error_bound

    @property
    def grid(self) -> DistanceGrid:
        """Distances on a lattice, shared by all users of this mesh in this process."""
        return _grid(self.mesh, self.spacing or default_spacing(self.mesh.bounds))

    def distance(self, points: Array) -> Array:
        """Exact signed distances. [m]"""
        return self.mesh.distance(points)

    def quick_distance(self, points: Array) -> Array:
        """Signed distances within ``tolerance`` of the exact ones. [m]"""
        return self.grid.distance(points)


@lru_cache(maxsize=64)
def _grid(mesh: Mesh, spacing: float) -> DistanceGrid:
    return DistanceGrid(mesh.distance, mesh.bounds, spacing, key=mesh.fingerprint)


def default_spacing(bounds: Array) -> float:
    """Spacing of a grid that suits a mesh of this size. [m]"""
    return float(np.clip(np.linalg.norm(bounds[1] - bounds[0]) / 150.0, 0.002, 0.020))


def read_mesh(data: bytes, name: str, unit: float) -> Mesh:
    """Mesh from the bytes of a file.

    Parameters
    ----------
    data
        Content of the file.
    name
        Its name: the suffix tells the format (STL, OBJ, PLY, GLB; COLLADA with the ``collada`` extra, STEP with the
        ``cad`` extra), and messages say it.
    unit
        Length of one unit of the file. Not used for COLLADA and STEP, which state their own. [m]

    Raises
    ------
    DataError
        Unknown format, damaged or empty file, or a file that is too large.

    Warns
    -----
    MeshWarning
        The mesh has holes: inside and outside are then told by the winding number.
    """
    suffix = PurePath(name).suffix.lstrip(".").lower()
    if suffix not in SUFFIXES:
        raise DataError(f"{name}: cannot read '{suffix}' meshes; known: {', '.join(SUFFIXES)}")
    _refuse_too_large(data, name, suffix)
    if suffix in ("step", "stp"):
        from hosewright.geometry.mesh_step import read_step

        mesh = Mesh(*read_step(data, name), name)
    else:
        if suffix == "dae":
            unit = stated_unit(data, name)
        vertices, faces = _read_triangles(data, name, suffix)
        mesh = Mesh(vertices * unit, faces, name)
    if not mesh.watertight:
        warnings.warn(
            MeshWarning(Sentence.of("warnings.mesh_open", mesh=name, faces=len(mesh.faces))),
            stacklevel=2,
        )
    return mesh


def _refuse_too_large(data: bytes, name: str, suffix: str) -> None:
    if len(data) > MOST_BYTES:
        raise DataError(
            f"{name}: {len(data) / 1e6:.0f} MB are too much; at most {MOST_BYTES / 1e6:.0f} MB can be read: "
            "simplify the mesh"
        )
    if suffix == "stl" and len(data) >= 84 and not data.startswith(b"solid"):
        (count,) = struct.unpack_from("<I", data, 80)
        if count > MOST_FACES:
            raise DataError(f"{name}: {count:,} faces are too many; at most {MOST_FACES:,} can be used")


def _read_triangles(data: bytes, name: str, suffix: str) -> tuple[Array, NDArray[np.int64]]:
    import trimesh  # slow to import, and only needed where a mesh is

    # a COLLADA part that cannot be read would be left out in silence, and an obstacle with it
    strict: dict[str, Any] = {"ignore_broken": False} if suffix == "dae" else {}
    try:
        loaded = trimesh.load_scene(io.BytesIO(data), file_type=suffix, **strict).to_mesh()
        loaded.merge_vertices(merge_tex=True, merge_norm=True)
        vertices, faces = np.asarray(loaded.vertices, dtype=float), np.asarray(loaded.faces, dtype=np.int64)
    except Exception as error:  # a foreign reader of foreign bytes: whatever it raises, the file is at fault
        raise DataError(f"{name}: not a usable {suffix.upper()} file ({type(error).__name__}: {error})") from error
    if faces.ndim != 2 or not len(faces):
        raise DataError(f"{name}: no triangles found in this {suffix.upper()} file of {len(data):,} bytes")
    return vertices, faces
