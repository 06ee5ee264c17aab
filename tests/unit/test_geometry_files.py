import csv
import io
import json
import logging
import struct

import numpy as np
import pytest
import trimesh

from counter_papers import bundle
from hosewright.documents import geometry_files, step_file
from hosewright.documents.csv_file import table
from hosewright.documents.geometry_files import GLTF_AXES, files
from hosewright.documents.step_file import Pipe, step
from hosewright.errors import DataError
from hosewright.geometry import read_mesh


@pytest.fixture(scope="module")
def made():
    return dict(files(bundle()))


@pytest.fixture(scope="module")
def scene(made):
    return trimesh.load_scene(io.BytesIO(made["machine.glb"]), file_type="glb")


def rows(data):
    return list(csv.DictReader(io.StringIO(data.decode("utf-8"))))


def test_gltf_axes_turn_and_do_not_mirror():
    """glTF 2.0: y is up, z is forward, -x is right; the example's machine has x forward, y left, z up."""
    forward, left, up = np.eye(3)
    assert (GLTF_AXES @ up).tolist() == [0.0, 1.0, 0.0]
    assert (GLTF_AXES @ forward).tolist() == [0.0, 0.0, 1.0]
    assert (GLTF_AXES @ left).tolist() == [1.0, 0.0, 0.0]
    assert np.linalg.det(GLTF_AXES) == pytest.approx(1.0)


def test_glb_is_gltf_2(made):
    magic, version, length = struct.unpack_from("<4sII", made["machine.glb"])
    assert (magic, version, length) == (b"glTF", 2, len(made["machine.glb"]))
    size = struct.unpack_from("<I", made["machine.glb"], 12)[0]
    head = json.loads(made["machine.glb"][20 : 20 + size])
    assert head["asset"]["version"] == "2.0"


def test_hoses_of_the_glb_have_their_length_and_thickness(scene):
    part = 24 / (2 * np.pi) * np.sin(2 * np.pi / 24)  # of a circle, that a polygon of 24 sides fills
    for run in bundle().result.runs:
        mesh = scene.geometry[f"hose {run.run.name}"]
        hose, length = run.run.assembly.hose, run.run.assembly.free_length
        assert mesh.is_watertight
        assert mesh.volume == pytest.approx(part * np.pi / 4 * hose.outside_diameter**2 * length, rel=2e-3)


def test_hoses_of_the_glb_lie_where_they_were_solved(scene):
    run = bundle().result.runs[1]
    mesh = scene.geometry[f"hose {run.run.name}"]
    middle = run.solved.spans[0].fitted.position[24]
    near = np.linalg.norm(mesh.vertices - GLTF_AXES @ middle, axis=1)
    assert near.min() == pytest.approx(run.run.assembly.hose.outside_diameter / 2, rel=1e-4)


def test_obstacles_of_the_glb(scene):
    machine = bundle().result.job.machine
    assert {f"obstacle {one.name}" for one in machine.obstacles} < set(scene.geometry)
    column = scene.geometry["obstacle column"]
    assert column.volume == pytest.approx(0.16 * 0.16 * 0.86, rel=1e-6)
    assert column.bounds == pytest.approx(np.array([[-0.08, 0.17, -0.08], [0.08, 1.03, 0.08]]), abs=1e-6)
    assert all(mesh.is_watertight for mesh in scene.geometry.values())


def test_obstacles_move_with_their_body(scene):
    fitted = bundle().result.runs[0].solved.fitting_pose["boom"]
    boom = scene.geometry["obstacle boom tube"]
    # box centre 1 m in front of the pin at z = 1.1 m; the boom turns about -y
    expected = GLTF_AXES @ np.array([np.cos(fitted), 0.0, 1.1 + np.sin(fitted)])
    assert boom.bounds.mean(axis=0) == pytest.approx(expected, abs=1e-6)


