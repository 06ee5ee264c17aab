"""Hoses: the figures of their standards by construction and size, and estimates where no standard has one."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from itertools import chain
from typing import Any

from hosewright import tables
from hosewright.assembly import Hose
from hosewright.catalog.connections import PACKAGE
from hosewright.errors import DataError, nearest
from hosewright.sources import Confidence, Source
from hosewright.tables import Row

TORSION_OVER_BENDING = 10.0
"""Torsional over bending stiffness where it was not measured: ours, verify plans at 3 and 30."""

BY_TUBE = ("R5", "R14")  # dash sizes of the tube that they replace

COLUMNS = {
    "inside_diameter": "inside_diameter_mm",
    "outside_diameter": "outside_diameter_mm",
    "minimum_bend_radius": "minimum_bend_radius_mm",
    "max_working_pressure": "max_working_pressure_bar",
    "lowest_temperature": "lowest_temperature_C",
    "highest_temperature": "highest_temperature_C",
    "highest_temperature_water": "highest_temperature_water_C",
    "longer": "longer_pct",
    "shorter": "shorter_pct",
    "mass_per_length": "mass_kg_m",
    "bending_stiffness": "bending_stiffness_Nm2",
    "lowest_pressure": "lowest_pressure_bar",
}
PRICE = "price_per_m"
OWN_COLUMNS = ("name", "construction", "dash_size", "like", *COLUMNS.values(), "liner", "cover", "fluids", PRICE)

HOSE_TABLES = (
    "hoses_en_853.csv",
    "hoses_en_857.csv",
    "hoses_en_856.csv",
    "hoses_en_856_r12_r13.csv",
    "hoses_sae_j517.csv",
    "hoses_en_854.csv",
    "hoses_en_855.csv",
)
CONSTRUCTION_TABLES = ("temperatures.csv", "length_changes.csv", "suction.csv")
POSITIVE = (
    "inside_diameter",
    "outside_diameter",
    "minimum_bend_radius",
    "max_working_pressure",
    "mass_per_length",
    "bending_stiffness",
)


@dataclass(frozen=True)
class Construction:
    """A type of hose.

    Attributes
    ----------
    aliases
        Other names of the same type.
    wall_density, effective_modulus
        Estimates for the hose wall, to reckon mass and bending stiffness from. [kg/m^3], [Pa]
    """

    name: str
    standard: str
    reinforcement: str
    aliases: tuple[str, ...]
    liner: str | None
    cover: str | None
    fluids: tuple[str, ...]
    wall_density: float
    effective_modulus: float
    sources: Mapping[str, Source]


@dataclass(frozen=True)
class ImpulsePoint:
    """What a type has to stand in its impulse test.

    Attributes
    ----------
    pressure_ratio
        Test peak over the working pressure.
    temperature
        Of the test. [K]
    """

    pressure_ratio: float
    cycles: float
    temperature: float
    source: Source


@cache
def constructions() -> Mapping[str, Construction]:
    """All types by name."""
    return {row.text("construction"): _construction(row) for row in tables.packaged(PACKAGE, "constructions.csv")}


def _construction(row: Row) -> Construction:
    return Construction(
        row.text("construction"),
        row.text("standard"),
        row.text("reinforcement"),
        row.words("aliases"),
        row.cells["liner"] or None,
        row.cells["cover"] or None,
        row.words("fluids"),
        row.required("wall_density_kg_m3"),
        row.required("effective_modulus_MPa"),
        {name: row.source(name) for name in ("liner", "cover", "fluids") if row.has(name)},
    )


@cache
def packaged_hoses() -> Mapping[str, Hose]:
    """The hoses of the standards by name, without own data."""
    rows = chain.from_iterable(tables.packaged(PACKAGE, name) for name in HOSE_TABLES)
    hoses = (_packaged_hose(row) for row in rows)
    return {hose.name: hose for hose in hoses}


def _packaged_hose(row: Row) -> Hose:
    construction, dash_size = constructions()[row.text("construction")], row.dash_size()
    key = construction.name, dash_size
    bores = _by_dash("bores_by_tube.csv" if construction.name in BY_TUBE else "bores.csv")
    rows = [*_by_construction().get(construction.name, ()), bores[dash_size], *_masses().get(key, ()), row]
    blank = _blank(construction.name, dash_size, construction)
    return estimated(_with_rows(blank, rows))


def _blank(construction: str, dash_size: int, known: Construction | None) -> Hose:
    return Hose(
        name=f"{construction} -{dash_size}",
        construction=construction,
        dash_size=dash_size,
        inside_diameter=math.nan,  # every table of hoses gives it, and so must a row of own data
        outside_diameter=None,
        minimum_bend_radius=None,
        max_working_pressure=None,
        lowest_temperature=None,
        highest_temperature=None,
        highest_temperature_water=None,
        longer=None,
        shorter=None,
        mass_per_length=None,
        bending_stiffness=None,
        liner=known.liner if known else None,
        cover=known.cover if known else None,
        fluids=known.fluids if known else (),
        sources=dict(known.sources) if known else {},
    )


@cache
def _by_construction() -> Mapping[str, tuple[Row, ...]]:
    found: dict[str, tuple[Row, ...]] = {}
    for row in chain.from_iterable(tables.packaged(PACKAGE, name) for name in CONSTRUCTION_TABLES):
        construction = row.text("construction")
        found[construction] = (*found.get(construction, ()), row)
    return found


@cache
def _by_dash(name: str) -> Mapping[int, Row]:
    return {row.dash_size(): row for row in tables.packaged(PACKAGE, name)}


@cache
def _masses() -> Mapping[tuple[str, int], tuple[Row, ...]]:
    rows = tables.packaged(PACKAGE, "masses.csv")
    return {(row.text("construction"), row.dash_size()): (row,) for row in rows}


def _with_rows(hose: Hose, rows: Iterable[Row]) -> Hose:
    """The hose with the figures that the rows have; a later row wins."""
    figures: dict[str, Any] = {}
    sources = dict(hose.sources)
    for row in rows:
        for attribute, column in COLUMNS.items():
            if row.has(column):
                figures[attribute] = row.number(column)
                sources[attribute] = row.source(column)
        for attribute, value in _words(row):
            figures[attribute] = value
            sources[attribute] = row.source(attribute)
    return replace(hose, **figures, sources=sources)


def _words(row: Row) -> Iterator[tuple[str, str | tuple[str, ...]]]:
    for column in ("liner", "cover"):
        if row.has(column):
            yield column, row.text(column)
    if row.has("fluids"):
        yield "fluids", row.words("fluids")


def estimated(hose: Hose) -> Hose:
    """The hose with estimates of mass and bending stiffness in place of missing ones, each with its source.

    Notes
    -----
    No standard gives a bending stiffness. The estimate takes the wall as a tube of an effective modulus,
    ``E pi/64 (OD^4 - ID^4)``; without an outside diameter it falls back to ``3e7 N/m^2 ID^4``, a rule for large
    marine hose whose scatter is 45 to 300 %. The same hose may differ from either by a factor of 0.2 to 3.
    """
    construction = constructions().get(hose.construction)
    figures: dict[str, float] = {}
    sources = dict(hose.sources)
    if hose.bending_stiffness is None:
        figures["bending_stiffness"], sources["bending_stiffness"] = _stiffness(hose, construction)
    if hose.mass_per_length is None and construction and hose.outside_diameter is not None:
        wall = math.pi / 4.0 * (hose.outside_diameter**2 - hose.inside_diameter**2)
        figures["mass_per_length"] = construction.wall_density * wall
        sources["mass_per_length"] = WALL_MASS
    return replace(hose, **figures, sources=sources) if figures else hose  # type: ignore[arg-type]


WALL_MASS = Source("estimate", "wall area and usual density of the type", Confidence.OURS)
WALL_STIFFNESS = Source("estimate", "tube of an effective modulus; verify at 0.2 and 3 times", Confidence.OURS)
BORE_STIFFNESS = Source("estimate", "rule for marine hose, 3e7 N/m2 ID^4; verify at 0.2 and 3 times", Confidence.OURS)


def _stiffness(hose: Hose, construction: Construction | None) -> tuple[float, Source]:
    if construction is None or hose.outside_diameter is None:
        return 3e7 * hose.inside_diameter**4, BORE_STIFFNESS
    second_moment = math.pi / 64.0 * (hose.outside_diameter**4 - hose.inside_diameter**4)
    return construction.effective_modulus * second_moment, WALL_STIFFNESS


def own_hose(row: Row, known: Mapping[str, Hose]) -> Hose:
    """Hose of a row of own data: its filled cells over the hose that it is ``like`` or that has its name.

    Raises
    ------
    DataError
        The row names no hose, or its figures contradict each other.
    """
    name = _own_name(row)
    same = find(name, known)
    base = _like(row, known) if row.has("like") else same
    if base is None:
        base = _new(row, name)
    dash_size = row.dash_size() if row.has("dash_size") else base.dash_size
    kept = same.price if same else None  # what a hose that it is like costs says nothing
    price = row.price(PRICE) if row.has(PRICE) else kept
    renamed = replace(_without_estimates(base, row), name=same.name if same else name, dash_size=dash_size, price=price)
    return estimated(_checked(_with_rows(renamed, [row]), row))


def _like(row: Row, known: Mapping[str, Hose]) -> Hose:
    hose = find(row.text("like"), known)
    if hose is None:
        raise DataError(f"{row.place}: column 'like': no hose '{row.text('like')}'.{nearest(row.text('like'), known)}")
    return hose


def _new(row: Row, name: str) -> Hose:
    construction = row.cells.get("construction") or name
    row.required("inside_diameter_mm")
    return _blank(construction, row.dash_size(), constructions().get(construction))


def _own_name(row: Row) -> str:
    return row.cells.get("name") or f"{row.text('construction')} -{row.dash_size()}"


def _without_estimates(hose: Hose, row: Row) -> Hose:
    """Estimates are made anew where the diameters that they rest on change."""
    if not (row.has("outside_diameter_mm") or row.has("inside_diameter_mm")):
        return hose
    names = ("bending_stiffness", "mass_per_length")
    ours = {name for name in names if hose.sources.get(name, WALL_MASS).confidence is Confidence.OURS}
    sources = {name: source for name, source in hose.sources.items() if name not in ours}
    return replace(hose, **dict.fromkeys(ours), sources=sources)  # type: ignore[arg-type]


def _checked(hose: Hose, row: Row) -> Hose:
    for column in (COLUMNS[attribute] for attribute in POSITIVE):
        if row.has(column) and row.required(column) <= 0.0:
            raise DataError(f"{row.place}: column '{column}' holds '{row.cells[column]}', expected more than 0")
    if hose.outside_diameter is not None and hose.outside_diameter <= hose.inside_diameter:
        raise DataError(
            f"{row.place}: outside diameter {hose.outside_diameter * 1e3:.4g} mm is not larger than "
            f"the bore of {hose.inside_diameter * 1e3:.4g} mm"
        )
    return hose


def find(name: str, known: Mapping[str, Hose]) -> Hose | None:
    """Hose by any usual spelling of its name; ``None`` where there is none."""
    if name in known:
        return known[name]
    key = _key(name)
    return next((hose for known_name, hose in known.items() if _key(known_name) == key), None)


def hint(name: str, known: Mapping[str, Hose]) -> str:
    """End of a message about a hose that is not there: the sizes of its type, or near names."""
    construction = _key(name).rpartition(" ")[0]
    series = [hose for hose in known.values() if hose.construction.casefold() == construction]
    if not series:
        return nearest(name, known)
    return f" {series[0].construction} comes in {', '.join(f'-{hose.dash_size}' for hose in series)}."


@lru_cache(4096)
def _key(name: str) -> str:
    """One spelling for ``2SN -8``, ``2sn-08``, ``SAE 100R2AT 1/2 in`` and ``2SN DN 12``."""
    text = " ".join(name.casefold().split())
    text = re.sub(r"^en 855 (?=r)", "en ", text)
    text = re.sub(r"^(sae|en 85[3467]) ", "", text)
    text = re.sub(r"^100 ?(?=r\d)", "", text)
    construction, dash_size = _split_dash(text) or _split_bore(text) or (text, 0)
    return f"{_aliases().get(construction, construction)} -{dash_size}"


def _split_dash(text: str) -> tuple[str, int] | None:
    match = re.fullmatch(r"(.*?)(?: ?- ?| )(\d+)", text)
    if match is None or match[1].endswith("dn"):
        return None
    return match[1], int(match[2])


def _split_bore(text: str) -> tuple[str, int] | None:
    match = re.fullmatch(r"(.*?) (?:dn ?(?P<diameter>\d+)|(?P<inch>[\d/-]+) ?(?:in|inch|\"))", text)
    if match is None:
        return None
    for dash_size, row in _by_dash("bores.csv").items():
        if row.text("nominal_diameter") == match["diameter"] or row.text("inch") == match["inch"]:
            return match[1], dash_size
    return None


@cache
def _aliases() -> Mapping[str, str]:
    return {alias.casefold(): name.casefold() for name, kind in constructions().items() for alias in kind.aliases}


def impulse_point(hose: Hose) -> ImpulsePoint | None:
    """What the standard asks of a hose of this type and size in the impulse test; ``None`` where unknown."""
    for row in tables.packaged(PACKAGE, "impulse_points.csv"):
        least, greatest = row.dash_size("dash_size_least"), row.dash_size("dash_size_greatest")
        if row.text("construction") == hose.construction and least <= hose.dash_size <= greatest:
            return ImpulsePoint(
                row.required("pressure_pct"),
                row.required("cycles"),
                row.required("temperature_C"),
                row.source("pressure_pct"),
            )
    return None
