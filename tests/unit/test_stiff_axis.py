"""A nearly taut hose is not made longer by the device that keeps its length."""

from __future__ import annotations

from dataclasses import replace

import pytest

from checked_runs import LIGHT, job, run, solved, straight_ports
from hosewright.checks import bend_radius, pressure, slack
from hosewright.checks.check import check
from hosewright.checks.finding import Verdict


def test_radius_of_a_nearly_taut_hose_does_not_depend_on_the_axis():
    hose = replace(LIGHT, longer=0.0, shorter=0.0)
    made = job(run(1.0 * 1.012, hose, bow=(0, 0, 1)), straight_ports(1.0))
    (usual,) = bend_radius.check(solved(made), made)
    (stiff,) = bend_radius.check(solved(replace(made, stiff_axis=1e6)), made)
    (soft,) = bend_radius.check(solved(replace(made, stiff_axis=1e4)), made)
    assert usual.measure == pytest.approx(stiff.measure, rel=0.02)
    assert soft.measure == pytest.approx(stiff.measure, rel=0.05)


def test_a_hose_without_a_mass_is_never_proven():
    """Weight decides how it hangs: what is not known may fail a rule, but not pass it."""
    hose = replace(LIGHT, mass_per_length=None)
    made = job(run(0.9, hose, bow=(0, 0, 1)), straight_ports(0.8))
    verdicts = {finding.rule: finding.verdict for finding in check(made).runs[0].findings}
    assert verdicts[bend_radius.RULE] is Verdict.UNKNOWN
    assert verdicts[slack.RULE] is Verdict.PASS
    assert pressure.RULE in verdicts