def test_fitting_poses_that_differ_get_files_of_their_own():
    from dataclasses import replace

    one = bundle()
    solved = replace(one.result.runs[0].solved, fitting_pose={"boom": 0.5})
    runs = (replace(one.result.runs[0], solved=solved), *one.result.runs[1:])
    names = [name for name, _ in files(replace(one, result=replace(one.result, runs=runs)))]
    assert {"machine-1.glb", "machine-2.glb"} <= set(names)


def test_same_bytes_again(made):
    assert dict(files(bundle())) == made


def test_centre_lines(made):
    lines = rows(made["centre-lines.csv"])
    run = bundle().result.runs[1]
    mine = [row for row in lines if row["run"] == run.run.name]
    fitted = [row for row in mine if row["pose"] == "fitting"]
    place = np.array([[float(row[f"{axis}_mm"]) for axis in "xyz"] for row in fitted])
    assert place == pytest.approx(1e3 * run.solved.spans[0].fitted.position, abs=6e-4)
    assert float(fitted[-1]["arc_mm"]) == pytest.approx(run.run.assembly.free_length * 1e3, abs=6e-4)
    assert {row["state"] for row in mine} == {"nominal", "shortest", "longest"}
    poses = {row["pose"] for row in mine}
    assert poses >= {"fitting", "1", str(len(bundle().result.poses))}
    assert poses - {"fitting"} <= {row["pose"] for row in rows(made["poses.csv"])}


@pytest.mark.parametrize(("state", "number"), [("nominal", 0), ("shortest", 1), ("longest", 2)])
def test_places_on_the_centre_lines_are_counted_along_the_hose_as_long_as_it_is(made, state, number):
    run = bundle().result.runs[1]
    assert run.solved.states[number].name == state
    mine = [row for row in rows(made["centre-lines.csv"]) if (row["run"], row["pose"]) == (run.run.name, "1")]
    mine = [row for row in mine if row["state"] == state]
    point = np.array([[float(row[f"{axis}_mm"]) for axis in "xyz"] for row in mine])
    chords = np.linalg.norm(np.diff(point, axis=0), axis=1).sum()
    assert float(mine[-1]["arc_mm"]) == pytest.approx(1e3 * run.solved.spans[0].lengths[number], abs=1e-3)
    assert chords == pytest.approx(float(mine[-1]["arc_mm"]), rel=2e-3)


def test_radius_of_the_centre_lines_is_that_of_the_circle_through_neighbours(made):
    """Menger's curvature, 4 area / product of the sides, of three neighbouring points."""
    run = bundle().result.runs[1].run.name
    mine = [row for row in rows(made["centre-lines.csv"]) if (row["run"], row["pose"]) == (run, "fitting")]
    point = np.array([[float(row[f"{axis}_mm"]) for axis in "xyz"] for row in mine])
    radius = np.array([float(row["radius_mm"]) for row in mine])
    a, b, c = point[:-2], point[1:-1], point[2:]
    area = np.linalg.norm(np.cross(b - a, c - a), axis=1) / 2.0
    sides = [np.linalg.norm(edge, axis=1) for edge in (b - a, c - b, c - a)]
    circle = np.prod(sides, axis=0) / (4.0 * area)
    bent = radius[1:-1] < 400.0
    assert bent.sum() > 5
    assert radius[1:-1][bent] == pytest.approx(circle[bent], rel=0.01)


def test_a_worst_pose_is_among_the_centre_lines(made):
    one = bundle()
    poses = {(row["run"], row["pose"]) for row in rows(made["centre-lines.csv"])}
    for run in one.result.runs:
        for place in (finding.place for finding in run.findings if finding.place.path_at is not None):
            k = int(np.argmin(np.abs(one.result.poses.at - place.path_at)))
            assert (run.run.name, str(k + 1)) in poses


def test_poses_in_degrees_and_mm(made):
    first = rows(made["poses.csv"])[0]
    assert first == {"run": "", "pose": "1", "path": "1", "part_of_path": "0", "boom_deg": "-10"}


