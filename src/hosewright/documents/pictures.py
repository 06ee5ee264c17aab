"""A hose on its machine, drawn to scale: one run in one pose, with its worst place.

Greys and line styles tell things apart, never colour alone. The hose has its true width; what lies behind a part of the
machine is dashed.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from hosewright.assembly import End
from hosewright.checks.check import CheckResult, RunResult
from hosewright.checks.finding import Finding, Place, Verdict
from hosewright.documents.drawing import DOTTED, LARGE, POINTS, SMALL, Format, Sheet
from hosewright.documents.joint_values import read_pose, slides
from hosewright.documents.labels import Labels
from hosewright.documents.lettering import fitting, text_size
from hosewright.documents.projection import View
from hosewright.documents.scenes import Scene, finding_at, worst_finding
from hosewright.documents.solids import Solid
from hosewright.documents.subjects import subject_in_words
from hosewright.machine import Machine, Surface
from hosewright.words import Figures, Texts, read, reading

Array = NDArray[np.float64]

WIDTH = 180.0
HEIGHTS = (60.0, 98.0)
"""Of a picture, from that of a flat hose to that of a tall one. [mm]"""
STRIP = 11.0
"""Foot of a picture with scale bar, pose and axes. [mm]"""
SCALE, TRIAD = 58.0, 8.0
"""Of the foot: what the scale bar takes from the left, and half of what the axes take from the right. [mm]"""
FILLED = 0.74
"""Part of the picture that the hose spans, in the direction in which it is larger."""
LETTERS_APART = 2.4
"""Of the axes, whose letters are left out where they would run into each other. [mm]"""
LARGEST = 1000.0
"""Nothing is drawn larger than it is. [mm/m]"""
WIDE_AS_HOSE = 1.3
"""Width of a ferrule, in outside diameters, where its data gives none."""
BODY = 0.75
"""Width of the body of an end against its ferrule."""
CLAMP = (0.02, 1.7)
"""Length of a clamp [m], and its width in outside diameters."""
NO_TRIANGLE = np.zeros((0, 3, 3))
MOST_PLACES = 100
"""On a part where its name may stand."""
DENSE = 1.5
"""Between places that words had better not cover. [mm]"""
WORDY = 0.45
"""Part of the width of a sheet that a word may take."""
THIN = 0.6
"""Width of other hoses against their true one."""


def run_picture(
    result: CheckResult,
    run: RunResult,
    place: Place | None = None,
    *,
    texts: Texts | None = None,
    figures: Figures | None = None,
    size: tuple[float, float] | None = None,
    format: Format = "svg",
) -> bytes:
    """One run in one pose and state with its worst place, as a picture; the same input gives the same bytes.

    Parameters
    ----------
    result, run
        A run of a result.
    place
        Where and when, such as that of a finding; ``None`` for the worst place of the run.
    texts, figures
        Words and units; English and metric unless given.
    size
        Width and height; unless given, 180 mm wide and as high as the hose asks for. [mm]
    format
        ``"svg"`` or ``"png"``.
    """
    finding = worst_finding(run) if place is None else finding_at(run, place)
    place = place or (finding.place if finding else Place())
    texts = texts or Texts.load("en")
    figures = figures or Figures(decimal_mark=texts.decimal_mark)
    return Picture(Scene(result, run, place), finding, texts, figures, size).draw().bytes(format)


def pose_in_words(pose: Mapping[str, float], machine: Machine, figures: Figures) -> str:
    """Joint values of the contract as a person reads them, such as ``"boom 65°, ram 120 mm"``."""
    sliding = slides(machine)
    return ", ".join(f"{name} {figures(value, 'mm' if name in sliding else 'deg')}" for name, value in pose.items())


@dataclass(frozen=True, eq=False)
class _Projected:
    """From the machine to the sheet: a view, a scale [mm/m], what lies in the middle [m], [mm], and the size. [mm]"""

    view: View
    scale: float
    middle: Array
    centre: Array
    size: tuple[float, float]

    def __call__(self, points: Array) -> Array:
        return (self.view.flat(points) - self.middle) * self.scale + self.centre

    @staticmethod
    def of(scene: Scene, size: tuple[float, float] | None) -> _Projected:
        view = scene.view()
        ghosts = [part for ghost in scene.ghosts for part in (ghost.line, *ghost.ends)]
        spots = view.flat(np.concatenate([scene.whole, *ghosts]))
        low, high = spots.min(axis=0), spots.max(axis=0)
        span = np.maximum(high - low, 4.0 * scene.diameter)
        size = size or (WIDTH, float(np.clip(WIDTH * span[1] / span[0] + STRIP, *HEIGHTS)))
        room = np.array([size[0], size[1] - STRIP])
        scale = min(float((FILLED * room / span).min()), LARGEST)
        return _Projected(view, scale, (low + high) / 2.0, np.array([0.0, STRIP]) + room / 2.0, size)


class Picture:
    """A scene being drawn, from what lies behind to what lies on top."""

    def __init__(
        self, scene: Scene, finding: Finding | None, texts: Texts, figures: Figures, size: tuple[float, float] | None
    ) -> None:
        self.scene, self.finding, self.texts, self.figures = scene, finding, texts, figures
        self.flat = _Projected.of(scene, size)
        self.sheet = Sheet(*self.flat.size)
        self.labels: list[tuple[Array, str]] = []
        self.triangles = self._on_sheet(scene.triangles)
        self.faces = [self._small(self._on_sheet(one.seen_from(self.flat.view.towards))) for _, one in scene.solids]
        self.edges = np.zeros((0, 2))
        ghosts = [self.flat(ghost.line[::3]) for ghost in scene.ghosts]
        self.room = Labels(*self.flat.size, np.concatenate([*self._sides(), *ghosts]))
        self.room.take((0.0, 0.0, self.flat.size[0], STRIP))

    def _sides(self) -> tuple[Array, Array, Array]:
        # the hose as wide as its ferrules, which words had better not cover
        spots = dense(self.flat(self.scene.whole))
        along = np.gradient(spots, axis=0)
        across = np.stack([-along[:, 1], along[:, 0]], axis=1)
        across /= np.maximum(np.linalg.norm(across, axis=1, keepdims=True), 1e-9)
        half = 0.5 * WIDE_AS_HOSE * self.scene.diameter * self.flat.scale
        return spots, spots + half * across, spots - half * across

    def draw(self) -> Sheet:
        """All of it."""
        self._parts()
        self._ghosts()
        self._other_hoses()
        self._hose()
        self._clamps()
        self._worst()
        self._names()
        self._names_of_parts()
        self._strip()
        return self.sheet

    def _width(self, diameter: float) -> float:
        # of a line on paper [points]
        return max(diameter * self.flat.scale * POINTS, 1.6)

    def _on_sheet(self, figures: Array) -> Array:
        # lines or triangles (k, c, 3) of which something may be on the sheet
        spots = self.flat(figures)
        inside = (spots.max(axis=1) > 0.0).all(axis=1) & (spots.min(axis=1) < self.sheet.size).all(axis=1)
        return figures[inside]

    def _pose_in_words(self, pose: int) -> str:
        machine = self.scene.machine
        return pose_in_words(read_pose(self.scene.solved.pose(pose), machine), machine, self.figures)

    def _small(self, triangles: Array) -> Array:
        # as triangles that are small on the sheet
        return self._on_sheet(_loose(triangles).finer(float(self.sheet.size.max()) / self.flat.scale / 10.0))

    def _parts(self) -> None:
        view, scale = self.flat.view, self.flat.scale
        fine = np.concatenate([NO_TRIANGLE, *self.faces])
        fine = fine[np.argsort(view.depth(fine).mean(axis=1), kind="stable")]
        self.sheet.triangles(self.flat(fine), _tones(fine, view))
        edges = [one.edges(view.towards) for _, one in self.scene.solids]
        pieces = _cut(self._on_sheet(np.concatenate([np.zeros((0, 2, 3)), *edges])), 4.0 / scale)
        seen = self.flat(pieces[~view.hidden(pieces.mean(axis=1), self.triangles, 2.0 / scale)])
        self.sheet.lines(seen, "0.35", 0.6)
        self.edges = seen.mean(axis=1)

    def _ghosts(self) -> None:
        for ghost in self.scene.ghosts:
            for one in ghost.solids:
                edges = self._on_sheet(one.edges(self.flat.view.towards))
                self.sheet.lines(self.flat(edges), "0.55", 0.5, DOTTED)
            for end in ghost.ends:
                self.sheet.line(self.flat(end), "0.62", 1.5)
            line = self.flat(ghost.line)
            self.sheet.band(line, self._width(self.scene.diameter), "0.90", "0.55", 0.6)
            furthest = int(np.argmax(np.linalg.norm(line - self.flat(self.scene.line), axis=1)))
            self.labels.append((line[furthest], self._pose_in_words(ghost.pose)))

    def _other_hoses(self) -> None:
        for other, line in self.scene.others():
            meant = self.finding is not None and self.finding.subject == f"hose {other.run.name}"
            diameter = other.run.assembly.hose.outside_diameter or self.scene.diameter
            spots = self.flat(line)
            if meant:
                self.sheet.band(spots, self._width(diameter), "0.85", "0.2", 0.7)
            else:
                self.sheet.band(spots, self._width(THIN * diameter), "1", "0.45", 0.7)
            inside = np.flatnonzero(((spots > 4.0) & (spots < self.sheet.size - 4.0)).all(axis=1))
            if len(inside) > 4:
                self.labels.append((spots[inside[2 * len(inside) // 3]], other.run.name))

    def _hose(self) -> None:
        scene = self.scene
        run, width = scene.run.run, self._width(scene.diameter)
        for axis, end in zip(scene.ends, (run.assembly.a, run.assembly.b), strict=True):
            self._end(axis, end)
        hidden = self.flat.view.hidden(scene.line, self.triangles, scene.diameter / 2.0)
        spots = self.flat(scene.line)
        for start, stop in _stretches(hidden):
            part = spots[max(start - 1, 0) : stop + 1]
            if hidden[start]:
                self.sheet.band(part, width, "0.80", "0.45", 0.5)
                self.sheet.line(part, "0", 0.9, (4.0, 3.0))
            else:
                self.sheet.band(part, width, "0.55", "0", 1.0)
        for name, axis, port in zip("ab", scene.ends, (run.port_a, run.port_b), strict=True):
            seat = self.flat(axis[0])
            self.sheet.mark(seat)
            self.labels.append((seat, self._name_of_end(name, port)))

    def _name_of_end(self, name: str, port: str) -> str:
        return f"{name}: {port}"

    def _end(self, corners: Array, end: End) -> None:
        form = end.form
        ferrule = form.ferrule_diameter or WIDE_AS_HOSE * self.scene.diameter
        self.sheet.band(self.flat(corners), self._width(BODY * ferrule), "0.75", "0", 0.7)
        tail, before = corners[-1], corners[-2]
        straight = float(np.linalg.norm(before - tail))
        length = min(form.ferrule_length or form.insertion, straight)
        start = tail + length / max(straight, 1e-9) * (before - tail)
        self.sheet.band(self.flat(np.stack([start, tail])), self._width(ferrule), "0.3", "0", 0.7)

    def _clamps(self) -> None:
        length, width = CLAMP
        for clamp in self.scene.run.run.clamps:
            mount = self.scene.solved.placement.mount(clamp.mount)
            middle, along = mount.origin[self.scene.pose], mount.facing[self.scene.pose]
            spots = self.flat(np.stack([middle - 0.5 * length * along, middle + 0.5 * length * along]))
            self.sheet.band(spots, self._width(width * self.scene.diameter), "1", "0", 1.4)
            self.labels.append((self.flat(middle), clamp.mount))

    def _worst(self) -> None:
        spot, place = self.flat(self.scene.worst), self.scene.place
        if place.at is not None:
            self.sheet.ring(spot, max(0.75 * self.scene.diameter * self.flat.scale, 2.0))
        if self.finding is None:
            return
        if self.finding.rule == "clearance":
            for part in self.scene.machine.obstacles:
                if part.name == self.finding.subject:
                    self.sheet.arrow(spot, self.flat(self.scene.nearest_on(part)), both=True)
        text = self._sentence(self.finding)
        points = fitting(text, LARGE, WORDY * float(self.sheet.size[0]), bold=True)
        half = np.array(text_size(text, points, bold=True)) / 2.0 + np.array([1.5, 1.2])
        middle = self.room.put(spot, (2.0 * half[0], 2.0 * half[1]), 11.0)
        self.sheet.line(np.stack([_edge(middle, spot, half), spot]), "0", 0.9)
        border = 1.6 if self.finding.verdict is Verdict.FAIL else 0.8
        self.sheet.ground(middle, (2.0 * half[0], 2.0 * half[1]), border)
        self.sheet.write(middle, text, points, bold=True)

    def _sentence(self, finding: Finding) -> str:
        unit = reading(finding.kind).unit
        bound = finding.advice_limit if finding.limit is None else finding.limit
        subject = subject_in_words(finding.rule, finding.subject, self.texts)
        name = self.texts(f"rules.{finding.rule}") + (f", {subject}" if subject else "")
        sign = "≥" if finding.at_least else "≤"
        limit = "" if bound is None else f" ({sign} {self.figures(read(bound, finding.kind), unit)})"
        verdict = self.texts(f"common.verdict_{finding.verdict}")
        return f"{name}\n{self.figures(read(finding.measure, finding.kind), unit)}{limit}: {verdict}"

    def _names(self) -> None:
        for anchor, text in self.labels:
            if not ((anchor > 0.0) & (anchor < self.sheet.size)).all():
                continue
            points = fitting(text, SMALL, WORDY * float(self.sheet.size[0]))
            size = text_size(text, points)
            middle = self.room.put(anchor, size, 2.0)
            edge = _edge(middle, anchor, np.array(size) / 2.0 + 0.4)
            if math.dist(edge, anchor) > 2.5:
                self.sheet.line(np.stack([edge, anchor]), "0.3", 0.5)
            self.sheet.ground(middle, (size[0] + 0.6, size[1]))
            self.sheet.write(middle, text, points)

    def _names_of_parts(self) -> None:
        for (part, _), faces in zip(self.scene.solids, self.faces, strict=True):
            spots = self._seen_on(faces)
            plain = part.surface is Surface.PLAIN
            text = part.name if plain else f"{part.name} ({self.texts(f'pictures.{part.surface}')})"
            size = text_size(text, SMALL)
            found = self.room.room(spots, size, self.edges)
            if found is None:
                found = self.room.room(spots, size)
            if found is not None:
                self.sheet.write(found, text, slanted=True, tone="0.2")

    def _seen_on(self, faces: Array) -> Array:
        # places on the sheet where a part shows, the middle ones first
        view = self.flat.view
        middles = faces[np.abs(_loose(faces).normals @ view.towards) > 0.1].mean(axis=1)
        middles = middles[:: max(1, len(middles) // MOST_PLACES)]
        spots = self.flat(middles[~view.hidden(middles, self.triangles, 2.0 / self.flat.scale)])
        away = np.linalg.norm(spots - spots.sum(axis=0) / max(len(spots), 1), axis=1)
        return spots[np.argsort(away, kind="stable")]

    def _strip(self) -> None:
        width = float(self.sheet.size[0])
        self.sheet.box(-1.0, -1.0, width + 1.0, STRIP, "1")  # beyond the edges, where half a dot would show
        self.sheet.line(np.array([[0.0, STRIP], [width, STRIP]]), "0.5", 0.5)
        self._scale_bar()
        state = self.texts(f"pictures.{self.scene.solved.states[self.scene.state].name}")
        pose = self._pose_in_words(self.scene.pose)
        self._between(SCALE, self._directions(), f"{pose}; {state}" if pose else state)

    def _between(self, left: float, right: float, text: str) -> None:
        # in the strip, smaller where it is long
        middle = np.array([(left + right) / 2.0, STRIP / 2.0])
        self.sheet.write(middle, text, fitting(text, SMALL, right - left))

    def _directions(self) -> float:
        # in the strip from its right end; returns where they begin
        self._axes()
        return float(self.sheet.size[0]) - 2.0 * TRIAD

    def _scale_bar(self) -> None:
        unit = 1.0 if self.figures.system == "metric" else 25.4
        length = unit * _round_below(1e3 * (SCALE - 8.0) / self.flat.scale / unit)  # mm
        left, right = 4.0, 4.0 + length * 1e-3 * self.flat.scale
        self.sheet.line(
            np.array([[left, 3.8], [left, 2.2], [left, 3.0], [right, 3.0], [right, 2.2], [right, 3.8]]), "0", 1
        )
        self.sheet.write(np.array([(left + right) / 2.0, 6.2]), self.figures(length, "mm"))

    def _axes(self) -> None:
        ways = 3.7 * self.flat.view.axes[:2].T
        corner = np.array([float(self.sheet.size[0]) - TRIAD, STRIP / 2.0])
        origin = corner - (ways.min(axis=0) + ways.max(axis=0)) / 2.0
        written: list[Array] = []
        for name, way in sorted(zip("xyz", ways, strict=True), key=lambda axis: -float(np.linalg.norm(axis[1]))):
            length = float(np.linalg.norm(way))
            spot = origin + way * (1.0 + 1.4 / max(length, 1.0))
            self.sheet.arrow(origin, origin + way, width=0.8)
            if all(math.dist(spot, other) > LETTERS_APART for other in [origin, *written]):
                written.append(spot)
                self.sheet.write(spot, name, 6.5)


def _loose(triangles: Array) -> Solid:
    return Solid(triangles.reshape(-1, 3), np.arange(3 * len(triangles)).reshape(-1, 3))


def _tones(triangles: Array, view: View) -> Array:
    # light from over the eye's left shoulder; both sides of a face look alike
    normals = _loose(triangles).normals
    light = view.axes.T @ np.array([-0.45, 0.65, 0.6])
    tones = np.clip(0.86 + 0.11 * np.sign(normals @ view.towards) * (normals @ light), 0.74, 0.98)
    return np.round(tones, 2)


def _cut(lines: Array, longest: float) -> Array:
    # lines (k, 2, 3) in pieces of at most so much
    counts = np.ceil(np.linalg.norm(lines[:, 1] - lines[:, 0], axis=1) / longest).astype(int).clip(1, 400)
    row = np.repeat(np.arange(len(lines)), counts)
    first = np.arange(len(row)) - np.repeat(np.cumsum(counts) - counts, counts)
    parts = (np.stack([first, first + 1], axis=1) / counts[row][:, None])[..., None]
    start, along = lines[row, 0], lines[row, 1] - lines[row, 0]
    return start[:, None] + parts * along[:, None]


def dense(spots: Array) -> Array:
    """Spots along a line (k, 2), evenly, no further apart than a word is high. [mm]"""
    at = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(spots, axis=0), axis=1))])
    even = np.linspace(0.0, at[-1], math.ceil(at[-1] / DENSE) + 2)
    return np.stack([np.interp(even, at, column) for column in spots.T], axis=1)


def _stretches(flags: NDArray[np.bool_]) -> list[tuple[int, int]]:
    # first and one past the last of each run of equal flags, the hidden ones first so that the others lie on top
    edges = [0, *(int(k) + 1 for k in np.flatnonzero(np.diff(flags))), len(flags)]
    return sorted(itertools.pairwise(edges), key=lambda piece: not flags[piece[0]])


def _edge(middle: Array, spot: Array, half: Array) -> Array:
    # the place of a box that is nearest to a spot
    return np.clip(spot, middle - half, middle + half)


def _round_below(value: float) -> float:
    # 1, 2 or 5 times a power of ten
    power = 10.0 ** math.floor(math.log10(value))
    return max(factor for factor in (1.0, 2.0, 5.0) if factor * power <= value) * power
