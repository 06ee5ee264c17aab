"""Build sheets: every number as in the contract, one page each, and what must not be built says so."""

from __future__ import annotations

import datetime
import io
import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import cache
from typing import Any

import pypdf
import pytest

from build_sheet_jobs import JOB, bundle, checked, numbers_in, text_of
from hosewright.assembly import orientation_angle
from hosewright.documents import build_sheet
from hosewright.documents.assembly_data import parts_data
from hosewright.documents.build_sheet import Sheet, clock_face, file_stem, sheet_files, sheet_of_run
from hosewright.documents.bundle import Bundle
from hosewright.documents.folder import slug
from hosewright.words import Sentence, as_data

TABLED = (
    "inside_diameter_mm", "outside_diameter_mm", "hose_working_pressure_bar", "minimum_bend_radius_mm",
    "temperature_max_c", "overall_length_mm", "overall_plus_mm", "overall_minus_mm", "cut_length_mm", "free_length_mm",
    "rating_bar", "proof_pressure_bar",
)  # fmt: skip
OF_RUNS = ("working_pressure_bar", "peak_pressure_bar", "fluid_temperature_max_c")
OF_ENDS = ("cutoff_mm", "insertion_mm", "ferrule_diameter_mm", "ferrule_length_mm", "nut_width_mm", "hex_width_mm")


@cache
def papers(**settings: Any) -> dict[str, bytes]:
    return dict(build_sheet.files(bundle(**settings)))


def floats(value: Any) -> Iterator[float]:
    """All numbers of a block of the contract."""
    if isinstance(value, Mapping):
        value = list(value.values())
    if isinstance(value, list | tuple):
        for part in value:
            yield from floats(part)
    elif isinstance(value, int | float) and not isinstance(value, bool):
        yield float(value)


def strings(value: Any) -> Iterator[str]:
    """All texts of a block of the contract."""
    if isinstance(value, Mapping):
        value = list(value.values())
    if isinstance(value, list | tuple):
        for part in value:
            yield from strings(part)
    elif isinstance(value, str):
        yield value


def written(value: float, mark: str) -> str:
    return f"{abs(value):.4f}".rstrip("0").rstrip(".").replace(".", mark)


def named(papers: Bundle) -> dict[str, Mapping[str, Any]]:
    """Assemblies by the name of their sheet."""
    runs = {slug(run["assembly"]["number"]): run for run in papers.data["runs"]}
    return runs | {one["number"]: one for one in papers.data["samples"] if one["assembly"] is not None}


@pytest.mark.parametrize(("language", "mark"), [("en", "."), ("de", ",")])
def test_every_number_on_paper_is_one_of_the_contract(language: str, mark: str) -> None:
    made = bundle(language=language)
    fixed = {number for section in ("common", "build_sheet") for text in made.texts.section(section).values()
             for number in numbers_in(text, mark)}  # fmt: skip
    for name, one in named(made).items():
        text = text_of(papers(language=language)[f"{name}.build.pdf"])
        known = {written(value, mark) for value in floats(one["assembly"])} | fixed
        said = [*strings(one), *strings(made.data["title"]), made.settings.shop, made.data["program"], name]
        known |= {number for words in said for number in numbers_in(words, mark)}
        known |= {str(place) for place in range(1, 9)}  # numbers of the steps and pages, and the scale
        lines = [line for line in text.splitlines() if made.data["input_hash"][:16] not in line]
        strange = set(numbers_in("\n".join(lines), mark)) - known
        assert strange == set(), name


