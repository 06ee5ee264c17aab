"""What the machine says when it does not fit together or cannot take a pose."""

import re
from dataclasses import replace

import numpy as np
import pytest

from hosewright.errors import MachineError
from hosewright.geometry import BoxShape
from hosewright.machine import (
    Body,
    Cylinder,
    Eye,
    Machine,
    Mount,
    Obstacle,
    Operator,
    Pin,
    Port,
    Poses,
    Slide,
    Turn,
    cycle,
    joined,
    lattice,
)
from linkages import ABOUT, four_bar, lifted_mast

MAST = Body("mast", joint=Turn((0, 0, 0.9), (0, 1, 0), -0.2, 1.0))


def problems(**parts):
    with pytest.raises(MachineError) as caught:
        Machine(**{"bodies": (MAST,), **parts})
    return {problem.path: problem.text for problem in caught.value.problems}


def port(**changes):
    return replace(Port("p", "mast", (0, 0, 1), (0, 1, 0)), **changes)


def test_unknown_bodies_are_all_named_with_the_nearest():
    found = problems(
        ports=(port(), port(name="q", on="masd")),
        mounts=(Mount("m", "chasis", (0, 0, 0), (1, 0, 0)),),
        operators=(Operator("o", "lift.rot", (0, 0, 0)),),
        cylinders=(Cylinder("lift", Eye("chassis", (0, 0, 0)), Eye("mast", (0.5, 0, 0)), 0.4, 0.7),),
    )
    assert "Did you mean 'mast'" in found["port", 1, "on"]
    assert "Did you mean 'chassis'" in found["mount", 0, "on"]
    assert "Did you mean 'lift.rod'" in found["operator", 0, "on"]
    assert len(found) == 3


def test_names_are_given_once():
    found = problems(bodies=(MAST, MAST, Body("chassis"), Body("")), ports=(port(), port()))
    assert set(found) == {("body", 1, "name"), ("body", 2, "name"), ("body", 3, "name"), ("port", 1, "name")}


def test_bodies_that_hang_on_each_other():
    (text,) = problems(bodies=(Body("a", "c"), Body("b", "a"), Body("c", "b"))).values()
    assert all(f"'{name}'" in text for name in "abc")
    assert "a pin can close a loop" in text


@pytest.mark.parametrize(
    ("joint", "words"),
    [
        (Turn((0, 0, 0), (0, 1, 0), 1.0, 0.5), "from 57.3 degrees to 28.65 degrees"),
        (Slide((1, 0, 0), 0.1, 0.4), "drawn at 0 mm, outside its range from 100 mm to 400 mm"),
        (Slide((1, 0, 0), float("nan"), 0.4), "the first must not be above the second"),
    ],
)
def test_joint_ranges(joint, words):
    (text,) = problems(bodies=(Body("mast", joint=joint),)).values()
    assert words in text


def test_directions_and_points():
    found = problems(
        bodies=(Body("mast", joint=Turn((0, float("inf"), 0), (0, 0, 0))),),
        ports=(port(up=(0, 2, 0)), port(name="q", facing=(0, 0, 0))),
        pins=(),
    )
    assert found["body", 0, "turn", "at"] == "needs three numbers, got 0, inf, 0"
    assert "cannot be 0, 0, 0" in found["body", 0, "turn", "about"]
    assert found["port", 0, "up"] == "0, 2, 0 is parallel to facing 0, 1, 0; it must stand across it"
    assert "cannot be 0, 0, 0" in found["port", 1, "facing"]


def test_drawn_at_names_joints():
    found = problems(drawn_at={"mast": float("nan"), "most": 0.0})
    assert "Did you mean 'mast'" in found["job", "drawn_at", "most"]
    assert "needs a number, got nan" in found["job", "drawn_at", "mast"]


def cylinder(**changes):
    base = Cylinder("lift", Eye("chassis", (0, 0, 0.5)), Eye("mast", (0.5, 0, 0.5)), 0.4, 0.7)
    return replace(base, **changes)


@pytest.mark.parametrize(
    ("part", "path", "words"),
    [
        (cylinder(closed=0.55), ("cylinder", 0), "500.0 mm apart, 50.0 mm less than it has closed (550 mm closed"),
        (cylinder(closed=0.3, open=0.45), ("cylinder", 0), "500.0 mm apart, 50.0 mm more than it reaches open"),
        (cylinder(open=0.4), ("cylinder", 0), "400 mm closed and 400 mm open"),
        (
            cylinder(base=Eye("chassis", (0, 0, 0.5), (1, 0, 0))),
            ("cylinder", 0, "base", "pin"),
            "runs along the cylinder",
        ),
        (cylinder(rod=Eye("chassis", (0.5, 0, 0.5))), ("cylinder", 0), "do not move against each other"),
        (cylinder(bore=-0.08), ("cylinder", 0, "bore"), "must be above 0, got -80 mm"),
        (cylinder(bore=0.05, rod_diameter=0.06), ("cylinder", 0, "rod_diameter"), "below the bore, 50 mm, got 60 mm"),
    ],
)
def test_cylinders(part, path, words):
    assert words in problems(cylinders=(part,))[path]


