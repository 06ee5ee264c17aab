"""Planning from the command line: what is written, what is said, and with which exit status."""

import io
import json
import re
import signal
from dataclasses import replace
from pathlib import Path

import pytest
from rich.console import Console

from hosewright import app, cli
from hosewright.app import planning
from hosewright.checks.finding import Verdict
from hosewright.documents import plan_terminal, result_json
from hosewright.errors import DataError
from hosewright.jobfile import read_job
from hosewright.search.robust import Case
from hosewright.words import Figures

STEP = (Path(__file__).parents[2] / "docs" / "examples" / "step.toml").read_text(encoding="utf-8")
BLOCKED = STEP.replace(
    "[[run]]", '[[obstacle]]\nname = "mast"\nbox = { at = [-400, 0, 560], size = [200, 200, 40] }\n\n[[run]]'
)
SECOND = """\
[[port]]
name = "valve B"
at = [-400, -60, 490]
facing = [0, 0, 1]
connection = "face seal -8 male"

[[port]]
name = "arm B"
on = "arm"
at = [430, -60, 710]
facing = [0, 0, 1]
connection = "face seal -8 male"

[[run]]
name = "step, lower"
from = "valve B"
to = "arm B"
pressure = { working = 180, peak = 210 }
flow = 12

"""
TWO = STEP.replace("[[motion]]", SECOND + "[[motion]]").replace("steps = 20", "steps = 6")
RUN_KEYS = {
    "name", "status", "assembly", "findings", "passed", "complete", "cost", "tried", "nearest", "bounds", "robust",
    "alternatives", "refused",
}  # fmt: skip


@pytest.fixture
def call(command):
    return command


@pytest.fixture
def write(tmp_path: Path):
    def job(text: str) -> Path:
        path = tmp_path / "job.toml"
        path.write_text(text, encoding="utf-8")
        return path

    return job


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> app.Planned:
    path = tmp_path_factory.mktemp("planned") / "job.toml"
    path.write_text(STEP, encoding="utf-8")
    return app.plan_job(read_job(path, to_plan=True))


@pytest.fixture
def saved(planned: app.Planned, tmp_path: Path) -> Path:
    """A folder with what is written for a plan."""
    planned.save(tmp_path / "out")
    return tmp_path / "out"


def flat(text: str) -> str:
    """The text as one line."""
    return " ".join(text.split())


def shown(plan: app.Planned, width: int = 80, *, everything: bool = False) -> str:
    text = io.StringIO()
    console = Console(file=text, width=width, color_system=None)
    plan_terminal.show(plan, plan.nearest, console, everything=everything)
    return text.getvalue()


def findings(result: dict) -> dict:
    return {one["id"]: one for run in result["runs"] for one in run["findings"] if one["rule"] != "surplus"}


# ---- what is written ----


def test_a_planned_job_passes_its_check_with_the_same_figures(call, write, tmp_path: Path) -> None:
    job, out = write(STEP), tmp_path / "out"
    status, said, err = call("plan", job, "-o", out)
    assert (status, err) == (0, "")
    assert sorted(path.name for path in out.iterdir()) == ["job.toml", "plan.json", "step-lift.svg"]
    assert "hosewright check" in said

    status, _, _ = call("check", out / "job.toml", "--json", tmp_path / "check.json")
    assert status == 0
    plan, check = (
        json.loads(path.read_text(encoding="utf-8")) for path in (out / "plan.json", tmp_path / "check.json")
    )
    assert findings(plan) == findings(check)
    assert plan["runs"][0]["assembly"] == check["runs"][0]["assembly"]
    assert {key: plan[key] for key in check if key != "runs"} == {key: check[key] for key in check if key != "runs"}
    assert plan["warnings"] == []


