"""Charts of one run: its radius along the hose, and its margins over the motion.

Lines and hatching tell things apart, never colour alone: what is not allowed is hatched, a limit is dashed, the worst
place has a ring.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from hosewright.checks import bend_radius, clearance, motion_twist, slack
from hosewright.checks.check import CheckResult, RunResult
from hosewright.checks.course import course
from hosewright.checks.finding import Finding
from hosewright.checks.solve import SolvedRun, SolvedSpan
from hosewright.documents.drawing import Format, saved, styled
from hosewright.documents.joint_values import slides
from hosewright.documents.scenes import pose_of, worst_first
from hosewright.documents.subjects import subject_in_words
from hosewright.machine import Poses
from hosewright.words import US, Figures, Texts, read, reading

Array = NDArray[np.float64]

WIDTH = 180.0
PANEL = 34.0
"""Height of a row. [mm]"""
LEFT, RIGHT, TOP, BOTTOM = 15.0, 3.0, 5.0, 9.5
"""Round the panel of a chart: its numbers and its words. [mm]"""
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
    figure = _figure(1)
    axes = _panel(figure, 0, 1, WIDTH)
    finding = worst_first(findings)[0]
    pose = pose_of(run.solved, finding.place)
    state = next(k for k, state in enumerate(run.solved.states) if state.name == finding.place.state)
    places, radii = [], []
    for span in run.solved.spans:
        places.append(_places(span))
        radii.append(_inside(span, state, pose, run.run.assembly.hose.outside_diameter or 0.0))
    x = writer.scaled(np.concatenate(places), "length")
    writer.measure(axes, x, np.concatenate(radii), finding)
    at = writer.scaled(np.array([finding.place.at or 0.0]), "length")
    _worst(axes, at[0], writer.scaled(np.array([finding.measure]), "length")[0])
    for clamp in run.run.clamps:
        axes.axvline(writer.scaled(np.array([clamp.at]), "length")[0], color="0.5", linewidth=0.8, linestyle=":")
    axes.set_xlim(float(x[0]), float(x[-1]))
    axes.set_xlabel(writer.texts("charts.along", unit=writer.figures.unit("mm")), va="bottom")
    return saved(figure, format)


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
    figure = _figure(rows)
    x, word = _motion(result.poses, result, writer)
    for number, (finding, values) in enumerate(shown):
        axes = _panel(figure, number // 2, rows, WIDTH / 2.0, WIDTH / 2.0 * (number % 2))
        writer.measure(axes, x, values, finding)
        pose = int(np.argmin(values) if finding.at_least else np.argmax(values))
        _worst(axes, x[pose], writer.scaled(values[[pose]], finding.kind)[0])
        for k in np.flatnonzero(np.diff(result.poses.path)):
            axes.axvline(0.5 * (x[k] + x[k + 1]), color="0.5", linewidth=0.6, linestyle=":")
        axes.set_xlim(float(x.min()), float(x.max()))
        axes.set_xlabel(word, va="bottom")
    return saved(figure, format)


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

    def measure(self, axes: Axes, x: Array, values: Array, finding: Finding) -> None:
        """A measure against its limit, with what is not allowed hatched."""
        bound = finding.limit if finding.limit is not None else finding.advice_limit
        y = self.scaled(values, finding.kind)
        limit = None if bound is None else float(self.scaled(np.array([bound]), finding.kind)[0])
        low, high = _range(y, limit, at_least=finding.at_least)
        axes.plot(x, y, color="black", linewidth=1.3)
        axes.set_ylim(low, high)
        if limit is not None:
            axes.axhline(limit, color="black", linewidth=1.0, linestyle="--")
            bad = (low, limit) if finding.at_least else (limit, high)
            axes.axhspan(*bad, facecolor="none", edgecolor="0.78", hatch="////", linewidth=0.0)
        axes.set_title(self._title(finding, bound), fontsize=8, loc="left", y=1.0, pad=2.5)
        for axis in (axes.xaxis, axes.yaxis):
            axis.set_major_formatter(lambda value, _: f"{value:g}".replace(".", self.texts.decimal_mark))

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


def _figure(rows: int) -> Figure:
    with styled():
        return Figure(figsize=(WIDTH / 25.4, rows * PANEL / 25.4))


def _panel(figure: Figure, row: int, rows: int, width: float, left: float = 0.0) -> Axes:
    high = rows * PANEL
    bottom = high - (row + 1) * PANEL + BOTTOM
    box = ((left + LEFT) / WIDTH, bottom / high, (width - LEFT - RIGHT) / WIDTH, (PANEL - TOP - BOTTOM) / high)
    with styled():
        axes: Axes = figure.add_axes(box)
        axes.tick_params(labelsize=7.5, length=2.5, pad=2.0)
        axes.locator_params(axis="y", nbins=5)
        axes.grid(color="0.85", linewidth=0.5)
        axes.set_axisbelow(True)
        # places given, so that no box of any number has to be worked out for them: that takes half of the time
        axes.xaxis.set_label_coords(0.5, (1.5 - BOTTOM) / (PANEL - TOP - BOTTOM))
        axes.yaxis.set_label_coords(0.0, 0.5)
    return axes


def _worst(axes: Axes, x: float, y: float) -> None:
    axes.plot(x, y, "o", markersize=7, markerfacecolor="none", markeredgecolor="black", clip_on=False, zorder=5)
