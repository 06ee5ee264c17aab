"""Dimensioned drawing of an assembly laid straight: one model gives the DXF file and the picture on paper.

End a is on the left with its outlet up; the outlet of end b is turned by the orientation angle, clockwise for somebody
who looks from end a to end b, and seen from the side. Lengths are true, in mm; what the data does not give, such as the
length of a nut, is drawn in proportion and bears no dimension.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from statistics import mean
from typing import Any
from xml.sax.saxutils import escape

import ezdxf
import numpy as np
from ezdxf import bbox, path
from ezdxf.document import Drawing as Document
from ezdxf.entities import Dimension, DXFGraphic, Insert, MText, Solid
from ezdxf.layouts import Modelspace
from ezdxf.math import BoundingBox

from hosewright.words import Figures

ezdxf.options.write_fixed_meta_data_for_testing = True  # no time and no random number: the same data, the same bytes

WIDTH, HEIGHT = 178.0, 62.0
"""The most that a drawing takes on paper. [mm]"""
MARGIN = 9.0
"""Beside the ends, for their letters and the dimension of a drop. [mm on paper]"""
ROW = 6.5
"""From one dimension line to the next. [mm on paper]"""
BAND = 20.0
"""For the distances of the clamps, which stand upright. [mm on paper]"""
DOT = 0.7
"""Radius of the circles round the measuring points. [mm on paper]"""
JOG = 11.0
"""For the lines of clamps to bend aside where their distances would be written over each other. [mm on paper]"""
BESIDE = 6.5
"""From an end to the dimension of its drop. [mm on paper]"""
LEAST = 4.0
"""A shorter drop bears no dimension. [mm on paper]"""
TEXT = 2.5
"""Height of capitals. [mm on paper]"""
CAPITAL = 0.73
"""Height of capitals over the size of the type."""
ADVANCE = 0.61
"""Width of a sign over the size of the type, the same for all signs of this one."""
SCALES = (1, 1.5, 2, 2.5, 3, 4, 5, 6, 7, 8, 10, 12, 15, 20, 25, 30, 40, 50, 60, 80, 100, 150, 200, 300, 500, 1000)

LAYERS = {"outline": 0.4, "thin": 0.15, "axis": 0.15, "sleeve": 0.25, "mark": 0.5, "dimension": 0.18}
"""Widths of lines. [mm on paper]"""
DASHES = {"axis": "4 1 0.7 1", "sleeve": "2 1"}
LINETYPES = {"axis": "CENTER", "sleeve": "DASHED"}
NOTES = "notes"
"""Layer of what the DXF file alone says; on paper the sheet round the drawing does."""

EDGE_ON = 0.02
"""A circle that is seen under a smaller sine is drawn as a line."""

Vector = np.ndarray
Place = tuple[float, float]


@dataclass(frozen=True, eq=False)
class AssemblyDrawing:
    """A drawing of one assembly.

    Attributes
    ----------
    scale
        Of the picture: so many mm are one on paper.
    guessed
        Keys of the contract that are missing, so that something was drawn in proportion.
    """

    document: Document
    scale: float
    guessed: tuple[str, ...]

    @property
    def dxf(self) -> bytes:
        """The file, in mm."""
        text = io.StringIO()
        self.document.write(text)
        return text.getvalue().encode("utf-8")

    @property
    def svg(self) -> bytes:
        """The picture, in mm on paper."""
        return _svg(self.document, self.scale)


def draw(assembly: Mapping[str, Any], title: str, figures: Figures) -> AssemblyDrawing:
    """Draw an assembly.

    Parameters
    ----------
    assembly
        Its block of the contract.
    title
        Written into the DXF file.
    figures
        Whose units stand beside the millimetres, where they are others.
    """
    drafter = _Drafter(assembly, figures)
    document = _new_document()
    space = document.modelspace()
    drafter.parts(space)
    scale = drafter.scale(space)
    document.header["$LTSCALE"] = scale / 8.0
    drafter.dimensions(space, scale)
    drafter.letters(space, scale)
    _note(space, title, scale)
    return AssemblyDrawing(document, scale, tuple(drafter.guessed))


def _new_document() -> Document:
    document = ezdxf.new("R2010", units=4, setup=["linetypes"])
    for name, width in LAYERS.items():
        document.layers.add(name, lineweight=round(100 * width), linetype=LINETYPES.get(name, "Continuous"))
    document.layers.add(NOTES)
    return document


@dataclass(frozen=True, eq=False)
class _Side:
    """One end on the paper: measuring point, the way the hose leaves it, and the side of the outlet."""

    data: Mapping[str, Any]
    point: Vector
    along: Vector
    outlet: Vector

    def at(self, distance: float) -> Vector:
        """Point on the hose axis, so far from the measuring point."""
        return self.point + distance * self.along

    @property
    def tail(self) -> float:
        """Measuring point to ferrule tail."""
        return float(self.data["cutoff_mm"] + self.data["insertion_mm"])

    @property
    def seat(self) -> Vector:
        """Middle of the outlet's seat."""
        return self.point + self.data["drop_mm"] * self.outlet

    @property
    def angle(self) -> float:
        """Bend of the end. [rad]"""
        return math.radians(self.data["exit_angle_deg"])


