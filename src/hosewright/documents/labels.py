"""Room for words on a drawing, where they cover neither each other nor what matters."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Box = tuple[float, float, float, float]  # left, bottom, right, top

REACHES = (2.0, 4.0, 7.0, 11.0, 16.0, 22.0, 30.0)
"""Ways from what a word names to the word. [mm]"""
DIRECTIONS = 16
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
        angles = math.tau * np.arange(DIRECTIONS) / DIRECTIONS
        ways = np.stack([np.cos(angles), np.sin(angles)], axis=1)
        middles = [
            anchor + reach * way + np.sign(np.round(way, 9)) * half * np.minimum(1.0, 1.5 * np.abs(way))
            for reach in REACHES
            if reach >= least
            for way in ways
        ]
        costs = [self._cost(middle, half) + 0.4 * math.dist(middle, anchor) for middle in middles]
        best = middles[int(np.argmin(costs))]
        self.take(_box(best, half))
        return best

    def room(self, anchors: Array, size: tuple[float, float]) -> Array | None:
        """The first of the anchors (k, 2) on which a word covers nothing; ``None`` where there is none."""
        half = np.array(size) / 2.0 + AIR
        for anchor in anchors:
            if self._cost(anchor, half) == 0.0:
                self.take(_box(anchor, half))
                return anchor
        return None

    def _cost(self, middle: Array, half: Array) -> float:
        box = _box(middle, half)
        outside = max(-box[0], -box[1], box[2] - self.width, box[3] - self.height, 0.0)
        covered = sum(_common(box, other) for other in self.taken)
        inside = (np.abs(self.lines - middle) < half).all(axis=1).sum()
        return 50.0 * outside + 5.0 * covered + 2.0 * float(inside)


def _box(middle: Array, half: Array) -> Box:
    (left, bottom), (right, top) = middle - half, middle + half
    return float(left), float(bottom), float(right), float(top)


def _common(one: Box, other: Box) -> float:
    # area that two boxes share
    width = min(one[2], other[2]) - max(one[0], other[0])
    height = min(one[3], other[3]) - max(one[1], other[1])
    return max(width, 0.0) * max(height, 0.0)
