"""What the installation sheet tells a fitter: adapters, ends, clamps, places to look at and poses, in words."""

import copy
import io
from dataclasses import replace

import pytest
from pypdf import PdfReader

from fitted_job import JOB, bundle, checked
from hosewright.documents.clamps_in_words import ClampsInWords
from hosewright.documents.clocks import clock_in_words, clock_views
from hosewright.documents.findings_in_words import FindingsInWords
from hosewright.documents.fitting_steps import FittingSteps, invented_ends, torque_in_words
from hosewright.documents.limit_arithmetic import LimitArithmetic
from hosewright.documents.looks import Looks
from hosewright.documents.poses_in_words import PosesInWords
from hosewright.words import Figures, Texts
from machine_papers import fitted_papers, text_of


def told(name, **settings):
    """Steps of a run, with its bent parts as the fitter sees them, and its papers."""
    made = bundle(**settings)
    run = next(run for run in made.data["runs"] if run["name"] == name)
    solved = made.result.run(name)
    clocks = clock_views(made.result, solved)
    poses = PosesInWords(made.result, made.texts, made.figures)
    lines = FittingSteps(made, run, solved, clocks, poses).lines()
    return made, run, clocks, [line.replace("\N{NO-BREAK SPACE}", " ") for line in lines]


def test_every_hose_of_the_job_passes():
    assert checked()[1].passed


@pytest.mark.parametrize("language", ["en", "de"])
def test_every_adapter_has_a_step_before_the_hose(language):
    made, run, clocks, lines = told("feed", language=language)
    for end in run["assembly"]["ends"]:
        (adapter,) = end["adapters"]
        names = made.texts.name(adapter["name"]), made.texts.name(adapter["port_side"], "connections")
        step = next(k for k, line in enumerate(lines) if all(name in line for name in names))
        assert step < lines.index(next(line for line in lines if made.texts("installation.step_hand") in line))
        assert end["port"] in lines[step]
        assert "43–53 N m" in lines[step]
    assert any(made.texts("installation.adapter_live") in line for line in lines)
    (view,) = clocks  # of the bent adapter
    clock = clock_in_words(view, made.texts, made.figures)
    assert sum(clock in line for line in lines) == 1


def test_the_adapter_is_held_when_the_hose_goes_on():
    _, _, _, lines = told("feed")
    (end_a,) = (line for line in lines if line.startswith("End a: Hold"))
    (end_b,) = (line for line in lines if line.startswith("End b: Hold"))
    assert "live swivel" in end_a
    assert "Hold the adapter" in end_b
    for line in (end_a, end_b):
        assert "hex 27 mm" in line
        assert "nut 24 mm" in line


def test_an_end_that_cannot_turn_goes_on_first_and_needs_no_nut():
    _, _, _, lines = told("tank")
    fixed = next(k for k, line in enumerate(lines) if line.startswith("End a cannot turn"))
    assert fixed < next(k for k, line in enumerate(lines) if line.startswith("End b: Hold"))
    assert not any(line.startswith("End a: Hold") for line in lines)
    _, files = fitted_papers("en")
    assert "width of the nut" not in text_of(files["installation.pdf"])


def test_clamps_are_named_only_where_there_are_some():
    for name in ("tank", "lid"):
        _, run, _, lines = told(name)
        assert any("clamp" in line.casefold() for line in lines) == bool(run["assembly"]["clamps"])
        for clamp in run["assembly"]["clamps"]:
            assert any(f"{clamp['mount']} at {clamp['mark_mm']:g} mm" in line for line in lines)


def test_a_clamp_that_the_support_rule_advises_is_a_warning():
    made, files = fitted_papers("en")
    text = text_of(files["installation.pdf"])
    tank = next(run for run in made.data["runs"] if run["name"] == "tank")
    finding = next(one for one in tank["findings"] if one["subject"] == "unsupported length")
    assert finding["verdict"] == "advice"
    assert f"{finding['measure']:g} mm of hose lie still without one" in text
    assert text.count("The support rule advises one more") == 1
    clamped = next(one for one in tank["findings"] if one["subject"] == "clamp bracket")
    assert clamped["verdict"] == "advice"
    assert f"The support rule advises against a clamp in a bend: {clamped['text']}" in text


