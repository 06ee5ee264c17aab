"""Installation sheet and proof sheet: what stands on them is what the contract holds, in both languages."""

import copy
from dataclasses import replace

import pypdfium2
import pytest

from hosewright.documents import installation, proof
from hosewright.documents.assumptions import run_assumptions
from hosewright.documents.charts import margins_chart, radius_chart
from hosewright.documents.findings_in_words import FindingsInWords
from hosewright.documents.limit_arithmetic import LimitArithmetic
from hosewright.documents.poses_in_words import PosesInWords
from hosewright.duty import CylinderSide
from machine_papers import fitted_papers, numbers_in, numbers_of, papers, text_of, worked_out

BOTH = pytest.mark.parametrize("language", ["en", "de"])
EACH = pytest.mark.parametrize("name", ["installation.pdf", "proof.pdf"])
JOBS = pytest.mark.parametrize("made_of", [papers, fitted_papers])
LIMITS = [
    {
        "name": name, "kind": kind, "holds": holds, "rule": "bend radius", "subject": "a to b", "measure": measure,
        "limit": 156.0, "unit": "mm", "margin": round(measure - 156.0, 1),
    }
    for name, kind, holds, measure in (
        ("bending 0.2", "stiffness", True, 171.3), ("ports apart", "ports", False, 149.2),
        ("orientation -5", "orientation", True, 188.8),
    )
] + [{"name": "torsion 30", "kind": "stiffness", "holds": False} | dict.fromkeys(
    ("rule", "subject", "measure", "limit", "unit", "margin"))]  # fmt: skip


def spaced(text):
    """As text comes out of a PDF."""
    return " ".join(text.replace("\N{NO-BREAK SPACE}", " ").split())


@JOBS
@BOTH
@EACH
def test_every_number_on_paper_is_one_of_the_contract(made_of, language, name):
    made, files = made_of(language)
    text = text_of(files[name]).replace(made.data["input_hash"], "").replace(made.data["input_hash"][:16], "")
    counted = {"00", *(str(k) for k in range(60))}  # pages, steps, hoses, sources, hours and minutes
    words = numbers_of({key: made.texts.section(key) for key in made.texts.words})
    date = numbers_in(made.date.isoformat())
    assert numbers_in(text) - numbers_of(made.data) - words - counted - date - worked_out(made) == set()


@JOBS
@BOTH
def test_the_proof_holds_every_figure_of_every_finding(made_of, language):
    made, files = made_of(language)
    text = text_of(files["proof.pdf"])
    words, sums = FindingsInWords(made), LimitArithmetic(made)
    for run in made.data["runs"]:
        assert run["name"] in text
        for finding in run["findings"]:
            assert finding["verdict"] == "pass" or spaced(words.text(finding)) in text
            if finding["unit"] == "":
                assert spaced(words.text(finding)) in text
                continue
            bounds = [words.measure(finding), *words.bounds(finding)]
            told = [sums.limit(finding, run), sums.advice(finding, run)]
            for shown in (*bounds, *(one for one in told if one)):
                assert spaced(shown) in text, (run["name"], finding["id"], shown)
            assert finding["limit"] is None or spaced(words.margin(finding)) in text


@BOTH
def test_what_only_advises_is_told_as_within_or_beyond(language):
    made, files = papers(language)
    text = text_of(files["proof.pdf"])
    findings = [finding for run in made.data["runs"] for finding in run["findings"] if finding["limit"] is None]
    beyond = [finding for finding in findings if finding["verdict"] == "advice"]
    assert beyond
    for finding in beyond:
        over = made.figures(round(abs(finding["measure"] - finding["advice_limit"]), 2), finding["unit"])
        assert spaced(made.texts("proof.beyond_advice", by=over)) in text
    for finding in (finding for finding in findings if finding["verdict"] == "pass"):
        by = made.figures(finding["margin"], finding["unit"])
        assert spaced(made.texts("proof.within_advice", by=by)) in text


@pytest.mark.parametrize("verdict", ["unknown", "pass"])
def test_what_cannot_be_judged_is_not_called_a_proof(verdict):
    made, _ = fitted_papers("en")
    data = copy.deepcopy(dict(made.data))
    for finding in (finding for run in data["runs"] for finding in run["findings"]):
        finding["verdict"] = "pass"
    data["runs"][0]["findings"][0]["verdict"] = verdict
    text = text_of(dict(proof.files(replace(made, data=data)))["proof.pdf"])
    for other in ("unknown", "advice", "pass"):
        assert (made.texts(f"proof.verdict_all_{other}") in text) == (other == verdict)