@pytest.mark.parametrize(("language", "mark"), [("en", "."), ("de", ",")])
def test_every_number_that_a_shop_needs_is_on_paper(language: str, mark: str) -> None:
    made = bundle(language=language)
    for name, one in named(made).items():
        assembly = one["assembly"]
        shown = numbers_in(text_of(papers(language=language)[f"{name}.build.pdf"]), mark)
        keys = TABLED if assembly["line"] is None else TABLED + OF_RUNS
        needed = [assembly[key] for key in keys] + [end[key] for end in assembly["ends"] for key in OF_ENDS]
        needed += [clamp["mark_mm"] for clamp in assembly["clamps"]]
        needed += [assembly["orientation_angle_deg"]] if assembly["orientation_angle_deg"] is not None else []
        assert {written(value, mark) for value in needed} <= set(shown), name


def test_inches_are_those_of_a_rule() -> None:
    """1 in is 25.4 mm exactly (international yard and pound, 1959); a rule is read to a sixteenth."""
    text = " ".join(text_of(papers(units="us", paper="letter")["T-17.build.pdf"]).split())
    assert "Overall length ≈ 40 15/16 in" in text  # 1040 mm: 40.945, 655.1 sixteenths
    assert "CUT LENGTH ≈ 37 3/8 in" in text  # 949 mm: 37.362, 597.8 sixteenths
    assert "949 mm (≈ 37 3/8 in)" in text
    assert "1036–1052 mm (40 13/16–41 3/8 in)" in text  # 40.787 and 41.417
    assert "31 mm (1.22 in)" in text
    assert "27 mm (1.06 in)" in text
    assert "5.12 in (130 mm)" in text  # 5.118
    assert "3989 psi (275 bar)" in text  # 3988.5, of 14.50377 psi
    assert "7977 psi (550 bar)" in text  # 7977.1
    assert "212 °F" in text


def test_the_arithmetic_of_the_cut_length() -> None:
    for one in named(bundle()).values():
        assembly = one["assembly"]
        a, b = assembly["ends"]
        rest = assembly["overall_length_mm"] - a["cutoff_mm"] - b["cutoff_mm"]
        assert rest == pytest.approx(assembly["computed_cut_length_mm"], abs=0.05)
        assert assembly["cut_length_mm"] == int(assembly["cut_length_mm"])
        off = assembly["cut_length_mm"] - rest
        assert -0.5 <= off <= 0.5  # well within what DIN 20066 allows of the overall length
        assert -assembly["overall_minus_mm"] < off < assembly["overall_plus_mm"]
        assert assembly["proof_pressure_bar"] == 2.0 * assembly["rating_bar"]
    (clamp,) = named(bundle())["T-17"]["assembly"]["clamps"]
    assert clamp["mark_mm"] == 337.0  # 260.3 from the ferrule tail, 31 of insertion, 45.5 of cut-off


def test_a_cut_length_in_whole_mm_says_what_was_computed() -> None:
    assembly = dict(named(bundle())["T-17"]["assembly"], overall_length_mm=1039.9)
    assembly |= {"cut_length_mm": 949.0, "computed_cut_length_mm": 948.9}
    ((_, pdf), _) = sheet_files(bundle(), [Sheet("of inches", assembly)])
    assert "≈" in text_of(pdf)
    assert "949 mm" in text_of(pdf)
    assert "computed 948.9 mm" in text_of(pdf)
    assert "computed" not in text_of(papers()["T-17.build.pdf"])
    assert "≈" not in text_of(papers()["T-17.build.pdf"])


@pytest.mark.parametrize("language", ["en", "de"])
def test_what_fails_is_not_to_be_built(language: str) -> None:
    made = bundle(language=language)
    for run in made.data["runs"]:
        assert made.stops(run)
    banner = made.texts("common.do_not_build")
    shown = papers(language=language)
    for name in named(made):
        assert (banner in text_of(shown[f"{name}.build.pdf"])) == (name != "S-3")
    failing = [made.write(one["said"]) for one in made.data["runs"][1]["findings"] if one["verdict"] == "fail"]
    name = made.data["runs"][1]["assembly"]["number"]
    text = " ".join(text_of(shown[f"{name}.build.pdf"]).split())
    assert all(sentence.replace("\N{NO-BREAK SPACE}", " ") in text for sentence in failing)


