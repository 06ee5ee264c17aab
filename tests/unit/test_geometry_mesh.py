"""Mesh files, their errors and the kept grids."""

import re
from pathlib import Path

import numpy as np
import pytest
import trimesh

import hosewright
from hosewright.errors import ArgumentError, DataError
from hosewright.geometry import BoxShape, DistanceGrid, Mesh, MeshWarning, SphereShape, read_mesh
from hosewright.geometry import grid as grid_module
from hosewright.geometry import mesh as mesh_module

BLOCK = trimesh.creation.box(extents=(400, 200, 300))
CLOUD = np.random.default_rng(3).uniform(-0.5, 0.5, (300, 3))


def exported(solid: trimesh.Trimesh, suffix: str) -> bytes:
    data = solid.export(file_type=suffix)
    return data if isinstance(data, bytes) else data.encode()


@pytest.mark.parametrize("suffix", ["stl", "obj", "ply", "glb", "STL"])
def test_every_format_gives_the_same_solid_in_metres(suffix):
    mesh = read_mesh(exported(BLOCK, suffix.lower()), f"block.{suffix}", unit=0.001)
    assert mesh.watertight
    box = BoxShape((0, 0, 0), (0.4, 0.2, 0.3))
    np.testing.assert_allclose(mesh.distance(CLOUD), box.distance(CLOUD), atol=1e-7)


def test_step_file_states_its_own_unit(tmp_path):
    pytest.importorskip("OCP")
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox
    from OCP.Message import Message, Message_PrinterOStream
    from OCP.STEPControl import STEPControl_AsIs, STEPControl_Writer

    Message.DefaultMessenger_s().RemovePrinters(Message_PrinterOStream.get_type_descriptor_s())
    writer = STEPControl_Writer()
    writer.Transfer(BRepPrimAPI_MakeBox(400.0, 200.0, 300.0).Shape(), STEPControl_AsIs)
    writer.Write(str(tmp_path / "block.step"))
    mesh = read_mesh((tmp_path / "block.step").read_bytes(), "block.step", unit=1.0)
    assert mesh.watertight
    box = BoxShape((0.2, 0.1, 0.15), (0.4, 0.2, 0.3))
    np.testing.assert_allclose(mesh.distance(CLOUD), box.distance(CLOUD), atol=1e-9)
    with pytest.raises(DataError, match=r"broken\.stp: not a usable STEP file"):
        read_mesh(b"garbage", "broken.stp", unit=1.0)


@pytest.mark.parametrize("suffix", ["stl", "obj", "ply", "glb"])
@pytest.mark.parametrize(
    "data", [b"", b"garbage", b"solid \xff\xfe", b"glTF" + b"\x00" * 40, b"ply\nformat ascii 1.0\n"]
)
def test_damaged_file_is_named(suffix, data):
    with pytest.raises(DataError, match=rf"part\.{suffix}"):
        read_mesh(data, f"part.{suffix}", unit=0.001)


def test_unknown_format_says_the_known_ones():
    with pytest.raises(DataError, match=r"'dwg'.*stl, obj, ply, glb"):
        read_mesh(b"", "frame.dwg", unit=0.001)


def test_open_mesh_warns_and_goes_on():
    holed = trimesh.Trimesh(BLOCK.vertices, BLOCK.faces[1:], process=False)
    with pytest.warns(MeshWarning, match="not watertight"):
        mesh = read_mesh(exported(holed, "stl"), "holed.stl", unit=0.001)
    assert mesh.distance(np.array([[0.0, 0.0, 0.4]]))[0] == pytest.approx(0.25)


def test_too_large_files_are_refused_with_the_limit(monkeypatch):
    monkeypatch.setattr(mesh_module, "MOST_BYTES", 100)
    with pytest.raises(DataError, match="at most 0 MB"):
        read_mesh(exported(BLOCK, "stl"), "block.stl", unit=0.001)
    claims = b"\0" * 80 + (50_000_000).to_bytes(4, "little")
    with pytest.raises(DataError, match="50,000,000 faces are too many; at most 2,000,000"):
        read_mesh(claims, "claims.stl", unit=0.001)


