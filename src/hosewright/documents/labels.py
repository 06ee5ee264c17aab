"""Room for words on a drawing, where they cover neither each other nor what matters."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Box = tuple[float, float, float, float]  # left, bottom, right, top

REACHES = (2.0, 4.0, 7.0, 11.0, 16.0, 22.0, 30.0)
"""Ways from what a word names to the word. [mm]"""
WAYS = np.array([(math.cos(turn), math.sin(turn)) for turn in math.tau * np.arange(16) / 16.0])
"""Directions in which the word may lie."""
NOWHERE = np.zeros((0, 2))
AT_ONCE = 32
"""Places that are tried before it is looked whether one will do."""
AIR = 0.8
"""Round a word. [mm]"""


class Labels:
    """What of a sheet is taken.

    Parameters
    ----------
    width, height
        Of the sheet. [mm]
    lines : (k, 2) float
        Places that words had better not cover. [mm]
    """

    def __init__(self, width: float, height: float, lines: Array) -> None:
        self.width, self.height, self.lines = width, height, lines
        self.taken: list[Box] = []

    def take(self, box: Box) -> None:
        """Keep a box free."""
        self.taken.append(box)

    def spare(self, spots: Array) -> None:
        """More places (k, 2) that words had better not cover."""
        self.lines = np.concatenate([self.lines, spots])

    def put(self, anchor: Array, size: tuple[float, float], least: float = 0.0) -> Array:
        """Middle of a word that names the anchor, (2,); its box is taken from then on. [mm]

        Parameters
        ----------
        anchor : (2,) float
            What it names. [mm]
        size
            Width and height. [mm]
        least
            Least way from the anchor. [mm]
        """
        half = np.array(size) / 2.0 + AIR
        reaches = np.array([reach for reach in REACHES if reach >= least])
        aside = np.sign(np.round(WAYS, 9)) * half * np.minimum(1.0, 1.5 * np.abs(WAYS))
        middles = (anchor + reaches[:, None, None] * WAYS + aside).reshape(-1, 2)
        costs = self._costs(middles, half) + 0.4 * np.linalg.norm(middles - anchor, axis=1)
        best = middles[int(np.argmin(costs))]
        self.take(_box(best, half))
        return best

    def room(self, anchors: Array, size: tuple[float, float], spared: Array = NOWHERE) -> Array | None:
        """The first of the anchors (k, 2) on which a word covers nothing; ``None`` where there is none.

        Parameters
        ----------
        anchors : (k, 2) float
            [mm]
        size
            Width and height. [mm]
        spared : (j, 2) float
            More places that this word had better not cover. [mm]
        """
        half = np.array(size) / 2.0 + AIR
        for start in range(0, len(anchors), AT_ONCE):
            some = anchors[start : start + AT_ONCE]
            free = np.flatnonzero((self._costs(some, half) == 0.0) & (_inside(spared, some, half) == 0))
            if len(free):
                self.take(_box(some[free[0]], half))
                return np.asarray(some[free[0]])
        return None

    def _costs(self, middles: Array, half: Array) -> Array:
        # (k,) of boxes round middles (k, 2)
        low, high = middles - half, middles + half
        size = np.array([self.width, self.height])
        outside = np.maximum(np.maximum(-low, high - size), 0.0).max(axis=1)
        taken = np.array(self.taken).reshape(-1, 4)
        sides = [
            np.minimum(high[:, k, None], taken[:, k + 2]) - np.maximum(low[:, k, None], taken[:, k]) for k in (0, 1)
        ]
        covered = (np.maximum(sides[0], 0.0) * np.maximum(sides[1], 0.0)).sum(axis=1)
        return 50.0 * outside + 5.0 * covered + 2.0 * _inside(self.lines, middles, half)


def _inside(spots: Array, middles: Array, half: Array) -> NDArray[np.int64]:
    # how many of the spots lie in each box
    within = [np.abs(spots[:, k] - middles[:, k, None]) < half[k] for k in (0, 1)]
    return np.asarray((within[0] & within[1]).sum(axis=1))


def _box(middle: Array, half: Array) -> Box:
    (left, bottom), (right, top) = middle - half, middle + half
    return float(left), float(bottom), float(right), float(top)