class _Drafter:
    """Draws one assembly; ``guessed`` gathers what its data does not give."""

    def __init__(self, assembly: Mapping[str, Any], figures: Figures) -> None:
        self.data, self.figures = assembly, figures
        self.guessed: list[str] = []
        self.hose_diameter = self._known("outside_diameter_mm", assembly, 1.7 * assembly["inside_diameter_mm"])
        self.length = float(assembly["overall_length_mm"])
        turn = math.radians(assembly["orientation_angle_deg"] or 0.0)
        a, b = assembly["ends"]
        far = np.array([0.0, math.cos(turn), math.sin(turn)])  # for who looks from a, right is towards the reader
        self.a = _Side(a, np.zeros(3), np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0]))
        self.b = _Side(b, np.array([self.length, 0.0, 0.0]), np.array([-1.0, 0.0, 0.0]), far)

    def _known(self, key: str, data: Mapping[str, Any], guess: float) -> float:
        if data.get(key) is None:
            name = f" {data['name']}" if "name" in data else ""
            self.guessed.append(f"{key}{name}")
            return guess
        return float(data[key])

    # ---- parts ----

    def parts(self, space: Modelspace) -> None:
        """Hose, ends, sleeve and the marks of the clamps."""
        start, end = self.a.at(self.a.tail), self.b.at(self.b.tail)
        _cylinder(space, start, end, self.hose_diameter)
        lay = np.array([0.0, 0.2 * self.hose_diameter, 0.0])  # the printed line shows any twist
        _line(space, start + lay, end + lay, "thin")
        _line(space, self.a.at(-0.5 * self.hose_diameter), self.b.at(-0.5 * self.hose_diameter), "axis")
        for side in (self.a, self.b):
            self._end(space, side)
        for clamp in self.data["clamps"]:
            reach = np.array([0.0, 0.8 * self.hose_diameter, 0.0])
            _line(space, self.a.at(clamp["mark_mm"]) - reach, self.a.at(clamp["mark_mm"]) + reach, "mark")
        if self.data["sleeve"]:
            self._sleeve(space)

    def _sleeve(self, space: Modelspace) -> None:
        over = self.data["sleeve_over_mm"] or self.hose_diameter
        wall = np.array([0.0, max(0.8 * self.hose_diameter, 0.55 * over), 0.0])
        start, end = (side.at(self._ferrule_start(side)) for side in (self.a, self.b))
        _outline(space, [start - wall, end - wall, end + wall, start + wall, start - wall], "sleeve")

    @staticmethod
    def _ferrule_start(side: _Side) -> float:
        # from the measuring point; the hose's own end where the data gives no ferrule [mm]
        data = side.data
        return data["cutoff_mm"] + data["insertion_mm"] - (data["ferrule_length_mm"] or data["insertion_mm"])

    def _end(self, space: Modelspace, side: _Side) -> None:
        ferrule = self._known("ferrule_length_mm", side.data, 1.1 * side.data["insertion_mm"])
        diameter = self._known("ferrule_diameter_mm", side.data, 1.4 * self.hose_diameter)
        nut = self._known("nut_width_mm", side.data, 1.2 * self.hose_diameter)
        mouth = side.tail - ferrule
        _cylinder(space, side.at(mouth), side.at(side.tail), diameter)
        if side.angle > 0.0:
            self._bent(space, side, mouth, nut)
        elif mouth > 0.0:
            length = min(0.8 * nut, 0.7 * mouth)
            _cylinder(space, side.point, side.at(length), nut)
            _cylinder(space, side.at(length), side.at(mouth), 0.75 * self.hose_diameter)

    def _bent(self, space: Modelspace, side: _Side, mouth: float, nut: float) -> None:
        """Nut on the seat, then a tube that is bent where the outlet's axis meets that of the hose."""
        into = math.cos(side.angle) * side.along - math.sin(side.angle) * side.outlet
        tangent = math.tan(side.angle)
        corner = side.at(side.data["drop_mm"] / tangent if abs(tangent) > 1e-6 else 0.0)
        leg = float(np.linalg.norm(corner - side.seat))
        length = min(0.8 * nut, 0.5 * leg)
        start = side.seat + length * into
        _cylinder(space, side.seat, start, nut)
        room = min(leg - length, max(0.0, float((side.at(mouth) - corner) @ side.along)))
        _tube(space, _rounded(start, corner, side.at(mouth), 0.95 * room), 0.75 * self.hose_diameter)
        _line(space, side.seat, corner, "axis")

    # ---- dimensions ----

    def scale(self, space: Modelspace) -> float:
        """The largest of the usual scales in which all fits the paper."""
        box = bbox.extents(space, fast=True)
        free = HEIGHT - 2.5 * ROW - (BAND if self.data["clamps"] else 0.0)
        need = max(box.size.x / (WIDTH - 2.0 * MARGIN), box.size.y / free)
        return next((scale for scale in SCALES if scale >= need), math.ceil(need))

    def dimensions(self, space: Modelspace, scale: float) -> None:
        """Overall and cut length below, marks of the clamps above, drops beside the ends."""
        box = bbox.extents(space, fast=True)
        for side in (self.a, self.b):
            space.add_circle(_seen(side.point), DOT * scale, dxfattribs={"layer": "mark"})
        marks = sorted(clamp["mark_mm"] for clamp in self.data["clamps"])
        written = spread(marks, 1.8 * TEXT * scale)
        above = box.extmax.y + (3.0 if written == marks else JOG) * scale
        for mark, place in zip(marks, written, strict=True):
            self._running(space, mark, (place, above), scale)
        # as it is cut, in whole mm: the hose stop of end b is where that ends
        cut = self.a.data["cutoff_mm"], self.a.data["cutoff_mm"] + self.data["cut_length_mm"]
        for row, (start, end) in enumerate((cut, (0.0, self.length)), start=1):
            self._linear(space, (start, box.extmin.y - row * ROW * scale), (start, 0.0), (end, 0.0), scale)
        for side, x in ((self.a, box.extmin.x - BESIDE * scale), (self.b, box.extmax.x + BESIDE * scale)):
            true = abs(side.outlet[2]) < EDGE_ON and side.data["drop_mm"] > LEAST * scale
            if side.angle > 0.0 and true:
                self._linear(space, (x, 0.0), _seen(side.point), _seen(side.seat), scale, upright=True)

    def _linear(
        self, space: Modelspace, base: Place, a: Place, b: Place, scale: float, *, upright: bool = False
    ) -> None:
        made = space.add_linear_dim(
            base=base, p1=a, p2=b, angle=90.0 if upright else 0.0, text="<>" if upright else self._text(b[0] - a[0]),
            dimstyle="Standard", override=self._style(scale), dxfattribs={"layer": "dimension"},
        )  # fmt: skip
        made.render()

    def _running(self, space: Modelspace, mark: float, above: Place, scale: float) -> None:
        """Distance of a mark from end a, written along its own line, so that all marks share one band."""
        foot = 0.8 * self.hose_diameter
        offset = above[0] - mark, above[1] - foot
        made = space.add_ordinate_x_dim(
            feature_location=(mark, foot), offset=offset, origin=(0.0, 0.0),
            dimstyle="Standard", override=self._style(scale), dxfattribs={"layer": "dimension"},
        )  # fmt: skip
        made.render()

    def _text(self, length: float) -> str:
        return "<>" if self.figures.system == "metric" else f"<> [{self.figures.inches(round(length, 1))}]"

    def _style(self, scale: float) -> dict[str, Any]:
        return {
            "dimlfac": 1.0, "dimtxt": TEXT * scale, "dimasz": TEXT * scale, "dimexe": scale, "dimexo": scale,
            "dimgap": scale, "dimdec": 1, "dimzin": 8, "dimtad": 1, "dimtih": 0, "dimtoh": 0,
            "dimdsep": ord(self.figures.decimal_mark),
        }  # fmt: skip

    def letters(self, space: Modelspace, scale: float) -> None:
        """Names of the ends."""
        box = bbox.extents(space.query("*[layer!='dimension']"), fast=True)
        for side, x in ((self.a, box.extmin.x - 2.5 * scale), (self.b, box.extmax.x + 2.5 * scale)):
            at = (x, 0.0 if side.angle == 0.0 else -2.0 * TEXT * scale)
            style = {"layer": "outline", "char_height": 1.3 * TEXT * scale, "attachment_point": 5, "insert": at}
            space.add_mtext(side.data["name"], style)
        if self.data["orientation_angle_deg"] is not None:
            _view(space, (box.extmin.x - 2.5 * scale, -4.0 * TEXT * scale), TEXT * scale)


