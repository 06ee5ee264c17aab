"""Samples to re-make: hoses as they lie on the counter, without a machine."""

from __future__ import annotations

from hosewright.jobfile.models import SampleEndTable, SampleTable, ThreadTable
from hosewright.service import Flange, Sample, SampleEnd, Thread
from hosewright.service.sample import Reach


def sample(table: SampleTable) -> Sample:
    """Sample of a table."""
    return Sample(
        name=table.name,
        number=table.number,
        hose=table.hose,
        overall_length=table.length,
        measured=table.measured,
        ends=tuple(_end(end) for end in table.ends),
        orientation_angle=table.orientation,
        convention=table.convention,
        markings=table.markings,
        made=table.made,
        fitted=table.fitted,
        raised_duty=table.raised_duty,
        used=table.used,
        working_pressure=table.pressure,
        fluid=table.fluid,
        failed=table.failed,
    )


def _end(table: SampleEndTable) -> SampleEnd:
    reach = None if table.reach is None else Reach(table.reach)
    return SampleEnd(table.form, table.connection, _reading(table), table.clock, reach, table.beyond, table.drop)


def _reading(table: SampleEndTable) -> Thread | Flange | None:
    if table.flange is not None:
        long, short = (*sorted(table.flange.bolts, reverse=True), None, None)[:2]
        return Flange(table.flange.head, long, short)
    return None if table.thread is None else _thread(table.thread)


def _thread(table: ThreadTable) -> Thread:
    return Thread(table.diameter, table.half, table.pitch, table.tpi, table.seat, table.tapered, table.recess)
