"""Sentences before they are written: which one, and what is filled into it.

What a rule or a warning says is kept as a key of the language files with its values, so that paper can say it in any
language and any system of units. ``str`` of a sentence is English and metric.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import reduce
from typing import Any, Union

from hosewright.errors import close_names
from hosewright.words.figures import Figures, reading, rounded
from hosewright.words.texts import Texts

FEW = 12
"""So many known names are told where none is close."""

PRECISE_PRESSURE = 10e5
"""Pressures below this are told to a hundredth of a bar, others to a tenth. [Pa]"""


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
    sign
        Whether a plus is written, too.
    """

    value: float
    kind: str
    decimals: int = 1
    sign: bool = False

    @staticmethod
    def length(value: float, decimals: int = 0, *, sign: bool = False) -> Figure:
        """A length [m], in whole millimetres unless told."""
        return Figure(value, "length", decimals, sign)

    @staticmethod
    def angle(value: float, decimals: int = 1, *, sign: bool = False) -> Figure:
        """An angle. [rad]"""
        return Figure(value, "angle", decimals, sign)

    @staticmethod
    def pressure(value: float) -> Figure:
        """A pressure. [Pa]"""
        return Figure(value, "pressure", 1 if abs(value) >= PRECISE_PRESSURE else 2)

    @staticmethod
    def number(value: float, decimals: int = 2) -> Figure:
        """A number without a unit."""
        return Figure(value, "count", decimals)


@dataclass(frozen=True)
class Name:
    """Words of data that a language may have words for, such as ``"45 short"``; a user's own names stay as they are.

    Attributes
    ----------
    words
        As the data has them.
    section
        Of the language files; in ``"connections"`` family and half are looked up apart from the size.
    """

    words: str
    section: str = "names"


@dataclass(frozen=True)
class Sentence:
    """A sentence of the language files with its values.

    Attributes
    ----------
    key
        ``"section.key"``.
    values
        By place to fill in. A tuple is written as ``a, b and c``, each once.
    """

    key: str
    values: Mapping[str, Value] = field(default_factory=dict, hash=False)

    @staticmethod
    def of(key: str, **values: Value) -> Sentence:
        """A sentence with its values by name."""
        return Sentence(key, values)

    def then(self, other: Sentence | None) -> Sentence:
        """With another sentence behind a semicolon; as it is where there is none."""
        return self if other is None else Sentence("findings.then", {"first": self, "second": other})

    def __str__(self) -> str:
        return written(as_data(self), Texts.load("en"), Figures()).replace("\N{NO-BREAK SPACE}", " ")


Value = Union[str, int, Figure, Name, Sentence, tuple["Value", ...]]  # noqa: UP007  (refers to itself)


def one_after_another(sentences: Iterable[Sentence]) -> Sentence:
    """Sentences, at least one, with semicolons between."""
    return reduce(Sentence.then, sentences)


def said_by(error: Exception) -> Sentence:
    """What an error or a warning says: a sentence that it was raised with, else its text as it is."""
    first = next(iter(error.args), None)
    return first if isinstance(first, Sentence) else Sentence.of("findings.error", text=str(error))


def nearest_names(word: str, known: Iterable[str]) -> Value:
    """End of a message: which known names a mistyped word may stand for, else all where they are few."""
    names = tuple(known)
    close = close_names(word, names)
    if len(close) > 1:
        return Sentence.of("findings.did_you_mean_two", name=close[0], other=close[1])
    if close:
        return Sentence.of("findings.did_you_mean", name=close[0])
    quoted = ", ".join(f"'{name}'" for name in names)
    return Sentence.of("findings.known", names=quoted) if 0 < len(names) <= FEW else ""


def as_data(value: Value) -> Any:
    """A value as plain data, every figure rounded once and for all in its metric unit.

    A sentence becomes ``{"key", "values"}``, a figure ``{"value", "unit", "decimals"}``, a name
    ``{"words", "section"}``, a tuple a list. The value of a figure is as fine as any of its kind, so that inches are
    those of the tables beside a sentence; ``decimals`` are those of the metric text.
    """
    if isinstance(value, Sentence):
        return {"key": value.key, "values": {name: as_data(one) for name, one in value.values.items()}}
    if isinstance(value, Figure):
        how = reading(value.kind)
        exact = rounded(value.value * how.factor + how.offset, max(value.decimals, how.decimals))
        data = {"value": exact, "unit": how.unit, "decimals": value.decimals}
        return data | {"sign": True} if value.sign else data
    if isinstance(value, Name):
        return {"words": value.words, "section": value.section}
    if isinstance(value, tuple):
        return [as_data(one) for one in value]
    return value


def written(data: Any, texts: Texts, figures: Figures) -> str:
    """Plain data of :func:`as_data` in a language and a system of units."""
    if isinstance(data, list):
        return _listed([written(one, texts, figures) for one in data], texts)
    if not isinstance(data, Mapping):
        return str(data)
    if "unit" in data:
        value = rounded(data["value"], data["decimals"]) if figures.system == "metric" else data["value"]
        shown = figures(value, data["unit"], sign=data.get("sign", False))
        return f"{shown} ({figures.metric(value, data['unit'])})" if _binding(data["unit"], figures) else shown
    if "words" in data:
        return texts.name(data["words"], data["section"])
    values = {name: written(one, texts, figures) for name, one in data["values"].items()}
    return texts(data["key"], **values)


def _binding(unit: str, figures: Figures) -> bool:
    """Whether the metric figure belongs behind: a rating in psi that is rounded to the safe side would differ."""
    return figures.system == "us" and unit == "bar"


def _listed(parts: list[str], texts: Texts) -> str:
    *first, last = dict.fromkeys(parts)
    return texts("common.and", first=", ".join(first), last=last) if first else last
