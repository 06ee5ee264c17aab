"""The search: what is fixed stays, what fails is told, and what is chosen passes the check."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from checked_runs import DUTY
from hosewright.assembly import Adapter, End
from hosewright.checks.check import check
from hosewright.checks.finding import Verdict
from hosewright.checks.run import Clamp
from hosewright.geometry import BoxShape
from hosewright.machine import Mount, Obstacle, Operator, Surface, Turn
from hosewright.search import robust
from hosewright.search.candidates import hoses, nearest_in_pressure, undominated
from hosewright.search.plan import plan
from hosewright.search.poses import typical
from hosewright.search.request import EndRequest
from hosewright.search.seeds import family
from planned_runs import CATALOG, CONNECTION, TWO_WIRE, job, planned, port, request

FACING = [port("A", "chassis", (0, 0, 0), (1, 0, 0)), port("B", "chassis", (0.95, 0, 0), (-1, 0, 0))]
LOOP = [port("A", "chassis", (0, 0, 0), (0, 0, -1)), port("B", "arm", (0.62, 0, 0), (0, 0, -1))]
SWING = Turn((0.3, 0.0, 0.3), (0.0, 1.0, 0.0), -1.0, 1.0)
"""The arm swings in the plane of the loop."""


def chosen(made):
    return made.run("one").result.run


def test_what_is_chosen_passes_the_check():
    trial = job(LOOP, SWING, 0.6, port_error=0.005, port_angle_error=math.radians(2.0))
    made = planned(trial, request())
    assert made.passed
    assert made.complete
    again = check(replace(trial, runs=(chosen(made),)))
    assert again.passed
    assert [f.key for f in again.runs[0].findings] == [f.key for f in made.run("one").result.findings]


def test_same_job_same_plan():
    first, second = (planned(job(LOOP, SWING, 0.6), request()) for _ in range(2))
    assert chosen(first) == chosen(second)
    assert [one.run for one in first.run("one").alternatives] == [one.run for one in second.run("one").alternatives]


def test_runners_up_are_of_other_families_and_pass():
    own = planned(job(FACING), request()).run("one")
    families = [family(own.result.run), *(family(one.run) for one in own.alternatives)]
    assert len(families) == 3
    assert len(set(families)) == 3
    assert not any(f.verdict is Verdict.FAIL for one in own.alternatives for f in one.findings)


def test_what_is_fixed_stays():
    end = EndRequest("A", CONNECTION, (), "45 short", math.radians(20.0))
    asked = request(hose=CATALOG.hose("4SP -8"), overall_length=1.3, sleeve=True)
    made = chosen(planned(job(FACING), replace(asked, a=end)))
    assert made.assembly.hose.name == "4SP -8"
    assert made.assembly.overall_length == 1.3
    assert (made.assembly.a.form.name, made.assembly.a.clock) == ("45 short", math.radians(20.0))
    assert made.sleeve


def test_fixed_clamps_stay():
    mount = Mount("m", "chassis", (0.475, 0.0, 0.0), (1.0, 0.0, 0.0), up=(0.0, 0.0, 1.0))
    clamp = Clamp("m", 0.5)
    made = planned(job(FACING, mounts=[mount]), request(clamps=(clamp,), form="straight"))
    assert chosen(made).clamps == (clamp,)


def test_no_hose_bears_the_pressure():
    duty = replace(DUTY, working_pressure=600e5, peak_pressure=620e5)
    made = planned(job(FACING), request(duty=duty))
    own = made.run("one")
    assert own.result is None
    assert not made.passed
    assert {one.rule for one in own.refused} >= {"pressure", "connection"}
    nearest = nearest_in_pressure(request(duty=duty), job(FACING), CATALOG)
    assert nearest.limit == max(CATALOG.hose(name).max_working_pressure for name in ("4SP -8", "R15 -8"))


def test_refused_hoses_name_the_rule():
    found = hoses(request(), job(FACING), CATALOG)
    assert {one.family: one.rule for one in found.refused}["1SN -8"] == "pressure"
    assert next(hose.name for hose in undominated(found.fitting)) == "2SC -8"
    worse = replace(CATALOG.hose("2SC -8"), name="worse", mass_per_length=0.9, minimum_bend_radius=0.2)
    assert "worse" not in {hose.name for hose in undominated([*found.fitting, worse])}


def test_sleeve_where_somebody_stands():
    near = Operator("driver", "chassis", (0.5, 0.5, 0.0))
    assert chosen(planned(job(FACING, operators=[near]), request())).sleeve
    assert not chosen(planned(job(FACING), request())).sleeve


def test_clamp_where_the_hose_would_rub():
    """A hose that is laid to one side meets the block there; a mount above holds it away."""
    block = Obstacle("block", "chassis", BoxShape((1.0, 0.0, -0.33), (0.6, 0.6, 0.5)), Surface.SHARP)
    mount = Mount("bracket", "chassis", (1.0, 0.0, 0.15), (1.0, 0.0, 0.0), up=(0.0, 0.0, 1.0))
    ports = [port("A", "chassis", (0, 0, 0), (1, 0, 0)), port("B", "chassis", (2.0, 0, 0), (-1, 0, 0))]
    asked = request(form="straight", bow=(0.0, 0.0, -1.0))
    bare = planned(job(ports, obstacles=[block]), asked)
    held = planned(job(ports, obstacles=[block], mounts=[mount]), asked)
    assert not bare.passed
    assert [clamp.mount for clamp in chosen(held).clamps] == ["bracket"]
    assert held.passed


def test_live_swivel_as_the_last_resort():
    """The arm turns the port about the hose's own axis: only a live swivel keeps the twist out of it."""
    ports = [port("A", "chassis", (0, 0, 0), (1, 0, 0)), port("B", "arm", (1.1, 0, 0), (-1, 0, 0))]
    about_the_hose = Turn((1.1, 0.0, 0.0), (1.0, 0.0, 0.0), -2.0, 2.0)
    made = planned(job(ports, about_the_hose, 1.5), request())
    assembly = chosen(made).assembly
    assert made.passed
    assert assembly.a.rolls_freely or assembly.b.rolls_freely


