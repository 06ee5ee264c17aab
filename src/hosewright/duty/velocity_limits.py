"""Oil velocities that the trade recommends, by kind of line.

Four line-sizing tables in common use, of which no standard is the origin. The recommended range follows the tables that
agree; the ceiling is the highest figure that any of them allows.
"""

from __future__ import annotations

from dataclasses import dataclass

from hosewright.assembly import Assembly
from hosewright.duty.conditions import Duty, Line
from hosewright.duty.cylinder import highest_flow
from hosewright.duty.facts import Fact
from hosewright.duty.flow import bore_for_velocity, velocity
from hosewright.duty.pressure_drop import passages
from hosewright.sources import Confidence, Source

LINE_SIZING = Source("line-sizing tables of hydraulics handbooks", "oil velocity by kind of line", Confidence.PRACTICE)

HIGH_PRESSURE = 210e5
"""Above this a pressure line may flow faster. [Pa]"""


@dataclass(frozen=True)
class VelocityLimit:
    """Recommended oil velocity of a kind of line.

    Attributes
    ----------
    lowest, highest
        Recommended range. [m/s]
    ceiling
        Highest figure in any of the tables. [m/s]
    """

    lowest: float
    highest: float
    ceiling: float
    source: Source = LINE_SIZING


# suction 0.6-1.2, 0.5-1.2, 0.5-1.5; return 2-4, 3.0-4.6; pressure 3.0-6.1, 3-6, 3-10; drain and pilot in one table only
_LIMITS = {
    Line.PRESSURE: VelocityLimit(3.0, 6.1, 10.0),
    Line.RETURN: VelocityLimit(2.0, 4.0, 4.6),
    Line.SUCTION: VelocityLimit(0.5, 1.2, 1.5),
    Line.DRAIN: VelocityLimit(0.9, 2.4, 2.4),
    Line.PILOT: VelocityLimit(1.2, 3.7, 3.7),
}
_ABOVE_HIGH_PRESSURE = VelocityLimit(3.0, 7.6, 10.0)


def velocity_limit(line: Line, working_pressure: float) -> VelocityLimit:
    """Recommended velocity for a line at its working pressure [Pa]."""
    if line is Line.PRESSURE and working_pressure > HIGH_PRESSURE:
        return _ABOVE_HIGH_PRESSURE
    return _LIMITS[line]


def least_bore(duty: Duty) -> float:
    """Bore, of hose and inserts alike, that keeps a line at the recommended velocity, return flow included. [m]"""
    return bore_for_velocity(highest_flow(duty), velocity_limit(duty.line, duty.working_pressure).highest)


def velocity_facts(assembly: Assembly, duty: Duty) -> tuple[Fact, ...]:
    """Velocity in each bore, adapters included, against the recommended highest, with cylinder return flow. [m/s]"""
    limit = velocity_limit(duty.line, duty.working_pressure)
    return tuple(
        Fact(
            f"oil velocity, {passage.name}",
            passage.place,
            None if passage.bore is None else velocity(highest_flow(duty), passage.bore),
            limit.highest,
            False,
            limit.source,
        )
        for passage in passages(assembly)
        if passage.length > 0.0
    )
