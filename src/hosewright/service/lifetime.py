"""Ages of a sample and of the assembly that replaces it.

References
----------
DIN 20066 and DGUV Regel 113-020: age of the hose at making, storage, guide values for the replacement.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator

from hosewright.service.ages import Period, shifted, years_between
from hosewright.service.sample import Sample
from hosewright.service.warning import RemakeWarning
from hosewright.standards import dguv_113_020, din_20066
from hosewright.standards.values import Value as Guide
from hosewright.words import Figure, Sentence, Value


def age_of_the_sample(sample: Sample, marked: Period | None, date: datetime.date | None) -> Iterator[RemakeWarning]:
    """What the dates of a sample say.

    Parameters
    ----------
    sample
        With the dates that are known of it.
    marked
        When it was made, as its markings say.
    date
        Of the re-making; without it no age is told.
    """
    made = sample.made or marked
    if marked and sample.made and not marked.overlaps(sample.made):
        yield RemakeWarning("age", Sentence.of("samples.other_date", marked=marked.said, made=sample.made.said))
    if date is None:
        return
    for key, period in (("samples.made_later", made), ("samples.fitted_later", sample.fitted)):
        if period is not None and period.first > date:
            yield RemakeWarning("age", Sentence.of(key, period=period.said, date=date.isoformat()))
            return
    if made is not None:
        yield from _whole_age(made, date)
    if sample.fitted is not None:
        yield from _stored(made, sample.fitted)
        yield from _served(sample, sample.fitted, date)


def _whole_age(made: Period, date: datetime.date) -> Iterator[RemakeWarning]:
    guide = din_20066.service_time()
    if shifted(made.last, guide.value) < date:
        said = Sentence.of("samples.too_old", made=made.said, years=Figure.number(guide.value))
        yield RemakeWarning("age", said, guide.source)


def _stored(made: Period | None, fitted: Period) -> Iterator[RemakeWarning]:
    limit = din_20066.storage_time()
    if made is not None and shifted(made.last, limit.value) < fitted.first:
        years = years_between(made.last, fitted.first)
        lay, most = Figure.number(years, 1), Figure.number(limit.value)
        said = Sentence.of("samples.stored", made=made.said, fitted=fitted.said, years=lay, most=most)
        yield RemakeWarning("age", said, limit.source)


def _served(sample: Sample, fitted: Period, date: datetime.date) -> Iterator[RemakeWarning]:
    guide = dguv_113_020.service_time(sample.raised_duty)
    years = years_between(fitted.first, date)
    served = {
        "years": Figure.number(max(years, 0.0), 1),
        "fitted": fitted.said,
        "guide": Figure.number(guide.value),
    }
    if shifted(fitted.first, guide.value) < date:
        yield RemakeWarning("age", Sentence.of("samples.served_too_long", **served), guide.source)
    elif sample.failed is not None:
        yield RemakeWarning("age", Sentence.of("samples.failed_early", **served), guide.source)


def ages_of_the_new(sample: Sample, date: datetime.date | None) -> Iterator[RemakeWarning]:
    """How old the hose may be, how long the new assembly may lie, when it is due; with days where the date is known."""
    hose, store, life = din_20066.hose_age_at_assembly(), din_20066.storage_time(), din_20066.service_time()
    yield _in_years("samples.hose_age", hose, "samples.made_after", date, -1.0)
    yield _in_years("samples.store", store, "samples.until", date)
    yield _in_years("samples.replace", life, "samples.by", date)
    if sample.raised_duty:
        raised = dguv_113_020.service_time(raised_duty=True)
        said = Sentence.of("samples.raised_duty", years=Figure.number(raised.value))
        yield RemakeWarning("age", said, raised.source)


def _in_years(key: str, years: Guide, day: str, date: datetime.date | None, sense: float = 1.0) -> RemakeWarning:
    """A sentence with a time, and the day that it leads to where the date is known."""
    until: Value = ""
    if date is not None:
        until = Sentence.of(day, date=shifted(date, sense * years.value).isoformat())
    return RemakeWarning("age", Sentence.of(key, years=Figure.number(years.value), day=until), years.source)
