"""Every remedy, written into its job file, clears its finding and fails nothing new."""

from __future__ import annotations

import functools
from pathlib import Path

import pytest
import tomlkit

from hosewright.checks.check import CheckResult
from hosewright.checks.finding import Verdict
from mended_jobs import applied, checked, failing, mended, wrong_job

PLATFORM = Path(__file__).parents[2] / "examples" / "platform.toml"


@functools.cache
def careless(seed: int) -> CheckResult:
    """A job that somebody made up carelessly, with remedies."""
    return mended(wrong_job(seed))


def remedies_hold(document: dict, result: CheckResult) -> int:
    """Check each change that is said to be verified, each only once; how many findings they clear."""
    before, seen, cleared = failing(result), {}, 0
    for run in result.runs:
        for finding in (finding for finding in run.findings if finding.verdict is Verdict.FAIL):
            remedy = finding.remedy
            if not remedy.verified:
                continue
            key = (run.run.name, remedy.text)
            if key not in seen:
                seen[key] = failing(checked(applied(document, run.run.name, remedy)))
            assert (run.run.name, finding.key) not in seen[key]
            assert seen[key] <= before
            cleared += 1
    return cleared


@pytest.mark.parametrize("attitude", [0, 10])
def test_remedies_of_the_platform_hold(attitude: int) -> None:
    document = tomlkit.parse(PLATFORM.read_text("utf-8")).unwrap()
    document["job"]["attitude"] = attitude
    result = mended(document)
    assert remedies_hold(document, result) >= 3  # of four


@pytest.mark.parametrize("seed", range(8))
def test_remedies_of_careless_jobs_hold(seed: int) -> None:
    result = careless(seed)
    assert failing(result)
    remedies_hold(wrong_job(seed), result)


def test_most_careless_findings_have_a_remedy_and_each_says_how_many_were_tried() -> None:
    findings = [
        finding
        for seed in range(8)
        for run in careless(seed).runs
        for finding in run.findings
        if finding.verdict is Verdict.FAIL
    ]
    assert all(finding.remedy.tried > 0 or not finding.remedy.verified for finding in findings)
    assert sum(finding.remedy.verified for finding in findings) > len(findings) / 2