def test_stopped_search_keeps_the_best():
    calls = []

    def over():
        calls.append(1)
        return len(calls) > 3

    made = plan(job(LOOP, SWING, 0.6), [request()], CATALOG, over=over)
    assert not made.complete
    assert made.run("one").result is not None


def test_two_runs_make_room_for_each_other():
    """Ports of two runs one behind the other, so that the cheapest hoses of both lie in one place."""
    ports = [
        *FACING,
        replace(FACING[0], name="C", at=(-0.061, 0.03, 0.0)),
        replace(FACING[1], name="D", at=(1.011, 0.03, 0)),
    ]
    both = [request(), replace(request(), name="two", a=EndRequest("C", CONNECTION), b=EndRequest("D", CONNECTION))]
    made = plan(job(ports), both, CATALOG)
    assert made.passed
    assert sorted(made.order) == ["one", "two"]
    assert any("hose" in finding.subject for finding in made.run("one").result.findings)


def test_cases_at_the_limits():
    trial = job(LOOP, SWING, 0.6, port_error=0.005, port_angle_error=math.radians(2.0))
    run = chosen(planned(trial, request()))
    kinds = [setting.kind for setting in robust.settings(run, trial, trial.poses)]
    assert kinds.count("stiffness") == 4
    assert kinds.count("ports") == 2 + robust.SAMPLES
    assert all(case.passed for case in robust.cases(run, trial, trial.poses, []))


def test_every_bent_part_is_tried_off_its_clock():
    elbow = CATALOG.end_form("45 short", "face seal -8 female", 8)
    bent = Adapter("quarter", CONNECTION, CONNECTION, angle=math.pi / 2.0, run=0.03, leg=0.03)
    trial = job(FACING)
    run = chosen(planned(trial, request(form="straight")))
    run = replace(
        run,
        assembly=replace(
            run.assembly,
            a=End(elbow, math.radians(10.0)),
            b=replace(run.assembly.b, adapters=((bent, math.radians(30.0)),)),
        ),
    )
    off = [one for one in robust.settings(run, trial, trial.poses) if one.kind == "clock"]
    turns = [(one.run.assembly.a.clock, one.run.assembly.b.adapters[0][1]) for one in off]
    expected = [(15, 30), (10, 35), (5, 30), (10, 25)]
    assert np.degrees(turns) == pytest.approx(np.array(expected, dtype=float))
    assert len({one.name for one in off}) == 4


def test_short_of_slack_fails_with_ports_apart():
    trial = job(FACING, port_error=0.01)
    run = chosen(planned(replace(trial, port_error=0.0), request(form="straight")))
    cases = {case.name: case for case in robust.cases(run, trial, trial.poses, [])}
    assert not cases["ports apart"].passed
    assert cases["ports apart"].worst.rule == "slack"


@pytest.mark.parametrize("most", [2, 5])
def test_typical_poses_hold_both_ends_of_a_swing(most):
    made = job(LOOP, SWING, 0.6)
    index = typical(made.poses, made.machine.place(made.poses), [("A", "B")], most)
    assert len(index) == most
    assert {0, len(made.poses) - 1} <= set(index.tolist())


def test_hoses_of_the_users_own_are_not_refused_for_want_of_data():
    bare = replace(TWO_WIRE, mass_per_length=None)
    assert [hose.mass_per_length for hose in hoses(request(hose=bare), job(FACING), CATALOG).fitting] == [None]
