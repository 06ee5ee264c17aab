"""Remedies and surplus: every change that is offered is applied here and checked again."""

from dataclasses import replace
from pathlib import Path

import pytest

from hosewright import catalog
from hosewright.checks.check import CheckResult, check
from hosewright.checks.finding import Verdict
from hosewright.jobfile import JobFile, read_job
from hosewright.search.changes import LENGTH_PATH
from hosewright.search.remedies import with_remedies
from hosewright.search.surplus import with_surplus

PLATFORM = Path(__file__).parents[2] / "examples" / "platform.toml"


@pytest.fixture(scope="module")
def file() -> JobFile:
    return read_job(PLATFORM, catalog.load())


@pytest.fixture(scope="module")
def mended(file: JobFile) -> CheckResult:
    return with_surplus(with_remedies(check(replace(file.job, attitude=0.0)), file.catalog))


def lengthened(file: JobFile, name: str, length: float) -> CheckResult:
    runs = tuple(
        replace(run, assembly=replace(run.assembly, overall_length=length)) if run.name == name else run
        for run in file.job.runs
    )
    return check(replace(file.job, runs=runs, attitude=0.0), [name])


def test_every_failing_finding_has_a_remedy_or_says_that_none_was_found(mended: CheckResult) -> None:
    failing = [f for run in mended.runs for f in run.findings if f.verdict is Verdict.FAIL]
    assert failing
    for finding in failing:
        assert finding.remedy is not None
        assert finding.remedy.verified or "none found among" in finding.remedy.text
        assert finding.remedy.verified == (finding.remedy.path is not None)


def test_the_remedy_of_a_short_run_is_the_smallest_length_that_passes(file: JobFile, mended: CheckResult) -> None:
    (slack,) = [f for f in mended.run("pump to valve").findings if f.rule == "slack"]
    assert slack.remedy is not None
    assert slack.remedy.path == LENGTH_PATH
    length = slack.remedy.value / 1e3
    assert lengthened(file, "pump to valve", length).passed
    assert not lengthened(file, "pump to valve", length - 0.005).passed


def test_what_passes_gets_no_remedy(mended: CheckResult) -> None:
    assert all(f.remedy is None for run in mended.runs for f in run.findings if f.verdict is not Verdict.FAIL)


def test_surplus_is_the_way_down_to_the_shortest_length_that_passes(file: JobFile, mended: CheckResult) -> None:
    name = "lift, rod side"
    (surplus,) = [f for f in mended.run(name).findings if f.rule == "surplus"]
    shortest = mended.run(name).run.assembly.overall_length - surplus.measure
    assert lengthened(file, name, shortest).passed
    assert not lengthened(file, name, shortest - 0.005).passed
    assert surplus.margin >= 0.0


def test_runs_that_fail_have_no_surplus(mended: CheckResult) -> None:
    for run in mended.runs:
        assert any(f.rule == "surplus" for f in run.findings) == (run.count(Verdict.FAIL) == 0)
