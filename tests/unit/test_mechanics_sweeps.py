"""Sweeps: branches, snaps, statuses, and what calling them costs besides time."""

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from hosewright.errors import ArgumentError
from hosewright.mechanics import Section, Shape, Shapes, Span, Support, equilibrium, starts, sweep, sweeps, terms, walk
from hosewright.mechanics.kernel import cache_folder
from hosewright.mechanics.rod import make_work

X, Y, Z = np.eye(3)
LIGHT = Section(1.0, 3.0, 1e5)
HEAVY = Section(1.0, 3.0, 1e5, 2.0)
HELD = Support((0, 0, 0), X, Y)


def leaning(angles: np.ndarray) -> np.ndarray:
    """Directions in the x-z plane, (m, 3)."""
    return np.stack([np.cos(angles), 0 * angles, np.sin(angles)], axis=1)


def swing(poses: int, gap: float = 0.5, turn: float = 1.2) -> Span:
    """A hose hung between a fixed end and one that swings away and turns up."""
    angles = np.linspace(0, turn, poses)
    place = gap * np.stack([np.cos(angles), 0.2 * angles, np.sin(angles)], axis=1)
    return Span(HEAVY, 1.0, Support((0, 0, 0), -Z, X), Support(place, leaning(np.pi / 2 + angles), leaning(angles)))


def swept(span: Span) -> Shapes:
    return sweep(span.section, span.length, span.a, span.b, elements=span.elements)


# -- order


def spatial(elements: int) -> Shape:
    b = Support((0.5, 0.25, 0.2), (-0.2, 0.6, 1.0), (1.0, 0.5, 0.0))
    return equilibrium(Section(1.0, 5.0, 1e5, 8.0), 1.0, Support((0, 0, 0), X, Z), b, elements=elements)


