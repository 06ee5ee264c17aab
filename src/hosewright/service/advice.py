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
from hosewright.words import Figure, Name, Sentence, Value, cited, one_after_another, said_by

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
    yield RemakeWarning("reuse", Sentence.of("samples.reuse"), REUSE)
    yield RemakeWarning("machine", Sentence.of("samples.machine"), MACHINE)


def look_alikes(ends: Iterable[SampleEnd], connections: Iterable[Connection | None]) -> Iterator[RemakeWarning]:
    """Connections that pass for those of the ends in the hand, where the readings do not rule them out."""
    where: dict[Connection, list[Value]] = {}
    for name, end, connection in zip("ab", ends, connections, strict=True):
        if connection is not None and not _is_well_read(end):
            where.setdefault(connection, []).append(Name(f"end {name}"))
    for connection, names in where.items():
        if found := look_alikes_of(connection.data.name):
            said = Sentence.of("samples.look_alikes", ends=tuple(names), connection=connection.said, told=_told(found))
            yield RemakeWarning("connection", said, LOOK_ALIKES)


def _told(found: Iterable[tuple[str, str]]) -> Sentence:
    return one_after_another(
        Sentence.of("samples.look_alike", name=Name(name, "connections"), tell=Name(tell, "tells"))
        for name, tell in found
    )


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
        yield RemakeWarning("length", Sentence.of("samples.drawn_up"), SET)
        return
    held = assembly.overall_length - assembly.free_length
    least, most = (held + assembly.free_length / (1.0 + change) for change in (hose.longer, -hose.shorter))
    said = Sentence.of(
        "samples.drawn_up_by",
        longer=Figure(hose.longer, "part", sign=True),
        shorter=Figure(-hose.shorter, "part"),
        least=Figure.length(least),
        most=Figure.length(most),
        length=Figure.length(assembly.overall_length),
        source=cited(hose.sources["shorter"]),
    )
    yield RemakeWarning("length", said, SET)


def _pressure(
    sample: Sample, markings: Markings | None, hose: Hose | None, assembly: Assembly | None
) -> Iterator[RemakeWarning]:
    marked = markings.working_pressure if markings else None
    own = hose.max_working_pressure if hose else None
    if hose is not None and own is not None and marked is not None and marked > own * ROUNDED:
        yield RemakeWarning(
            "pressure",
            Sentence.of(
                "samples.marked_stronger", marked=Figure.pressure(marked), hose=hose.name, own=Figure.pressure(own)
            ),
            hose.sources["max_working_pressure"],
            stops=True,
        )
    if sample.working_pressure is None:
        yield RemakeWarning("pressure", Sentence.of("samples.no_pressure"))
    if assembly is not None:
        yield from _rated(sample.working_pressure, assembly)


def _rated(pressure: float | None, assembly: Assembly) -> Iterator[RemakeWarning]:
    """Parts of which nobody knows what they bear, whatever the line asks, and those that are too weak for it."""
    for part in rating(assembly).parts:
        bears = part.max_working_pressure
        if bears is None:
            said = Sentence.of("findings.unrated", parts=(part.told,))
            yield RemakeWarning("pressure", said, stops=True)
        elif not part.is_firm:
            said = Sentence.of("findings.doubtful_rating", parts=(part.told,))
            yield RemakeWarning("pressure", said, part.source, stops=True)
        elif pressure is not None and bears < pressure:
            figures = {"pressure": Figure.pressure(pressure), "bears": Figure.pressure(bears)}
            said = Sentence.of("samples.too_weak", part=part.told, **figures)
            yield RemakeWarning("pressure", said, part.source, stops=True)


def _fluid(sample: Sample, catalog: Catalog, hose: Hose | None) -> Iterator[RemakeWarning]:
    if sample.fluid is None:
        yield RemakeWarning("fluid", Sentence.of("samples.no_fluid"))
        return
    try:
        data = catalog.fluid(sample.fluid)
    except ArgumentError as error:
        yield RemakeWarning("fluid", said_by(error))
        return
    if hose is None:
        return
    fit = fluid_fit(hose, FluidClass(data.fluid_class))
    if fit.excluded_by is not None and not fit.named:
        said = Sentence.of("samples.fluid_excluded", hose=hose.name, fluid=data.name)
        yield RemakeWarning("fluid", said, fit.excluded_by)
    elif fit.named is False:
        said = Sentence.of("samples.fluid_not_named", hose=hose.name, fluid=data.name)
        yield RemakeWarning("fluid", said, hose.sources.get("fluids"))
    if fit.liner.suitability is Suitability.UNSUITABLE:
        said = Sentence.of("samples.liner_unsuitable", liner=fit.liner.material or "", fluid=data.name)
        yield RemakeWarning("fluid", said, fit.liner.source)
