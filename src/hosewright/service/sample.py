"""A hose that somebody lays on the counter to be made again."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from hosewright.service.ages import Period
from hosewright.service.flanges import Flange
from hosewright.service.identify import Thread


class Reach(StrEnum):
    """How far out at an end the overall length was measured."""

    FACE = "face"
    """To the sealing face or seat; of a bent end to the middle of it, square onto the hose axis."""
    CORNER = "corner"
    """To where the axis of a bent end's outlet meets that of the hose."""
    NUT = "nut"
    """To the end of the swivel nut."""
    OUTSIDE = "outside"
    """To the far edge of a bent end's outlet."""


@dataclass(frozen=True)
class SampleEnd:
    """An end of a sample; ``None`` where nothing is known.

    Attributes
    ----------
    form
        Such as ``"90 short"``, or the angle alone with ``drop``.
    drop
        Seat to hose axis, as measured. [m]
    connection
        What it mates as.
    reading
        What caliper and pitch gauge read of it, where the connection is not known by name.
    clock
        Where its outlet points, looking along the hose from end a, 0 at 12 o'clock. [rad]
    reach
        How far out the length was measured.
    beyond
        How far that lies outside the measuring point. [m]
    """

    form: str | None = None
    connection: str | None = None
    reading: Thread | Flange | None = None
    clock: float | None = None
    reach: Reach | None = None
    beyond: float | None = None
    drop: float | None = None


@dataclass(frozen=True)
class Sample:
    """A hose to re-make; ``None`` where nothing is known.

    Attributes
    ----------
    number
        Assembly number.
    overall_length
        As measured. [m]
    measured
        How it was measured, in words.
    ends
        None, one or both, end a first.
    orientation_angle, convention
        As measured, and how, in words. [rad]
    markings
        What its layline or tag says.
    made, fitted
        When the sample was made and put into service.
    raised_duty
        Several shifts, short cycles, strong attack or hand-held tools.
    used
        Whether it has been in service.
    working_pressure
        Of the line that it served. [Pa]
    fluid
        Class and viscosity grade.
    failed
        Why it failed, in words.
    """

    name: str
    number: str | None = None
    hose: str | None = None
    overall_length: float | None = None
    measured: str | None = None
    ends: tuple[SampleEnd, ...] = ()
    orientation_angle: float | None = None
    convention: str | None = None
    markings: str | None = None
    made: Period | None = None
    fitted: Period | None = None
    raised_duty: bool = False
    used: bool = True
    working_pressure: float | None = None
    fluid: str | None = None
    failed: str | None = None
