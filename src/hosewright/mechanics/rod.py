"""Energy, gradient and Hessian of a naturally straight elastic rod, fourth order in the edge length.

The unknowns are node positions only. Notation, with n edges of rest length h:

- x_0..x_n nodes, e_j = x_j - x_{j-1} edges (j = 1..n), r_j = |e_j|, U_j = e_j / r_j;
- U_0 and U_{n+1} the held directions ("ghost edges");
- c_i = U_i . U_{i+1} (i = 0..n), d_j = U_{j-1} . U_{j+1} (j = 1..n), y_i = 2 (1 - c_i).

Energy terms (bending stiffness 1; forces come out divided by it):

1. bend: sum_i theta(y_i)^2 / (2 l_i), l_i = h, and h/2 at both ends;
2. fourth-order correction per edge: k_j |P_j (p U_{j-1} + q U_{j+1})|^2 with k = 1/(12 h), p = q = 1, and at an end
   edge k = 1/(8 h) with weight 2 on the held direction; P_j projects off U_j, so that only dot products remain. It
   cancels the leading error of term 1;
3. stretch on the arc, not on the chord: S h/2 eps_j^2, eps_j = r_j/h - 1 + (y_{j-1} + y_j)/48, at an end edge
   r/h - 1 + (3 y_end + y_inner/4)/24;
4. twist of an isotropic rod is uniform: T/(2 L) D^2, D the turn of b's reference against a's reference carried edge by
   edge without twist, less sum_j w_j det(U_{j-1}, U_j, U_{j+1}), w = 1/8 (1/4 at the end edges), which makes D fourth
   order too;
5. weight by the trapezoidal rule with its end correction h^2/12 (which depends on the held directions only).

Every term depends on the edges through c, d and r, so each Hessian block is a sum of a few outer products and projected
3 x 3 matrices. Block (j, k) of two edges vanishes for |j - k| > 2; on nodes that gives a half bandwidth of 11.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from hosewright.mechanics.compiled import entry, kernel

BANDWIDTH = 11
"""Off-diagonals on each side of the Hessian of node positions."""

_SKEW_FLOOR = 1e-6
"""Least 1 + c in the carrying of frames: keeps a hair-pin between two edges finite."""


class Rod(NamedTuple):
    """What the shape depends on besides the ends; everything divided by the bending stiffness."""

    length: float
    twist: float  # torsional stiffness; 0 for a hose that is free to roll
    stretch: float  # axial stiffness [1/m2]
    weight: np.ndarray  # (3,) weight vector per length [1/m3]


class Work(NamedTuple):
    """Arrays that one solution needs, made once and used again."""

    unit: np.ndarray  # (n + 2, 3) U
    size: np.ndarray  # (n + 2,) r
    cosine: np.ndarray  # (n + 1,) c
    skip: np.ndarray  # (n + 2,) d
    slope_c: np.ndarray  # (n + 1,) dE/dc
    curve_c: np.ndarray  # (n + 1,) d2E/dc2
    tension: np.ndarray  # (n + 2,) dE/dr
    unit_force: np.ndarray  # (n + 2, 3) dE/dU
    twist_slope: np.ndarray  # (n + 2, 3) dD/dU
    edge_force: np.ndarray  # (n + 2, 3) dE/de
    before: np.ndarray  # (n + 2, 3) b: dc_{j-1}/de_j
    after: np.ndarray  # (n + 2, 3) a: dc_j/de_j
    same: np.ndarray  # (n + 2, 3, 3) Hessian blocks (j, j), (j, j+1), (j, j+2) of the edges
    next1: np.ndarray
    next2: np.ndarray
    references: np.ndarray  # (2, 3) roll references of a and b
    gradient: np.ndarray  # (3 (n - 1),) over the free nodes
    band: np.ndarray  # (3 (n - 1), 12) upper band, row k from its diagonal on
    factor: np.ndarray  # (3 (n - 1) + 12, 24) the factorised band, padded with zeros so that no loop needs an end
    border: np.ndarray  # (borders, 3 (n - 1)) full columns
    compliance: np.ndarray  # (borders,) reciprocal stiffness of each border column
    solved: np.ndarray  # (borders, 3 (n - 1) + 12) band solved for each border column
    schur: np.ndarray  # (borders, borders) factors of the Schur complement
    rest: np.ndarray  # (borders,)
    step: np.ndarray  # (3 (n - 1) + 12,)
    trial: np.ndarray  # (n + 1, 3) nodes tried by the line search


@entry
def make_work(elements: int, borders: int) -> Work:
    """Work arrays for a rod of so many elements and at most so many border columns."""
    n, free = elements, 3 * (elements - 1)
    return Work(
        np.zeros((n + 2, 3)), np.ones(n + 2), np.zeros(n + 1), np.zeros(n + 2),
        np.zeros(n + 1), np.zeros(n + 1), np.zeros(n + 2),
        np.zeros((n + 2, 3)), np.zeros((n + 2, 3)), np.zeros((n + 2, 3)),
        np.zeros((n + 2, 3)), np.zeros((n + 2, 3)),
        np.zeros((n + 3, 3, 3)), np.zeros((n + 3, 3, 3)), np.zeros((n + 3, 3, 3)),
        np.zeros((2, 3)), np.zeros(free),
        np.zeros((free, BANDWIDTH + 1)), np.zeros((free + BANDWIDTH + 1, 2 * (BANDWIDTH + 1))),
        np.zeros((borders, free)), np.ones(borders), np.zeros((borders, free + BANDWIDTH + 1)),
        np.zeros((borders, borders)), np.zeros(borders), np.zeros(free + BANDWIDTH + 1),
        np.zeros((n + 1, 3)),
    )  # fmt: skip


@kernel
def copy_rows(out: np.ndarray, source: np.ndarray) -> None:
    """Copy rows of three numbers; an assignment of whole arrays takes a second of compiling for its messages."""
    for i in range(len(source)):
        for k in range(3):
            out[i, k] = source[i, k]


@kernel
def _edge_rule(j: int, n: int, h: float) -> tuple[float, float, float, float, float]:
    # k, p, q of the correction and the two weights of the arc in eps for edge j
    if j == 1:
        return 0.125 / h, 2.0, 1.0, 0.125, 1.0 / 96.0
    if j == n:
        return 0.125 / h, 1.0, 2.0, 1.0 / 96.0, 0.125
    return 1.0 / (12.0 * h), 1.0, 1.0, 1.0 / 48.0, 1.0 / 48.0


@kernel
def _angle_squared(y: float) -> tuple[float, float, float]:
    # theta^2 = 2 sum y^m / (m^2 binomial(2 m, m)) and its two derivatives in y = 4 sin^2(theta / 2)
    value = y * (1 + y * (1 / 12 + y * (1 / 90 + y * (1 / 560 + y * (1 / 3150 + y / 16632)))))
    slope = 1 + y * (1 / 6 + y * (1 / 30 + y * (1 / 140 + y * (1 / 630 + y / 2772))))
    curve = 1 / 6 + y * (1 / 15 + y * (3 / 140 + y * (2 / 315 + y * (5 / 2772))))
    return value, slope, curve


@kernel
def measure_edges(x: np.ndarray, work: Work) -> None:
    """Fill unit vectors, sizes and cosines from the nodes; the held directions stand in ``unit`` already."""
    n = len(x) - 1
    unit = work.unit
    for j in range(1, n + 1):
        ex, ey, ez = x[j, 0] - x[j - 1, 0], x[j, 1] - x[j - 1, 1], x[j, 2] - x[j - 1, 2]
        r = max(math.sqrt(ex * ex + ey * ey + ez * ez), 1e-300)
        work.size[j] = r
        unit[j, 0], unit[j, 1], unit[j, 2] = ex / r, ey / r, ez / r
    for i in range(n + 1):
        work.cosine[i] = unit[i, 0] * unit[i + 1, 0] + unit[i, 1] * unit[i + 1, 1] + unit[i, 2] * unit[i + 1, 2]
    for j in range(1, n + 1):
        work.skip[j] = (
            unit[j - 1, 0] * unit[j + 1, 0] + unit[j - 1, 1] * unit[j + 1, 1] + unit[j - 1, 2] * unit[j + 1, 2]
        )


@kernel
def _determinant(u: np.ndarray, j: int) -> float:
    a, b, c = u[j - 1], u[j], u[j + 1]
    return a[0] * (b[1] * c[2] - b[2] * c[1]) + a[1] * (b[2] * c[0] - b[0] * c[2]) + a[2] * (b[0] * c[1] - b[1] * c[0])


@kernel
def total_twist(work: Work, near: float) -> float:
    """Twist D of the measured edges, on the branch nearest to ``near``. [rad]."""
    unit, n = work.unit, len(work.cosine) - 1
    mx, my, mz = work.references[0, 0], work.references[0, 1], work.references[0, 2]
    correction = 0.0
    for i in range(n + 1):
        ux, uy, uz = unit[i, 0], unit[i, 1], unit[i, 2]
        vx, vy, vz = unit[i + 1, 0], unit[i + 1, 1], unit[i + 1, 2]
        f = (mx * vx + my * vy + mz * vz) / max(1.0 + work.cosine[i], _SKEW_FLOOR)
        mx, my, mz = mx - f * (ux + vx), my - f * (uy + vy), mz - f * (uz + vz)
        if i > 0:
            correction += (0.25 if i == 1 or i == n else 0.125) * _determinant(unit, i)
    tx, ty, tz = unit[n + 1, 0], unit[n + 1, 1], unit[n + 1, 2]
    bx, by, bz = work.references[1, 0], work.references[1, 1], work.references[1, 2]
    sine = tx * (my * bz - mz * by) + ty * (mz * bx - mx * bz) + tz * (mx * by - my * bx)
    angle = math.atan2(sine, mx * bx + my * by + mz * bz) - correction
    return angle + 2.0 * math.pi * round((near - angle) / (2.0 * math.pi))


@kernel
def energy(x: np.ndarray, rod: Rod, work: Work, near: float) -> tuple[float, float]:
    """Energy and twist of a shape; measures the edges.

    Returns
    -------
    energy : float
        Divided by the bending stiffness. [1/m]
    twist : float
        On the branch nearest to ``near``. [rad]
    """
    measure_edges(x, work)
    n = len(x) - 1
    h = rod.length / n
    total = 0.0
    for i in range(n + 1):
        total += _angle_squared(2.0 * (1.0 - work.cosine[i]))[0] * (1.0 if i == 0 or i == n else 0.5) / h
    for j in range(1, n + 1):
        k, p, q, s0, s1 = _edge_rule(j, n, h)
        c0, c1 = work.cosine[j - 1], work.cosine[j]
        lean = p * c0 + q * c1
        strain = work.size[j] / h - 1.0 + 2.0 * (s0 * (1.0 - c0) + s1 * (1.0 - c1))
        total += k * (p * p + q * q + 2.0 * p * q * work.skip[j] - lean * lean) + 0.5 * rod.stretch * h * strain**2
    total += _weight_energy(x, rod, work)
    twist = 0.0
    if rod.twist > 0.0:
        twist = total_twist(work, near)
        total += 0.5 * rod.twist / rod.length * twist * twist
    return total, twist


@kernel
def _weight_energy(x: np.ndarray, rod: Rod, work: Work) -> float:
    n = len(x) - 1
    h = rod.length / n
    total = 0.0
    for k in range(3):
        if rod.weight[k] != 0.0:
            column = 0.5 * (x[0, k] + x[n, k])
            for i in range(1, n):
                column += x[i, k]
            column = column * h - h * h / 12.0 * (work.unit[n + 1, k] - work.unit[0, k])
            total -= rod.weight[k] * column
    return total


@kernel
def assemble(rod: Rod, work: Work, twist: float) -> int:
    """Gradient, band and border of the measured edges over the free nodes.

    Returns
    -------
    int
        Number of border columns in use: the Hessian is ``band + sum_k border_k border_k^T / compliance_k``.
    """
    slopes(rod, work, twist)
    _edge_blocks(rod, work, twist)
    _gather(work)
    if rod.twist > 0.0:
        _twist_border(work)
        work.compliance[0] = rod.length / rod.twist
        return 1
    return 0


@kernel
def slopes(rod: Rod, work: Work, twist: float) -> None:
    """First derivatives of the measured edges: by cosines and sizes, unit vectors, edges, and free nodes."""
    n = len(work.cosine) - 1
    h = rod.length / n
    for i in range(n + 1):
        share = 0.5 * h if i == 0 or i == n else h
        _, slope, curve = _angle_squared(2.0 * (1.0 - work.cosine[i]))
        work.slope_c[i] = -slope / share
        work.curve_c[i] = 2.0 * curve / share
    for j in range(1, n + 1):
        k, p, q, s0, s1 = _edge_rule(j, n, h)
        c0, c1 = work.cosine[j - 1], work.cosine[j]
        strain = work.size[j] / h - 1.0 + 2.0 * (s0 * (1.0 - c0) + s1 * (1.0 - c1))
        tension = rod.stretch * strain
        lean = -2.0 * k * (p * c0 + q * c1)
        work.tension[j] = tension
        work.slope_c[j - 1] += p * lean - 2.0 * s0 * h * tension
        work.slope_c[j] += q * lean - 2.0 * s1 * h * tension
        work.curve_c[j - 1] += -2.0 * k * p * p + 4.0 * s0 * s0 * h * rod.stretch
        work.curve_c[j] += -2.0 * k * q * q + 4.0 * s1 * s1 * h * rod.stretch
    _unit_forces(rod, work, twist)
    for j in range(1, n + 1):
        unit, force, r = work.unit[j], work.unit_force[j], work.size[j]
        along = force[0] * unit[0] + force[1] * unit[1] + force[2] * unit[2]
        for k in range(3):
            work.edge_force[j, k] = (force[k] - along * unit[k]) / r + work.tension[j] * unit[k]
    for i in range(1, n):
        for k in range(3):
            work.gradient[3 * (i - 1) + k] = work.edge_force[i, k] - work.edge_force[i + 1, k] - h * rod.weight[k]


@kernel
def _skip_slope(j: int, n: int, h: float) -> float:
    # dE/dd_j; edges outside 1..n have none
    if j < 1 or j > n:
        return 0.0
    k, p, q, _, _ = _edge_rule(j, n, h)
    return 2.0 * k * p * q


@kernel
def _unit_forces(rod: Rod, work: Work, twist: float) -> None:
    n = len(work.cosine) - 1
    h = rod.length / n
    unit, force = work.unit, work.unit_force
    for j in range(n + 2):
        for k in range(3):
            total = 0.0
            if j > 0:
                total += work.slope_c[j - 1] * unit[j - 1, k]
            if j <= n:
                total += work.slope_c[j] * unit[j + 1, k]
            if j > 1:
                total += _skip_slope(j - 1, n, h) * unit[j - 2, k]
            if j < n:
                total += _skip_slope(j + 1, n, h) * unit[j + 2, k]
            force[j, k] = total
    if rod.twist > 0.0:
        _twist_slopes(work)
        torque = rod.twist / rod.length * twist
        for j in range(n + 2):
            for k in range(3):
                force[j, k] += torque * work.twist_slope[j, k]


@kernel
def _add_cross(out: np.ndarray, factor: float, a: np.ndarray, b: np.ndarray) -> None:
    out[0] += factor * (a[1] * b[2] - a[2] * b[1])
    out[1] += factor * (a[2] * b[0] - a[0] * b[2])
    out[2] += factor * (a[0] * b[1] - a[1] * b[0])


@kernel
def _twist_slopes(work: Work) -> None:
    # dD/dU: the angle that is left at b changes by q.(dU + dV), q = U x V / (1 + U.V), at each joint
    n = len(work.cosine) - 1
    unit, slope = work.unit, work.twist_slope
    slope[:] = 0.0
    for i in range(n + 1):
        f = 1.0 / max(1.0 + work.cosine[i], _SKEW_FLOOR)
        _add_cross(slope[i], f, unit[i], unit[i + 1])
        _add_cross(slope[i + 1], f, unit[i], unit[i + 1])
    for j in range(1, n + 1):
        w = -0.25 if j == 1 or j == n else -0.125
        _add_cross(slope[j - 1], w, unit[j], unit[j + 1])
        _add_cross(slope[j], w, unit[j + 1], unit[j - 1])
        _add_cross(slope[j + 1], w, unit[j - 1], unit[j])


@kernel
def _twist_border(work: Work) -> None:
    # dD over the free nodes, the one full column of the twist term
    n = len(work.cosine) - 1
    for i in range(1, n):
        for k in range(3):
            work.border[0, 3 * (i - 1) + k] = _edge_twist(work, i, k) - _edge_twist(work, i + 1, k)


@kernel
def _edge_twist(work: Work, j: int, k: int) -> float:
    unit, slope = work.unit[j], work.twist_slope[j]
    along = slope[0] * unit[0] + slope[1] * unit[1] + slope[2] * unit[2]
    return (slope[k] - along * unit[k]) / work.size[j]


@kernel
def _edge_blocks(rod: Rod, work: Work, twist: float) -> None:
    _cosine_slopes(work)
    _fill_same(rod, work)
    _fill_next1(rod, work)
    _fill_next2(rod, work)
    torque = rod.twist / rod.length * twist
    if torque != 0.0:
        _add_twist_same(work, torque)
        _add_twist_next1(work, torque)
        _add_twist_next2(work, torque)


@kernel
def _cosine_slopes(work: Work) -> None:
    # dc_{j-1}/de_j and dc_j/de_j
    unit = work.unit
    for j in range(1, len(work.cosine)):
        for k in range(3):
            work.before[j, k] = (unit[j - 1, k] - work.cosine[j - 1] * unit[j, k]) / work.size[j]
            work.after[j, k] = (unit[j + 1, k] - work.cosine[j] * unit[j, k]) / work.size[j]


@kernel
def _coupling(stretch: float, j: int, n: int, h: float) -> tuple[float, float, float]:
    # second derivatives of edge j's energy: (c_{j-1}, c_j), (c_{j-1}, r_j), (c_j, r_j)
    k, p, q, s0, s1 = _edge_rule(j, n, h)
    return -2.0 * k * p * q + 4.0 * s0 * s1 * h * stretch, -2.0 * s0 * stretch, -2.0 * s1 * stretch


@kernel
def _fill_same(rod: Rod, work: Work) -> None:
    n = len(work.cosine) - 1
    h = rod.length / n
    unit, before, after, unit_force, same = work.unit, work.before, work.after, work.unit_force, work.same
    for j in range(1, n + 1):
        cc, cr0, cr1 = _coupling(rod.stretch, j, n, h)
        a0, a1 = work.curve_c[j - 1], work.curve_c[j]
        r = work.size[j]
        along = unit_force[j, 0] * unit[j, 0] + unit_force[j, 1] * unit[j, 1] + unit_force[j, 2] * unit[j, 2]
        bend = work.tension[j] / r - along / (r * r)  # on the projector off U_j
        for k in range(3):
            u, b, a = unit[j, k], before[j, k], after[j, k]
            from_b = a0 * b + cc * a + cr0 * u
            from_a = a1 * a + cc * b + cr1 * u
            side = (unit_force[j, k] - along * u) / (r * r)
            from_u = cr0 * b + cr1 * a + (rod.stretch / h - bend) * u - side
            for m in range(3):
                other = (unit_force[j, m] - along * unit[j, m]) / (r * r)
                same[j, k, m] = from_b * before[j, m] + from_a * after[j, m] + from_u * unit[j, m] - u * other
            same[j, k, k] += bend


@kernel
def _fill_next1(rod: Rod, work: Work) -> None:
    n = len(work.cosine) - 1
    h = rod.length / n
    unit, before, after, next1 = work.unit, work.before, work.after, work.next1
    for j in range(1, n):
        cc, _, cr1 = _coupling(rod.stretch, j, n, h)
        dd, dr0, _ = _coupling(rod.stretch, j + 1, n, h)
        c = work.cosine[j]
        f = work.slope_c[j] / (work.size[j] * work.size[j + 1])
        for k in range(3):
            u, v = unit[j, k], unit[j + 1, k]
            left = cc * before[j, k] + work.curve_c[j] * after[j, k] + cr1 * u
            for m in range(3):
                right = dd * after[j + 1, m] + dr0 * unit[j + 1, m]
                off = c * u * unit[j + 1, m] - u * unit[j, m] - v * unit[j + 1, m]
                next1[j, k, m] = left * before[j + 1, m] + after[j, k] * right + f * off
            next1[j, k, k] += f


@kernel
def _fill_next2(rod: Rod, work: Work) -> None:
    n = len(work.cosine) - 1
    h = rod.length / n
    unit, before, after, next2 = work.unit, work.before, work.after, work.next2
    for j in range(1, n - 1):
        dd, _, _ = _coupling(rod.stretch, j + 1, n, h)
        d = work.skip[j + 1]
        f = _skip_slope(j + 1, n, h) / (work.size[j] * work.size[j + 2])
        for k in range(3):
            u, v = unit[j, k], unit[j + 2, k]
            for m in range(3):
                off = d * u * unit[j + 2, m] - u * unit[j, m] - v * unit[j + 2, m]
                next2[j, k, m] = dd * after[j, k] * before[j + 2, m] + f * off
            next2[j, k, k] += f


@kernel
def _add_projected_cross(out: np.ndarray, w0: float, w1: float, w2: float, unit: np.ndarray, j: int, i: int) -> None:
    # out[j] += P_j [w]x P_i, with [w]x m = w x m; by indices, since views of arrays cost more than the arithmetic
    v0, v1, v2 = unit[i, 0], unit[i, 1], unit[i, 2]
    a0, a1, a2 = w1 * v2 - w2 * v1, w2 * v0 - w0 * v2, w0 * v1 - w1 * v0  # w x U_i
    u0, u1, u2 = unit[j, 0], unit[j, 1], unit[j, 2]
    b0, b1, b2 = u1 * w2 - u2 * w1, u2 * w0 - u0 * w2, u0 * w1 - u1 * w0  # U_j x w
    both = u0 * a0 + u1 * a1 + u2 * a2
    for k in range(3):
        u = unit[j, k]
        left = both * u - (a0 if k == 0 else a1 if k == 1 else a2)
        out[j, k, 0] += left * v0 - u * b0
        out[j, k, 1] += left * v1 - u * b1
        out[j, k, 2] += left * v2 - u * b2
    out[j, 0, 1] -= w2
    out[j, 0, 2] += w1
    out[j, 1, 0] += w2
    out[j, 1, 2] -= w0
    out[j, 2, 0] -= w1
    out[j, 2, 1] += w0


@kernel
def _add_twist_same(work: Work, torque: float) -> None:
    # joints j - 1 and j both turn with U_j: -(q V^T + V q^T) / (2 (1 + c)) each, V projected off U_j
    for j in range(1, len(work.cosine)):
        for side in range(2):
            i = j - 1 + side
            g = 1.0 / max(1.0 + work.cosine[i], _SKEW_FLOOR)
            f = -0.5 * torque * g * g / work.size[j]
            u, v = work.unit[i], work.unit[i + 1]
            other = work.after[j] if side == 1 else work.before[j]
            q0, q1, q2 = u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]
            for k in range(3):
                q = q0 if k == 0 else q1 if k == 1 else q2
                work.same[j, k, 0] += f * (q * other[0] + other[k] * q0)
                work.same[j, k, 1] += f * (q * other[1] + other[k] * q1)
                work.same[j, k, 2] += f * (q * other[2] + other[k] * q2)


@kernel
def _add_twist_next1(work: Work, torque: float) -> None:
    # joint j carries U_j to U_{j+1}; the determinants of edges j and j + 1 hold both of them
    n = len(work.cosine) - 1
    unit, size, before, after, next1 = work.unit, work.size, work.before, work.after, work.next1
    for j in range(1, n):
        rr = size[j] * size[j + 1]
        g = 1.0 / max(1.0 + work.cosine[j], _SKEW_FLOOR)
        f = 0.5 * torque * g
        fa, fb, fj = -f * g / size[j + 1], -f * g / size[j], f / rr
        f0, f1 = (0.25 if j == 1 else 0.125) * torque / rr, (0.25 if j + 1 == n else 0.125) * torque / rr
        u0, u1, u2 = unit[j, 0], unit[j, 1], unit[j, 2]
        v0, v1, v2 = unit[j + 1, 0], unit[j + 1, 1], unit[j + 1, 2]
        w0 = fj * (u0 + v0) + f0 * unit[j - 1, 0] + f1 * unit[j + 2, 0]
        w1 = fj * (u1 + v1) + f0 * unit[j - 1, 1] + f1 * unit[j + 2, 1]
        w2 = fj * (u2 + v2) + f0 * unit[j - 1, 2] + f1 * unit[j + 2, 2]
        _add_projected_cross(next1, w0, w1, w2, unit, j, j + 1)
        q0, q1, q2 = u1 * v2 - u2 * v1, u2 * v0 - u0 * v2, u0 * v1 - u1 * v0
        for k in range(3):
            q = q0 if k == 0 else q1 if k == 1 else q2
            next1[j, k, 0] += fb * q * before[j + 1, 0] + fa * after[j, k] * q0
            next1[j, k, 1] += fb * q * before[j + 1, 1] + fa * after[j, k] * q1
            next1[j, k, 2] += fb * q * before[j + 1, 2] + fa * after[j, k] * q2


@kernel
def _add_twist_next2(work: Work, torque: float) -> None:
    # the determinant of edge j + 1 holds U_j and U_{j+2}, with second derivative [U_{j+1}]x
    unit, size = work.unit, work.size
    for j in range(1, len(work.cosine) - 2):
        f = -0.125 * torque / (size[j] * size[j + 2])
        w0, w1, w2 = f * unit[j + 1, 0], f * unit[j + 1, 1], f * unit[j + 1, 2]
        _add_projected_cross(work.next2, w0, w1, w2, unit, j, j + 2)


@kernel
def _gather(work: Work) -> None:
    # edges to nodes: x_i ends edge i and starts edge i + 1
    n = len(work.cosine) - 1
    band, same, next1, next2 = work.band, work.same, work.next1, work.next2
    for i in range(1, n):
        row = 3 * (i - 1)
        for k in range(3):
            line = band[row + k]
            for m in range(3):
                if m >= k:
                    line[m - k] = same[i, k, m] + same[i + 1, k, m] - next1[i, k, m] - next1[i, m, k]
                line[3 + m - k] = next1[i, k, m] - next2[i, k, m] - same[i + 1, k, m] + next1[i + 1, k, m]
                line[6 + m - k] = next2[i, k, m] - next1[i + 1, k, m] + next2[i + 1, k, m]
                line[9 + m - k] = -next2[i + 1, k, m]
            for m in range(12 - k, 12):
                line[m] = 0.0
    free = 3 * (n - 1)
    for row in range(max(0, free - BANDWIDTH), free):
        for m in range(free - row, BANDWIDTH + 1):
            band[row, m] = 0.0  # the held node
