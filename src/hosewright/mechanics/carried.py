"""A reference carried along shapes without twist."""

from __future__ import annotations

import numpy as np

from hosewright.mechanics.compiled import entry, kernel


@kernel
def _unit(position: np.ndarray, k: int, out: np.ndarray) -> None:
    square = 0.0
    for c in range(3):
        out[c] = position[k + 1, c] - position[k, c]
        square += out[c] * out[c]
    for c in range(3):
        out[c] /= np.sqrt(square)


@kernel
def _dot(a: np.ndarray, b: np.ndarray) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


@kernel
def _triple(a: np.ndarray, b: np.ndarray, c: np.ndarray) -> float:
    return a[0] * (b[1] * c[2] - b[2] * c[1]) + a[1] * (b[2] * c[0] - b[0] * c[2]) + a[2] * (b[0] * c[1] - b[1] * c[0])


@entry
def carry(
    position: np.ndarray,
    direction_a: np.ndarray,
    direction_b: np.ndarray,
    reference_a: np.ndarray,
    reference_b: np.ndarray,
    angle: np.ndarray,
) -> None:
    """Fill ``angle`` (m,) as :func:`hosewright.mechanics.roll.carried_roll` tells, but for whole turns. [rad]"""
    n = position.shape[1] - 1
    older, old, new, carried = np.empty(3), np.empty(3), np.empty(3), np.empty(3)
    for m in range(len(position)):
        off = 0.0
        for c in range(3):
            old[c], carried[c] = direction_a[m, c], reference_a[m, c]
        for k in range(n + 1):
            if k < n:
                _unit(position[m], k, new)
            else:
                for c in range(3):
                    new[c] = direction_b[m, c]
            turn = _dot(carried, new) / (1.0 + _dot(old, new))
            for c in range(3):
                carried[c] -= turn * (old[c] + new[c])
            if k > 0:
                off += (0.25 if k == 1 or k == n else 0.125) * _triple(older, old, new)
            for c in range(3):
                older[c], old[c] = old[c], new[c]
        sine = _triple(direction_b[m], carried, reference_b[m])
        angle[m] = np.arctan2(sine, _dot(carried, reference_b[m])) - off
