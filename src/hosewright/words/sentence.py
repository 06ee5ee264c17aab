"""Sentences before they are written: which one, and what is filled into it.

What a rule or a warning says is kept as a key of the language files with its values, so that paper can say it in any
language and any system of units. ``str`` of a sentence is English and metric.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Union

from hosewright.words.figures import Figures, reading, rounded
from hosewright.words.texts import Texts


@dataclass(frozen=True)
class Figure:
    """A quantity in a sentence.

    Attributes
    ----------
    value
        SI.
    kind
        Such as ``"length"``; tells the unit in which people read it.
    decimals
        Of the metric reading.
    """

    value: float
    kind: str
    decimals: int = 1


@dataclass(frozen=True)
class Sentence:
    """A sentence of the language files with its values.

    Attributes
    ----------
    key
        ``"section.key"``.
    values
        By place to fill in. A tuple of names is written as ``a, b and c``, one of sentences with semicolons between.
    """

    key: str
    values: Mapping[str, Value] = field(default_factory=dict)

    @staticmethod
    def of(key: str, **values: Value) -> Sentence:
        """A sentence with its values by name."""
        return Sentence(key, values)

    def __str__(self) -> str:
        return written(as_data(self), Texts.load("en"), Figures())


Value = Union[str, int, Figure, Sentence, tuple["Value", ...]]  # noqa: UP007  (refers to itself)


def as_data(value: Value) -> Any:
    """A value as plain data, every figure rounded once and for all in its metric unit.

    A sentence becomes ``{"key", "values"}``, a figure ``{"value", "unit"}``, a tuple a list.
    """
    if isinstance(value, Sentence):
        return {"key": value.key, "values": {name: as_data(one) for name, one in value.values.items()}}
    if isinstance(value, Figure):
        how = reading(value.kind)
        return {"value": rounded(value.value * how.factor + how.offset, value.decimals), "unit": how.unit}
    if isinstance(value, tuple):
        return [as_data(one) for one in value]
    return value


def written(data: Any, texts: Texts, figures: Figures) -> str:
    """Plain data of :func:`as_data` in a language and a system of units."""
    if isinstance(data, list):
        return _listed(data, texts, figures)
    if not isinstance(data, Mapping):
        return str(data)
    if "unit" in data:
        return figures(data["value"], data["unit"])
    values = {name: written(one, texts, figures) for name, one in data["values"].items()}
    return texts(data["key"], **values)


def _listed(data: list[Any], texts: Texts, figures: Figures) -> str:
    parts = list(dict.fromkeys(written(one, texts, figures) for one in data))
    if any(isinstance(one, Mapping) for one in data):
        return "; ".join(parts)
    *first, last = parts
    return texts("common.and", first=", ".join(first), last=last) if first else last