def test_a_stale_plan_is_not_to_be_built() -> None:
    run = dict(bundle().data["runs"][0], findings=[])
    said = as_data(Sentence.of("warnings.stale", run=run["name"]))
    for about, reasons in ((run["name"], 1), ("other", 0), (None, 0)):
        warnings = [{"text": "", "said": said, "run": about, "stops": True}]
        told = replace(bundle(), data={**bundle().data, "warnings": warnings}).stops(run)
        assert len(told) == reasons
        assert all("was chosen for other inputs" in reason for reason in told)


def test_missing_figures_are_named() -> None:
    assembly = dict(named(bundle())["T-17"]["assembly"])
    end = dict(assembly["ends"][1], ferrule_diameter_mm=None)
    assembly |= dict.fromkeys(("outside_diameter_mm", "rating_bar", "rating_part", "proof_pressure_bar"))
    part = {"place": "end b", "part": "90 short end, face seal -8 female"}
    unknown = {"key": "names.placed_part", "values": part}
    assembly |= {"rating_unknown_said": [unknown], "ends": [assembly["ends"][0], end]}
    ((_, pdf), _) = sheet_files(bundle(), [Sheet("doubtful", assembly)])
    text = " ".join(text_of(pdf).split())
    for part in (
        "Not known: outside diameter of the hose",
        "ferrule diameter (End b)",
        "rating of end b: 90 short end",
        "not before the rating of every part is known",
        "parts without data are drawn in proportion",
    ):
        assert part in text


def test_signs_of_markup_come_out_as_they_are() -> None:
    text = text_of(papers()["T-17.build.pdf"])
    assert "Cherry platform <#7> $x$ @y: Größe № ?" in text  # no font has the last sign


@pytest.mark.parametrize(
    ("settings", "size", "language"),
    [({}, (595.3, 841.9), "en"), ({"paper": "letter", "language": "de", "units": "us"}, (612.0, 792.0), "de")],
)
def test_an_independent_reader_finds_one_tagged_page_with_its_fonts(
    settings: dict[str, str], size: tuple[float, float], language: str
) -> None:
    """ISO 14289-1 (PDF/UA-1): marked, structure tree, language, title shown, fonts embedded."""
    for name, content in papers(**settings).items():
        if not name.endswith(".pdf"):
            continue
        reader = pypdf.PdfReader(io.BytesIO(content))
        (page,) = reader.pages
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(size, abs=0.1)
        root = reader.trailer["/Root"]
        assert root["/MarkInfo"]["/Marked"].value is True
        assert "/StructTreeRoot" in root
        assert root["/Lang"] == language
        assert root["/ViewerPreferences"]["/DisplayDocTitle"].value is True
        assert reader.metadata is not None
        assert reader.metadata.title == bundle(**settings).texts("build_sheet.title", number=reader_number(name))
        assert b"<pdfuaid:part>1</pdfuaid:part>" in root["/Metadata"].get_data()
        fonts = [font.get_object() for font in page["/Resources"]["/Font"].values()]
        assert fonts
        for font in fonts:
            descriptor = font["/DescendantFonts"][0].get_object()["/FontDescriptor"]
            assert {"/FontFile2", "/FontFile3"} & descriptor.keys()


def reader_number(name: str) -> str:
    stem = name.removesuffix(".build.pdf")
    return "T/17" if stem == "T-17" else stem


def test_the_same_input_gives_the_same_bytes() -> None:
    assert dict(build_sheet.files(bundle())) == papers()


