"""hosewright from Python."""

import runpy
import subprocess
import sys
from pathlib import Path

import pytest

import hosewright
from hosewright.errors import ArgumentError, HosewrightError
from hosewright.jobfile import JobFileError
from hosewright.search.plan import Plan

EXAMPLES = Path(__file__).parents[2] / "docs" / "examples"
STEP = EXAMPLES / "step.toml"


@pytest.fixture(scope="module")
def plan() -> Plan:
    return hosewright.plan(STEP)


def test_importing_loads_nothing() -> None:
    code = "import sys, hosewright; dir(hosewright); print([m for m in ('numpy', 'numba', 'rich') if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_a_plan_prints_as_the_report_and_is_short_by_itself(plan: Plan) -> None:
    assert isinstance(plan, Plan)
    assert str(plan).startswith("step, lift   passes")
    assert str(plan).endswith("everything passes, at the limits too.")
    assert "\x1b" not in str(plan)
    assert len(repr(plan)) < 200
    assert len(repr(plan.file)) < 200


def test_a_plan_can_be_checked_and_the_result_prints(plan: Plan) -> None:
    result = hosewright.check(plan)
    assert result.passed
    own = plan.run("step, lift").result
    assert own is not None
    assert result.run("step, lift").run == own.run
    assert "all" in str(result)
    assert str(result).splitlines()[-1] in repr(result)


def test_a_job_that_is_not_planned_cannot_be_checked() -> None:
    with pytest.raises(JobFileError, match="hose"):
        hosewright.check(STEP)


def test_a_change_leaves_the_file_alone_and_reads_as_typed() -> None:
    before = STEP.read_bytes()
    job = hosewright.change(hosewright.read(STEP), "job.port_error", "1 in")
    assert job.job.port_error == pytest.approx(0.0254)
    job = hosewright.change(job, "run[0].length", 1300)
    assert job.requests[0].overall_length == pytest.approx(1.3)
    assert job.job.port_error == pytest.approx(0.0254)
    assert hosewright.change(STEP, ("run", 0, "flow"), 20).requests[0].duty.flow == pytest.approx(20 / 60e3)
    assert STEP.read_bytes() == before


@pytest.mark.parametrize("place", ["", "job..port_error", "run[x].length", "run[0]length]", "run[7].length"])
def test_no_such_place(place: str) -> None:
    with pytest.raises(ArgumentError):
        hosewright.change(STEP, place, 1)


def test_a_value_that_does_not_fit_is_refused() -> None:
    with pytest.raises(JobFileError, match="port_error"):
        hosewright.change(STEP, "job.port_error", "much")


@pytest.mark.parametrize("seconds", [0, -1.0, float("nan")])
def test_a_time_limit_is_more_than_nothing(seconds: float) -> None:
    with pytest.raises(ArgumentError, match="time limit"):
        hosewright.plan(STEP, time_limit=seconds)


def test_unknown_names() -> None:
    with pytest.raises(HosewrightError, match="step, lift"):
        hosewright.plan(STEP, run="step")
    with pytest.raises(AttributeError, match="plans"):
        hosewright.plans  # noqa: B018
    assert {"read", "change", "check", "plan"} <= set(dir(hosewright))


def test_a_plan_is_saved_whole(plan, tmp_path: Path) -> None:
    files = plan.save(tmp_path / "out")
    assert {path.name for path in files} == {"step.toml", "plan.json", "step-lift.svg"}
    assert hosewright.check(files[0]).passed


def test_the_example_script_runs(capsys: pytest.CaptureFixture[str]) -> None:
    runpy.run_path(str(EXAMPLES / "plan_a_hose.py"), run_name="__main__")
    told = capsys.readouterr().out
    assert "as measured: overall length" in told
    assert "ports within 10 mm: overall length" in told
    assert told.count("passes\n  slack +") == 2
    assert "0 fail" in told.splitlines()[-1]


def test_the_platform_to_be_planned_is_the_platform() -> None:
    folder = EXAMPLES.parents[1] / "examples"
    given, open_job = hosewright.read(folder / "platform.toml"), hosewright.read(folder / "platform_to_plan.toml")
    tables, open_tables = given.document.unwrap(), open_job.document.unwrap()
    assert tables.keys() == open_tables.keys()
    for key in tables.keys() - {"job", "run"}:
        assert tables[key] == open_tables[key]
    for run, open_run in zip(tables["run"], open_tables["run"], strict=True):
        assert {key: run[key] for key in run if key not in ("hose", "length", "sleeve")} == open_run
    assert {key: value for key, value in tables["job"].items() if key != "title"}.items() <= open_tables["job"].items()