def test_the_user_s_own_lines_stay_and_a_later_change_is_noticed(call, saved: Path) -> None:
    path = saved / "job.toml"
    text = path.read_text(encoding="utf-8")
    assert re.sub(r"\[run\.assembly\]\n(?:.+\n)+", "", text, count=1) == STEP
    path.write_text(text.replace("flow = 18", "flow = 19"), encoding="utf-8")
    _, said, _ = call("check", path)
    assert "chosen for other inputs" in flat(said)


def test_into_the_job_s_own_folder_the_job_itself_gets_its_assembly(planned: app.Planned) -> None:
    path = planned.file.path
    assert path in planned.save(path.parent)
    assert path.read_text(encoding="utf-8") == planned.text
    path.write_text(STEP, encoding="utf-8")


def test_files_that_the_job_names_go_with_it_and_others_stay(call, write, tmp_path: Path) -> None:
    (tmp_path / "day").mkdir()
    (tmp_path / "day" / "poses.csv").write_text("arm_deg\n0\n20\n40\n60\n", encoding="utf-8")
    motion = "cycle = [{ arm = 0 }, { arm = 60 }]\nsteps = 20"
    assert motion in STEP
    job, out = write(STEP.replace(motion, 'measured = "day/poses.csv"')), tmp_path / "out"
    out.mkdir()
    (out / "notes.txt").write_text("mine", encoding="utf-8")
    call("plan", job, "-o", out)
    assert (out / "day" / "poses.csv").read_bytes() == (tmp_path / "day" / "poses.csv").read_bytes()
    assert (out / "notes.txt").read_text(encoding="utf-8") == "mine"
    status, said, _ = call("check", out / "job.toml")
    assert status == 0
    assert "Warning" not in said


def test_the_contract_of_a_check_and_what_a_plan_adds(planned: app.Planned) -> None:
    plan = json.loads(planned.json())
    assert (plan["format"], plan["version"]) == ("hosewright-result", 1)
    assert plan["order"] == ["step, lift"]
    assert plan["complete"]
    assert plan["passed"]
    (run,) = plan["runs"]
    assert run.keys() >= RUN_KEYS
    name, bound = next(iter(run["bounds"].items()))
    assert (name, bound["proven"]) == ("overall_length_mm", True)
    assert bound["value"] <= run["assembly"]["overall_length_mm"]
    assert {case["kind"] for case in run["robust"]} >= {"stiffness", "ports"}
    assert all(case["passed"] and case["worst"]["verdict"] != "fail" for case in run["robust"])
    assert run["tried"] >= 1 + len(run["alternatives"])
    for other in run["alternatives"]:
        assert other["cost"] == pytest.approx(run["cost"] + other["cost_more"], abs=1e-3)
    assert any(one["rule"] == "pressure" and "bar" in one["text"] for one in run["refused"])


def test_the_same_input_gives_the_same_bytes(planned: app.Planned) -> None:
    again = app.plan_job(read_job(planned.file.path, to_plan=True))
    assert again.json() == planned.json()
    assert again.text == planned.text


def test_json_on_the_terminal_is_all_that_is_printed(call, write) -> None:
    _, out, err = call("plan", write(STEP), "--json", "-")
    assert json.loads(out)["passed"]
    assert err == ""


def test_a_job_that_changes_while_it_is_planned_is_not_overwritten(planned: app.Planned, tmp_path: Path) -> None:
    path, edited = tmp_path / "job.toml", STEP.replace("flow = 18", "flow = 19")
    path.write_text(edited, encoding="utf-8")
    with pytest.raises(DataError, match="was changed while it was planned"):
        replace(planned, file=replace(planned.file, path=path)).save(tmp_path)
    assert [one.name for one in tmp_path.iterdir()] == ["job.toml"]
    assert path.read_text(encoding="utf-8") == edited


def test_papers_written_into_the_same_folder_leave_the_planned_job_there(call, saved: Path) -> None:
    before = (saved / "job.toml").read_bytes()
    status, _, _ = call("sheets", saved / "job.toml", "-o", saved)
    assert status == 0
    assert (saved / "job.toml").read_bytes() == before
    assert (saved / "plan.json").is_file()


