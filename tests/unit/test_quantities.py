"""Numbers as people read them: rounded once, margins never towards good."""

import math

import pytest

from hosewright.documents.joint_values import read_pose
from hosewright.machine import Body, Machine, Slide, Turn
from hosewright.words import MOST, Figures, read, read_difference, whole_mm


@pytest.mark.parametrize(
    ("value", "kind", "shown"),
    [
        (0.12345, "length", 123.5),
        (250e5, "pressure", 250.0),
        (253.15, "temperature", -20.0),
        (math.radians(5.0), "twist", 5.0),
        (1e9, "length", MOST),
        (-1e-9, "length", 0.0),
        (None, "length", None),
        (math.nan, "length", None),
    ],
)
def test_read(value: float | None, kind: str, shown: float | None) -> None:
    assert read(value, kind) == shown


def test_a_failing_margin_never_reads_as_none() -> None:
    assert read_difference(-1e-7, "length") == -0.1
    assert read_difference(1e-7, "length") == 0.0
    assert read_difference(-20.0, "temperature") == -20.0


def test_poses_in_degrees_and_millimetres() -> None:
    bodies = (
        Body("mast", joint=Turn((0.0, 0.0, 0.0), (0.0, 1.0, 0.0))),
        Body("beam", on="mast", joint=Slide((1.0, 0.0, 0.0))),
    )
    pose = {"mast": math.radians(65.0), "beam": 0.4}
    assert read_pose(pose, Machine(bodies=bodies)) == {"mast": 65.0, "beam": 400.0}


def test_unknown_kind() -> None:
    with pytest.raises(KeyError, match="lenght"):
        read(1.0, "lenght")


@pytest.mark.parametrize(
    ("value", "unit", "metric", "us"),
    [
        (842.0, "mm", "842 mm", "33.15 in"),
        (0.1, "mm", "0.1 mm", "0 in"),
        (275.0, "bar", "275 bar", "3989 psi"),
        (-10.0, "°C", "-10 °C", "14 °F"),
        (225.5, "deg", "225.5°", "225.5°"),
        (3.14, "deg/m", "3.14°/m", "3.14°/m"),
        (53.0, "Nm", "53 N m", "39 lb-ft"),
        (1234567.8, "mm", "1234567.8 mm", "48605.03 in"),
        (12.0, "", "12", "12"),
        (None, "mm", "unknown", "unknown"),
    ],
)
def test_figures_on_paper(value: float | None, unit: str, metric: str, us: str) -> None:
    shown = [Figures(system)(value, unit).replace("\N{NO-BREAK SPACE}", " ") for system in ("metric", "us")]
    assert shown == [metric, us]


def test_figures_take_the_mark_and_the_sign_of_a_language() -> None:
    german = Figures(decimal_mark=",", unknown="unbekannt")
    assert german(12.5, "mm") == "12,5\N{NO-BREAK SPACE}mm"
    assert german(12.0, "mm", sign=True) == "+12\N{NO-BREAK SPACE}mm"
    assert german(None, "mm") == "unbekannt"
    assert german.span(43.0, 53.0, "Nm") == "43–53\N{NO-BREAK SPACE}N m"
    assert german.span(-40.0, 100.0, "°C").replace("\N{NO-BREAK SPACE}", " ") == "-40 °C … 100 °C"
    assert german.span(None, 100.0, "°C") == "unbekannt"


def us(text: str) -> str:
    return text.replace("\N{NO-BREAK SPACE}", " ")


@pytest.mark.parametrize(
    ("value", "shown"),
    [(25.4, "25.4 mm (1 in)"), (6.4, "6.4 mm (1/4 in)"), (842.0, "842 mm (≈ 33 1/8 in)"), (0.0, "0 mm (0 in)"),
     (23.8, "23.8 mm (15/16 in)")],
)  # fmt: skip
def test_a_length_to_cut_is_in_mm_and_read_to_a_sixteenth(value: float, shown: str) -> None:
    assert us(Figures("us").cut(value)) == shown
    assert Figures().cut(value) == Figures()(value, "mm")


@pytest.mark.parametrize(
    ("width", "metric", "us_customary"),
    [(27.0, "27 mm", "27 mm (1.06 in)"), (24.0, "24 mm", "24 mm (0.94 in)"), (25.4, "1 in (25.4 mm)", None),
     (23.8, "15/16 in (23.8 mm)", None), (22.2, "7/8 in (22.2 mm)", None), (22.5, "22.5 mm", "22.5 mm (0.89 in)"),
     (None, "unknown", None)],
)  # fmt: skip
def test_a_width_across_flats_names_the_spanner(width: float | None, metric: str, us_customary: str | None) -> None:
    """Inch fractions to a tenth of a mm: 15/16 in is 23.81 mm, 7/8 in 22.23 mm."""
    assert us(Figures().spanner(width)) == metric
    assert us(Figures("us").spanner(width)) == (us_customary or metric)


def test_a_missing_figure_is_unknown_in_every_way() -> None:
    for figures in (Figures(), Figures("us")):
        ways = (figures.cut, figures.crimp, figures.spanner)
        assert {way(None) for way in ways} == {"unknown"}
        assert figures.at_most(None, "bar") == figures.at_least(None, "mm") == "unknown"
        assert (
            figures.span(None, 1.0, "Nm") == figures.demand(1.0, None, "°C") == figures.window(1.0, None) == "unknown"
        )


def test_a_range_that_no_usual_figure_lies_in_gets_more_decimals() -> None:
    assert us(Figures("us").span(13.0, 13.5, "Nm")) == "9.6–9.9 lb-ft (13–13.5 N m)"
    assert us(Figures("us").span(40.0, 40.0, "Nm")) == "30 lb-ft (40 N m)"


@pytest.mark.parametrize(("value", "whole"), [(752.9, 753.0), (1216.5, 1217.0), (1217.5, 1218.0), (949.0, 949.0)])
def test_a_bench_cuts_whole_mm(value: float, whole: float) -> None:
    assert whole_mm(value) == whole
