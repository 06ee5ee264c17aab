"""What a line has to do: its fluid, its pressures, its flow and its temperatures. SI units, pressures gauge."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import NoReturn

from hosewright.duty.viscosity import CELSIUS, ViscosityCurve, density_at
from hosewright.errors import ArgumentError, nearest
from hosewright.sources import Source


class _Word(StrEnum):
    @classmethod
    def _missing_(cls, value: object) -> NoReturn:
        raise ArgumentError(f"'{value}' is no {cls.__doc__}.{nearest(str(value), cls)}")


class Line(_Word):
    """kind of line"""

    PRESSURE = "pressure"
    RETURN = "return"
    SUCTION = "suction"
    DRAIN = "drain"
    PILOT = "pilot"


class Side(_Word):
    """side of a cylinder"""

    ROD = "rod"
    PISTON = "piston"


class FluidClass(_Word):
    """hydraulic fluid class of ISO 6743-4"""

    HH = "HH"
    HL = "HL"
    HM = "HM"
    HV = "HV"
    HFAE = "HFAE"
    HFAS = "HFAS"
    HFB = "HFB"
    HFC = "HFC"
    HFDR = "HFDR"
    HFDU = "HFDU"
    HETG = "HETG"
    HEPG = "HEPG"
    HEES = "HEES"
    HEPR = "HEPR"

    @property
    def water_based(self) -> bool:
        """Emulsions, solutions and water glycols."""
        return self in {FluidClass.HFAE, FluidClass.HFAS, FluidClass.HFB, FluidClass.HFC}


@dataclass(frozen=True)
class FluidState:
    """A fluid at one temperature.

    Attributes
    ----------
    temperature
        [K]
    viscosity
        Kinematic. [m2/s]
    density
        [kg/m3]
    """

    temperature: float
    viscosity: float
    density: float


@dataclass(frozen=True)
class Fluid:
    """A hydraulic fluid; ``None`` where the data is missing.

    Attributes
    ----------
    viscosity_40, viscosity_100
        Kinematic, at 40 and 100 degrees. [m2/s]
    density_15
        At 15 degrees. [kg/m3]
    lowest_temperature, highest_temperature
        Usable range of the fluid itself, where it is narrower than that of hoses. [K]
    sources
        Source of each figure by attribute name.
    """

    name: str
    fluid_class: FluidClass
    viscosity_40: float | None
    viscosity_100: float | None
    density_15: float | None
    lowest_temperature: float | None = None
    highest_temperature: float | None = None
    sources: Mapping[str, Source] = field(default_factory=dict)

    def __post_init__(self) -> None:
        object.__setattr__(self, "fluid_class", FluidClass(self.fluid_class))

    def viscosity(self, temperature: float) -> float | None:
        """Kinematic viscosity at a temperature [K]; ``None`` where a point of the curve is missing. [m2/s]"""
        if self.viscosity_40 is None or self.viscosity_100 is None:
            return None
        curve = ViscosityCurve.through((CELSIUS + 40.0, self.viscosity_40), (CELSIUS + 100.0, self.viscosity_100))
        return curve.viscosity(temperature)

    def density(self, temperature: float) -> float | None:
        """Density at a temperature [K]; ``None`` where it is missing. [kg/m3]"""
        return None if self.density_15 is None else density_at(self.density_15, temperature)

    def at(self, temperature: float) -> FluidState | None:
        """Viscosity and density at a temperature [K]; ``None`` where either is missing."""
        viscosity, density = self.viscosity(temperature), self.density(temperature)
        return None if viscosity is None or density is None else FluidState(temperature, viscosity, density)


@dataclass(frozen=True)
class CylinderSide:
    """The side of a cylinder that a line serves.

    Attributes
    ----------
    bore, rod_diameter
        [m]
    """

    bore: float
    rod_diameter: float
    side: Side

    def __post_init__(self) -> None:
        if not 0.0 < self.rod_diameter < self.bore < math.inf:
            raise ArgumentError(
                f"the rod must be thinner than the bore: got rod {self.rod_diameter * 1e3:.4g} mm "
                f"in bore {self.bore * 1e3:.4g} mm"
            )
        object.__setattr__(self, "side", Side(self.side))

    @property
    def piston_area(self) -> float:
        """[m2]"""
        return math.pi / 4.0 * self.bore**2

    @property
    def annulus_area(self) -> float:
        """Area round the rod. [m2]"""
        return self.piston_area - math.pi / 4.0 * self.rod_diameter**2

    @property
    def area_ratio(self) -> float:
        """Piston area to annulus area, above 1."""
        return self.piston_area / self.annulus_area


@dataclass(frozen=True)
class Duty:
    """What one line has to do.

    Attributes
    ----------
    working_pressure
        Highest steady pressure of the supply, gauge; below zero in a suction line. [Pa]
    peak_pressure
        Highest peak of the supply, gauge, before a cylinder intensifies it. [Pa]
    flow
        That the supply delivers. [m3/s]
    temperature_min, temperature_working, temperature_max
        Of the fluid: coldest start, usual, hottest. [K]
    cylinder
        The cylinder side that the line serves, where it serves one.
    """

    line: Line
    working_pressure: float
    peak_pressure: float
    flow: float
    fluid: Fluid
    temperature_min: float
    temperature_working: float
    temperature_max: float
    cylinder: CylinderSide | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "line", Line(self.line))
        if not -1.02e5 <= self.working_pressure <= self.peak_pressure < math.inf:
            raise ArgumentError(
                "the peak pressure must not be below the working pressure, nor either below -1 bar: "
                f"got working {self.working_pressure / 1e5:.4g} bar, peak {self.peak_pressure / 1e5:.4g} bar"
            )
        if not 0.0 <= self.flow < math.inf:
            raise ArgumentError(f"the flow must not be negative: got {self.flow * 6e4:.4g} L/min")
        if not 0.0 < self.temperature_min <= self.temperature_working <= self.temperature_max < math.inf:
            cold, usual, hot = (
                f"{kelvin - CELSIUS:.0f}"
                for kelvin in (self.temperature_min, self.temperature_working, self.temperature_max)
            )
            raise ArgumentError(f"temperatures must rise from min over working to max: got {cold}, {usual}, {hot} °C")
