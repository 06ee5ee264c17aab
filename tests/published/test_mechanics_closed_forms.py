"""Shapes, forces and limits of stability that are published in closed form."""

import numpy as np
import pytest
from scipy.interpolate import CubicSpline
from scipy.special import ellipe, ellipk

from closed_form_rods import Exact, buckled_column, double_cantilever, elastica, helix, parallel_u
from compared_rods import apart, program
from hosewright.mechanics import Section, Support, equilibrium
from reference_rod import Clamp, Problem, Rod

X, Y, Z = np.eye(3)
SHAPES = {
    "cantilevers, load 1": double_cantilever(1.0),
    "cantilevers, load 10": double_cantilever(10.0),
    "natural U": parallel_u(np.sqrt(0.5), long=False),
    "short U": parallel_u(0.9, long=False),
    "long U": parallel_u(0.8, long=True),
    "half a wave": elastica(0.7, 0.2, ellipk(0.49) + 0.5, length=0.6, stiffness=3.0),
    "right-handed helix": helix(0.6, 1.0, 0.5),
    "left-handed helix": helix(-0.5, 0.8, -0.7, length=2.5, stiffness=40.0),
    "helix twisted against itself": helix(0.3, 1.2, -1.0, twist_ratio=6.0),
    "arc": helix(0.4, np.pi / 2, 0.0),
}


@pytest.mark.parametrize("exact", SHAPES.values(), ids=SHAPES.keys())
def test_shape(exact: Exact) -> None:
    """Love 1927, sections 262-263 and 270: elastica and helix under its wrench, anywhere in space."""
    problem, shape = exact.problem, program(exact.problem)
    s = np.linspace(0, problem.length, len(shape.position))
    assert shape.converged
    assert np.linalg.norm(shape.position - exact.position(s), axis=1).max() < 1e-5 * problem.length
    assert shape.least_radius == pytest.approx(exact.least_radius, rel=2e-4)
    assert np.abs(shape.curvature - exact.curvature(s)).max() * exact.least_radius < 2e-4
    assert shape.twist == pytest.approx(exact.twist, abs=1e-5)
    assert apart(shape.force_a, exact.force_a, problem.force_scale) < 1e-3
    assert apart(shape.force_b, -exact.force_a, problem.force_scale) < 1e-3
    assert apart(shape.moment_a, exact.moment_a, problem.force_scale * problem.length) < 1e-3


@pytest.mark.parametrize(
    ("load", "shortening", "deflection", "slope", "rounding"),
    [
        (1, 0.05643, 0.30172, 0.46135, 7e-3),
        (2, 0.16064, 0.49346, 0.78175, 1.5e-3),
        (5, 0.38763, 0.71379, 1.21537, 1e-3),
        (10, 0.55500, 0.81061, 1.43029, 1e-3),
    ],
)
def test_cantilever(load: float, shortening: float, deflection: float, slope: float, rounding: float) -> None:
    """Bisshopp and Drucker 1945, in five figures by K. Mattiasson, Int. J. Num. Meth. Eng. 17, 1981 (from memory).

    Two cantilevers joined at their tips; held where the table puts the tip, the rod must carry the table's load.
    ``rounding`` is what a tip rounded to 5e-6 of the length leaves open of the load: most where the span is stiff.
    """
    stiffness, tip = 10.0, np.array([1 - shortening, deflection, 0.0])
    section = Section(stiffness, 3 * stiffness, 1e7 * stiffness, 0.0)
    shape = equilibrium(section, 2.0, a=Support((0, 0, 0), X), b=Support(2 * tip, X))
    assert apart(shape.force_b, np.array([0.0, -load * stiffness, 0.0]), 0.0) < rounding
    assert shape.position[24] == pytest.approx(tip, abs=2e-4)
    chord = shape.position[25] - shape.position[23]
    assert np.arctan2(chord[1], chord[0]) == pytest.approx(slope, abs=2e-3)
    assert shape.curvature[24] == pytest.approx(0.0, abs=1e-3)


def test_natural_u() -> None:
    """Between parallel ends the U of least energy is half a wave of the rectangular elastica (Love 1927, section 263).

    With gap w: length 2.18844 w, least radius 0.41731 w in the middle, height 0.83463 w, push 2.87108 EI/w^2; the ends
    carry no moment.
    """
    gap, stiffness = 0.3, 12.0
    section = Section(stiffness, 4 * stiffness, 1e7 * stiffness, 0.0)
    shape = equilibrium(section, 2.188440 * gap, a=Support((0, 0, 0), Z), b=Support(gap * X, -Z))
    assert shape.least_radius == pytest.approx(0.417310 * gap, rel=2e-3)
    assert shape.least_radius_at == pytest.approx(1.09422 * gap, abs=0.01 * gap)
    assert shape.position[24] == pytest.approx([gap / 2, 0, 0.834627 * gap], abs=2e-4 * gap)
    assert shape.force_b == pytest.approx(2.87108 * stiffness / gap**2 * X, abs=1e-3 * stiffness / gap**2)
    assert np.abs(shape.moment_a).max() < 2e-3 * stiffness / gap