def test_many_findings_clamps_and_a_long_name_stay_on_one_page() -> None:
    assembly = dict(named(bundle())["T-17"]["assembly"])
    assembly["clamps"] = [
        {"mount": f"mast, upper side {k}", "mark_mm": 100.0 * k, "hold": "fixed"} for k in range(1, 9)
    ]
    reasons = tuple(
        f"bend radius: inside radius 100 mm, 120 mm asked; tightest {k} mm from ferrule tail a" for k in range(30)
    )
    full = Sheet("a very long name of a run " * 6, assembly, reasons, reasons)
    for paper in ("a4", "letter"):
        for language in ("en", "de"):
            made = bundle(paper=paper, language=language, units="us")
            ((_, pdf), _) = sheet_files(made, [full])
            assert len(pypdf.PdfReader(io.BytesIO(pdf)).pages) == 1
            assert "27" in text_of(pdf)  # of 30 reasons 3 are printed, the others counted


def test_a_sheet_needs_an_assembly_alone() -> None:
    file = bundle().file
    assembly = parts_data(file.job.runs[0].assembly, number=None)
    names = [name for name, _ in sheet_files(bundle(), [Sheet("a sample", assembly, warnings=("measure it again",))])]
    assert names == ["a-sample.build.pdf", "a-sample.dxf"]


def test_a_doubt_of_a_run_is_a_warning_on_its_sheet() -> None:
    run = dict(bundle().data["runs"][0])
    said = as_data(Sentence.of("findings.unrated", parts=("end a",)))
    run["findings"] = [dict(run["findings"][0], verdict="unknown", rule="pressure", said=said)]
    assert sheet_of_run(bundle(), run).warnings == ("pressure: no rating is known of end a",)
    assert sheet_of_run(bundle(), run).stops == ("pressure: no rating is known of end a",)


@pytest.mark.parametrize(("language", "word"), [("en", "Warning"), ("de", "Warnung")])
def test_a_warning_about_a_run_stands_on_its_sheet_and_lets_it_be_built(language: str, word: str) -> None:
    made = bundle(language=language)
    first, second = made.data["runs"]
    said = as_data(Sentence.of("warnings.changed", run=first["name"]))
    warnings = [{"text": "", "said": said, "run": first["name"], "stops": False}]
    told = replace(made, data={**made.data, "warnings": warnings})
    sheets = [sheet_of_run(told, run) for run in (first, second)]
    assert told.warnings_of(first) == told.warnings
    assert sheets[0].stops == tuple(made.stops(first))
    assert sheets[0].warnings[: sheets[0].weighty] == tuple(told.warnings)
    assert (sheets[1].weighty, told.warnings_of(second)) == (0, [])
    (_, pdf), _ = sheet_files(told, sheets[:1])
    text = " ".join(text_of(pdf).split())
    (sentence,) = told.warnings
    assert f"{sentence[0].upper()}{sentence[1:]}." in text
    assert word in text


def test_files_are_named_by_their_numbers() -> None:
    assert slug("H-7F3A-2") == "H-7F3A-2"
    assert slug("../a/b: c?") == "a-b-c"
    assert slug("///") == "assembly"
    taken: set[str] = set()
    assert [file_stem("A 1", "lift", taken), file_stem("a-1", "lift", taken), file_stem("A/1", "lift", taken)] == [
        "A-1", "a-1-lift", "A-1-lift-2",
    ]  # fmt: skip


@pytest.mark.parametrize("language", ["en", "de"])
def test_what_the_bench_writes_down(language: str) -> None:
    """With an orientation angle the lot of the hose still has its field."""
    words = bundle(language=language).texts.section("build_sheet")
    fields = ("made", "made_of", "hose_lot", "press", "crimp_a", "crimp_b", "measured", "held", "hold_time", "result")
    for name, one in named(bundle(language=language)).items():
        text = text_of(papers(language=language)[f"{name}.build.pdf"])
        turned = one["assembly"]["orientation_angle_deg"] is not None
        assert turned == (name != next(name for name in named(bundle()) if name.startswith("H-")))
        assert all(words[field] in text for field in fields)
        assert bool(re.search(rf"\b{words['measured_angle']}\b", text)) == turned


