"""Words as outlines: how they look and how much room they take, in the font that comes with the charts' library."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from matplotlib.font_manager import FontProperties
from matplotlib.path import Path
from matplotlib.textpath import TextPath

POINT = 25.4 / 72.0
"""[mm]"""
HIGH = 100.0
"""Size of type in which outlines are given."""
LINE = 1.25
"""From line to line, in sizes of type."""

_LETTERS = {Path.MOVETO: "M", Path.LINETO: "L", Path.CURVE3: "Q", Path.CURVE4: "C", Path.CLOSEPOLY: "Z"}


def text_size(text: str, points: float, *, bold: bool = False) -> tuple[float, float]:
    """Width and height of a word on paper. [mm]"""
    lines = text.split("\n")
    width = max(lettering(line, bold=bold)[1] for line in lines)
    return width / HIGH * points * POINT, LINE * points * POINT * len(lines)


@lru_cache(maxsize=4096)
def lettering(line: str, *, bold: bool = False, slanted: bool = False) -> tuple[str, float]:
    """Outline of a line, as the path of an SVG from the left end of its foot, and its width, for a size of 100."""
    if not line.strip():
        return "", 0.0
    font = FontProperties(
        family="DejaVu Sans", weight="bold" if bold else "normal", style="oblique" if slanted else "normal"
    )
    path = TextPath((0.0, 0.0), line, size=HIGH, prop=font)
    return "".join(_pieces(path)), float(path.get_extents().width)


def _pieces(path: Path) -> Iterator[str]:
    for spots, code in path.iter_segments(simplify=False):
        upended = [f"{-value if k % 2 else value:.0f}" for k, value in enumerate(spots.tolist())]  # y goes down an SVG
        yield _LETTERS[code] + ("" if code == Path.CLOSEPOLY else " ".join(upended))
