"""Orientation angles of samples, from the conventions in use to ours."""

from __future__ import annotations

import math
import re

from hosewright.assembly import EndForm
from hosewright.service.sample import Sample, SampleEnd
from hosewright.service.warning import Notes
from hosewright.sources import Confidence, Source
from hosewright.words import Figure, Sentence

GUIDES = Source("hose shops' ordering guides", "orientation angle", Confidence.PRACTICE)
CLOCK_READING = math.radians(20.0)
"""Two outlets read as times, each to a quarter of an hour, may be so far from the angle that was measured. [rad]"""
_COUNTER = re.compile(r"\b(counter[ -]?clock ?wise|anti[ -]?clock ?wise|ccw)\b")
_CLOCKWISE = re.compile(r"\b(clock ?wise|cw)\b")
_FAR_TO_NEAR = re.compile(r"\b(far|other|second)\b.*\bto\b.*\b(near|first)\b")
_NEAR_TO_FAR = re.compile(r"\b(near|first)\b.*\bto\b.*\b(far|other|second)\b")


def orientation_of(
    sample: Sample, ends: tuple[SampleEnd, SampleEnd], a: EndForm, b: EndForm, notes: Notes
) -> float | None:
    """Orientation angle of a sample in our convention; ``None`` where an end is straight, or where it is missing. [rad]

    Parameters
    ----------
    sample
        With the angle as it was measured.
    ends, a, b
        Both its ends, and the end forms chosen for them.
    notes
        For the doubts about it.
    """
    given, clocks = sample.orientation_angle, (ends[0].clock, ends[1].clock)
    if a.exit_angle == 0.0 or b.exit_angle == 0.0:
        if given is not None:
            notes.warn("orientation", Sentence.of("samples.no_orientation"))
        return None
    if given is not None:
        if not has_sense(sample.convention):
            notes.warn("orientation", Sentence.of("samples.orientation_sense"), GUIDES)
        angle = ours(given, sample.convention)
        if clocks[0] is not None and clocks[1] is not None:
            _compare(angle, between(clocks[0], clocks[1]), notes)
        return angle
    if clocks[0] is None or clocks[1] is None:
        notes.miss(
            "orientation",
            "both ends are bent, so the angle between them is needed, or the clock position of both, looking along "
            "the hose from end a",
        )
        return None
    return between(clocks[0], clocks[1])


def _compare(given: float, read: float, notes: Notes) -> None:
    off = abs((given - read + math.pi) % math.tau - math.pi)
    if off > CLOCK_READING:
        values = {"given": Figure.angle(given), "read": Figure.angle(read)}
        notes.warn("orientation", Sentence.of("samples.orientation_contradicts", **values), stops=True)


def has_sense(convention: str | None) -> bool:
    """Whether the words say which way round the angle is counted."""
    return bool(_CLOCKWISE.search((convention or "").casefold()) or _COUNTER.search((convention or "").casefold()))


def ours(angle: float, convention: str | None) -> float:
    """An angle between two outlets in our convention, ``assembly.ORIENTATION_CONVENTION``. [rad]

    What matters is the sense, and whether it is counted from the near end's outlet to the far one's or back. Which end
    is near does not matter, nor whether the near outlet was held at 6 or at 12 o'clock.

    Parameters
    ----------
    angle
        As measured. [rad]
    convention
        In words, such as ``"counter-clockwise from the near end at 6 o'clock to the far end"``. Without a sense the
        angle is taken as clockwise.
    """
    words = (convention or "").casefold()
    counter = bool(_COUNTER.search(words))
    back = bool(_FAR_TO_NEAR.search(words)) and not _NEAR_TO_FAR.search(words)
    return (-angle if counter != back else angle) % math.tau


def between(clock_a: float, clock_b: float) -> float:
    """Angle between two outlets whose clock positions were read looking along the hose from end a. [rad]"""
    return (clock_b - clock_a) % math.tau
