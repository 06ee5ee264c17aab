"""What speaks against making a sample again just as it lies there, each warning with its source."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from hosewright import tables
from hosewright.assembly import Assembly, Hose
from hosewright.catalog import Catalog, Connection
from hosewright.catalog import look_alikes as look_alikes_of
from hosewright.duty import FluidClass, Suitability, fluid_fit, rating
from hosewright.errors import ArgumentError
from hosewright.service.ages import Period, shifted, years_between
from hosewright.service.markings import Markings
from hosewright.service.sample import Sample
from hosewright.sources import Confidence, Source
from hosewright.standards import dguv_113_020, din_20066

SourceOrNone = Source | None

MEASURING = Source("hose shops' ordering guides", "measuring points of ends", Confidence.PRACTICE)
ORIENTATION = Source("hose shops' ordering guides", "orientation angle", Confidence.PRACTICE)
REUSE = Source("DIN 20066", "no repair with used hose or used fittings", Confidence.STANDARD)
SET = Source("the limits of the length change, taken as the most that a hose can have set", "", Confidence.OURS)
MACHINE = Source("what a sample cannot show", "", Confidence.OURS)
ROUNDED = 1.01
"""A marked pressure in psi may be the table's in bar, rounded up."""

LOOK_ALIKES = Source("compared from the thread tables", "", Confidence.OURS)


@dataclass(frozen=True)
class RemakeWarning:
    """A doubt about a sample or about making it again.

    Attributes
    ----------
    kind
        What it is about: ``"length"``, ``"connection"``, ``"age"`` and so on.
    text
        One sentence.
    source
        ``None`` where it only compares what was taken down.
    """

    kind: str
    text: str
    source: Source | None = None

    def __str__(self) -> str:
        return f"{self.kind}: {self.text}" + (f" [{self.source}]" if self.source else "")


def about(
    sample: Sample,
    catalog: Catalog,
    date: datetime.date | None,
    markings: Markings | None,
    hose: Hose | None,
    assembly: Assembly | None,
) -> Iterator[RemakeWarning]:
    """All warnings that follow from the sample as a whole."""
    yield from _length_change(sample, hose, assembly)
    yield from _pressure(sample, markings, hose, assembly)
    yield from _fluid(sample, catalog, hose)
    yield from _why_it_failed(sample)
    yield from _age_of_the_sample(sample, markings, date)
    yield from _ages_of_the_new(sample, date)
    yield RemakeWarning(
        "reuse", "make it from new hose with new fittings: never use the old ends or ferrules again", REUSE
    )
    yield RemakeWarning(
        "machine",
        "without the machine no routing rule was checked: bend radius, slack, twist, clearance and the motion are open",
        MACHINE,
    )


def look_alikes(end: str, connection: Connection) -> Iterator[RemakeWarning]:
    """Connections that pass for the one of an end in the hand."""
    found = look_alikes_of(connection.data.name)
    if found:
        told = "; ".join(f"{name} (tell by {tell})" for name, tell in found)
        yield RemakeWarning("connection", f"end {end}, '{connection}', may be taken for {told}", LOOK_ALIKES)


def _length_change(sample: Sample, hose: Hose | None, assembly: Assembly | None) -> Iterator[RemakeWarning]:
    if not sample.used or sample.overall_length is None:
        return
    if hose is None or assembly is None or hose.longer is None or hose.shorter is None:
        yield RemakeWarning(
            "length", "a used hose has drawn up or taken a set: compare its length with the machine", SET
        )
        return
    held = assembly.overall_length - assembly.free_length
    least, most = (held + assembly.free_length / (1.0 + change) for change in (hose.longer, -hose.shorter))
    limits = f"+{hose.longer * 100:g}/-{hose.shorter * 100:g} % of its free length"
    yield RemakeWarning(
        "length",
        f"a used hose has drawn up or taken a set: with {limits} it may have been {least * 1e3:.0f} to "
        f"{most * 1e3:.0f} mm long as new, now {assembly.overall_length * 1e3:.0f} mm; compare with the machine "
        f"(limits: {hose.sources['shorter']})",
        SET,
    )


def _pressure(
    sample: Sample, markings: Markings | None, hose: Hose | None, assembly: Assembly | None
) -> Iterator[RemakeWarning]:
    marked = markings.working_pressure if markings else None
    own = hose.max_working_pressure if hose else None
    if hose is not None and own is not None and marked is not None and marked > own * ROUNDED:
        yield RemakeWarning(
            "pressure",
            f"the markings allow {_bar(marked)}, {hose.name} only {_bar(own)}: the sample was of a stronger make, or "
            "it was read wrongly",
            hose.sources["max_working_pressure"],
        )
    if sample.working_pressure is None:
        yield RemakeWarning(
            "pressure",
            "the pressure of the line is not said: what the sample was made for is no proof that it was right; ask for "
            "the relief valve's setting",
        )
    elif assembly is not None:
        yield from _rated(sample.working_pressure, assembly)


def _rated(pressure: float, assembly: Assembly) -> Iterator[RemakeWarning]:
    whole = rating(assembly)
    for part in whole.parts:
        if part.max_working_pressure is None:
            yield RemakeWarning("pressure", f"no rating is known of the {part.name} ({part.place})")
        elif part.max_working_pressure < pressure:
            yield RemakeWarning(
                "pressure",
                f"the line works at {_bar(pressure)}, the {part.name} ({part.place}) bears "
                f"{_bar(part.max_working_pressure)}",
                part.source,
            )


