"""The kernel line by line: derivatives against differences, linear algebra against dense matrices."""

from collections.abc import Callable
from types import SimpleNamespace

import numpy as np
import pytest

from hosewright.mechanics import starts, terms, walk
from hosewright.mechanics.rod import make_work
from interpreted import PLAIN, random_ends

ELEMENTS = 9
FREE = 3 * (ELEMENTS - 1)
KINDS = {
    "bend and stretch": (0.0, 0.0),
    "with weight": (0.0, 20.0),
    "with twist": (5.0, 0.0),
    "with both": (9.0, 40.0),
}
CASES = [(seed, *kind) for seed, kind in enumerate(KINDS.values())] + [(seed, 7.0, 10.0) for seed in (11, 12, 13)]
IDS = [*KINDS, "both again", "both a third time", "both a fourth time"]


def random_rod(seed: int, twist: float, weight: float) -> SimpleNamespace:
    """A wavy rod that is far from rest: rod, nodes, measured work arrays, twist."""
    rng = np.random.default_rng(seed)
    ends = random_ends(rng, rng.uniform(0.3, 0.9))
    x = np.empty((1, ELEMENTS + 1, 3))
    four = ends[[0, 1, 3, 4]]
    starts.draw_starts(four, 1.0, starts.bulge_sides(four, None), 0, x)
    x = x[0]
    x[1:-1] += rng.normal(scale=0.02, size=(ELEMENTS - 1, 3))
    rod = PLAIN.rod.Rod(1.0, twist, 300.0, weight * rng.normal(size=3))
    work = PLAIN.rod.make_work(ELEMENTS, 2)
    PLAIN.walk.hold(work, ends)
    _, turn = PLAIN.rod.energy(x, rod, work, 1.0)
    return SimpleNamespace(rng=rng, rod=rod, work=work, x=x, turn=turn)


def moved(x: np.ndarray, step: np.ndarray) -> np.ndarray:
    """Nodes with the free ones shifted by a vector over the unknowns."""
    found = x.copy()
    found[1:-1] += step.reshape(-1, 3)
    return found


def differences(function: Callable[[np.ndarray], np.ndarray], step: float) -> np.ndarray:
    """Central differences of fourth order about zero, one row per unknown."""
    rows = []
    for way in step * np.eye(FREE):
        near = np.asarray(function(way)) - function(-way)
        far = np.asarray(function(2 * way)) - function(-2 * way)
        rows.append((8.0 * near - far) / (12.0 * step))
    return np.array(rows)


def dense(work: SimpleNamespace) -> np.ndarray:
    """The band as a full symmetric matrix."""
    full = np.zeros((len(work.band), len(work.band)))
    for row, line in enumerate(work.band):
        for off, value in enumerate(line[: len(full) - row]):
            full[row, row + off] = full[row + off, row] = value
    return full


def whole(work: SimpleNamespace, borders: int) -> np.ndarray:
    columns = work.border[:borders]
    return dense(work) + columns.T @ (columns / work.compliance[:borders, None])


@pytest.mark.parametrize(("seed", "twist", "weight"), CASES, ids=IDS)
def test_gradient_is_the_slope_of_the_energy(seed: int, twist: float, weight: float) -> None:
    case = random_rod(seed, twist, weight)
    PLAIN.rod.assemble(case.rod, case.work, case.turn)
    found = case.work.gradient.copy()
    slope = differences(lambda step: PLAIN.rod.energy(moved(case.x, step), case.rod, case.work, case.turn)[0], 1e-4)
    assert found == pytest.approx(slope, abs=1e-7 * np.abs(slope).max())


@pytest.mark.parametrize(("seed", "twist", "weight"), CASES, ids=IDS)
def test_band_and_border_are_the_slope_of_the_gradient(seed: int, twist: float, weight: float) -> None:
    case = random_rod(seed, twist, weight)
    borders = PLAIN.rod.assemble(case.rod, case.work, case.turn)
    found = whole(case.work, borders)

    def gradient(step: np.ndarray) -> np.ndarray:
        _, turn = PLAIN.rod.energy(moved(case.x, step), case.rod, case.work, case.turn)
        PLAIN.rod.slopes(case.rod, case.work, turn)
        return case.work.gradient.copy()

    slope = differences(gradient, 1e-4)
    assert borders == (1 if twist > 0.0 else 0)
    assert found == pytest.approx(slope, abs=1e-7 * np.abs(slope).max())


@pytest.mark.parametrize(("seed", "twist", "weight"), CASES[2:], ids=IDS[2:])
def test_border_is_the_slope_of_the_twist(seed: int, twist: float, weight: float) -> None:
    case = random_rod(seed, twist, weight)
    PLAIN.rod.assemble(case.rod, case.work, case.turn)
    found = case.work.border[0].copy()
    slope = differences(lambda step: PLAIN.rod.energy(moved(case.x, step), case.rod, case.work, case.turn)[1], 1e-4)
    assert found == pytest.approx(slope, abs=1e-7 * np.abs(slope).max())
    assert case.work.compliance[0] == pytest.approx(case.rod.length / twist)