def test_fourth_order_of_place_twist_and_least_radius() -> None:
    """Half the elements, some sixteen times the error, against 256 elements; all on one branch."""
    fine, errors = spatial(256), []
    for elements in (16, 32, 64):
        shape = spatial(elements)
        place = np.abs(shape.position - fine.position[:: 256 // elements]).max()
        errors.append([place, abs(shape.twist - fine.twist), abs(shape.least_radius - fine.least_radius)])
    order = np.log2(errors[0] / np.array(errors[2])) / 2
    assert (order > 3.4).all(), (order, errors)
    assert errors[2][0] < 4e-6


# -- snaps


def tilted(angles: np.ndarray) -> tuple[tuple[np.ndarray, np.ndarray], ...]:
    return ((0.0 * X, angles), (0.9 * X, -angles))


@pytest.mark.parametrize("poses", [30, 60, 240])
def test_snap_of_a_tilted_arch_is_found_and_placed(poses: int) -> None:
    """Both ends turned down together: at angle zero the arch may bow any way, past it the other side is lower."""
    angles = np.linspace(0.6, -0.9, poses)
    shapes = sweep(LIGHT, 1.0, *(Support(x, leaning(angle), Y) for x, angle in tilted(angles)))
    assert len(shapes.snaps) == 1
    step = angles[0] - angles[1]
    assert np.interp(shapes.snaps[0], np.arange(poses), angles) == pytest.approx(0.0, abs=step / 8)
    jumped = int(np.flatnonzero(shapes.jumped_at)[0])
    assert shapes.status[jumped] == "near snap"
    assert shapes.position[jumped - 1, 24, 2] > 0.1
    assert shapes.position[jumped, 24, 2] < -0.1
    lowest = equilibrium(LIGHT, 1.0, *(Support(x, leaning(angle)[jumped], Y) for x, angle in tilted(angles)))
    assert shapes.energy[jumped] == pytest.approx(lowest.energy, rel=1e-9)
    assert shapes.converged.all()


@pytest.mark.parametrize(("shortening", "poses"), [(0.01, 41), (0.01, 201), (0.0025, 101)])
def test_snap_of_a_strip_in_its_plane(shortening: float, poses: int) -> None:
    """One end of a buckled strip turned, the other held level: it snaps at angle 1.7818 sqrt(shortening).

    M. Gomez, D. E. Moulton, D. Vella, Critical slowing down in purely elastic snap-through instabilities, Nature
    Physics 13, 2017 (from memory), for small angles. Springs across keep the round rod in the plane, as a strip is.
    """
    n, angles = 48, np.linspace(2.2, -2.2, poses) * np.sqrt(shortening)
    ends = np.zeros((poses, 6, 3))
    ends[:, 1], ends[:, 2], ends[:, 3], ends[:, 4], ends[:, 5] = leaning(angles), Y, (1 - shortening) * X, X, Y
    path = walk.Path(ends, np.ones(poses), np.zeros((poses, 3)), 3.0, 1e7)
    across = np.tile(np.diag([0.0, 1e4, 0.0]), (n - 1, 1, 1))
    springs = terms.Springs(np.arange(1, n), np.zeros((n - 1, 3)), across)
    x, work, out = np.empty((1, n + 1, 3)), make_work(n, 1), np.empty((1, 5))
    four = ends[0, [0, 1, 3, 4]]
    starts.draw_starts(four, 1.0, starts.bulge_sides(four, None), 0, x)
    for stretch in (1e3, 3e4, 1e6):
        walk.settle(path, stretch, np.zeros(1, dtype=int), x, np.zeros(1), True, springs, work, out)
    track = walk.make_track(poses, n)
    walk.walk(path, springs, work, x[0], 0.0, track, walk.LEVELS)
    jumped = track.scalars[:, walk.JUMPED]
    (pose,) = np.flatnonzero(jumped)
    angle = np.interp(pose - 1 + jumped[pose], np.arange(poses), angles)
    assert angle / np.sqrt(shortening) == pytest.approx(-1.7818, abs=0.002)
    assert (track.scalars[:, walk.CONVERGED] == 1.0).all()


@pytest.mark.parametrize("poses", [7, 25, 200])
def test_no_snap_on_a_smooth_swing(poses: int) -> None:
    shapes = swept(swing(poses))
    assert shapes.snaps == ()
    assert not shapes.jumped_at.any()
    assert set(shapes.status) == {"ok"}


def test_few_poses_and_many_end_in_one_shape() -> None:
    few, many = swept(swing(7)), swept(swing(200))
    assert few.position[-1] == pytest.approx(many.position[-1], abs=1e-7)
    assert few.twist[-1] == pytest.approx(many.twist[-1], abs=1e-7)


# -- branches


def test_a_length_ramp_follows_one_branch() -> None:
    """Laid down between ends that lean up, a shorter hose lies so too, though a first shape would lie above."""
    a, b = Support((0, 0, 0), X + 0.1 * Z, Y), Support(0.6 * X, X - 0.1 * Z, Y)
    down = equilibrium(LIGHT, 1.0, a, b, bow=-Z)
    ramp = sweep(LIGHT, np.linspace(1.0, 0.9, 6), a, b, start=down)
    back = sweep(LIGHT, np.linspace(0.9, 1.0, 11), a, b, start=ramp[-1])
    assert ramp.length == pytest.approx(np.linspace(1.0, 0.9, 6))
    assert ramp.position[0] == pytest.approx(down.position, abs=1e-8)
    assert down.position[24, 2] < -0.2
    assert (np.diff(ramp.position[:, 24, 2]) > 0.0).all()
    assert ramp.position[-1, 24, 2] < -0.15
    assert back.position[-1] == pytest.approx(down.position, abs=1e-7)
    assert equilibrium(LIGHT, 0.9, a, b).position[24, 2] > 0.25


def rolled(start: float, end: float, poses: int) -> tuple[Support, Support]:
    angles = np.linspace(start, end, poses)
    references = np.stack([0 * angles, np.cos(angles), np.sin(angles)], axis=1)
    return Support((0, 0, 0), X, Y), Support(0.97 * X, X, references)


def test_start_keeps_the_count_of_twist() -> None:
    first = sweep(Section(1.0, 1.0, 1e5, 5.0), 1.0, *rolled(0.0, 4.0, 21))
    again = sweep(Section(1.0, 1.0, 1e5, 5.0), 1.0, *rolled(4.0, 4.2, 3), start=first[-1])
    alone = sweep(Section(1.0, 1.0, 1e5, 5.0), 1.0, *rolled(4.0, 4.2, 3))
    assert first.twist[-1] > np.pi
    assert again.twist[0] == pytest.approx(first.twist[-1], abs=1e-6)
    assert again.twist[-1] > again.twist[0]
    assert -np.pi < alone.twist[0] <= np.pi
    assert abs(alone.twist[0] - first.twist[-1]) > 1.0


def test_start_must_have_as_many_elements() -> None:
    shape = equilibrium(HEAVY, 1.0, HELD, Support(0.8 * X, X, Y), elements=24)
    with pytest.raises(ArgumentError, match=r"24.*48"):
        sweep(HEAVY, 1.0, HELD, Support(0.8 * X, X, Y), start=shape)


@pytest.mark.parametrize("bow", [Z, -Z, Y, -Y, Y + Z], ids=["up", "down", "left", "right", "between"])
def test_bow_picks_the_side(bow: np.ndarray) -> None:
    """A straight run without weight lies any way: it lies where it is told."""
    shape = equilibrium(LIGHT, 1.0, HELD, Support(0.8 * X, X, Y), bow=3.0 * bow)
    middle = shape.position[24, 1:] / np.linalg.norm(shape.position[24, 1:])
    assert middle @ bow[1:] / np.linalg.norm(bow) > 0.5
    assert shape.converged


def test_bow_costs_energy_and_the_lowest_shape_is_among_the_others() -> None:
    a, b = Support((0, 0, 0), X + 0.3 * Z, Y), Support(0.6 * X, X - 0.3 * Z, Y)
    lowest, down = equilibrium(LIGHT, 1.0, a, b), equilibrium(LIGHT, 1.0, a, b, bow=-Z)
    assert lowest.position[24, 2] > 0.3
    assert down.position[24, 2] < -0.15
    assert down.energy > 1.5 * lowest.energy
    for shape, other in ((lowest, down), (down, lowest)):
        assert min(np.abs(nodes - other.position).max() for nodes in shape.others) < 1e-6
        assert min(np.abs(nodes - shape.position).max() for nodes in shape.others) > 0.1


# -- statuses


def statuses() -> dict[str, tuple[Section, float, Support, Support, int]]:
    there = Support((0.5, 0, 0.1), X, Y)
    return {
        "ok": (HEAVY, 1.0, HELD, there, 48),
        "under-resolved": (LIGHT, 1.0, HELD, Support(0.05 * X, -X), 8),
        "stretched": (LIGHT, 1.0, HELD, Support(1.02 * X, X), 48),
        "near snap": (LIGHT, 1.0, Support((0, 0, 0), X), Support(0.999 * X, X), 48),
        "not converged": (Section(1.0, 1e9, 1e6), 1.0, HELD, Support((0.5, 0, 0.1), X, Z), 48),
    }


@pytest.mark.parametrize("status", statuses())
def test_status(status: str) -> None:
    section, length, a, b, elements = statuses()[status]
    shape = equilibrium(section, length, a, b, elements=elements)
    assert shape.status == status
    assert shape.converged == (status != "not converged")
    assert status in str(shape)


# -- many at once


def test_a_span_may_be_given_in_three_ways() -> None:
    """And comes out in the same bits as from ``sweep``, in the order asked."""
    span = swing(12)
    fields = {"section": span.section, "length": 1.1, "a": span.a, "b": span.b}
    alone = [swept(span), sweep(**fields), swept(span)]
    many = sweeps([span, fields, (span.section, span.length, span.a, span.b)])
    for one, other in zip(alone, many, strict=True):
        for name in ("position", "curvature", "least_radius", "twist", "energy", "force_a", "moment_b", "residual"):
            assert np.array_equal(getattr(one, name), getattr(other, name)), name
        assert one.status == other.status
    assert not np.array_equal(many[0].position, many[1].position)


def test_shapes_are_a_sequence() -> None:
    shapes = swept(swing(12))
    assert len(shapes) == len(list(shapes)) == 12
    assert np.array_equal(shapes[-1].position, shapes.position[11])
    part = shapes[2:5]
    assert [shape.energy for shape in part] == shapes.energy[2:5].tolist()
    assert part.error_estimate == pytest.approx(shapes.error_estimate[2:5])
    with pytest.raises(IndexError):
        shapes[12]


def test_compiled_code_is_kept_apart_for_each_state_of_the_sources() -> None:
    """However a kernel is imported first: numba by itself would go on using callers of an older state."""
    assert Path(walk.walk.stats.cache_path).is_relative_to(cache_folder())


def test_the_kernels_are_compiled_once() -> None:
    """Another layout of an array or another type of a number would have the whole solver compiled a second time."""
    code = """
import numpy as np
from hosewright.mechanics import Section, Support, first, starts, sweep, walk
b = Support(np.linspace((0.6, 0, 0), (0.7, 0, 0), 3), (1, 0, 0.2), (0, 1, 0))
for length in (1, np.linspace(1.0, 1.1, 3)):
    shapes = sweep(Section(1, 3, 1e5, 2), length, Support((0, 0, 0), (1, 0, 0), (0, 1, 0)), b, bow=(0, 0, 1))
    shapes.error_estimate, sweep(Section(1, 3), length, Support((0, 0, 0), (1, 0, 0)), b, start=shapes[0])
for kernel in (starts.draw_starts, first.settle, walk.walk, walk.make_track, first.make_work):
    assert len(kernel.signatures) == 1, kernel
"""
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_the_compiler_is_not_loaded_until_a_shape_is_asked_for() -> None:
    code = "import sys, hosewright.mechanics; sys.exit('numba' in sys.modules or 'scipy' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def resident() -> int:
    """Memory of this process in bytes; the compiled code's own arrays are not seen by Python's tracer."""
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE")


@pytest.mark.skipif(not Path("/proc/self/statm").exists(), reason="the system does not tell a process its memory")
def test_memory_does_not_grow_with_the_number_of_sweeps() -> None:
    """600 spans of 40 poses leave some 45 kB of results each: 27 MB if they were kept, and as much of work arrays."""
    span = swing(40)
    sweeps([span] * 100)
    before = resident()
    for _ in range(6):
        sweeps([span] * 100)
    assert resident() - before < 10e6