# ---- what is said ----


def test_the_report_tells_what_to_build_and_how_much_room_there_is(planned: app.Planned) -> None:
    (run,) = planned.runs
    assert run.result is not None
    assembly, text = run.result.run.assembly, flat(shown(planned))
    for part in (
        f"hose {assembly.hose.name}",
        f"overall {assembly.overall_length * 1e3:g} mm",
        f"planned {assembly.overall_length * 1e3:g} mm",
        f"at least {int(run.bounds[0].value * 1e3)} mm (proven)",
        "on port valve A",
        f"holds at {len(run.cases)} of {len(run.cases)} limits",
        "clearance to frame +",
        "--all lists them",
        "oil injected under the skin",
        "1 run planned; everything passes",
    ):
        assert part in text
    assert "stiffness other than the nominal" not in text  # a plan tries it
    assert "ports off by their measuring error" not in text
    for one in run.refused:
        assert one.text not in text or one.rule == "straight at the end"
        assert flat(one.text) in flat(shown(planned, everything=True))


def test_the_limits_are_written_with_the_finding_of_the_least_margin(planned: app.Planned, saved: Path) -> None:
    (run,) = planned.runs
    file = read_job(saved / "job.toml")
    limits = file.limits[run.request.name]
    assert [(one["name"], one["kind"], one["holds"]) for one in limits] == [
        (case.name, case.kind, case.passed) for case in run.cases
    ]
    for one in limits:
        assert one["rule"]
        assert abs(one["margin"]) == pytest.approx(abs(one["measure"] - one["limit"]), abs=0.11)
    (told,) = json.loads((saved / "plan.json").read_text(encoding="utf-8"))["runs"]
    assert told["limits"] == limits
    keys = ("rule", "subject", "measure", "limit", "unit", "margin")
    assert [[case["worst"][key] for key in keys] for case in told["robust"]] == [
        [one[key] for key in keys] for one in limits
    ]
    (checked,) = result_json.as_dict(planned.result, "job.toml", file.hash, "", {}, file.limits)["runs"]
    assert checked["limits"] == limits
    assert result_json.as_dict(planned.result, "job.toml", file.hash, "")["runs"][0]["limits"] is None


@pytest.mark.parametrize("width", [60, 80, 120])
def test_no_line_is_wider_than_the_terminal(planned: app.Planned, width: int) -> None:
    assert max(map(len, shown(planned, width, everything=True).splitlines())) <= width


def test_the_report_in_us_units(planned: app.Planned) -> None:
    text = io.StringIO()
    console = Console(file=text, width=100, color_system=None)
    plan_terminal.show(planned, {}, console, figures=Figures("us"))
    shown_us, metric = flat(text.getvalue()), flat(shown(planned))
    (run,) = planned.runs
    assert run.result is not None
    overall = Figures("us").cut(round(run.result.run.assembly.overall_length * 1e3, 1))
    assert f"overall {flat(overall)}," in shown_us
    assert re.search(r"slack [+][0-9.]+ in,", shown_us)
    assert " psi" in shown_us
    assert " bar" not in shown_us.partition("refused")[0]
    assert " psi" not in metric


def test_a_limit_at_which_it_does_not_hold_is_named_with_its_figures(planned: app.Planned) -> None:
    (run,) = planned.runs
    assert run.result is not None
    slack = next(finding for finding in run.result.findings if finding.rule == "slack")
    bad = replace(slack, measure=0.001, verdict=Verdict.FAIL)
    cases = (*run.cases[1:], Case("ports apart", "ports", bad, (bad,), True))
    weak = replace(planned, runs=(replace(run, cases=cases),))
    text = flat(shown(weak))
    assert f"holds at {len(cases) - 1} of {len(cases)} limits" in text
    assert "ports further apart by their measuring error: slack, a to b 1 ≥ 5 mm (-4)" in text
    assert "'step, lift' does not hold at its limits" in text
    assert not weak.passed