def test_twist_is_counted_near_the_last_one() -> None:
    case = random_rod(3, 5.0, 0.0)
    for turns in (-2, 0, 1):
        near = case.turn + 2 * np.pi * turns + 0.5
        assert PLAIN.rod.total_twist(case.work, near) == pytest.approx(case.turn + 2 * np.pi * turns)


def random_system(rng: np.random.Generator, borders: int, shift: float) -> SimpleNamespace:
    """A banded matrix whose least eigenvalue is ``shift`` when the border is left out, with border columns."""
    work = PLAIN.rod.make_work(ELEMENTS, 2)
    for row, line in enumerate(work.band):
        line[: FREE - row] = rng.normal(size=min(len(line), FREE - row))
    work.band[:, 0] += shift - np.linalg.eigvalsh(dense(work))[0]
    work.border[:borders] = rng.normal(size=(borders, FREE))
    work.compliance[:borders] = rng.uniform(0.2, 2.0, borders)
    return work


@pytest.mark.parametrize("borders", [0, 1, 2])
@pytest.mark.parametrize("seed", range(4))
def test_solution_of_a_banded_system_with_border(borders: int, seed: int) -> None:
    rng = np.random.default_rng([seed, borders])
    work = random_system(rng, borders, 0.5)
    right = rng.normal(size=FREE)
    padded = np.append(right, np.full(PLAIN.rod.BANDWIDTH + 1, np.nan))
    assert PLAIN.banded.factorise(work, borders, 0.3)
    PLAIN.banded.solve(work, borders, padded)
    exact = np.linalg.solve(whole(work, borders) + 0.3 * np.eye(FREE), right)
    assert padded[:FREE] == pytest.approx(exact, rel=1e-9, abs=1e-11)


def lifted(rng: np.random.Generator, borders: int) -> SimpleNamespace:
    """A band with as many negative eigenvalues as there are border columns, which lift them."""
    work = random_system(rng, borders, 1.0)
    _, ways = np.linalg.eigh(dense(work))
    for column in range(borders):  # bend the band down along its softest ways; a band again, so only roughly
        work.border[column] = ways[:, column]
    values = np.linalg.eigvalsh(dense(work))
    work.band[:, 0] -= 0.5 * (values[borders - 1] + values[borders])
    work.compliance[:borders] = 0.2 / (values[borders] - values[0])
    return work


@pytest.mark.parametrize("borders", [1, 2])
@pytest.mark.parametrize("seed", range(4))
def test_indefinite_band_that_the_border_makes_positive(borders: int, seed: int) -> None:
    rng = np.random.default_rng([seed, borders])
    work = lifted(rng, borders)
    assert (np.linalg.eigvalsh(dense(work)) < 0.0).sum() == borders
    assert np.linalg.eigvalsh(whole(work, borders))[0] > 0.0
    right = rng.normal(size=FREE)
    padded = np.append(right, np.zeros(PLAIN.rod.BANDWIDTH + 1))
    assert PLAIN.banded.factorise(work, borders, 0.0)
    PLAIN.banded.solve(work, borders, padded)
    assert padded[:FREE] == pytest.approx(np.linalg.solve(whole(work, borders), right), rel=1e-7, abs=1e-9)


@pytest.mark.parametrize("borders", [0, 1, 2])
@pytest.mark.parametrize("seed", range(8))
def test_inertia(borders: int, seed: int) -> None:
    """Positive definite is called what has no negative eigenvalue, whatever the band by itself is."""
    rng = np.random.default_rng([seed, borders])
    work = random_system(rng, borders, rng.uniform(-3.0, 0.5))
    values = np.linalg.eigvalsh(whole(work, borders))
    for shift in np.concatenate([[0.0], -values[:3] + [[1e-3], [-1e-3]]], axis=None):
        assert PLAIN.banded.factorise(work, borders, shift) == (values[0] + shift > 0.0)


def test_a_lost_pivot_is_not_positive_definite() -> None:
    work = PLAIN.rod.make_work(ELEMENTS, 1)
    assert not PLAIN.banded.factorise(work, 0, 0.0)
    work.band[:, 0] = np.nan
    assert not PLAIN.banded.factorise(work, 0, 0.0)


def test_lowest_eigenvalue() -> None:
    rng = np.random.default_rng(4)
    work = random_system(rng, 1, 0.5)
    mode = PLAIN.newton.scattered_mode(FREE)
    assert PLAIN.banded.factorise(work, 1, 0.25)
    found = PLAIN.newton.lowest_mode(work, 1, 0.25, mode, 60)
    assert found == pytest.approx(np.linalg.eigvalsh(whole(work, 1))[0], rel=1e-6)


def random_springs(rng: np.random.Generator) -> terms.Springs:
    sides = rng.normal(size=(2, 3, 3))
    return terms.Springs(np.array([2, ELEMENTS - 1]), rng.normal(size=(2, 3)), sides @ sides.transpose(0, 2, 1))


