"""Distances against solids whose exact distance is known in closed form, and against a general optimiser."""

import numpy as np
import pytest
import trimesh
from scipy.optimize import minimize

from hosewright.geometry import (
    BoxShape,
    CapsuleShape,
    CylinderShape,
    Mesh,
    MeshShape,
    SphereShape,
    least_between,
    line_pairs,
)

RANDOM = np.random.default_rng(11)
POINTS = RANDOM.uniform(-1.2, 1.2, (4000, 3))


@pytest.fixture(autouse=True, scope="module")
def _cache_of_its_own(tmp_path_factory):
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("cache")))
        yield


def mesh_of(solid: trimesh.Trimesh) -> Mesh:
    return Mesh(np.asarray(solid.vertices), np.asarray(solid.faces), "test")


def test_sphere_mesh_lies_between_its_inner_and_outer_sphere():
    mesh = mesh_of(trimesh.creation.icosphere(subdivisions=4, radius=0.7))
    inner = np.abs(mesh.distance(np.zeros((1, 3))))[0]
    assert inner == pytest.approx(0.7, abs=2e-3)
    exact = np.linalg.norm(POINTS, axis=1)
    measured = mesh.distance(POINTS)
    assert (measured >= exact - 0.7 - 1e-12).all()  # the vertices lie on the sphere, the faces inside it
    assert (measured <= exact - inner + 1e-12).all()


def test_box_mesh_equals_the_closed_form():
    box = BoxShape((0.1, -0.2, 0.05), (0.6, 0.4, 1.0))
    mesh = mesh_of(trimesh.creation.box(extents=box.size).apply_translation(box.centre))
    np.testing.assert_allclose(mesh.distance(POINTS), box.distance(POINTS), atol=1e-12)


def test_cylinder_and_capsule_meshes_approach_the_closed_form():
    bar = CylinderShape((0.0, 0.0, -0.4), (0.0, 0.0, 0.4), 0.3)
    mesh = mesh_of(trimesh.creation.cylinder(radius=0.3, height=0.8, sections=400))
    np.testing.assert_allclose(mesh.distance(POINTS), bar.distance(POINTS), atol=0.3 * (1 - np.cos(np.pi / 400)) + 1e-9)
    capsule = CapsuleShape((0.0, 0.0, -0.4), (0.0, 0.0, 0.4), 0.3)
    mesh = mesh_of(trimesh.creation.capsule(radius=0.3, height=0.8, count=[200, 200]))
    np.testing.assert_allclose(mesh.distance(POINTS), capsule.distance(POINTS), atol=2e-4)


def test_torus_mesh_approaches_the_closed_form():
    torus = mesh_of(trimesh.creation.torus(major_radius=0.6, minor_radius=0.2, major_sections=300, minor_sections=120))
    exact = np.hypot(np.hypot(POINTS[:, 0], POINTS[:, 1]) - 0.6, POINTS[:, 2]) - 0.2
    # a chord lies radius x (1 - cos(pi / sections)) inside its circle
    sag = 0.8 * (1 - np.cos(np.pi / 300)) + 0.2 * (1 - np.cos(np.pi / 120))
    np.testing.assert_allclose(torus.distance(POINTS), exact, atol=sag)


def test_sign_holds_on_a_mesh_with_holes_doubled_faces_and_inward_faces():
    solid = trimesh.creation.icosphere(subdivisions=4, radius=0.7)
    faces = np.asarray(solid.faces)
    keep = RANDOM.random(len(faces)) > 0.01
    doubled = faces[RANDOM.random(len(faces)) < 0.05]
    dirty = Mesh(np.asarray(solid.vertices), np.concatenate([faces[keep], doubled]), "dirty")
    inward = Mesh(np.asarray(solid.vertices), faces[:, ::-1], "inward")
    radius = np.linalg.norm(POINTS, axis=1)
    clear = np.abs(radius - 0.7) > 0.05
    assert not dirty.watertight
    assert inward.watertight
    for mesh in (dirty, inward):
        assert ((mesh.distance(POINTS[clear]) < 0) == (radius[clear] < 0.7)).all()


def test_quick_distance_of_a_mesh_stays_within_its_proven_bound():
    mesh = mesh_of(trimesh.creation.icosphere(subdivisions=3, radius=0.7))
    shape = MeshShape(mesh, spacing=0.03)
    error = np.abs(shape.quick_distance(POINTS) - mesh.distance(POINTS))
    assert error.max() <= shape.tolerance
    assert shape.tolerance == pytest.approx(0.03 * np.sqrt(3) / 2, abs=2e-5)


def test_distance_of_segments_equals_that_of_a_general_optimiser():
    lines = RANDOM.uniform(-1, 1, (40, 4, 3))
    pairs = line_pairs(lines[:, :2], lines[:, 2:])

    def gap(part, a, b, c, d):
        return (((a + part[0] * (b - a)) - (c + part[1] * (d - c))) ** 2).sum()

    for pose, (a, b, c, d) in enumerate(lines):
        found = minimize(gap, [0.5, 0.5], args=(a, b, c, d), bounds=[(0, 1), (0, 1)], method="L-BFGS-B", tol=1e-14)
        assert pairs.distance[pose, 0, 0] == pytest.approx(np.sqrt(found.fun), abs=1e-5)


def test_coaxial_circles_keep_their_axial_distance():
    angle = np.linspace(0, 2 * np.pi, 65)
    circle = np.stack([np.cos(angle), np.sin(angle), 0 * angle], axis=1)
    least = least_between(np.stack([circle] * 3), circle + np.array([[[0, 0, 0.1]], [[0, 0, 0.2]], [[0, 0, 0.3]]]))
    np.testing.assert_allclose(least.distance, [0.1, 0.2, 0.3], rtol=1e-12)


@pytest.mark.parametrize("parallel", [True, False])
def test_parallel_and_crossing_segments(parallel):
    a = np.array([[[0, 0, 0], [1, 0, 0]]], dtype=float)
    b = np.array([[[2, 1, 0], [3, 1, 0]]], dtype=float) if parallel else np.array([[[0.5, -1, 2], [0.5, 1, 2]]])
    assert line_pairs(a, b).distance[0, 0, 0] == pytest.approx(np.sqrt(2) if parallel else 2.0)


def test_plain_shapes_at_points_worked_out_by_hand():
    np.testing.assert_allclose(SphereShape((1, 0, 0), 0.5).distance(np.array([[3, 0, 0], [1, 0, 0]])), [1.5, -0.5])
    turned = BoxShape((0, 0, 0), (2, 1, 1), along=(0, 1, 0), up=(1, 0, 0))
    np.testing.assert_allclose(turned.distance(np.array([[0, 2, 0], [1.5, 0, 0], [0, 0, 0]])), [1.0, 1.0, -0.5])
    bar = CylinderShape((0, 0, 0), (0, 0, 2), 0.5)
    np.testing.assert_allclose(bar.distance(np.array([[3.5, 0, 6], [0, 0, 1], [0, 0, 1.9]])), [5.0, -0.5, -0.1])
