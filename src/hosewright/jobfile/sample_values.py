"""Types of the values that only samples have: clock positions, printed dates, seats."""

from __future__ import annotations

import datetime
import re
from typing import Annotated, Any

from pydantic import BeforeValidator, WithJsonSchema

from hosewright.errors import ArgumentError
from hosewright.jobfile.quantities import Angle, refuse, shown
from hosewright.service import Period, read_period, read_seat

_CLOCK = re.compile(r"(?P<hour>1[0-2]|[1-9])(?::(?P<minute>[0-5][0-9]))? ?(o'?clock|h)", re.IGNORECASE)


def _clock(value: Any) -> Any:
    """A time of the clock face in degrees; anything else is left to the angle."""
    match = _CLOCK.fullmatch(value.strip()) if isinstance(value, str) else None
    return value if match is None else (30.0 * int(match["hour"]) + 0.5 * int(match["minute"] or 0)) % 360.0


def _printed_date(value: Any) -> Period:
    if isinstance(value, datetime.datetime):
        value = value.date()
    if isinstance(value, datetime.date):
        return Period(value, value)
    period = read_period(value) if isinstance(value, str) else None
    if period is None:
        raise refuse(f'needs a date, such as "2Q19", "10/2019", "2019" or 2019-10-05, got {shown(value)}')
    return period


def _seat(value: Any) -> str:
    if not isinstance(value, str):
        raise refuse(f'needs a seat in quotes, such as "24 cone", got {shown(value)}')
    try:
        return read_seat(value)
    except ArgumentError as error:
        raise refuse(str(error)) from error


ClockAngle = Annotated[Angle, BeforeValidator(_clock)]
PrintedDate = Annotated[Period, BeforeValidator(_printed_date), WithJsonSchema({"type": "string"})]
Seat = Annotated[str, BeforeValidator(_seat), WithJsonSchema({"type": "string"})]
