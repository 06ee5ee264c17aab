"""Ends as bodies in the way of parts."""

import math
from dataclasses import replace

import numpy as np
import pytest

from hosewright import catalog
from hosewright.assembly import Assembly, End
from hosewright.checks import end_clearance
from hosewright.checks.finding import Verdict
from hosewright.checks.run import Job, Run
from hosewright.checks.solve import solve_runs
from hosewright.duty import Duty, Fluid
from hosewright.geometry import BoxShape, Frames
from hosewright.machine import Body, Machine, Obstacle, Port, Turn, cycle

CATALOG = catalog.load()
STRAIGHT = CATALOG.end_form("straight", "face seal -8 female")
ELBOW = CATALOG.end_form("90 short", "face seal -8 female")


def test_axis_of_an_elbow_goes_round_its_corner() -> None:
    """From the seat out of the port by the drop, then along the hose to the ferrule tail."""
    axis = End(ELBOW, clock=math.pi / 2.0).axis()
    held = ELBOW.cutoff + ELBOW.insertion
    assert axis == pytest.approx(np.array([[0, 0, 0], [ELBOW.drop, 0, 0], [ELBOW.drop, 0, -held]]), abs=1e-12)
    assert axis[-1] == pytest.approx(End(ELBOW, clock=math.pi / 2.0).tail().origin[0])


def test_axis_with_an_adapter_passes_its_corner() -> None:
    adapter = CATALOG.adapter("90 swivel", "face seal -8 male")
    axis = End(STRAIGHT, adapters=((adapter, 0.0),)).axis()
    corner, seat = [adapter.run, 0, 0], [adapter.run, adapter.leg, 0]
    held = STRAIGHT.cutoff + STRAIGHT.insertion
    assert axis == pytest.approx(np.array([[0, 0, 0], corner, seat, seat, [adapter.run, adapter.leg + held, 0]]))


def job(box: BoxShape, on: str = "chassis", end: End | None = None) -> Job:
    fluid = Fluid(**vars(CATALOG.fluid("HM 46")))
    duty = Duty("pressure", 200e5, 210e5, 5e-4, fluid, 258.0, 328.0, 353.0)
    machine = Machine(
        bodies=(Body("arm", joint=Turn((0.0, 0.0, -1.0), (1.0, 0.0, 0.0))),),
        ports=(
            Port("A", "chassis", (0.0, 0.0, 0.0), (0.0, 0.0, 1.0), connection="face seal -8 male"),
            Port("B", "chassis", (0.5, 0.0, 0.0), (0.0, 0.0, 1.0), connection="face seal -8 male"),
        ),
        obstacles=(Obstacle("bracket", on, box),),
    )
    straight = End(STRAIGHT)
    run = Run("one", "A", "B", duty, Assembly(CATALOG.hose("2SC -8"), end or straight, straight, 1.2))
    return Job("ends", machine, cycle([{"arm": 0.0}, {"arm": 0.1}], 2), (run,))


def findings(made: Job) -> dict[str, object]:
    (solved,) = solve_runs(made, made.runs, made.poses)
    return {finding.subject: finding for finding in end_clearance.check(solved, made)}


WIDEST = max(STRAIGHT.ferrule_diameter, *(2.0 / math.sqrt(3.0) * w for w in (STRAIGHT.nut_width, STRAIGHT.hex_width)))


def test_distance_to_a_part_beside_the_ferrule() -> None:
    """A wall 40 mm off the axis, less half of ferrule or hexagon across corners; it must not be hit."""
    found = findings(job(BoxShape((-0.06, 0.0, 0.0), (0.04, 0.3, 0.3))))["end a"]
    assert STRAIGHT.ferrule_diameter < WIDEST
    assert found.measure == pytest.approx(0.04 - WIDEST / 2.0, abs=1e-9)
    assert (found.limit, found.verdict) == (0.0, Verdict.PASS)


def test_an_end_begins_flat_at_its_seat() -> None:
    """A plate 9 mm behind the seat, nearer than half the end is wide, stays 9 mm away."""
    found = findings(job(BoxShape((0.0, 0.0, -0.014), (0.3, 0.3, 0.01))))["end a"]
    assert found.measure == pytest.approx(0.009, abs=1e-9)


def test_a_lip_beside_the_seat_is_hit() -> None:
    """It reaches to 5 mm over the seat and to 10 mm from the axis: the nut is wider."""
    lip = BoxShape((-0.06, 0.0, 0.0), (0.10, 0.3, 0.01))
    assert findings(job(lip))["end a"].verdict is Verdict.FAIL


def test_a_port_that_lies_off_takes_its_end_along() -> None:
    wall = job(BoxShape((-0.06, 0.0, 0.0), (0.04, 0.3, 0.3)))
    there = Frames(np.array([[0.0, 0.003, 0.0]]), np.eye(3)[None])  # along the up of the port, which is x
    before = findings(wall)["end a"].measure
    moved = [replace(wall, port_offsets={"A": replace(there, origin=sign * there.origin)}) for sign in (1.0, -1.0)]
    away = [findings(one)["end a"].measure - before for one in moved]
    assert sorted(away) == pytest.approx([-0.003, 0.003], abs=1e-9)


def test_a_wall_through_the_elbow_fails() -> None:
    wall = BoxShape((0.0, 0.06, 0.03), (0.3, 0.02, 0.2))
    assert findings(job(wall))["end a"].verdict is Verdict.PASS
    assert findings(job(wall, end=End(ELBOW, clock=-math.pi / 2.0)))["end a"].verdict is Verdict.FAIL


def test_a_part_that_moves_past_keeps_its_distance() -> None:
    found = findings(job(BoxShape((-0.06, 0.0, 0.0), (0.04, 0.3, 0.3)), on="arm"))["end a"]
    assert found.limit == pytest.approx(0.025)


def test_without_a_ferrule_diameter_nothing_passes() -> None:
    made = job(BoxShape((-0.2, 0.0, 0.0), (0.04, 0.3, 0.3)), end=End(replace(STRAIGHT, ferrule_diameter=None)))
    assert findings(made)["end a"].verdict is Verdict.UNKNOWN


def test_the_part_that_carries_the_port_is_left_out() -> None:
    assert findings(job(BoxShape((0.25, 0.0, -0.05), (1.0, 0.2, 0.1)))) == {}