@pytest.mark.parametrize(
    ("kinds", "words"),
    [
        ([], "Sleeve, asked for by the job without saying against what"),
        (["heat"], "Sleeve against heat, 957 mm long"),
        (
            ["abrasion", "heat", "spray"],
            "Sleeve against abrasion, heat and spray and burst towards people, 957 mm long",
        ),
    ],
)
def test_a_sleeve_says_against_what(kinds: list[str], words: str) -> None:
    assembly = dict(named(bundle())["T-17"]["assembly"], sleeve_kinds=kinds)
    ((_, pdf), _) = sheet_files(bundle(), [Sheet("sleeved", assembly)])
    text = " ".join(text_of(pdf).split())
    assert words in text
    assert "Sleeve type" in text
    assert "Sleeve type" not in text_of(papers()["S-3.build.pdf"])


def test_warnings_of_a_sample_come_weightiest_first_and_those_of_a_kind_together() -> None:
    text = " ".join(text_of(papers()["S-3.build.pdf"]).split())
    told = ["Pressure: ", "Connection: ", "Age: ", "Length: ", "Failure: ", "Fluid: ", "Reuse: ", "Machine: "]
    places = [text.index(words) for words in told]
    assert places == sorted(places)
    assert [text.count(words) for words in told] == [1] * len(told)


def test_markings_of_another_hose_stop_the_sheet_of_a_sample() -> None:
    text = JOB.replace('number = "S-3"', 'number = "S-3"\nmarkings = "EN 853 1SN DN12"')
    made = Bundle.make(*checked(text), bundle().settings)
    shown = " ".join(text_of(dict(build_sheet.files(made))["S-3.build.pdf"]).split())
    assert "DO NOT BUILD" in shown
    assert "The markings say 1SN -8, the sample is taken down as 2SC -8: clear that up first" in shown


@pytest.mark.parametrize(
    ("outlets", "angle", "hour"),
    [
        # seen from end a along +x, with +z up: right is -y; seen from end b along -x: right is +y
        (((0, 0, 1), (0, -1, 0)), 90.0, 3),
        (((0, 0, 1), (0, 1, 0)), 270.0, 9),
        (((0, 1, 0), (0, math.sqrt(3.0), 1.0)), 30.0, 1),
    ],
)
def test_three_clocks_by_hand(outlets: tuple[Any, Any], angle: float, hour: int) -> None:
    """A hose laid along +x; each case was drawn by hand. Whoever looks from end b reads the same hour for end a."""
    a, b = outlets
    assert math.degrees(orientation_angle((1, 0, 0), a, b)) == pytest.approx(angle)
    assert math.degrees(orientation_angle((-1, 0, 0), b, a)) == pytest.approx(angle)
    hand = clock_face(angle, "?").decode().split("<circle")[2]
    x, y = (float(hand.split(f'{axis}="')[1].split('"')[0]) - 25.0 for axis in ("cx", "cy"))
    assert math.degrees(math.atan2(x, -y)) % 360.0 == pytest.approx(30.0 * hour, abs=0.1)


@pytest.mark.parametrize("angle", [0.0, 5.0, 90.0, 181.0, 355.5])
def test_the_clock_has_b_where_the_angle_says(angle: float) -> None:
    """Clockwise from twelve: at 90 degrees b is at three."""
    picture = clock_face(angle, "?").decode()
    hands = picture.split("<circle")[2:]  # the first is the face
    x, y = (float(hands[0].split(f'{axis}="')[1].split('"')[0]) for axis in ("cx", "cy"))
    hour = {0.0: (25, 13), 90.0: (37, 25), 181.0: (24.79, 37)}.get(angle)
    if hour is not None:
        assert (x, y) == pytest.approx(hour, abs=0.02)
    assert (x > 25) == (0 < angle < 180)


def test_own_shop_and_date_stand_on_every_sheet() -> None:

    made = dict(build_sheet.files(bundle(datetime.date(2026, 8, 14))))
    text = text_of(made["S-3.build.pdf"])
    assert "2026-08-14" in text
    assert "The orchard workshop" in text
