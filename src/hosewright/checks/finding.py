"""One rule on one run: measure, limit, margin, where, when, source, confidence."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from hosewright.sources import Confidence, Source
from hosewright.words import Sentence


class Verdict(StrEnum):
    """Outcome of a rule, worst first."""

    FAIL = "fail"
    UNKNOWN = "unknown"
    ADVICE = "advice"
    PASS = "pass"


@dataclass(frozen=True)
class Place:
    """Where and when a measure is worst.

    Attributes
    ----------
    span
        Such as ``"a to m1"``; empty where the rule is not about a span.
    at
        From ferrule tail a, on nominal length. [m]
    pose
        Joint values. [rad, m]
    path, path_at
        Path of the motion and the part of it that is done.
    state
        ``nominal``, ``shortest`` or ``longest``.
    """

    span: str = ""
    at: float | None = None
    pose: Mapping[str, float] = field(default_factory=dict)
    path: int | None = None
    path_at: float | None = None
    state: str = ""


@dataclass(frozen=True)
class Remedy:
    """A change that clears a finding, checked again; or the note that none was found.

    Attributes
    ----------
    said
        To be written in any language; ``text`` is English and metric.
    path, value
        The field of the job and its new value, in the job file's units; ``None`` where nothing was found.
    tried
        Changes that were checked.
    """

    said: Sentence
    path: str | None = None
    value: Any = None
    tried: int = 0
    verified: bool = False

    @property
    def text(self) -> str:
        """The change, in a sentence."""
        return str(self.said)


@dataclass(frozen=True)
class Finding:
    """One rule applied to one run. SI units; margins are plus where good.

    Attributes
    ----------
    subject
        Tells findings of one rule on one run apart: a span, an end, an obstacle, another run.
    kind
        Kind of quantity, which decides the unit that a person reads: ``"length"``, ``"pressure"``, ...
    measure, limit
        ``None`` where the data is missing.
    advice_limit
        Beyond this the rule advises, beyond ``limit`` it fails.
    said
        What was found, to be written in any language; ``text`` is English and metric.
    at_least
        Whether the measure has to reach the limit, or else to stay at or below it.
    """

    rule: str
    subject: str
    verdict: Verdict
    kind: str
    measure: float | None
    limit: float | None
    at_least: bool
    source: Source | None
    said: Sentence
    advice_limit: float | None = None
    place: Place = Place()
    remedy: Remedy | None = None

    @property
    def margin(self) -> float | None:
        """Distance to the limit, plus is good; ``None`` where a figure is missing.

        A rule that only advises has no limit to fall below: its margin is that to the advice, and never under 0.
        """
        bound = self.advice_limit if self.limit is None else self.limit
        if self.measure is None or bound is None:
            return None
        margin = self.measure - bound if self.at_least else bound - self.measure
        return max(margin, 0.0) if self.limit is None else margin

    @property
    def text(self) -> str:
        """What was found, in a sentence."""
        return str(self.said)

    @property
    def confidence(self) -> Confidence | None:
        """Where the limit comes from."""
        return self.source.confidence if self.source else None

    @property
    def key(self) -> str:
        """Stable name within the run."""
        return "/".join(part.replace(" ", "-") for part in (self.rule, self.subject) if part)


def judge(
    measure: float | None,
    limit: float | None,
    *,
    at_least: bool,
    advice_limit: float | None = None,
    source: Source | None = None,
    complete: bool = True,
) -> Verdict:
    """Verdict of a measure: unknown where a figure is missing or doubtful.

    A measure that is not ``complete``, since some states are not known, may fail but not pass.
    """
    if measure is None or measure != measure:
        return Verdict.UNKNOWN
    if limit is None and advice_limit is None:
        return Verdict.UNKNOWN
    if source is not None and source.confidence is Confidence.DOUBTFUL:
        return Verdict.UNKNOWN
    sign = 1.0 if at_least else -1.0
    if limit is not None and sign * (measure - limit) < 0.0:
        return Verdict.FAIL
    if not complete:
        return Verdict.UNKNOWN
    if advice_limit is not None and sign * (measure - advice_limit) < 0.0:
        return Verdict.ADVICE
    return Verdict.PASS