def spread(places: Sequence[float], apart: float) -> list[float]:
    """Places along a line, in order, moved as little as they can be so that they lie so far apart.

    Places less their rank times the distance need only not fall: least squares by pooling those that do.
    """
    pools: list[list[float]] = []
    for rank, place in enumerate(places):
        pools.append([place - rank * apart])
        while len(pools) > 1 and mean(pools[-2]) > mean(pools[-1]):
            last = pools.pop()
            pools[-1] += last
    level = [mean(pool) for pool in pools for _ in pool]
    return [place + rank * apart for rank, place in enumerate(level)]


# ---- shapes in space, seen from the side ----


def _seen(point: Vector) -> Place:
    return float(point[0]), float(point[1])


def _line(space: Modelspace, start: Vector, end: Vector, layer: str) -> None:
    space.add_line(_seen(start), _seen(end), dxfattribs={"layer": layer})


def _outline(space: Modelspace, points: Iterable[Vector], layer: str) -> None:
    space.add_lwpolyline([_seen(point) for point in points], dxfattribs={"layer": layer})


def _cylinder(space: Modelspace, start: Vector, end: Vector, diameter: float) -> None:
    """Silhouette of a cylinder between two points in space, and its two round ends."""
    axis = (end - start) / max(float(np.linalg.norm(end - start)), 1e-9)
    seen = math.hypot(axis[0], axis[1])
    across = np.array([-axis[1], axis[0], 0.0]) / seen if seen > EDGE_ON else np.array([1.0, 0.0, 0.0])
    radius = 0.5 * diameter * across
    for centre in (start, end):
        if abs(axis[2]) < EDGE_ON:
            _line(space, centre - radius, centre + radius, "outline")
        else:
            ratio = min(1.0, abs(float(axis[2])))
            space.add_ellipse(_seen(centre), _seen(radius), ratio, dxfattribs={"layer": "outline"})
    if seen > EDGE_ON:
        for side in (radius, -radius):
            _line(space, start + side, end + side, "outline")


