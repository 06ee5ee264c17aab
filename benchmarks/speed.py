"""Time of shapes: one from nothing, and the next one of a motion, beside a general solver and bare arithmetic.

Run ``python benchmarks/speed.py``. Three motions of 200 poses are walked with 24 to 64 elements on one core and on all.
``scipy.integrate.solve_bvp`` solves the same boundary value problems (``tests/reference_rod.py``, without its Jacobians
and with them) at its own tolerance of 1e-3. A loop of bare arithmetic shows what the cores give at the time. Rounds are
interleaved and medians taken, for other work may run on the machine. From nothing, the bars count on random spans, not
on the easy first poses of the motions. Ends with 1 where a bar is missed.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

import numpy as np
from numba import njit
from scipy.integrate import solve_bvp

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from compared_rods import spatial_problems
from hosewright.mechanics import Section, Shapes, Span, Support, sweep, sweeps, warm_up
from hosewright.mechanics.solve import _solve
from reference_rod import Clamp, Problem, Rod, guess

POSES = 200
ROUNDS = 7
SPANS = 24
CORES = os.cpu_count() or 1
WARM_BAR, ONE_START_BAR, ALL_STARTS_BAR, CORES_BAR = 50.0, 20.0, 4.0, 0.9


# -- motions


def swing(weight: float, held: bool) -> Span:
    """A hose of 1 m hung between a fixed end and one on an arm that swings by 70 degrees, a little out of its plane."""
    angle = np.linspace(0.0, 1.2, POSES)
    s, c, o = np.sin(angle), np.cos(angle), 0.0 * angle
    place = 0.5 * np.stack([c, 0.2 * angle, s], axis=1)
    a = Support((0, 0, 0), (0, 0, -1), (1, 0, 0) if held else None)
    b = Support(place, np.stack([-s, o, c], axis=1), np.stack([c, o, s], axis=1) if held else None)
    return Span(Section(10.0, 30.0, 1e6, 10.0 * weight), 1.0, a, b)


MOTIONS = {
    "held in roll, weight": swing(5.0, held=True),
    "held in roll": swing(0.0, held=True),
    "free to roll, weight": swing(5.0, held=False),
}


def swept(span: Span) -> Shapes:
    return sweep(span.section, span.length, span.a, span.b, elements=span.elements)


def with_elements(span: Span, elements: int) -> Span:
    return Span(span.section, span.length, span.a, span.b, elements)


def first_pose(span: Span) -> Span:
    """Its first pose alone."""
    b = Support(
        *(None if v is None else np.asarray(v)[0] for v in (span.b.position, span.b.direction, span.b.reference))
    )
    return Span(span.section, span.length, span.a, b, span.elements)


def span_of(problem: Problem) -> Span:
    rod = problem.rod
    section = Section(rod.bending_stiffness, rod.torsional_stiffness, rod.axial_stiffness, rod.weight)
    a, b = (Support(end.position, end.direction, end.reference) for end in (problem.a, problem.b))
    return Span(section, problem.length, a, b)


def problems(span: Span) -> list[Problem]:
    section = span.section
    rod = Rod(section.bending_stiffness, section.torsional_stiffness, section.axial_stiffness, section.weight)
    a = clamp(span.a.position, span.a.direction, span.a.reference)
    held = [None] * POSES if span.b.reference is None else span.b.reference
    ends = zip(span.b.position, span.b.direction, held, strict=True)
    return [Problem(rod, float(span.length), a, clamp(*end)) for end in ends]


def clamp(position: object, direction: object, reference: object) -> Clamp:
    return Clamp(*(None if v is None else np.asarray(v, dtype=float) for v in (position, direction, reference)))


# -- clock


def seconds(call: Callable[[], object]) -> float:
    start = time.perf_counter()
    call()
    return time.perf_counter() - start


def interleaved(
    calls: dict[str, Callable[[], object]], rounds: int = ROUNDS, typical: Callable = np.median
) -> dict[str, float]:
    """Typical seconds of each call, the rounds of all of them mixed."""
    for call in calls.values():
        call()
    taken = [{name: seconds(call) for name, call in calls.items()} for _ in range(rounds)]
    return {name: float(typical([each[name] for each in taken])) for name in calls}


@njit(nogil=True)
def arithmetic(count: int) -> float:
    """Bare arithmetic side by side, which fills a core's pipes as a factorisation does; no memory but eight numbers."""
    x = np.linspace(0.1, 0.8, 8)
    for _ in range(count):
        for k in range(8):
            x[k] = 3.7 * x[k] * (1.0 - x[k])
    return x[0]