def test_a_clamp_is_told_with_its_place_and_how_closely_the_hose_must_lie_in_it():
    # bracket (-340, -800, 620) with 30 mm up to the axis, from V.B (-740, -800, 270)
    made, run, _, lines = told("tank")
    (step,) = (line for line in lines if line.startswith("Clamps"))
    mark = run["assembly"]["clamps"][0]["mark_mm"]
    where = "on chassis, the middle of the hose 400 mm forward, 380 mm up from port V.B in the fitting pose"
    assert f"bracket at {mark:g} mm ({where}, 30 mm off the bolting face)" in step
    in_hand = min(one["margin"] for one in run["findings"] if one["rule"] == "slack")
    assert in_hand > 5.0
    assert f"within 5 mm: the plan has {in_hand:g} mm of length in hand" in step
    tight = [{**one, "margin": 4.9} if one["rule"] == "slack" else one for one in run["findings"]]
    close = ClampsInWords(made, {**run, "findings": tight}, made.result.run("tank")).closely()
    assert "as exactly as you can: the plan has 4.9" in close


@pytest.mark.parametrize("language", ["en", "de"])
def test_a_sleeve_is_drawn_over_when_the_nuts_are_tight(language):
    made, run, clocks, _ = told("tank", language=language)
    sleeved = {**run, "assembly": {**run["assembly"], "sleeve": True, "sleeve_length_mm": 1290.0}}
    poses = PosesInWords(made.result, made.texts, made.figures)
    lines = FittingSteps(made, sleeved, made.result.run("tank"), clocks, poses).lines()
    words = made.texts.section("installation")
    beginnings = [words[key].partition("{")[0] for key in ("step_hand", "step_sleeve", "step_clamps")]
    tight = max(place for place, line in enumerate(lines) if "N\N{NO-BREAK SPACE}m" in line or "N m" in line)
    hand, sleeve, clamps = (next(k for k, line in enumerate(lines) if line.startswith(one)) for one in beginnings)
    assert hand < tight < sleeve < clamps
    assert made.texts("installation.clamps_sleeved") in lines[clamps]


@pytest.mark.parametrize("language", ["en", "de"])
def test_ends_of_the_example_set_are_said_to_be_invented_on_the_first_page(language):
    made, files = fitted_papers(language)
    assert any("invented" in end["source"] for run in made.data["runs"] for end in run["assembly"]["ends"])
    for name in ("installation.pdf", "proof.pdf"):
        assert made.texts("common.invented_ends") in first_page(files[name])
    real = copy.deepcopy(dict(made.data))
    for end in (end for run in real["runs"] for end in run["assembly"]["ends"]):
        end["source"] = "data sheet"
    assert invented_ends(replace(made, data=real)) == []


def first_page(content):
    return " ".join(PdfReader(io.BytesIO(content)).pages[0].extract_text().split())


def test_a_bow_that_the_job_names_is_told():
    text = JOB.replace('name = "lid"\nfrom = "V.C"', 'name = "lid"\nbow = [0, 0, 1]\nfrom = "V.C"')
    file, result = checked(text)
    made = type(bundle()).make(file, result, bundle().settings)
    run = next(run for run in made.data["runs"] if run["name"] == "lid")
    poses = PosesInWords(result, made.texts, made.figures)
    lines = FittingSteps(made, run, result.run("lid"), [], poses).lines()
    assert any(made.texts("installation.step_bow") in line for line in lines)
    assert not any(made.texts("installation.step_bow") in line for line in told("lid")[3])


def test_one_torque_is_one_figure_and_that_of_a_flange_is_asked_for():
    made = bundle()
    lid = next(run for run in made.data["runs"] if run["name"] == "lid")
    assert torque_in_words(lid["assembly"]["ends"][0], made) == "44\N{NO-BREAK SPACE}N m"
    flange = {"connection": "flange 61 -12 head", "torque_low_nm": 70.0, "torque_high_nm": 70.0}
    assert torque_in_words(flange, made) is None


def test_a_look_says_what_where_and_how_much():
    made = bundle()
    words, poses = FindingsInWords(made), PosesInWords(made.result, made.texts, made.figures)
    looks = Looks(made, words, poses)
    tank = next(run for run in made.data["runs"] if run["name"] == "tank")
    chosen = looks.chosen(tank)
    assert len({finding["rule"] for finding in chosen}) == len(chosen)
    for finding, look in zip(chosen, looks.of(tank), strict=True):
        assert f"{finding['limit'] or finding['advice_limit']:g}" in look.must
        assert look.planned.startswith(f"{finding['measure']:g}")
        assert look.pose == "any"  # a hose that lies still
    bend = next(look for look in looks.of(tank) if "bend" in look.what)
    # 130 mm of radius: 130 - sqrt(130 ** 2 - 50 ** 2) = 10 mm on 100 mm of rule
    assert "100 mm" in bend.check.replace("\N{NO-BREAK SPACE}", " ")
    assert "at most 10 mm" in bend.check.replace("\N{NO-BREAK SPACE}", " ")
    finding = next(one for one in chosen if one["rule"] == "bend radius")
    from_b = tank["assembly"]["free_length_mm"] - finding["at_mm"]
    nearer = (
        f"{from_b:.1f} mm from ferrule b" if from_b < finding["at_mm"] else f"{finding['at_mm']:g} mm from ferrule a"
    )
    assert bend.where.replace("\N{NO-BREAK SPACE}", " ") == nearer


