"""What a cylinder does to pressure and flow in its lines, from its two areas."""

from __future__ import annotations

from dataclasses import dataclass

from hosewright.duty.conditions import CylinderSide, Duty, Side
from hosewright.sources import Confidence, Source

AREA_BALANCE = Source("balance of forces and of volumes on the piston", "piston area to annulus area", Confidence.OURS)


def intensified_pressure(pressure: float, cylinder: CylinderSide) -> float:
    """Pressure that a pressure on the piston side raises in a blocked or throttled line at this side. [Pa]

    On the rod side it is ``p x piston area / annulus area``; the piston side is not intensified.
    """
    return pressure * cylinder.area_ratio if cylinder.side is Side.ROD else pressure


def returned_flow(flow: float, cylinder: CylinderSide) -> float:
    """Flow that leaves at this side while the supply feeds the other side with ``flow``. [m3/s]

    The piston side returns more than the supply delivers to the rod side, the rod side less.
    """
    return flow * cylinder.area_ratio if cylinder.side is Side.PISTON else flow / cylinder.area_ratio


@dataclass(frozen=True)
class PressureDemand:
    """The highest pressures that a line sees.

    Attributes
    ----------
    working, peak
        With intensification. [Pa]
    intensification
        Factor that is contained in both, 1 where there is none.
    """

    working: float
    peak: float
    intensification: float


def pressure_demand(duty: Duty) -> PressureDemand:
    """Working and peak pressure of a line, cylinder intensification included.

    The peak is intensified too, the safe side: a peak on the piston side reaches a throttled rod side in full.
    """
    if duty.cylinder is None or duty.cylinder.side is Side.PISTON or duty.working_pressure < 0.0:
        return PressureDemand(duty.working_pressure, duty.peak_pressure, 1.0)
    return PressureDemand(
        intensified_pressure(duty.working_pressure, duty.cylinder),
        intensified_pressure(duty.peak_pressure, duty.cylinder),
        duty.cylinder.area_ratio,
    )


def highest_flow(duty: Duty) -> float:
    """The larger of supplied and returned flow in a line. [m3/s]"""
    return duty.flow if duty.cylinder is None else max(duty.flow, returned_flow(duty.flow, duty.cylinder))
