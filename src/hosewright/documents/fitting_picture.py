"""A hose as the fitter shall leave it: in its fitting pose, with its ports, ends, clamps and clocks, and its bow."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from hosewright.checks.check import CheckResult, RunResult
from hosewright.checks.finding import Place
from hosewright.documents.clocks import FORWARD, UP, clock_views, clock_with_reference
from hosewright.documents.drawing import SMALL
from hosewright.documents.lettering import text_size
from hosewright.documents.pictures import STRIP, Picture, dense
from hosewright.documents.scenes import Scene, fitted
from hosewright.words import Figures, Texts

Array = NDArray[np.float64]

LEAST_BOW = 0.05
"""Of a hose that lies as good as straight, against the distance of its ends."""
NO_BOW = 1e-3
"""That nobody sees. [m]"""
CLEAR_WAY = 0.4
"""A bow that goes less than this part up, down, forward, ... is not said to go there."""
LEFT = np.cross(UP, FORWARD)


def fitting_picture(
    result: CheckResult, run: RunResult, *, texts: Texts | None = None, figures: Figures | None = None
) -> bytes:
    """One run in its fitting pose, as SVG; the same input gives the same bytes."""
    texts = texts or Texts.load("en")
    figures = figures or Figures(decimal_mark=texts.decimal_mark)
    return _FittingPicture(result, run, texts, figures).draw().bytes()


def bow(line: Array) -> Array:
    """Across the way between the ends of a line (k, 3) to where the line is furthest from it, (3,). [m]"""
    return _furthest(line)[1]


def bow_in_words(line: Array, texts: Texts) -> str | None:
    """Such as ``"bows up and forward"``; ``None`` for a line that is as good as straight.

    So it is where a line goes further beyond one of its ends than aside: it has no side to which it clearly bows.
    """
    aside = bow(line)
    length = float(np.linalg.norm(aside))
    if length < max(LEAST_BOW * float(np.linalg.norm(line[-1] - line[0])), _beyond_ends(line), NO_BOW):
        return None
    parts = [(float(aside @ axis) / length, names) for axis, names in _WAYS]
    named = [
        (abs(part), texts(f"clocks.{names[0] if part > 0.0 else names[1]}"))
        for part, names in parts
        if abs(part) >= CLEAR_WAY
    ]
    words = [word for _, word in sorted(named, key=lambda item: -item[0])]
    return texts("clocks.bows", way=texts("clocks.and").join(words))


def _furthest(line: Array) -> tuple[Array, Array]:
    # the place on the way between the ends, or beyond it, that lies beside the furthest point, and the way there
    along, _ = _on_chord(line)
    across = line - line[0] - np.outer(along, line[-1] - line[0])
    place = int(np.argmax(np.linalg.norm(across, axis=1)))
    return line[place] - across[place], across[place]


def _beyond_ends(line: Array) -> float:
    along, length = _on_chord(line)
    return length * max(-float(along.min()), float(along.max()) - 1.0)


def _on_chord(line: Array) -> tuple[Array, float]:
    # of each point, its place along the way between the ends as a part of it, and the length of that. [m]
    way = line[-1] - line[0]
    return (line - line[0]) @ way / max(float(way @ way), 1e-9), float(np.linalg.norm(way))


_WAYS = ((UP, ("up", "down")), (FORWARD, ("ahead", "back")), (LEFT, ("left", "right")))


class _FittingPicture(Picture):
    """A picture without a worst place."""

    def __init__(self, result: CheckResult, run: RunResult, texts: Texts, figures: Figures) -> None:
        there, lying = fitted(result, run)
        self.clocks = clock_views(result, run)
        super().__init__(Scene(there, lying, Place()), None, texts, figures, None)

    def _worst(self) -> None:
        for span in self.scene.solved.spans:
            self._bow(span.fitted.position)

    def _bow(self, line: Array) -> None:
        text = bow_in_words(line, self.texts)
        if text is None:
            return
        foot, aside = _furthest(line)
        arrow = self.flat(np.stack([foot, foot + aside]))
        self.sheet.line(self.flat(line[[0, -1]]), "0.3", 0.6, (1.0, 2.0))
        self.sheet.arrow(arrow[0], arrow[1], width=1.1)
        self.room.spare(dense(arrow))
        self.labels.append((arrow.mean(axis=0), text))

    def _name_of_end(self, name: str, port: str) -> str:
        views = [view for view in self.clocks if view.end == name]
        named = f"{self.texts('common.end', name=name)}: {port}"
        return "\n".join([named, *(clock_with_reference(view, self.texts) for view in views)])

    def _directions(self) -> float:
        right = super()._directions()
        forward, plumb = f"x: {self.texts('clocks.ahead')}", self.texts("clocks.plumb")
        left = self._ending(right, forward) - 4.0
        self.sheet.arrow(np.array([left, 1.5]), np.array([left, STRIP - 1.5]), width=1.4)
        return self._ending(left - 1.5, plumb) - 3.0

    def _ending(self, right: float, text: str) -> float:
        # a word in the strip that ends there; returns where it begins
        wide = text_size(text, SMALL)[0]
        self.sheet.write(np.array([right - wide / 2.0, STRIP / 2.0]), text)
        return right - wide
