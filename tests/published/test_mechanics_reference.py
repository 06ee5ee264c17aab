"""The reference rod itself against closed forms, so that what is compared with it may be trusted."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation
from scipy.special import ellipk

from closed_form_rods import Exact, double_cantilever, elastica, helix, parallel_u
from reference_rod import Clamp, Problem, Rod, Solution, from_scratch, solve, walk

ELASTICAS = {
    "cantilevers, load 1": double_cantilever(1.0),
    "cantilevers, load 10": double_cantilever(10.0),
    "natural U": parallel_u(np.sqrt(0.5), long=False),
    "short U": parallel_u(0.9, long=False),
    "long U": parallel_u(0.8, long=True),
    "half a wave": elastica(0.7, 0.2, ellipk(0.49) + 0.5, length=0.6, stiffness=3.0),
}
HELICES = {
    "right-handed": helix(0.6, 1.0, 0.5),
    "left-handed, twisted against it": helix(-0.8, 0.8, 1.0, length=2.5, stiffness=40.0),
    "soft axis": helix(0.5, 1.2, -2.0, twist_ratio=6.0, stretch_ratio=200.0),
    "arc": helix(0.4, np.pi / 2, 0.0),
}


def solved(exact: Exact) -> Solution:
    return solve(exact.problem, exact.curve(), exact.twist)


@pytest.mark.parametrize("exact", ELASTICAS.values(), ids=ELASTICAS.keys())
def test_elastica(exact: Exact) -> None:
    """Love 1927, sections 262-263. The tolerance is what the stretch of EA = 1e7 EI/L^2 leaves."""
    compare(exact, solved(exact), place=2e-6, radius=5e-5, force=3e-4)


@pytest.mark.parametrize("exact", HELICES.values(), ids=HELICES.keys())
def test_helix(exact: Exact) -> None:
    """Love 1927, section 270, stretch included: equal to the last digits."""
    compare(exact, solved(exact), place=1e-10, radius=1e-9, force=1e-9)


def compare(exact: Exact, found: Solution, *, place: float, radius: float, force: float) -> None:
    problem = exact.problem
    s = np.linspace(0, problem.length, 101)
    assert found.residual < 1e-8
    assert found.closure < 1e-10
    assert np.abs(found.position(s) - exact.position(s)).max() < place * problem.length
    assert found.least_radius == pytest.approx(exact.least_radius, rel=radius)
    assert found.twist == pytest.approx(exact.twist, abs=1e-9)
    scale = max(np.linalg.norm(exact.force_a), problem.force_scale)
    assert np.abs(found.force_a - exact.force_a).max() < force * scale
    assert np.abs(found.moment_a - exact.moment_a).max() < force * scale * problem.length


def beam(rod: Rod, settlement: float = 0.0) -> Solution:
    along, up = np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, 1.0])
    problem = Problem(rod, 1.0, Clamp(0 * along, along), Clamp(along - settlement * up, along))
    return solve(problem, np.linspace(problem.a.position, problem.b.position, 49))


def test_beam_under_its_weight() -> None:
    """Clamped at both ends: sag w L^4/(384 EI), end moments w L^2/12 (Timoshenko, Strength of Materials I)."""
    found = beam(Rod(10.0, 30.0, 1e5, weight=0.384))
    assert -found.position(0.5)[0, 2] == pytest.approx(1e-4, rel=1e-5)
    assert found.force_a[1:] == pytest.approx([0, -0.192], abs=1e-6)
    assert found.force_b[1:] == pytest.approx([0, -0.192], abs=1e-6)
    assert found.moment_a == pytest.approx([0, 0.032, 0], abs=1e-6)  # weight at +x, downwards: x cross -z = +y
    assert found.moment_b == pytest.approx([0, -0.032, 0], abs=1e-6)


def test_beam_whose_end_settles() -> None:
    """Slope-deflection: force 12 EI d/L^3 and moment 6 EI d/L^2. The settled end is pulled back up."""
    found = beam(Rod(10.0, 30.0, 1e4), settlement=1e-4)
    assert found.force_b[1:] == pytest.approx([0, 0.012], abs=1e-6)
    assert found.moment_a[1] == pytest.approx(found.moment_b[1], rel=1e-4)
    assert abs(found.moment_a[1]) == pytest.approx(0.006, rel=1e-4)


def twisted_straight(torque: float) -> Solution:
    """Length, EI = 1; GJ = 6: torque in units of EI/L."""
    along, angle = np.array([1.0, 0.0, 0.0]), torque / 6.0
    a = Clamp(0 * along, along, np.array([0.0, 1.0, 0.0]))
    b = Clamp(along, along, np.array([0.0, np.cos(angle), np.sin(angle)]))
    return solve(Problem(Rod(1.0, 6.0, 1e3), 1.0, a, b), np.linspace(a.position, b.position, 25))


def test_end_map_is_singular_at_the_torque_that_buckles_a_clamped_rod() -> None:
    """Clamped, no axial force: tan u = u, u = M L/(2 EI) = 4.4934 (Love 1927, section 272; section from memory)."""
    smallest = [np.linalg.svd(twisted_straight(m).end_map([1.0])[0])[1][-1] for m in (8.9, 8.986819, 9.07)]
    assert smallest[1] < 1e-6
    assert min(smallest[0], smallest[2]) > 1e-4


def test_a_rod_twisted_too_far_has_neighbours() -> None:
    """A helix that resists its torque is stable; one with two radians more against it is not."""
    assert solved(HELICES["right-handed"]).neighbours == 0
    assert solved(helix(0.5, 1.2, -2.0, twist_ratio=6.0)).neighbours > 0


@pytest.fixture(scope="module")
def spatial() -> Solution:
    """A case in space with weight and twist, found without a guess."""
    a = Clamp(np.array([0.1, 0.2, 0.3]), np.array([1.0, 0.2, 0.0]), np.array([0.0, 0.0, 1.0]))
    b = Clamp(np.array([0.5, 0.5, 0.6]), np.array([-0.3, 0.5, 1.0]), np.array([1.0, 0.3, 0.0]))
    return from_scratch(Problem(Rod(10.0, 40.0, 1e6, weight=20.0), 0.9, a, b))


def test_continuation_reaches_a_solution(spatial: Solution) -> None:
    assert spatial.residual < 1e-8
    assert spatial.closure < 1e-8


@pytest.mark.parametrize("axis", np.eye(3), ids="xyz")
def test_force_and_moment_are_slopes_of_the_energy(spatial: Solution, axis: np.ndarray) -> None:
    """Castigliano: the rod pushes its support the way that lowers its energy. Settles all signs."""
    problem, step = spatial.problem, 1e-4

    def energy(end: str, shift: float = 0.0, turn: float = 0.0) -> float:
        clamp = getattr(problem, end)
        turned = Rotation.from_rotvec(turn * axis).apply([clamp.direction, clamp.reference])
        moved = replace(problem, **{end: Clamp(clamp.position + shift * axis, *turned)})
        return next(walk([moved], spatial)).energy

    for end in "ab":
        force = (energy(end, shift=-step) - energy(end, shift=step)) / (2 * step)
        moment = (energy(end, turn=-step) - energy(end, turn=step)) / (2 * step)
        exact_force, exact_moment = getattr(spatial, f"force_{end}"), getattr(spatial, f"moment_{end}")
        assert force == pytest.approx(exact_force @ axis, abs=2e-5 * np.linalg.norm(exact_force))
        assert moment == pytest.approx(exact_moment @ axis, abs=2e-5 * np.linalg.norm(exact_moment))


def test_jacobians_are_the_slopes() -> None:
    rng = np.random.default_rng(5)
    a = Clamp(np.zeros(3), rng.normal(size=3), rng.normal(size=3))
    held = Problem(Rod(1.0, 3.0, 50.0, 4.0), 1.0, a, Clamp(rng.normal(size=3), rng.normal(size=3), rng.normal(size=3)))
    s, y, n = np.array([0.3]), rng.normal(size=(10, 1)), rng.normal(size=3)
    by_y, by_n = held.slope_jacobian(s, y, n)
    assert differences(lambda y: held.slope(s, y[:, None], n)[:, 0], y[:, 0]) == pytest.approx(by_y[:, :, 0], abs=1e-7)
    assert differences(lambda n: held.slope(s, y, n)[:, 0], n) == pytest.approx(by_n[:, :, 0], abs=1e-7)
    for problem in (held, replace(held, b=replace(held.b, reference=None))):
        _, by_b, _ = problem.ends_jacobian(y[:, 0], y[:, 0], n)
        assert differences(lambda yb, p=problem: p.ends(y[:, 0], yb, n), y[:, 0]) == pytest.approx(by_b, abs=1e-7)


def differences(function: Callable[[np.ndarray], np.ndarray], x: np.ndarray, step: float = 1e-6) -> np.ndarray:
    ways = step * np.eye(len(x))
    return np.stack([(function(x + way) - function(x - way)) / (2 * step) for way in ways], axis=1)
