"""The command line: exit status, what is written, what is said."""

import json
import os
import subprocess
import sys
from itertools import pairwise
from pathlib import Path

import pytest

from hosewright import cli
from hosewright.jobfile import starter

RUN_KEYS = {"name", "status", "assembly", "findings"}
ASSEMBLY_KEYS = {
    "hose", "overall_length_mm", "cut_length_mm", "free_length_mm", "orientation_angle_deg", "orientation_convention",
    "fitting_pose", "ends", "clamps",
}  # fmt: skip
FINDING_KEYS = {
    "id", "rule", "measure", "limit", "advice_limit", "unit", "margin", "verdict", "confidence", "span", "at_mm",
    "pose", "path", "path_at", "state", "source", "text", "remedy",
}  # fmt: skip


@pytest.fixture
def call(command):
    return command


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = tmp_path / "job.toml"
    path.write_text(starter().replace("steps = 30", "steps = 10"), encoding="utf-8")
    return path


def test_starter_passes_with_status_0(call, job: Path) -> None:
    status, out, _ = call("check", job)
    assert status == 0
    assert out.strip().splitlines()[-1].startswith("1 run in ")
    assert "0 fail" in out
    assert "oil injected under the skin" in out.replace("\n", " ")


def test_what_fails_has_status_1_and_is_listed_first(call, job: Path, tmp_path: Path) -> None:
    job.write_text(job.read_text().replace("peak = 210", "peak = 900"), encoding="utf-8")
    status, out, _ = call("check", job)
    assert status == cli.SOMETHING_FAILS
    first = next(line for line in out.splitlines() if line.startswith("  "))
    assert first.split()[:2] == ["fail", "pressure"]


def test_json_keeps_the_contract(call, job: Path, tmp_path: Path) -> None:
    target = tmp_path / "result.json"
    job.write_text(job.read_text().replace("length = 1", "length = 6", 1), encoding="utf-8")
    call("check", job, "--json", target)
    result = json.loads(target.read_text(encoding="utf-8"))
    assert (result["format"], result["version"]) == ("hosewright-result", 1)
    assert {"program", "catalog", "job", "input_hash", "not_checked"} <= result.keys()
    (run,) = result["runs"]
    assert run.keys() >= RUN_KEYS
    assert run["assembly"].keys() >= ASSEMBLY_KEYS
    assert len({finding["id"] for finding in run["findings"]}) == len(run["findings"])
    for finding in run["findings"]:
        assert finding.keys() >= FINDING_KEYS
        margin = finding["margin"]
        if finding["verdict"] == "fail" and margin is not None:
            assert margin < 0
        if finding["verdict"] in ("pass", "advice") and margin is not None:
            assert margin >= 0
        if finding["remedy"] is not None:
            assert {"text", "change", "verified"} <= finding["remedy"].keys()


def test_the_same_input_gives_the_same_bytes(call, job: Path, tmp_path: Path) -> None:
    texts = []
    for name in ("one.json", "two.json"):
        call("check", job, "--json", tmp_path / name)
        texts.append((tmp_path / name).read_bytes())
    assert texts[0] == texts[1]


def test_json_on_the_terminal_is_all_that_is_printed(call, job: Path) -> None:
    _, out, _ = call("check", job, "--json", "-")
    assert json.loads(out)["format"] == "hosewright-result"


def test_bad_input_has_status_2_names_the_place_and_writes_nothing(call, job: Path, tmp_path: Path) -> None:
    job.write_text(job.read_text().replace('"2SC -8"', '"2SQ -8"'), encoding="utf-8")
    status, out, err = call("check", job, "--json", tmp_path / "result.json")
    assert status == cli.BAD_INPUT
    assert "job.toml:" in err
    assert "2SQ -8" in err
    assert "Did you mean" in err
    assert "Traceback" not in err + out
    assert not (tmp_path / "result.json").exists()


@pytest.mark.parametrize(
    ("arguments", "part"),
    [
        (("check",), "which job"),
        (("check", "missing.toml"), "missing.toml"),
        (("check", "--explain", "bend radios"), "bend radius"),
    ],
)
def test_a_sentence_and_status_2(call, arguments: tuple[str, ...], part: str) -> None:
    status, _, err = call(*arguments)
    assert status == cli.BAD_INPUT
    assert part in err
    assert "Traceback" not in err


def test_a_folder_is_told_with_the_jobs_in_it(call, job: Path) -> None:
    for command in (("check",), ("plan",), ("sheets", "-o", job.parent / "papers")):
        status, _, err = call(*command, job.parent)
        assert status == cli.BAD_INPUT
        assert f"is a folder; name a file in it, such as {job.name}" in err


