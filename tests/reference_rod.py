"""The shape of a held rod by another route: its differential equations as a boundary value problem, by collocation.

Nothing here is shared with the program: no energy, no nodes in common, no discrete twist. The unknowns are the centre
line r, the orientation q of a frame carried by the material, and force n and moment m that the part beyond s exerts on
the part before s:

    r' = (1 + n·t/EA) t       q' = u q / 2,  u = (m - (m·t) t)/EI + (m·t) t/GJ
    m' = -r' x n              n' = -w g

with s the unstretched arc length, t the tangent (first axis of the frame) and g the direction of gravity.
The rod exerts n(0) and m(0) on support a, and -n(L) and -m(L) on support b.

References
----------
S. S. Antman, Nonlinear Problems of Elasticity, 2nd ed., 2005, chapter VIII (special Cosserat rods).
W. Wang, B. Juttler, D. Zheng, Y. Liu, Computation of rotation minimizing frames, ACM Trans. Graphics 27, 2008.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.integrate import solve_bvp, solve_ivp
from scipy.interpolate import CubicSpline
from scipy.optimize import minimize_scalar
from scipy.spatial.transform import Rotation, Slerp

EYE = np.eye(3)
CURVE, TURN, MOMENT = slice(0, 3), slice(3, 7), slice(7, 10)  # places in the state y


@dataclass(frozen=True)
class Rod:
    """Stiffnesses [N m2, N m2, N] and weight per unstretched length [N/m]."""

    bending_stiffness: float
    torsional_stiffness: float
    axial_stiffness: float
    weight: float = 0.0


@dataclass(frozen=True)
class Clamp:
    """A held end: point, way the rod runs there (a to b at both ends), a vector fixed to it (None: free roll)."""

    position: np.ndarray
    direction: np.ndarray
    reference: np.ndarray | None = None


@dataclass(frozen=True)
class Problem:
    """One rod between two clamps; any objects with the attributes of Rod and Clamp will do."""

    rod: Rod
    length: float
    a: Clamp
    b: Clamp
    gravity: tuple[float, float, float] = (0.0, 0.0, -1.0)

    @property
    def force_scale(self) -> float:
        return self.rod.bending_stiffness / self.length**2

    @property
    def twist_ratio(self) -> float:
        """GJ/EI."""
        return self.rod.torsional_stiffness / self.rod.bending_stiffness

    @property
    def stretch_ratio(self) -> float:
        """EA L^2/EI."""
        return self.rod.axial_stiffness / self.force_scale

    @property
    def load(self) -> np.ndarray:
        """Weight in units of EI/L^3, as a vector."""
        return self.rod.weight * self.length / self.force_scale * np.asarray(self.gravity, dtype=float)

    @property
    def offset(self) -> np.ndarray:
        """From a to b in units of the length."""
        return (np.asarray(self.b.position, dtype=float) - np.asarray(self.a.position, dtype=float)) / self.length

    @property
    def rolls_freely(self) -> bool:
        return self.a.reference is None or self.b.reference is None

    @cached_property
    def quaternions(self) -> tuple[np.ndarray, np.ndarray]:
        return tuple(quaternion(frame(clamp)) for clamp in (self.a, self.b))

    # -- differential equations, everything in units of length, EI/length^2 and EI/length

    def slope(self, s: np.ndarray, y: np.ndarray, n0: np.ndarray) -> np.ndarray:
        t, u, n, stretch = self._parts(s, y, n0)
        turn = np.einsum("ijs,js->is", spin_matrix(y[TURN]), u) / 2
        return np.vstack([stretch * t, turn, -stretch * np.cross(t, n, axis=0)])

    def slope_jacobian(self, s: np.ndarray, y: np.ndarray, n0: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """d slope/dy (10, 10, k) and d slope/dn0 (10, 3, k)."""
        t, u, n, stretch = self._parts(s, y, n0)
        m, spin, tilt = y[MOMENT], spin_matrix(y[TURN]), tangent_jacobian(y[TURN])
        excess = 1 / self.twist_ratio - 1
        along, across = np.einsum("is,is->s", m, t), np.cross(t, n, axis=0)
        curve_t = EYE[:, :, None] * stretch + np.einsum("is,js->ijs", t, n) / self.stretch_ratio
        strain_t = excess * (np.einsum("is,js->ijs", t, m) + EYE[:, :, None] * along)
        strain_m = EYE[:, :, None] + excess * np.einsum("is,js->ijs", t, t)
        moment_t = -np.einsum("is,js->ijs", across, n) / self.stretch_ratio + stretch * cross_matrix(n)
        by_y = np.zeros((10, 10, np.size(s)))
        by_y[CURVE, TURN] = np.einsum("ijs,jks->iks", curve_t, tilt)
        by_y[TURN, TURN] = left_matrix(u) / 2 + np.einsum("ijs,jks,kls->ils", spin, strain_t, tilt) / 2
        by_y[TURN, MOMENT] = np.einsum("ijs,jks->iks", spin, strain_m) / 2
        by_y[MOMENT, TURN] = np.einsum("ijs,jks->iks", moment_t, tilt)
        by_n = np.zeros((10, 3, np.size(s)))
        by_n[CURVE] = np.einsum("is,js->ijs", t, t) / self.stretch_ratio
        by_n[MOMENT] = -np.einsum("is,js->ijs", across, t) / self.stretch_ratio - stretch * cross_matrix(t)
        return by_y, by_n

    def _parts(self, s: np.ndarray, y: np.ndarray, n0: np.ndarray) -> tuple[np.ndarray, ...]:
        t, m = tangent(y[TURN]), y[MOMENT]
        n = np.asarray(n0)[:, None] - np.outer(self.load, s)
        u = m + (1 / self.twist_ratio - 1) * np.einsum("is,is->s", m, t) * t
        return t, u, n, 1 + np.einsum("is,is->s", n, t) / self.stretch_ratio

    # -- ends

    def ends(self, ya: np.ndarray, yb: np.ndarray, _: np.ndarray) -> np.ndarray:
        qa, _qb = self.quaternions
        return np.concatenate([ya[CURVE], ya[TURN] - qa, yb[CURVE] - self.offset, self._end_b(yb)])

    def _end_b(self, yb: np.ndarray) -> np.ndarray:
        if not self.rolls_freely:
            return relative_vector(self.quaternions[1]) @ yb[TURN]
        t, normals = tangent(yb[TURN][:, None])[:, 0], frame(self.b)[:, 1:]
        return np.append(normals.T @ t, yb[MOMENT] @ t)  # free roll: no torque about the tangent

    def ends_jacobian(self, _ya: np.ndarray, yb: np.ndarray, _: np.ndarray) -> tuple[np.ndarray, ...]:
        by_a, by_b = np.zeros((13, 10)), np.zeros((13, 10))
        by_a[:7, :7] = np.eye(7)
        by_b[7:10, CURVE] = EYE
        if self.rolls_freely:
            tilt = tangent_jacobian(yb[TURN][:, None])[:, :, 0]
            by_b[10:12, TURN] = frame(self.b)[:, 1:].T @ tilt
            by_b[12, TURN], by_b[12, MOMENT] = yb[MOMENT] @ tilt, tangent(yb[TURN][:, None])[:, 0]
        else:
            by_b[10:13, TURN] = relative_vector(self.quaternions[1])
        return by_a, by_b, np.zeros((13, 3))


@dataclass(frozen=True)
class Solution:
    """A converged boundary value problem, read in SI units; arguments s are unstretched arc lengths [m]."""

    problem: Problem
    state: object  # piecewise cubic of s/length
    mesh: np.ndarray
    n0: np.ndarray
    residual: float  # largest relative residual of the collocation

    def _at(self, s: np.ndarray) -> np.ndarray:
        return self.state(np.atleast_1d(np.asarray(s, dtype=float)) / self.problem.length)

    def position(self, s: np.ndarray) -> np.ndarray:
        return np.asarray(self.problem.a.position, dtype=float) + self.problem.length * self._at(s)[CURVE].T

    def tangent(self, s: np.ndarray) -> np.ndarray:
        return tangent(self._at(s)[TURN]).T

    def curvature(self, s: np.ndarray) -> np.ndarray:
        """Turn per unstretched length. [1/m]"""
        y = self._at(s)
        return np.linalg.norm(np.cross(tangent(y[TURN]), y[MOMENT], axis=0), axis=0) / self.problem.length

    @cached_property
    def tightest(self) -> tuple[float, float]:
        """Least radius [m] and where it is [m]: the best of a fine grid, polished."""
        grid = np.linspace(0, self.problem.length, 4001)
        best = int(np.argmax(self.curvature(grid)))
        low, high = grid[max(best - 1, 0)], grid[min(best + 1, 4000)]
        loosest = lambda s: -self.curvature(s)[0]  # noqa: E731
        found = minimize_scalar(loosest, bounds=(low, high), options={"xatol": 1e-9 * high}, method="bounded")
        candidates = [(self.curvature(s)[0], float(s)) for s in (found.x, grid[best])]
        curvature, where = max(candidates)
        return 1 / curvature, where

    @property
    def least_radius(self) -> float:
        return self.tightest[0]

    @property
    def twist(self) -> float:
        """Total, right-handed about the way from a to b. [rad]"""
        y = self._at(np.array([0.0]))
        return float(y[MOMENT][:, 0] @ tangent(y[TURN])[:, 0] / self.problem.twist_ratio)

    @property
    def force_a(self) -> np.ndarray:
        return self.n0 * self.problem.force_scale

    @property
    def force_b(self) -> np.ndarray:
        return -(self.n0 - self.problem.load) * self.problem.force_scale

    @property
    def moment_a(self) -> np.ndarray:
        return self._at(0.0)[MOMENT][:, 0] * self.problem.force_scale * self.problem.length

    @property
    def moment_b(self) -> np.ndarray:
        return -self._at(self.problem.length)[MOMENT][:, 0] * self.problem.force_scale * self.problem.length

    @cached_property
    def energy(self) -> float:
        """Bending, twist, stretch and weight (absolute height against gravity). [J]"""
        rod, length = self.problem.rod, self.problem.length
        nodes, weights = np.polynomial.legendre.leggauss(8)
        edges = np.linspace(0, length, 201)
        half = np.diff(edges) / 2
        s = (edges[:-1, None] + half[:, None] * (1 + nodes)).ravel()
        y = self._at(s)
        t = tangent(y[TURN])
        n = (self.n0[:, None] - np.outer(self.problem.load, s / length)) * self.problem.force_scale
        density = rod.bending_stiffness / 2 * self.curvature(s) ** 2
        density += rod.torsional_stiffness / 2 * (self.twist / length) ** 2
        density += np.einsum("is,is->s", n, t) ** 2 / (2 * rod.axial_stiffness)
        density -= rod.weight * self.position(s) @ np.asarray(self.problem.gravity, dtype=float)
        return float((half[:, None] * weights).ravel() @ density)

    @cached_property
    def closure(self) -> float:
        """Miss of end b by an eighth-order integration from end a with this force and moment. [length]"""
        y0 = self.state(0.0)
        path = solve_ivp(
            lambda s, y: self.problem.slope(np.array([s]), y[:, None], self.n0)[:, 0],
            (0, 1),
            y0,
            method="DOP853",
            rtol=1e-12,
            atol=1e-13,
        )
        return float(np.linalg.norm(path.y[CURVE, -1] - self.problem.offset))

    def end_map(self, s: np.ndarray) -> np.ndarray:
        """How position and orientation at s answer to moment and force at the held end a.

        Where it is singular, the piece from a to s has a neighbouring equilibrium. A shape is stable when that happens
        nowhere inside (Jacobi's condition).

        Returns
        -------
        (k, 6, 6) or with free roll (k, 5, 5) float
            In units of length, EI/length^2 and EI/length.

        References
        ----------
        J. H. Maddocks, Stability of nonlinearly elastic rods, Arch. Rational Mech. Anal. 85, 1984.
        """
        ways = np.zeros((10, 6))
        ways[MOMENT, :3] = frame(self.problem.a)
        states, answers = self._linearised(np.asarray(s, dtype=float) / self.problem.length, ways)
        q, change = states[TURN], answers[TURN]
        rotation = 2 * np.einsum("ijs,jks->sik", relative_rotation(q), change)
        rows = np.concatenate([answers[CURVE].transpose(2, 0, 1), rotation], axis=1)
        if not self.problem.rolls_freely:
            return rows
        normals = np.stack([frame(Clamp(np.zeros(3), t))[:, 1:].T for t in tangent(q).T])
        return np.concatenate([rows[:, :3, 1:], normals @ rows[:, 3:, 1:]], axis=1)

    def _linearised(self, x: np.ndarray, ways: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """States (10, k) and their derivatives (10, 6, k) by three components of the moment and of the force at a."""

        def slope(s: float, flat: np.ndarray) -> np.ndarray:
            y, change = flat[:10, None], flat[10:].reshape(10, 6)
            at = np.array([s])
            by_y, by_n = self.problem.slope_jacobian(at, y, self.n0)
            grown = by_y[:, :, 0] @ change
            grown[:, 3:] += by_n[:, :, 0]
            return np.concatenate([self.problem.slope(at, y, self.n0)[:, 0], grown.ravel()])

        start = np.concatenate([self.state(0.0), ways.ravel()])
        path = solve_ivp(slope, (0, 1), start, method="DOP853", rtol=1e-9, atol=1e-12, t_eval=x).y
        return path[:10], path[10:].reshape(10, 6, -1)

    @property
    def neighbours(self) -> int:
        """How often the end map changes sign inside the rod; 0 for a stable shape without symmetry.

        A shape with an axis of symmetry loses stability in two directions at once, without a change of sign.
        """
        sign, _ = np.linalg.slogdet(self.end_map(np.linspace(0.05, 1.0, 400) * self.problem.length))
        return int(np.count_nonzero(np.diff(sign)))


def solve(problem: Problem, curve: np.ndarray, twist: float | None = None, tolerance: float = 1e-9) -> Solution:
    """Solve the boundary value problem next to a guessed curve.

    Parameters
    ----------
    problem
        What is held.
    curve : (k, 3) float
        Points of a guess at even arc length, ends included. [m]
    twist : float, optional
        Which of the twists that differ by full turns is wanted; else the one in (-pi, pi] on the guessed curve. [rad]
    tolerance
        Largest relative residual of the collocation polynomial.
    """
    x, y, n0 = guess(problem, np.asarray(curve, dtype=float), twist)
    return _collocate(problem, x, y, n0, tolerance)


def walk(problems: Sequence[Problem], start: Solution, tolerance: float = 1e-9) -> Iterator[Solution]:
    """Solve neighbouring problems one after the other, each started from the one before: plain continuation."""
    last = start
    for problem in problems:
        y = last.state(last.mesh)
        last = _collocate(problem, last.mesh, y, last.n0, tolerance)
        yield last


def from_scratch(problem: Problem, side: float = 0.0, steps: int = 12, tolerance: float = 1e-9) -> Solution:
    """Solve without a guess: from a circular arc of one radian the end b is moved in even steps to where it belongs.

    Another ``side`` to which the arc bends may lead to another shape. [rad]
    """
    frame_a, frame_b = frame(problem.a), frame(problem.b)
    x, up = np.linspace(0, 1, 101), np.array([0.0, -np.sin(side), np.cos(side)])
    flat = np.outer(np.sin(x), EYE[0]) + np.outer(1 - np.cos(x), np.cross(up, EYE[0]))
    arc = flat @ frame_a.T * problem.length + problem.a.position
    turns = Slerp([0, 1], Rotation.from_matrix([frame_a @ Rotation.from_rotvec(up).as_matrix(), frame_b]))
    portions = np.arange(steps + 1) / steps
    rod = problem.rod
    stiffness = (rod.bending_stiffness, rod.torsional_stiffness, rod.axial_stiffness)
    ways = [
        Problem(
            Rod(*stiffness, rod.weight * part),
            problem.length,
            Clamp(problem.a.position, frame_a[:, 0], frame_a[:, 1]),
            Clamp(arc[-1] + part * (np.asarray(problem.b.position) - arc[-1]), *turns(part).as_matrix()[:, :2].T),
            problem.gravity,
        )
        for part in portions
    ]
    *_, last = walk(ways[1:], solve(ways[0], arc, tolerance=1e-3), tolerance=1e-3)
    return next(walk([problem], last, tolerance))


def _collocate(problem: Problem, x: np.ndarray, y: np.ndarray, n0: np.ndarray, tolerance: float) -> Solution:
    with np.errstate(all="ignore"):  # a step that goes astray may overflow; the status tells
        found = solve_bvp(
            problem.slope,
            problem.ends,
            x,
            y,
            p=n0,
            fun_jac=problem.slope_jacobian,
            bc_jac=problem.ends_jacobian,
            tol=tolerance,
            bc_tol=1e-12,
            max_nodes=20000,
        )
    if found.status != 0:
        raise ArithmeticError(f"reference rod not solved: {found.message}")
    return Solution(problem, found.sol, found.x, found.p, float(found.rms_residuals.max()))


def guess(problem: Problem, curve: np.ndarray, twist: float | None = None) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Mesh, state and end force that fit a guessed curve best."""
    x = np.linspace(0, 1, 4 * (len(curve) - 1) + 1)
    frames = [frame(problem.a), frame(problem.b)]
    points = (curve - np.asarray(problem.a.position, dtype=float)) / problem.length
    spline = CubicSpline(np.linspace(0, 1, len(curve)), points, bc_type=((1, frames[0][:, 0]), (1, frames[1][:, 0])))
    t = spline(x, 1)
    t /= np.linalg.norm(t, axis=1)[:, None]
    carried = carry(spline(x), t, frames[0][:, 1])
    if problem.rolls_freely:
        twist = 0.0
    else:
        on_curve = angle_about(t[-1], carried[-1], frames[1][:, 1])
        twist = on_curve if twist is None else on_curve + 2 * np.pi * round((twist - on_curve) / (2 * np.pi))
    roll = Rotation.from_rotvec(t * (twist * x)[:, None])
    q = np.array([quaternion(axes) for axes in roll.as_matrix() @ np.stack([t, carried, np.cross(t, carried)], axis=2)])
    before = np.vstack([problem.quaternions[0], q[:-1]])
    q *= np.cumprod(np.sign(np.einsum("ij,ij->i", q, before)))[:, None]  # q and -q are one orientation: no jumps
    moment = np.cross(t, spline(x, 2)) + problem.twist_ratio * twist * t
    return x, np.vstack([spline(x).T, q.T, moment.T]), _fitted_force(problem, x, spline(x), moment)


def _fitted_force(problem: Problem, x: np.ndarray, r: np.ndarray, moment: np.ndarray) -> np.ndarray:
    """Least squares of m = m0 - r x n0 + (moment of the weight before s)."""
    step = np.diff(x)[:, None]
    pulled = np.cross(r, problem.load)  # moment of the weight about a, per length
    below = np.vstack([np.zeros(3), np.cumsum((pulled[1:] + pulled[:-1]) / 2 * step, axis=0)])
    weight = np.cross(r, np.outer(x, problem.load)) - below
    rows = np.concatenate([np.broadcast_to(EYE, (len(x), 3, 3)), -cross_matrix(r.T).transpose(2, 0, 1)], axis=2)
    return np.linalg.lstsq(rows.reshape(-1, 6), (moment - weight).ravel(), rcond=None)[0][3:]


# -- frames and quaternions (scalar first)


def frame(clamp: Clamp) -> np.ndarray:
    """Axes of a clamp as columns: direction, reference made square to it, and their cross product."""
    t = np.asarray(clamp.direction, dtype=float)
    t = t / np.linalg.norm(t)
    reference = EYE[np.argmin(np.abs(t))] if clamp.reference is None else np.asarray(clamp.reference, dtype=float)
    d = reference - (reference @ t) * t
    d /= np.linalg.norm(d)
    return np.stack([t, d, np.cross(t, d)], axis=1)


def quaternion(axes: np.ndarray) -> np.ndarray:
    return np.roll(Rotation.from_matrix(axes).as_quat(), 1)


def tangent(q: np.ndarray) -> np.ndarray:
    """First axis (3, k) of the frames (4, k)."""
    w, x, y, z = q
    return np.stack([w * w + x * x - y * y - z * z, 2 * (x * y + w * z), 2 * (x * z - w * y)])


def tangent_jacobian(q: np.ndarray) -> np.ndarray:
    w, x, y, z = q
    return 2 * np.array([[w, x, -y, -z], [z, y, x, w], [-y, z, -w, x]])


def spin_matrix(q: np.ndarray) -> np.ndarray:
    """(4, 3, k): what makes u q out of the vector u."""
    w, x, y, z = q
    return np.array([[-x, -y, -z], [w, z, -y], [-z, w, x], [y, -x, w]])


def left_matrix(u: np.ndarray) -> np.ndarray:
    """(4, 4, k): what makes u q out of the quaternion q."""
    x, y, z = u
    o = np.zeros_like(x)
    return np.array([[o, -x, -y, -z], [x, o, -z, y], [y, z, o, -x], [z, -y, x, o]])


def relative_vector(held: np.ndarray) -> np.ndarray:
    """(3, 4): vector part of conj(held) q, zero when q is the held orientation."""
    w, x, y, z = held
    return np.array([[-x, w, z, -y], [-y, -z, w, x], [-z, y, -x, w]])


def relative_rotation(q: np.ndarray) -> np.ndarray:
    """(3, 4, k): vector part of p conj(q) for a quaternion p; twice that of a small change of q is the rotation."""
    w, x, y, z = q
    return np.array([[-x, w, -z, y], [-y, z, w, -x], [-z, -y, x, w]])


def cross_matrix(v: np.ndarray) -> np.ndarray:
    """(3, 3, k) of vectors (3, k): cross_matrix(v) w = v x w."""
    x, y, z = v
    o = np.zeros_like(x)
    return np.array([[o, -z, y], [z, o, -x], [-y, x, o]])


def carry(points: np.ndarray, tangents: np.ndarray, vector: np.ndarray) -> np.ndarray:
    """Carry a vector square to the first tangent along a curve without twist, by double reflection: (k, 3)."""
    carried = [np.asarray(vector, dtype=float)]
    for chord, here, there in zip(np.diff(points, axis=0), tangents[:-1], tangents[1:], strict=True):
        v, t = mirror(carried[-1], chord), mirror(here, chord)
        carried.append(mirror(v, there - t))
    return np.array(carried)


def mirror(vector: np.ndarray, normal: np.ndarray) -> np.ndarray:
    square = normal @ normal
    return vector - 2 * (vector @ normal) / square * normal if square > 0 else vector


def angle_about(axis: np.ndarray, start: np.ndarray, end: np.ndarray) -> float:
    """Right-handed angle about an axis from one vector to another, both square to it. [rad]"""
    return float(np.arctan2(axis @ np.cross(start, end), start @ end))