def test_springs_by_differences() -> None:
    case = random_rod(5, 4.0, 5.0)
    springs = random_springs(case.rng)
    borders = PLAIN.rod.assemble(case.rod, case.work, case.turn)
    gradient, band = case.work.gradient.copy(), dense(case.work)
    assert PLAIN.terms.add_springs(case.x, springs, case.work, borders) == borders

    def added(step: np.ndarray) -> float:
        return PLAIN.terms.springs_energy(moved(case.x, step), springs)

    slope = differences(added, 1e-3)
    curve = differences(lambda step: differences(lambda other: added(step + other), 1e-2), 1e-2)
    assert case.work.gradient - gradient == pytest.approx(slope, abs=1e-9 * np.abs(slope).max())
    assert dense(case.work) - band == pytest.approx(curve, abs=1e-8 * np.abs(curve).max())


def held_path(ends: np.ndarray, weight: float, twist: float = 0.0) -> walk.Path:
    return walk.Path(ends[None], np.ones(1), np.array([[0.0, 0.0, -weight]]), twist, 1e5)


def test_a_spring_bears_its_share() -> None:
    """Weight = both supports + spring, in force, and in moment about a: statics of the compiled walk."""
    n, weight, stiffness = 48, 30.0, 400.0
    ends = np.array([[0, 0, 0], [1, 0, 0.3], [0, 1, 0], [0.8, 0.1, 0], [1, 0, -0.2], [0, 1, 0]], dtype=float)
    ends[[1, 4]] /= np.linalg.norm(ends[[1, 4]], axis=1)[:, None]
    x = np.empty((1, n + 1, 3))
    four = ends[[0, 1, 3, 4]]
    starts.draw_starts(four, 1.0, starts.bulge_sides(four, None), 0, x)
    anchor = np.array([[0.4, 0.0, 0.15]])
    springs = terms.Springs(np.array([n // 2]), anchor, stiffness * np.eye(3)[None])
    path, track = held_path(ends, weight), walk.make_track(1, n)
    walk.walk(path, springs, make_work(n, 1), x[0], 0.0, track, walk.LEVELS)
    place = track.position[0]
    pull = stiffness * (anchor[0] - place[n // 2])  # of the spring on the hose
    force_a, moment_a, force_b, moment_b = track.loads[0]
    down = np.array([0.0, 0.0, -weight])
    assert np.abs(pull).max() > 1.0
    assert force_a + force_b == pytest.approx(down + pull, abs=1e-5 * weight)
    centre = (place[0] + place[-1] + 2 * place[1:-1].sum(axis=0)) / (2 * n)
    turned = np.cross(centre, down) + np.cross(place[n // 2], pull)
    assert moment_a + moment_b + np.cross(ends[3], force_b) == pytest.approx(turned, abs=2e-3 * weight)


def relaxed(case: SimpleNamespace, most_steps: int) -> tuple[float, bool]:
    found = case.x.copy()
    result = PLAIN.newton.relax(found, case.rod, terms.no_springs(), case.work, case.turn, most_steps)
    return result[3], result[0]


@pytest.mark.parametrize(("seed", "twist", "weight"), CASES[3:5], ids=IDS[3:5])
def test_energy_never_rises_on_the_way(seed: int, twist: float, weight: float) -> None:
    case = random_rod(seed, twist, weight)
    energies = [PLAIN.rod.energy(case.x, case.rod, case.work, case.turn)[0]]
    converged = False
    while not converged and len(energies) < 40:
        energy, converged = relaxed(case, len(energies))
        energies.append(energy)
    assert converged
    assert len(energies) > 4
    assert (np.diff(energies) <= 1e-12 * np.abs(energies).max()).all()


def test_compiled_and_plain_agree() -> None:
    """What the tests above say of the plain copy holds for the compiled kernel: the same shape to 1e-9."""
    case = random_rod(13, 7.0, 10.0)
    ends = np.array(
        [
            case.x[0],
            case.work.unit[0],
            case.work.references[0],
            case.x[-1],
            *case.work.unit[-1:],
            *case.work.references[1:],
        ]
    )
    shapes = {}
    for name, module in {"compiled": walk, "plain": PLAIN.walk}.items():
        x, out = case.x[None].copy(), np.empty((1, 5))
        path = module.Path(ends[None], np.ones(1), case.rod.weight[None], case.rod.twist, case.rod.stretch)
        work = make_work(ELEMENTS, 1)
        module.settle(path, path.stretch, np.zeros(1, dtype=int), x, np.zeros(1), False, terms.no_springs(), work, out)
        shapes[name] = x[0], out[0]
    assert shapes["compiled"][1][0] == 1.0
    assert shapes["compiled"][0] == pytest.approx(shapes["plain"][0], abs=1e-9)
    assert shapes["compiled"][1][3:] == pytest.approx(shapes["plain"][1][3:], rel=1e-9)