def test_a_reserve_that_is_not_kept_at_a_limit_is_told_as_what_is_asked(planned: app.Planned) -> None:
    (run,) = planned.runs
    assert run.result is not None
    radius = next(finding for finding in run.result.findings if finding.rule == "bend radius")
    straight = next(finding for finding in run.result.findings if finding.rule == "straight at the end")
    tight = replace(radius, measure=1.01 * 0.156, limit=0.156, advice_limit=None)
    advised = replace(straight, subject="end b", measure=0.150, limit=0.156, advice_limit=0.189, verdict=Verdict.FAIL)
    cases = (*run.cases[1:], Case("ports sample 5", "ports", tight, (tight, advised), True))
    text = flat(shown(replace(planned, runs=(replace(run, cases=cases),))))
    assert (
        "ports off by their measuring error, sample 5: bend radius, a to b 157.6 mm, but at least 159.1 mm is asked "
        "here: 156 mm and 2 % for the coarser mesh of these trials" in text
    )
    assert "sample 5: straight at the end, end b 150 ≥ 156 mm (-6)" in text


def test_where_nothing_bears_the_pressure_the_nearest_is_named(call, write, tmp_path: Path) -> None:
    status, out, _ = call(
        "plan", write(STEP.replace("working = 180, peak = 210", "working = 900, peak = 950")), "-o", tmp_path / "out"
    )
    assert status == cli.SOMETHING_FAILS
    text = flat(out)
    assert "step, lift has no assembly" in text
    assert re.search(r"Nearest in pressure: the highest peak is 950 bar; .* bears \d+ bar", text)
    assert "pressure" in text[text.index("refused") :]
    (run,) = json.loads((tmp_path / "out" / "plan.json").read_text(encoding="utf-8"))["runs"]
    assert (run["status"], run["assembly"], run["passed"]) == ("no candidate", None, False)
    assert "950 bar" in run["nearest"]


def test_where_nothing_passes_the_least_bad_is_told_and_what_is_in_its_way(call, write) -> None:
    fixed = BLOCKED.replace("flow = 18", 'flow = 18\nends = [{ form = "straight" }, { form = "straight" }]')
    status, out, _ = call("plan", write(fixed))
    assert status == cli.SOMETHING_FAILS
    text = flat(out)
    assert "Nothing that was tried passes" in text
    assert "In the way: port valve A faces 'mast'" in text
    assert "end clearance" in text
    assert "Nothing was written" in text


def test_a_fixed_length_below_the_bound_is_called_so(call, write) -> None:
    status, out, _ = call("plan", write(STEP.replace("flow = 18", "flow = 18\nlength = 700")))
    assert status == cli.SOMETHING_FAILS
    assert "fixed by the job at 700 mm, with which no hose passes between these ends" in flat(out)


CLAMPED = STEP.replace("[[run]]", '[[mount]]\nname = "m1"\nat = [-100, 0, 900]\nalong = [1, 0, 0]\n\n[[run]]').replace(
    "flow = 18",
    'flow = 18\nhose = "2SC -8"\nends = [{ form = "straight" }, { form = "straight" }]\n'
    'clamps = [{ mount = "m1", at = AT }]',
)


def clamped_at(write, at: int) -> app.Planned:
    file = read_job(write(CLAMPED.replace("AT", str(at)).replace("steps = 20", "steps = 6")), to_plan=True)
    return app.plan_job(file)


def test_a_clamp_that_makes_the_hose_long_is_named(write) -> None:
    text = flat(shown(clamped_at(write, 9900)))
    assert re.search(
        r"the job fixes the clamp on 'm1' at 9900 mm, and about \d{3,4} mm would reach it: that is why the hose is so "
        "long",
        text,
    )


