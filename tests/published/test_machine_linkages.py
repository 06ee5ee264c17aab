"""Linkages and chains against textbook solutions and an independent kinematics library."""

import kinpy
import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from hosewright.machine import Body, Machine, Pin, Poses, Turn, cycle, from_urdf, lattice
from linkages import four_bar, four_bar_angles, in_plane, lifted_mast, slider_crank, triple


@pytest.mark.parametrize(
    ("crossed", "coupler_at", "rocker_at"), [(False, 20.298, 57.325), (True, -60.98, -98.01)], ids=["open", "crossed"]
)
def test_four_bar_of_a_textbook(crossed, coupler_at, rocker_at):
    """Crank 40, coupler 120, rocker 80, ground 100 mm, crank at 40 degrees.

    Norton, Design of Machinery, example of the vector-loop solution in the chapter on position analysis. Typed from
    memory, to the digits printed there.
    """
    drawn = np.radians(75.0)
    links = (0.04, 0.12, 0.08, 0.1)
    coupler, rocker = four_bar_angles(*links, drawn, crossed)
    placed = four_bar(*links, drawn, crossed).place(cycle([{"crank": 0.0}, {"crank": np.radians(-35.0)}], 7))
    # the coupler's joint turns against the crank, the rocker's against the ground
    coupler_found = coupler + placed.values["crank"][-1] + placed.values["coupler"][-1]
    rocker_found = rocker + placed.values["rocker"][-1]
    assert np.degrees(coupler_found) == pytest.approx(coupler_at, abs=0.01)
    assert (np.degrees(rocker_found) - rocker_at + 180) % 360 - 180 == pytest.approx(0, abs=0.01)


@pytest.mark.parametrize("crossed", [False, True])
def test_four_bar_keeps_freudensteins_equation_through_whole_turns(crossed):
    """K1 cos psi - K2 cos phi + K3 = cos(phi - psi).

    Freudenstein, Approximate Synthesis of Four-Bar Linkages, Trans. ASME 77 (1955)
    """
    crank, coupler, rocker, ground, drawn = 0.15, 0.45, 0.35, 0.5, 1.0
    _, rocker_drawn = four_bar_angles(crank, coupler, rocker, ground, drawn, crossed)
    placed = four_bar(crank, coupler, rocker, ground, drawn, crossed).place(
        cycle([{"crank": -1.0}, {"crank": 4 * np.pi}], 200)
    )
    phi, psi = drawn + placed.values["crank"], rocker_drawn + placed.values["rocker"]
    k1, k2 = ground / crank, ground / rocker
    k3 = (crank**2 - coupler**2 + rocker**2 + ground**2) / (2 * crank * rocker)
    np.testing.assert_allclose(k1 * np.cos(psi) - k2 * np.cos(phi) + k3, np.cos(phi - psi), atol=1e-10)
    exact = np.array([four_bar_angles(crank, coupler, rocker, ground, a, crossed)[1] for a in phi])
    np.testing.assert_allclose(np.exp(1j * psi), np.exp(1j * exact), atol=1e-10)  # the branch never changes
    np.testing.assert_allclose(placed.port("on coupler").origin, placed.port("on rocker").origin, atol=1e-10)


@pytest.mark.parametrize("crossed", [False, True])
def test_four_bar_close_to_its_change_point_keeps_its_branch(crossed):
    """The two ways of closing come within half a degree of each other where all bars lie nearly in line."""
    links = (0.2, 0.5, 0.20001, 0.5)
    placed = four_bar(*links, 1.0, crossed).place(cycle([{"crank": 0.0}, {"crank": -2 * np.pi}], 5))
    found = four_bar_angles(*links, 1.0, crossed)[1] + placed.values["rocker"]
    exact = np.array([four_bar_angles(*links, 1.0 + turn, crossed)[1] for turn in placed.values["crank"]])
    np.testing.assert_allclose(np.exp(1j * found), np.exp(1j * exact), atol=1e-8)


def bennett(first):
    """Joint axes and points of Bennett's linkage, and its second joint angle, for the first joint angle."""
    (a, alpha), (b, beta) = (0.3, 0.6), (0.3 * np.sin(1.3) / np.sin(0.6), 1.3)
    ratio = np.sin((beta + alpha) / 2) / np.sin((beta - alpha) / 2)
    second = 2 * np.arctan(ratio / np.tan(first / 2))
    matrix, frames = np.eye(4), []
    for angle, length, twist in (
        (first, a, alpha),
        (second, b, beta),
        (2 * np.pi - first, a, alpha),
        (2 * np.pi - second, b, beta),
    ):
        frames.append(matrix)
        step = np.eye(4)
        step[:3, :3] = Rotation.from_euler("z", angle).as_matrix() @ Rotation.from_euler("x", twist).as_matrix()
        step[:3, 3] = length * np.array([np.cos(angle), np.sin(angle), 0])
        matrix = matrix @ step
    np.testing.assert_allclose(matrix, np.eye(4), atol=1e-12)  # the four links close
    return frames, second