# -- a general solver


def collocated(problem: Problem, x: np.ndarray, y: np.ndarray, n0: np.ndarray, jacobians: bool) -> object:
    more = {"fun_jac": problem.slope_jacobian, "bc_jac": problem.ends_jacobian} if jacobians else {}
    with np.errstate(all="ignore"):  # what goes astray may overflow; the status tells
        return solve_bvp(problem.slope, problem.ends, x, y, p=n0, tol=1e-3, max_nodes=5000, **more)


def on_nodes(state: Callable[[np.ndarray], np.ndarray], nodes: int) -> tuple[np.ndarray, np.ndarray]:
    x = np.linspace(0.0, 1.0, nodes)
    return x, state(x)


@dataclass
class Walked:
    """How ``solve_bvp`` fared along a motion, each pose started from the solution before on so many nodes."""

    seconds: float  # median of a pose
    failed: int


def walk_collocation(chain: list[Problem], curve: np.ndarray, twist: float, nodes: int, jacobians: bool) -> Walked:
    x, y, n0 = guess(chain[0], curve, twist)
    last = collocated(chain[0], x, y, n0, True)
    taken, failed = [], 0
    for problem in chain[1:]:
        x, y = on_nodes(last.sol, nodes)
        start = time.perf_counter()
        found = collocated(problem, x, y, last.p, jacobians)
        taken.append(time.perf_counter() - start)
        failed += found.status != 0
        last = found if found.status == 0 else last
    return Walked(float(np.median(taken)), failed)


def cubic(problem: Problem, handle: float) -> np.ndarray:
    s = np.linspace(0.0, 1.0, 13)[:, None]
    t = 1.0 - s
    a, b = problem.a, problem.b
    ends = (1 + 2 * s) * t * t * a.position + (1 + 2 * t) * s * s * b.position
    return ends + handle * problem.length * (s * t * t * a.direction - s * s * t * b.direction)


def cold_collocation(problem: Problem, jacobians: bool) -> tuple[float, int]:
    """Seconds until one of the guesses leads to a shape, and which did; 0 where none of them does.

    A guess that leads nowhere costs its time too; making the guesses is not counted.
    """
    spent = 0.0
    for number, handle in enumerate((1.0, 0.5, 2.0, 0.0), start=1):
        x, y, n0 = guess(problem, cubic(problem, handle))
        start = time.perf_counter()
        status = 1
        with suppress(np.linalg.LinAlgError, ValueError):
            status = collocated(problem, x, y, n0, jacobians).status
        spent += time.perf_counter() - start
        if status == 0:
            return spent, number
    return spent, 0


# -- tables


def verdict(ratio: float, bar: float) -> str:
    return f"{ratio:8.2f}   bar {bar:g}: {'met' if ratio >= bar else 'MISSED'}"


def warm_steps() -> dict[str, float]:
    print(f"\nOne step of a motion of {POSES} poses, one core, microseconds (first pose from nothing taken off)")
    print(f"{'':24}" + "".join(f"{n:>9} el." for n in (24, 32, 48, 64)) + "   Newton steps")
    steps = {}
    for name, motion in MOTIONS.items():
        calls: dict[str, Callable[[], object]] = {}
        for n in (24, 32, 48, 64):
            calls[f"{n}"] = partial(swept, with_elements(motion, n))
            calls[f"{n} first"] = partial(swept, first_pose(with_elements(motion, n)))
        taken = interleaved(calls)
        each = {n: (taken[f"{n}"] - taken[f"{n} first"]) / (POSES - 1) for n in (24, 32, 48, 64)}
        steps[name] = each[48]
        newton = swept(motion).iterations[1:].mean()
        print(f"{name:24}" + "".join(f"{1e6 * t:13.1f}" for t in each.values()) + f"{newton:15.2f}")
    return steps


