"""End loads and curvature from statics: what the supports feel, and the moment that bends the hose anywhere between.

The turning angle between two edges reads up to 0.7 % too large a radius, the unsafe side; the moment is known to fourth
order everywhere, ends and places between nodes included. All results here are divided by the bending stiffness.
"""

from __future__ import annotations

import math

import numpy as np

from hosewright.mechanics.compiled import kernel
from hosewright.mechanics.rod import Rod, Work


@kernel
def _add_moment(out: np.ndarray, factor: float, arm: np.ndarray, force: np.ndarray) -> None:
    out[0] += factor * (arm[1] * force[2] - arm[2] * force[1])
    out[1] += factor * (arm[2] * force[0] - arm[0] * force[2])
    out[2] += factor * (arm[0] * force[1] - arm[1] * force[0])


@kernel
def end_loads(rod: Rod, work: Work, twist: float, loads: np.ndarray) -> None:
    """Forces and moments of the hose on its supports, into ``loads`` (4, 3): force and moment at a, then at b.

    The edges stand measured in ``work``, and so do their slopes.
    """
    n = len(work.cosine) - 1
    h = rod.length / n
    torque = rod.twist / rod.length * twist
    for k in range(3):
        loads[0, k] = work.edge_force[1, k] + 0.5 * h * rod.weight[k]
        loads[2, k] = -work.edge_force[n, k] + 0.5 * h * rod.weight[k]
    corner = h * h / 12.0  # end correction of the weight's trapezoidal rule
    start, end = work.unit[0], work.unit[n + 1]
    for k in range(3):
        loads[1, k], loads[3, k] = torque * start[k], -torque * end[k]
    _add_moment(loads[1], -1.0, start, work.unit_force[0])
    _add_moment(loads[1], corner, start, rod.weight)
    _add_moment(loads[3], -1.0, end, work.unit_force[n + 1])
    _add_moment(loads[3], -corner, end, rod.weight)


@kernel
def _between(x: np.ndarray, j: int, out: np.ndarray) -> None:
    # middle of edge j by the cubic through the four nearest nodes
    n = len(x) - 1
    for k in range(3):
        if j == 1:
            out[k] = (5.0 * x[0, k] + 15.0 * x[1, k] - 5.0 * x[2, k] + x[3, k]) / 16.0
        elif j == n:
            out[k] = (5.0 * x[n, k] + 15.0 * x[n - 1, k] - 5.0 * x[n - 2, k] + x[n - 3, k]) / 16.0
        else:
            out[k] = (9.0 * (x[j - 1, k] + x[j, k]) - x[j - 2, k] - x[j + 1, k]) / 16.0


@kernel
def _curvature(
    point: np.ndarray, first: np.ndarray, swept: np.ndarray, s: float, rod: Rod, loads: np.ndarray, torque: float
) -> float:
    # moment at arc length s about ``point``, less the torque; ``swept`` is the integral of x over the arc so far
    force, weight = loads[0], rod.weight
    a0, a1, a2 = first[0] - point[0], first[1] - point[1], first[2] - point[2]
    b0, b1, b2 = s * point[0] - swept[0], s * point[1] - swept[1], s * point[2] - swept[2]
    m0 = loads[1, 0] + a1 * force[2] - a2 * force[1] + b1 * weight[2] - b2 * weight[1]
    m1 = loads[1, 1] + a2 * force[0] - a0 * force[2] + b2 * weight[0] - b0 * weight[2]
    m2 = loads[1, 2] + a0 * force[1] - a1 * force[0] + b0 * weight[1] - b1 * weight[0]
    return math.sqrt(max(m0 * m0 + m1 * m1 + m2 * m2 - torque * torque, 0.0))


@kernel
def curvatures(x: np.ndarray, rod: Rod, twist: float, loads: np.ndarray, out: np.ndarray) -> tuple[float, float]:
    """Curvature at the nodes into ``out`` (n + 1,).

    Returns
    -------
    curvature, arc_length : float
        The largest anywhere, between nodes included, and where it is. [1/m], [m]
    """
    n = len(x) - 1
    h = rod.length / n
    torque = rod.twist / rod.length * twist
    dense = np.empty(2 * n + 1)
    swept, half, middle = np.zeros(3), np.zeros(3), np.zeros(3)
    dense[0] = _curvature(x[0], x[0], swept, 0.0, rod, loads, torque)
    for j in range(1, n + 1):
        _between(x, j, middle)
        for k in range(3):
            half[k] = swept[k] + h / 24.0 * (5.0 * x[j - 1, k] + 8.0 * middle[k] - x[j, k])
            swept[k] += h / 6.0 * (x[j - 1, k] + 4.0 * middle[k] + x[j, k])
        dense[2 * j - 1] = _curvature(middle, x[0], half, (j - 0.5) * h, rod, loads, torque)
        dense[2 * j] = _curvature(x[j], x[0], swept, j * h, rod, loads, torque)
    for i in range(n + 1):
        out[i] = dense[2 * i]
    peak = int(np.argmax(dense))
    if peak == 0 or peak == 2 * n:
        return dense[peak], 0.5 * h * peak
    left, centre, right = dense[peak - 1], dense[peak], dense[peak + 1]
    sag = left - 2.0 * centre + right
    offset = 0.5 * (left - right) / sag if sag < 0.0 else 0.0
    return centre - 0.25 * (left - right) * offset, 0.5 * h * (peak + offset)