def test_bennetts_spatial_linkage():
    """tan(t1/2) tan(t2/2) = sin((beta + alpha)/2) / sin((beta - alpha)/2), with a/sin(alpha) = b/sin(beta).

    Four turning joints askew in space that move although a count of conditions says that they cannot. Bennett, A New
    Mechanism, Engineering 76 (1903); Hunt, Kinematic Geometry of Mechanisms (1978).
    """
    frames, second = bennett(1.2)
    at, about = [triple(f[:3, 3]) for f in frames], [triple(f[:3, 2]) for f in frames]
    machine = Machine(
        bodies=(
            Body("one", joint=Turn(at[0], about[0])),
            Body("two", "one", Turn(at[1], about[1])),
            Body("three", "two", Turn(at[2], about[2])),
        ),
        pins=(Pin("four", ("three", "chassis"), at[3], about[3]),),
    )
    placed = machine.place(cycle([{"one": 0.0}, {"one": 1.5}], 30))
    exact = np.array([bennett(1.2 + turn)[1] for turn in placed.values["one"]]) - second
    np.testing.assert_allclose(placed.values["two"], exact, atol=1e-9)
    np.testing.assert_allclose(placed.values["three"], -placed.values["one"], atol=1e-9)


def test_slider_crank_in_closed_form():
    """x = r cos a + sqrt(l^2 - r^2 sin^2 a), the piston's position in any text on engine dynamics."""
    r, length, drawn = 0.1, 0.35, 0.4
    placed = slider_crank(r, length, drawn).place(lattice({"crank": (-7.0, 7.0)}, 300))

    def piston(angle):
        return r * np.cos(angle) + np.sqrt(length**2 - (r * np.sin(angle)) ** 2)

    np.testing.assert_allclose(
        placed.values["piston"], piston(drawn + placed.values["crank"]) - piston(drawn), atol=1e-11
    )


def test_cylinder_length_by_the_law_of_cosines():
    machine = lifted_mast()
    placed = machine.place(lattice({"mast": (-0.3, 1.2)}, 60))
    base, rod = np.hypot(0.1, 0.4), 0.5
    between = np.arctan2(0.4, 0.1) + placed.values["mast"]
    length = np.sqrt(base**2 + rod**2 - 2 * base * rod * np.cos(between))
    np.testing.assert_allclose(placed.values["lift"] + 0.3, length, atol=1e-12)
    # the barrel turns by the change of the angle that the cylinder makes with the ground
    eye = np.array([in_plane(rod, angle) for angle in placed.values["mast"]]) - [0.1, 0, -0.4]
    turned = np.arctan2(eye[:, 2], eye[:, 0]) - np.arctan2(0.4, 0.4)
    barrel = placed.body("lift.barrel").axes
    np.testing.assert_allclose(
        barrel[:, 0], np.stack([np.cos(turned), 0 * turned, -np.sin(turned)], axis=1), atol=1e-12
    )


URDF = """<robot name="arm">
  <link name="base"/>
  <link name="column"><collision>
    <origin xyz="0 0 0.2" rpy="0.1 0.2 0.3"/><geometry><box size="0.1 0.2 0.4"/></geometry>
  </collision></link>
  <link name="boom"/><link name="ram"/><link name="bucket"/><link name="tool"/>
  <joint name="slew" type="continuous"><parent link="base"/><child link="column"/>
    <origin xyz="0.1 -0.2 0.5" rpy="0.3 -0.4 1.1"/><axis xyz="0 0 1"/></joint>
  <joint name="lift" type="revolute"><parent link="column"/><child link="boom"/>
    <origin xyz="0.2 0 0.9" rpy="-0.5 0.2 0.7"/><axis xyz="0.36 0.48 0.8"/>
    <limit lower="0.2" upper="1.4" effort="1" velocity="1"/></joint>
  <joint name="reach" type="prismatic"><parent link="boom"/><child link="ram"/>
    <origin xyz="0.7 0.1 0" rpy="0 0.9 0"/><axis xyz="0.6 0 0.8"/>
    <limit lower="0" upper="0.5" effort="1" velocity="1"/></joint>
  <joint name="weld" type="fixed"><parent link="ram"/><child link="bucket"/>
    <origin xyz="0 0.1 0.3" rpy="1 1 1"/></joint>
  <joint name="tilt" type="revolute"><parent link="bucket"/><child link="tool"/>
    <origin xyz="0 0 0.1"/><axis xyz="0 1 0"/>
    <limit lower="-1" upper="1" effort="1" velocity="1"/></joint>
</robot>"""


def no_mesh(filename):
    raise AssertionError(filename)


@pytest.mark.parametrize("drawn_at", [{}, {"slew": -0.8, "boom": 1.1, "reach": 0.3}])
def test_urdf_chain_against_an_independent_library(drawn_at):
    """Every link of a chain with all joint types, in random poses, against the kinpy package."""
    structure = from_urdf(URDF, no_mesh, "arm.urdf", drawn_at)
    machine = Machine(bodies=structure.bodies, obstacles=structure.obstacles, drawn_at=structure.drawn_at)
    random = np.random.default_rng(5)
    names = ("column", "boom", "ram", "tool")
    values = np.stack([random.uniform(*span, 20) for span in ((-9, 9), (0.2, 1.4), (0, 0.5), (-1, 1))], axis=1)
    placed = machine.place(Poses(names, values, np.zeros(20, dtype=np.int64), np.linspace(0, 1, 20)))
    chain = kinpy.build_chain_from_urdf(URDF)
    for pose, row in enumerate(values):
        expected = chain.forward_kinematics(dict(zip(("slew", "lift", "reach", "tilt"), row, strict=True)))
        for link in ("column", "boom", "ram", "bucket", "tool"):
            frames = placed.body(link).place(structure.links[link])
            matrix = expected[link].matrix()
            np.testing.assert_allclose(frames.origin[pose], matrix[:3, 3], atol=1e-9)
            np.testing.assert_allclose(frames.axes[pose], matrix[:3, :3], atol=1e-9)
