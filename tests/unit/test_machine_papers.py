"""Installation sheet and proof sheet: what stands on them is what the contract holds, in both languages."""

import pypdfium2
import pytest

from hosewright.documents import installation, proof
from hosewright.documents.charts import margins_chart, radius_chart
from hosewright.documents.findings_in_words import FindingsInWords
from machine_papers import numbers_in, numbers_of, papers, text_of

BOTH = pytest.mark.parametrize("language", ["en", "de"])
EACH = pytest.mark.parametrize("name", ["installation.pdf", "proof.pdf"])


@BOTH
@EACH
def test_every_number_on_paper_is_one_of_the_contract(language, name):
    made, files = papers(language)
    text = text_of(files[name])
    counted = {str(k) for k in range(1, 60)}  # pages, steps, hoses, sources
    words = numbers_of({key: made.texts.section(key) for key in made.texts.words})
    date = numbers_in(made.date.isoformat())
    counts = {"0", *counted}
    unknown = numbers_in(text) - numbers_of(made.data) - words - counts - date
    shown_hash = made.data["input_hash"][:16]
    assert {number for number in unknown if number not in shown_hash} == set()


@BOTH
def test_the_proof_holds_every_figure_of_every_finding(language):
    made, files = papers(language)
    text = text_of(files["proof.pdf"])
    words = FindingsInWords(made)
    for run in made.data["runs"]:
        assert run["name"] in text
        for finding in run["findings"]:
            for shown in (words.measure(finding), words.margin(finding), *words.bounds(finding)):
                assert shown.replace("\N{NO-BREAK SPACE}", " ") in text, (run["name"], finding["id"], shown)


@BOTH
def test_the_proof_says_what_was_assumed_and_what_was_not_checked(language):
    made, files = papers(language)
    text = text_of(files["proof.pdf"])
    for point in made.data["not_checked"]:
        assert made.texts.section("not_checked")[point] in text
    for name, figure in made.data["assumptions"]["profile"].items():
        assert made.texts(f"figures.{name}") in text
        assert made.figures.number(figure["value"], figure["unit"]) in text
    for run in made.data["runs"]:
        for span in run["assumptions"]["spans"]:
            assert made.figures(span["shortest_mm"], "mm").replace("\N{NO-BREAK SPACE}", " ") in text


@BOTH
@EACH
def test_a_run_that_fails_is_stopped_with_its_reasons(language, name):
    made, files = papers(language)
    text = text_of(files[name])
    failing = [run for run in made.data["runs"] if any(f["verdict"] == "fail" for f in run["findings"])]
    assert failing
    assert text.count(made.texts("common.do_not_build")) == 1 + len(failing)
    for run in failing:
        for finding in run["findings"]:
            assert finding["verdict"] != "fail" or finding["text"] in text


@BOTH
def test_the_fitter_reads_spanners_torque_and_where_to_look(language):
    made, files = papers(language)
    text = text_of(files["installation.pdf"])
    words = FindingsInWords(made)
    for run in made.data["runs"]:
        for end in run["assembly"]["ends"]:
            assert made.figures(end["nut_width_mm"], "mm").replace("\N{NO-BREAK SPACE}", " ") in text
            torque = made.figures.span(end["torque_low_nm"], end["torque_high_nm"], "Nm")
            assert torque.replace("\N{NO-BREAK SPACE}", " ") in text
            assert end["torque_source"] in text
        worst = min((f for f in run["findings"] if f["rule"] == "bend radius"), key=lambda f: f["margin"])
        assert words.pose(worst["pose"]) in text
    for caution in ("pressure", "load", "leak", "hot", "maker", "approve"):
        assert made.texts(f"common.caution_{caution}") in text


@EACH
def test_the_same_input_gives_the_same_bytes(name):
    made, files = papers("en")
    maker = {"installation.pdf": installation, "proof.pdf": proof}[name]
    made.__dict__.pop("pictures", None)  # so that they are drawn again
    assert dict(maker.files(made))[name] == files[name]


@EACH
def test_letter_paper_and_inches(name):
    made, files = papers("en", "letter", "us")
    page = pypdfium2.PdfDocument(files[name])[0]
    assert page.get_size() == pytest.approx((612.0, 792.0), abs=0.5)
    text = text_of(files[name])
    run = made.data["runs"][0]
    assert made.figures(run["assembly"]["overall_length_mm"], "mm").replace("\N{NO-BREAK SPACE}", " ") in text
    assert " mm" not in made.figures(1.0, "mm")


def test_a_margin_of_temperature_is_a_difference():
    made, _ = papers("en", "letter", "us")
    finding = {"margin": 20.0, "unit": "°C"}
    assert FindingsInWords(made).margin(finding) == "+36 °F"


def test_charts_leave_out_what_does_not_move_and_what_is_not_known():
    made, _ = papers("en")
    still = made.result.run("pump to valve")
    assert margins_chart(made.result, still) is None
    assert radius_chart(still).startswith(b"<?xml")
    moving = made.result.run("lift, rod side")
    first, second = (margins_chart(made.result, moving) for _ in range(2))
    assert first == second
    assert b"<dc:date>" not in first
