"""Traps of reading quantities, and what the messages say."""

from __future__ import annotations

import math
import subprocess
import sys

import numpy as np
import pytest

from hosewright.errors import HosewrightError
from hosewright.units import Kind, UnitError, show, si

INCH = 0.0254


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("1/2 in", 0.5),
        ('1/2"', 0.5),
        ("1/2in", 0.5),
        ("2 1/2 in", 2.5),
        ("1-1/4 in", 1.25),
        ("-1 1/2 in", -1.5),
        ("½ in", 0.5),
        ("1½ in", 1.5),
        ("1 ½ inches", 1.5),
        (".5 IN", 0.5),
        ("2,5 in", 2.5),
        ("−2 in", -2.0),
        ("1 ft", 12.0),
        ("3'", 36.0),
    ],
)
def test_lengths_in_inches(text, inches):
    assert si(text, "length") == pytest.approx(inches * INCH, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "millimetres"),
    [
        ("12,5 mm", 12.5),
        ("12.5mm", 12.5),
        ("0,250 m", 250.0),
        ("1.250 m", 1250.0),
        ("1250,500 mm", 1250.5),
        ("1,25 m", 1250.0),
        ("1e3 mm", 1000.0),
        ("1e-1 m", 100.0),
        (" 842\u00a0mm ", 842.0),
        ("5 MM", 5.0),
    ],
)
def test_metric_lengths(text, millimetres):
    assert si(text, Kind.LENGTH) == pytest.approx(millimetres * 1e-3, rel=1e-12)


@pytest.mark.parametrize(
    ("value", "kind", "expected"),
    [
        (842, "length", 0.842),
        (90, "angle", math.pi / 2),
        (210, "pressure", 210e5),
        (60, "flow", 1e-3),
        (-15, "temperature", 258.15),
        (25, "temperature change", 25.0),
        (2.5, "mass", 2.5),
        (46, "viscosity", 46e-6),
        (870, "density", 870.0),
        (12, "stiffness", 12.0),
        (0.6, "mass per length", 0.6),
        (3, "time", 3.0),
        (4.5, "velocity", 4.5),
        (8, "dash size", 8.0),
        (np.float64(8.0), "dash size", 8.0),
        (np.int64(842), "length", 0.842),
    ],
)
def test_bare_numbers_are_in_the_unit_of_their_kind(value, kind, expected):
    result = si(value, kind)
    assert result == pytest.approx(expected, rel=1e-12)
    assert type(result) is float


@pytest.mark.parametrize(
    ("text", "kind", "expected"),
    [
        ("250 bar g", "pressure", 250e5),
        ("250 barg", "pressure", 250e5),
        ("250 BAR", "pressure", 250e5),
        ("25 MPa", "pressure", 25e6),
        ("-0.5 bar", "pressure", -0.5e5),
        ("80 degC", "temperature", 353.15),
        ("80 °C", "temperature", 353.15),
        ("80 C", "temperature", 353.15),
        ("80 ℃", "temperature", 353.15),
        ("300 K", "temperature", 300.0),
        ("25 °C", "temperature change", 25.0),
        ("60 lpm", "flow", 1e-3),
        ("3.6 m3/h", "flow", 1e-3),
        ("46 cSt", "viscosity", 46e-6),
        ("46 mm²/s", "viscosity", 46e-6),
        ("46 mm^2/s", "viscosity", 46e-6),
        ("0,87 kg/L", "density", 870.0),
        ("12 N·m²", "stiffness", 12.0),
        ("600 g per m", "mass per length", 0.6),
        ("90°", "angle", math.pi / 2),
        ("1 turn", "angle", 2 * math.pi),
        ("2 min", "time", 120.0),
        ("-8", "dash size", 8.0),
        ("-08", "dash size", 8.0),
        ("\u2212 16", "dash size", 16.0),
    ],
)
def test_units(text, kind, expected):
    assert si(text, kind) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    "text",
    [
        "5 m**9**9**9**9",
        "5 m^9",
        "5 m2m2m2m2m2",
        "4 ft 6 in",
        "1 250 mm",
        "1'250 mm",
        "1,250.5 mm",
        "1.250,5 mm",
        "nan mm",
        "inf mm",
        "1 nan",
        "1e999 mm",
        "1e10 mm",
        "1/0 in",
        "1 5/2 in",
        "1/2/3 in",
        "5 - 1/2 in",
        "5² mm",
        "٣ mm",
        "12",
        "1/2",
        "",
        " ",
        "mm",
        "-",
        "-8",
        "5 kg",
        "5 bar",
        "5 dB",
        "5 %",
        "5 mm/",
        "5 m m",
        "5 __import__",
        "(5) mm",
        "9" * 500 + " mm",
        "5 " + "m" * 500,
    ],
)
def test_what_is_no_length(text):
    with pytest.raises(UnitError):
        si(text, "length")


