"""Whether a hose suits a fluid, its temperatures and a vacuum.

References
----------
EN 853, EN 854, EN 856, EN 857: scope (fluids and temperatures)
ISO 6743-4: fluid classes
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from hosewright.assembly import Hose
from hosewright.duty.conditions import Duty, Fluid, FluidClass, Line
from hosewright.duty.facts import Fact
from hosewright.sources import Confidence, Source

POLYMER_TABLE = Source("general polymer resistance tables", "fluid against elastomer", Confidence.PRACTICE)
POLYMER_MEMORY = Source("general polymer resistance", "fluid against elastomer", Confidence.MEMORY)

SUCTION_VACUUM = -0.5e5
"""Gauge pressure that a suction hose must bear at least: common practice, no source. [Pa]"""


class Suitability(StrEnum):
    """How a material bears a fluid."""

    GOOD = "good"
    LIMITED = "limited"
    UNSUITABLE = "unsuitable"


@dataclass(frozen=True)
class MaterialRating:
    """How a material bears a fluid; ``suitability`` is ``None`` where it is not known."""

    material: str | None
    suitability: Suitability | None
    source: Source | None


_MATERIALS = ("NBR", "HNBR", "CR", "EPDM", "FKM", "PTFE", "PU")
_ROWS = {
    # letters in the order of _MATERIALS; an upper-case letter stands in published tables, a lower-case one is memory;
    # where a table gives a span the worse end is taken
    "HH HL HM HV": "GGlNGGG",
    "HFAE HFAS": "gglllgn",
    "HFB": "gglnggn",
    "HFC": "GGlGLGN",
    "HFDR": "NNnGLGN",
    "HFDU": "llnnggl",
    "HETG": "lglnggl",
    "HEES": "lgnnggl",
    "HEPG": "lllglgn",
}
_SUITABILITIES = {"G": Suitability.GOOD, "L": Suitability.LIMITED, "N": Suitability.UNSUITABLE}
_LETTERS = {
    (FluidClass(fluid_class), material): letter
    for classes, letters in _ROWS.items()
    for fluid_class in classes.split()
    for material, letter in zip(_MATERIALS, letters, strict=True)
}


def material_rating(material: str | None, fluid_class: FluidClass) -> MaterialRating:
    """How an elastomer, by its code such as ``"NBR"``, bears a fluid: guidance, the compound and the heat decide."""
    letter = _LETTERS.get((fluid_class, (material or "").strip().upper()))
    if letter is None:
        return MaterialRating(material, None, None)
    source = POLYMER_TABLE if letter.isupper() else POLYMER_MEMORY
    return MaterialRating(material, _SUITABILITIES[letter.upper()], source)


_EN_SCOPES = {
    "EN 853": ("1SN", "2SN", "1ST", "2ST"),
    "EN 854": ("1TE", "2TE", "3TE", "R3", "R6"),
    "EN 856": ("4SP", "4SH", "R12", "R13"),
    "EN 857": ("1SC", "2SC"),
}
_OUTSIDE_EN_SCOPE = {FluidClass.HFDR, FluidClass.HFDU, FluidClass.HETG, FluidClass.HEES}


@dataclass(frozen=True)
class FluidFit:
    """What is known about a hose and a fluid.

    Attributes
    ----------
    named
        Whether the hose's data names the fluid's class; ``None`` where it names no class at all.
    excluded_by
        The standard of the construction, where its scope leaves the fluid out: then only a data sheet that names the
        fluid helps.
    liner
        How the liner bears the fluid inside.
    cover
        How the cover bears the fluid when it is splashed.
    """

    named: bool | None
    excluded_by: Source | None
    liner: MaterialRating
    cover: MaterialRating


def fluid_fit(hose: Hose, fluid_class: FluidClass) -> FluidFit:
    """What data sheet, standard and polymer tables say about a hose and a fluid class."""
    named = fluid_class in {name.strip().upper() for name in hose.fluids} if hose.fluids else None
    return FluidFit(
        named,
        scope_exclusion(hose.construction, fluid_class),
        material_rating(hose.liner, fluid_class),
        material_rating(hose.cover, fluid_class),
    )


def scope_exclusion(construction: str, fluid_class: FluidClass) -> Source | None:
    """The standard that leaves a fluid out for a construction such as ``"2SN"``; ``None`` where none does.

    The EN standards name neither HFD-R nor ester and castor-oil based fluids.
    """
    if fluid_class not in _OUTSIDE_EN_SCOPE:
        return None
    code = construction.strip().upper().removeprefix("EN ").split(" ")[-1]
    return next((Source(standard, "scope") for standard, codes in _EN_SCOPES.items() if code in codes), None)


def temperature_facts(hose: Hose, duty: Duty) -> tuple[Fact, Fact]:
    """The coldest start and the hottest fluid against the hose's limits, those for water where it applies. [K]"""
    hottest = "highest_temperature_water" if duty.fluid.fluid_class.water_based else "highest_temperature"
    return (
        _temperature_fact("coldest start", hose, duty.temperature_min, "lowest_temperature", at_least=True),
        _temperature_fact("hottest fluid", hose, duty.temperature_max, hottest, at_least=False),
    )


def fluid_temperature_facts(duty: Duty) -> tuple[Fact, ...]:
    """The duty's temperatures against the limits of the fluid itself, such as those of a water glycol. [K]

    Empty where the fluid has no limits of its own.
    """
    facts = (
        _temperature_fact(
            "coldest start, fluid", duty.fluid, duty.temperature_min, "lowest_temperature", at_least=True
        ),
        _temperature_fact("hottest fluid", duty.fluid, duty.temperature_max, "highest_temperature", at_least=False),
    )
    return tuple(fact for fact in facts if fact.limit is not None)


def _temperature_fact(name: str, of: Hose | Fluid, measure: float, attribute: str, *, at_least: bool) -> Fact:
    limit: float | None = getattr(of, attribute)
    source = of.sources.get(attribute) if limit is not None else None
    return Fact(name, "hose" if isinstance(of, Hose) else "line", measure, limit, at_least, source)


def vacuum_fact(hose: Hose, duty: Duty) -> Fact | None:
    """The vacuum a line may see against the lowest pressure of the hose; ``None`` for a line that sees none. [Pa]

    A suction line sees its working pressure, and at least -0.5 bar is asked. A hose without a figure is not rated for
    suction: the limit is ``None``.
    """
    measure = min(duty.working_pressure, SUCTION_VACUUM) if duty.line is Line.SUCTION else duty.working_pressure
    if measure >= 0.0:
        return None
    limit = hose.lowest_pressure
    source = hose.sources.get("lowest_pressure") if limit is not None else None
    return Fact("vacuum", "hose", measure, limit, True, source)
