"""From a length as it was measured on a sample to the overall length between our measuring points."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from hosewright.assembly import EndForm
from hosewright.service.sample import Reach, Sample, SampleEnd
from hosewright.service.warning import Notes
from hosewright.sources import Confidence, Source
from hosewright.words import Figure, Sentence

MEASURING = Source("hose shops' ordering guides", "measuring points of ends", Confidence.PRACTICE)
CORNERS = 2.0 / math.sqrt(3.0)
"""Width across corners of a sharp hexagon over that across flats."""

_FACE = re.compile(r"\b(seats?|(sealing |seal )?faces?|tips?)\b")
_CENTRE_LINE = re.compile(r"\bcent(re|er)[ -]?lines?\b")
_NUT = re.compile(r"\bnuts?\b")
_OUTSIDE = re.compile(r"\b(over ?all(?! length)|outside|outer|extreme|end to end)\b")


@dataclass(frozen=True)
class Excess:
    """How far outside the measuring point a length was measured at one end.

    Attributes
    ----------
    length
        ``None`` where it is not known. [m]
    uncertainty
        [m]
    """

    length: float | None
    uncertainty: float = 0.0


def overall_length(
    sample: Sample, ends: tuple[SampleEnd, SampleEnd], forms: tuple[EndForm | None, EndForm | None], notes: Notes
) -> float | None:
    """Measuring point to measuring point, as far as that follows from what was measured; ``None`` where it was not. [m]

    Parameters
    ----------
    sample
        With its length and how it was measured.
    ends, forms
        Both its ends, and the end forms chosen for them.
    notes
        For the doubts about it.
    """
    if sample.overall_length is None:
        notes.miss("length", "the overall length as measured, such as length = 850")
        return None
    return sample.overall_length - sum(
        _taken_off(name, end, form, sample.measured, notes) for name, end, form in zip("ab", ends, forms, strict=True)
    )


def _taken_off(name: str, end: SampleEnd, form: EndForm | None, measured: str | None, notes: Notes) -> float:
    where = reach(end, form, measured)
    more = excess(end, form, where)
    if more.length is None:
        key = "samples.measured_to_the_nut" if where is Reach.NUT else "samples.measured_to_the_edge"
        notes.warn("length", Sentence.of(key, end=name), MEASURING)
        return 0.0
    if where is None and end.beyond is None:
        notes.warn("length", Sentence.of("samples.measured_to", end=name), MEASURING)
    elif more.length:
        notes.warn("length", _taken(name, more.length, more.uncertainty), MEASURING)
    return more.length


def _taken(name: str, length: float, uncertainty: float) -> Sentence:
    off = Figure.length(length, 1)
    if uncertainty:
        return Sentence.of("samples.taken_off_about", length=off, about=Figure.length(uncertainty, 1), end=name)
    return Sentence.of("samples.taken_off", length=off, end=name)


def reach(end: SampleEnd, form: EndForm | None, measured: str | None) -> Reach | None:
    """How far out the length was measured at an end: what the end says, else what words about the length say of it.

    ``None`` where the words leave it open.
    """
    if end.reach is not None:
        return end.reach
    words = (measured or "").casefold()
    face, nut, outside = (bool(pattern.search(words)) for pattern in (_FACE, _NUT, _OUTSIDE))
    if _is_bent(end, form):
        if _CENTRE_LINE.search(words):
            return Reach.FACE
        return None if face == outside else Reach.FACE if face else Reach.OUTSIDE
    if form is not None and form.connection.endswith((" male", " head")):
        return Reach.FACE if face or nut or outside else None  # its tip is its sealing end, nothing reaches further
    return None if face == (nut or outside) else Reach.FACE if face else Reach.NUT


def excess(end: SampleEnd, form: EndForm | None, reach: Reach | None) -> Excess:
    """What an end adds to the measured length."""
    if end.beyond is not None:
        return Excess(end.beyond)
    if reach is None or reach is Reach.FACE:
        return Excess(0.0)
    if reach is Reach.OUTSIDE and form is not None and form.nut_width and math.isclose(form.exit_angle, math.pi / 2):
        # the far edge of such an elbow is its nut, which may stand with a flat or with a corner outwards
        flat, corner = form.nut_width / 2.0, form.nut_width / 2.0 * CORNERS
        return Excess((flat + corner) / 2.0, (corner - flat) / 2.0)
    return Excess(None)


def _is_bent(end: SampleEnd, form: EndForm | None) -> bool:
    return form.exit_angle > 0.0 if form is not None else bool(re.match(r"[1-9]", end.form or ""))
