"""Samples to re-make: hoses as they lie on the counter, without a machine."""

from __future__ import annotations

from dataclasses import dataclass

from hosewright.jobfile.models import SampleTable


@dataclass(frozen=True)
class SampleEnd:
    """An end of a sample; ``None`` where nothing is known. [rad]"""

    form: str | None
    connection: str | None
    clock: float


@dataclass(frozen=True)
class Sample:
    """A hose to re-make; ``None`` where nothing is known.

    Attributes
    ----------
    overall_length
        As measured. [m]
    measured
        How it was measured.
    orientation_angle, convention
        As measured, and how. [rad]
    failed
        Why it failed.
    """

    name: str
    hose: str | None
    overall_length: float | None
    measured: str | None
    ends: tuple[SampleEnd, ...]
    orientation_angle: float | None
    convention: str | None
    markings: str | None
    failed: str | None


def sample(table: SampleTable) -> Sample:
    """Sample of a table."""
    return Sample(
        table.name,
        table.hose,
        table.length,
        table.measured,
        tuple(SampleEnd(end.form, end.connection, end.clock) for end in table.ends),
        table.orientation,
        table.convention,
        table.markings,
        table.failed,
    )