def look_at(name, rule, settings=None, **changes):
    """The look at one finding of a run that is changed, with no-break spaces as plain ones; the finding and its run."""
    made = bundle(**(settings or {}))
    run = next(run for run in made.data["runs"] if run["name"] == name)
    changed = [{**one, **changes} if one["rule"] == rule else one for one in run["findings"]]
    kept = [one for one in changed if one["rule"] in (rule, "twist as built")]
    looks = Looks(made, FindingsInWords(made), PosesInWords(made.result, made.texts, made.figures))
    (look,) = looks.of({**run, "findings": kept})
    finding = next(one for one in changed if one["rule"] == rule)
    return replace(look, check=plain(look.check), must=plain(look.must)), finding, run


def plain(text):
    return text.replace("\N{NO-BREAK SPACE}", " ")


def test_out_of_plane_is_told_as_sideways_travel():
    look, finding, _ = look_at("lid", "plane", measure=6.0, verdict="pass")
    assert look.what.startswith("sideways travel")
    assert (look.must, look.check) == (f"advised: at most {finding['advice_limit']:g} mm", "")


def test_a_plan_beyond_the_advice_is_measured_by_the_plan():
    look, finding, _ = look_at("lid", "plane", measure=16.1, verdict="advice")
    assert look.must == "planned 16.1 mm; more than that: ask"
    assert f"at most {finding['advice_limit']:g} mm, which is no limit" in look.check
    german, _, _ = look_at("lid", "plane", {"language": "de"}, measure=16.1, verdict="advice")
    assert german.must == "geplant 16,1 mm; mehr: fragen"


def test_the_lay_line_may_turn_by_what_motion_building_and_fitting_put_in():
    # 5 deg/m of motion, and 7 deg of building and fitting on 1.2 m: 6 deg + 7 deg
    look, _, run = look_at("lid", "twist in motion", limit=5.0, measure=4.0)
    twisted = {**run, "assembly": {**run["assembly"], "free_length_mm": 1200.0}}
    twisted["findings"] = [
        {**one, **({"limit": 5.0, "measure": 4.0} if one["rule"] == "twist in motion" else {"measure": 5.83})}
        for one in run["findings"]
        if one["rule"] in ("twist in motion", "twist as built")
    ]
    made = bundle()
    looks = Looks(made, FindingsInWords(made), PosesInWords(made.result, made.texts, made.figures))
    (look,) = looks.of(twisted)
    assert "at most 13° round the whole hose, of which up to 7° may come from building and fitting" in look.check


ACROSS = "laid across the inside of the bend stands off it in the middle by"


@pytest.mark.parametrize(
    ("at", "units", "rule"),
    [
        # a chord of 100 mm inside a radius of 130 mm spans (130 + 21.5 / 2) asin(50 / 130) = 55.6 mm of axis each way
        (400.0, "metric", f"a rule of 100 mm {ACROSS} at most 10 mm"),
        (55.0, "metric", f"a rule of 50 mm {ACROSS} at most 2 mm"),
        (640.0, "metric", "a rule of 50 mm"),  # 37 mm from the clamp at 603 mm
        (20.0, "metric", ""),
        (603.0, "metric", ""),
        (55.0, "us", ""),  # 2.5 mm on 2 inches of rule are one mark of a sixteenth
    ],
)  # fmt: skip
def test_a_rule_is_laid_into_a_bend_only_where_the_hose_bends_all_along_it(at, units, rule):
    look, _, _ = look_at("tank", "bend radius", {"units": units}, at_mm=at, limit=130.0)
    assert look.check.startswith(rule)
    assert bool(look.check) == bool(rule)


PLACES = [
    ("en", {"lid": 0.0}, "lid fully down (0°)"),
    ("en", {"lid": 60.0}, "lid fully up (60°)"),
    ("en", {"lid": 31.5}, "lid about half up, 31.5° from fully down (31.5°)"),
    ("en", {"lid": 3.0}, "lid a little up, 3° from fully down (3°)"),
    ("en", {"feed": -60.0}, "feed fully back (-60 mm)"),
    ("en", {"feed": 20.0}, "feed about two thirds forward, 80 mm from fully back (20 mm)"),
    ("en", {"lid": 0.0, "feed": 60.0}, "lid fully down (0°); feed fully forward (60 mm)"),
    ("de", {"lid": 60.0}, "lid ganz oben (60°)"),
    ("de", {"lid": 31.5}, "lid etwa halb gehoben, 31,5° über ganz unten (31,5°)"),
]


