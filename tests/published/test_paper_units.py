"""US customary readings on paper against published conversion factors, each rounded to its safe side."""

import re

import pytest

from hosewright.words import US, Figures


@pytest.mark.parametrize(
    ("unit", "us", "factor"),
    [
        ("mm", "in", 1.0 / 25.4),
        ("m", "ft", 1.0 / 0.3048),
        ("bar", "psi", 1e5 / 6.894757e3),
        ("Nm", "lb-ft", 1.0 / 1.355818),
        ("L/min", "gpm", 1e-3 / 60.0 / 6.309020e-5),
        ("kg", "lb", 1.0 / 0.4535924),
    ],
)
def test_conversion_factors(unit: str, us: str, factor: float) -> None:
    """NIST SP 811 (2008), appendix B.8, seven figures: inch, foot, psi, lbf ft, US gallon per minute, pound."""
    assert US[unit].unit == us
    assert US[unit].factor == pytest.approx(factor, rel=3e-7)


@pytest.mark.parametrize(("celsius", "fahrenheit"), [(-40.0, "-40"), (0.0, "32"), (100.0, "212")])
def test_temperatures(celsius: float, fahrenheit: str) -> None:
    """NIST SP 811 (2008), appendix B.8: t/°F = 1.8 t/°C + 32."""
    assert Figures("us").number(celsius, "°C") == fahrenheit


def test_a_known_pair_of_the_trade() -> None:
    """SAE J517, 100R17: 3000 psi, 20.7 MPa in every size; the megapascal has one decimal."""
    assert float(Figures("us").number(207.0, "bar")) == pytest.approx(3000.0, abs=0.05 * 145.04)


PSI = 6.894757e-2
"""NIST SP 811 (2008), appendix B.8: bar in a psi."""


def figures_in(text: str) -> list[float]:
    return [float(number) for number in re.findall(r"-?\d+(?:\.\d+)?", text)]


@pytest.mark.parametrize("bar", [16.0, 35.0, 210.0, 215.0, 225.0, 275.0, 290.0, 350.0, 420.0, 550.0, 840.0])
def test_a_pressure_is_the_nearest_psi_whatever_it_bounds(bar: float) -> None:
    """A rating and a load of the same bar read the same, and the bar, which are binding, stand behind."""
    greatest, least = Figures("us").at_most(bar, "bar"), Figures("us").at_least(bar, "bar")
    psi, metric = figures_in(greatest)
    assert greatest == least
    assert psi * PSI == pytest.approx(bar, abs=0.5 * PSI * (1.0 + 1e-6))
    assert metric == bar


@pytest.mark.parametrize(("psi", "mpa"), [(3000, 20.7), (4000, 27.6), (5000, 34.5), (6000, 41.4)])
def test_pressures_of_sae_hoses(psi: int, mpa: float) -> None:
    """SAE J517, 100R17, R12, R13, R15 in psi and MPa: the MPa is rounded, so the psi may come out a step below."""
    (down, _) = figures_in(Figures("us").at_most(10.0 * mpa, "bar"))
    assert psi - 10.0 - 0.05 * 145.04 <= down <= psi + 0.05 * 145.04


@pytest.mark.parametrize(("low", "high"), [(11.0, 14.0), (20.0, 25.0), (43.0, 53.0), (60.0, 76.0), (90.0, 115.0)])
def test_a_torque_range_stays_within_the_metric_one(low: float, high: float) -> None:
    """NIST SP 811 (2008), appendix B.8: 1 lbf ft is 1.355818 N m."""
    least, most, *metric = figures_in(Figures("us").span(low, high, "Nm").replace("–", " "))
    assert low - 1e-6 <= least * 1.355818 <= most * 1.355818 <= high + 1e-6
    assert metric == [low, high]


@pytest.mark.parametrize("radius", [45.0, 90.0, 130.0, 180.0, 240.0])
def test_a_least_radius_is_rounded_up(radius: float) -> None:
    """1 in is 25.4 mm exactly (international yard and pound, 1959)."""
    inches, metric = figures_in(Figures("us").at_least(radius, "mm"))
    assert radius <= inches * 25.4 < radius + 0.254
    assert metric == radius


def test_dimensions_of_a_crimp_keep_their_mm() -> None:
    assert Figures("us").crimp(31.0).replace("\N{NO-BREAK SPACE}", " ") == "31 mm (1.22 in)"
    assert Figures("us").crimp(28.6).replace("\N{NO-BREAK SPACE}", " ") == "28.6 mm (1.126 in)"