@pytest.mark.parametrize(
    ("value", "kind"),
    [
        (math.nan, "length"),
        (math.inf, "length"),
        (10**400, "length"),
        (True, "length"),
        (None, "length"),
        ([1], "length"),
        (1j, "length"),
        (b"5 mm", "length"),
        (1e308, "pressure"),
        ("-300 °C", "temperature"),
        (-300, "temperature"),
        ("5 degC/s", "temperature"),
        ("90 %", "angle"),
        ("1 ppm", "angle"),
        ("46 mPa s", "viscosity"),
        ("8", "dash size"),
        ("-0", "dash size"),
        ("-65", "dash size"),
        ("-8.5", "dash size"),
        (8.5, "dash size"),
        (0, "dash size"),
        (-8, "dash size"),
        ("8 mm", "dash size"),
        ("5 imp gpm", "flow"),
    ],
)
def test_what_is_refused(value, kind):
    with pytest.raises(UnitError):
        si(value, kind)


@pytest.mark.parametrize(
    ("text", "kind", "facts"),
    [
        ("1,250 mm", "length", ["'1,250 mm'", "1.250", "1250"]),
        ("12", "length", ["'12'", "no unit", '"1/2 in"']),
        ("5 kg", "length", ["'5 kg'", "'kg'", "something else"]),
        ("5 furlongz", "length", ["'5 furlongz'", "'furlongz'", "no known unit"]),
        ("4 ft 6 in", "length", ["'4 ft 6 in'", "one number and one unit"]),
        ("3 bara", "pressure", ["'3 bara'", "absolute", "gauge"]),
        ("25 mPa", "pressure", ["'25 mPa'", "MPa"]),
        ("x", "angle", ["an angle"]),
        ("9", "dash size", ["'9'", '"-8"']),
    ],
)
def test_messages_carry_value_and_remedy(text, kind, facts):
    with pytest.raises(HosewrightError) as caught:
        si(text, kind)
    assert all(fact in str(caught.value) for fact in facts)


@pytest.mark.parametrize(
    ("value", "kind", "metric", "us"),
    [
        (0.842, "length", "842 mm", "33.1496 in"),
        (12.7e-3, "length", "12.7 mm", "0.5 in"),
        (-1e-9, "length", "0 mm", "0 in"),
        (100.0, "length", "100000 mm", "3937.0079 in"),
        (math.pi / 2, "angle", "90°", "90°"),
        (250e5, "pressure", "250 bar", "3625.9 psi"),
        (1e-3, "flow", "60 L/min", "15.85 gpm"),
        (353.15, "temperature", "80 °C", "176 °F"),
        (25.0, "temperature change", "25 K", "25 K"),
        (8.0, "dash size", "-8", "-8"),
        (46e-6, "viscosity", "46 mm2/s", "46 cSt"),
        (None, "length", "unknown", "unknown"),
        (math.nan, "pressure", "unknown", "unknown"),
        (math.inf, "length", "infinite", "infinite"),
    ],
)
def test_show(value, kind, metric, us):
    assert show(value, kind) == metric
    assert show(value, kind, "us") == us


def test_the_units_library_loads_only_when_a_quantity_is_read():
    code = (
        "import sys, hosewright.units as units; assert 'pint' not in sys.modules; "
        "units.si(1, 'length'); assert 'pint' in sys.modules"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_an_unwritable_cache_folder_only_costs_time(monkeypatch):
    import pint

    from hosewright import units

    real = pint.UnitRegistry

    def registry(*arguments, **options):
        if "cache_folder" in options:
            raise PermissionError("read-only")
        return real(*arguments, **options)

    monkeypatch.setattr(pint, "UnitRegistry", registry)
    assert units._registry.__wrapped__().Unit("mm") is not None
