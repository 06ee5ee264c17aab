"""End loads and curvature from statics: what the supports feel, and the moment that bends the hose anywhere between.

The turning angle between two edges reads up to 0.7 % too large a radius, the unsafe side; the moment is known to fourth
order everywhere, ends and places between nodes included. All results here are divided by the bending stiffness.
"""

from __future__ import annotations

import numpy as np

from hosewright.mechanics.compiled import kernel
from hosewright.mechanics.rod import Rod, Work


@kernel
def _cross(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    return np.array([a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]])


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
    corner = h * h / 12.0 * rod.weight  # end correction of the weight's trapezoidal rule
    start, end = work.unit[0], work.unit[n + 1]
    loads[1] = torque * start - _cross(start, work.unit_force[0] - corner)
    loads[3] = -torque * end - _cross(end, work.unit_force[n + 1] + corner)


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
    lever = first - point
    moment = loads[1] + _cross(lever, loads[0]) - _cross(swept - s * point, rod.weight)
    return np.sqrt(max(np.dot(moment, moment) - torque * torque, 0.0))


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
    swept, middle = np.zeros(3), np.zeros(3)
    dense[0] = _curvature(x[0], x[0], swept, 0.0, rod, loads, torque)
    for j in range(1, n + 1):
        _between(x, j, middle)
        half = swept + h / 24.0 * (5.0 * x[j - 1] + 8.0 * middle - x[j])
        dense[2 * j - 1] = _curvature(middle, x[0], half, (j - 0.5) * h, rod, loads, torque)
        swept = swept + h / 6.0 * (x[j - 1] + 4.0 * middle + x[j])
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
