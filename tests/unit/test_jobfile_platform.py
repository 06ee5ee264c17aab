"""The example of the platform fails where its notes say so, and nowhere else."""

from pathlib import Path

import pytest

from hosewright.checks import check as checks
from hosewright.checks.finding import Verdict
from hosewright.jobfile import read_text

PLATFORM = Path(__file__).parents[2] / "examples" / "platform.toml"


@pytest.fixture(scope="module")
def result():
    text = PLATFORM.read_text(encoding="utf-8").replace("steps = 60", "steps = 15")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(checks, "ROUNDS", 0)
        yield checks.check(read_text(text, PLATFORM).job)


def found(result, run, *verdicts):
    return {finding.rule for finding in result.run(run).findings if finding.verdict in verdicts}


@pytest.mark.parametrize(
    ("run", "fails"),
    [
        ("pump to valve", {"slack"}),
        ("lift, rod side", set()),
        ("basket turn", {"twist in motion"}),
        ("boom tool, out", {"clearance"}),
        ("boom tool, back", {"clearance"}),
        ("basket level lock", set()),
    ],
)
def test_a_run_fails_as_intended(result, run, fails):
    assert found(result, run, Verdict.FAIL) == fails
    assert found(result, run, Verdict.UNKNOWN) == set()


def test_only_the_hose_that_looks_sideways_leaves_the_plane(result):
    leaving = [one.run.name for one in result.runs if "plane" in found(result, one.run.name, Verdict.ADVICE)]
    assert leaving == ["basket turn"]


def test_the_bundle_rubs_against_itself(result):
    for run, other in (("boom tool, out", "boom tool, back"), ("boom tool, back", "boom tool, out")):
        failed = [one for one in result.run(run).findings if one.verdict is Verdict.FAIL]
        assert [one.subject for one in failed] == [f"hose {other}"]
