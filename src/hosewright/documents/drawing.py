"""A sheet to draw on, in mm from its lower left corner, saved as SVG or PNG.

Words are drawn as outlines, so that a sheet looks alike wherever it is opened; the same input gives the same bytes.
"""

from __future__ import annotations

import base64
import io
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import Literal

import numpy as np
import typst
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from hosewright.documents.lettering import HIGH, POINT, lettering, text_size

Array = NDArray[np.float64]
Format = Literal["svg", "png"]
Dashes = tuple[float, ...]
"""Lengths of dashes and gaps in widths of the line; nothing for a line without gaps."""

POINTS = 1.0 / POINT
"""[1/mm]"""
SMALL, LARGE = 7.5, 8.5
"""Sizes of type. [points]"""
DOTS, SHADES = 220, 150
"""Per inch: of a picture that is made of dots, and of the shading below its lines."""
THINNEST = 0.4
"""[points]"""
DOTTED: Dashes = (1.0, 1.65)
HEAD = (1.4, 0.5)
"""Length of an arrow's head and half its width. [mm]"""
UNDER = 0.75
"""How much of what lies below the white ground of a word hides."""

_PAGE = b"""#set page(width: float(sys.inputs.width) * 1mm, height: float(sys.inputs.height) * 1mm, margin: 0mm)
#image(bytes(sys.inputs.sheet), format: "svg")"""