@pytest.mark.parametrize(("language", "pose", "words"), PLACES)
def test_poses_are_told_by_their_place_in_the_range(language, pose, words):
    texts = Texts.load(language)
    poses = PosesInWords(checked()[1], texts, Figures(decimal_mark=texts.decimal_mark))
    assert poses(pose).replace("\N{NO-BREAK SPACE}", " ") == words


TURNED = """
[[body]]
name = "table"
turn = { at = [0, 2000, 700], about = [0, 0, 1], from = -30, to = 30 }

[[body]]
name = "flap"
turn = { at = [0, 2500, 700], about = [0, 1, 0], from = 0, to = 40 }

[[body]]
name = "roll"
turn = { at = [0, 3000, 700], about = [0, 1, 0] }

[[obstacle]]
name = "flap"
on = "flap"
box = { at = [500, 2500, 700], size = [900, 100, 10] }

[[cylinder]]
name = "ram"
base = { on = "chassis", at = [0, 2500, 100], pin = [0, 1, 0] }
rod = { on = "flap", at = [500, 2500, 700] }
closed = 400
open = 1100

[[run]]
"""


def test_ways_of_joints_that_turn_about_plumb_sink_or_have_no_stop():
    _, result = checked(JOB.replace("[[run]]\n", TURNED, 1))
    poses = PosesInWords(result, Texts.load("en"), Figures())
    assert poses({"table": -30.0}) == "table turned fully clockwise as seen from above (-30°)"
    assert poses({"flap": 40.0}) == "flap fully down (40°)"
    assert poses({"flap": 0.0}) == "flap fully up (0°)"
    assert poses({"ram": 700.0}) == "cylinder ram fully out (700\N{NO-BREAK SPACE}mm)"
    assert poses({"roll": 12.0}) == "roll 12°"


def test_sums_of_limits_give_the_limits():
    """1.2 x 130 mm = 156 mm; 1.5 x 130 mm + 21.5 mm / 2 = 205.75 mm; 5 deg/m x 23 mm / 21.5 mm = 5.35 deg/m."""
    made = bundle()
    sums = LimitArithmetic(made)
    told = {
        (run["name"], finding["rule"]): (sums.limit(finding, run), sums.advice(finding, run))
        for run in made.data["runs"]
        for finding in run["findings"]
    }
    shown = {key: tuple(one and one.replace("\N{NO-BREAK SPACE}", " ") for one in pair) for key, pair in told.items()}
    assert shown["lid", "bend radius"] == ("1.2 × 130 mm", None)
    assert shown["tank", "bend radius"] == ("minimum of the hose, at rest", None)
    assert shown["lid", "straight at the end"] == ("1.5 × 130 mm + 21.5 mm / 2", "2 × 130 mm + 21.5 mm / 2")
    assert shown["tank", "straight at the end"] == ("1.25 × 130 mm + 21.5 mm / 2", "2 × 130 mm + 21.5 mm / 2")
    assert shown["lid", "twist in motion"] == ("5°/m × 23 mm / 21.5 mm", "2°/m × 23 mm / 21.5 mm")
    assert shown["lid", "plane"] == (None, "0.5 × 21.5 mm")
    assert shown["lid", "slack"] == ("measuring error of the ports", None)
    assert shown["lid", "pressure drop"] == (None, "0.1 × 150 bar")
    tank = next(run for run in made.data["runs"] if run["name"] == "tank")
    support = {one["subject"]: sums.advice(one, tank) for one in tank["findings"] if one["rule"] == "support"}
    assert support["unsupported length"] == "for sizes to -8"
    assert support["clamp bracket"] == "10 × 130\N{NO-BREAK SPACE}mm"
    hoses = [one for one in tank["findings"] if one["subject"].startswith("hose ") and one["rule"] == "clearance"]
    assert {sums.limit(one, tank) for one in hoses} == {"0.5 × 21.5\N{NO-BREAK SPACE}mm"}


def test_no_sum_is_told_that_does_not_give_the_limit():
    made = bundle()
    run = made.data["runs"][0]
    finding = next(one for one in run["findings"] if one["rule"] == "bend radius")
    assert LimitArithmetic(made).limit({**finding, "limit": 157.0}, run) is None