def test_without_the_extra_there_is_no_step_file_and_the_log_says_why(monkeypatch, caplog):
    monkeypatch.setattr(step_file, "available", lambda: False)
    with caplog.at_level(logging.WARNING):
        names = [name for name, _ in files(bundle())]
    assert names == ["machine.glb", "centre-lines.csv", "poses.csv"]
    assert "hosewright[cad]" in caplog.text
    with pytest.raises(DataError, match=r"x.step: .*hosewright\[cad\]"):
        step([Pipe("one", np.zeros((2, 3)), 0.02)], "x.step")


def test_no_text_of_a_table_is_a_formula():
    assert table(["a"], [["=1+1"], ["-8"], [-8.0], ["@x"], ["plain, text"]]) == (
        b"a\n'=1+1\n'-8\n-8\n'@x\n\"plain, text\"\n"
    )


# ---- STEP ----


def quarter(radius, points=49):
    angle = np.linspace(0.0, np.pi / 2, points)
    return np.column_stack([radius * np.cos(angle), radius * np.sin(angle), np.zeros(points)])


def solids(data, tmp_path):
    """Volume [mm3] and area [mm2] of each solid, as the exchange library reads them."""
    pytest.importorskip("OCP")
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps
    from OCP.STEPControl import STEPControl_Reader
    from OCP.TopAbs import TopAbs_SOLID
    from OCP.TopExp import TopExp_Explorer

    (tmp_path / "made.step").write_bytes(data)
    reader = STEPControl_Reader()
    reader.ReadFile(str(tmp_path / "made.step"))
    reader.TransferRoots()
    explorer, found = TopExp_Explorer(reader.OneShape(), TopAbs_SOLID), []
    while explorer.More():
        volume, surface = GProp_GProps(), GProp_GProps()
        BRepGProp.VolumeProperties_s(explorer.Current(), volume)
        BRepGProp.SurfaceProperties_s(explorer.Current(), surface)
        found.append((volume.Mass(), surface.Mass()))
        explorer.Next()
    return found


def test_step_of_a_quarter_torus(tmp_path):
    """Pappus: volume pi d^2/4 times the arc, surface pi d times the arc and both ends."""
    pytest.importorskip("OCP")
    ((volume, area),) = solids(step([Pipe("quarter", quarter(0.2), 0.023)], "quarter.step"), tmp_path)
    arc = np.pi / 2 * 200.0
    assert volume == pytest.approx(np.pi / 4 * 23.0**2 * arc, rel=1e-5)
    assert area == pytest.approx(np.pi * 23.0 * arc + 2 * np.pi / 4 * 23.0**2, rel=1e-5)


def test_step_of_the_example(made, tmp_path):
    pytest.importorskip("OCP")
    runs = bundle().result.runs
    found = solids(made["hoses.step"], tmp_path)
    assert len(found) == len(runs)
    for run, (volume, area) in zip(runs, found, strict=True):
        diameter, length = run.run.assembly.hose.outside_diameter * 1e3, run.run.assembly.free_length * 1e3
        assert volume == pytest.approx(np.pi / 4 * diameter**2 * length, rel=1e-3)
        assert 4 * volume / (area - np.pi / 2 * diameter**2) == pytest.approx(diameter, rel=1e-3)


def test_step_has_names_and_no_time(made):
    pytest.importorskip("OCP")
    text = made["hoses.step"].decode("utf-8")
    assert text.startswith("ISO-10303-21;")
    assert "'hoses.step','1970-01-01T00:00:00'" in text
    for run in bundle().result.runs:
        assert f"PRODUCT('{run.run.name}'" in text


def test_our_own_reader_takes_the_step_file_in_the_machine_frame(made):
    pytest.importorskip("OCP")
    mesh = read_mesh(made["hoses.step"], "hoses.step", 1.0)
    lines = np.concatenate([geometry_files.fitted_line(run.solved) for run in bundle().result.runs])
    assert mesh.watertight
    assert mesh.bounds[0] == pytest.approx(lines.min(axis=0), abs=0.013)
    assert mesh.bounds[1] == pytest.approx(lines.max(axis=0), abs=0.013)
