"""URDF: shapes, and what is refused."""

import re

import numpy as np
import pytest
import trimesh

from hosewright.errors import DataError
from hosewright.geometry import BoxShape, Mesh
from hosewright.machine import Machine, from_urdf


def no_mesh(filename):
    raise AssertionError(filename)


def robot(body: str) -> str:
    return f"<robot name='r'>{body}</robot>"


LINKS = "<link name='a'/><link name='b'/>"
ENDS = "<parent link='a'/><child link='b'/>"
LIMIT = "<limit lower='-1' upper='1'/>"


def test_shapes_lie_where_their_origins_say():
    text = robot(
        """<link name="a">
        <collision><origin xyz="1 0 0" rpy="0 1.5707963267948966 0"/>
        <geometry><cylinder radius="0.1" length="0.6"/></geometry></collision>
        <collision><geometry><sphere radius="0.2"/></geometry></collision>
        <visual><geometry><box size="9 9 9"/></geometry></visual></link>
        <link name="b"><visual><geometry>
        <mesh filename="package://p/block.stl" scale="0.001 0.001 0.002"/></geometry></visual></link>
        <joint name="j" type="revolute"><parent link="a"/><child link="b"/><origin xyz="0 0 2"/><axis xyz="0 1 0"/>
        <limit lower="0.3" upper="1"/></joint>"""
    )
    asked = []

    def load(filename):
        asked.append(filename)
        block = trimesh.creation.box(extents=(400, 200, 300))
        return Mesh(np.asarray(block.vertices), np.asarray(block.faces), filename)

    structure = from_urdf(text, load, "r.urdf", {"j": 0.3})
    assert asked == ["package://p/block.stl"]
    machine = Machine(structure.bodies, obstacles=structure.obstacles, drawn_at=structure.drawn_at)
    assert [obstacle.name for obstacle in machine.obstacles] == ["a 1", "a 2", "b"]
    bar, ball, block = (obstacle.shape for obstacle in machine.obstacles)
    np.testing.assert_allclose(bar.distance(np.array([[1.4, 0, 0], [1, 0, 0.3]])), [0.1, 0.2], atol=1e-12)
    np.testing.assert_allclose(ball.distance(np.array([[0.5, 0, 0]])), [0.3])
    cloud = np.random.default_rng(1).uniform((-1, -1, 1), (1, 1, 3), (50, 3))
    tilted = BoxShape((0, 0, 2), (0.4, 0.2, 0.6), along=(np.cos(0.3), 0, -np.sin(0.3)), up=(0, 1, 0))
    np.testing.assert_allclose(block.distance(cloud), tilted.distance(cloud), atol=1e-9)


def test_drawn_pose_is_in_range_without_being_asked():
    text = robot(f"{LINKS}<joint name='j' type='prismatic'>{ENDS}<limit lower='0.2' upper='0.5'/></joint>")
    structure = from_urdf(text, no_mesh, "r.urdf")
    assert structure.drawn_at == {"b": 0.2}
    np.testing.assert_allclose(structure.links["b"].origin, [[0.2, 0, 0]])


def test_root_named_chassis_is_the_chassis():
    text = robot("<link name='chassis'><visual><geometry><sphere radius='1'/></geometry></visual></link>")
    structure = from_urdf(text, no_mesh, "r.urdf")
    assert structure.bodies == ()
    assert structure.obstacles[0].on == "chassis"
    Machine(structure.bodies, obstacles=structure.obstacles)


def joint(inside: str, kind: str = "revolute", links: str = LINKS) -> str:
    return robot(f"{links}<joint name='j' type='{kind}'>{inside}</joint>")


def visual(geometry: str) -> str:
    return robot(f"<link name='a'><visual>{geometry}</visual></link>")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("<robot", "r.urdf:1: not well-formed XML"),
        ("", "not well-formed XML"),
        ("<sdf/>", "starts with <robot>, this one with <sdf>"),
        ("<!DOCTYPE x [<!ENTITY a 'b'>]><robot>&a;</robot>", "r.urdf: a document type or entities are not allowed"),
        (robot(""), "no <link> found"),
        (robot("<link name='a'/><link name='a'/>"), "each <link> needs a name of its own, got 'a' twice"),
        (robot(LINKS), "exactly one link must hang on no joint, found 'a', 'b'"),
        (joint(ENDS + LIMIT, "planar"), "joint 'j' is of type 'planar'; known: revolute, continuous"),
        (joint(ENDS + LIMIT + "<mimic joint='k'/>"), "joint 'j' mimics another joint"),
        (joint(ENDS), "joint 'j' is revolute and needs a <limit"),
        (joint(ENDS + "<limit lower='2' upper='1'/>"), "lower 2 is above upper 1"),
        (joint(ENDS + "<limit lower='x' upper='1'/>"), "joint 'j' lower: 'x' is not a number"),
        (joint(ENDS + LIMIT + "<axis xyz='0 0 0'/>"), "its axis is 0 0 0"),
        (joint(ENDS + LIMIT + "<axis xyz='0 1'/>"), "xyz needs three numbers, got '0 1'"),
        (
            joint("<parent link='a'/><child link='bb'/>" + LIMIT),
            "names link 'bb', which is not there. Did you mean 'b'",
        ),
        (joint("<parent link='a'/>" + LIMIT), "names link ''"),
        (
            robot(LINKS + f"<joint name='j' type='fixed'>{ENDS}</joint><joint name='k' type='fixed'>{ENDS}</joint>"),
            "link 'b' hangs on two joints, 'j' and 'k'",
        ),
        (
            robot(
                LINKS + "<link name='c'/><joint name='j' type='fixed'><parent link='c'/><child link='b'/></joint>"
                "<joint name='k' type='fixed'><parent link='b'/><child link='c'/></joint>"
            ),
            "links b, c hang on each other",
        ),
        (
            joint("<parent link='a'/><child link='chassis'/>", "fixed", "<link name='a'/><link name='chassis'/>"),
            "root link",
        ),
        (visual(""), "visual 1 of link 'a' has no geometry"),
        (visual("<geometry><cone/></geometry>"), "is a <cone>; known: box, cylinder, sphere, mesh"),
        (visual("<geometry><box/></geometry>"), "size needs three numbers, got ''"),
        (visual("<geometry><sphere radius='-1'/></geometry>"), "visual 1 of link 'a': radius must be above 0"),
    ],
)
def test_what_cannot_be_read_is_refused_by_name(text, words):
    with pytest.raises(DataError, match=re.escape(words)):
        from_urdf(text, no_mesh, "r.urdf")


def test_unknown_drawn_joint_and_too_large_text():
    with pytest.raises(DataError, match="no moving joint 'k'"):
        from_urdf(joint(ENDS + LIMIT), no_mesh, "r.urdf", {"k": 0.0})
    with pytest.raises(DataError, match="at most 20 MB"):
        from_urdf(" " * 20_000_001, no_mesh, "r.urdf")


def test_entities_are_never_expanded():
    laughs = "".join(f"<!ENTITY l{n} '{f'&l{n - 1};' * 10}'>" for n in range(1, 12))
    with pytest.raises(DataError, match="not allowed"):
        from_urdf(f"<!DOCTYPE x [<!ENTITY l0 'ha'>{laughs}]><robot>&l11;</robot>", no_mesh, "r.urdf")
