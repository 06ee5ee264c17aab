"""Words as outlines: how they look and how much room they take, in the font that comes with the charts' library."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache

import numpy as np
from matplotlib.font_manager import FontProperties
from matplotlib.path import Path
from matplotlib.textpath import TextPath
from numpy.typing import NDArray

Array = NDArray[np.float64]

POINT = 25.4 / 72.0
"""[mm]"""
HIGH = 100.0
"""Size of type in which outlines are given."""
LINE = 1.25
"""From line to line, in sizes of type."""

CLOSE = int(Path.CLOSEPOLY)
LETTERS = {int(Path.MOVETO): "M", int(Path.LINETO): "L", int(Path.CURVE3): "C", int(Path.CURVE4): "C"}
"""Of an SVG's path, by the codes of the charts' library."""


def text_size(text: str, points: float, *, bold: bool = False) -> tuple[float, float]:
    """Width and height of a word on paper. [mm]"""
    lines = text.split("\n")
    width = max(lettering(line, bold=bold)[1] for line in lines)
    return width / HIGH * points * POINT, LINE * points * POINT * len(lines)


def fitting(text: str, points: float, room: float, *, bold: bool = False) -> float:
    """Size of type, smaller than asked where a word would be wider than its room. [points], [mm]"""
    return points * min(1.0, room / max(text_size(text, points, bold=bold)[0], 1e-9))


@lru_cache(maxsize=4096)
def lettering(line: str, *, bold: bool = False, slanted: bool = False) -> tuple[str, float]:
    """Outline of a line, as the path of an SVG from the left end of its foot, and its width, for a size of 100."""
    if not line.strip():
        return "", 0.0
    font = FontProperties(
        family="DejaVu Sans", weight="bold" if bold else "normal", style="oblique" if slanted else "normal"
    )
    path = TextPath((0.0, 0.0), line, size=HIGH, prop=font)
    segments = [(np.asarray(spots).reshape(-1, 2), int(code)) for spots, code in path.iter_segments(simplify=False)]
    across = np.concatenate([spots[:, 0] for spots, code in segments if code != CLOSE])
    # as much room on its right as its first letter leaves on its left
    return "".join(_pieces(segments)), float(across.min() + across.max())


def _pieces(segments: Sequence[tuple[Array, int]]) -> Iterator[str]:
    here = np.zeros(2)
    for spots, code in segments:
        if code == CLOSE:
            yield "Z"
            continue
        if code == Path.CURVE3:  # as the cubic that it is, since that is what pages know
            spots = np.stack(
                [here + 2.0 / 3.0 * (spots[0] - here), spots[1] + 2.0 / 3.0 * (spots[0] - spots[1]), spots[1]]
            )
        here = spots[-1]
        yield LETTERS[code] + " ".join(f"{x:.0f} {-y:.0f}" for x, y in spots.tolist())  # y goes down an SVG
