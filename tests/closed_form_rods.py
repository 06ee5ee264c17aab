"""Shapes of held rods that are known in closed form, as problems with their answers.

References
----------
A. E. H. Love, A Treatise on the Mathematical Theory of Elasticity, 4th ed., 1927, sections 262-263 (the elastica) and
270 (helix under its wrench).
K. E. Bisshopp, D. C. Drucker, Large deflection of cantilever beams, Quarterly of Applied Mathematics 3, 1945, 272-275.
S. P. Timoshenko, J. M. Gere, Theory of Elastic Stability, 2nd ed., 1961, section 2.7 (the elastica as buckled column).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq
from scipy.spatial.transform import Rotation
from scipy.special import ellipeinc, ellipj, ellipk, ellipkinc

from reference_rod import Clamp, Problem, Rod

STIFF_AXIS = 1e7  # EA L^2/EI where the closed form has no stretch


@dataclass(frozen=True)
class Exact:
    """A problem and its answer; ``position`` and ``curvature`` take unstretched arc lengths [m]."""

    problem: Problem
    position: Callable[[np.ndarray], np.ndarray]
    curvature: Callable[[np.ndarray], np.ndarray]
    least_radius: float
    twist: float
    force_a: np.ndarray
    moment_a: np.ndarray

    def curve(self, points: int = 49) -> np.ndarray:
        return self.position(np.linspace(0, self.problem.length, points))


def placed(turn: np.ndarray, shift: np.ndarray) -> Callable[[np.ndarray], np.ndarray]:
    """Rigid motion of points (k, 3)."""
    rotation = Rotation.from_rotvec(turn)
    return lambda points: rotation.apply(points) + shift


SOMEWHERE = (np.array([0.4, -0.7, 1.1]), np.array([0.3, 0.2, -0.5]))  # no closed form lies along the axes by accident


def elastica(
    modulus: float, start: float, end: float, *, length: float = 1.0, stiffness: float = 10.0, pose: tuple = SOMEWHERE
) -> Exact:
    """Piece of the inflectional elastica between two arguments of the elliptic functions, without weight and twist.

    In the plane of the curve, x along the line of force: sin(angle/2) = k sn u, curvature 2 k p cn u, force EI p^2,
    u = start + p s. The rod is pressed along x, so it pushes support a towards -x.
    """
    rate, square = (end - start) / length, modulus**2

    def flat(s: np.ndarray) -> np.ndarray:
        u = start + rate * np.asarray(s)
        _, cn, _, phase = ellipj(u, square)
        return np.stack([(2 * ellipeinc(phase, square) - u) / rate, -2 * modulus / rate * cn, 0 * u], axis=-1)

    def signed_curvature(s: np.ndarray) -> np.ndarray:
        return 2 * modulus * rate * ellipj(start + rate * np.asarray(s), square)[1]

    def heading(u: float) -> np.ndarray:
        sn, _, dn, _ = ellipj(u, square)
        return np.array([1 - 2 * square * sn**2, 2 * modulus * sn * dn, 0.0])

    move = placed(*pose)
    turn = Rotation.from_rotvec(pose[0]).apply
    quarter = ellipk(square)
    at_vertex = np.floor(end / (2 * quarter)) >= np.ceil(start / (2 * quarter))  # a whole multiple of 2K lies inside
    most = 2 * modulus * rate if at_vertex else np.abs(signed_curvature(np.array([0.0, length]))).max()
    ends = move(flat(np.array([0.0, length])))
    problem = Problem(
        Rod(stiffness, 3 * stiffness, STIFF_AXIS * stiffness / length**2),
        length,
        Clamp(ends[0], turn(heading(start))),
        Clamp(ends[1], turn(heading(end))),
    )
    return Exact(
        problem,
        lambda s: move(flat(s)),
        lambda s: np.abs(signed_curvature(s)),
        float(1 / most),
        0.0,
        turn([-stiffness * rate**2, 0.0, 0.0]),
        turn([0.0, 0.0, stiffness * signed_curvature(0.0)]),
    )


def double_cantilever(load: float, **kwargs: float) -> Exact:
    """Two cantilevers with end load, joined at their tips.

    The tip of a cantilever carries no moment, so the curve goes on through it by a half turn about the tip: a rod of
    twice the length between two clamps of equal direction, which feel just the load, square to their direction.

    Parameters
    ----------
    load
        P L^2/EI of one cantilever.
    """

    def excess(modulus: float) -> float:
        return (ellipk(modulus**2) - right_angle(modulus)) ** 2 - load

    modulus = brentq(excess, np.sqrt(0.5) + 1e-12, 1 - 1e-13)
    start = right_angle(modulus)
    return elastica(modulus, start, 2 * ellipk(modulus**2) - start, **kwargs)


def buckled_column(modulus: float, **kwargs: float) -> Exact:
    """Column clamped at both ends, pressed along its axis beyond 4 pi^2 EI/L^2; its slope reaches 2 asin(modulus)."""
    return elastica(modulus, 0.0, 4 * ellipk(modulus**2), **kwargs)


def parallel_u(modulus: float, *, long: bool, **kwargs: float) -> Exact:
    """U between two parallel ends at one level: the force runs across the gap, the legs leave at right angles to it.

    With modulus sqrt(1/2) the ends are inflections: no end moment, least energy of all lengths. A larger modulus gives
    a shorter U, or with ``long`` one whose legs bulge.
    """
    end = right_angle(modulus)
    end = 2 * ellipk(modulus**2) - end if long else end
    return elastica(modulus, -end, end, **kwargs)


def right_angle(modulus: float) -> float:
    """First argument u at which the elastica stands square to its line of force: k sn u = sin 45 degrees."""
    return float(ellipkinc(np.arcsin(min(np.sqrt(0.5) / modulus, 1.0)), modulus**2))


def helix(
    turns: float,
    slope: float,
    twist: float,
    *,
    length: float = 1.0,
    stiffness: float = 10.0,
    twist_ratio: float = 3.0,
    stretch_ratio: float = 1e5,
    pose: tuple = SOMEWHERE,
) -> Exact:
    """Helix held by force and moment about its axis; stretch is included exactly.

    Parameters
    ----------
    turns
        About the axis, right-handed when positive.
    slope
        Angle between tangent and axis; a quarter turn gives a circular arc. [rad]
    twist
        Total twist of the material, on top of the torsion of the curve. [rad]

    Notes
    -----
    With w = turning per length, curvature c = w sin(slope), torsion T = w cos(slope) and torque C = GJ twist/length,
    the balance m' = -r' x n of m = EI c binormal + C t gives the axial force N (1 + e) = w (C - EI T) with strain
    e = N cos(slope)/EA.
    """
    rate, sin, cos = 2 * np.pi * turns / length, np.sin(slope), np.cos(slope)
    bend, torsion, torque = rate * sin, rate * cos, twist_ratio * stiffness * twist / length
    axial = stretch_ratio * stiffness / length**2
    force = rate * (torque - stiffness * torsion)
    for _ in range(50):
        force = rate * (torque - stiffness * torsion) / (1 + force * cos / axial)
    stretch = 1 + force * cos / axial
    move, turn = placed(*pose), Rotation.from_rotvec(pose[0]).apply

    def standing(s: np.ndarray) -> np.ndarray:
        s = np.asarray(s, dtype=float)
        return stretch * np.stack([sin / rate * np.cos(rate * s), sin / rate * np.sin(rate * s), cos * s], axis=-1)

    def heading(s: float) -> np.ndarray:
        return np.array([-sin * np.sin(rate * s), sin * np.cos(rate * s), cos])

    def inward(s: float) -> np.ndarray:
        return -np.array([np.cos(rate * s), np.sin(rate * s), 0.0])

    # The principal normal turns by the torsion against a vector carried without twist.
    reference_b = Rotation.from_rotvec(heading(length) * (twist - torsion * length)).apply(inward(length))
    moment = stiffness * bend * np.cross(heading(0), inward(0)) + torque * heading(0)
    problem = Problem(
        Rod(stiffness, twist_ratio * stiffness, axial),
        length,
        Clamp(move(standing(0)), turn(heading(0)), turn(inward(0))),
        Clamp(move(standing(length)), turn(heading(length)), turn(reference_b)),
    )
    return Exact(
        problem,
        lambda s: move(standing(s)),
        lambda s: np.full(np.shape(s), abs(bend)),
        float(1 / abs(bend)),
        twist,
        turn([0.0, 0.0, force]),
        turn(moment),
    )
