"""US customary readings on paper against published conversion factors."""

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