def _tube(space: Modelspace, points: Sequence[Vector], diameter: float) -> None:
    """Both edges of a bent tube along points of its centre line."""
    line = np.array(points)[:, :2]
    steps = np.gradient(line, axis=0)
    lengths = np.linalg.norm(steps, axis=1)
    shown = lengths > 1e-3 * diameter  # where the tube runs towards the reader, it has no edge
    if shown.sum() < 2:
        return
    normal = np.stack([-steps[shown, 1], steps[shown, 0]], axis=1) / lengths[shown, None]
    for side in (0.5 * diameter, -0.5 * diameter):
        _outline(space, line[shown] + side * normal, "outline")


def _rounded(start: Vector, corner: Vector, end: Vector, tangent: float) -> list[Vector]:
    """Points along two legs whose corner is rounded, beginning so far before it."""
    one = (start - corner) / max(float(np.linalg.norm(start - corner)), 1e-9)
    two = (end - corner) / max(float(np.linalg.norm(end - corner)), 1e-9)
    p, q = corner + tangent * one, corner + tangent * two
    curve = [(1 - t) ** 2 * p + 2 * t * (1 - t) * corner + t**2 * q for t in np.linspace(0.0, 1.0, 13)]
    return [start, *curve, end]


def _view(space: Modelspace, at: Place, size: float) -> None:
    """Arrow along the hose from end a: the way that one looks who reads the orientation angle."""
    x, y = at
    _line(space, np.array([x - size, y, 0.0]), np.array([x, y, 0.0]), "outline")
    head = [(x, y + 0.4 * size), (x, y - 0.4 * size), (x + size, y), (x + size, y)]
    space.add_solid(head, dxfattribs={"layer": "outline"})


