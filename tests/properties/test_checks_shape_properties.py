"""What must hold for the rules on shape in any job: frame and naming of ends do not matter, data never hurts."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from checked_runs import TWO_WIRE, job, port, run
from hosewright.checks import bend_radius, clearance, motion_twist, plane, slack, straight
from hosewright.checks.finding import Finding, Verdict
from hosewright.checks.run import Job
from hosewright.checks.slack import shortest_way
from hosewright.checks.solve import SolvedRun, solve_runs
from hosewright.geometry import SphereShape
from hosewright.machine import Obstacle, Turn

RULES = (slack, bend_radius, straight, motion_twist, plane, clearance)
QUICK = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.filter_too_much])
UNIT = st.floats(-1.0, 1.0)
VECTOR = st.tuples(UNIT, UNIT, UNIT)
BALL, BALL_RADIUS = np.array([0.2, -0.2, 0.1]), 0.05


@st.composite
def layouts(draw: st.DrawFn) -> dict[str, np.ndarray | float]:
    """Ports in any directions, the second on an arm that turns about any axis; the hose long enough to be soft."""
    b = 0.5 * np.array(draw(VECTOR))
    ways = np.array([draw(VECTOR), draw(VECTOR), draw(VECTOR)])
    assume((np.linalg.norm(ways, axis=1) > 0.3).all() and np.linalg.norm(b) > 0.1)
    assume(np.linalg.norm(b - BALL) > BALL_RADIUS)  # a port inside a part is refused
    return {
        "b": b,
        "ways": ways,
        "angle": draw(st.floats(0.1, 0.8)),
        "length": 1.2 * float(np.linalg.norm(b)) + draw(st.floats(0.5, 0.9)),
    }


def made(layout: dict, move: Callable[[np.ndarray], np.ndarray] = lambda v: v, shift: tuple = (0, 0, 0)) -> Job:
    """The job of a layout, turned and shifted as a whole."""
    ways = np.array([move(way) for way in layout["ways"]])
    at = [move(np.zeros(3)) + shift, move(layout["b"]) + shift]
    ups = [np.cross(way, move(np.array([0.3, 0.8, -0.5]))) for way in ways]
    ports = [port(name, on, at[k], ways[k], ups[k]) for k, (name, on) in enumerate((("A", "chassis"), ("B", "arm")))]
    hinge = move(np.array([0.1, 0.2, 0.0])) + shift
    ball = move(BALL) + shift
    return job(
        run(layout["length"]),
        ports,
        joint=Turn(tuple(map(float, hinge)), tuple(map(float, ways[2]))),
        poses=layout["angle"],
        steps=8,
        obstacles=[Obstacle("ball", "chassis", SphereShape(tuple(map(float, ball)), BALL_RADIUS))],
    )


def solved(given_job: Job) -> SolvedRun:
    (found,) = solve_runs(given_job, given_job.runs, given_job.poses)
    assume(found.solved)
    assume(not any(shapes.snaps for span in found.spans for shapes in span.shapes))
    return found


def findings(given_job: Job) -> dict[str, Finding]:
    found = solved(given_job)
    return {finding.key: finding for rule in RULES for finding in rule.check(found, given_job)}


def least_softness(found: SolvedRun) -> float:
    return min(float(shapes.softness.min()) for span in found.spans for shapes in span.shapes)


@QUICK
@given(layout=layouts(), turn=st.floats(-3.0, 3.0), shift=VECTOR)
def test_the_machines_frame_does_not_matter(layout: dict, turn: float, shift: tuple) -> None:
    """Turned about the vertical and set down elsewhere, all figures are the same."""
    rotation = Rotation.from_rotvec([0.0, 0.0, turn])
    here, there = solved(made(layout)), solved(made(layout, rotation.apply, shift))
    assume(least_softness(here) > 0.01)
    moved = rotation.apply(here.spans[0].fitted.position) + shift
    assume(np.abs(moved - there.spans[0].fitted.position).max() < 1e-3)  # there may be two shapes of one energy
    before, after = findings(made(layout)), findings(made(layout, rotation.apply, shift))
    for key, finding in before.items():
        assert after[key].measure == pytest.approx(finding.measure, rel=1e-4, abs=2e-5), key
        assert after[key].verdict is finding.verdict or abs(finding.margin or 0.0) < 1e-4, key


@QUICK
@given(layout=layouts())
def test_which_end_is_a_does_not_matter(layout: dict) -> None:
    """The orientation angle, the twist and all measures, the travel across the plane seen from the other end apart."""
    there = made(layout)
    back = replace(there, runs=(replace(there.runs[0], port_a="B", port_b="A"),))
    one, other = solved(there), solved(back)
    assume(least_softness(one) > 0.01)
    assume(np.abs(one.spans[0].fitted.position - other.spans[0].fitted.position[::-1]).max() < 1e-3)
    assert math.remainder(one.orientation - other.orientation, math.tau) == pytest.approx(0.0, abs=1e-3)
    for rule in (slack, bend_radius, motion_twist, clearance):
        for first, second in zip(rule.check(one, there), rule.check(other, back), strict=True):
            assert second.measure == pytest.approx(first.measure, rel=1e-3, abs=1e-4)
    at = {finding.subject: finding.measure for finding in straight.check(one, there)}
    swapped = {finding.subject: finding.measure for finding in straight.check(other, back)}
    assert swapped["end b"] == pytest.approx(at["end a"], rel=1e-3)
    assert swapped["end a"] == pytest.approx(at["end b"], rel=1e-3)


@QUICK
@given(layout=layouts())
def test_slack_is_what_its_way_leaves(layout: dict) -> None:
    """Never more than the straight distance leaves; less for a stiffer hose; more for a longer one, by 96 %."""
    there = made(layout)
    found = solved(there)
    span = found.spans[0]
    (finding,) = slack.check(found, there)
    assert finding.measure <= span.lengths[1] - span.distance.max() + 1e-9
    ways = [shortest_way(span, radius) for radius in (0.0, 0.05, 0.1, 0.2)]
    for less, more in itertools.pairwise(ways):
        assert (more >= less - 1e-9).all()
    longer = made({**layout, "length": layout["length"] + 0.01})
    (other,) = slack.check(solved(longer), longer)
    assert other.measure == pytest.approx(finding.measure + 0.0096, abs=0.0021)  # or into the next row of tolerances


@QUICK
@given(layout=layouts(), missing=st.sampled_from(["outside_diameter", "minimum_bend_radius", "shorter", "longer"]))
def test_less_data_never_gives_a_better_verdict(layout: dict, missing: str) -> None:
    """Without a length change the shapes of two states are not known: then only what fails on the others fails."""
    whole, less = findings(made(layout)), made(layout)
    one = less.runs[0]
    hose = replace(TWO_WIRE, **{missing: None})
    for key, finding in findings(
        replace(less, runs=(replace(one, assembly=replace(one.assembly, hose=hose)),))
    ).items():
        if finding.verdict in (Verdict.PASS, Verdict.ADVICE) and key != "twist-in-motion/a-to-b":
            assert finding.verdict is whole[key].verdict, key


@QUICK
@given(layout=layouts())
def test_margins_agree_with_verdicts(layout: dict) -> None:
    for finding in findings(made(layout)).values():
        if finding.limit is not None:
            assert (finding.margin < 0.0) is (finding.verdict is Verdict.FAIL)
        assert finding.place.state in ("nominal", "shortest", "longest")
        assert finding.place.at is None or -1e-9 <= finding.place.at <= made(layout).runs[0].assembly.free_length + 1e-9
