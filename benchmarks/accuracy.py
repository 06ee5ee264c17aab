"""How far the program's shapes are from the differential equations of the rod, and what each costs.

Run ``python benchmarks/accuracy.py [--spans 80] [--elements 48] [--seed 7] [--search 1000]``. Random spans are compared
with a boundary value problem (``tests/reference_rod.py``) that starts at the program's shape; then one end is rolled to
160 degrees on the branch. The lowest energy is tried from four arcs by continuation, and by asking from both ends.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass, fields
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from compared_rods import (
    BARS,
    Difference,
    difference,
    flagged,
    mirrored,
    numbered,
    program,
    reference,
    rolled,
    spatial_problems,
    swapped,
    swept,
)
from hosewright.mechanics import Shape, warm_up
from reference_rod import Problem, Solution, from_scratch, walk


@dataclass(frozen=True)
class Row:
    """One span that was solved by both."""

    problem: Problem
    shape: Shape
    exact: Solution

    @property
    def found(self) -> Difference:
        return difference(self.shape, self.exact)


def single(problems: Sequence[Problem], elements: int) -> list[Row]:
    return [both(problem, program(problem, elements)) for problem in problems]


def rolling(problems: Sequence[Problem], elements: int) -> list[Row]:
    """Each span at 80 and 160 degrees of roll, walked in steps of 5 degrees."""
    rows = []
    for number, problem in enumerate(problems):
        poses = rolled(problem, (-1) ** number * np.radians(np.linspace(0, 160, 33)))
        shapes = swept(poses, elements)
        rows += [both(poses[k], shapes[k]) for k in (16, 32)]
    return rows


def both(problem: Problem, shape: Shape) -> Row:
    return Row(problem, shape, reference(problem, shape))


def report(title: str, rows: Sequence[Row]) -> None:
    found = [row.found for row in rows]
    tightest = min(row.exact.least_radius / row.problem.length for row in rows)
    print(f"\n{title}: {len(rows)} shapes, tightest least radius {tightest:.3f} of the length")
    print(f"{'':10} {'median':>9} {'90 %':>9} {'98 %':>9} {'worst':>9} {'bar':>9}")
    for each in fields(Difference):
        values = np.abs([getattr(one, each.name) for one in found])
        marks = " ".join(f"{v:9.1e}" for v in (*np.percentile(values, [50, 90, 98]), values.max()))
        print(f"{each.name:10} {marks} {getattr(BARS, each.name):9.1e}")
    largest, smallest = max(one.radius for one in found), min(one.radius for one in found)
    print(f"least radius read between {100 * smallest:+.3f} % and {100 * largest:+.3f} % (bars -0.5 and +0.2)")
    outside = [row for row in rows if not row.found.within_bars]
    print(f"outside a bar: {len(outside)}, of which flagged: {sum(flagged(row.shape) for row in outside)}")
    ratios = [row.shape.error_estimate / max(row.found.place, 1e-12) for row in rows]
    print(f"flagged: {sum(flagged(row.shape) for row in rows)}; estimate over true error: {describe(ratios)}")
    unstable = sum(row.exact.neighbours > 0 for row in rows)
    print(f"not converged: {sum(not row.shape.converged for row in rows)}; unstable: {unstable}")


def describe(values: Sequence[float]) -> str:
    low, middle, high = np.percentile(values, [0, 50, 100])
    return f"least {low:.3g}, median {middle:.3g}, most {high:.3g}"


def lowest(rows: Sequence[Row], sides: Sequence[float] = (0.0, 1.6, 3.1, 4.7)) -> None:
    """Whether continuation from an arc ends in a lower shape than the program's."""
    lower, solved = 0, 0
    for row in rows:
        energies = [e for e in (energy_by_continuation(row.problem, side) for side in sides) if e is not None]
        solved += len(energies)
        lower += any(e < row.shape.energy - 1e-4 * abs(row.exact.energy) for e in energies)
    walks = f"{solved} of {len(rows) * len(sides)} walks arrived"
    print(f"\nlower shape found by continuation: {lower} of {len(rows)} spans ({walks})")


def energy_by_continuation(problem: Problem, side: float) -> float | None:
    try:
        return from_scratch(problem, side, tolerance=1e-6).energy
    except ArithmeticError:
        return None


def search(count: int) -> None:
    """Each span from both ends and in the mirror: a difference of energy means that the lowest shape was missed."""
    missed = []
    for number in range(count):
        problem = numbered(number)
        energies = [program(each).energy for each in (problem, swapped(problem), mirrored(problem))]
        if np.ptp(energies) > 1e-4 * problem.force_scale * problem.length:
            missed.append(number)
    print(f"\nlowest shape missed: {len(missed)} of {count} spans, each asked three ways; numbers {missed}")


def cost(problems: Sequence[Problem], elements: int) -> None:
    """A motion of 60 poses: the program's walk beside collocation from pose to pose at the same accuracy."""
    ours, theirs = [], []
    for problem in problems:
        poses = rolled(problem, np.radians(np.linspace(0, 60, 61)))
        first = reference(poses[0], program(poses[0], elements), tolerance=1e-4)
        begin = time.perf_counter()
        swept(poses, elements)
        middle = time.perf_counter()
        count = sum(1 for _ in walk(poses[1:], first, tolerance=1e-4))
        theirs.append((time.perf_counter() - middle) / count)
        ours.append((middle - begin) / len(poses))
    print(f"\nmilliseconds a pose, first pose from nothing included: {describe(1e3 * np.array(ours))}")
    print(f"collocation with analytic Jacobians, tolerance 1e-4: {describe(1e3 * np.array(theirs))}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--spans", type=int, default=80)
    parser.add_argument(
        "--search", type=int, default=1000, help="spans that are asked from both ends and in the mirror"
    )
    parser.add_argument("--elements", type=int, default=48)
    parser.add_argument("--seed", type=int, default=7)
    asked = parser.parse_args()
    warm_up()
    problems = list(spatial_problems(asked.seed, asked.spans))
    rows = single(problems, asked.elements)
    report("lowest shapes", rows)
    report("rolled on the branch", rolling(problems[: asked.spans // 2], asked.elements))
    lowest(rows[: asked.spans // 2])
    search(asked.search)
    cost(problems[:6], asked.elements)


if __name__ == "__main__":
    main()
