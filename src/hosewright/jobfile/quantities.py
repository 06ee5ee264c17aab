"""Types of the values in a job file: quantities, points, directions, names and words.

A value that cannot be used gives one message of ours: what was found and what would be right.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from enum import StrEnum
from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator, WithJsonSchema
from pydantic_core import PydanticCustomError

from hosewright import units
from hosewright.errors import HosewrightError, nearest
from hosewright.geometry.mesh import FARTHEST
from hosewright.units import Kind

LONGEST_NAME = 80


def refuse(text: str) -> PydanticCustomError:
    """The error to raise in a validator."""
    return PydanticCustomError("hosewright", "{text}", {"text": text})


def quantity(
    kind: Kind, *, least: float | None = None, most: float | None = None, above: float | None = None
) -> tuple[BeforeValidator, WithJsonSchema]:
    """Reader and schema of a quantity, which may have limits (in SI)."""

    def read(value: Any) -> float:
        try:
            number = units.si(value, kind)
        except HosewrightError as error:
            raise refuse(str(error)) from error
        for text, bad, limit in (
            ("must be above", above is not None and number <= above, above),
            ("must be at least", least is not None and number < least, least),
            ("must be at most", most is not None and number > most, most),
        ):
            if bad:
                raise refuse(f"{text} {units.show(limit, kind)}, got {shown(value)}")
        return number

    bare = units.show(units.si(1, kind), kind).partition(" ")[2] or "degrees"
    described = {"description": f"a {kind}: a bare number is in {bare}, a text carries its unit"}
    return BeforeValidator(read), WithJsonSchema({"anyOf": [{"type": "number"}, {"type": "string"}], **described})


def shown(value: object) -> str:
    """A value as the file has it, for messages; cut where it is long."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return f"a table with {', '.join(map(str, list(value)[:4])) or 'nothing in it'}"
    text = f"'{value}'" if isinstance(value, str) else str(value)
    return text if len(text) <= 60 else f"{text[:50]}..."


def _three(what: str) -> BeforeValidator:
    def read(value: Any) -> tuple[Any, ...]:
        if not isinstance(value, list) or len(value) != 3:
            raise refuse(f"needs three numbers, such as {what}, got {shown(value)}")
        return tuple(value)

    return BeforeValidator(read)


def _number(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) <= 1e9:
        raise refuse(f"needs a plain number, such as 0.5, got {shown(value)}")
    return float(value)


def _unit_vector(value: tuple[float, float, float]) -> tuple[float, float, float]:
    length = math.hypot(*value)
    if length < 1e-6:
        raise refuse("a direction cannot be 0, 0, 0; for instance [0, 0, 1] is up")
    x, y, z = (part / length for part in value)
    return x, y, z


def _name(value: Any) -> str:
    if not isinstance(value, str):
        raise refuse(f"needs a name in quotes, got {shown(value)}")
    if not value.strip() or len(value) > LONGEST_NAME or not value.isprintable():
        raise refuse(f"a name has 1 to {LONGEST_NAME} characters on one line, got {shown(value)}")
    return value


def _text(value: Any) -> str:
    if not isinstance(value, str):
        raise refuse(f"needs a text in quotes, got {shown(value)}")
    return value


def _joint_value(value: Any) -> Any:
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise refuse(f'needs a number (degrees or mm) or a text with its unit, such as "400 mm", got {shown(value)}')
    return value


def word(kind: str, words: type[StrEnum] | Sequence[str]) -> tuple[BeforeValidator, WithJsonSchema]:
    """Reader and schema of one word out of a few."""
    known = [str(one) for one in words]

    def read(value: Any) -> str:
        if value not in known:
            raise refuse(f"{shown(value)} is no {kind}: write one of {', '.join(known)}.{_close(value, known)}")
        return str(value)

    return BeforeValidator(read), WithJsonSchema({"enum": known})


def _close(value: object, known: Sequence[str]) -> str:
    hint = nearest(str(value)[:LONGEST_NAME], known)
    return hint if "Did you mean" in hint else ""


def _before(read: Callable[[Any], Any], schema: dict[str, Any]) -> tuple[BeforeValidator, WithJsonSchema]:
    return BeforeValidator(read), WithJsonSchema(schema)


_LENGTH = quantity(Kind.LENGTH, least=-FARTHEST, most=FARTHEST)
_QUANTITY = {"anyOf": [{"type": "number"}, {"type": "string"}]}
_THREE = {"type": "array", "minItems": 3, "maxItems": 3}

Length = Annotated[float, *_LENGTH]
PositiveLength = Annotated[float, *quantity(Kind.LENGTH, above=0.0, most=FARTHEST)]
NotNegativeLength = Annotated[float, *quantity(Kind.LENGTH, least=0.0, most=FARTHEST)]
Angle = Annotated[float, *quantity(Kind.ANGLE, least=-1e4, most=1e4)]
Slope = Annotated[float, *quantity(Kind.ANGLE, least=0.0, most=math.pi / 2.0)]
Pressure = Annotated[float, *quantity(Kind.PRESSURE, least=-1.02e5, most=1e9)]
Flow = Annotated[float, *quantity(Kind.FLOW, least=0.0, most=10.0)]
Temperature = Annotated[float, *quantity(Kind.TEMPERATURE, most=2000.0)]
Viscosity = Annotated[float, *quantity(Kind.VISCOSITY, above=0.0, most=1.0)]
Density = Annotated[float, *quantity(Kind.DENSITY, above=0.0, most=1e5)]
Number = Annotated[float, *_before(_number, {"type": "number"})]
Name = Annotated[str, *_before(_name, {"type": "string", "minLength": 1, "maxLength": LONGEST_NAME})]
Text = Annotated[str, *_before(_text, {"type": "string"})]
JointValue = Annotated[float | str, *_before(_joint_value, _QUANTITY)]
Point = Annotated[tuple[Length, Length, Length], _three("[0, 40, 620]"), WithJsonSchema({**_THREE, "items": _QUANTITY})]
Sizes = Annotated[
    tuple[PositiveLength, PositiveLength, PositiveLength],
    _three("[200, 100, 50]"),
    WithJsonSchema({**_THREE, "items": _QUANTITY}),
]
Direction = Annotated[
    tuple[Number, Number, Number],
    _three("[0, 0, 1]"),
    AfterValidator(_unit_vector),
    WithJsonSchema({**_THREE, "items": {"type": "number"}}),
]
