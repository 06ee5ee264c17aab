"""The roll of one end against the other along a given shape: closed forms of differential geometry.

References
----------
D. J. Struik, Lectures on Classical Differential Geometry, 2nd ed., 1961, sections 1-6 (torsion of the helix) and 4-1
(a direction carried round a loop on the sphere turns by the area within).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from hosewright.mechanics import Section, Support, carried_roll, sweep


def helix(turn: float, radius: float, rise: float, elements: int) -> tuple[np.ndarray, ...]:
    """Nodes, end directions and end normals of a helix about z; ``rise`` per radian, negative left-handed."""
    t = np.linspace(0.0, turn, elements + 1)
    nodes = np.stack([radius * np.cos(t), radius * np.sin(t), rise * t], axis=1)
    directions = np.stack([-radius * np.sin(t), radius * np.cos(t), np.full_like(t, rise)], axis=1)
    directions /= math.hypot(radius, rise)
    normals = np.stack([-np.cos(t), -np.sin(t), np.zeros_like(t)], axis=1)
    return tuple(array[None] for array in (nodes, directions[0], directions[-1], normals[0], normals[-1]))


def apart(angle: np.ndarray | float, other: float) -> float:
    return abs(math.remainder(float(np.squeeze(angle)) - other, math.tau))


@pytest.mark.parametrize("rise", [0.1, 0.35, -0.2])
@pytest.mark.parametrize("turn", [1.0, 2.5, 6.0])
def test_helix_rolls_by_its_torsion(rise: float, turn: float) -> None:
    """The normal turns about the tangent by the torsion times the length, rise / (r^2 + rise^2) x length."""
    radius = 0.4
    total = rise / math.hypot(radius, rise) * turn
    assert apart(carried_roll(*helix(turn, radius, rise, 96)), total) < 2e-5


def test_fourth_order() -> None:
    total = 0.3 / 0.5 * 4.0
    coarse, fine = (apart(carried_roll(*helix(4.0, 0.4, 0.3, elements)), total) for elements in (24, 48))
    assert coarse < 1e-3
    assert 13.0 < coarse / fine < 19.0


def test_plane_shapes_do_not_roll() -> None:
    """The normal of the plane stays the normal, however the curve bends, loops included."""
    t = np.linspace(0.0, 1.0, 49)
    heading = 7.0 * t - 9.0 * t**2 + 1.5 * np.sin(8.0 * t)
    step = np.stack([np.cos(heading), np.sin(heading), np.zeros_like(t)], axis=1)
    nodes = np.concatenate([np.zeros((1, 3)), np.cumsum(0.5 * (step[1:] + step[:-1]), axis=0)])
    normal = np.array([[0.0, 0.0, 1.0]])
    turned = Rotation.from_rotvec([0.5, 1.2, -0.3]).as_matrix()
    shape = [nodes[None] @ turned.T, *(x[None] @ turned.T for x in (step[0], step[-1])), normal @ turned.T]
    assert carried_roll(*shape, normal @ turned.T)[0] == pytest.approx(0.0, abs=1e-12)
    assert carried_roll(*shape, np.cross(step[-1], normal) @ turned.T)[0] == pytest.approx(math.pi / 2.0, abs=1e-12)


def test_sense_and_range() -> None:
    """Right-handed about the direction from a to b, half a turn counts as plus."""
    nodes = np.linspace(0.0, 1.0, 9)[:, None] * np.array([1.0, 0.0, 0.0])
    x, y = np.eye(3)[:1], np.eye(3)[1:2]
    for angle in (0.4, -2.0, math.pi):
        reference = np.array([[0.0, math.cos(angle), math.sin(angle)]])
        assert carried_roll(nodes[None], x, x, y, reference)[0] == pytest.approx(angle, abs=1e-12)


def test_same_from_the_other_end() -> None:
    nodes, direction_a, direction_b, normal_a, normal_b = helix(3.0, 0.4, 0.25, 48)
    there = carried_roll(nodes, direction_a, direction_b, normal_a, normal_b)
    back = carried_roll(nodes[:, ::-1], -direction_b, -direction_a, normal_b, normal_a)
    assert apart(there, float(back[0])) < 1e-12


@pytest.mark.parametrize("tilt", [0.3, 0.7])
def test_loop_of_directions_rolls_by_the_solid_angle(tilt: float) -> None:
    """End b led round a cone, never turning about its own axis, comes home rolled by 2 pi (1 - cos tilt)."""
    up = np.linspace(0.0, tilt, 30)
    ways = [
        [Rotation.from_euler("y", part) for part in up],
        [Rotation.from_euler("ZYZ", (t, tilt, -t * math.cos(tilt))) for t in np.linspace(0.0, math.tau, 121)],
        [Rotation.from_euler("ZYZ", (math.tau, part, -math.tau * math.cos(tilt))) for part in up[::-1]],
    ]
    axes = np.array([rotation.as_matrix() for way in ways for rotation in way])
    solid_angle = math.tau * (1.0 - math.cos(tilt))
    a, z, x = (0.0, 0.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)
    b = (0.6, 0.0, 0.5)
    free = sweep(Section(5.0, 50.0, 1e6), 0.8, Support(a, z), Support(b, axes[:, :, 2]))
    many = len(axes)
    rolls = carried_roll(free.position, np.tile(z, (many, 1)), axes[:, :, 2], np.tile(x, (many, 1)), axes[:, :, 0])
    assert np.unwrap(rolls)[0] == pytest.approx(0.0, abs=1e-9)
    assert np.unwrap(rolls)[-1] == pytest.approx(solid_angle, abs=1e-6)
    soft = sweep(Section(5.0, 0.05, 1e6), 0.8, Support(a, z, x), Support(b, axes[:, :, 2], axes[:, :, 0]))
    assert soft.twist[-1] == pytest.approx(solid_angle, rel=1e-3)
    stiff = sweep(Section(5.0, 50.0, 1e6), 0.8, Support(a, z, x), Support(b, axes[:, :, 2], axes[:, :, 0]))
    assert stiff.converged.all()
    assert 0.5 * solid_angle < stiff.twist[-1] < solid_angle  # it gives way by bending out of its plane
