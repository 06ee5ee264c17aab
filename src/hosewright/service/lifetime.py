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
        yield RemakeWarning("age", f"the markings say {marked}, the sample is taken down as of {sample.made}")
    if date is None:
        return
    for what, period in (("made", made), ("fitted", sample.fitted)):
        if period is not None and period.first > date:
            yield RemakeWarning("age", f"{what} {period}, which is after the job's date {date}: read it again")
            return
    if made is not None:
        yield from _whole_age(made, date)
    if sample.fitted is not None:
        yield from _stored(made, sample.fitted)
        yield from _served(sample, sample.fitted, date)


def _whole_age(made: Period, date: datetime.date) -> Iterator[RemakeWarning]:
    guide = din_20066.service_time()
    if shifted(made.last, guide.value) < date:
        text = (
            f"the sample is of {made}, above the guide of {guide.value:g} years from its making: the machine's other "
            "hoses may be due, too"
        )
        yield RemakeWarning("age", text, guide.source)


def _stored(made: Period | None, fitted: Period) -> Iterator[RemakeWarning]:
    limit = din_20066.storage_time()
    if made is not None and shifted(made.last, limit.value) < fitted.first:
        years = years_between(made.last, fitted.first)
        text = f"the sample of {made} was fitted {fitted}: it lay {years:.1f} years, more than {limit.value:g}"
        yield RemakeWarning("age", text, limit.source)


def _served(sample: Sample, fitted: Period, date: datetime.date) -> Iterator[RemakeWarning]:
    guide = dguv_113_020.service_time(sample.raised_duty)
    years = years_between(fitted.first, date)
    span = f"it served {max(years, 0.0):.1f} years, fitted {fitted}; the guide is {guide.value:g}"
    if shifted(fitted.first, guide.value) < date:
        yield RemakeWarning("age", f"{span}: it was over its time", guide.source)
    elif sample.failed is not None:
        yield RemakeWarning("age", f"{span}: it failed before its time, so look for the cause", guide.source)


def ages_of_the_new(sample: Sample, date: datetime.date | None) -> Iterator[RemakeWarning]:
    """How old the hose may be, how long the new assembly may lie, when it is due; with days where the date is known."""
    hose, store, life = din_20066.hose_age_at_assembly(), din_20066.storage_time(), din_20066.service_time()
    after, until, by = (
        f", {word} {shifted(date, years)}" if date else ""
        for word, years in (("made after", -hose.value), ("until", store.value), ("by", life.value))
    )
    yield RemakeWarning("age", f"take hose that is at most {hose.value:g} years old{after}", hose.source)
    stored = f"in store the new assembly may lie {store.value:g} years{until}, which count as part of its life"
    yield RemakeWarning("age", stored, store.source)
    yield RemakeWarning("age", f"replace it {life.value:g} years after its making{by} (guide value)", life.source)
    if sample.raised_duty:
        raised = dguv_113_020.service_time(raised_duty=True)
        text = f"its duty is raised: replace it after {raised.value:g} years of operation"
        yield RemakeWarning("age", text, raised.source)
