"""The program's shapes beside the reference's: translation, random cases, differences."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields, replace

import numpy as np
from scipy.spatial.transform import Rotation

from hosewright.mechanics import Section, Shape, Shapes, Support, equilibrium, sweep
from reference_rod import Clamp, Problem, Rod, Solution, solve

FIELDS = ("position", "direction", "reference")


def section(rod: Rod) -> Section:
    return Section(rod.bending_stiffness, rod.torsional_stiffness, rod.axial_stiffness, rod.weight)


def support(clamp: Clamp) -> Support:
    return Support(clamp.position, clamp.direction, clamp.reference)


def program(problem: Problem, elements: int = 48) -> Shape:
    """The program's answer."""
    a, b = support(problem.a), support(problem.b)
    return equilibrium(section(problem.rod), problem.length, a=a, b=b, elements=elements, gravity=problem.gravity)


def reference(problem: Problem, shape: Shape, tolerance: float = 1e-9) -> Solution:
    """The reference's answer on the branch of the program's; its own discretisation has forgotten where it started."""
    return solve(problem, shape.position, shape.twist, tolerance)


@dataclass(frozen=True)
class Difference:
    """Program less reference.

    Attributes
    ----------
    place
        Largest distance between nodes. [length]
    radius
        Least radius, relative; positive is the unsafe side.
    curvature
        Largest at any node, relative to the largest curvature.
    twist
        [rad]
    force, moment
        Largest of both ends, relative to the force or moment, but at least to EI/L^2 or EI/L.
    energy
        Relative to the energy of bending.
    """

    place: float
    radius: float
    curvature: float
    twist: float
    force: float
    moment: float
    energy: float

    @property
    def within_bars(self) -> bool:
        """Whether all that is promised of 48 elements holds; a radius that is too large is the unsafe side."""
        return -0.005 < self.radius < BARS.radius and all(
            abs(getattr(self, each.name)) < getattr(BARS, each.name) for each in fields(self) if each.name != "radius"
        )


BARS = Difference(place=2e-4, radius=2e-3, curvature=5e-3, twist=2e-3, force=1e-3, moment=1e-3, energy=1e-3)


def flagged(shape: Shape) -> bool:
    """Whether the program itself says that a shape may miss the bars."""
    return shape.status != "ok" or shape.error_estimate > BARS.place


def difference(shape: Shape, exact: Solution) -> Difference:
    problem = exact.problem
    s = np.linspace(0, problem.length, len(shape.position))
    force, moment = problem.force_scale, problem.force_scale * problem.length
    curvature = exact.curvature(s)
    bending = problem.rod.bending_stiffness / 2 * np.trapezoid(curvature**2, s)
    return Difference(
        float(np.linalg.norm(shape.position - exact.position(s), axis=1).max() / problem.length),
        shape.least_radius / exact.least_radius - 1,
        float(np.abs(shape.curvature - curvature).max() * exact.least_radius),
        shape.twist - exact.twist,
        max(apart(shape.force_a, exact.force_a, force), apart(shape.force_b, exact.force_b, force)),
        max(apart(shape.moment_a, exact.moment_a, moment), apart(shape.moment_b, exact.moment_b, moment)),
        (shape.energy - exact.energy) / bending,
    )


def apart(found: np.ndarray, exact: np.ndarray, least: float) -> float:
    """Difference of two vectors, relative to the second but at least to a given scale."""
    return float(np.linalg.norm(np.asarray(found) - exact) / max(np.linalg.norm(exact), least))


def spatial_problems(seed: int, count: int) -> Iterator[Problem]:
    """Random spans: chord 0.15 to 0.98 of the length, asked twist to 170 degrees, GJ 3 to 12 EI, half with weight.

    The tauter the span, the nearer its ends point along it; else its ends would bend tighter than any hose does.
    """
    rng = np.random.default_rng(seed)
    for number in range(count):
        yield spatial_problem(rng, heavy=bool(number % 2))


def spatial_problem(rng: np.random.Generator, *, heavy: bool) -> Problem:
    length, stiffness, chord = rng.uniform(0.4, 2.5), 10 ** rng.uniform(0, 2), rng.uniform(0.15, 0.98)
    load = 10 ** rng.uniform(-1, 1.3) if heavy else 0.0  # w L^3/EI
    rod = Rod(stiffness, rng.uniform(3, 12) * stiffness, 1e5 * stiffness / length**2, load * stiffness / length**3)
    along = unit(rng)
    tilt = min(np.pi, 1.5 * np.pi * np.sqrt(1 - chord))
    start, end = (Rotation.from_rotvec(rng.uniform(0, tilt) * square_to(along, rng)).apply(along) for _ in range(2))
    a = Clamp(rng.uniform(-1, 1, 3), start, square_to(start, rng))
    swing = Rotation.from_rotvec(np.arccos(start @ end) * np.cross(start, end) / np.linalg.norm(np.cross(start, end)))
    roll = Rotation.from_rotvec(np.radians(rng.uniform(-170, 170)) * end)
    b = Clamp(a.position + chord * length * along, end, (roll * swing).apply(a.reference))
    return Problem(rod, length, a, b)


def numbered(number: int) -> Problem:
    """One random span that a number brings back; odd numbers have weight."""
    return spatial_problem(np.random.default_rng(number), heavy=bool(number % 2))


def swapped(problem: Problem) -> Problem:
    """The same span described from its other end."""
    a, b = (replace(clamp, direction=-np.asarray(clamp.direction)) for clamp in (problem.b, problem.a))
    return replace(problem, a=a, b=b)


def mirrored(problem: Problem) -> Problem:
    """Mirror image of a span in the xz plane, which leaves gravity as it is."""
    flip = np.array([1.0, -1.0, 1.0])
    a, b = (Clamp(flip * c.position, flip * c.direction, flip * c.reference) for c in (problem.a, problem.b))
    return replace(problem, a=a, b=b)


def unit(rng: np.random.Generator) -> np.ndarray:
    v = rng.normal(size=3)
    return v / np.linalg.norm(v)


def square_to(axis: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    v = np.cross(axis, unit(rng))
    return v / np.linalg.norm(v)


def rolled(problem: Problem, angles: np.ndarray) -> list[Problem]:
    """The same span with end b rolled about its direction, right-handed. [rad]"""
    axis = np.asarray(problem.b.direction) / np.linalg.norm(problem.b.direction)
    turns = Rotation.from_rotvec(np.outer(angles, axis))
    return [replace(problem, b=replace(problem.b, reference=r)) for r in turns.apply(problem.b.reference)]


def swept(problems: list[Problem], elements: int = 48) -> Shapes:
    """The program's answers, walked from the first to the last."""
    first = problems[0]
    a, b = (
        Support(*(np.array([getattr(getattr(p, end), field) for p in problems]) for field in FIELDS)) for end in "ab"
    )
    lengths = np.array([p.length for p in problems])
    return sweep(section(first.rod), lengths, a=a, b=b, elements=elements, gravity=first.gravity)
