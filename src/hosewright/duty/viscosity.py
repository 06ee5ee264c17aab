"""Viscosity and density of a fluid at temperature.

References
----------
ASTM D341-20, Viscosity-temperature equations and charts for liquid petroleum or hydrocarbon products
ISO 3448:1992, Industrial liquid lubricants, ISO viscosity classification
ASTM D1250, Petroleum measurement tables, lubricating oils
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from hosewright.errors import ArgumentError
from hosewright.sources import Confidence, Source
from hosewright.words import Figure, Sentence

ASTM_D341 = Source("ASTM D341", "equations 1 to 3")
ISO_3448 = Source("ISO 3448", "table 1")
ASTM_D1250 = Source("ASTM D1250", "volume correction for lubricating oils", Confidence.MEMORY)

CELSIUS = 273.15
"""Zero of the Celsius scale. [K]"""

MM2_PER_S = 1e-6
"""One centistoke. [m2/s]"""

GRADES = (10, 15, 22, 32, 46, 68, 100, 150)
"""ISO 3448 grades in hydraulic use: midpoint viscosity at 40 degrees. [mm2/s]"""

_LOWEST_TEMPERATURE = CELSIUS - 100.0
_HIGHEST_TEMPERATURE = CELSIUS + 250.0
_LOWEST_VISCOSITY = 0.21 * MM2_PER_S  # end of the range of equation 3
_HIGHEST_VISCOSITY = 2e7 * MM2_PER_S  # end of the range of equation 1


@dataclass(frozen=True)
class ViscosityCurve:
    """A fluid's line on the D341 chart: ``log10 log10 Z = a - b log10 T``."""

    a: float
    b: float

    @classmethod
    def through(cls, cold: tuple[float, float], warm: tuple[float, float]) -> ViscosityCurve:
        """The line through two measured points.

        Parameters
        ----------
        cold, warm
            Temperature [K] and kinematic viscosity [m2/s], thinner at the higher temperature.

        Raises
        ------
        ArgumentError
            A point is off the chart, or the points do not fall with temperature.
        """
        for temperature, viscosity in (cold, warm):
            _check_temperature(temperature)
            _check_viscosity(viscosity)
        if not (cold[0] < warm[0] and cold[1] > warm[1]):
            raise ArgumentError(
                f"viscosity must fall from the colder to the warmer point: got {_point(*cold)} and {_point(*warm)}"
            )
        b = (_double_log(cold[1]) - _double_log(warm[1])) / (math.log10(warm[0]) - math.log10(cold[0]))
        return cls(_double_log(cold[1]) + b * math.log10(cold[0]), b)

    @classmethod
    def of_grade(cls, grade: int, viscosity_100: float) -> ViscosityCurve:
        """The line of an ISO 3448 grade's midpoint with a viscosity at 100 degrees [m2/s]."""
        return cls.through((CELSIUS + 40.0, grade_viscosity(grade)[1]), (CELSIUS + 100.0, viscosity_100))

    def viscosity(self, temperature: float) -> float:
        """Kinematic viscosity at a temperature [K]. [m2/s]

        Raises
        ------
        ArgumentError
            The temperature is not one of a working fluid, or the fluid is off the chart there.
        """
        _check_temperature(temperature)
        exponent = self.a - self.b * math.log10(temperature)
        if exponent > math.log10(math.log10(_HIGHEST_VISCOSITY / MM2_PER_S)):
            raise ArgumentError(Sentence.of("findings.too_thick", temperature=Figure(temperature, "temperature", 0)))
        x = 10.0**10.0**exponent - 0.7
        # equation 3; the correction fades above 2 mm2/s
        viscosity = x - math.exp(-0.7487 - 3.295 * x + 0.6119 * x**2 - 0.3193 * x**3)
        return _checked_thin(viscosity * MM2_PER_S, temperature)


def _double_log(viscosity: float) -> float:
    nu = viscosity / MM2_PER_S
    return math.log10(math.log10(nu + 0.7 + math.exp(-1.47 - 1.84 * nu - 0.51 * nu**2)))  # equation 2


def _check_temperature(temperature: float) -> None:
    if not _LOWEST_TEMPERATURE <= temperature <= _HIGHEST_TEMPERATURE:
        raise ArgumentError(
            Sentence.of(
                "findings.no_fluid_temperature",
                temperature=Figure(temperature, "temperature", 0),
                low=Figure(_LOWEST_TEMPERATURE, "temperature", 0),
                high=Figure(_HIGHEST_TEMPERATURE, "temperature", 0),
            )
        )


def _check_viscosity(viscosity: float) -> None:
    if not _LOWEST_VISCOSITY <= viscosity <= _HIGHEST_VISCOSITY:
        raise ArgumentError(
            f"viscosity {viscosity / MM2_PER_S:.4g} mm2/s is off the ASTM D341 chart: expected 0.21 to 2e7 mm2/s"
        )


def _checked_thin(viscosity: float, temperature: float) -> float:
    if viscosity < _LOWEST_VISCOSITY:
        raise ArgumentError(Sentence.of("findings.too_thin", temperature=Figure(temperature, "temperature", 0)))
    return viscosity


def _point(temperature: float, viscosity: float) -> str:
    return f"{viscosity / MM2_PER_S:.4g} mm2/s at {temperature - CELSIUS:.0f} °C"


def grade_viscosity(grade: int) -> tuple[float, float, float]:
    """Least, midpoint and greatest viscosity at 40 degrees of an ISO 3448 grade. [m2/s]

    Raises
    ------
    ArgumentError
        No such grade.
    """
    if grade not in GRADES:
        raise ArgumentError(f"ISO VG {grade} is not a hydraulic grade: expected one of {', '.join(map(str, GRADES))}")
    midpoint = grade * MM2_PER_S
    return 0.9 * midpoint, midpoint, 1.1 * midpoint


def density_at(density_15: float, temperature: float) -> float:
    """Density of an oil at a temperature [K] from its density at 15 degrees [kg/m3], at no pressure. [kg/m3]

    The expansion is that of petroleum lubricating oils, some 0.63 kg/m3 a degree. Water-based fluids expand less; the
    error stays under 2 % between 0 and 60 degrees. Compression (0.7 % for 100 bar) is left out.
    """
    expansion = 0.6278 / density_15
    warmer = temperature - (CELSIUS + 15.0)
    return density_15 * math.exp(-expansion * warmer * (1.0 + 0.8 * expansion * warmer))
