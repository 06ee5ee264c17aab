"""Dates as tags and laylines print them, and the ages of hose and assemblies that follow from them."""

from __future__ import annotations

import datetime
import re
from calendar import monthrange
from dataclasses import dataclass

from hosewright.words import Sentence, Value

_YEAR = r"'?(?P<year>(?:19|20)[0-9]{2}|[0-9]{2})"
_FORMS = (
    re.compile(r"(?<![\w/])(?P<year>(?:19|20)[0-9]{2})-(?P<month>0[1-9]|1[0-2])-(?P<day>[0-3][0-9])(?![\w/])"),
    re.compile(rf"(?<![\w/])(?P<quarter>[1-4]) ?[Qq] ?[/-]?{_YEAR}(?![\w/])"),
    re.compile(rf"(?<![\w/])[Qq](?P<quarter>[1-4]) ?[ /-]?{_YEAR}(?![\w/])"),
    re.compile(r"(?<![\w/])(?P<month>0?[1-9]|1[0-2]) ?[/.] ?(?P<year>(?:19|20)[0-9]{2})(?![\w/])"),
    re.compile(r"(?<![\w/])(?P<year>(?:19|20)[0-9]{2})-(?P<month>0[1-9]|1[0-2])(?![\w/-])"),
)
_YEAR_ALONE = re.compile(r"(?P<year>(?:19|20)[0-9]{2})")


@dataclass(frozen=True)
class Period:
    """The days that a printed date may mean: a day, a month, a quarter or a year."""

    first: datetime.date
    last: datetime.date

    def overlaps(self, other: Period) -> bool:
        """Whether both may be the same day."""
        return self.first <= other.last and other.first <= self.last

    @property
    def said(self) -> Value:
        """As people write it: a day, a month, a quarter or a year."""
        if self.first == self.last:
            return self.first.isoformat()
        months = self.last.month - self.first.month + 1
        if months == 3:
            return Sentence.of("samples.quarter", quarter=self.last.month // 3, year=self.first.year)
        return f"{self.first:%m/%Y}" if months == 1 else str(self.first.year)

    def __str__(self) -> str:
        return str(self.said)


def find_period(text: str) -> tuple[Period, str] | None:
    """The first date in a text, such as ``2Q19``, ``4Q 21``, ``Q3/2020`` or ``10/2019``, and the words that say it."""
    for form in _FORMS:
        for match in form.finditer(text):
            period = _period(**match.groupdict())
            if period is not None:
                return period, match[0]
    return None


def read_period(text: str) -> Period | None:
    """The date that a whole text says; ``None`` where it is none. A year alone counts, too."""
    text = text.strip()
    if _YEAR_ALONE.fullmatch(text):
        return _period(year=text)
    found = find_period(text)
    return found[0] if found is not None and found[1] == text else None


def _period(year: str, quarter: str | None = None, month: str | None = None, day: str | None = None) -> Period | None:
    number = int(year) if len(year) == 4 else _whole_year(int(year))
    if day is not None and month is not None:
        try:
            date = datetime.date(number, int(month), int(day))
        except ValueError:
            return None
        return Period(date, date)
    first = 3 * int(quarter) - 2 if quarter else int(month or 1)
    last = first + 2 if quarter else int(month or 12)
    return Period(datetime.date(number, first, 1), datetime.date(number, last, monthrange(number, last)[1]))


def _whole_year(two_digits: int) -> int:
    """Hydraulic hose in service was made in this century, or in the last years of the one before."""
    return 2000 + two_digits if two_digits < 80 else 1900 + two_digits


def shifted(date: datetime.date, years: float) -> datetime.date:
    """The same day whole years later, or with a negative figure earlier; 29 February becomes 28 where there is none."""
    year = date.year + round(years)
    return date.replace(year=year, day=min(date.day, monthrange(year, date.month)[1]))


def years_between(earlier: datetime.date, later: datetime.date) -> float:
    """Time from one day to another. [years]"""
    return (later - earlier).days / 365.25