@BOTH
def test_the_first_page_says_whether_to_build(language):
    made, files = fitted_papers(language)
    runs = made.data["runs"]
    text = text_of(files["proof.pdf"])
    assert made.texts("proof.verdict_all_advice") in text
    assert made.texts("proof.verdict_untried") in text
    for run in runs:
        judged = [one for one in run["findings"] if one["unit"] and one["limit"] and one["margin"] is not None]
        tightest = min(judged, key=lambda one: one["margin"] / abs(one["limit"]))
        assert spaced(FindingsInWords(made).sentence(tightest)) in text
    failing, files = papers(language)
    stopped = [run["name"] for run in failing.data["runs"] if failing.stops(run)]
    told = failing.texts(
        "proof.verdict_stopped", stopped=len(stopped), count=len(failing.data["runs"]), names="; ".join(stopped)
    )
    assert told in text_of(files["proof.pdf"])


@BOTH
def test_the_limits_of_a_plan_are_told_with_their_figures(language):
    made, files = fitted_papers(language)
    text = text_of(files["proof.pdf"])
    assert text.count(spaced(made.texts("proof.limits_none"))) == len(made.data["runs"])
    first, *others = made.data["runs"]
    tried = {**made.data, "runs": [{**first, "limits": LIMITS}, *others]}
    text = text_of(dict(proof.files(_with(made, tried)))["proof.pdf"])
    assert text.count(spaced(made.texts("proof.limits_none"))) == len(others)
    assert made.texts("proof.verdict_limits", held=2, count=4) in text
    assert made.texts("proof.verdict_weak", names=first["name"]) in text
    assert text.count(made.texts("proof.holds_not")) == 2
    for limit in LIMITS:
        assert spaced(made.texts.name(limit["name"], "limits")) in text
        if limit["measure"] is not None:
            assert spaced(made.figures(limit["measure"], "mm")) in text
            assert spaced(made.figures(limit["margin"], "mm", sign=True)) in text


def _with(made, data):
    return type(made)(made.file, made.result, data, made.texts, made.settings, made.date)


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
            assert spaced(made.figures(span["shortest_mm"], "mm")) in text


@JOBS
@BOTH
def test_an_inspector_finds_what_went_in(made_of, language):
    made, files = made_of(language)
    text = text_of(files["proof.pdf"])
    for key in ("job", "input_hash", "program", "catalog"):
        assert made.data[key] in text
    for joint in made.data["assumptions"]["motion"]["joints"]:
        shown = (spaced(made.figures(joint[key], joint["unit"])) for key in ("lowest", "highest", "from", "to"))
        assert " ".join([joint["joint"], *shown]) in text
    for run in made.data["runs"]:
        assert spaced(made.figures(run["assumptions"]["flow_l_min"], "L/min")) in text
        for figure in run["assumptions"]["hose_data"]:
            assert spaced(made.figures(figure["value"], figure["unit"])) in text
            assert figure["source"] is None or spaced(made.source(figure)) in text


def with_cylinder(side):
    """Papers of the press, its first line on a cylinder of 80 mm bore and 45 mm rod."""
    made, _ = fitted_papers("en")
    first = made.result.runs[0]
    duty = replace(first.run.duty, cylinder=CylinderSide(0.080, 0.045, side))
    run = replace(first, run=replace(first.run, duty=duty))
    given = {**made.data["runs"][0], "assumptions": run_assumptions(run)}
    assert given["assumptions"]["cylinder"]["side"] == side
    data = {**made.data, "runs": [given, *made.data["runs"][1:]]}
    return given["assumptions"]["cylinder"], text_of(dict(proof.files(replace(made, data=data)))["proof.pdf"])


