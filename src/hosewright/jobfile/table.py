"""The base of all tables of a job file: messages about keys and types in our words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Self

from pydantic import BaseModel, ConfigDict, ModelWrapValidatorHandler, ValidationError, model_validator
from pydantic_core import ErrorDetails, InitErrorDetails, PydanticCustomError

from hosewright.errors import nearest
from hosewright.jobfile.quantities import refuse, shown

UNKNOWN_KEY = "unknown_key"
MISSING_KEY = "missing_key"
LIMITS = {"greater_than_equal": ("least", "ge"), "less_than_equal": ("most", "le")}


class Table(BaseModel):
    """A table of the file; messages about its keys are ours."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, populate_by_name=False)

    @model_validator(mode="wrap")
    @classmethod
    def _speak(cls, value: Any, handler: ModelWrapValidatorHandler[Self]) -> Self:
        try:
            return handler(value)
        except ValidationError as error:
            raise ValidationError.from_exception_data("job", [cls._ours(one) for one in error.errors()]) from None

    @classmethod
    def _ours(cls, error: ErrorDetails) -> InitErrorDetails:
        own = len(error["loc"]) == 1
        if own and error["type"] == "extra_forbidden":
            kind, text = (
                "unknown_key",
                f"there is no '{error['loc'][0]}' here.{nearest(str(error['loc'][0]), cls.keys())}",
            )
        elif own and error["type"] == "missing":
            kind, text = MISSING_KEY, f"'{error['loc'][0]}' is missing: {cls._hint(str(error['loc'][0]))}"
        else:
            kind, text = "hosewright", _plainly(error)
            kind = error["type"] if error["type"] in (UNKNOWN_KEY, MISSING_KEY) else kind
        return InitErrorDetails(
            type=PydanticCustomError(kind, "{text}", {"text": text}), loc=error["loc"], input=error["input"]
        )

    @classmethod
    def keys(cls) -> list[str]:
        """Names of all fields, as the file has them."""
        return [field.alias or name for name, field in cls.model_fields.items()]

    @classmethod
    def _hint(cls, key: str) -> str:
        field = next(field for name, field in cls.model_fields.items() if (field.alias or name) == key)
        example = f", such as {key} = {field.examples[0]}" if field.examples else ""
        return f"{field.description}{example}"


def _plainly(error: ErrorDetails) -> str:
    """A message of the validator in our words."""
    value, kind = error["input"], error["type"]
    if kind == "list_type":
        if isinstance(value, dict) and len(error["loc"]) == 1:
            return f"there may be several: write [[{error['loc'][0]}]], with double brackets"
        return f"needs a list in brackets, got {shown(value)}"
    if kind in ("model_type", "dict_type"):
        return f"needs a table such as {{ name = value }}, got {shown(value)}"
    if kind == "bool_type":
        return f"needs true or false, got {shown(value)}"
    if kind.startswith("int_"):
        return f"needs a whole number, got {shown(value)}"
    if kind in LIMITS:
        word, key = LIMITS[kind]
        return f"must be at {word} {error['ctx'][key]}, got {shown(value)}"
    if kind == "literal_error":
        return f"is {shown(value)}, this program reads {error['ctx']['expected']}"
    if kind.startswith("date"):
        return f"needs a date such as 2026-03-01, without quotes, got {shown(value)}"
    return error["msg"]


def one_of(model: Table, names: Sequence[str], needed: bool = False) -> None:
    """Refuse a table that has none or several of the keys that exclude each other."""
    given = [name for name in names if getattr(model, name) is not None]
    wanted = " or ".join(f"'{name}'" for name in names)
    if len(given) > 1:
        raise refuse(f"only one of {wanted} can be given")
    if needed and not given:
        raise refuse(f"needs one of {wanted}")