def test_port_inside_an_obstacle_says_how_deep():
    box = Obstacle("valve block", "mast", BoxShape((0, 0, 1), (0.2, 0.1, 0.3)))
    found = problems(obstacles=(box,), ports=(port(), port(name="on the face", at=(0, 0.05, 1))))
    assert found == {
        ("port", 0, "at"): "the seat of 'p' lies 50.0 mm inside obstacle 'valve block'; "
        "at most 5 mm are taken for a counterbore"
    }


def test_pins_join_bodies_that_move_against_each_other():
    found = problems(pins=(Pin("dead", ("mast", "mast"), (0, 0, 0)),))
    assert "do not move against each other" in found["pin", 0, "bodies"]
    found = problems(
        cylinders=(cylinder(),),
        pins=(Pin("eye", ("lift.rod", "mast"), (0, 0, 0)),),
        bodies=(MAST, Body("arm", "lift.rod")),
    )
    assert "hangs on 'lift.rod', which only follows" in found["pin", 0, "bodies"]


def test_poses_of_an_unknown_joint():
    with pytest.raises(MachineError, match=r"no such joint or cylinder\. Did you mean 'mast'"):
        Machine(bodies=(MAST,)).place(cycle([{"masts": 0.0}], 1))


def test_pose_out_of_range_names_joint_pose_and_figures():
    with pytest.raises(MachineError) as caught:
        Machine(bodies=(MAST,)).place(cycle([{"mast": 0.0}, {"mast": 1.2}], 4))
    assert str(caught.value) == (
        "pose 4 (path 0, 100 % along: mast 68.75 degrees): joint 'mast' would be at 68.75 degrees, "
        "outside its range from -11.46 degrees to 57.3 degrees"
    )


def test_cylinder_that_cannot_reach_names_pose_and_figures():
    with pytest.raises(
        MachineError, match=r"pose 10 .*'lift' are \d+\.\d mm apart, \d+\.\d mm more than it reaches open"
    ):
        lifted_mast(open_=0.7).place(cycle([{"mast": 0.0}, {"mast": 1.2}], 10))
    with pytest.raises(MachineError, match="more than it reaches open"):
        lifted_mast(open_=0.7).place(cycle([{"lift": 0.3}, {"lift": 0.45}], 10))


def test_linkage_that_cannot_close_names_pose_and_gap():
    # a rocker of this four-bar swings over less than 50 degrees
    with pytest.raises(MachineError) as caught:
        four_bar(0.15, 0.45, 0.35, 0.5, 1.0).place(cycle([{"rocker": 0.0}, {"rocker": 2.0}], 20))
    pose, gap = re.search(r"pose (\d+) .*pin 'tip' stay ([\d.]+) mm apart", str(caught.value)).groups()
    assert 0 < int(pose) < 20
    assert float(gap) > 0.1


def test_gap_of_a_linkage_out_of_reach_is_the_true_gap():
    # pulled straight: crank and rocker point away from each other, and the coupler of 300 mm misses the rest
    machine = four_bar(0.15, 0.3, 0.2, 0.4, 1.2)
    start = machine.place(cycle([{"crank": 0.0}], 1))
    assert start.values["rocker"][0] == 0.0
    away = (
        np.pi - 1.2
    )  # the crank points along -x then: its tip is 550 mm from the rocker's pivot, 500 mm can be bridged
    with pytest.raises(MachineError) as caught:
        machine.place(cycle([{"crank": away}], 1))
    assert "stay 50.00 mm apart" in str(caught.value)


def test_parallelogram_is_not_led_through_its_flat_pose():
    machine = four_bar(0.2, 0.5, 0.2, 0.5, 1.0)
    placed = machine.place(cycle([{"crank": 0.0}, {"crank": -0.95}], 10))
    np.testing.assert_allclose(placed.values["rocker"], placed.values["crank"], atol=1e-9)
    with pytest.raises(MachineError, match=r"pose 6 .*passes a dead centre, where it could fold over"):
        machine.place(cycle([{"crank": 0.0}, {"crank": -2.0}], 11))


def test_twin_linkages_do_not_hide_each_others_dead_centre():
    one = four_bar(0.2, 0.5, 0.2, 0.5, 1.0)
    twin = (
        Body("coupler 2", "crank", one.bodies[1].joint),
        Body("rocker 2", joint=one.bodies[2].joint),
    )
    pin = Pin("tip 2", ("coupler 2", "rocker 2"), one.pins[0].at, ABOUT)
    machine = Machine(bodies=(*one.bodies, *twin), pins=(*one.pins, pin))
    placed = machine.place(cycle([{"crank": 0.0}, {"crank": -0.9}], 4))
    np.testing.assert_allclose(placed.values["rocker 2"], placed.values["rocker"], atol=1e-12)
    with pytest.raises(MachineError, match="passes a dead centre"):
        machine.place(cycle([{"crank": 0.0}, {"crank": -2.0}], 11))


