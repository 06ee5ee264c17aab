"""A machine from an open robot description: its kinematics and its meshes, against other readers of the same files."""

import math
from itertools import pairwise
from xml.etree import ElementTree

import kinpy
import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from hosewright.errors import MachineError
from hosewright.geometry import MeshShape, read_mesh
from hosewright.machine import Machine, Poses, from_urdf, separate

LEGS = ("lf", "rf", "lh", "rh")
JOINTS = {"haa": "hipassembly", "hfe": "upperleg", "kfe": "lowerleg"}
COLLADA = "{http://www.collada.org/2005/11/COLLADASchema}"


@pytest.fixture(scope="module")
def robot(job_path):
    return job_path.parent / "hyq_description"


@pytest.fixture(scope="module")
def text(robot):
    return (robot / "robots" / "hyq_no_sensors.urdf").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def structure(robot, text):
    def load(name):
        file = robot / name.partition("hyq_description/")[2]
        return read_mesh(file.read_bytes(), file.name, 1.0)

    with pytest.warns(UserWarning, match=r"trunk\.dae: the mesh is not watertight"):
        return from_urdf(text, load, "hyq.urdf")


@pytest.fixture(scope="module")
def machine(structure):
    return Machine(structure.bodies, obstacles=structure.obstacles, drawn_at=structure.drawn_at)


def numbers(element, key):
    return [float(word) for word in element.get(key).split()]


def test_every_joint_turns_within_the_limits_of_the_file(machine, text):
    ranges = {body.name: (body.joint.lowest, body.joint.highest) for body in machine.bodies if body.joint}
    stated = {}
    for joint in ElementTree.fromstring(text).findall("joint"):
        if joint.get("type") == "revolute":
            limit = joint.find("limit")
            stated[joint.find("child").get("link")] = (float(limit.get("lower")), float(limit.get("upper")))
    assert len(stated) == 12
    assert ranges == stated
    with pytest.raises(MachineError, match="'lf_lowerleg' would be at 10 degrees, outside its range from -140 degrees"):
        machine.place(separate([{"lf_lowerleg": math.radians(10.0)}], {}))


def test_every_link_stands_where_another_library_puts_it(machine, structure, text):
    """All 19 links in 40 random poses against the kinpy package."""
    moving = [body for body in machine.bodies if body.joint]
    low, high = ([getattr(body.joint, side) for body in moving] for side in ("lowest", "highest"))
    values = np.random.default_rng(2).uniform(low, high, (40, len(moving)))
    poses = Poses(tuple(body.name for body in moving), values, np.zeros(40, dtype=np.int64), np.linspace(0, 1, 40))
    placed = machine.place(poses)
    chain = kinpy.build_chain_from_urdf(text)
    kind = {link: name for name, link in JOINTS.items()}
    names = [f"{body.name[:2]}_{kind[body.name[3:]]}_joint" for body in moving]
    for pose, row in enumerate(values):
        expected = chain.forward_kinematics(dict(zip(names, row, strict=True)))
        assert len(structure.links) == 19
        for link, drawn in structure.links.items():
            frames, matrix = placed.body(link).place(drawn), expected[link].matrix()
            np.testing.assert_allclose(frames.origin[pose], matrix[:3, 3], atol=1e-9)
            np.testing.assert_allclose(frames.axes[pose], matrix[:3, :3], atol=1e-9)