@pytest.mark.parametrize(("target", "part"), [("none/result.json", "there is no folder"), (".", "is a folder")])
def test_a_result_that_cannot_be_written_is_told_before_the_check(call, job: Path, target: str, part: str) -> None:
    status, out, err = call("check", job, "--json", job.parent / target)
    assert (status, out) == (cli.BAD_INPUT, "")
    assert part in err


def test_units_on_the_spot_or_from_the_settings(call, job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    _, metric, _ = call("check", job, "--all")
    _, us, _ = call("check", job, "--all", "--units", "US")
    assert " bar" in metric
    assert " psi" not in metric
    assert " psi" in us
    assert " psi (210 bar)" in us  # sentences keep what a rating is given in
    settings = job.parent / "settings.toml"
    settings.write_text('units = "us"', encoding="utf-8")
    monkeypatch.setattr("hosewright.settings.user_file", lambda: settings)
    assert call("check", job, "--all")[1] == us
    assert call("check", job, "--all", "--units", "metric")[1] == metric
    status, _, err = call("check", job, "--units", "imperial")
    assert status == cli.BAD_INPUT
    assert "'imperial' is no system of units: give one of metric, us" in err


def test_unknown_run_names_the_known_ones(call, job: Path) -> None:
    status, _, err = call("check", job, "--run", "step lift")
    assert status == cli.BAD_INPUT
    assert "step, lift" in err


@pytest.mark.parametrize("rule", ["bend radius", "Bend-Radius", "surplus", "slack", "end clearance"])
def test_explain_gives_meaning_and_source(call, rule: str) -> None:
    status, out, _ = call("check", "--explain", rule)
    assert status == 0
    assert out.splitlines()[0] == rule.lower().replace("-", " ")
    assert len(out.splitlines()) > 3


def test_explain_gives_figures_in_the_units_of_a_job_file(call) -> None:
    assert "twist_limit = 5 degrees per metre" in call("check", "--explain", "twist in motion")[1]
    assert "clearance_hot = 100 mm" in call("check", "--explain", "clearance")[1]
    assert "guard_temperature = 50 °C" in call("check", "--explain", "guard")[1]


def test_a_code_page_without_our_signs_ends_no_command(job: Path) -> None:
    command = [sys.executable, "-m", "hosewright", "check", str(job), "--all"]
    done = subprocess.run(command, env=os.environ | {"PYTHONIOENCODING": "ascii"}, capture_output=True, check=False)
    assert done.returncode == 0
    assert b"Traceback" not in done.stderr


def test_new_leaves_an_existing_file_alone(call, tmp_path: Path) -> None:
    path = tmp_path / "new.toml"
    assert call("new", path)[0] == 0
    before = path.read_bytes()
    status, _, err = call("new", path)
    assert status == cli.BAD_INPUT
    assert "not overwritten" in err
    assert path.read_bytes() == before


def test_schema_is_json(call) -> None:
    status, out, _ = call("schema")
    assert status == 0
    assert json.loads(out)["$schema"].startswith("https://json-schema.org/")


def test_a_job_without_runs_says_so(call, tmp_path: Path) -> None:
    path = tmp_path / "empty.toml"
    path.write_text('[job]\nformat = 1\ntitle = "nothing yet"\n', encoding="utf-8")
    status, out, _ = call("check", path)
    assert status == 0
    assert " ".join(out.split()) == (
        "The job has no run, so that nothing was checked: add a [[run]] between two ports; for papers of samples alone "
        "take 'hosewright sheets'."
    )


@pytest.mark.parametrize("text", ["[job\nformat = 1\n", "[job", "# a note\n[job\nformat = 1\n"])
def test_a_heading_that_is_not_closed_is_told_with_its_line(call, tmp_path: Path, text: str) -> None:
    path = tmp_path / "open.toml"
    path.write_text(text, encoding="utf-8")
    status, _, err = call("check", path)
    line = text[: text.index("[")].count("\n") + 1
    assert status == cli.BAD_INPUT
    assert f"open.toml:{line}:1: this is not TOML: the brackets of a heading do not match; write [job]" in err


def test_help_flows_in_80_columns(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    command = [sys.executable, "-m", "hosewright", "plan", "--help"]
    told = subprocess.run(command, capture_output=True, check=True, encoding="utf-8").stdout
    lines = [line.strip() for line in told.partition("Arguments")[0].splitlines()]
    for line, after in pairwise(lines):
        if line and after:  # a line ends where the next word would not fit
            assert len(f" {line} {after.split()[0]}") >= 80


def test_demo_draws_its_picture(call, tmp_path: Path) -> None:
    status, out, _ = call("demo", "-o", tmp_path / "out")
    assert status == 0
    assert "Tightest of 200 poses" in out
    assert (tmp_path / "out" / "swing.png").read_bytes().startswith(b"\x89PNG")


def test_version(call) -> None:
    status, out, _ = call("--version")
    assert status == 0
    assert out.split()[0] == "hosewright"
