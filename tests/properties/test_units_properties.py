"""Whatever is typed, a finite float or a UnitError comes out; what is shown can be read again."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hosewright.units import Kind, UnitError, show, si

kinds = st.sampled_from(list(Kind))
marks = list("0129,./-+eE^*·()\"'mLgasNFKQ°½²%_٣ \u00a0")
words = [
    "in",
    "ft",
    "mm",
    "m2",
    "min",
    "bar",
    "psi",
    "MPa",
    "kg",
    "lb",
    "deg",
    "°C",
    "degC",
    "cSt",
    "per",
    "dB",
    "rad",
    "gpm",
]
odd = ["250", "**", "nan", "inf", "1_0", "0x1"]
scraps = st.lists(st.sampled_from(marks + words + odd), max_size=12).map("".join)
numbers = st.from_regex(r"[+-]?[0-9]{0,4}([.,][0-9]{1,4}|[ -][0-9]/[0-9])?(e[+-]?[0-9])?", fullmatch=True)
units = st.lists(st.sampled_from([*words, *"mLsNKFQ", "/", " ", "2", "3"]), max_size=5).map("".join)
typed = st.one_of(scraps, st.builds("{} {}".format, numbers, units))


@settings(deadline=None, max_examples=400)
@given(st.one_of(typed, st.text(max_size=80)), kinds)
def test_any_text_gives_a_finite_float_or_a_unit_error(text, kind):
    try:
        value = si(text, kind)
    except UnitError:
        return
    assert type(value) is float
    assert math.isfinite(value)


@settings(deadline=None)
@given(st.one_of(st.floats(), st.integers(), st.booleans(), st.none(), st.binary(), st.complex_numbers()), kinds)
def test_any_object_gives_a_finite_float_or_a_unit_error(value, kind):
    try:
        result = si(value, kind)
    except UnitError:
        return
    assert type(result) is float
    assert math.isfinite(result)


@settings(deadline=None)
@given(st.floats(0.0, 1e4), kinds.filter(lambda kind: kind is not Kind.DASH_SIZE), st.sampled_from(["metric", "us"]))
def test_what_is_shown_can_be_read_again(number, kind, system):
    """Within half of the last decimal, which is 0.0005 to 0.05 of the shown unit."""
    value = si(number, kind)
    again = si(show(value, kind, system), kind)
    shown = show(again, kind, system)
    assert shown == show(value, kind, system)
    assert again == pytest.approx(value, rel=1e-3, abs=abs(si(1.0, kind) - si(0.0, kind)) * 0.4)


@given(st.integers(1, 64))
def test_dash_sizes_can_be_read_again(size):
    assert si(show(float(size), Kind.DASH_SIZE), Kind.DASH_SIZE) == size


@settings(deadline=None)
@given(st.integers(0, 99), st.integers(1, 63), st.sampled_from([64, 32, 16]))
def test_fractions_are_exact_sums(whole, numerator, denominator):
    if numerator >= denominator:
        return
    expected = (whole + numerator / denominator) * 0.0254
    for joint in (" ", "-"):
        assert si(f"{whole}{joint}{numerator}/{denominator} in", Kind.LENGTH) == pytest.approx(expected, rel=1e-12)


@settings(deadline=None)
@given(st.decimals(0, 1000, places=2))
def test_a_comma_is_a_point(number):
    assert si(f"{number} mm".replace(".", ","), Kind.LENGTH) == si(f"{number} mm", Kind.LENGTH)