def test_a_clock_angle_is_told_with_its_zero(planned: app.Planned) -> None:
    (run,) = planned.runs
    assert run.result is not None
    for end, port in ((run.result.run.assembly.a, "valve A"), (run.result.run.assembly.b, "arm A")):
        told = f"on port {port} (clock from the port's 'up')"
        assert (told in flat(shown(planned))) is (end.form.exit_angle > 0.0)


def test_from_where_on_a_clamp_would_be_reached(write) -> None:
    text = flat(shown(clamped_at(write, 350)))
    found = re.search(r"the clamp on 'm1' at 350 mm: too short; from (\d+) mm on the hose is slack enough there", text)
    assert found is not None
    for at, enough in ((int(found[1]), True), (int(found[1]) - 2, False)):
        (run,) = clamped_at(write, at).runs
        assert run.result is not None
        slack = next(one for one in run.result.findings if (one.rule, one.subject) == ("slack", "a to m1"))
        assert (slack.verdict is not Verdict.FAIL) is enough


# ---- two runs ----


def test_runs_are_planned_in_an_order_that_is_told(call, write, tmp_path: Path) -> None:
    status, out, _ = call("plan", write(TWO), "-o", tmp_path / "out")
    assert status == 0
    assert "Planned in this order: 'step, lift', 'step, lower'" in flat(out)
    status, _, _ = call("check", tmp_path / "out" / "job.toml")
    assert status == 0


def test_a_run_planned_alone_says_so_while_the_other_one_is_open(call, write, tmp_path: Path) -> None:
    job = write(TWO)
    status, out, _ = call("plan", job, "--run", "step, lower", "-o", tmp_path)
    assert status == 0
    assert "'step, lower' was planned as if it were alone" in flat(out)
    assert job.read_text(encoding="utf-8").count("[run.assembly]") == 1

    status, out, _ = call("plan", job, "--run", "step, lift", "-o", tmp_path)  # now the other one is there
    assert status == 0
    assert "as if it were alone" not in flat(out)
    assert "clearance to hose step, lower" in flat(out)
    status, _, _ = call("check", job)
    assert status == 0


def test_papers_of_one_run_while_the_other_one_is_open(call, write, tmp_path: Path) -> None:
    """Planned first, and once more from what was written then: the same findings, surplus among them."""
    job, results = write(TWO), []
    for source, papers in ((job, tmp_path / "one"), (tmp_path / "one" / "job.toml", tmp_path / "two")):
        status, _, _ = call("sheets", source, "-o", papers, "--run", "step, lower")
        assert status == 0
        results.append((papers / "result.json").read_text(encoding="utf-8"))
    assert results[0] == results[1]
    result = json.loads(results[0])
    (run,) = result["runs"]
    assert "surplus" in [finding["rule"] for finding in run["findings"]]
    (warning,) = result["warnings"]
    assert "'step, lower' was checked as if" in warning["text"]

    status, out, _ = call("check", tmp_path / "one" / "job.toml", "--run", "step, lower")
    assert status == 0
    assert "their hoses were not in its way" in flat(out)


def test_a_mistyped_run_of_an_open_job_is_what_is_told(call, write, tmp_path: Path, monkeypatch) -> None:
    def never(*_):
        pytest.fail("was planned")

    monkeypatch.setattr(planning, "plan", never)
    job = write(TWO)
    for command in (("check", job), ("sheets", job, "-o", tmp_path / "papers")):
        status, out, err = call(*command, "--run", "step, lit")
        assert (status, out) == (cli.BAD_INPUT, "")
        assert "no run 'step, lit'. Did you mean 'step, lift'" in flat(err)
        assert "missing" not in err


# ---- stopping ----


def test_a_time_limit_keeps_the_best_so_far(call, write, tmp_path: Path) -> None:
    status, out, _ = call("plan", write(STEP), "--time-limit", "1e-6", "-o", tmp_path / "out")
    plan = json.loads((tmp_path / "out" / "plan.json").read_text(encoding="utf-8"))
    assert not plan["complete"]
    assert plan["runs"][0]["assembly"] is not None
    assert "Not sought to the end: 'step, lift'" in flat(out)
    assert status == (0 if plan["passed"] else cli.SOMETHING_FAILS)


