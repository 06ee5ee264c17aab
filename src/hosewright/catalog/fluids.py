"""Hydraulic fluids by class and viscosity grade."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache

from hosewright import tables
from hosewright.catalog.connections import PACKAGE
from hosewright.errors import ArgumentError
from hosewright.sources import Source
from hosewright.tables import Row
from hosewright.words import Sentence

OWN_COLUMNS = (
    "name",
    "fluid_class",
    "viscosity_40_mm2_s",
    "viscosity_100_mm2_s",
    "density_kg_m3",
    "lowest_temperature_C",
    "highest_temperature_C",
)
COLUMNS = {
    "viscosity_40": "viscosity_40_mm2_s",
    "viscosity_100": "viscosity_100_mm2_s",
    "density_15": "density_kg_m3",
    "lowest_temperature": "lowest_temperature_C",
    "highest_temperature": "highest_temperature_C",
}


@dataclass(frozen=True)
class FluidData:
    """A fluid as tabulated. SI units; ``None`` where the data is missing.

    Attributes
    ----------
    fluid_class
        Of ISO 6743-4.
    viscosity_40, viscosity_100
        Kinematic, at 40 and 100 degrees. [m^2/s]
    density_15
        At 15 degrees. [kg/m^3]
    lowest_temperature, highest_temperature
        Usable range of the class, where it is narrower than that of hoses. [K]
    sources
        Source of each figure by attribute name.
    """

    name: str
    fluid_class: str
    viscosity_40: float | None
    viscosity_100: float | None
    density_15: float | None
    lowest_temperature: float | None = None
    highest_temperature: float | None = None
    sources: Mapping[str, Source] = field(default_factory=dict)


@cache
def classes() -> Mapping[str, Row]:
    """Rows of the fluid classes by name."""
    return {row.text("fluid_class"): row for row in tables.packaged(PACKAGE, "fluid_classes.csv")}


@cache
def grades() -> Mapping[int, Row]:
    """Rows of the viscosity grades."""
    return {int(row.text("grade")): row for row in tables.packaged(PACKAGE, "viscosity_grades.csv")}


def fluid(name: str) -> FluidData:
    """Fluid of a class and grade, such as ``"HM 46"`` or ``"HLP46"``.

    Raises
    ------
    ArgumentError
        No such class or grade.
    """
    match = re.fullmatch(r"\s*([A-Za-z]+)[\s-]*(?:VG\s*)?(\d+)\s*", name)
    if match is None:
        raise ArgumentError(Sentence.of("samples.no_grade", name=name))
    row, grade = class_row(match[1]), int(match[2])
    if grade not in grades():
        known = ", ".join(map(str, grades()))
        raise ArgumentError(Sentence.of("samples.unknown_grade", name=name, grade=grade, known=known))
    return _composed(row, grades()[grade], grade)


def class_row(name: str) -> Row:
    """Row of a class by its name or alias."""
    wanted = name.upper()
    for fluid_class, row in classes().items():
        if wanted in (fluid_class, *row.words("aliases")):
            return row
    raise ArgumentError(Sentence.of("samples.unknown_fluid_class", name=name, known=", ".join(classes())))


def _composed(row: Row, grade_row: Row, grade: int) -> FluidData:
    figures: dict[str, float | None] = {}
    sources: dict[str, Source] = {}
    hot = row.cells["viscosity_100"]
    columns = {**COLUMNS, "viscosity_100": hot}
    for attribute, column in columns.items():
        table = grade_row if attribute.startswith("viscosity") else row
        figures[attribute] = table.number(column)
        if table.has(column):
            sources[attribute] = table.source(column)
    name = row.text("fluid_class")
    return FluidData(f"{name} {grade}", name, **figures, sources=sources)


def own_fluid(row: Row) -> FluidData:
    """Fluid of a row of own data."""
    return FluidData(
        row.text("name"),
        class_row(row.text("fluid_class")).text("fluid_class"),
        **{attribute: row.number(column) for attribute, column in COLUMNS.items()},
        sources={attribute: row.source(column) for attribute, column in COLUMNS.items() if row.has(column)},
    )