def warm_against_collocation(steps: dict[str, float]) -> bool:
    print("\nOne step, milliseconds: solve_bvp from the solution before, tolerance 1e-3, its best number of nodes")
    good = True
    for name, motion in MOTIONS.items():
        shape, chain = swept(motion)[0], problems(motion)[:21]
        for jacobians in (False, True):
            walks = {
                nodes: walk_collocation(chain, shape.position, shape.twist, nodes, jacobians) for nodes in (11, 21, 50)
            }
            best = min((w.failed, w.seconds, nodes) for nodes, w in walks.items())
            failed, theirs, nodes = best
            ratio = theirs / steps[name]
            kind = "with exact Jacobians" if jacobians else "as it comes"
            tail = verdict(ratio, WARM_BAR) if not jacobians else f"{ratio:8.1f}"
            failures = f", {failed} failed" if failed else ""
            print(f"{name:24} {kind:21} {1e3 * theirs:8.2f} ({nodes} nodes{failures}); ours {1e3 * steps[name]:.3f}")
            print(f"{'':26}ratio {tail}")
            good &= jacobians or ratio >= WARM_BAR
    return good


def cold() -> bool:
    print("\nOne shape from nothing, milliseconds: solve_bvp from cubics of three handles and a straight line in turn")
    rows = {name: ([first_pose(motion)], [problems(motion)[0]]) for name, motion in MOTIONS.items()}
    random = list(spatial_problems(seed=2024, count=SPANS))
    rows[f"{SPANS} random spans"] = [span_of(problem) for problem in random], random
    good = True
    for name, (spans, chosen) in rows.items():
        ours = [
            interleaved({"one": partial(_solve, replace(s, quick=True)), "all": partial(_solve, s)}, 9) for s in spans
        ]
        one, every = (np.array([each[key] for each in ours]) for key in ("one", "all"))
        print(f"{name:24} ours: one start {1e3 * np.median(one):.2f}, all starts {1e3 * np.median(every):.2f}")
        for jacobians in (False, True):
            tried = [cold_collocation(problem, jacobians) for problem in chosen]
            theirs, found = (np.array(column) for column in zip(*tried, strict=True))
            kind = "with exact Jacobians" if jacobians else "as it comes"
            failed = f", no shape in {(found == 0).sum()} of {len(found)}" if (found == 0).any() else ""
            print(f"{'':26}{kind:21} {1e3 * np.median(theirs):8.1f}{failed}")
            ratios = float(np.median(theirs / one)), float(np.median(theirs / every))
            barred = len(chosen) > 1 and not jacobians
            good &= not barred or (ratios[0] >= ONE_START_BAR and ratios[1] >= ALL_STARTS_BAR)
            for which, ratio, bar in zip(
                ("one start", "all starts"), ratios, (ONE_START_BAR, ALL_STARTS_BAR), strict=True
            ):
                print(f"{'':28}over {which:12} {verdict(ratio, bar) if barred else f'{ratio:8.1f}'}")
    return good


def all_cores() -> bool:
    """Least times of many short rounds: the cores are asked for at the same moment, which other work must not have."""
    print(f"\nAll cores ({CORES}): motions one after the other and at once, beside bare arithmetic")
    tasks = [MOTIONS["held in roll, weight"]] * 2 * CORES
    with ThreadPoolExecutor(CORES) as pool:
        calls: dict[str, Callable[[], object]] = {
            "one": lambda: [swept(task) for task in tasks],
            "all": lambda: sweeps(tasks),
        }
        calls["bare one"] = lambda: [arithmetic(3_000_000) for _ in tasks]
        calls["bare all"] = lambda: list(pool.map(arithmetic, [3_000_000] * len(tasks)))
        least = interleaved(calls, 60, np.min)
    ours = least["one"] / least["all"]
    print(f"a pose on all cores {1e6 * least['all'] / len(tasks) / POSES:.1f} us, its share of the first one included")
    bare = least["bare one"] / least["bare all"]
    print(f"speed-up {ours:.2f}, bare arithmetic {bare:.2f}; part of it {verdict(ours / bare, CORES_BAR)}")
    return ours / bare >= CORES_BAR


def main() -> None:
    warm_up()
    steps = warm_steps()
    good = [warm_against_collocation(steps), cold(), all_cores()]
    sys.exit(not all(good))


if __name__ == "__main__":
    main()
