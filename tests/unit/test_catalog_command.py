"""`hosewright catalog`: every thing on a line of its own, found by its words, with where its figures come from."""

from functools import partial
from pathlib import Path

import pytest

from hosewright import cli
from hosewright.catalog import load
from hosewright.documents.catalog_table import KINDS, UNKNOWN, catalog_table
from hosewright.sources import Confidence
from hosewright.words import Figures

CATALOG = load()


@pytest.fixture
def call(command):
    return partial(command, "catalog")


def test_all_of_the_catalog_is_listed() -> None:
    numbers = {kind: len(catalog_table(kind, (), CATALOG, Figures()).rows) for kind in KINDS}
    assert numbers["hoses"] == len(CATALOG.hoses())
    assert numbers["ends"] == len(CATALOG.end_forms())
    assert numbers["adapters"] == len(CATALOG.adapters())
    assert numbers["connections"] > 60
    assert numbers["fluids"] > 60


@pytest.mark.parametrize("kind", KINDS)
def test_every_line_tells_its_source_or_that_there_is_none(kind: str) -> None:
    table = catalog_table(kind, (), CATALOG, Figures())
    for row in table.rows:
        assert len(row) == len(table.heads)
        assert row[-1] == UNKNOWN or any(f"({confidence})" in row[-1] for confidence in Confidence)


def test_the_figures_of_a_hose(call) -> None:
    """EN 857, type 2SC, DN 12, as the catalog has it."""
    status, out, _ = call("hoses", "2SC", "-8")
    assert status == 0
    head, line, last = out.splitlines()
    assert "pressure [bar]" in head
    assert line.split("  ")[0] == "2SC -8"
    for part in ("two wire braids, EN 857", "12.5", "21.5", "275", "130", "-40 to 100", "EN 857 (memory)"):
        assert part in line
    assert last.startswith("1 hose; catalog")
    assert call("HOSES", "2sc -8")[1] == out


def test_a_size_is_not_the_beginning_of_another_one(call) -> None:
    _, out, _ = call("connections", "face", "-1")
    assert "No line has" in out
    _, out, _ = call("ends", "90", "face", "-8", "female")
    lines = out.splitlines()[1:-1]
    assert lines
    assert all("face seal -8 female" in line and line.startswith("90 ") for line in lines)


@pytest.mark.parametrize(
    ("kind", "apart", "together"),
    [("hoses", "2SC -8", "2sc-8"), ("fluids", "HM 46", "hm46"), ("connections", "37 flare -6", "37flare -6")],
)
def test_the_blank_before_a_size_may_be_left_out(call, kind: str, apart: str, together: str) -> None:
    status, out, _ = call(kind, together)
    assert status == 0
    _, line, _ = out.splitlines()
    assert line.startswith(f"{apart} ")


def test_us_units(call) -> None:
    _, out, _ = call("hoses", "2SC -8", "--units", "us")
    head, line, _ = out.splitlines()
    assert "pressure [psi]" in head
    assert "3989" in line  # 275 bar
    assert "5.12" in line  # 130 mm
    assert "-40 to 212" in line


def test_own_data_is_listed_with_its_file(call, tmp_path: Path) -> None:
    own = tmp_path / "ours.csv"
    own.write_text("name,like,max_working_pressure_bar\nours -8,2SC -8,300\n", encoding="utf-8")
    status, out, _ = call("hoses", "ours", "--own", own)
    assert status == 0
    assert "300" in out.splitlines()[1]
    assert "ours.csv" in out.splitlines()[-1]


@pytest.mark.parametrize(
    ("arguments", "status", "part"),
    [
        (("hose",), cli.BAD_INPUT, "the catalog has no 'hose'. Did you mean 'hoses'"),
        (("pumps",), cli.BAD_INPUT, "'connections'"),
        (("hoses", "2SX"), cli.SOMETHING_FAILS, "No line has '2sx'. Did you mean"),
        (("hoses", "2SC-81"), cli.SOMETHING_FAILS, "No line has '2sc-81'. Did you mean '2sc-8'"),
        (("hoses", "2SC", "-4", "-6"), cli.SOMETHING_FAILS, "No line has all of these words."),
        (("hoses", "--own", "none.csv"), cli.BAD_INPUT, "none.csv"),
        (("hoses", "--units", "x"), cli.BAD_INPUT, "metric, us"),
    ],
)
def test_what_is_not_there_is_said(call, arguments: tuple[str, ...], status: int, part: str) -> None:
    found, out, err = call(*arguments)
    assert found == status
    assert part in out + err
