"""Text and numbers from people into SI floats, and back for reading: the only place that knows units.

A bare number is in the unit of its kind: mm, degrees, bar, L/min, °C, kg, mm2/s, kg/m3, N m2, kg/m, s, m/s. A text is
one number with one unit: ``"1/2 in"``, ``"1-1/4 in"``, ``"12,5 mm"``, ``"3000 psi"``; a dash size is ``"-8"``.
Temperatures become kelvin, angles radians, pressures stay gauge.

The number is read here by a grammar of its own, and the units library sees single words only. Its own parser must not
see what people type: it reads ``"2 1/2 in"`` as 1 in and ``"12,5 mm"`` as 125 mm, and powers of powers never return.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cache, lru_cache
from numbers import Real
from typing import Any

from hosewright.errors import HosewrightError
from hosewright.words import System


class UnitError(HosewrightError):
    """A quantity cannot be read."""


class Kind(StrEnum):
    """What a quantity measures."""

    LENGTH = "length"
    ANGLE = "angle"
    PRESSURE = "pressure"
    FLOW = "flow"
    TEMPERATURE = "temperature"
    TEMPERATURE_CHANGE = "temperature change"
    MASS = "mass"
    VISCOSITY = "viscosity"
    DENSITY = "density"
    STIFFNESS = "stiffness"
    MASS_PER_LENGTH = "mass per length"
    TIME = "time"
    VELOCITY = "velocity"
    DASH_SIZE = "dash size"


@dataclass(frozen=True)
class _Rule:
    """How one kind is written.

    Attributes
    ----------
    metric, us
        Unit to show in, with its decimals; the metric one is that of bare numbers too.
    aliases
        Ways of writing a unit, in lower case, to units library words.
    """

    si: str
    metric: tuple[str, int]
    us: tuple[str, int]
    examples: str
    aliases: Mapping[str, str] = field(default_factory=dict)


_RULES = {
    Kind.LENGTH: _Rule(
        "m", ("mm", 2), ("in", 4), '"1/2 in" or "12,5 mm"',
        {"mm": "mm", "cm": "cm", "m": "m", '"': "inch", "''": "inch", "′′": "inch", "”": "inch", "in": "inch",
         "in.": "inch", "'": "foot", "′": "foot", "’": "foot", "ft": "foot", "ft.": "foot"},
    ),
    Kind.ANGLE: _Rule("radian", ("°", 2), ("°", 2), '"90 deg" or "1.2 rad"', {"°": "degree", "deg": "degree"}),
    Kind.PRESSURE: _Rule(
        "pascal", ("bar", 2), ("psi", 1), '"210 bar" or "3000 psi"',
        {"bar": "bar", "barg": "bar", "bar g": "bar", "bar(g)": "bar", "bar (g)": "bar", "bar gauge": "bar",
         "psi": "psi", "psig": "psi", "psi g": "psi", "psi(g)": "psi", "psi (g)": "psi", "psi gauge": "psi"},
    ),
    Kind.FLOW: _Rule(
        "m3/s", ("L/min", 2), ("gpm", 3), '"45 L/min" or "12 gpm"',
        {"l/min": "liter/minute", "lpm": "liter/minute", "gpm": "gallon/minute", "us gpm": "gallon/minute",
         "gal/min": "gallon/minute"},
    ),
    Kind.TEMPERATURE: _Rule(
        "kelvin", ("°C", 1), ("°F", 1), '"80 °C" or "176 F"',
        {"°c": "degC", "c": "degC", "deg c": "degC", "celsius": "degC", "°f": "degF", "f": "degF", "deg f": "degF",
         "fahrenheit": "degF", "k": "kelvin"},
    ),
    Kind.TEMPERATURE_CHANGE: _Rule(
        "kelvin", ("K", 1), ("K", 1), '"25 K" or "25 °C"', {"k": "kelvin", "°c": "kelvin", "c": "kelvin"}
    ),
    Kind.MASS: _Rule("kilogram", ("kg", 3), ("lb", 3), '"1.2 kg" or "3 lb"', {"kg": "kilogram", "lbs": "pound"}),
    Kind.VISCOSITY: _Rule(
        "m2/s", ("mm2/s", 2), ("cSt", 2), '"46 mm2/s" or "46 cSt"', {"cst": "centistokes", "mm2/s": "mm2/s"}
    ),
    Kind.DENSITY: _Rule("kg/m3", ("kg/m3", 1), ("lb/ft3", 3), '"870 kg/m3" or "0.87 kg/L"'),
    Kind.STIFFNESS: _Rule("newton m2", ("N m2", 3), ("lbf in2", 1), '"12 N m2" or "4200 lbf in2"',
                          {"nm2": "newton m2"}),
    Kind.MASS_PER_LENGTH: _Rule("kg/m", ("kg/m", 3), ("lb/ft", 3), '"0.6 kg/m" or "0.4 lb/ft"'),
    Kind.TIME: _Rule("second", ("s", 3), ("s", 3), '"12 s" or "2 min"', {"sec": "second"}),
    Kind.VELOCITY: _Rule("m/s", ("m/s", 3), ("ft/s", 3), '"4.5 m/s" or "15 ft/s"'),
}  # fmt: skip
_DASH_EXAMPLE = '"-8" or the number 8'
_DASH_SIZES = range(1, 65)

_LONGEST_TEXT = 60
_FRACTION = r"(?:(?P<whole>[0-9]+)[ -])?(?P<numerator>[0-9]+) ?/ ?(?P<denominator>[0-9]+)"
_DECIMAL = r"(?P<integer>[0-9]*)(?:(?P<mark>[.,])(?P<decimals>[0-9]+))?(?:[eE](?P<exponent>[+-]?[0-9])(?![0-9]))?"
_QUANTITY = re.compile(rf"(?P<sign>[+-]?) ?(?:{_FRACTION}|{_DECIMAL}) ?(?P<unit>[^0-9.,+-].*)?")
_DASH = re.compile(r"- ?0?([1-9][0-9]?)")
_UNIT_WORD = re.compile(r"([ */·]?)([A-Za-zμ]+)\^?([23]?)")
_UNIT = re.compile(rf"{_UNIT_WORD.pattern}(?:[ */·][A-Za-zμ]+\^?[23]?){{0,3}}")
_ABSOLUTE = re.compile(r"(bar|psi) ?\(?(a|abs|absolute)\)?")
_ANGLES = frozenset({"degree", "radian", "turn", "grade", "arcminute", "arcsecond"})


def si(value: str | float, kind: Kind | str) -> float:
    """A quantity as people write it, in SI units.

    Parameters
    ----------
    value
        Number in the unit of its kind, or text with its unit.
    kind
        What it measures; a dash size comes back as its number.

    Raises
    ------
    UnitError
        It is no finite quantity of this kind; the message says what would be.
    """
    kind = Kind(kind)
    if isinstance(value, str):
        return _read_dash(value) if kind is Kind.DASH_SIZE else _read(value, kind)
    if isinstance(value, bool) or not isinstance(value, Real):
        raise UnitError(f"{_quoted(value)} is not {_a(kind)}: write {_examples(kind)}")
    number = _finite_number(value, kind)
    return (
        _dash_size(number, value) if kind is Kind.DASH_SIZE else _convert(number, _RULES[kind].metric[0], kind, value)
    )


def show(value: float | None, kind: Kind | str, system: System = "metric") -> str:
    """An SI quantity for reading, such as ``"842 mm"``; ``"unknown"`` where there is none.

    What it returns for a finite number, ``si`` reads again.
    """
    kind = Kind(kind)
    if value is None or not math.isfinite(value):
        return "unknown" if value is None or math.isnan(value) else "infinite"
    if kind is Kind.DASH_SIZE:
        return f"-{value:.0f}"
    rule = _RULES[kind]
    unit, decimals = rule.us if system == "us" else rule.metric
    number = f"{_registry().Quantity(value, _unit(rule.si, kind)).to(_unit(unit, kind)).magnitude:.{decimals}f}"
    number = number.rstrip("0").rstrip(".")
    return f"{'0' if number == '-0' else number}{'' if unit == '°' else ' '}{unit}"


@lru_cache(maxsize=4096)
def _read(text: str, kind: Kind) -> float:
    match = _QUANTITY.fullmatch(_plain(text)) if len(text) <= _LONGEST_TEXT else None
    if match is None or not (match["numerator"] or match["integer"] or match["decimals"]):
        raise UnitError(f"{_quoted(text)} is not {_a(kind)}: write one number and one unit, such as {_examples(kind)}")
    if match["unit"] is None:
        raise UnitError(f"{_quoted(text)} has no unit: write {_examples(kind)}")
    return _convert(_number(match, text), match["unit"], kind, text)


def _plain(text: str) -> str:
    # a vulgar fraction is set apart first: compatibility forms would turn "1½" into eleven halves
    for character in set(text):
        if unicodedata.decomposition(character).startswith("<fraction>"):
            spelled = unicodedata.normalize("NFKC", character).replace("\u2044", "/")
            text = text.replace(character, f" {spelled}")
    return " ".join(text.replace("\u2212", "-").replace("\u2013", "-").split())


def _number(match: re.Match[str], text: str) -> float:
    magnitude = _fraction(match, text) if match["numerator"] else _decimal(match, text)
    return -magnitude if match["sign"] == "-" else magnitude


def _fraction(match: re.Match[str], text: str) -> float:
    numerator, denominator = int(match["numerator"]), int(match["denominator"])
    if denominator == 0 or (match["whole"] and numerator >= denominator):
        raise UnitError(f'{_quoted(text)} is not a fraction: write it as "1/2 in" or "1 1/4 in"')
    return int(match["whole"] or 0) + numerator / denominator


def _decimal(match: re.Match[str], text: str) -> float:
    integer, decimals = match["integer"], match["decimals"] or ""
    if match["mark"] == "," and len(decimals) == 3 and 1 <= len(integer) <= 3 and integer.strip("0"):
        meanings = f"{integer}.{decimals} or {integer}{decimals}"
        raise UnitError(f"{_quoted(text)} can be read in two ways: write {meanings}, as it is meant")
    return float(f"{integer or 0}.{decimals or 0}e{match['exponent'] or 0}")


def _read_dash(text: str) -> float:
    match = _DASH.fullmatch(_plain(text)) if len(text) <= _LONGEST_TEXT else None
    if match is None:
        raise UnitError(f"{_quoted(text)} is not a dash size: write {_DASH_EXAMPLE}")
    return _dash_size(float(match[1]), text)


def _dash_size(number: float, given: object) -> float:
    if number not in _DASH_SIZES:
        raise UnitError(
            f"{_quoted(given)} is not a dash size: write {_DASH_EXAMPLE}, in sixteenths of an inch, 1 to 64"
        )
    return number


def _finite_number(value: Real, kind: Kind) -> float:
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise UnitError(f"{number} is not {_a(kind)}: write {_examples(kind)}")
    return number


@lru_cache(maxsize=1024)
def _unit(text: str, kind: Kind) -> Any:
    rule = _RULES[kind]
    spelled = unicodedata.normalize("NFKC", text).strip()
    if kind is Kind.PRESSURE:
        _refuse_pressure_traps(spelled)
    unit = _product(rule.aliases.get(spelled.lower(), spelled.replace(" per ", "/")))
    if unit is None:
        raise UnitError(f"{_quoted(spelled)} is no known unit")
    if unit.dimensionality != _product(rule.si).dimensionality or (kind is Kind.ANGLE and str(unit) not in _ANGLES):
        raise UnitError(f"{_quoted(spelled)} measures something else")
    return unit


def _refuse_pressure_traps(unit: str) -> None:
    if _ABSOLUTE.fullmatch(unit.lower()):
        raise UnitError(f"{_quoted(unit)} is absolute, and pressures here are gauge (absolute less 1.013 bar)")
    if unit == "mPa":
        raise UnitError("'mPa' is a thousandth of a pascal, a megapascal is MPa")


def _product(text: str) -> Any:
    """Unit of a few words with small powers, or ``None``; the units library sees one word at a time."""
    import pint  # here, because it takes long to load and some commands read no quantity

    if not _UNIT.fullmatch(text):
        return None
    unit = _registry().Unit("")
    for operator, word, power in _UNIT_WORD.findall(text):
        try:
            factor = _registry().Unit(word) ** int(power or 1)
        except (pint.errors.PintError, ValueError):  # the latter for "nan"
            return None
        unit = unit / factor if operator == "/" else unit * factor
    return unit


@cache
def _registry() -> Any:
    import pint

    try:
        return pint.UnitRegistry(cache_folder=":auto:")
    except OSError:  # the user's cache folder cannot be written: only slower
        return pint.UnitRegistry()


def _convert(number: float, unit: str, kind: Kind, given: object) -> float:
    try:
        result = float(_registry().Quantity(number, _unit(unit, kind)).to(_unit(_RULES[kind].si, kind)).magnitude)
    except UnitError as problem:
        text = f"{_quoted(given)} is not {_a(kind)}: {problem}; write one number and one unit, such as"
        raise UnitError(f"{text} {_examples(kind)}") from None
    except OverflowError:
        result = math.inf
    if not math.isfinite(result) or (kind is Kind.TEMPERATURE and result < 0.0):
        raise UnitError(f"{_quoted(given)} is out of range for {_a(kind)}: write {_examples(kind)}")
    return result


def _a(kind: Kind) -> str:
    return f"an {kind}" if kind is Kind.ANGLE else f"a {kind}"


def _examples(kind: Kind) -> str:
    return _DASH_EXAMPLE if kind is Kind.DASH_SIZE else _RULES[kind].examples


def _quoted(given: object) -> str:
    text = str(given) if isinstance(given, str | Real) else type(given).__name__
    return f"'{text}'" if len(text) <= _LONGEST_TEXT else f"'{text[:20]}...'"