class Sheet:
    """Paper of a size in mm; tones go from ``"0"``, black, to ``"1"``, white; what is drawn later lies on top."""

    def __init__(self, width: float, height: float) -> None:
        self.size = np.array([width, height])
        self._drawn: list[str] = []

    def line(self, spots: Array, tone: str, width: float, dashes: Dashes = ()) -> None:
        """A line through spots (k, 2), of a width in points, with blunt ends."""
        self.lines([spots], tone, width, dashes)

    def lines(self, many: Iterable[Array], tone: str, width: float, dashes: Dashes = ()) -> None:
        """Many lines, each through spots (k, 2), of one kind."""
        path = "".join(self._path(spots) for spots in many)
        if path:
            gaps = " ".join(f"{part * width * POINT:.2f}" for part in dashes)
            dashed = f' stroke-dasharray="{gaps}"' if gaps else ""
            self._drawn.append(
                f'<path d="{path}" fill="none" stroke="{_grey(tone)}" stroke-width="{width * POINT:.3f}"{dashed}/>'
            )

    def band(self, spots: Array, width: float, fill: str, edge: str, border: float) -> None:
        """A line of a width, such as a hose, with a border of its own on both sides. [points]"""
        self.line(spots, edge, width)
        self.line(spots, fill, max(width - 2.0 * border, THINNEST))

    def polygon(self, corners: Array, tone: str, opacity: float = 1.0) -> None:
        """A filled polygon of corners (k, 2)."""
        clear = f' fill-opacity="{opacity}"' if opacity < 1.0 else ""
        self._drawn.append(f'<path d="{self._path(corners)}Z" fill="{_grey(tone)}"{clear}/>')

    def triangles(self, corners: Array, tones: Array) -> None:
        """Triangles (k, 3, 2), each of a tone from 0 to 1, as dots on white, since they may be many."""
        if not len(corners):
            return
        per_mm = SHADES / 25.4
        width, height = np.ceil(self.size * per_mm).astype(int)
        dots = (corners * np.array([1.0, -1.0]) + np.array([0.0, self.size[1]])) * per_mm
        image = Image.new("L", (int(width), int(height)), 255)
        draw = ImageDraw.Draw(image)
        for spots, tone in zip(np.round(dots, 1).reshape(-1, 6).tolist(), (255.0 * tones).astype(int), strict=True):
            draw.polygon(spots, fill=int(tone), outline=int(tone))
        file = io.BytesIO()
        image.save(file, "PNG", compress_level=6)
        data = base64.b64encode(file.getvalue()).decode()
        size = f'width="{width / per_mm:.3f}" height="{height / per_mm:.3f}"'
        self._drawn.append(f'<image {size} preserveAspectRatio="none" href="data:image/png;base64,{data}"/>')

    def box(self, left: float, bottom: float, right: float, top: float, tone: str, opacity: float = 1.0) -> None:
        """A filled box."""
        self.polygon(np.array([[left, bottom], [right, bottom], [right, top], [left, top]]), tone, opacity)

    @contextmanager
    def window(self, left: float, bottom: float, right: float, top: float) -> Iterator[None]:
        """A part of the sheet beyond whose edges nothing shows of what is drawn meanwhile."""
        place = f"{left:.2f} {self.size[1] - top:.2f} {right - left:.2f} {top - bottom:.2f}"
        x, y, width, height = place.split()
        self._drawn.append(f'<svg x="{x}" y="{y}" width="{width}" height="{height}" viewBox="{place}">')
        yield
        self._drawn.append("</svg>")

    def write(
        self, spot: Array, text: str, size: float = SMALL, *, bold: bool = False, slanted: bool = False, tone: str = "0"
    ) -> None:
        """A word in the middle of a spot; several lines one below the other."""
        lines = text.split("\n")
        scale = size * POINT / HIGH
        for number, line in enumerate(lines):
            outline, width = lettering(line, bold=bold, slanted=slanted)
            drop = ((len(lines) - 1) / 2.0 - number) * text_size("", size)[1]
            x, y = float(spot[0]) - scale * width / 2.0, self.size[1] - float(spot[1]) - drop + 0.36 * size * POINT
            self._drawn.append(
                f'<path transform="translate({x:.2f} {y:.2f}) scale({scale:.5f})" d="{outline}" fill="{_grey(tone)}"/>'
            )

    def ground(self, middle: Array, size: tuple[float, float], border: float = 0.0) -> None:
        """A white box below a word, which what lies below shines through a little; none does where it has a border."""
        (left, bottom), (right, top) = middle - np.array(size) / 2.0, middle + np.array(size) / 2.0
        self.box(left, bottom, right, top, "1", 1.0 if border else UNDER)
        if border:
            corners = [[left, bottom], [right, bottom], [right, top], [left, top], [left, bottom], [right, bottom]]
            self.line(np.array(corners), "0", border)

    def arrow(self, start: Array, end: Array, *, both: bool = False, width: float = 0.9) -> None:
        """An arrow from spot to spot, with a head at its end or at both."""
        way = end - start
        length = max(float(np.linalg.norm(way)), 1e-9)
        way = way / length
        long = min(HEAD[0], length / (2.0 if both else 1.0))
        stop = end - 0.9 * long * way
        self.line(np.stack([start + 0.9 * long * way if both else start, stop]), "0", width)
        across = HEAD[1] * np.array([-way[1], way[0]])
        for tip, along in ((end, way), *(((start, -way),) if both else ())):
            foot = tip - long * along
            self.polygon(np.stack([tip, foot + across, foot - across]), "0")

    def ring(self, middle: Array, radius: float) -> None:
        """A circle round a spot, set off from what lies below. [mm]"""
        angle = np.linspace(0.0, 2.0 * np.pi, 61)
        spots = middle + radius * np.stack([np.cos(angle), np.sin(angle)], axis=1)
        self.line(spots, "1", 2.8)
        self.line(spots, "0", 1.2)

    def mark(self, spot: Array) -> None:
        """A small square."""
        for half, tone in ((0.85, "0"), (0.55, "1")):
            self.box(spot[0] - half, spot[1] - half, spot[0] + half, spot[1] + half, tone)

    def bytes(self, format: Format = "svg") -> bytes:
        """The sheet as a file."""
        width, height = (f"{side:g}" for side in self.size)
        svg = (
            '<?xml version="1.0" encoding="utf-8"?>\n'
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
            f'viewBox="0 0 {width} {height}" stroke-linejoin="round">\n' + "\n".join(self._drawn) + "\n</svg>\n"
        )
        if format == "svg":
            return svg.encode()
        inputs = {"sheet": svg, "width": width, "height": height}
        return typst.compile(_PAGE, format="png", ppi=DOTS, sys_inputs=inputs, ignore_system_fonts=True)

    def _path(self, spots: Array) -> str:
        flat = np.round(spots * np.array([1.0, -1.0]) + np.array([0.0, self.size[1]]), 2)
        return "M" + "L".join(f"{x:g} {y:g}" for x, y in flat.tolist())


def _grey(tone: str) -> str:
    return f"#{3 * format(round(255.0 * float(tone)), '02x')}"
