"""Terms added to the rod's energy: each brings its energy, gradient, band and, where it needs one, border column.

To add a kind of term, give it a NamedTuple of arrays and two functions like ``springs_energy`` and ``add_springs``, and
call them beside those two in ``newton``. A term that couples distant nodes adds a column to ``work.border``, its
compliance to ``work.compliance``, and returns the new count.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from hosewright.mechanics.compiled import kernel
from hosewright.mechanics.rod import Work


class Springs(NamedTuple):
    """Linear springs from free nodes to points in space: a guide holds two directions and lets the third slide."""

    node: np.ndarray  # (k,) int, 1 .. n - 1
    anchor: np.ndarray  # (k, 3) [m]
    stiffness: np.ndarray  # (k, 3, 3) symmetric, divided by the bending stiffness


@kernel
def springs_energy(x: np.ndarray, springs: Springs) -> float:
    """Energy of all springs."""
    total = 0.0
    for k in range(len(springs.node)):
        node = springs.node[k]
        for i in range(3):
            for j in range(3):
                total += (
                    0.5
                    * springs.stiffness[k, i, j]
                    * (x[node, i] - springs.anchor[k, i])
                    * (x[node, j] - springs.anchor[k, j])
                )
    return total


@kernel
def add_springs(x: np.ndarray, springs: Springs, work: Work, borders: int) -> int:
    """Add gradient and band of all springs; the number of border columns stays as it is."""
    for k in range(len(springs.node)):
        node = springs.node[k]
        row = 3 * (node - 1)
        for i in range(3):
            for j in range(3):
                work.gradient[row + i] += springs.stiffness[k, i, j] * (x[node, j] - springs.anchor[k, j])
            for j in range(i, 3):
                work.band[row + i, j - i] += springs.stiffness[k, i, j]
    return borders


def no_springs() -> Springs:
    """No added terms."""
    return Springs(np.zeros(0, dtype=np.int64), np.zeros((0, 3)), np.zeros((0, 3, 3)))
