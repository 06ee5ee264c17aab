"""Charts of one run: its radius along the hose, and its margins over the motion.

Lines and hatching tell things apart, never colour alone: what is not allowed is hatched, a limit is dashed, the worst
place has a ring.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from matplotlib.ticker import MaxNLocator
from numpy.typing import NDArray

from hosewright.checks import bend_radius, clearance, motion_twist, slack
from hosewright.checks.check import CheckResult, RunResult
from hosewright.checks.course import course
from hosewright.checks.finding import Finding
from hosewright.checks.solve import SolvedRun, SolvedSpan
from hosewright.documents.drawing import DOTTED, LARGE, SMALL, Format, Sheet
from hosewright.documents.joint_values import slides
from hosewright.documents.lettering import fitting, text_size
from hosewright.documents.scenes import pose_of, worst_first
from hosewright.documents.subjects import subject_in_words
from hosewright.machine import Poses
from hosewright.words import US, Figures, Texts, read, reading

Array = NDArray[np.float64]
Box = tuple[float, float, float, float]  # left, bottom, right, top

WIDTH = 180.0
PANEL = 34.0
"""Height of a row. [mm]"""
LEFT, RIGHT, TOP, BOTTOM = 15.0, 3.0, 5.0, 9.5
"""Round the panel of a chart: its numbers and its words. [mm]"""
TICKS = (10, 5)
"""Numbers along a chart and up it, at most."""
TICK = 0.9
HATCHES = 1.9
"""From one line of a hatching to the next. [mm]"""
RING = 1.2
HIGHEST = 3.0
"""A chart goes up to so many times the limit: more says nothing."""
FOLLOWED = (bend_radius.RULE, slack.RULE, motion_twist.RULE, clearance.RULE)
"""Rules whose measure is followed over the motion."""


def radius_chart(
    run: RunResult, *, texts: Texts | None = None, figures: Figures | None = None, format: Format = "svg"
) -> bytes | None:
    """Inside radius along the hose in the pose and state in which it is least; ``None`` where it is not known."""
    findings = [f for f in run.findings if f.rule == bend_radius.RULE and f.measure is not None]
    if not findings:
        return None
    writer = _writer(texts, figures)
    finding = worst_first(findings)[0]
    pose = pose_of(run.solved, finding.place)
    state = next(k for k, state in enumerate(run.solved.states) if state.name == finding.place.state)
    diameter = run.run.assembly.hose.outside_diameter or 0.0
    x = writer.scaled(np.concatenate([_places(span) for span in run.solved.spans]), "length")
    radii = np.concatenate([_inside(span, state, pose, diameter) for span in run.solved.spans])
    sheet = Sheet(WIDTH, PANEL)
    panel = writer.panel(sheet, (0.0, 0.0, WIDTH, PANEL), x, radii, finding)
    panel.marks(writer.scaled(np.array([clamp.at for clamp in run.run.clamps]), "length"))
    at = writer.scaled(np.array([finding.place.at or 0.0]), "length")
    panel.ring(at[0], writer.scaled(np.array([finding.measure]), "length")[0])
    panel.name_x(writer.texts("charts.along", unit=writer.figures.unit("mm")))
    return sheet.bytes(format)


def margins_chart(
    result: CheckResult,
    run: RunResult,
    *,
    texts: Texts | None = None,
    figures: Figures | None = None,
    format: Format = "svg",
) -> bytes | None:
    """Measures against their limits over the motion; ``None`` where nothing moves.

    Of each rule that can be followed the finding nearest its limit: radius, slack, twist, clearance to a part.
    """
    followed = [(f, course(f, run.solved, result.job)) for f in _followed(run, result)] if _moves(run.solved) else []
    shown = [(finding, values) for finding, values in followed if values is not None]
    if not shown:
        return None
    writer = _writer(texts, figures)
    rows = (len(shown) + 1) // 2
    sheet = Sheet(WIDTH, rows * PANEL)
    x, word = _motion(result.poses, result, writer)
    for number, (finding, values) in enumerate(shown):
        left, bottom = WIDTH / 2.0 * (number % 2), (rows - 1 - number // 2) * PANEL
        panel = writer.panel(sheet, (left, bottom, left + WIDTH / 2.0, bottom + PANEL), x, values, finding)
        panel.marks([0.5 * (x[k] + x[k + 1]) for k in np.flatnonzero(np.diff(result.poses.path))])
        pose = int(np.argmin(values) if finding.at_least else np.argmax(values))
        panel.ring(x[pose], writer.scaled(values[[pose]], finding.kind)[0])
        panel.name_x(word)
    return sheet.bytes(format)


def _followed(run: RunResult, result: CheckResult) -> Iterable[Finding]:
    parts = {part.name for part in result.job.machine.obstacles}
    for rule in FOLLOWED:
        found = [finding for finding in run.findings if finding.rule == rule and finding.measure is not None]
        known = [finding for finding in found if rule != clearance.RULE or finding.subject in parts]
        yield from worst_first(known)[:1]


def _moves(solved: SolvedRun) -> bool:
    return len(solved.poses) > 1 and any(span.moves(1e-6, 1e-6) for span in solved.spans)


def _motion(poses: Poses, result: CheckResult, writer: _Writer) -> tuple[Array, str]:
    # the joint that moves, where it is one and goes one way; else the part of the motion that is done
    moving = np.flatnonzero(np.ptp(poses.values, axis=0) > 1e-9)
    if len(moving) == 1:
        values = poses.values[:, moving[0]]
        if (np.diff(values) >= 0.0).all() or (np.diff(values) <= 0.0).all():
            name = poses.joints[int(moving[0])]
            kind = "length" if name in slides(result.job.machine) else "angle"
            return writer.scaled(values, kind), f"{name} [{writer.figures.unit(reading(kind).unit)}]"
    return (poses.path + poses.at) / (poses.path.max() + 1.0) * 100.0, writer.texts("charts.done")


@dataclass(frozen=True)
class _Writer:
    """Words and units."""

    texts: Texts
    figures: Figures

    def scaled(self, values: Array, kind: str) -> Array:
        """SI values as they are read."""
        how = reading(kind)
        read_off = values * how.factor + how.offset
        us = US.get(how.unit) if self.figures.system == "us" else None
        return read_off if us is None else read_off * us.factor + us.offset

    def panel(self, sheet: Sheet, room: Box, x: Array, values: Array, finding: Finding) -> _Panel:
        """A measure against its limit, with what is not allowed hatched."""
        bound = finding.limit if finding.limit is not None else finding.advice_limit
        y = self.scaled(values, finding.kind)
        limit = None if bound is None else float(self.scaled(np.array([bound]), finding.kind)[0])
        low, high = _range(y, limit, at_least=finding.at_least)
        panel = _Panel(sheet, room, (float(x.min()), float(x.max())), (low, high), self.texts.decimal_mark)
        if limit is not None:
            panel.hatch(*((low, limit) if finding.at_least else (limit, high)))
        panel.grid()
        panel.curve(x, y, limit)
        panel.title(self._title(finding, bound))
        return panel

    def _title(self, finding: Finding, bound: float | None) -> str:
        unit = reading(finding.kind).unit
        subject = subject_in_words(finding.rule, finding.subject, self.texts)
        name = self.texts(f"rules.{finding.rule}") + (f", {subject}" if subject else "")
        sign = "≥" if finding.at_least else "≤"
        limit = "" if bound is None else f" {sign} {self.figures.number(read(bound, finding.kind) or 0.0, unit)}"
        return f"{name}{limit} [{self.figures.unit(unit)}]"


def _writer(texts: Texts | None, figures: Figures | None) -> _Writer:
    texts = texts or Texts.load("en")
    return _Writer(texts, figures or Figures(decimal_mark=texts.decimal_mark))


def _places(span: SolvedSpan) -> Array:
    return np.linspace(span.start, span.start + span.length, span.shapes[0].curvature.shape[1])


def _inside(span: SolvedSpan, state: int, pose: int, diameter: float) -> Array:
    return 1.0 / np.maximum(span.shapes[state].curvature[pose], 1e-3) - diameter / 2.0


def _range(values: Array, limit: float | None, *, at_least: bool) -> tuple[float, float]:
    bound = abs(limit or 0.0)
    low = min(float(values.min()), 0.0 if limit is None else min(limit, 0.0) if at_least else 0.0)
    high = max(float(values.max()), 1.3 * (limit or 0.0))
    if at_least and bound > 0.0:
        high = min(high, max(HIGHEST * bound, 1.3 * float(values.min())))
    room = 0.06 * (high - low) or 1.0
    return (low - room if low < 0.0 else low), high + room


class _Panel:
    """A chart in a part of a sheet: ranges of what goes along it and up it, drawn from below to what lies on top."""

    def __init__(
        self, sheet: Sheet, room: Box, along: tuple[float, float], up: tuple[float, float], decimal_mark: str
    ) -> None:
        left, bottom, right, top = room
        self.sheet, self.along, self.up, self.decimal_mark = sheet, along, up, decimal_mark
        self.low, self.high = np.array([left + LEFT, bottom + BOTTOM]), np.array([right - RIGHT, top - TOP])

    def _spots(self, x: Array, y: Array) -> Array:
        start, stop = np.transpose([self.along, self.up])
        return self.low + (np.stack([x, y], axis=1) - start) / (stop - start) * (self.high - self.low)

    def _spot(self, x: float, y: float) -> Array:
        return self._spots(np.array([x]), np.array([y]))[0]

    def hatch(self, low: float, high: float) -> None:
        """A band from side to side."""
        (left, bottom), (right, top) = self._spot(self.along[0], low), self._spot(self.along[1], high)
        starts = np.arange(left - (top - bottom), right, HATCHES)
        with self.sheet.window(left, bottom, right, top):
            rise = top - bottom
            self.sheet.lines([np.array([[x, bottom], [x + rise, bottom + rise]]) for x in starts], "0.62", 0.6)

    def grid(self) -> None:
        """Frame, lines of the grid and their numbers."""
        (left, bottom), (right, top) = self.low, self.high
        for value in _ticks(self.along, TICKS[0]):
            x = self._spot(value, self.up[0])[0]
            self.sheet.line(np.array([[x, bottom], [x, top]]), "0.85", 0.5)
            self.sheet.line(np.array([[x, bottom - TICK], [x, bottom]]), "0", 0.8)
            self.sheet.write(np.array([x, bottom - 2.7]), self._number(value))
        for value in _ticks(self.up, TICKS[1]):
            y = self._spot(self.along[0], value)[1]
            number = self._number(value)
            self.sheet.line(np.array([[left, y], [right, y]]), "0.85", 0.5)
            self.sheet.line(np.array([[left - TICK, y], [left, y]]), "0", 0.8)
            self.sheet.write(np.array([left - 1.7 - text_size(number, SMALL)[0] / 2.0, y]), number)
        frame = np.array([[left, bottom], [right, bottom], [right, top], [left, top], [left, bottom], [right, bottom]])
        self.sheet.line(frame, "0", 0.8)

    def _number(self, value: float) -> str:
        return f"{value:g}".replace(".", self.decimal_mark)

    def curve(self, x: Array, y: Array, limit: float | None) -> None:
        """A measure, and its limit dashed."""
        with self.sheet.window(*self.low, *self.high):
            self.sheet.line(self._spots(x, y), "0", 1.3)
            if limit is not None:
                self.sheet.line(self._spots(np.array(self.along), np.full(2, limit)), "0", 1.0, (3.7, 1.6))

    def marks(self, places: Iterable[float]) -> None:
        """Dotted lines across."""
        ends = np.array(self.up)
        self.sheet.lines([self._spots(np.full(2, place), ends) for place in places], "0.5", 0.7, DOTTED)

    def ring(self, x: float, y: float) -> None:
        """A ring round the worst."""
        angle = np.linspace(0.0, 2.0 * np.pi, 37)
        self.sheet.line(self._spot(x, y) + RING * np.stack([np.cos(angle), np.sin(angle)], axis=1), "0", 1.0)

    def title(self, text: str) -> None:
        """Over the upper left corner, smaller where it is long."""
        size = fitting(text, LARGE, float(self.high[0] - self.low[0]))
        wide = text_size(text, size)[0]
        self.sheet.write(np.array([self.low[0] + wide / 2.0, self.high[1] + 2.0]), text, size)

    def name_x(self, text: str) -> None:
        """Below its numbers."""
        self.sheet.write(np.array([self.low[0] + self.high[0], 2.0 * self.low[1] - 13.2]) / 2.0, text)


def _ticks(limits: tuple[float, float], most: int) -> Array:
    ticks = np.asarray(MaxNLocator(most, steps=[1, 2, 2.5, 5, 10]).tick_values(*limits))
    inside = (ticks >= limits[0] - 1e-9) & (ticks <= limits[1] + 1e-9)
    return ticks[inside]