def test_semicircle_and_quarter_circle() -> None:
    """Pure bending: constant curvature, no force, moment EI/R."""
    for angle in (np.pi / 2, np.pi):
        end = np.array([np.sin(angle), 0, 1 - np.cos(angle)])
        b = Support(0.2 * end, (np.cos(angle), 0, np.sin(angle)))
        shape = equilibrium(Section(5.0, 15.0, 1e7, 0.0), 0.2 * angle, a=Support((0, 0, 0), X), b=b)
        assert shape.least_radius == pytest.approx(0.2, rel=1e-3)
        assert shape.moment_a == pytest.approx(-25 * Y, abs=0.03)  # turned from x to z: about -y
        assert np.abs(shape.force_a).max() < 0.1


@pytest.mark.parametrize("modulus", [0.1, 0.35, 0.55])
def test_buckled_column(modulus: float) -> None:
    """Timoshenko and Gere 1961, section 2.7: distance L (2E/K - 1), bow k L/K, load 16 K^2 EI/L^2; bows any way."""
    exact, quarter = buckled_column(modulus, pose=(np.zeros(3), np.zeros(3))), ellipk(modulus**2)
    shape = program(exact.problem)
    bow = np.linalg.norm(shape.position[:, 1:] - shape.position[0, 1:], axis=1)
    assert bow[24] == pytest.approx(modulus / quarter, abs=2e-4)
    assert shape.force_b[0] == pytest.approx(16 * quarter**2 * 10.0, rel=1e-3)
    assert shape.least_radius == pytest.approx(1 / (8 * modulus * quarter), rel=2e-3)
    assert np.linalg.norm(exact.problem.offset) == pytest.approx(2 * ellipe(modulus**2) / quarter - 1, abs=1e-12)


def pressed(load: float) -> np.ndarray:
    """Bow of a clamped column that is pressed by load x 4 pi^2 EI/L^2 as long as it stays straight; EA = 1e4 EI/L^2."""
    closer = load * 4 * np.pi**2 / 1e4
    shape = equilibrium(Section(1.0, 3.0, 1e4, 0.0), 1.0, a=Support((0, 0, 0), X), b=Support(((1 - closer), 0, 0), X))
    if load < 1:
        assert shape.force_b == pytest.approx(1e4 * closer * X, abs=1e-3)
    return np.linalg.norm(shape.position[:, 1:], axis=1)


def test_column_buckles_at_four_pi_squared() -> None:
    """Euler's load of a clamped column. Shortening under load raises it by 0.4 % here."""
    assert pressed(0.97).max() < 1e-6
    assert pressed(1.03).max() > 0.005


def test_beam_under_its_weight() -> None:
    """Clamped at both ends: sag w L^4/(384 EI), end moments w L^2/12, each end carries half the weight."""
    shape = equilibrium(Section(10.0, 30.0, 1e5, 0.384), 1.0, a=Support((0, 0, 0), X), b=Support(X, X))
    assert -shape.position[24, 2] == pytest.approx(1e-4, rel=2e-3)
    assert shape.force_a[2] == pytest.approx(-0.192, rel=1e-3)
    assert shape.force_b[2] == pytest.approx(-0.192, rel=1e-3)
    assert shape.moment_a == pytest.approx(0.032 * Y, abs=6e-5)
    assert shape.moment_b == pytest.approx(-0.032 * Y, abs=6e-5)


def test_beam_whose_end_settles() -> None:
    """Slope-deflection: the settled end is pulled back by 12 EI d/L^3; moments 6 EI d/L^2."""
    shape = equilibrium(Section(10.0, 30.0, 1e4, 0.0), 1.0, a=Support((0, 0, 0), X), b=Support(X - 1e-4 * Z, X))
    assert shape.force_b[2] == pytest.approx(0.012, rel=2e-3)
    assert abs(shape.moment_a[1]) == pytest.approx(0.006, rel=2e-3)
    assert shape.moment_b[1] == pytest.approx(shape.moment_a[1], rel=2e-3)


