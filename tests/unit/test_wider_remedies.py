"""Remedies that the search draws: each is applied here and checked again."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from checked_runs import DUTY
from hosewright.assembly import Assembly, End
from hosewright.checks.check import check
from hosewright.checks.finding import Verdict
from hosewright.checks.run import Clamp, Run
from hosewright.geometry import BoxShape
from hosewright.machine import Mount, Obstacle, Surface
from hosewright.search.remedies import with_remedies
from mended_jobs import applied as written
from mended_jobs import checked, failing, mended, wrong_job
from planned_runs import CATALOG, job, port

STRAIGHT = CATALOG.end_form("straight", "face seal -8 female", 8)


def facing(distance):
    return [port("A", "chassis", (0, 0, 0), (1, 0, 0)), port("B", "chassis", (distance, 0, 0), (-1, 0, 0))]


def run(hose, length, **more):
    return Run("one", "A", "B", DUTY, Assembly(CATALOG.hose(hose), End(STRAIGHT), End(STRAIGHT), length), **more)


def end_of(table):
    form = CATALOG.end_form(table["form"], "face seal -8 female", 8)
    adapters = tuple(
        (CATALOG.adapter(one["name"], "face seal -8 male"), math.radians(one["clock"])) for one in table["adapter"]
    )
    return End(form, math.radians(table["clock"]), adapters)


def applied(made, remedy):
    """The job with the change of a remedy."""
    (old,), value = made.runs, remedy.value
    if remedy.path == "run.assembly.hose":
        return replace(made, runs=(replace(old, assembly=replace(old.assembly, hose=CATALOG.hose(value))),))
    length = value["length"] / 1e3
    if remedy.path.startswith("port."):
        name = remedy.path.split(".")[1]
        ports = tuple(
            replace(one, facing=tuple(value["facing"]), up=None) if one.name == name else one
            for one in made.machine.ports
        )
        changed = replace(old, assembly=replace(old.assembly, overall_length=length))
        return replace(made, machine=replace(made.machine, ports=ports), runs=(changed,))
    ends = {name: end_of(table) for name, table in value.get("ends", {}).items()}
    clamps = tuple(Clamp(one["mount"], one["at"] / 1e3) for one in value.get("clamps", ()))
    assembly = replace(old.assembly, overall_length=length, **ends)
    return replace(made, runs=(replace(old, assembly=assembly, clamps=clamps),))


BLOCK = Obstacle("block", "chassis", BoxShape((1.0, 0.0, -0.345), (0.6, 0.6, 0.5)), Surface.SHARP)
BRACKET = Mount("bracket", "chassis", (1.0, 0.0, 0.15), (1.0, 0.0, 0.0), up=(0.0, 0.0, 1.0))
CASES = {
    "too weak": (job(facing(0.95)), run("1SN -8", 1.12), {"pressure": "use hose"}),
    "too near": (job(facing(0.5)), run("2SC -8", 0.66), {"straight at the end": "use a 90 short end"}),
    "in the way": (
        job(facing(2.0), obstacles=[BLOCK], mounts=[BRACKET]),
        run("2SC -8", 2.3, bow=(0.0, 0.0, -1.0)),
        {"clearance": "clamp it at mount bracket"},
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_remedy_clears_its_finding_and_fails_nothing_new(name):
    made, one, expected = CASES[name]
    made = replace(made, runs=(one,))
    found = with_remedies(check(made), CATALOG).runs[0].findings
    failing = [finding for finding in found if finding.verdict is Verdict.FAIL]
    assert failing
    for finding in failing:
        assert finding.remedy.verified
        after = check(applied(made, finding.remedy)).runs[0].findings
        bad = {one.key for one in after if one.verdict is Verdict.FAIL}
        assert finding.key not in bad
        assert bad <= {one.key for one in failing}
    for rule, words in expected.items():
        assert any(words in finding.remedy.text for finding in failing if finding.rule == rule)


def test_where_no_change_clears_it_the_plan_is_pointed_to():
    made = replace(job(facing(2.0), obstacles=[BLOCK]), runs=(run("2SC -8", 2.3, bow=(0.0, 0.0, -1.0)),))
    (finding,) = (f for f in with_remedies(check(made), CATALOG).runs[0].findings if f.verdict is Verdict.FAIL)
    assert not finding.remedy.verified
    assert "hosewright plan JOB --run 'one'" in finding.remedy.text


@pytest.mark.parametrize("seed", [34, 37])
def test_remedies_of_clamped_hoses_hold(seed):
    document = wrong_job(seed)
    run = document["run"][0]
    run["clamps"] = [{"mount": "m", "at": round(0.4 * run["length"])}]
    result = mended(document)
    before = failing(result)
    remedies = {f.key: f.remedy for f in result.run("line 0").findings if f.remedy is not None and f.remedy.verified}
    assert remedies
    for key, remedy in remedies.items():
        after = failing(checked(written(document, "line 0", remedy)))
        assert ("line 0", key) not in after
        assert after <= before
