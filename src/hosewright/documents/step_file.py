"""Hoses as solids in a STEP file, through the optional ``cad`` extra.

References
----------
ISO 10303-21, exchange files; written by the Open CASCADE library.
"""

from __future__ import annotations

import importlib.util
import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from hosewright import __version__
from hosewright.errors import DataError
from hosewright.geometry.frames import Array

NO_DATE = "1970-01-01T00:00:00"
"""In place of the time at which the file is written: the same hoses give the same bytes."""

TOLERANCE = 1e-6
"""Points that are closer are one. [mm]"""


@dataclass(frozen=True, eq=False)
class Pipe:
    """A round bar along a smooth line.

    Attributes
    ----------
    line : (n, 3) float
        [m]
    diameter : float
        [m]
    """

    name: str
    line: Array
    diameter: float


def available() -> bool:
    """Whether the extra is installed."""
    return importlib.util.find_spec("OCP") is not None


def step(pipes: Sequence[Pipe], name: str) -> bytes:
    """STEP file with each pipe as a named solid, in mm.

    Parameters
    ----------
    pipes
        At least one.
    name
        Of the file, for its header.

    Raises
    ------
    DataError
        The extra is not installed, or a pipe cannot be made.
    """
    if not available():
        raise DataError(f"{name}: STEP files need an extra part: pip install 'hosewright[cad]'")
    from OCP.IFSelect import IFSelect_RetDone
    from OCP.STEPCAFControl import STEPCAFControl_Writer
    from OCP.STEPControl import STEPControl_AsIs

    _be_quiet()
    writer = STEPCAFControl_Writer()
    writer.SetNameMode(True)
    stream = io.BytesIO()
    if not writer.Transfer(_document(pipes), STEPControl_AsIs):
        raise DataError(f"{name}: the shapes cannot be put into a STEP file")
    _head(writer.Writer().Model(), name)
    status = writer.WriteStream(stream)
    if status != IFSelect_RetDone:
        raise DataError(f"{name}: cannot be written (the writer says {status})")
    return stream.getvalue()


def _be_quiet() -> None:
    # it would write into our output
    from OCP.Message import Message, Message_PrinterOStream

    Message.DefaultMessenger_s().RemovePrinters(Message_PrinterOStream.get_type_descriptor_s())


def _document(pipes: Sequence[Pipe]) -> Any:
    from OCP.TCollection import TCollection_ExtendedString
    from OCP.TDataStd import TDataStd_Name
    from OCP.TDocStd import TDocStd_Document
    from OCP.XCAFDoc import XCAFDoc_DocumentTool

    document = TDocStd_Document(TCollection_ExtendedString("XmlXCAF"))
    shapes = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    for pipe in pipes:
        label = shapes.AddShape(_solid(pipe), False)
        TDataStd_Name.Set_s(label, TCollection_ExtendedString(pipe.name, True))
    return document


def _solid(pipe: Pipe) -> Any:
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakeWire
    from OCP.BRepOffsetAPI import BRepOffsetAPI_MakePipe
    from OCP.gp import gp_Ax2, gp_Circ, gp_Dir, gp_Pnt, gp_Vec

    curve = _curve(pipe)
    start, along = gp_Pnt(), gp_Vec()
    curve.D1(curve.FirstParameter(), start, along)
    circle = gp_Circ(gp_Ax2(start, gp_Dir(along)), pipe.diameter * 500.0)
    face = BRepBuilderAPI_MakeFace(BRepBuilderAPI_MakeWire(BRepBuilderAPI_MakeEdge(circle).Edge()).Wire()).Face()
    swept = BRepOffsetAPI_MakePipe(BRepBuilderAPI_MakeWire(BRepBuilderAPI_MakeEdge(curve).Edge()).Wire(), face)
    if not swept.IsDone():
        raise DataError(f"'{pipe.name}': no solid of {pipe.diameter * 1e3:g} mm can be swept along its line")
    return swept.Shape()


def _curve(pipe: Pipe) -> Any:
    from OCP.collections import HArray1_gp_Pnt
    from OCP.GeomAPI import GeomAPI_Interpolate
    from OCP.gp import gp_Pnt

    points = HArray1_gp_Pnt(1, len(pipe.line))
    for k, point in enumerate(np.asarray(pipe.line) * 1e3, start=1):
        points.SetValue(k, gp_Pnt(*map(float, point)))
    smooth = GeomAPI_Interpolate(points, False, TOLERANCE)
    smooth.Perform()
    if not smooth.IsDone():
        raise DataError(f"'{pipe.name}': no smooth curve goes through its {len(pipe.line)} points")
    return smooth.Curve()


def _head(model: Any, name: str) -> None:
    from OCP.APIHeaderSection import APIHeaderSection_MakeHeader
    from OCP.TCollection import TCollection_HAsciiString

    head = APIHeaderSection_MakeHeader(model)
    head.SetTimeStamp(TCollection_HAsciiString(NO_DATE))
    head.SetName(TCollection_HAsciiString(name))
    head.SetOriginatingSystem(TCollection_HAsciiString(f"hosewright {__version__}"))
    head.SetAuthorValue(1, TCollection_HAsciiString(""))
    head.SetOrganizationValue(1, TCollection_HAsciiString(""))