def test_linkage_drawn_in_its_dead_centre_is_refused():
    with pytest.raises(MachineError, match="drawn in a dead centre"):
        four_bar(0.2, 0.5, 0.2, 0.5, 0.0).place(cycle([{"crank": 0.0}, {"crank": 1.0}], 10))


def test_two_freedoms_need_two_joints_in_the_poses():
    five_bar = four_bar(0.15, 0.45, 0.35, 0.5, 1.0)
    slide = Body("base", joint=Slide((1, 0, 0)))
    bodies = (*five_bar.bodies[:2], slide, replace(five_bar.bodies[2], on="base"))
    machine = Machine(bodies=bodies, pins=five_bar.pins)
    with pytest.raises(MachineError, match="leave 1 of the joints coupler, base, rocker undetermined"):
        machine.place(cycle([{"crank": 0.0}], 1))
    placed = machine.place(cycle([{"crank": 0.0, "base": 0.0}, {"crank": 0.3, "base": 0.02}], 4))
    assert placed.values["rocker"][-1] != 0.0


def test_linkage_that_nobody_moves_stays_as_drawn():
    four = four_bar(0.15, 0.45, 0.35, 0.5, 1.0)
    machine = Machine(bodies=(*four.bodies, Body("door", joint=Turn((1, 0, 0), (0, 0, 1)))), pins=four.pins)
    placed = machine.place(cycle([{"door": 0.0}, {"door": 1.0}], 3))
    assert (placed.values["rocker"] == 0.0).all()


def test_poses_that_contradict_a_pin():
    poses = Poses(("crank", "rocker", "coupler"), np.array([[0.2, 0.0, 0.0]]), np.zeros(1, dtype=np.int64), np.zeros(1))
    with pytest.raises(MachineError, match=r"pin 'tip' stay \d+\.\d\d mm apart"):
        four_bar(0.15, 0.45, 0.35, 0.5, 1.0).place(poses)


def test_path_round_a_gap_in_the_reach_is_followed():
    """A straight way from the drawn pose leads through poses that cannot close; the path leads round them."""
    four = four_bar(0.15, 0.3, 0.2, 0.4, 1.2)
    slide = Body("base", joint=Slide((1, 0, 0)))
    machine = Machine(bodies=(*four.bodies[:2], slide, replace(four.bodies[2], on="base")), pins=four.pins)
    way = [
        {"crank": 0.0, "base": 0.0},
        {"crank": 0.0, "base": -0.1},
        {"crank": 2 * np.pi - 2.4, "base": -0.1},
        {"crank": 2 * np.pi - 2.4, "base": 0.0},
    ]
    with pytest.raises(MachineError):
        machine.place(cycle([way[0], way[-1]], 20))
    placed = machine.place(cycle(way, 20))
    tip = placed.bodies["rocker"].points(np.array([four.pins[0].at]))
    np.testing.assert_allclose(placed.bodies["coupler"].points(np.array([four.pins[0].at])), tip, atol=1e-9)


def test_lookup_names_the_nearest():
    placed = lifted_mast().place(cycle([{"mast": 0.0}], 1))
    for ask, words in (
        (lambda: placed.port("rod sid"), "no port 'rod sid'. Did you mean 'rod side'"),
        (lambda: placed.body("lift.rodd"), "no body 'lift.rodd'. Did you mean 'lift.rod'"),
        (lambda: placed.mount("m1"), "no mount 'm1'"),
        (lambda: placed.operator("o"), "no operator 'o'"),
        (lambda: placed.distance("box", np.zeros((1, 1, 3))), "no obstacle 'box'"),
    ):
        with pytest.raises(MachineError, match=re.escape(words)):
            ask()


def test_default_up_is_z_or_x_where_the_port_faces_along_z():
    machine = Machine(
        ports=(Port("side", "chassis", (0, 0, 0), (0, 1, 0.2)), Port("top", "chassis", (0, 0, 0), (0, 0, -2))),
        pins=(),
        bodies=(Body("x", joint=Turn((0, 0, 0), ABOUT)),),
    )
    placed = machine.place(joined([lattice({"x": (0, 1)}, 3), cycle([{"x": 0.5}], 1)]))
    assert placed.port("side").up.shape == (4, 3)
    assert placed.port("side").up[0] @ [0, 0, 1] > 0.9
    np.testing.assert_allclose(placed.port("top").up[0], [1, 0, 0])
