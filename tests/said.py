"""Sentences as they are written in each language and system of units, and what must not stand in them."""

from __future__ import annotations

import re
from typing import Any

from hosewright.words import MOST, Figures, Sentence, Texts, as_data, written

ENGLISH = re.compile(
    r"\b(?:the|and|is|of|its|not|are|with|from|which|that|than|does|gives?|has|for|by|no|only|where|below|above|about"
    r"|shortest|standard|practice|ours|memory|unknown|table|figures?|pressures?|invented)\b",
    re.IGNORECASE,
)
"""Words of English sentences that no German one holds."""
NUMBER = r"[-+]?\d+(?:\.\d+)?"
METRIC = re.compile(rf"({NUMBER})\N{{NO-BREAK SPACE}}(mm|bar|°C|m/s|L/min|N m)(?![\w²])")
PRESSURE = re.compile(rf"(\bpsi)\s\({NUMBER}\N{{NO-BREAK SPACE}}bar\)")
"""In psi, with bar behind, in which a rating is given."""
US = re.compile(rf"({NUMBER})\N{{NO-BREAK SPACE}}(in|psi|°F|ft/s|gpm|lb-ft)(?!\w)")
TO_US = {  # exact by definition of the units
    "mm": ("in", 1.0 / 25.4, 0.0),
    "bar": ("psi", 1e5 * 0.0254**2 / (0.45359237 * 9.80665), 0.0),
    "°C": ("°F", 1.8, 32.0),
    "m/s": ("ft/s", 1.0 / 0.3048, 0.0),
    "L/min": ("gpm", 1.0 / 3.785411784, 0.0),
    "N m": ("lb-ft", 1.0 / (0.45359237 * 9.80665 * 0.3048), 0.0),
}


US_DECIMALS = {"in": 2, "psi": 0, "°F": 0, "ft/s": 1, "gpm": 1, "lb-ft": 0}
SIGNS = {"Nm": "N m"}
"""Units that are written otherwise than the contract has them."""


def german(said: Sentence) -> str:
    """As a German paper has it."""
    return written(as_data(said), Texts.load("de"), Figures(decimal_mark=","))


def american(said: Sentence) -> str:
    """As a US paper has it."""
    return written(as_data(said), Texts.load("en"), Figures("us"))


def metric(said: Sentence) -> str:
    """As a metric paper in English has it."""
    return written(as_data(said), Texts.load("en"), Figures())


def check(said: Sentence) -> None:
    """No English in German, and every US figure is that of the contract converted."""
    text = german(said)
    assert not ENGLISH.search(text), text
    assert not re.search(r"\d\.\d", text), text
    us, bars = PRESSURE.subn(r"\1", american(said))
    assert bars == len(re.findall(r"\bpsi\b", us)), us
    assert not METRIC.search(us), us
    expected = sorted((unit, value) for unit, value in map(_converted, figures_of(as_data(said))) if unit)
    shown = sorted((unit, float(number)) for number, unit in US.findall(us))
    assert [unit for unit, _ in shown] == [unit for unit, _ in expected], us
    for (unit, number), (_, reading) in zip(shown, expected, strict=True):
        assert abs(number - reading) <= 0.5 * 10.0 ** -US_DECIMALS[unit] + 1e-9, us
    for number, unit in METRIC.findall(metric(said)):
        figures = (one for one in figures_of(as_data(said)) if SIGNS.get(one["unit"], one["unit"]) == unit)
        assert any(_is(number, one) for one in figures), metric(said)


def _converted(figure: dict[str, Any]) -> tuple[str, float]:
    unit, factor, offset = TO_US.get(SIGNS.get(figure["unit"], figure["unit"]), ("", 1.0, 0.0))
    return unit, min(figure["value"] * factor + offset, MOST)


def _is(number: str, figure: dict[str, Any]) -> bool:
    return abs(float(number) - figure["value"]) <= 0.5 * 10.0 ** -figure["decimals"] + 1e-9


def figures_of(data: Any) -> list[dict[str, Any]]:
    """All quantities in plain data."""
    if isinstance(data, list):
        return [one for part in data for one in figures_of(part)]
    if not isinstance(data, dict):
        return []
    if "unit" in data:
        return [data]
    return [one for part in data.get("values", {}).values() for one in figures_of(part)]
