"""DIN 20066, hose assemblies: dimensions, requirements. Edition not established; figures as reprinted in manuals."""

from __future__ import annotations

from dataclasses import dataclass

from hosewright.sources import Confidence, Source
from hosewright.standards.values import Tolerance, Value, rows, tolerance_of

STORAGE = Source("DIN 20066", "storage and use", Confidence.STANDARD)


@dataclass(frozen=True)
class Defect:
    """A finding of an inspection and what follows from it."""

    code: str
    finding: str
    action: str
    source: Source


def length_tolerance(overall_length: float, inside_diameter: float) -> Tolerance:
    """Tolerance of the overall length of an assembly. [m]

    Parameters
    ----------
    overall_length
        As ordered. [m]
    inside_diameter
        Nominal bore, which stands for the DN. [m]

    Raises
    ------
    ArgumentError
        No such length, or a bore above DN 100.
    """
    return tolerance_of("din_20066_length.csv", overall_length, inside_diameter)


def straight_length(outside_diameter: float) -> Value:
    """Straight hose that an installation keeps between ferrule and bend. [m]"""
    return Value(1.5 * outside_diameter, Source("DIN 20066", "figure of installation", Confidence.MEMORY))


def hose_age_at_assembly() -> Value:
    """Greatest age of the hose when an assembly is made from it. [years]"""
    return Value(4.0, STORAGE)


def storage_time() -> Value:
    """Longest storage of an assembly, which counts as part of its life. [years]"""
    return Value(2.0, STORAGE)


def service_time() -> Value:
    """Guide value for the whole life of an assembly from its making, storage included. [years]"""
    return Value(6.0, STORAGE)


def defects() -> tuple[Defect, ...]:
    """What makes an assembly unfit, as an inspection looks for it."""
    return tuple(
        Defect(row.text("code"), row.text("finding"), row.text("action"), row.source("finding"))
        for row in rows("inspection.csv")
    )
