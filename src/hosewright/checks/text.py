"""Figures as the findings' sentences show them."""

from __future__ import annotations

import math

CELSIUS = 273.15
"""Zero of the Celsius scale. [K]"""


def bar(pressure: float) -> str:
    """Pressure [Pa] in bar, two decimals where it is small."""
    return f"{_number(pressure / 1e5, 1 if abs(pressure) >= 10e5 else 2)} bar"


def millimetres(length: float) -> str:
    """Length [m] in mm."""
    return f"{_number(length * 1e3, 1)} mm"


def degrees(angle: float) -> str:
    """Angle [rad] in degrees."""
    return f"{_number(math.degrees(angle), 1)} degrees"


def celsius(temperature: float) -> str:
    """Temperature [K] in degrees Celsius."""
    return f"{_number(temperature - CELSIUS, 1)} °C"


def litres_per_minute(flow: float) -> str:
    """Flow [m3/s] in litres per minute."""
    return f"{_number(flow * 6e4, 1)} L/min"


def metres_per_second(velocity: float) -> str:
    """Velocity [m/s]."""
    return f"{_number(velocity, 2)} m/s"


def listed(names: list[str]) -> str:
    """Names as they stand in a sentence: ``a, b and c``; each once."""
    *first, last = dict.fromkeys(names)
    return f"{', '.join(first)} and {last}" if first else last


def _number(value: float, decimals: int) -> str:
    text = f"{round(value, decimals) + 0.0:.{decimals}f}"  # adding 0.0 turns a negative zero into zero
    return text.rstrip("0").rstrip(".")