def _note(space: Modelspace, title: str, scale: float) -> None:
    box = bbox.extents(space, fast=True)
    at = (box.extmin.x, box.extmin.y - 3.0 * TEXT * scale)
    text = space.add_text(f"{title}  [mm]", height=TEXT * scale, dxfattribs={"layer": NOTES})
    text.set_placement(at)


# ---- the picture of the same model ----


@dataclass(frozen=True)
class _Window:
    """From the model to the paper: millimetres from the upper left corner."""

    left: float
    top: float
    scale: float

    def __call__(self, point: Any) -> Place:
        return (point[0] - self.left) / self.scale, (self.top - point[1]) / self.scale


def _svg(document: Document, scale: float) -> bytes:
    parts = [part for entity in document.modelspace() for part in _plain(entity) if part.dxf.layer != NOTES]
    box = _extents(parts)
    window = _Window(box.extmin.x - scale, box.extmax.y + scale, scale)
    width, height = box.size.x / scale + 2.0, box.size.y / scale + 2.0
    shapes = "\n".join(_shape(part, window) for part in parts)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.2f}mm" height="{height:.2f}mm" '
        f'viewBox="0 0 {width:.2f} {height:.2f}">\n{shapes}\n</svg>\n'
    ).encode()


def _extents(parts: Sequence[DXFGraphic]) -> BoundingBox:
    """Box round all parts; texts are taken as they are written here, in one line."""
    box = bbox.extents((part for part in parts if not isinstance(part, MText)), fast=True)
    for text in (part for part in parts if isinstance(part, MText)):
        size = text.dxf.char_height / CAPITAL
        half = 0.5 * ADVANCE * size * len(text.plain_text()), 0.5 * size
        along, up = (np.array(way) for way in _axes(math.radians(text.get_rotation())))
        offset = ASIDE[text.dxf.attachment_point] * half[0] * along
        middle = np.array([text.dxf.insert.x, text.dxf.insert.y]) + offset
        box.extend([(*(middle + u * half[0] * along + v * half[1] * up), 0.0) for u in (-1, 1) for v in (-1, 1)])
    return box


def _axes(turn: float) -> tuple[Place, Place]:
    return (math.cos(turn), math.sin(turn)), (-math.sin(turn), math.cos(turn))


def _plain(entity: DXFGraphic) -> Iterator[DXFGraphic]:
    """Lines, curves, filled shapes and texts of an entity, dimensions and blocks taken apart."""
    if isinstance(entity, Dimension | Insert):
        for part in entity.virtual_entities():
            part.dxf.layer = entity.dxf.layer
            yield from _plain(part)
    elif entity.dxftype() != "POINT":
        yield entity


def _shape(entity: DXFGraphic, window: _Window) -> str:
    if isinstance(entity, MText):
        return _text(entity, window)
    if isinstance(entity, Solid):
        return f'<polygon points="{_points(map(window, entity.wcs_vertices()))}" fill="black"/>'
    points = _points(map(window, path.make_path(entity).flattening(0.05 * window.scale)))
    layer = entity.dxf.layer
    dashes = f' stroke-dasharray="{DASHES[layer]}"' if layer in DASHES else ""
    return f'<polyline points="{points}" fill="none" stroke="black" stroke-width="{LAYERS[layer]}"{dashes}/>'


def _points(points: Iterable[Place]) -> str:
    return " ".join(f"{x:.3f},{y:.3f}" for x, y in points)


ASIDE: Mapping[int, float] = {4: 1.0, 5: 0.0, 6: -1.0}
"""Where the middle of a text lies from its point, in halves of its width."""
ALIGNED: Mapping[int, tuple[str, float]] = {4: ("start", 0.5), 5: ("middle", 0.5), 6: ("end", 0.5)}
"""Attachment of a text to its point: along, and down in heights of capitals."""


def _text(entity: MText, window: _Window) -> str:
    x, y = window(entity.dxf.insert)
    capitals = entity.dxf.char_height / window.scale
    anchor, down = ALIGNED[entity.dxf.attachment_point]
    turn = f' transform="rotate({-entity.get_rotation():g} {x:.3f} {y:.3f})"'
    return (
        f'<text x="{x:.3f}" y="{y:.3f}" dy="{down * capitals:.3f}" font-family="DejaVu Sans Mono" '
        f'font-size="{capitals / CAPITAL:.3f}" text-anchor="{anchor}"{turn}>{escape(str(entity.plain_text()))}</text>'
    )
