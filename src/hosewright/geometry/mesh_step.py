"""STEP files as meshes, through the optional ``cad`` extra.

References
----------
ISO 10303-21, exchange files; read by the Open CASCADE library.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from hosewright.errors import DataError
from hosewright.geometry.frames import Array

SAG = 0.25
"""The triangles stay this close to the true surface; a hose clearance is some 10 mm. [mm]"""

SAG_ANGLE = 0.35
"""Between the normals of neighbouring triangles on a curved face. [rad]"""

MILLIMETRE = 1e-3
"""The reader converts whatever unit the file states to millimetres. [m]"""


def read_step(data: bytes, name: str) -> tuple[Array, NDArray[np.int64]]:
    """Vertices (v, 3) in metres and faces (f, 3) of all solids in a STEP file.

    Raises
    ------
    DataError
        The extra is not installed, or the file holds nothing usable.
    """
    try:
        import OCP.STEPControl  # noqa: F401
    except ImportError as error:
        raise DataError(
            f"{name}: STEP files need an extra part: pip install 'hosewright[cad]'; or export the shape as STL"
        ) from error
    vertices: list[Array] = []
    faces: list[NDArray[np.int64]] = []
    for nodes, triangles in _face_meshes(_shape(data, name)):
        faces.append(triangles + sum(len(block) for block in vertices))
        vertices.append(nodes)
    if not faces:
        raise DataError(f"{name}: no faces found in this STEP file of {len(data):,} bytes")
    return _merged(np.concatenate(vertices) * MILLIMETRE, np.concatenate(faces))


def _shape(data: bytes, name: str) -> Any:
    from OCP.IFSelect import IFSelect_RetDone
    from OCP.Message import Message, Message_PrinterOStream
    from OCP.STEPControl import STEPControl_Reader

    # it would write into our output
    Message.DefaultMessenger_s().RemovePrinters(Message_PrinterOStream.get_type_descriptor_s())
    reader = STEPControl_Reader()
    with _as_file(data) as path:
        status = reader.ReadFile(path)
    if status != IFSelect_RetDone or not reader.TransferRoots():
        raise DataError(f"{name}: not a usable STEP file (the reader says {status})")
    return reader.OneShape()


class _as_file:  # the reader only takes a path
    def __init__(self, data: bytes) -> None:
        handle, self.path = tempfile.mkstemp(suffix=".step")
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)

    def __enter__(self) -> str:
        return self.path

    def __exit__(self, *_: object) -> None:
        Path(self.path).unlink(missing_ok=True)


def _face_meshes(shape: Any) -> Iterator[tuple[Array, NDArray[np.int64]]]:
    from OCP.BRep import BRep_Tool
    from OCP.BRepMesh import BRepMesh_IncrementalMesh
    from OCP.TopAbs import TopAbs_FACE, TopAbs_REVERSED
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopLoc import TopLoc_Location
    from OCP.TopoDS import TopoDS

    BRepMesh_IncrementalMesh(shape, SAG, False, SAG_ANGLE, False)
    explorer = TopExp_Explorer(shape, TopAbs_FACE)
    while explorer.More():
        face = TopoDS.Face(explorer.Current())
        location = TopLoc_Location()
        mesh = BRep_Tool.Triangulation_s(face, location)
        if mesh is not None:
            move = location.Transformation()
            points = [mesh.Node(i).Transformed(move) for i in range(1, mesh.NbNodes() + 1)]
            corners = np.array([mesh.Triangle(i).Get() for i in range(1, mesh.NbTriangles() + 1)], dtype=np.int64) - 1
            turned = face.Orientation() == TopAbs_REVERSED
            yield np.array([[p.X(), p.Y(), p.Z()] for p in points]), corners[:, ::-1] if turned else corners
        explorer.Next()


def _merged(vertices: Array, faces: NDArray[np.int64]) -> tuple[Array, NDArray[np.int64]]:
    # neighbouring faces share an edge's points to rounding only; a micrometre is far below the sag
    _, first, inverse = np.unique(np.round(vertices * 1e6), axis=0, return_index=True, return_inverse=True)
    return vertices[first], inverse.reshape(-1)[faces]
