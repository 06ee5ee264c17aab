"""Random spans in space and the order of convergence, against the reference boundary value problem."""

from contextlib import suppress
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from closed_form_rods import helix
from compared_rods import difference, flagged, program, reference, rolled, spatial_problems, swept
from hosewright.mechanics import Shape
from reference_rod import Problem, Solution, angle_about, carry, frame, from_scratch

PROBLEMS = list(spatial_problems(seed=2024, count=24))
QUARTERS = np.radians(np.linspace(0, 160, 33))
every_span = pytest.mark.parametrize("number", range(len(PROBLEMS)))


@cache
def solved(number: int) -> tuple[Shape, Solution]:
    shape = program(PROBLEMS[number])
    return shape, reference(PROBLEMS[number], shape)


@cache
def walked(number: int) -> list[tuple[Shape, Solution]]:
    """One end rolled to 80 and 160 degrees from a shape without twist, on a branch that need not stay the lowest."""
    problem, sign = PROBLEMS[number], (-1) ** number
    free = program(replace(problem, b=replace(problem.b, reference=None)))
    problems = rolled(problem, free_roll(problem, free) + sign * QUARTERS)
    shapes = swept(problems)
    return [(shapes[pose], reference(problems[pose], shapes[pose])) for pose in (16, 32)]


def free_roll(problem: Problem, free: Shape) -> float:
    """Roll of end b that leaves the span without twist."""
    tangents = np.gradient(free.position, axis=0, edge_order=2)
    tangents /= np.linalg.norm(tangents, axis=1)[:, None]
    axes_a, axes_b = frame(problem.a), frame(problem.b)
    tangents[0], tangents[-1] = axes_a[:, 0], axes_b[:, 0]
    return angle_about(tangents[-1], axes_b[:, 1], carry(free.position, tangents, axes_a[:, 1])[-1])


@every_span
def test_random_span(number: int) -> None:
    """All bars: 2e-4 of the length, radius -0.5 to +0.2 %, twist 2e-3 rad, force 0.1 %; no exception among these."""
    shape, exact = solved(number)
    assert exact.residual < 1e-8
    assert difference(shape, exact).within_bars, difference(shape, exact)
    assert exact.curvature(shape.least_radius_at)[0] * exact.least_radius > 0.995


@pytest.mark.parametrize("number", range(8))
def test_rolled_span(number: int) -> None:
    """Half a turn of roll makes some bends too tight for 48 elements: those must say so."""
    for shape, exact in walked(number):
        found = difference(shape, exact)
        assert found.within_bars or flagged(shape), found


@every_span
def test_shape_is_stable(number: int) -> None:
    """Jacobi's condition on the exact rod: an equilibrium of least energy has no neighbour at any shorter length."""
    assert solved(number)[1].neighbours == 0


@pytest.mark.parametrize("number", range(0, len(PROBLEMS), 2))
def test_no_lower_shape_by_another_way(number: int) -> None:
    """Plain continuation from an arc, which knows nothing of the program's starts, finds this shape or a higher one."""
    shape, exact = solved(number)
    assert shape.energy <= arrived(PROBLEMS[number]).energy + 1e-4 * abs(exact.energy)


def arrived(problem: Problem) -> Solution:
    """First walk that does not get lost on its way."""
    for side in (0.0, 1.5, 3.0, 4.5):
        with suppress(ArithmeticError):
            return from_scratch(problem, side, tolerance=1e-6)
    raise ArithmeticError("no walk arrived")


@every_span
def test_error_estimate_is_honest(number: int) -> None:
    shape, exact = solved(number)
    assert difference(shape, exact).place < max(shape.error_estimate, 2e-5)


@every_span
def test_twist_is_what_the_references_say(number: int) -> None:
    """Reference a carried without twist along the exact curve by double reflection (Wang et al. 2008)."""
    shape, exact = solved(number)
    s = np.linspace(0, exact.problem.length, 2001)
    carried = carry(exact.position(s), exact.tangent(s), frame(exact.problem.a)[:, 1])[-1]
    asked = angle_about(exact.tangent(s[-1:])[0], carried, frame(exact.problem.b)[:, 1])
    assert np.angle(np.exp(1j * (shape.twist - asked))) == pytest.approx(0.0, abs=2e-3)
    assert -np.pi < shape.twist <= np.pi


def errors(problem: Problem, exact: object, elements: int) -> np.ndarray:
    """Of position, curvature at the nodes, twist and force; in units of length and EI."""
    shape = program(problem, elements)
    s = np.linspace(0, problem.length, elements + 1)
    return np.array(
        [
            np.linalg.norm(shape.position - exact.position(s), axis=1).max() / problem.length,
            np.abs(shape.curvature - exact.curvature(s)).max() * problem.length,
            abs(shape.twist - exact.twist),
            np.linalg.norm(shape.force_a - exact.force_a) / problem.force_scale,
        ]
    )


CONVERGENCE = {"helix": helix(0.45, 0.9, 0.8), "spatial": 0, "spatial with weight": 1, "another": 6}


@pytest.mark.parametrize("case", CONVERGENCE.values(), ids=CONVERGENCE.keys())
def test_fourth_order(case: object) -> None:
    """Half the elements, sixteen times the error: in position, curvature, twist and force."""
    exact = solved(case)[1] if isinstance(case, int) else case
    coarse, middle, fine = (errors(exact.problem, exact, elements) for elements in (16, 32, 64))
    order = np.log2(coarse / fine) / 2
    assert (order > 3.5).all(), (order, coarse, middle, fine)
    assert (middle < coarse).all()
    assert (fine < middle).all()
