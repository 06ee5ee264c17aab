"""US customary figures never lie on the unsafe side of the metric ones, whatever the figure."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hosewright.words import US, Figures, whole_mm

PAPER = Figures("us")
tenths = st.integers(1, 200_000).map(lambda count: count / 10.0)


def first(text: str) -> float:
    return float(re.findall(r"-?\d+(?:\.\d+)?", text)[0])


def inches(text: str) -> Fraction:
    """The inches of a length on a rule, such as ``37 3/8``."""
    return sum((Fraction(part) for part in text.split()), Fraction(0))


def converted(value: float, unit: str) -> float:
    return value * US[unit].factor + US[unit].offset


@given(value=tenths, unit=st.sampled_from(["mm", "Nm", "m", "kg", "°C"]))
def test_bounds_keep_their_side(value: float, unit: str) -> None:
    assert first(PAPER.at_most(value, unit)) <= converted(value, unit) * (1.0 + 1e-8)
    assert first(PAPER.at_least(value, unit)) >= converted(value, unit) * (1.0 - 1e-8)


@given(low=tenths, width=st.integers(1, 3000), unit=st.sampled_from(["Nm", "°C"]))
def test_ranges_are_never_wider_nor_demands_narrower(low: float, width: int, unit: str) -> None:
    high = round(low + width / 10.0, 1)
    ends = converted(low, unit), converted(high, unit)
    kept = [float(part) for part in re.findall(r"\d+(?:\.\d+)?", PAPER.span(low, high, unit).split("(")[0])]
    assert ends[0] - 1e-6 <= kept[0] <= kept[-1] <= ends[1] + 1e-6
    coming = [float(part) for part in re.findall(r"\d+(?:\.\d+)?", PAPER.demand(low, high, unit))]
    assert coming[0] <= ends[0] + 1e-6
    assert coming[-1] >= ends[1] - 1e-6


@given(low=tenths, width=st.integers(20, 3000))
def test_sixteenths_of_a_window_lie_inside(low: float, width: int) -> None:
    high = round(low + width / 10.0, 1)
    _, least, most = re.split(r" mm \(|–(?=[^(]*in\))", PAPER.window(low, high).replace("\N{NO-BREAK SPACE}", " "))
    assert Fraction(str(low)) <= inches(least) * Fraction("25.4")
    assert inches(most.removesuffix(" in)")) * Fraction("25.4") <= Fraction(str(high))


@given(value=tenths)
def test_a_length_to_cut_is_within_half_a_sixteenth_and_says_where_it_is_off(value: float) -> None:
    shown = PAPER.cut(value).replace("\N{NO-BREAK SPACE}", " ")
    metric, rule = re.fullmatch(r"(.+) mm \((.+) in\)", shown).groups()  # type: ignore[union-attr]
    off = abs(inches(rule.removeprefix("≈ ")) * Fraction("25.4") - Fraction(str(value)))
    assert off <= Fraction("25.4") / 32
    assert rule.startswith("≈") == (off > Fraction("0.05"))
    assert float(metric) == value


@given(sixteenths=st.integers(4, 64))
def test_every_inch_spanner_is_found_again(sixteenths: int) -> None:
    """From its width rounded to a tenth of a mm: the spanner itself, or the whole mm that fits as well."""
    width = round(sixteenths * 25.4 / 16.0, 1)
    shown = PAPER.spanner(width).replace("\N{NO-BREAK SPACE}", " ")
    if width == int(width):
        assert shown.startswith(f"{int(width)} mm (")
    else:
        assert inches(shown.split(" in")[0]) == Fraction(sixteenths, 16)


@given(value=tenths)
def test_whole_mm_are_the_nearest(value: float) -> None:
    assert whole_mm(value) == int(whole_mm(value))
    assert abs(whole_mm(value) - value) <= 0.5 + 1e-6
    assert whole_mm(value) == pytest.approx(value, abs=0.5000001)
