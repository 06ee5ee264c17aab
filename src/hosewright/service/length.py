"""From a length as it was measured on a sample to the overall length between our measuring points.

The measuring point of a bent end is the middle of its sealing face, square onto the hose axis. The axis of its outlet
meets that of the hose elsewhere: further in by the drop over the tangent of the exit angle, so by the whole drop at 45
degrees and not at all at 90.
"""

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
        Negative where it was measured to a point within; ``None`` where it is not known. [m]
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
    elif more.length and where is Reach.CORNER and end.beyond is None:
        notes.warn("length", _from_the_corner(name, -more.length, is_told=end.reach is not None), MEASURING)
    elif more.length:
        notes.warn("length", _taken(name, more.length, more.uncertainty), MEASURING)
    return more.length


def _taken(name: str, length: float, uncertainty: float) -> Sentence:
    off = Figure.length(length, 1)
    if uncertainty:
        return Sentence.of("samples.taken_off_about", length=off, about=Figure.length(uncertainty, 1), end=name)
    return Sentence.of("samples.taken_off", length=off, end=name)


def _from_the_corner(name: str, change: float, *, is_told: bool) -> Sentence:
    """The change of the length; words such as "centre line" leave open whether it is due."""
    figure = Figure.length(change, 1, sign=True)
    said = Sentence.of("samples.from_the_corner", change=figure, end=name)
    return said if is_told else said.then(Sentence.of("samples.corner_or_face", end=name))


def reach(end: SampleEnd, form: EndForm | None, measured: str | None) -> Reach | None:
    """How far out the length was measured at an end: what the end says, else what words about the length say of it.

    ``None`` where the words leave it open.
    """
    if end.reach is not None:
        return None if end.reach is Reach.CORNER and not _has_corner(end, form) else end.reach
    words = (measured or "").casefold()
    face, nut, outside = (bool(pattern.search(words)) for pattern in (_FACE, _NUT, _OUTSIDE))
    if _is_bent(end, form):
        if _CENTRE_LINE.search(words):
            return Reach.CORNER if _has_corner(end, form) else None
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
    if reach is Reach.CORNER:
        return Excess(0.0 if form is None else -_face_to_corner(end, form))
    if reach is Reach.OUTSIDE and form is not None and form.nut_width and math.isclose(form.exit_angle, math.pi / 2):
        # the far edge of such an elbow is its nut, which may stand with a flat or with a corner outwards
        flat, corner = form.nut_width / 2.0, form.nut_width / 2.0 * CORNERS
        return Excess((flat + corner) / 2.0, (corner - flat) / 2.0)
    return Excess(None)


def _face_to_corner(end: SampleEnd, form: EndForm) -> float:
    """Along the hose axis towards the hose, with the sample's own drop where it was measured. [m]"""
    if math.isclose(form.exit_angle, math.pi / 2.0):
        return 0.0
    return (form.drop if end.drop is None else end.drop) / math.tan(form.exit_angle)


def _has_corner(end: SampleEnd, form: EndForm | None) -> bool:
    """Whether the axes of outlet and hose meet: not of a straight end, nor where the outlet points back along it."""
    return _is_bent(end, form) and not (form is not None and math.isclose(form.exit_angle, math.pi))


def _is_bent(end: SampleEnd, form: EndForm | None) -> bool:
    return form.exit_angle > 0.0 if form is not None else bool(re.match(r"[1-9]", end.form or ""))