@pytest.mark.parametrize("rise", [0.0, 0.4])
def test_catenary(rise: float) -> None:
    """A limp heavy rod hangs as z = c cosh(x/c) with tension w z (any textbook of statics), held along its tangents."""
    left, right = -1.2, 1.2 + rise
    length = np.sinh(right) - np.sinh(left)  # in units of c = 1
    weight, stiffness = 8.0, 8.0 * length**3 / 1e5
    foot = Support((left, 0, np.cosh(left)), (1, 0, np.sinh(left)))
    head = Support((right, 0, np.cosh(right)), (1, 0, np.sinh(right)))
    shape = equilibrium(Section(stiffness, 3 * stiffness, 1e6, weight), length, a=foot, b=head)
    s = np.linspace(0, length, len(shape.position)) + np.sinh(left)
    exact = np.stack([np.arcsinh(s), 0 * s, np.hypot(1, s)], axis=1)
    assert np.abs(shape.position - exact).max() < 1e-3 * length
    assert shape.force_a == pytest.approx([weight, 0, weight * np.sinh(left)], abs=5e-3 * weight)
    assert shape.force_b == pytest.approx([-weight, 0, -weight * np.sinh(right)], abs=5e-3 * weight)


def rolled(angle: float) -> Support:
    return Support(X, X, np.cos(angle) * Y + np.sin(angle) * Z)


def twisted_straight(torque: float) -> tuple[float, float, np.ndarray]:
    """Largest bow, twist and moment on a of a straight span of unit length and EI, GJ = 6, EA = 1000."""
    shape = equilibrium(Section(1.0, 6.0, 1e3, 0.0), 1.0, a=Support((0, 0, 0), X, Y), b=rolled(torque / 6.0))
    return np.linalg.norm(shape.position[:, 1:], axis=1).max(), shape.twist, shape.moment_a


def test_straight_span_buckles_under_twist() -> None:
    """Clamped, no axial force: u = tan u, u = M L/(2 EI) = 4.49341 (Love 1927, section 272; section from memory)."""
    bow, twist, moment = twisted_straight(0.98 * 8.98682)
    assert bow < 1e-6
    assert twist == pytest.approx(0.98 * 8.98682 / 6.0, abs=1e-9)
    assert moment == pytest.approx(0.98 * 8.98682 * X, abs=1e-6)
    bow, twist, _ = twisted_straight(1.02 * 8.98682)
    assert bow > 2e-3
    assert abs(twist) < 1.02 * 8.98682 / 6.0


def ring(link: float) -> tuple[float, float]:
    """Height out of its plane and twist of a rod of length 1, EI = 1, GJ = 6, closed to a ring after a roll."""
    circle = Problem(Rod(1.0, 6.0, 1e6), 1.0, Clamp(0 * X, X, Z), Clamp(0 * X, X, np.cos(link) * Z - np.sin(link) * Y))
    shape = program(circle)
    flat = shape.position - shape.position.mean(axis=0)
    height = np.linalg.svd(flat)[1][2] / np.sqrt(len(flat))
    assert shape.twist == pytest.approx(link - 2 * np.pi * writhe(shape.position), abs=5e-3)
    return height, shape.twist


def writhe(closed: np.ndarray, pieces: int = 480) -> float:
    """Gauss integral of a closed curve, exact for the polygon through a fine spline.

    References
    ----------
    K. Klenin, J. Langowski, Computation of writhe in modeling of supercoiled DNA, Biopolymers 54, 2000, method 1a.
    """
    u = np.linspace(0, 1, len(closed))
    points = CubicSpline(u, np.vstack([closed[:-1], closed[:1]]), bc_type="periodic")(np.linspace(0, 1, pieces + 1))
    i, j = np.triu_indices(pieces, 2)
    i, j = i[(i > 0) | (j < pieces - 1)], j[(i > 0) | (j < pieces - 1)]
    r13, r14 = points[j] - points[i], points[j + 1] - points[i]
    r23, r24 = points[j] - points[i + 1], points[j + 1] - points[i + 1]
    normals = [np.cross(p, q) for p, q in ((r13, r14), (r14, r24), (r24, r23), (r23, r13))]
    normals = [n / np.maximum(np.linalg.norm(n, axis=1), 1e-300)[:, None] for n in normals]
    corners = [np.einsum("ij,ij->i", p, q) for p, q in zip(normals, normals[1:] + normals[:1], strict=True)]
    angles = np.arcsin(np.clip(corners, -1, 1))
    crossing = np.einsum("ij,ij->i", np.cross(points[j + 1] - points[j], points[i + 1] - points[i]), r13)
    return float((np.sum(angles, axis=0) * np.sign(crossing)).sum() / (2 * np.pi))


def test_twisted_ring_leaves_its_plane() -> None:
    """Michell 1889: a ring twisted by 2 pi sqrt(3) EI/GJ leaves its plane; link = twist + writhe all along."""
    critical = 2 * np.pi * np.sqrt(3) / 6.0
    height, twist = ring(0.97 * critical)
    assert height < 1e-5
    assert twist == pytest.approx(0.97 * critical, abs=1e-6)
    height, twist = ring(1.2 * critical)
    assert height > 0.01
    assert twist < critical
