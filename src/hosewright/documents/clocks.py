"""How bent ends and adapters are turned, as a fitter sees it who stands before the port.

Everything is told in the fitting pose, the machine as it stands: on a clock whose 12 is plumb up, or, where the port
faces up or down and plumb says nothing, towards the port at the hose's other end, or else the way the machine goes.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from hosewright.assembly import End
from hosewright.checks.check import CheckResult, RunResult
from hosewright.documents.drawing import LARGE, SMALL, Sheet
from hosewright.documents.lettering import fitting
from hosewright.documents.scenes import fitted
from hosewright.geometry import Frames
from hosewright.words import Figures, Texts

Array = NDArray[np.float64]
Reference = Literal["plumb", "port", "forward"]
Look = Literal["outside", "above", "below"]

OFF_PLUMB = math.radians(25.0)
"""An axis nearer to plumb than this leaves no clear way up on its face."""
CLEAR = (0.15, math.radians(20.0))
"""Least way across a port's axis to the other port [m], and least angle off the axis, for a fitter to point there."""
UP = np.array([0.0, 0.0, 1.0])
FORWARD = np.array([1.0, 0.0, 0.0])
"""The way a machine goes in its frame, for those who measure x forward and y to the left."""

SIZE = (44.0, 50.0)
"""Of the picture of a clock. [mm]"""
MIDDLE = np.array([22.0, 26.5])
RADIUS = 13.0
HOSE = 9.0
"""Width of the hose in it. [points]"""


@dataclass(frozen=True)
class ClockView:
    """The way in which the free side of a bent part points.

    Attributes
    ----------
    end
        ``"a"`` or ``"b"``.
    part
        Name of the end form or adapter.
    adapter
        Number of the adapter from the port outwards, from 0; ``None`` for the end form.
    port, other
        This end's, and the one at the other end of the hose.
    outlet
        Name of the bent adapter whose outlet one looks into; ``None`` where one looks at the port, since nothing
        before the part turns away from it.
    clock
        From the port's own mark, as the job has it. [rad]
    reference
        What 12 points to: plumb up, the other port, or forward along x of the machine.
    look
        From where one looks at the port, or into the outlet.
    angle
        Of the free side from the reference, clockwise for somebody who looks at the port from outside, or against the
        outlet, in ``[0, 2 pi)``. [rad]
    """

    end: str
    part: str
    adapter: int | None
    port: str
    other: str
    outlet: str | None
    clock: float
    reference: Reference
    look: Look
    angle: float

    @property
    def degrees(self) -> int:
        """The angle to the nearest degree, 0 to 359."""
        return round(math.degrees(self.angle)) % 360

    @property
    def hour(self) -> str:
        """The angle on a clock to the nearest half hour, such as ``"4:30"``."""
        halves = round(math.degrees(self.angle) / 15.0) % 24
        return f"{halves // 2 or 12}:{'30' if halves % 2 else '00'}"


def clock_views(result: CheckResult, run: RunResult) -> list[ClockView]:
    """Every bent part of a run's ends, end a first, each end from the port outwards."""
    placement = fitted(result, run)[1].solved.placement
    pair = (run.run.port_a, run.run.port_b)
    ends = (run.run.assembly.a, run.run.assembly.b)
    return [
        view
        for name, end, port, other in zip("ab", ends, pair, pair[::-1], strict=True)
        for view in _of_end(name, end, (port, other), placement.port(port), placement.port(other).origin[0])
    ]


def clock_shortly(view: ClockView, texts: Texts, figures: Figures) -> str:
    """Such as ``"to 4:30 (135°)"``."""
    return texts("clocks.to", hour=view.hour, angle=figures(view.degrees, "deg"))


def clock_with_reference(view: ClockView, texts: Texts) -> str:
    """Such as ``"45 short to 4:30; 12: plumb up"``, with the face it is told of where that is not the port's."""
    part, reference = texts.name(view.part), _reference(view, texts)
    beside = texts("clocks.beside", part=part, hour=view.hour, reference=reference)
    return beside if view.outlet is None else f"{beside},\n{_look(view, texts)}"


def clock_in_words(view: ClockView, texts: Texts, figures: Figures) -> str:
    """Such as ``"to 4:30 (135°); 12 o'clock is plumb up, looking at V.C from outside"``."""
    to, reference = clock_shortly(view, texts, figures), _reference(view, texts)
    return texts("clocks.turned", to=to, reference=reference, look=_look(view, texts))


def clock_pictures(views: Sequence[ClockView], texts: Texts, figures: Figures) -> list[bytes]:
    """What one sees who looks at the port, for each bent part, as SVG."""
    return [_face(view, texts, figures).bytes() for view in views]


def _of_end(name: str, end: End, ports: tuple[str, str], port: Frames, other: Array) -> Iterator[ClockView]:
    outlet = None
    for number, (part, clock, seat, free) in enumerate(_parts(end)):
        if not np.allclose(seat.facing, free.facing):
            adapter = number if number < len(end.adapters) else None
            reference, look, angle = _seen(port.place(seat), port.place(free), other)
            yield ClockView(name, part, adapter, *ports, outlet, clock, reference, look, angle)
            outlet = part


