"""What must hold for the shape of any span."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.integrate import simpson
from scipy.spatial.transform import Rotation

from compared_rods import mirrored, numbered, program, rolled, section, spatial_problem, swapped, swept
from hosewright.errors import ArgumentError
from hosewright.mechanics import Section, Shape, Support, equilibrium, sweep, sweeps
from reference_rod import Clamp, Problem, Rod

X, Y, Z = np.eye(3)
STEEL = Section(10.0, 40.0, 1e6, 5.0)
quick = settings(max_examples=30, deadline=None, derandomize=True)  # misses of the search would come and go

seeds = st.integers(0, 2**32 - 1)
generators = seeds.map(np.random.default_rng)
problems = st.builds(lambda rng, heavy: spatial_problem(rng, heavy=heavy), generators, st.booleans())
angles = st.floats(-3.0, 3.0)
rotations = st.builds(lambda *v: Rotation.from_rotvec(v), angles, angles, angles)
shifts = st.builds(lambda *v: np.array(v), *[st.floats(-5.0, 5.0)] * 3)


def solved(problem: Problem) -> Shape:
    shape = program(problem)
    assume(shape.status == "ok")
    return shape


def same(found: Shape, position: np.ndarray, length: float) -> None:
    assert np.abs(found.position - position).max() < 1e-6 * length


@quick
@given(problems, rotations, shifts)
def test_rigid_motion_of_everything_moves_the_shape(problem: Problem, turn: Rotation, shift: np.ndarray) -> None:
    shape = solved(problem)

    def moved(clamp: Clamp) -> Clamp:
        return Clamp(turn.apply(clamp.position) + shift, turn.apply(clamp.direction), turn.apply(clamp.reference))

    gravity = tuple(turn.apply(problem.gravity))
    other = program(replace(problem, a=moved(problem.a), b=moved(problem.b), gravity=gravity))
    same(other, turn.apply(shape.position) + shift, problem.length)
    assert other.twist == pytest.approx(shape.twist, abs=1e-5)
    assert other.least_radius == pytest.approx(shape.least_radius, rel=1e-5)
    scale = np.linalg.norm(shape.force_a) + problem.force_scale
    assert other.force_a == pytest.approx(turn.apply(shape.force_a), abs=1e-4 * scale)
    assert other.moment_b == pytest.approx(turn.apply(shape.moment_b), abs=1e-4 * scale * problem.length)


@quick
@given(problems)
def test_swapped_ends_reverse_the_shape(problem: Problem) -> None:
    shape = solved(problem)
    other = program(swapped(problem))
    same(other, shape.position[::-1], problem.length)
    assert other.twist == pytest.approx(shape.twist, abs=1e-5)  # a right-handed screw is right-handed from both ends
    assert problem.length - other.least_radius_at == pytest.approx(shape.least_radius_at, abs=0.02 * problem.length)
    assert other.force_b == pytest.approx(shape.force_a, abs=1e-4 * np.linalg.norm(shape.force_a))


@pytest.mark.parametrize("number", [1269, 5743, 11373, 12680, 13839])
def test_lowest_shape_from_both_ends(number: int) -> None:
    """Spans with several stable shapes, which a search without turned starts misses from one of the ends."""
    problem = numbered(number)
    energies = [program(each).energy for each in (problem, swapped(problem), mirrored(problem))]
    assert np.ptp(energies) < 1e-6 * problem.force_scale * problem.length


@quick
@given(problems)
def test_mirror_image_twists_the_other_way(problem: Problem) -> None:
    shape, flip = solved(problem), np.array([1.0, -1.0, 1.0])
    other = program(mirrored(problem))
    same(other, flip * shape.position, problem.length)
    assert other.twist == pytest.approx(-shape.twist, abs=1e-5)


@quick
@given(problems, st.floats(0.2, 5.0), st.floats(0.1, 10.0))
def test_scale(problem: Problem, longer: float, stiffer: float) -> None:
    """Lengths by f and stiffness by g: forces by g/f^2, energy by g/f, weight per length by g/f^3, same form."""
    shape, rod = solved(problem), problem.rod
    axial, weight = rod.axial_stiffness * stiffer / longer**2, rod.weight * stiffer / longer**3
    scaled = Rod(rod.bending_stiffness * stiffer, rod.torsional_stiffness * stiffer, axial, weight)
    a, b = (replace(clamp, position=longer * clamp.position) for clamp in (problem.a, problem.b))
    other = program(replace(problem, rod=scaled, length=longer * problem.length, a=a, b=b))
    same(other, longer * shape.position, longer * problem.length)
    assert other.least_radius == pytest.approx(longer * shape.least_radius, rel=1e-5)
    assert other.force_a * longer**2 / stiffer == pytest.approx(shape.force_a, rel=1e-3, abs=1e-4 * problem.force_scale)
    assert other.energy * longer / stiffer == pytest.approx(shape.energy, rel=1e-5)


@quick
@given(st.floats(0.3, 0.9), st.floats(-1.2, 1.2), st.floats(-1.2, 1.2), st.floats(0.1, 30.0), st.floats(0.3, 3.0))
def test_plane_shape_without_weight_does_not_depend_on_stiffness(
    chord: float, slope_a: float, slope_b: float, stiffer: float, ratio: float
) -> None:
    assume(abs(slope_a) + abs(slope_b) > 0.3)  # a straight run may bow any way,
    assume(abs(slope_a - slope_b) > 0.05)  # and an S between parallel ends be turned over

    def shape(bending: float, torsional: float) -> Shape:
        a = Support((0, 0, 0), (np.cos(slope_a), 0, np.sin(slope_a)), Y)
        b = Support((chord, 0, 0), (np.cos(slope_b), 0, np.sin(slope_b)), Y)
        return equilibrium(Section(bending, torsional, 1e6 * bending, 0.0), 1.0, a=a, b=b)

    soft, stiff = shape(1.0, 8.0), shape(stiffer, 8.0 * stiffer * ratio)
    assume(max(np.abs(shape.position[:, 1]).max() for shape in (soft, stiff)) < 1e-6)  # some leave the plane: torsion
    same(stiff, soft.position, 1.0)
    assert stiff.energy == pytest.approx(stiffer * soft.energy, rel=1e-5)


@quick
@given(problems)
def test_statics(problem: Problem) -> None:
    """What the hose does to its supports is its weight: in force, and in moment about the origin."""
    shape = program(problem)
    assume(shape.converged)
    weight = problem.rod.weight * np.asarray(problem.gravity)
    scale = problem.rod.weight * problem.length + np.linalg.norm(shape.force_a) + problem.force_scale
    assert shape.force_a + shape.force_b == pytest.approx(weight * problem.length, abs=1e-6 * scale)
    s = np.linspace(0, problem.length, len(shape.position))
    pulled = simpson(np.cross(shape.position, weight), x=s, axis=0)
    held = shape.moment_a + shape.moment_b
    held += np.cross(problem.a.position, shape.force_a) + np.cross(problem.b.position, shape.force_b)
    reach = problem.length + np.linalg.norm(problem.a.position)
    assert held == pytest.approx(pulled, abs=1e-4 * scale * reach)


@quick
@given(problems)
def test_free_roll_costs_no_more(problem: Problem) -> None:
    """A span that may roll has no twist, and no more energy than one that is held in roll."""
    held = program(problem)
    free = program(replace(problem, b=replace(problem.b, reference=None)))
    assert free.twist == 0.0
    assert free.energy <= held.energy + 1e-6 * abs(held.energy)


@quick
@given(problems, st.floats(0.1, 10.0))
def test_length_of_a_reference_and_its_part_along_the_hose_do_not_count(problem: Problem, factor: float) -> None:
    shape = solved(problem)
    reference = factor * (problem.b.reference + 0.7 * problem.b.direction)
    other = program(replace(problem, b=replace(problem.b, reference=reference)))
    same(other, shape.position, problem.length)
    assert other.twist == pytest.approx(shape.twist, abs=1e-6)


@pytest.mark.parametrize("turns", [3.0, -3.0])
def test_twist_is_counted_on_over_several_turns(turns: float) -> None:
    """A taut span holds 3 turns straight: torque 6 pi EI/L stays below 2 sqrt(EI T), tension some 1000 EI/L^2."""
    tilt = np.array([np.cos(0.05), np.sin(0.05), 0.0])
    taut = Problem(Rod(1.0, 1.0, 1e5), 1.0, Clamp(0 * X, tilt, Z), Clamp(1.01 * X, X, Z))
    angles = np.linspace(0, 2 * np.pi * turns, 73)
    shapes = swept(rolled(taut, angles))
    assert np.diff(shapes.twist) == pytest.approx(np.diff(angles), abs=0.02)
    assert shapes.twist[-1] - shapes.twist[0] == pytest.approx(2 * np.pi * turns, abs=1e-3)
    assert shapes.position[-1, :, 1].max() < 0.05


@settings(max_examples=5, deadline=None, derandomize=True)
@given(problems)
def test_a_sweep_there_and_back_returns(problem: Problem) -> None:
    away = np.linspace(0, 0.3, 7)
    shapes = swept(rolled(problem, np.concatenate([away, away[::-1]])))
    assume(not shapes.jumped_at.any())
    same(shapes[-1], shapes[0].position, problem.length)
    assert shapes.twist[-1] == pytest.approx(shapes.twist[0], abs=1e-6)


def test_sweeps_are_the_sweeps() -> None:
    rng = np.random.default_rng(3)
    asked = []
    for _ in range(3):
        poses = rolled(spatial_problem(rng, heavy=True), np.linspace(0, 0.5, 9))
        b = Support(poses[0].b.position, poses[0].b.direction, np.array([p.b.reference for p in poses]))
        a = Support(poses[0].a.position, poses[0].a.direction, poses[0].a.reference)
        asked.append({"section": section(poses[0].rod), "length": poses[0].length, "a": a, "b": b})
    for one, many in zip([sweep(**each) for each in asked], sweeps(asked), strict=True):
        assert len(one) == len(many) == 9
        assert np.array_equal(one.position, many.position)
        assert np.array_equal(one.twist, many.twist)
        assert np.array_equal(one.force_b, many.force_b)


def test_a_span_that_is_too_short_is_stretched_and_says_so() -> None:
    shape = equilibrium(Section(1.0, 3.0, 1e4, 0.0), 1.0, a=Support((0, 0, 0), X), b=Support(1.05 * X, X))
    assert shape.status != "ok"
    assert np.allclose(shape.position, np.outer(np.linspace(0, 1.05, 49), X), atol=1e-9)
    assert shape.force_b == pytest.approx(-500 * X, rel=1e-6)  # the stretched hose pulls its supports together


STIFFNESSES = ("bending_stiffness", "torsional_stiffness", "axial_stiffness")
BAD_SECTIONS = [(name, value) for name in STIFFNESSES for value in (0.0, -2.5, np.nan)]


@pytest.mark.parametrize(("name", "value"), [*BAD_SECTIONS, ("weight", -1.5), ("weight", np.inf)])
def test_bad_section(name: str, value: float) -> None:
    good = {"bending_stiffness": 10.0, "torsional_stiffness": 30.0, "axial_stiffness": 1e6, "weight": 5.0}
    with pytest.raises(ArgumentError) as raised:
        Section(**{**good, name: value})
    speaks_of(raised.value, name, value)


A, B = Support((0, 0, 0), X, Y), Support((0.6, 0, 0), X, Y)


@pytest.mark.parametrize(
    ("name", "value", "arguments"),
    [
        ("length", 0.0, {"length": 0.0}),
        ("length", -1.5, {"length": -1.5}),
        ("length", "nan", {"length": np.nan}),
        ("length", "inf", {"length": np.inf}),
        ("elements", 0, {"elements": 0}),
        ("elements", -4, {"elements": -4}),
        ("gravity", "nan", {"gravity": (0, 0, np.nan)}),
    ],
)
def test_bad_argument(name: str, value: object, arguments: dict[str, object]) -> None:
    with pytest.raises(ArgumentError) as raised:
        equilibrium(STEEL, **{"length": 1.0, "a": A, "b": B, **arguments})
    speaks_of(raised.value, name, value)


@pytest.mark.parametrize(
    ("name", "fields"),
    [
        ("position", {"position": (0.6, np.nan, 0)}),
        ("direction", {"direction": (0.0, 0, 0)}),
        ("direction", {"direction": (np.inf, 0, 0)}),
        ("reference", {"reference": (np.nan, 0, 0)}),
        ("reference", {"reference": (2.0, 0, 0)}),
        ("position", {"position": (0.6, 0)}),
    ],
)
def test_bad_support(name: str, fields: dict[str, object]) -> None:
    """Not a number, no direction, a reference along the hose, or not three figures."""
    with pytest.raises(ArgumentError) as raised:
        equilibrium(STEEL, 1.0, a=A, b=Support(**{"position": (0.6, 0, 0), "direction": X, "reference": Y, **fields}))
    speaks_of(raised.value, name)


@pytest.mark.parametrize("length", [np.ones(4), np.ones((2, 2)), np.array([])], ids=["four", "square", "none"])
def test_numbers_of_poses_must_agree(length: np.ndarray) -> None:
    b = Support(np.linspace((0.6, 0, 0), (0.7, 0, 0), 5), X)
    with pytest.raises(ArgumentError) as raised:
        sweep(STEEL, length, a=Support((0, 0, 0), X), b=b)
    speaks_of(raised.value, "length")


def test_numbers_of_poses_of_the_supports_must_agree() -> None:
    a = Support(np.zeros((3, 3)), X)
    b = Support(np.linspace((0.6, 0, 0), (0.7, 0, 0), 5), X)
    with pytest.raises(ArgumentError, match=r"3.*5|5.*3"):
        sweep(STEEL, 1.0, a=a, b=b)


def test_one_pose_is_wanted() -> None:
    with pytest.raises(ArgumentError, match="5"):
        equilibrium(STEEL, 1.0, a=A, b=Support(np.linspace((0.6, 0, 0), (0.7, 0, 0), 5), X))


def speaks_of(error: ArgumentError, name: str, value: object = "") -> None:
    assert name.replace("_", " ") in str(error).replace("_", " ")
    if value != "":
        assert f"{value:g}" in str(error) if isinstance(value, float) else str(value) in str(error)