def test_the_flow_that_a_cylinder_returns_can_be_worked_out_by_hand():
    # 80^2 / (80^2 - 45^2) = 1.4629; of 15 L/min it makes 21.94 L/min; pressures of the piston side stay
    cylinder, text = with_cylinder("piston")
    assert (cylinder["area_ratio"], cylinder["flow_l_min"]) == (1.4629, 21.94)
    assert cylinder["peak_pressure_bar"] == 180.0
    for told in ("flow 15 L/min from the supply", "cylinder ⌀ 80 mm, rod ⌀ 45 mm, line on its piston side", "= 1.4629"):
        assert told in text
    assert "up to 21.94 L/min in this line (flow × 1.4629)" in text
    assert "bar working and" not in text


def test_the_pressure_that_a_cylinder_raises_can_be_worked_out_by_hand():
    # 150 bar x 1.46286 = 219.43 bar, 180 bar x 1.46286 = 263.31 bar; the rod side returns less than it gets
    cylinder, text = with_cylinder("rod")
    assert cylinder["flow_l_min"] == 15.0
    assert "up to 219.43 bar working and 263.31 bar peak in this line (× 1.4629)" in text
    assert "in this line (flow" not in text


def test_limits_in_inches_are_never_laxer_than_they_are():
    words = FindingsInWords(papers("en", "letter", "us")[0])
    # 156 mm = 6.142 in, at least; 9.2 mm = 0.362 in, at most; 275 bar = 3988 psi, at most
    assert spaced(words.bound(156.0, "mm", at_least=True)) == "≥ 6.15 in (156 mm)"
    assert spaced(words.bound(9.2, "mm", at_least=False)) == "≤ 0.36 in (9.2 mm)"
    assert spaced(words.bound(275.0, "bar", at_least=False)).endswith("(275 bar)")


@BOTH
def test_limits_of_ends_that_are_off_say_what_twist_they_count(language):
    made, _ = fitted_papers(language)
    first, *others = made.data["runs"]
    for limits, times in ((LIMITS, 2), (LIMITS[:1], 0)):  # beside the table and among what was assumed
        tried = {**made.data, "runs": [{**first, "limits": limits}, *others]}
        text = text_of(dict(proof.files(_with(made, tried)))["proof.pdf"])
        assert text.count(spaced(made.texts("proof.limits_twist"))) == times


@BOTH
@EACH
def test_the_check_characters_of_tags_are_explained_where_numbers_stand(language, name):
    made, files = fitted_papers(language)
    assert text_of(files[name]).count(made.texts("proof.number_note")) == 1


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
            assert finding["verdict"] != "fail" or spaced(FindingsInWords(made).text(finding)) in text
    if name == "installation.pdf":
        assert text.count(made.texts("installation.held_back")) == len(failing)
        assert text.count(made.texts("installation.not_fitted")) == len(failing)
        assert text.count(made.texts("installation.step_lay")) == len(made.data["runs"]) - len(failing)


@JOBS
@BOTH
def test_the_fitter_reads_spanners_torque_and_where_to_look(made_of, language):
    made, files = made_of(language)
    text = text_of(files["installation.pdf"])
    for run in made.data["runs"]:
        for end in run["assembly"]["ends"]:
            for width in (end["nut_width_mm"], end["hex_width_mm"]):
                assert width is None or spaced(made.figures.spanner(width)) in text
            assert spaced(made.source(end, "torque_source")) in text
        worst = min((f for f in run["findings"] if f["rule"] == "bend radius"), key=lambda f: f["margin"])
        moves = any(finding["rule"] == "plane" for finding in run["findings"])
        if moves and not made.stops(run):
            assert spaced(PosesInWords(made.result, made.texts, made.figures)(worst["pose"])) in text
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
    assert spaced(made.figures(run["assembly"]["overall_length_mm"], "mm")) in text
    assert " mm" not in made.figures(1.0, "mm")
    assert (made.texts("proof.converted") in text) == (name == "proof.pdf")


def test_a_margin_of_temperature_is_a_difference():
    made, _ = papers("en", "letter", "us")
    finding = {"margin": 20.0, "unit": "°C"}
    assert spaced(FindingsInWords(made).margin(finding)) == "+36 °F"


def test_charts_leave_out_what_does_not_move_and_what_is_not_known():
    made, _ = papers("en")
    still = made.result.run("pump to valve")
    assert margins_chart(made.result, still) is None
    assert radius_chart(still).startswith(b"<?xml")
    moving = made.result.run("lift, rod side")
    first, second = (margins_chart(made.result, moving) for _ in range(2))
    assert first == second
    assert b"<dc:date>" not in first
