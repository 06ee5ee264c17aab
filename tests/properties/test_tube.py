"""The tube's surface against Pappus's theorem: volume is section times the way of its centre."""

import numpy as np
import pytest
import trimesh
from hypothesis import given
from hypothesis import strategies as st

from hosewright.geometry.tube import tube


def polygon(radius, sides):
    return sides / 2.0 * np.sin(2.0 * np.pi / sides) * radius**2


def helix(radius, rise, turns, points):
    angle = np.linspace(0.0, 2.0 * np.pi * turns, points)
    return np.column_stack([radius * np.cos(angle), radius * np.sin(angle), rise * angle])


@given(st.floats(0.05, 2.0), st.floats(0.0, 0.2), st.floats(0.1, 0.9), st.integers(3, 40), st.floats(0.05, 0.9))
def test_volume_and_watertight(radius, rise, turns, sides, part):
    line = helix(radius, rise, turns, 200)
    mesh = trimesh.Trimesh(*tube(line, part * radius, sides), process=False)
    length = 2.0 * np.pi * turns * np.hypot(radius, rise)
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.volume == pytest.approx(polygon(part * radius, sides) * length, rel=1e-3)


@given(st.lists(st.floats(-1.0, 1.0), min_size=6, max_size=6))
def test_straight_bar_stands_square_on_its_ends(ends):
    a, b = np.array(ends[:3]), np.array(ends[3:]) + 3.0
    vertices, faces = tube(np.array([a, b]), 0.1)
    along = (b - a) / np.linalg.norm(b - a)
    depth = (vertices - a) @ along
    assert np.isclose(depth, 0.0, atol=1e-12).sum() == len(vertices) / 2
    assert np.isclose(depth, np.linalg.norm(b - a), rtol=1e-12).sum() == len(vertices) / 2
    assert trimesh.Trimesh(vertices, faces, process=False).is_watertight