def _parts(end: End) -> Iterator[tuple[str, float, Frames, Frames]]:
    # name and clock of each part with the seat that it meets and the frame of its free side, in the port's frame
    for number, (adapter, clock) in enumerate(end.adapters):
        before, after = (replace(end, adapters=end.adapters[:k]).seat() for k in (number, number + 1))
        yield adapter.name, clock, before, after
    yield end.form.name, end.clock, end.seat(), end.tail()


def _seen(seat: Frames, free: Frames, other: Array) -> tuple[Reference, Look, float]:
    axis = seat.facing[0]
    reference, twelve = _twelve(axis, other - seat.origin[0])
    three = np.cross(twelve, axis)  # to the right of one who looks against the axis with 12 up
    way = free.facing[0]
    angle = math.atan2(float(way @ three), float(way @ twelve)) % math.tau
    look: Look = "outside" if reference == "plumb" else "above" if axis[2] > 0.0 else "below"
    return reference, look, 0.0 if math.tau - angle < 1e-9 else angle


def _twelve(axis: Array, across: Array) -> tuple[Reference, Array]:
    # what 12 points to, and the unit vector there on the face of a port
    if abs(axis[2]) <= math.cos(OFF_PLUMB):
        return "plumb", _on_face(UP, axis)
    aside = float(np.linalg.norm(across - (across @ axis) * axis))
    if aside >= CLEAR[0] and aside >= math.sin(CLEAR[1]) * float(np.linalg.norm(across)):
        return "port", _on_face(across, axis)
    return "forward", _on_face(FORWARD, axis)


def _on_face(way: Array, axis: Array) -> Array:
    flat = way - (way @ axis) * axis
    return flat / np.linalg.norm(flat)


def _reference(view: ClockView, texts: Texts) -> str:
    return texts(f"clocks.{view.reference}", port=view.other)


def _look(view: ClockView, texts: Texts, outlet: str = "outlet") -> str:
    # at the port, or by words of this kind into the outlet before the part
    if view.outlet is None:
        return texts(f"clocks.look_{view.look}", port=view.port)
    return texts(f"clocks.{outlet}_{view.look}", adapter=texts.name(view.outlet))


def _face(view: ClockView, texts: Texts, figures: Figures) -> Sheet:
    sheet = Sheet(*SIZE)
    sheet.ring(MIDDLE, RADIUS)
    for hour in range(12):
        way = _way(math.tau * hour / 12.0)
        long = 2.0 if hour % 3 == 0 else 1.0
        sheet.line(MIDDLE + np.outer([RADIUS - long, RADIUS], way), "0", 0.9 if hour % 3 == 0 else 0.6)
        if hour % 3 == 0:
            sheet.write(MIDDLE + (RADIUS - 3.7) * way, str(hour or 12), SMALL)
    top = MIDDLE + np.array([0.0, RADIUS])
    sheet.arrow(top, top + np.array([0.0, 5.0]), width=1.4)
    _line(sheet, top[1] + 7.0, _reference(view, texts))
    _elbow(sheet, view.angle)
    _sweep(sheet, view.angle)
    name = texts("clocks.part", end=texts("common.end", name=view.end), part=texts.name(view.part))
    sheet.write(np.array([MIDDLE[0], 9.2]), clock_shortly(view, texts, figures), LARGE, bold=True)
    _line(sheet, 5.6, name)
    _line(sheet, 2.2, _look(view, texts, "face"))  # there is little room for words
    return sheet


def _line(sheet: Sheet, height: float, text: str) -> None:
    # a line of text, smaller where it is long
    sheet.write(np.array([MIDDLE[0], height]), text, fitting(text, SMALL, SIZE[0] - 1.0))


def _elbow(sheet: Sheet, angle: float) -> None:
    # from the nut in the middle outwards: body, ferrule, hose
    along = _way(angle)
    for start, stop, fill, width in ((0.7, 0.98, "0.6", HOSE), (0.0, 0.45, "0.85", 8.0), (0.45, 0.72, "0.3", 10.5)):
        sheet.band(MIDDLE + np.outer([start * RADIUS, stop * RADIUS], along), width, fill, "0", 0.8)
    corners = np.array([_way(math.tau * k / 6.0) for k in range(7)])
    for radius, tone in ((3.4, "0"), (3.0, "1"), (1.5, "0"), (1.2, "0.8")):
        sheet.polygon(MIDDLE + radius * corners, tone)


def _sweep(sheet: Sheet, angle: float) -> None:
    # the way round from 12 to the elbow
    if angle > math.radians(12.0):
        turns = np.linspace(0.0, angle - math.radians(10.0), 40)
        arc = MIDDLE + 0.5 * RADIUS * np.array([_way(turn) for turn in turns])
        sheet.line(arc, "0", 0.8)
        sheet.arrow(arc[-2], arc[-1], width=0.8)


def _way(angle: float) -> Array:
    return np.array([math.sin(angle), math.cos(angle)])