@pytest.mark.parametrize("leg", LEGS)
def test_foot_stands_under_the_hip_by_plane_trigonometry(machine, structure, leg):
    """Hip straight, thigh at 40 degrees from the vertical, knee bent by 80: lengths as the file states them. [m]

    The knee lies 0.35 from the hip's axis of bending, 0.08 below that of rolling; the foot 0.346 from the knee. Front
    knees point backward, hind knees forward.
    """
    front, left = leg[1] == "f", leg[0] == "l"
    sign = 1.0 if front else -1.0
    pose = {"hipassembly": 0.0, "upperleg": sign * 40.0, "lowerleg": sign * -80.0}
    values = {f"{leg}_{link}": math.radians(value) for link, value in pose.items()}
    placed = machine.place(separate([values], {}))
    lean = math.radians(40.0)
    foot = (
        sign * (0.3735 - 0.35 * math.sin(lean) + 0.346 * math.sin(lean)),
        0.207 if left else -0.207,
        -0.08 - 0.35 * math.cos(lean) - 0.346 * math.cos(lean),
    )
    found = placed.body(f"{leg}_foot").place(structure.links[f"{leg}_foot"]).origin[0]
    np.testing.assert_allclose(found, foot, atol=1e-9)


def meshes(structure):
    return {part.name: part.shape.mesh for part in structure.obstacles if isinstance(part.shape, MeshShape)}


def volume(mesh):
    corner = mesh.vertices[mesh.faces]
    return float(np.einsum("ij,ij->", corner[:, 0], np.cross(corner[:, 1], corner[:, 2]))) / 6.0


def test_meshes_are_as_heavy_as_metal_parts(structure, text):
    """Mass of the file over volume of the mesh lies between a hollow body and solid steel. [kg/m^3]"""
    found = meshes(structure)
    assert sorted(found) == sorted(
        ["trunk", *(f"{leg}_{link}" for leg in LEGS for link in ("hipassembly", "upperleg"))]
    )
    for link in ElementTree.fromstring(text).findall("link"):
        if link.get("name") in found:
            mass = float(link.find("inertial/mass").get("value"))
            least = 200.0 if link.get("name") == "trunk" else 2700.0  # a frame with a box, and solid light metal
            assert least < mass / volume(found[link.get("name")]) < 7900.0


def test_centre_of_mass_and_next_joint_lie_within_each_mesh(structure, text):
    found = meshes(structure)
    for link in ElementTree.fromstring(text).findall("link"):
        name = link.get("name")
        if name in found:
            centre = structure.links[name].points(np.array([numbers(link.find("inertial/origin"), "xyz")]))[0, 0]
            assert (found[name].bounds[0] < centre).all()
            assert (centre < found[name].bounds[1]).all()
    for leg in LEGS:
        for link, following in pairwise(JOINTS.values()):
            bounds, joint = found[f"{leg}_{link}"].bounds, structure.links[f"{leg}_{following}"].origin[0]
            assert (bounds[0] < joint).all()
            assert (joint < bounds[1]).all()


@pytest.mark.parametrize("name", ["hipassembly", "upperleg", "lowerleg"])
def test_mesh_has_the_corners_that_the_file_states(robot, name):
    data = (robot / "meshes" / "leg" / f"{name}.dae").read_bytes()
    root = ElementTree.fromstring(data)
    assert root.find(f"{COLLADA}asset/{COLLADA}unit").get("meter") == "1"
    (array,) = (a for a in root.iter(f"{COLLADA}float_array") if "positions" in a.get("id"))
    corners = np.array([float(word) for word in array.text.split()]).reshape(-1, 3)
    mesh = read_mesh(data, f"{name}.dae", 1.0)
    assert mesh.watertight
    np.testing.assert_allclose(mesh.bounds, [corners.min(axis=0), corners.max(axis=0)], atol=1e-6)


def test_mirrored_legs_have_mirrored_meshes(structure):
    found = meshes(structure)
    turned = Rotation.from_euler("z", 180.0, degrees=True).as_matrix()  # right hind is left front turned by half
    for link in ("hipassembly", "upperleg"):
        for one, other, turn in (("lf", "rf", np.diag([1, -1, 1])), ("lf", "rh", turned)):
            corners = found[f"{one}_{link}"].bounds @ turn.T
            there = found[f"{other}_{link}"].bounds
            np.testing.assert_allclose(np.sort(corners, axis=0), there, atol=1e-6)  # 32-bit floats
