"""What holds for every distance."""

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from hosewright.geometry import (
    BoxShape,
    CapsuleShape,
    CylinderShape,
    DistanceGrid,
    Frames,
    Mesh,
    MeshShape,
    SphereShape,
    least_between,
    least_distance,
    upright,
)

BLOCK = trimesh.creation.box(extents=(0.4, 0.2, 0.3))
MESH = Mesh(np.asarray(BLOCK.vertices), np.asarray(BLOCK.faces), "block")
SHAPES = [
    SphereShape((0.1, 0.2, 0.3), 0.4),
    BoxShape((0.1, 0.0, -0.2), (0.5, 0.3, 0.8), along=(1, 2, 0.5), up=(0, 0, 1)),
    CylinderShape((0, 0, 0), (0.3, 0.2, 0.6), 0.2),
    CapsuleShape((0, 0, 0), (0.3, 0.2, 0.6), 0.2),
    MeshShape(MESH, spacing=0.02),
]
numbers = st.integers(0, 2**31)


@pytest.fixture(autouse=True, scope="module")
def _cache_of_its_own(tmp_path_factory):
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("cache")))
        yield


def points(seed: int, *shape: int) -> np.ndarray:
    return np.random.default_rng(seed).uniform(-1.0, 1.0, (*shape, 3))


@pytest.mark.parametrize("shape", SHAPES)
@given(seed=numbers)
@settings(max_examples=20, deadline=None)
def test_no_distance_changes_faster_than_its_point_moves(shape, seed):
    here, there = points(seed, 2, 50)
    change = np.abs(shape.distance(here) - shape.distance(there))
    assert (change <= np.linalg.norm(here - there, axis=1) + 1e-12).all()


@pytest.mark.parametrize("shape", SHAPES)
@given(seed=numbers)
@settings(max_examples=20, deadline=None)
def test_bounds_hold_the_whole_solid(shape, seed):
    inside = points(seed, 200)
    inside = inside[shape.distance(inside) < 0]
    assert (inside >= shape.bounds[0] - 1e-12).all()
    assert (inside <= shape.bounds[1] + 1e-12).all()


@given(seed=numbers)
@settings(max_examples=20, deadline=None)
def test_distance_to_a_mesh_rides_with_it(seed):
    turn = Rotation.random(rng=np.random.default_rng(seed)).as_matrix()
    move = points(seed)
    cloud = points(seed, 60)
    np.testing.assert_allclose(
        MESH.placed(turn, move).distance(cloud @ turn.T + move), MESH.distance(cloud), atol=1e-12
    )


@given(seed=numbers)
@settings(max_examples=20, deadline=None)
def test_frames_take_points_out_and_back(seed):
    turn = Rotation.random(3, rng=np.random.default_rng(seed)).as_matrix()
    frames = Frames(points(seed, 3), turn)
    local = points(seed, 7)
    np.testing.assert_allclose(frames.local(frames.points(local)), np.broadcast_to(local, (3, 7, 3)), atol=1e-12)


@given(seed=numbers)
@settings(max_examples=20, deadline=None)
def test_upright_axes_are_a_right_handed_rotation_that_keeps_along_and_leans_to_up(seed):
    along, up = points(seed, 2, 5)
    axes = upright(along, up)
    np.testing.assert_allclose(axes @ axes.transpose(0, 2, 1), np.broadcast_to(np.eye(3), (5, 3, 3)), atol=1e-9)
    np.testing.assert_allclose(np.linalg.det(axes), 1.0, atol=1e-9)
    np.testing.assert_allclose(axes[:, :, 0] * np.linalg.norm(along, axis=1)[:, None], along, atol=1e-12)
    assert ((axes[:, :, 1] * up).sum(axis=1) > 0).all()


@given(seed=numbers)
@settings(max_examples=10, deadline=None)
def test_least_distance_through_the_grid_is_the_exact_least(seed):
    ball = trimesh.creation.icosphere(subdivisions=3, radius=0.5)
    shape = MeshShape(Mesh(np.asarray(ball.vertices), np.asarray(ball.faces), "ball"), spacing=0.1)
    lines = points(seed, 8, 200)
    least = least_distance(shape, lines)
    exact = shape.distance(lines)
    np.testing.assert_allclose(least.distance, exact.min(axis=1), atol=1e-12)
    np.testing.assert_allclose(exact[np.arange(8), least.index], least.distance, atol=1e-12)


@given(seed=numbers, spacing=st.floats(0.01, 0.2))
@settings(max_examples=15, deadline=None)
def test_grid_keeps_its_bound_inside_and_beyond_its_margin(seed, spacing):
    sphere = SphereShape((0, 0, 0), 0.3)
    grid = DistanceGrid(sphere.distance, sphere.bounds, spacing, margin=0.2)
    cloud = points(seed, 100) * 2.0
    assert np.abs(grid.distance(cloud) - sphere.distance(cloud)).max() <= grid.error_bound


@given(seed=numbers)
@settings(max_examples=20, deadline=None)
def test_least_between_is_symmetric_and_never_above_the_nodes_distance(seed):
    a, b = points(seed, 2, 3, 6)
    forth, back = least_between(a, b), least_between(b, a)
    np.testing.assert_allclose(forth.distance, back.distance, atol=1e-12)
    nodes = np.linalg.norm(a[:, :, None] - b[:, None], axis=-1).min(axis=(1, 2))
    assert (forth.distance <= nodes + 1e-12).all()
