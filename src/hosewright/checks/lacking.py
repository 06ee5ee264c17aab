"""What the data of a hose does not give, in words."""

from __future__ import annotations

from hosewright.words import Sentence

OUTSIDE_DIAMETER = Sentence.of("findings.outside_diameter")
MINIMUM_BEND_RADIUS = Sentence.of("findings.minimum_bend_radius")
LENGTH_CHANGE = Sentence.of("findings.length_change")
MASS = Sentence.of("findings.mass")


def lacks(hose: str, *what: Sentence) -> Sentence:
    """That the data of a hose does not give something."""
    return Sentence.of("findings.lacks", hose=hose, what=what)
