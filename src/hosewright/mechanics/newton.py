"""Equilibrium by Newton's method, shifted where the Hessian is not positive definite, with a line search on energy."""

from __future__ import annotations

import numpy as np

from hosewright.mechanics.banded import factorise, solve
from hosewright.mechanics.compiled import kernel
from hosewright.mechanics.rod import BANDWIDTH, Rod, Work, assemble, copy_rows, energy
from hosewright.mechanics.terms import Springs, add_springs, springs_energy

TENSION_TOLERANCE = 1e-3
"""Unbalanced tension that the last full step may leave, in bending stiffness over length squared. The step turns edges
a little, which stretches them by the square of it: on a stiff axis this, not the position, is what is left."""
SMALL_STEP = 1e-4
"""Movement, as a part of the length, below which an unstable shape counts as caught on a saddle."""
MOST_FACTORISATIONS = 900
"""Factorisations spent on one shape before it counts as not solved."""
LONGEST_STEP = 0.25
"""No node moves further than this part of the length in one step."""
_ROUNDING = 1e-13
"""Energy differences below this part of the energy are noise."""
_SUFFICIENT = 1e-4
"""Part of the predicted decrease that a step must bring (Armijo)."""


@kernel
def total_energy(x: np.ndarray, rod: Rod, springs: Springs, work: Work, near: float) -> tuple[float, float]:
    """Energy of rod and added terms, and the twist."""
    rod_energy, twist = energy(x, rod, work, near)
    return rod_energy + springs_energy(x, springs), twist


@kernel
def lowest_mode(work: Work, borders: int, shift: float, mode: np.ndarray, rounds: int) -> float:
    """Lowest eigenvalue of the Hessian by inverse iteration on the factors that stand.

    ``mode``, padded like ``work.step``, is the start and the result.
    """
    count = len(work.band)
    value = 0.0
    for _ in range(rounds):
        square, product = 0.0, 0.0
        for k in range(count):
            square += mode[k] * mode[k]
        for k in range(count):
            mode[k] /= np.sqrt(square)
            work.step[k] = mode[k]
        solve(work, borders, mode)
        for k in range(count):
            product += work.step[k] * mode[k]
        value = 1.0 / product - shift
    return value


@kernel
def scattered_mode(count: int) -> np.ndarray:
    """Direction with a part of every mode, always the same, padded for ``solve``."""
    mode = np.zeros(count + BANDWIDTH + 1)
    for k in range(count):
        mode[k] = np.sin(1.0 + 1.7 * k) + 0.5 * np.sin(0.3 * k)
    return mode


@kernel
def _leave_saddle(
    x: np.ndarray, rod: Rod, springs: Springs, work: Work, near: float, borders: int, shift: float
) -> tuple[float, float]:
    # step off an unstable equilibrium along its lowest mode, to the side with less energy
    mode = scattered_mode(len(work.band))
    lowest_mode(work, borders, shift, mode, 6)
    size = 1e-3 * rod.length / largest(mode)
    _move(x, work.trial, mode, size)
    forward, _ = total_energy(work.trial, rod, springs, work, near)
    _move(x, work.trial, mode, -size)
    backward, _ = total_energy(work.trial, rod, springs, work, near)
    if forward < backward:
        _move(x, work.trial, mode, size)
    copy_rows(x, work.trial)
    return total_energy(x, rod, springs, work, near)


@kernel
def largest(values: np.ndarray) -> float:
    """Largest size of any entry of a vector."""
    top = 0.0
    for k in range(len(values)):
        top = max(top, abs(values[k]))
    return top


@kernel
def _move(x: np.ndarray, trial: np.ndarray, step: np.ndarray, scale: float) -> None:
    n = len(x) - 1
    for k in range(3):
        trial[0, k], trial[n, k] = x[0, k], x[n, k]
        for i in range(1, n):
            trial[i, k] = x[i, k] + scale * step[3 * (i - 1) + k]


