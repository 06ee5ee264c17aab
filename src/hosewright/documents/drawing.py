"""A sheet to draw on, in mm from its lower left corner, and what it is saved as."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import Any, Literal

import numpy as np
from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection, PolyCollection
from matplotlib.figure import Figure
from numpy.typing import NDArray

Array = NDArray[np.float64]
Format = Literal["svg", "png"]

POINTS = 72.0 / 25.4
"""[1/mm]"""
SMALL, LARGE = 7.5, 8.5
"""Sizes of type. [points]"""
DOTS = 220
"""Of a picture or a part of it that is made of dots, per inch."""
THINNEST = 0.4
"""[points]"""

_STYLE: Any = {"svg.hashsalt": "hosewright", "svg.fonttype": "path", "font.family": "DejaVu Sans", "font.size": SMALL}


def styled() -> Any:
    """Context in which figures are made and saved, so that the same input gives the same bytes."""
    return rc_context(_STYLE)


def saved(figure: Figure, format: Format = "svg") -> bytes:
    """A figure as bytes that hold neither date nor program."""
    file = io.BytesIO()
    nothing = {"Date": None, "Creator": None} if format == "svg" else {"Software": None}
    with styled():
        figure.savefig(file, format=format, dpi=DOTS, metadata=nothing)
    return file.getvalue()


class Sheet:
    """Paper of a size in mm; tones go from ``"0"``, black, to ``"1"``, white; what is drawn later lies on top."""

    def __init__(self, width: float, height: float) -> None:
        self.size = np.array([width, height])
        with styled():
            self.figure = Figure(figsize=(width / 25.4, height / 25.4))
            self.axes: Axes = self.figure.add_axes((0.0, 0.0, 1.0, 1.0))
            self.axes.set(xlim=(0.0, width), ylim=(0.0, height))
            self.axes.axis("off")
        self._layer = 2.0

    def _next(self) -> float:
        self._layer += 1e-3
        return self._layer

    def line(self, spots: Array, tone: str, width: float, style: Any = "-") -> None:
        """A line through spots (k, 2), of a width in points, with blunt ends."""
        self.axes.plot(
            spots[:, 0], spots[:, 1], color=tone, linewidth=width, linestyle=style, zorder=self._next(),
            solid_capstyle="butt", solid_joinstyle="round",
        )  # fmt: skip

    def lines(self, pieces: Array, tone: str, width: float, style: str = "-") -> None:
        """Many lines of two spots, (k, 2, 2)."""
        many: Any = pieces
        self.axes.add_collection(
            LineCollection(many, colors=tone, linewidths=width, linestyles=style, zorder=self._next())
        )

    def band(self, spots: Array, width: float, fill: str, edge: str, border: float) -> None:
        """A line of a width, such as a hose, with a border of its own on both sides. [points]"""
        self.line(spots, edge, width)
        self.line(spots, fill, max(width - 2.0 * border, THINNEST))

    def triangles(self, corners: Array, tones: Sequence[str]) -> None:
        """Triangles (k, 3, 2), each of a tone; as dots, since they may be many."""
        many: Any = corners
        patch = PolyCollection(many, facecolors=tones, edgecolors=tones, linewidths=0.4, zorder=self._next())
        patch.set_rasterized(True)
        self.axes.add_collection(patch)

    def box(self, left: float, bottom: float, right: float, top: float, tone: str) -> None:
        """A filled box."""
        self.polygon(np.array([[left, bottom], [right, bottom], [right, top], [left, top]]), tone)

    def polygon(self, corners: Array, tone: str) -> None:
        """A filled polygon of corners (k, 2)."""
        self.axes.fill(corners[:, 0], corners[:, 1], color=tone, zorder=self._next())

    def write(self, spot: Array, text: str, size: float = SMALL, **how: Any) -> None:
        """A word in the middle of a spot."""
        x, y = map(float, spot)
        self.axes.text(x, y, text, size=size, ha="center", va="center", clip_on=True, zorder=self._next(), **how)

    def arrow(self, start: Array, end: Array, style: str = "-|>", width: float = 0.9) -> None:
        """An arrow from spot to spot."""
        how = {"arrowstyle": style, "linewidth": width, "color": "black", "shrinkA": 0, "shrinkB": 0}
        first, last = ((float(x), float(y)) for x, y in (start, end))
        self.axes.annotate("", last, first, arrowprops={**how, "mutation_scale": 6.0}, zorder=self._next())

    def ring(self, middle: Array, radius: float) -> None:
        """A circle round a spot, set off from what lies below. [mm]"""
        angle = np.linspace(0.0, 2.0 * np.pi, 61)
        spots = middle + radius * np.stack([np.cos(angle), np.sin(angle)], axis=1)
        self.line(spots, "1", 2.8)
        self.line(spots, "0", 1.2)

    def mark(self, spot: Array) -> None:
        """A small square."""
        x, y = map(float, spot)
        self.axes.plot(x, y, "s", color="1", markeredgecolor="0", markersize=4.5, zorder=self._next())

    def bytes(self, format: Format = "svg") -> bytes:
        """The sheet as a file."""
        return saved(self.figure, format)