def _bar(pressure: float) -> str:
    return f"{pressure * 1e-5:.4g} bar"


def _fluid(sample: Sample, catalog: Catalog, hose: Hose | None) -> Iterator[RemakeWarning]:
    if sample.fluid is None:
        yield RemakeWarning("fluid", "the fluid is not said: ask for it, and see whether liner and cover suit it")
        return
    try:
        data = catalog.fluid(sample.fluid)
    except ArgumentError as error:
        yield RemakeWarning("fluid", str(error))
        return
    if hose is None:
        return
    fit = fluid_fit(hose, FluidClass(data.fluid_class))
    if fit.excluded_by is not None and not fit.named:
        yield RemakeWarning(
            "fluid",
            f"the standard of {hose.name} leaves {data.name} out: only a data sheet can allow it",
            fit.excluded_by,
        )
    elif fit.named is False:
        yield RemakeWarning(
            "fluid", f"the data of {hose.name} does not name {data.name}: ask its maker", hose.sources.get("fluids")
        )
    if fit.liner.suitability is Suitability.UNSUITABLE:
        yield RemakeWarning("fluid", f"a liner of {fit.liner.material} does not bear {data.name}", fit.liner.source)


@dataclass(frozen=True)
class Cause:
    """A way in which hoses fail, why, and what must change so that the next one does not."""

    words: re.Pattern[str]
    finding: str
    cause: str
    mend: str
    source: Source


@cache
def causes() -> tuple[Cause, ...]:
    """Common ways of failing; practice, no source."""
    return tuple(
        Cause(
            re.compile(rf"\b(?:{row.text('words')})", re.IGNORECASE),
            row.text("finding"),
            row.text("cause"),
            row.text("mend"),
            row.source("finding"),
        )
        for row in tables.packaged("hosewright.service", "failures.csv")
    )


def _why_it_failed(sample: Sample) -> Iterator[RemakeWarning]:
    if sample.failed is None:
        if sample.used:
            yield RemakeWarning("failure", "it is not said why it failed: look for the cause before you make it again")
        return
    found = [cause for cause in causes() if cause.words.search(sample.failed)]
    for one in found:
        yield RemakeWarning(
            "failure", f"{one.finding}: {one.cause}; made again as it was it fails again: {one.mend}", one.source
        )
    if not found:
        yield RemakeWarning(
            "failure",
            f"'{sample.failed}' is no way of failing that is known here: find the cause before you make it again",
        )


def _age_of_the_sample(
    sample: Sample, markings: Markings | None, date: datetime.date | None
) -> Iterator[RemakeWarning]:
    marked = markings.made if markings else None
    if marked and sample.made and not _overlap(marked, sample.made):
        yield RemakeWarning("age", f"the markings say {marked}, the sample is taken down as of {sample.made}")
    if date is None:
        return
    for what, period in (("made", sample.made or marked), ("fitted", sample.fitted)):
        if period is not None and period.first > date:
            yield RemakeWarning("age", f"{what} {period}, which is after the job's date {date}: read it again")
            return
    made = sample.made or marked
    guide = din_20066.service_time()
    if made is not None and years_between(made.last, date) > guide.value:
        yield RemakeWarning(
            "age",
            f"the sample is of {made}, above the guide of {guide.value:g} years from its making: the machine's other "
            "hoses may be due, too",
            guide.source,
        )
    if sample.fitted is not None:
        yield _served(sample, sample.fitted, date)


def _served(sample: Sample, fitted: Period, date: datetime.date) -> RemakeWarning:
    guide = dguv_113_020.service_time(sample.raised_duty)
    years = years_between(fitted.first, date)
    early = years < guide.value
    told = (
        "it failed before its time: the cause is still there"
        if early and sample.failed
        else "within"
        if early
        else "over"
    )
    return RemakeWarning(
        "age", f"it served {years:.1f} years since {fitted}, of a guide of {guide.value:g}: {told}", guide.source
    )


def _overlap(a: Period, b: Period) -> bool:
    return a.first <= b.last and b.first <= a.last


def _ages_of_the_new(sample: Sample, date: datetime.date | None) -> Iterator[RemakeWarning]:
    hose, store = din_20066.hose_age_at_assembly(), din_20066.storage_time()
    life = dguv_113_020.service_time(sample.raised_duty)
    whole = din_20066.service_time()
    made_after = f", made after {shifted(date, -hose.value)}" if date else ""
    yield RemakeWarning("age", f"take hose that is at most {hose.value:g} years old{made_after}", hose.source)
    until = f", until {shifted(date, store.value)}" if date else ""
    yield RemakeWarning(
        "age",
        f"in store the new assembly may lie {store.value:g} years{until}, which count as part of its life",
        store.source,
    )
    by = f", by {shifted(date, whole.value)}" if date else ""
    yield RemakeWarning("age", f"replace it {whole.value:g} years after its making{by} (guide value)", whole.source)
    if sample.raised_duty:
        yield RemakeWarning(
            "age", f"its duty is raised: replace it after {life.value:g} years of operation", life.source
        )
