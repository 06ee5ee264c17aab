"""Sentences as they are written in each language and system of units, and what must not stand in them."""

from __future__ import annotations

import re
from collections.abc import Iterator
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
US = re.compile(rf"({NUMBER})\N{{NO-BREAK SPACE}}(in|psi|°F|ft/s|gpm|lb-ft)(?!\w)")
TO_US = {  # exact by definition of the units
    "mm": ("in", 1.0 / 25.4, 0.0),
    "bar": ("psi", 1e5 * 0.0254**2 / (0.45359237 * 9.80665), 0.0),
    "°C": ("°F", 1.8, 32.0),
    "m/s": ("ft/s", 1.0 / 0.3048, 0.0),
    "L/min": ("gpm", 1.0 / 3.785411784, 0.0),
    "N m": ("lb-ft", 1.0 / (0.45359237 * 9.80665 * 0.3048), 0.0),
}


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
    """No English in German, and every US figure is the metric one converted."""
    text = german(said)
    assert not ENGLISH.search(text), text
    assert not re.search(r"\d\.\d", text), text
    figures, converted = METRIC.findall(metric(said)), US.findall(american(said))
    assert not METRIC.search(american(said)), american(said)
    assert len(figures) == len(converted), (metric(said), american(said))
    for (value, unit), (shown, us_unit) in zip(figures, converted, strict=True):
        expected, factor, offset = TO_US[unit]
        assert us_unit == expected
        step = 10.0 ** -len(shown.partition(".")[2])
        # what is written without decimals may have had some that are zero
        reading = min(float(value) * factor + offset, MOST)
        assert abs(float(shown) - reading) <= max(step / 2.0, 0.005) + 1e-9, (metric(said), american(said))


def sentences(data: Any) -> Iterator[Any]:
    """All sentences in plain data."""
    if isinstance(data, dict):
        if "key" in data and "values" in data:
            yield data
        for value in data.values():
            yield from sentences(value)
    elif isinstance(data, list):
        for value in data:
            yield from sentences(value)