@kernel
def last_step(rod: Rod, elements: int) -> float:
    """Movement, as a part of the length, of a full Newton step after which the shape counts as found."""
    return min(1e-5, np.sqrt(2.0 * TENSION_TOLERANCE / (rod.stretch * rod.length**2)) / elements)


@kernel
def relax(
    x: np.ndarray, rod: Rod, springs: Springs, work: Work, near: float, most_steps: int
) -> tuple[bool, int, int, float, float, bool]:
    """Walk the nodes ``x`` to an equilibrium, in place; ends, held directions and references stand already.

    Returns
    -------
    converged : bool
    steps : int
        Newton steps taken.
    factorisations : int
    energy : float
        [1/m]
    twist : float
        [rad]
    shifted : bool
        Whether the Hessian was not positive definite somewhere on the way.
    """
    h = rod.length / (len(x) - 1)
    tolerance = last_step(rod, len(x) - 1) * rod.length
    least_shift = 10.0 * h / rod.length**4  # a fiftieth of the softest mode of a clamped straight hose
    shift, factorisations, shifted, saddles = 0.0, 0, False, 0
    value, twist = total_energy(x, rod, springs, work, near)
    for steps in range(1, most_steps + 1):
        borders = add_springs(x, springs, work, assemble(rod, work, twist))
        factorisations += 1
        while not factorise(work, borders, shift):
            shifted = True
            shift = max(least_shift, 4.0 * shift)
            factorisations += 1
            if factorisations > MOST_FACTORISATIONS:
                return False, steps, factorisations, value, twist, shifted
        size, slope = _newton_direction(work, borders)
        if shift > 0.0 and size < SMALL_STEP * rod.length and saddles < 5:
            factorisations += 1
            if factorise(work, borders, 0.0):
                size, slope = _newton_direction(work, borders)
                shift = 0.0
            else:
                factorise(work, borders, shift)
                saddles += 1
                value, twist = _leave_saddle(x, rod, springs, work, twist, borders, shift)
                continue
        scale, value, twist = _search(x, rod, springs, work, value, twist, size, slope, size < tolerance)
        if scale == 0.0:
            return False, steps, factorisations, value, twist, shifted
        if shift == 0.0 and scale == 1.0 and size < tolerance:
            return True, steps, factorisations, value, twist, shifted
        shift = 0.25 * shift if shift > least_shift else 0.0
    return False, most_steps, factorisations, value, twist, shifted


@kernel
def _newton_direction(work: Work, borders: int) -> tuple[float, float]:
    # step into work.step; its largest entry and the slope of the energy along it
    count = len(work.band)
    for k in range(count):
        work.step[k] = -work.gradient[k]
    solve(work, borders, work.step)
    size, slope = 0.0, 0.0
    for k in range(count):
        size = max(size, abs(work.step[k]))
        slope += work.step[k] * work.gradient[k]
    return size, slope


@kernel
def _search(
    x: np.ndarray,
    rod: Rod,
    springs: Springs,
    work: Work,
    value: float,
    twist: float,
    size: float,
    slope: float,
    trusted: bool,
) -> tuple[float, float, float]:
    # line search along work.step: the part of it taken (0 where none lowers the energy), energy and twist there;
    # a trusted step is so small that the change of energy drowns in rounding
    scale = min(1.0, LONGEST_STEP * rod.length / max(size, 1e-300))
    noise = _ROUNDING * (abs(value) + 10.0 / rod.length)
    while True:
        _move(x, work.trial, work.step, scale)
        trial_value, trial_twist = total_energy(work.trial, rod, springs, work, twist)
        if trusted or trial_value <= value + _SUFFICIENT * scale * slope + noise:
            copy_rows(x, work.trial)
            return scale, trial_value, trial_twist
        if scale * size < 1e-12 * rod.length:
            return 0.0, value, twist
        curvature = 2.0 * (trial_value - value - scale * slope) / (scale * scale)
        best = -slope / curvature if curvature > 0.0 else 0.5 * scale
        scale = min(0.5 * scale, max(0.1 * scale, best))
