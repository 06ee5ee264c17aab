"""The block of an assembly in the contract: agreed keys, sums, numbers, what is missing."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import pytest

from build_sheet_jobs import JOB, bundle, checked
from hosewright.assembly import Assembly, End
from hosewright.catalog import load
from hosewright.documents.assembly_data import parts_data
from hosewright.documents.assembly_numbers import run_numbers
from hosewright.documents.bundle import Bundle
from hosewright.sources import Confidence, Source
from hosewright.standards import din_20066, mil_dtl_83796

KEYS = {
    "number", "hose", "construction", "dash_size", "standard", "inside_diameter_mm", "outside_diameter_mm",
    "hose_working_pressure_bar", "minimum_bend_radius_mm", "temperature_min_c", "temperature_max_c", "fluid",
    "overall_length_mm", "overall_plus_mm", "overall_minus_mm", "overall_least_mm", "overall_greatest_mm",
    "tolerance_source", "cut_length_mm", "computed_cut_length_mm", "free_length_mm",
    "orientation_angle_deg", "orientation_tolerance_deg", "orientation_convention", "rating_bar", "rating_part",
    "rating_unknown", "sleeve_over_mm", "proof_pressure_bar", "line", "working_pressure_bar", "peak_pressure_bar",
    "fluid_temperature_min_c", "fluid_temperature_max_c", "sleeve", "sleeve_kinds", "sleeve_length_mm", "ends",
    "clamps", "fitting_pose", "rating_part_said", "rating_unknown_said", "tolerance_source_said",
}  # fmt: skip
END_KEYS = {
    "name", "port", "form", "connection", "clock_deg", "exit_angle_deg", "drop_mm", "cutoff_mm", "insertion_mm",
    "ferrule_diameter_mm", "ferrule_length_mm", "insert_bore_mm", "nut_width_mm", "hex_width_mm", "torque_low_nm",
    "torque_high_nm", "torque_source", "torque_source_said", "source", "source_said", "adapters",
}  # fmt: skip


def assembly(a: str = "90 short", b: str = "45 medium", length: float = 0.7, angle: float | None = None) -> Assembly:
    catalog = load()
    forms = [catalog.end_form(form, "face seal -8 female", 8) for form in (a, b)]
    return Assembly(catalog.hose("2SC -8"), End(forms[0]), End(forms[1]), length, angle)


def test_runs_and_samples_have_the_same_keys() -> None:
    data = bundle().data
    blocks = [run["assembly"] for run in data["runs"]] + [one["assembly"] for one in data["samples"] if one["assembly"]]
    assert len(blocks) == 3
    for block in blocks:
        assert block.keys() == KEYS
        assert all(end.keys() == END_KEYS for end in block["ends"])


def test_figures_of_a_run() -> None:
    block = bundle().data["runs"][0]["assembly"]
    assert (block["number"], block["standard"], block["fluid"], block["line"]) == (
        "T/17",
        "EN 857",
        "HV 32",
        "pressure",
    )
    assert (block["overall_length_mm"], block["cut_length_mm"], block["free_length_mm"]) == (1040.0, 949.0, 887.0)
    assert (block["overall_plus_mm"], block["overall_minus_mm"]) == (12.0, 4.0)  # DIN 20066, 630 to 1250 mm, to DN 25
    assert block["orientation_angle_deg"] == 355.5
    assert block["orientation_tolerance_deg"] == 5.0  # MIL-DTL-83796/5, above 610 mm
    assert (block["rating_bar"], block["rating_part"], block["proof_pressure_bar"]) == (275.0, "hose: 2SC -8", 550.0)
    assert (block["sleeve"], block["sleeve_length_mm"]) == (True, 957.0)  # 887 mm and two ferrules of 35 mm
    assert [end["port"] for end in block["ends"]] == ["V.A", "V.B"]


@pytest.mark.parametrize("length", [0.5, 0.7, 1.3, 3.0])
def test_tolerances_are_those_of_the_standards(length: float) -> None:
    block = parts_data(assembly(length=length))
    tolerance = din_20066.length_tolerance(length, 0.0125)
    assert block["overall_plus_mm"] == pytest.approx(1e3 * tolerance.plus, abs=0.05)
    assert block["overall_minus_mm"] == pytest.approx(1e3 * tolerance.minus, abs=0.05)
    turn = math.degrees(mil_dtl_83796.orientation_tolerance(length).plus)
    assert block["orientation_tolerance_deg"] == pytest.approx(turn)


def test_an_orientation_needs_two_bent_ends() -> None:
    assert parts_data(assembly(angle=math.radians(-30.0)))["orientation_angle_deg"] == 330.0
    assert parts_data(assembly())["orientation_angle_deg"] is None
    straight = parts_data(assembly(a="straight"), orientation=1.0)
    assert straight["orientation_angle_deg"] is None
    assert straight["orientation_tolerance_deg"] is None


def test_without_every_rating_there_is_none() -> None:
    whole = assembly()
    weak = replace(whole, b=End(replace(whole.b.form, max_working_pressure=None)))
    block = parts_data(weak)
    assert (block["rating_bar"], block["rating_part"], block["proof_pressure_bar"]) == (None, None, None)
    assert block["rating_unknown"] == ["end b: 45 medium end, face seal -8 female"]
    weaker = parts_data(replace(whole, b=End(replace(whole.b.form, max_working_pressure=100e5))))
    assert (weaker["rating_bar"], weaker["proof_pressure_bar"]) == (100.0, 200.0)
    assert weaker["rating_part"].startswith("end b: ")


def test_a_doubtful_rating_counts_as_unknown() -> None:
    """The catalog has 420 bar for R15 -8 and doubts it."""
    whole = assembly()
    hose = load().hose("R15 -8")
    block = parts_data(replace(whole, hose=hose))
    assert hose.max_working_pressure == 420e5
    keys = ("rating_bar", "rating_part", "rating_part_said", "proof_pressure_bar", "hose_working_pressure_bar")
    assert [block[key] for key in keys] == [None] * len(keys)
    assert block["rating_unknown"] == ["hose: R15 -8"]
    form = replace(whole.b.form, source=Source("a reprint", "", Confidence.DOUBTFUL))
    other = parts_data(replace(whole, b=End(form)))
    assert (other["rating_bar"], other["proof_pressure_bar"]) == (None, None)
    assert other["hose_working_pressure_bar"] == 1e-5 * whole.hose.max_working_pressure
    assert other["rating_unknown"] == ["end b: 45 medium end, face seal -8 female"]


def test_what_no_table_covers_is_none() -> None:
    whole = assembly()
    form = replace(whole.a.form, connection="a connection of our own")
    block = parts_data(replace(whole, hose=replace(whole.hose, inside_diameter=0.15, construction="own"), a=End(form)))
    assert block["overall_plus_mm"] is None
    assert block["tolerance_source"] is None
    assert block["standard"] is None
    assert block["construction"] == "own"
    assert block["ends"][0]["torque_low_nm"] is None
    assert block["ends"][1]["torque_low_nm"] == 43.0


def test_numbers_are_written_or_made_from_what_is_built() -> None:
    made = run_numbers(*checked())
    assert made["tilt, rod side"] == "T/17"
    assert re.fullmatch("H-[2-9A-HJ-NP-Z]{4}-[2-9A-HJ-NP-Z]{4}", made["too short"])
    other = run_numbers(*checked(JOB.replace("length = 560", "length = 561")))
    assert other["too short"] != made["too short"]


def test_a_sample_keeps_what_was_told_of_its_line() -> None:
    given = JOB.replace('number = "S-3"', 'number = "S-3"\npressure = 180\nfluid = "HM 46"')
    block = Bundle.make(*checked(given), bundle().settings).data["samples"][0]["assembly"]
    assert (block["working_pressure_bar"], block["fluid"], block["line"]) == (180.0, "HM 46", None)
    other = bundle().data["samples"][0]["assembly"]
    assert (other["working_pressure_bar"], other["fluid"]) == (None, None)


def test_a_sample_of_which_too_little_is_known_says_what() -> None:
    one, two = bundle().data["samples"]
    assert (one["number"], one["missing"]) == ("S-3", [])
    assert two["assembly"] is None
    assert any(text.startswith("hose:") for text in two["missing"])
    assert re.fullmatch("H-[2-9A-HJ-NP-Z]{4}-[2-9A-HJ-NP-Z]{4}", two["number"])
