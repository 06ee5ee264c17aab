"""Whatever a file holds, it is read or refused in words."""

import contextlib
import pickle
import warnings

import numpy as np
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from hosewright.errors import DataError, HosewrightError
from hosewright.geometry import BoxShape, Mesh, MeshShape, read_mesh
from hosewright.machine import Body, Machine, Obstacle, Turn, cycle, from_urdf, measured

BLOCK = trimesh.creation.box(extents=(400, 200, 300))
FILES = {
    suffix: data if isinstance(data := BLOCK.export(file_type=suffix), bytes) else data.encode()
    for suffix in ("stl", "obj", "ply", "glb")
}
ROBOT = """<robot name="r"><link name="a"><visual><origin xyz="1 0 0" rpy="0 1 0"/><geometry>
<cylinder radius="0.1" length="0.6"/></geometry></visual></link><link name="b"/><joint name="j" type="revolute">
<parent link="a"/><child link="b"/><axis xyz="0 1 0"/><limit lower="0" upper="1"/></joint></robot>"""
TABLE = "time_s,mast_deg,path\n0,1,0\n1,2.5,0\n0,-3,1\n"


@st.composite
def damaged(draw, whole: bytes) -> bytes:
    """Some bytes of a good file changed, cut out or put in."""
    data = bytearray(whole)
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.integers(0, max(len(data) - 1, 0)))
        length = draw(st.integers(0, 8))
        data[at : at + length] = draw(st.binary(max_size=8))
    return bytes(data)


@given(data=st.data(), suffix=st.sampled_from(sorted(FILES)))
@settings(max_examples=150, deadline=None)
def test_damaged_mesh_files(data, suffix):
    with warnings.catch_warnings(), contextlib.suppress(DataError):
        warnings.simplefilter("ignore")
        mesh = read_mesh(data.draw(damaged(FILES[suffix])), f"part.{suffix}", unit=0.001)
        assert np.isfinite(mesh.distance(np.zeros((1, 3)))).all()


@given(data=damaged(ROBOT.encode()))
@settings(max_examples=150, deadline=None)
def test_damaged_robot_descriptions(data):
    with contextlib.suppress(HosewrightError):
        structure = from_urdf(data.decode(errors="replace"), lambda filename: None, "r.urdf")
        Machine(structure.bodies, obstacles=structure.obstacles, drawn_at=structure.drawn_at)


@given(data=st.one_of(damaged(TABLE.encode()).map(lambda b: b.decode(errors="replace")), st.text()))
@settings(max_examples=150, deadline=None)
def test_damaged_tables_of_poses(data):
    with contextlib.suppress(HosewrightError):
        poses = measured(data, "yard.csv")
        assert np.isfinite(poses.values).all()
        assert ((poses.at >= 0) & (poses.at <= 1)).all()


def test_machine_goes_to_another_process_and_back():
    """Work is spread over processes: what a machine keeps for speed must not stand in the way."""
    mesh = Mesh(np.asarray(BLOCK.vertices) / 1000, np.asarray(BLOCK.faces), "block")
    machine = Machine(
        bodies=(Body("mast", joint=Turn((0, 0, 0), (0, 1, 0))),),
        obstacles=(Obstacle("mesh", "mast", MeshShape(mesh)), Obstacle("box", "mast", BoxShape((0, 0, 0), (1, 1, 1)))),
    )
    poses = cycle([{"mast": 0.0}, {"mast": 1.0}], 3)
    points = np.full((4, 2, 3), 0.7)
    before = machine.place(poses).distance("mesh", points)
    copied = pickle.loads(pickle.dumps(machine))
    np.testing.assert_array_equal(copied.place(poses).distance("mesh", points), before)
    np.testing.assert_array_equal(
        copied.place(poses).distance("box", points), machine.place(poses).distance("box", points)
    )
