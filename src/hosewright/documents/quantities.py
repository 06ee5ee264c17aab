"""Units in which people read the kinds of quantity that findings hold."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import NamedTuple

from hosewright.errors import nearest
from hosewright.machine import Machine, Slide


class Reading(NamedTuple):
    """How a kind is read: ``value = si * factor + offset``, rounded to so many decimals."""

    unit: str
    factor: float
    decimals: int
    offset: float = 0.0


READINGS = {
    "length": Reading("mm", 1e3, 1),
    "angle": Reading("deg", 180.0 / math.pi, 2),
    "twist": Reading("deg/m", 180.0 / math.pi, 2),
    "pressure": Reading("bar", 1e-5, 2),
    "temperature": Reading("°C", 1.0, 1, -273.15),
    "velocity": Reading("m/s", 1.0, 2),
    "count": Reading("", 1.0, 0),
}

MOST = 1e6
"""Readings above this, such as the radius of a straight hose in mm, are shown as this."""


def reading(kind: str) -> Reading:
    """How a kind is read."""
    if kind not in READINGS:
        raise KeyError(f"findings hold no '{kind}'.{nearest(kind, READINGS)}")
    return READINGS[kind]


def read(value: float | None, kind: str) -> float | None:
    """A measure or limit in the unit of its kind, rounded."""
    if value is None or math.isnan(value):
        return None
    how = reading(kind)
    return _rounded(value * how.factor + how.offset, how.decimals)


def read_difference(value: float | None, kind: str) -> float | None:
    """A margin in the unit of its kind, rounded towards zero so that no failing margin reads as none."""
    if value is None or math.isnan(value):
        return None
    how = reading(kind)
    rounded = _rounded(value * how.factor, how.decimals)
    if value < 0.0 and rounded >= 0.0:
        return -(10.0**-how.decimals)
    return max(rounded, 0.0) if value >= 0.0 else rounded


def _rounded(value: float, decimals: int) -> float:
    number = round(max(-MOST, min(MOST, value)), decimals)
    return 0.0 if number == 0.0 else number


def read_pose(pose: Mapping[str, float], machine: Machine) -> dict[str, float]:
    """Joint values as people read them: degrees of turning joints, mm of sliding ones and strokes."""
    sliding = {body.name for body in machine.bodies if isinstance(body.joint, Slide)}
    sliding |= {cylinder.name for cylinder in machine.cylinders}
    return {name: read(value, "length" if name in sliding else "angle") or 0.0 for name, value in pose.items()}