def test_a_search_that_was_stopped_early_does_not_blame_the_catalog(write) -> None:
    file = read_job(write(CLAMPED.replace("AT", "700")), to_plan=True)
    text = flat(shown(app.plan_job(file, over=lambda: True)))
    assert "The search was stopped before it came upon an assembly for this run." in text
    assert "No hose of the catalog" not in text


def test_the_first_interrupt_stops_the_search_and_the_second_quits(call, write, tmp_path: Path, monkeypatch) -> None:
    plan_job, before = app.plan_job, signal.getsignal(signal.SIGINT)

    def interrupted(file, run, progress, over):
        assert not over()
        signal.raise_signal(signal.SIGINT)
        assert over()
        return plan_job(file, run, progress, over)

    def twice(*_):
        signal.raise_signal(signal.SIGINT)
        signal.raise_signal(signal.SIGINT)
        pytest.fail("goes on")

    job = write(STEP)
    monkeypatch.setattr(app, "plan_job", interrupted)
    _, out, err = call("plan", job, "-o", tmp_path / "one")
    assert "the best so far" in err
    assert "Not sought to the end" in flat(out)
    assert (tmp_path / "one" / "job.toml").is_file()

    monkeypatch.setattr(app, "plan_job", twice)
    status, _, err = call("plan", job, "-o", tmp_path / "two")
    assert status == cli.QUIT
    assert "nothing was written" in err
    assert not (tmp_path / "two").exists()
    assert signal.getsignal(signal.SIGINT) is before


# ---- wrong input ----


@pytest.mark.parametrize(
    ("options", "part"),
    [
        (["--time-limit", "0"], "time limit is 0 s; give more than 0"),
        (["--time-limit", "-5"], "time limit is -5 s"),
        (["--time-limit", "nan"], "time limit is nan s"),
        (["--run", "step, lit"], "Did you mean 'step, lift'?"),
        (["-o", "{job}"], "is a file; give a folder"),
        (["-o", "{job}/deeper"], "is a file; give a folder"),
        (["-o", "/proc/none"], "cannot be written"),
        (["--json", "{job}.none/plan.json"], "there is no folder"),
    ],
)
def test_wrong_options_are_told_before_anything_is_planned(call, write, monkeypatch, options, part) -> None:
    def never(*_):
        pytest.fail("was planned")

    job = write(STEP)
    monkeypatch.setattr(planning, "plan", never)
    status, out, err = call("plan", job, *(option.format(job=job) for option in options))
    assert status == cli.BAD_INPUT
    assert part in flat(err)
    assert out == ""


@pytest.mark.parametrize(
    ("old", "new", "part"),
    [
        ('to = "arm A"\n', "", "'to' is missing"),
        ("flow = 18", "flow = 18\nlength = 60", "leaves no free hose"),
        ("flow = 18", 'flow = 18\nhose = "2SC -6"', "-6"),
        ('name = "arm A"', 'name = "arm C"', "arm A"),
    ],
)
def test_contradictions_in_the_job_have_status_2(call, write, tmp_path: Path, old, new, part) -> None:
    assert old in STEP
    status, out, err = call("plan", write(STEP.replace(old, new, 1)), "-o", tmp_path / "out")
    assert status == cli.BAD_INPUT
    assert "job.toml:" in err
    assert part in err
    assert out == ""
    assert not (tmp_path / "out").exists()


def test_a_folder_in_the_way_of_a_file_is_told_first(call, write, tmp_path: Path) -> None:
    (tmp_path / "out" / "plan.json").mkdir(parents=True)
    status, _, err = call("plan", write(STEP), "-o", tmp_path / "out")
    assert status == cli.BAD_INPUT
    assert "'plan.json' is a folder there" in flat(err)
