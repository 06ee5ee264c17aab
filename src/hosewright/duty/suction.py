"""Pressure at the inlet of a pump, from its suction line."""

from __future__ import annotations

from hosewright.duty.conditions import FluidState
from hosewright.duty.facts import Fact
from hosewright.duty.pressure_drop import PressureDrop
from hosewright.sources import Confidence, Source

PUMP_INLET = Source("pump inlet practice", "at least 0.8 bar absolute", Confidence.PRACTICE)

LEAST_INLET_PRESSURE = -0.2e5
"""Gauge pressure that most pumps need at the inlet; the pump's data sheet wins. [Pa]"""

_GRAVITY = 9.80665


def inlet_fact(drop: PressureDrop, state: FluidState | None, head: float = 0.0) -> Fact:
    """Gauge pressure at the pump's inlet against what pumps need; unknown where a part of the drop is. [Pa]

    Parameters
    ----------
    drop
        Of the whole suction line at the state; the worse branch counts in the transition band.
    state
        The coldest start is the hard one.
    head
        Oil level above the pump's inlet, negative below; from a tank open to the air at sea level. [m]
    """
    lost = drop.highest
    pressure = None if lost is None or state is None else state.density * _GRAVITY * head - lost
    return Fact("pressure at the pump's inlet", "line", pressure, LEAST_INLET_PRESSURE, True, PUMP_INLET)
