"""COLLADA files: their unit, their nodes, and what is refused."""

import importlib.util
import re

import numpy as np
import pytest

from hosewright.errors import DataError
from hosewright.geometry import BoxShape, read_mesh

# A block of 400 x 200 x 300 of the file's units as six polygons of four corners, written by hand after the schema.
CORNERS = "-200 -100 -150 200 -100 -150 200 100 -150 -200 100 -150 -200 -100 150 200 -100 150 200 100 150 -200 100 150"
SIDES = "0 3 2 1 4 5 6 7 0 1 5 4 1 2 6 5 2 3 7 6 3 0 4 7"


def block(unit: str = '<unit name="millimetre" meter="0.001"/>', node: str = "", axis: str = "Z_UP") -> bytes:
    return f"""<?xml version="1.0" encoding="utf-8"?>
<COLLADA xmlns="http://www.collada.org/2005/11/COLLADASchema" version="1.4.1">
  <asset><created>2026-01-15T12:00:00</created><modified>2026-01-15T12:00:00</modified>
    {unit}<up_axis>{axis}</up_axis></asset>
  <library_geometries><geometry id="block"><mesh>
    <source id="corners"><float_array id="numbers" count="24">{CORNERS}</float_array>
      <technique_common><accessor source="#numbers" count="8" stride="3"><param name="X" type="float"/>
      <param name="Y" type="float"/><param name="Z" type="float"/></accessor></technique_common></source>
    <vertices id="places"><input semantic="POSITION" source="#corners"/></vertices>
    <polylist count="6"><input semantic="VERTEX" source="#places" offset="0"/>
      <vcount>4 4 4 4 4 4</vcount><p>{SIDES}</p></polylist>
  </mesh></geometry></library_geometries>
  <library_visual_scenes><visual_scene id="scene"><node>{node}<instance_geometry url="#block"/></node></visual_scene>
  </library_visual_scenes>
  <scene><instance_visual_scene url="#scene"/></scene>
</COLLADA>""".encode()


CLOUD = np.random.default_rng(3).uniform(-0.5, 0.5, (300, 3))


@pytest.mark.parametrize(
    ("text", "scale"),
    [
        (block(), 0.001),
        (block('<unit name="inch" meter="0.0254"/>'), 0.0254),
        (block(""), 1.0),  # the schema's default is the metre
        (block(axis="Y_UP"), 0.001),  # robot descriptions place a mesh by its own coordinates, whatever is up in it
    ],
)
def test_file_states_its_own_unit(text, scale):
    mesh = read_mesh(text, "block.dae", unit=7.0)
    assert mesh.watertight
    assert len(mesh.vertices) == 8
    box = BoxShape((0, 0, 0), (400 * scale, 200 * scale, 300 * scale))
    np.testing.assert_allclose(mesh.distance(CLOUD), box.distance(CLOUD), atol=1e-6)  # the reader keeps 32-bit floats


def test_nodes_place_their_shapes():
    node = "<translate>500 0 0</translate><rotate>0 0 1 90</rotate><scale>2 1 1</scale>"
    mesh = read_mesh(block(node=node), "block.DAE", unit=1.0)
    box = BoxShape((0.5, 0, 0), (0.2, 0.8, 0.3))
    np.testing.assert_allclose(mesh.distance(CLOUD), box.distance(CLOUD), atol=1e-6)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "block.dae: not a usable DAE file (no element found"),
        (b"PK\x03\x04" + b"\0" * 60, "block.dae: not a usable DAE file"),
        (block()[:-200], "block.dae: not a usable DAE file"),
        (b"<robot/>", "block.dae: a COLLADA file starts with <COLLADA>, this one with <robot>"),
        (b"<!DOCTYPE x [<!ENTITY a 'b'>]><COLLADA>&a;</COLLADA>", "a document type or entities are not allowed"),
        (b"<?xml version='1.0' encoding='x-none'?><COLLADA/>", "block.dae: not a usable DAE file (unknown encoding"),
        (block('<unit meter="zero"/>'), "block.dae: its unit is 'zero' metres; it must be a number above 0"),
        (block('<unit meter="-1"/>'), "block.dae: its unit is '-1' metres"),
        (block().replace(b"#block", b"#other"), "block.dae: not a usable DAE file (DaeBrokenRefError"),
        (block().replace(b"-200 -100", b"-2x0 -100"), "block.dae: not a usable DAE file (DaeMalformedError"),
        (block().replace(b"4 7</p>", b"4 77</p>"), "block.dae: not a usable DAE file (DaeMalformedError"),
        (block(node='<node><instance_geometry url="#lost"/></node>'), "(DaeBrokenRefError"),
        (b"<COLLADA/>", "block.dae: not a usable DAE file"),
    ],
)
def test_damaged_or_hostile_file_is_named(data, words):
    with pytest.raises(DataError, match=re.escape(words)):
        read_mesh(data, "block.dae", unit=1.0)


def test_missing_extra_is_named(monkeypatch):
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None)
    with pytest.raises(DataError, match=re.escape("pip install 'hosewright[collada]'; or export the shape as STL")):
        read_mesh(block(), "block.dae", unit=1.0)
