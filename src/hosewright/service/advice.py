"""What speaks against making a sample again just as it lies there, each warning with its source."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator

from hosewright.assembly import Assembly, Hose
from hosewright.catalog import Catalog, Connection
from hosewright.catalog import look_alikes as look_alikes_of
from hosewright.duty import FluidClass, Suitability, fluid_fit, rating
from hosewright.errors import ArgumentError
from hosewright.service.failures import why_it_failed
from hosewright.service.flanges import Flange
from hosewright.service.lifetime import age_of_the_sample, ages_of_the_new
from hosewright.service.markings import Markings
from hosewright.service.sample import Sample, SampleEnd
from hosewright.service.warning import RemakeWarning
from hosewright.sources import Confidence, Source

REUSE = Source("DIN 20066", "no repair with used hose or used fittings", Confidence.STANDARD)
SET = Source("the limits of the length change, taken as the most that a hose can have set", "", Confidence.OURS)
MACHINE = Source("what a sample cannot show", "", Confidence.OURS)
ROUNDED = 1.01
"""A marked pressure in psi may be the table's in bar, rounded up."""

LOOK_ALIKES = Source("compared from the thread tables", "", Confidence.OURS)


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
    yield from why_it_failed(sample)
    yield from age_of_the_sample(sample, markings.made if markings else None, date)
    yield from ages_of_the_new(sample, date)
    yield RemakeWarning(
        "reuse", "make it from new hose with new fittings: never use the old ends or ferrules again", REUSE
    )
    yield RemakeWarning(
        "machine",
        "without the machine no routing rule was checked: bend radius, slack, twist, clearance and the motion are open",
        MACHINE,
    )


def look_alikes(ends: Iterable[SampleEnd], connections: Iterable[Connection | None]) -> Iterator[RemakeWarning]:
    """Connections that pass for those of the ends in the hand, where the readings do not rule them out."""
    where: dict[Connection, list[str]] = {}
    for name, end, connection in zip("ab", ends, connections, strict=True):
        if connection is not None and not _is_well_read(end):
            where.setdefault(connection, []).append(f"end {name}")
    for connection, names in where.items():
        if found := look_alikes_of(connection.data.name):
            told = "; ".join(f"{name} (tell by {tell})" for name, tell in found)
            text = f"{' and '.join(names)}, '{connection}', may be taken for {told}"
            yield RemakeWarning("connection", text, LOOK_ALIKES)


def _is_well_read(end: SampleEnd) -> bool:
    """Whether pitch and seat were read, or a flange's head: then a look-alike would have shown."""
    read = end.reading
    if read is None or isinstance(read, Flange):
        return read is not None
    return read.seat is not None and (read.pitch is not None or read.threads_per_inch is not None)


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
            stops=True,
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
                stops=True,
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
