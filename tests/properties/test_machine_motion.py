"""What holds for every machine."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

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
    lattice,
    refine,
)
from hosewright.machine.linkage import linkages
from linkages import four_bar, lifted_mast, slider_crank

numbers = st.integers(0, 2**31)


def random_chain(seed: int, count: int = 4) -> Machine:
    random = np.random.default_rng(seed)
    bodies, on = [], "chassis"
    for index in range(count):
        direction = tuple(random.normal(size=3))
        turn = Turn(tuple(random.uniform(-1, 1, 3)), direction)
        bodies.append(Body(f"b{index}", on, Slide(direction) if index % 3 == 2 else turn))
        on = f"b{index}"
    drawn = {body.name: float(random.uniform(-1, 1)) for body in bodies}
    port = Port("p", on, tuple(random.uniform(-1, 1, 3)), tuple(random.normal(size=3)), tuple(random.normal(size=3)))
    mount = Mount("m", on, tuple(random.uniform(-1, 1, 3)), tuple(random.normal(size=3)), 0.02)
    operator = Operator("o", on, tuple(random.uniform(-1, 1, 3)))
    box = Obstacle("box", on, BoxShape((5.0, 5.0, 5.0), (0.3, 0.2, 0.1), along=tuple(random.normal(size=3))))
    return Machine(
        bodies=tuple(bodies), ports=(port,), mounts=(mount,), operators=(operator,), obstacles=(box,), drawn_at=drawn
    )


def random_poses(machine: Machine, seed: int, count: int = 6) -> Poses:
    joints = machine.tree.joints
    values = np.random.default_rng(seed).uniform(-2, 2, (count, len(joints)))
    return Poses(joints, values, np.zeros(count, dtype=np.int64), np.linspace(0, 1, count))


@given(seed=numbers)
@settings(max_examples=20, deadline=None)
def test_drawn_pose_gives_the_drawn_points(seed):
    machine = random_chain(seed)
    placed = machine.place(cycle([machine.drawn_at], 1))
    port, mount = machine.ports[0], machine.mounts[0]
    np.testing.assert_allclose(placed.port("p").origin[0], port.at, atol=1e-12)
    np.testing.assert_allclose(placed.port("p").facing[0] * np.linalg.norm(port.facing), port.facing, atol=1e-12)
    assert placed.port("p").up[0] @ np.asarray(port.up) > 0
    np.testing.assert_allclose(placed.mount("m").origin[0], mount.at + 0.02 * placed.mount("m").up[0], atol=1e-12)
    np.testing.assert_allclose(placed.operator("o").origin[0], machine.operators[0].at, atol=1e-12)


@given(seed=numbers)
@settings(max_examples=20, deadline=None)
def test_chain_equals_rotations_multiplied_one_by_one(seed):
    machine = random_chain(seed)
    poses = random_poses(machine, seed + 1)
    placed = machine.place(poses)
    point = np.asarray(machine.ports[0].at)
    for pose, row in enumerate(poses.values):
        moved = point
        for body, value in reversed(list(zip(machine.bodies, row, strict=True))):
            change = value - machine.drawn_at[body.name]
            if isinstance(body.joint, Slide):
                moved = moved + change * np.asarray(body.joint.along) / np.linalg.norm(body.joint.along)
            else:
                axis = np.asarray(body.joint.about) / np.linalg.norm(body.joint.about)
                at = np.asarray(body.joint.at)
                moved = at + Rotation.from_rotvec(change * axis).apply(moved - at)
        np.testing.assert_allclose(placed.port("p").origin[pose], moved, atol=1e-11)


@given(seed=numbers)
@settings(max_examples=20, deadline=None)
def test_what_is_on_one_body_keeps_its_distances(seed):
    machine = random_chain(seed)
    placed = machine.place(random_poses(machine, seed + 1))
    apart = np.linalg.norm(placed.port("p").origin - placed.operator("o").origin, axis=1)
    np.testing.assert_allclose(apart, apart[0], atol=1e-11)
    to_box = placed.distance("box", placed.port("p").origin[:, None])
    np.testing.assert_allclose(to_box[:, 0], to_box[0, 0], atol=1e-9)
    np.testing.assert_allclose(placed.least_distance("box", placed.port("p").origin[:, None]).distance, to_box[:, 0])


def turned_four_bar(matrix: np.ndarray, move: np.ndarray) -> Machine:
    flat = four_bar(0.15, 0.45, 0.35, 0.5, 1.0)

    def point(value):
        return tuple(matrix @ np.asarray(value) + move)

    def direction(value):
        return tuple(matrix @ np.asarray(value))

    return Machine(
        bodies=tuple(
            Body(body.name, body.on, Turn(point(body.joint.at), direction(body.joint.about))) for body in flat.bodies
        ),
        pins=tuple(Pin(pin.name, pin.bodies, point(pin.at), direction(pin.about)) for pin in flat.pins),
        ports=tuple(Port(p.name, p.on, point(p.at), direction(p.facing), direction((1, 0, 0))) for p in flat.ports),
    )


@given(seed=numbers)
@settings(max_examples=10, deadline=None)
def test_linkage_does_not_care_how_it_lies_in_space(seed):
    random = np.random.default_rng(seed)
    matrix, move = Rotation.random(rng=random).as_matrix(), random.uniform(-2, 2, 3)
    poses = cycle([{"crank": 0.0}, {"crank": 2.5}], 8)
    flat = four_bar(0.15, 0.45, 0.35, 0.5, 1.0).place(poses)
    turned = turned_four_bar(matrix, move).place(poses)
    for joint in ("coupler", "rocker"):
        np.testing.assert_allclose(turned.values[joint], flat.values[joint], atol=1e-9)
    np.testing.assert_allclose(
        turned.port("on rocker").origin, flat.port("on rocker").origin @ matrix.T + move, atol=1e-9
    )


@given(angle=st.floats(-2.0, 2.0), joint=st.sampled_from(["four bar", "slider"]))
@settings(max_examples=20, deadline=None)
def test_slopes_of_the_closing_conditions_are_their_differences(angle, joint):
    machine = four_bar(0.15, 0.45, 0.35, 0.5, 1.0) if joint == "four bar" else slider_crank(0.1, 0.35, 0.4)
    (loops,) = linkages(machine.tree, machine.pins, machine.cylinders, ("crank",), machine.size)
    values = np.random.default_rng(1).uniform(-0.2, 0.2, (3, 3)) + angle
    slopes = loops.slopes(values)
    for index, column in enumerate(loops.columns):
        step = np.zeros(3)
        step[column] = 1e-6
        difference = (loops.misses(values + step) - loops.misses(values - step)) / 2e-6
        np.testing.assert_allclose(slopes[:, :, index], difference, atol=1e-8)


@given(seed=numbers)
@settings(max_examples=20, deadline=None)
def test_slopes_of_a_loop_in_space_are_their_differences(seed):
    chain = random_chain(seed)
    random = np.random.default_rng(seed)
    pin = Pin("p", ("b3", "chassis"), tuple(random.uniform(-1, 1, 3)), tuple(random.normal(size=3)))
    cylinder = Cylinder("c", Eye("b0", (1.0, 0, 0)), Eye("b2", (0, 2.0, 1.0)), 0.1, 9.0)
    (loops,) = linkages(chain.tree, (pin,), (cylinder,), ("b1", "c"), 1.0)
    assert loops.following == ("b0", "b2", "b3")
    values = random.uniform(-1, 1, (3, len(loops.names)))
    slopes = loops.slopes(values)
    for index, column in enumerate(loops.columns):
        step = np.zeros(len(loops.names))
        step[column] = 1e-6
        difference = (loops.misses(values + step) - loops.misses(values - step)) / 2e-6
        np.testing.assert_allclose(slopes[:, :, index], difference, atol=1e-7)


@given(seed=numbers)
@settings(max_examples=10, deadline=None)
def test_stroke_and_angle_tell_the_same(seed):
    machine = lifted_mast()
    angles = np.random.default_rng(seed).uniform(-0.3, 1.2, 12)
    path, at = np.zeros(12, dtype=np.int64), np.linspace(0, 1, 12)
    by_angle = machine.place(Poses(("mast",), angles[:, None], path, at))
    by_stroke = machine.place(Poses(("lift",), by_angle.values["lift"][:, None], path, at))
    np.testing.assert_allclose(by_stroke.values["mast"], angles, atol=1e-9)
    np.testing.assert_allclose(by_stroke.port("rod side").origin, by_angle.port("rod side").origin, atol=1e-9)


def test_barrel_and_rod_lie_on_one_line_between_the_eyes():
    placed = lifted_mast().place(lattice({"mast": (-0.3, 1.2)}, 7))
    base, rod = np.array([[0.1, 0, -0.4]]), np.array([[0.5, 0, 0]])
    eyes = placed.body("lift.barrel").points(base)[:, 0], placed.body("lift.rod").points(rod)[:, 0]
    np.testing.assert_allclose(eyes[0], np.broadcast_to(base, (7, 3)), atol=1e-12)
    np.testing.assert_allclose(eyes[1], placed.body("mast").points(rod)[:, 0], atol=1e-12)
    along = (eyes[1] - eyes[0]) / np.linalg.norm(eyes[1] - eyes[0], axis=1)[:, None]
    for part in ("lift.barrel", "lift.rod"):
        drawn = (rod - base) / np.linalg.norm(rod - base)
        np.testing.assert_allclose(placed.body(part).directions(drawn)[:, 0], along, atol=1e-12)


@given(seed=numbers, legs=st.integers(1, 4), steps=st.integers(1, 5))
@settings(max_examples=30, deadline=None)
def test_refined_path_keeps_its_poses_and_only_adds_midpoints(seed, legs, steps):
    random = np.random.default_rng(seed)
    poses = cycle([{"a": value, "b": -value} for value in random.uniform(-1, 1, legs + 1)], steps)
    where = random.random(len(poses) - 1) < 0.5
    finer = refine(poses, where)
    assert len(finer) == len(poses) + where.sum()
    kept = np.isin(finer.at, poses.at)
    np.testing.assert_array_equal(finer.values[kept], poses.values)
    np.testing.assert_allclose(finer.values[~kept], ((poses.values[1:] + poses.values[:-1]) / 2)[where])
    assert (np.diff(finer.at) > 0).all()


@given(counts=st.lists(st.integers(1, 4), min_size=1, max_size=4))
@settings(max_examples=30, deadline=None)
def test_lattice_visits_every_combination_once_in_single_steps(counts):
    poses = lattice({f"j{i}": (0.0, 1.0) for i in range(len(counts))}, {f"j{i}": n for i, n in enumerate(counts)})
    assert len(np.unique(poses.values, axis=0)) == len(poses) == np.prod(counts)
    assert ((np.diff(poses.values, axis=0) != 0).sum(axis=1) == 1).all()
