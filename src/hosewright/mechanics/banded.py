"""Symmetric linear systems that are a narrow band plus a few full columns on the border.

The matrix is ``H = B + sum_k v_k v_k^T / s_k``: B banded, v_k the border columns, s_k > 0 their compliances. It is
solved through the bordered system ``[B V; V^T -S]``: the band is factorised without pivoting as L D L^T, the border
goes into the small Schur complement ``T = S + V^T B^-1 V``. By the law of inertia, H is positive definite exactly where
B and T have as many negative pivots as each other, so a band that is indefinite by itself does no harm.
"""

from __future__ import annotations

import numpy as np

from hosewright.mechanics.compiled import kernel
from hosewright.mechanics.rod import BANDWIDTH, Work

_TINY_PIVOT = 1e-13
"""A pivot this small against its row's diagonal has lost its digits."""


@kernel
def _factorise_band(work: Work, shift: float) -> int:
    # L D L^T of ``band + shift``: the number of negative pivots, or -1 where a pivot is lost
    width = BANDWIDTH + 1
    band, factor = work.band, work.factor
    count = len(band)
    for k in range(count):
        for m in range(width):
            factor[k, m] = band[k, m]
        factor[k, 0] += shift
    for k in range(count, count + width):
        for m in range(width):
            factor[k, m] = 0.0
    negative = 0
    for k in range(count):
        pivot = factor[k, 0]
        if not abs(pivot) > _TINY_PIVOT * abs(band[k, 0]):
            return -1
        if pivot < 0.0:
            negative += 1
        for j in range(1, width):
            f = factor[k, j] / pivot
            for m in range(width):
                factor[k + j, m] -= f * factor[k, j + m]
    return negative


@kernel
def _solve_band(work: Work, b: np.ndarray) -> None:
    # in place, one right-hand side, padded by the bandwidth + 1
    count, width = len(work.band), BANDWIDTH + 1
    factor = work.factor
    for k in range(count):
        t = b[k] / factor[k, 0]
        for j in range(1, width):
            b[k + j] -= factor[k, j] * t
    for k in range(count, count + width):
        b[k] = 0.0
    for k in range(count - 1, -1, -1):
        total = b[k]
        for j in range(1, width):
            total -= factor[k, j] * b[k + j]
        b[k] = total / factor[k, 0]


@kernel
def _factorise_small(a: np.ndarray, size: int) -> int:
    # dense L D L^T in place, L below the diagonal and D on it: the number of negative pivots, -1 where one is lost
    negative = 0
    for k in range(size):
        if a[k, k] == 0.0 or not np.isfinite(a[k, k]):
            return -1
        if a[k, k] < 0.0:
            negative += 1
        for i in range(k + 1, size):
            f = a[i, k] / a[k, k]
            for j in range(k + 1, i + 1):
                a[i, j] -= f * a[j, k]
        for i in range(k + 1, size):
            a[i, k] /= a[k, k]
    return negative


@kernel
def factorise(work: Work, borders: int, shift: float) -> bool:
    """Factorise ``H + shift``.

    Returns
    -------
    bool
        False where it is not positive definite; the factors are then of no use.
    """
    negative = _factorise_band(work, shift)
    if negative < 0:
        return False
    count = len(work.band)
    schur = work.schur
    for c in range(borders):
        for k in range(count):
            work.solved[c, k] = work.border[c, k]
        work.solved[c, count:] = 0.0
        _solve_band(work, work.solved[c])
    for c in range(borders):
        for e in range(c + 1):
            total = 0.0
            for k in range(count):
                total += work.border[c, k] * work.solved[e, k]
            schur[c, e] = total
        schur[c, c] += work.compliance[c]
    return _factorise_small(schur, borders) == negative


@kernel
def solve(work: Work, borders: int, b: np.ndarray) -> None:
    """Solve for one right-hand side in place, with the factors that stand; ``b`` is padded by the bandwidth + 1."""
    count = len(work.band)
    schur, rest = work.schur, work.rest
    b[count:] = 0.0
    _solve_band(work, b)
    for c in range(borders):
        total = 0.0
        for k in range(count):
            total += work.border[c, k] * b[k]
        for e in range(c):
            total -= schur[c, e] * rest[e]
        rest[c] = total
    for c in range(borders):
        rest[c] /= schur[c, c]
    for c in range(borders - 1, -1, -1):
        for e in range(c + 1, borders):
            rest[c] -= schur[e, c] * rest[e]
        for k in range(count):
            b[k] -= rest[c] * work.solved[c, k]