def test_bad_triangles_are_refused():
    corners = np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0.0]])
    with pytest.raises(DataError, match="names vertex 7, there are 3"):
        Mesh(corners, np.array([[0, 1, 7]]))
    with pytest.raises(DataError, match="no face with an area"):
        Mesh(corners, np.array([[0, 1, 1]]))
    with pytest.raises(DataError, match="not a finite number"):
        Mesh(corners * np.nan, np.array([[0, 1, 2]]))
    with pytest.raises(DataError, match="three corners"):
        Mesh(corners[:, :2], np.array([[0, 1, 2]]))
    with pytest.raises(DataError, match="is the unit of the file right"):
        Mesh(corners * 1e6, np.array([[0, 1, 2]]))


def test_grid_fills_only_where_it_is_asked_and_is_read_back(tmp_path):
    sphere = SphereShape((0, 0, 0), 0.3)
    asked = []

    def exact(points):
        asked.append(len(points))
        return sphere.distance(points)

    grid = DistanceGrid(exact, sphere.bounds, 0.01, key="ball", folder=tmp_path)
    near = np.array([[0.31, 0.0, 0.0]])
    first = grid.distance(near)
    assert grid.blocks == 1
    assert asked == [grid_module.NODES**3]
    again = DistanceGrid(exact, sphere.bounds, 0.01, key="ball", folder=tmp_path)
    assert again.blocks == 1
    assert again.distance(near) == first
    assert len(asked) == 1


def test_damaged_kept_grid_is_ignored(tmp_path):
    sphere = SphereShape((0, 0, 0), 0.3)
    DistanceGrid(sphere.distance, sphere.bounds, 0.01, key="ball", folder=tmp_path).distance(np.zeros((1, 3)))
    (kept,) = tmp_path.iterdir()
    kept.write_bytes(b"damaged")
    grid = DistanceGrid(sphere.distance, sphere.bounds, 0.01, key="ball", folder=tmp_path)
    assert grid.blocks == 0
    assert grid.distance(np.zeros((1, 3)))[0] == pytest.approx(-0.3, abs=grid.error_bound)


def test_folder_that_cannot_be_written_costs_nothing_but_time(tmp_path):
    (tmp_path / "file").write_text("in the way")
    sphere = SphereShape((0, 0, 0), 0.3)
    grid = DistanceGrid(sphere.distance, sphere.bounds, 0.01, key="ball", folder=tmp_path / "file")
    assert grid.distance(np.zeros((1, 3)))[0] == pytest.approx(-0.3, abs=grid.error_bound)


def test_grid_refuses_a_spacing_that_cannot_be_held():
    sphere = SphereShape((0, 0, 0), 5.0)
    with pytest.raises(ArgumentError, match="choose a wider spacing"):
        DistanceGrid(sphere.distance, sphere.bounds, 0.001)
    with pytest.raises(ArgumentError, match="above 0"):
        DistanceGrid(sphere.distance, sphere.bounds, 0.0)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: SphereShape((0, 0, 0), 0.0), "radius must be above 0, got 0 mm"),
        (lambda: BoxShape((0, 0, 0), (1, -0.2, 1)), "edge of the box must be above 0, got -200 mm"),
        (lambda: BoxShape((0, 0, 0), (1, 1, 1), along=(0, 2, 0)), "must not be parallel"),
    ],
)
def test_impossible_shapes_are_refused(make, words):
    with pytest.raises(ArgumentError, match=re.escape(words)):
        make()


def test_no_module_imports_the_parts_of_igl_under_another_licence():
    root = Path(hosewright.__file__).parent
    named = [
        path.name for path in root.rglob("*.py") if re.search(r"igl[.\s\w]*\b(copyleft|triangle)\b", path.read_text())
    ]
    assert named == []
