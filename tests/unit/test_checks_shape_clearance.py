"""Clearance and guard: distances by hand, limits by kind of part, hose against hose."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from checked_runs import HARMLESS, LIGHT, TWO_WIRE, assembly, job, port, run, solved, straight_ports, u_ports
from hosewright.checks import clearance, guard
from hosewright.checks.clearance import check_pairs
from hosewright.checks.finding import Finding, Verdict
from hosewright.checks.run import Clamp, Job
from hosewright.checks.solve import SolvedRun, solve_runs
from hosewright.geometry import BoxShape, SphereShape, least_between
from hosewright.machine import Body, Machine, Mount, Obstacle, Operator, Slide, Surface, Turn

HALF = TWO_WIRE.outside_diameter / 2.0
DISTANCE = 0.6
STIFF = replace(LIGHT, longer=0.0, shorter=0.0)
SAGGING = replace(TWO_WIRE, longer=0.0, shorter=0.0)


def one(made: Job) -> Finding:
    (finding,) = clearance.check(solved(made), made)
    return finding


def taut(**more: Any) -> Job:
    """A hose that lies straight along x at its nominal length."""
    given = {"assembly": replace(assembly(DISTANCE, STIFF)), "bow": (0, 1, 0)} | more.pop("given", {})
    return job(run(0, **given), straight_ports(DISTANCE), **more)


def nominal_only(found: SolvedRun) -> SolvedRun:
    """The run in its first state alone."""
    spans = tuple(replace(span, shapes=span.shapes[:1], lengths=span.lengths[:1]) for span in found.spans)
    return replace(found, states=found.states[:1], spans=spans)


def nominal_gap(made: Job) -> float:
    """Distance of the nominal straight hose from the only obstacle, by many points."""
    points = np.linspace([0, 0, 0], [DISTANCE, 0, 0], 2001)
    return float(made.machine.obstacles[0].shape.distance(points).min()) - HALF


@pytest.mark.parametrize(
    "shape",
    [
        SphereShape((0.3, 0.0, -0.09), 0.05),
        BoxShape((0.31, 0.0, -0.1), (0.02, 0.3, 0.1)),
        BoxShape((0.3, 0.0, 0.07), (0.06, 0.3, 0.06), along=(1.0, 0.0, 1.0), up=(0.0, 1.0, 0.0)),  # an edge to the hose
    ],
)
def test_straight_hose_by_hand(shape: Any) -> None:
    """Surface to surface, in the nominal state."""
    made = taut(obstacles=[Obstacle("part", "chassis", shape)])
    (finding,) = clearance.check(nominal_only(solved(made)), made)
    assert finding.measure == pytest.approx(nominal_gap(made), abs=3e-4)
    assert finding.margin == pytest.approx(finding.measure - 0.010)


@pytest.mark.parametrize("kind", ["sphere inside", "sphere outside", "box"])
def test_arc_by_hand(kind: str) -> None:
    """A U that is a half circle (length pi/2 gap) of 150 mm: parts at its centre, and outside its lowest point."""
    radius = 0.15
    shape = {
        "sphere inside": SphereShape((radius, 0.0, 0.0), 0.08),
        "sphere outside": SphereShape((radius, 0.0, -radius - 0.1), 0.06),
        "box": BoxShape((radius, 0.0, -radius - 0.1), (2.0, 2.0, 0.1)),
    }[kind]
    by_hand = {"sphere inside": radius - 0.08, "sphere outside": 0.04, "box": 0.05}[kind] - HALF - 0.05 * radius
    made = job(run(math.pi * radius, STIFF), u_ports(2.0 * radius), obstacles=[Obstacle("part", "chassis", shape)])
    (finding,) = clearance.check(nominal_only(solved(made)), made)
    assert finding.measure == pytest.approx(by_hand, abs=4e-4)


def test_long_hose_against_a_corner() -> None:
    """4 m of hose: points some mm apart, not a third of an 83 mm element, or the corner slips between two of them."""
    distance = 4.0
    given = assembly(distance, STIFF)
    for x in np.linspace(1.95, 2.05, 7):
        box = BoxShape((float(x), 0.0, -0.03 - 0.05), (0.1, 0.3, 0.1), along=(1.0, 0.0, 1.0))
        edge = -0.08 + 0.05 * math.sqrt(2.0)
        made = job(
            run(0, assembly=given, bow=(0, 1, 0)),
            straight_ports(distance),
            obstacles=[Obstacle("part", "chassis", box)],
        )
        (finding,) = clearance.check(nominal_only(solved(made)), made)
        assert finding.measure == pytest.approx(-edge - HALF, abs=1e-3)


def past(surface: Surface, *, sleeve: bool, moving: bool) -> Finding:
    part = Obstacle("part", "chassis", SphereShape((0.2, 0.0, 0.3), 0.05), surface)
    ports = u_ports(0.4, "arm")
    made = job(run(0.9, sleeve=sleeve), ports, poses=0.05 if moving else 0.0, steps=4, obstacles=[part])
    return one(made)


@pytest.mark.parametrize(
    ("surface", "sleeve", "moving", "limit"),
    [
        (Surface.PLAIN, False, False, 0.010),
        (Surface.PLAIN, False, True, 0.025),
        (Surface.SHARP, False, False, 0.025),
        (Surface.HOT, False, False, 0.100),
        (Surface.HOT, False, True, 0.100),
        (Surface.HOT, True, False, 0.010),  # a sleeve in place of the distance
        (Surface.SHARP, True, True, 0.025),  # but still one that moves past
    ],
)
def test_limits_by_kind_of_part(surface: Surface, sleeve: bool, moving: bool, limit: float) -> None:
    """Common practice, no source."""
    assert past(surface, sleeve=sleeve, moving=moving).limit == pytest.approx(limit)


def test_part_that_carries_the_port_is_not_in_its_way() -> None:
    """3 diameters off the ferrule are not measured against what the port sits on, and all of it against others."""
    plate = BoxShape((-0.11, 0.0, 0.0), (0.1, 0.4, 0.4))  # its face at the seat of port A, 60 mm behind the tail
    block = BoxShape((0.03, 0.0, 0.0), (0.02, 0.4, 0.4))  # across the hose, 20 to 40 mm off the tail
    near = taut(obstacles=[Obstacle("plate", "chassis", plate), Obstacle("block", "chassis", block)])
    on_plate, in_block = clearance.check(solved(near), near)
    assert on_plate.measure == pytest.approx(0.06 + 3.0 * 2.0 * HALF - HALF, abs=0.008)
    assert in_block.verdict is Verdict.FAIL
    assert in_block.measure == pytest.approx(-0.010 - HALF, abs=2e-3)
    assert "inside" in in_block.text


def test_hose_beside_its_clamp_is_not_measured_against_the_clamps_body() -> None:
    beam = BoxShape((0.3, 0.0, -0.06), (0.03, 0.4, 0.1))  # 10 mm under the axis of the hose, 30 mm wide
    made = taut(
        given={"clamps": (Clamp("m1", 0.3),)},
        mounts=[Mount("m1", "chassis", (0.3, 0.0, 0.0), (1, 0, 0))],
        obstacles=[Obstacle("beam", "chassis", beam), Obstacle("other", "arm", beam)],
    )
    beside, other = clearance.check(solved(made), made)
    assert beside.verdict is Verdict.PASS
    assert other.measure == pytest.approx(0.010 - HALF, abs=1e-3)


def two_hoses(spacing: float, moving: float = 0.0) -> tuple[Job, list[SolvedRun]]:
    """Two straight hoses side by side, y apart; the second on the arm, which slides along z."""
    ports = [
        *straight_ports(DISTANCE),
        port("C", "arm", (0, spacing, 0), (1, 0, 0)),
        port("D", "arm", (DISTANCE, spacing, 0), (-1, 0, 0)),
    ]
    first = run(0, assembly=assembly(1.01 * DISTANCE, SAGGING), bow=(0, 0, -1))
    second = run(0, name="two", assembly=assembly(1.01 * DISTANCE, SAGGING), bow=(0, 0, -1), port_a="C", port_b="D")
    made = job([first, second], ports, poses=moving)
    return made, solve_runs(made, made.runs, made.poses)


@pytest.mark.parametrize("spacing", [0.02, 0.03, 0.05])
def test_parallel_hoses_pass_at_their_spacing_less_the_diameter(spacing: float) -> None:
    made, found = two_hoses(spacing)
    pairs = check_pairs(found, made)
    for name, other in (("one", "two"), ("two", "one")):
        (finding,) = pairs[name]
        assert finding.subject == f"hose {other}"
        assert finding.measure == pytest.approx(spacing - 2.0 * HALF, abs=1e-6)
        assert finding.limit == pytest.approx(0.5 * TWO_WIRE.outside_diameter)
        assert finding.verdict is (Verdict.PASS if spacing > 0.035 else Verdict.FAIL)


def test_crossing_hoses_of_two_sizes() -> None:
    """Half of each diameter off the distance of the axes; the limit goes by the thicker one."""
    thin = replace(STIFF, outside_diameter=0.015)
    ports = [
        *straight_ports(DISTANCE),
        port("C", "arm", (0.3, -0.3, 0.06), (0, 1, 0)),
        port("D", "arm", (0.3, 0.3, 0.06), (0, -1, 0)),
    ]
    first = run(0, assembly=assembly(DISTANCE, STIFF), bow=(0, 1, 0))
    second = run(0, name="two", assembly=assembly(DISTANCE, thin), bow=(1, 0, 0), port_a="C", port_b="D")
    made = job([first, second], ports)
    (finding,) = check_pairs(solve_runs(made, made.runs, made.poses), made)["two"]
    assert finding.measure == pytest.approx(0.06 - (0.015 + TWO_WIRE.outside_diameter) / 2.0, abs=1e-6)
    assert finding.limit == pytest.approx(0.5 * TWO_WIRE.outside_diameter)


def test_pair_is_worst_where_the_arm_brings_it() -> None:
    made, found = two_hoses(0.1, moving=0.1)
    (finding,) = check_pairs(found, made)["one"]
    assert finding.place.pose == {"arm": 0.0}
    assert finding.verdict is Verdict.PASS
    assert check_pairs(found, made, only="two") == {"one": [], "two": []}  # too far apart to fail
    made, found = two_hoses(0.03, moving=0.1)
    assert check_pairs(found, made, only="two")["one"] == check_pairs(found, made)["one"]
    assert check_pairs(found, made, only="nobody") == {"one": [], "two": []}


def test_bends_side_by_side_in_all_pairs_of_states() -> None:
    """Concentric U bends: the longest of the inner hangs into the shortest of the outer; by brute force."""
    ports = [*u_ports(0.5), port("C", "arm", (0.06, 0, 0), (0, 0, -1)), port("D", "arm", (0.44, 0, 0), (0, 0, -1))]
    outer, inner = run(1.1, TWO_WIRE), run(0.84, TWO_WIRE, name="two", port_a="C", port_b="D")
    made = job([outer, inner], ports, poses=-0.05, steps=6)
    a, b = solve_runs(made, made.runs, made.poses)
    (finding,) = check_pairs([a, b], made)["one"]
    (opposite,) = check_pairs([a, b], made)["two"]
    fine = [clearance.finer_lines(solved)[1] for solved in (a, b)]
    brute = np.array([[least_between(p, q).distance for q in fine[1]] for p in fine[0]])
    assert finding.measure == pytest.approx(brute.min() - 2.0 * HALF, abs=1e-4)
    assert opposite.measure == finding.measure
    assert opposite.place.state == "longest"
    assert brute[0, 0].min() > brute.min() + 0.002


def test_hoses_in_one_clamp_are_not_measured_there() -> None:
    """Only the places beside both clamps are left out."""
    mounts = [Mount("m1", "chassis", (0.3, 0, 0), (1, 0, 0)), Mount("m2", "chassis", (0.3, 0.03, 0), (1, 0, 0))]
    ports = [
        *straight_ports(DISTANCE),
        port("C", "chassis", (0, 0.2, 0), (1, 0, 0)),
        port("D", "chassis", (DISTANCE, 0.2, 0), (-1, 0, 0)),
    ]
    first = run(0, assembly=assembly(0.605, STIFF), bow=(0, 0, 1), clamps=(Clamp("m1", 0.3025),))
    second = run(0, name="two", assembly=assembly(0.80, STIFF), port_a="C", port_b="D", clamps=(Clamp("m2", 0.4),))
    made = job([first, second], ports, mounts=mounts)
    with_clamps = solve_runs(made, made.runs, made.poses)
    (finding,) = check_pairs(with_clamps, made)["one"]
    assert finding.measure > 0.03 - 2.0 * HALF + 1e-3
    assert abs(finding.place.at - 0.3025) > 1.9 * TWO_WIRE.outside_diameter


def guarded(at: tuple[float, float, float], **more: Any) -> Finding:
    made = taut(operators=[Operator("driver", "chassis", at)], given=more)
    (finding,) = guard.check(solved(made), made)
    return finding


@pytest.mark.parametrize(
    ("more", "verdict", "limit"),
    [
        ({}, Verdict.FAIL, 1.0),
        ({"sleeve": True}, Verdict.PASS, 0.0),
        ({"duty": HARMLESS}, Verdict.PASS, 0.0),
        ({"duty": replace(HARMLESS, temperature_max=323.16)}, Verdict.FAIL, 1.0),  # hot
        ({"duty": replace(HARMLESS, peak_pressure=50.1e5)}, Verdict.FAIL, 1.0),
        ({"duty": replace(HARMLESS, peak_pressure=50.0e5)}, Verdict.PASS, 0.0),
    ],
)
def test_guard(more: dict, verdict: Verdict, limit: float) -> None:
    """ISO 4413 in spirit, from memory: above 50 bar or 50 degrees within a metre."""
    finding = guarded((0.3, 0.0, 0.8), **more)
    assert finding.verdict is verdict
    assert finding.limit == limit
    assert finding.measure == pytest.approx(0.8 - HALF, abs=0.02)
    assert finding.place.at == pytest.approx(0.3, abs=0.02)


def test_guard_far_away() -> None:
    finding = guarded((0.3, 0.0, 1.1))
    assert finding.verdict is Verdict.PASS
    assert finding.margin == pytest.approx(0.1 - HALF, abs=0.02)


def test_operator_on_a_moving_body_comes_near() -> None:
    machine = Machine(
        bodies=(Body("arm", joint=Slide((0, 0, 1))),),
        ports=tuple(straight_ports(DISTANCE)),
        operators=(Operator("driver", "arm", (0.3, 0.0, 2.0)),),
    )
    made = replace(job(run(0.61), straight_ports(DISTANCE), poses=-1.5), machine=machine)
    (finding,) = guard.check(solved(made), made)
    assert finding.verdict is Verdict.FAIL
    assert finding.place.pose["arm"] == pytest.approx(-1.5)


def pruned(a: SolvedRun, b: SolvedRun) -> tuple[float, float]:
    gap = clearance._nearest(a, b, 0.0)
    lines = [list(zip(x.states, x.lines, strict=True)) for x in (a, b)]
    brute = min(least_between(p, q).distance.min() for s, p in lines[0] for t, q in lines[1] if s.down == t.down)
    return float(gap.distance.min()), float(brute)


def test_states_left_out_are_never_the_nearest() -> None:
    generator = np.random.default_rng(11)
    for _ in range(12):
        points, ways = generator.uniform(-0.35, 0.35, (4, 3)), generator.normal(size=(4, 3))
        ports = [port(name, "arm" if name in "BD" else "chassis", points[k], ways[k]) for k, name in enumerate("ABCD")]
        lengths = 1.3 * np.linalg.norm(points[1::2] - points[::2], axis=1) + generator.uniform(0.3, 0.6, 2)
        pair = [run(lengths[0]), run(lengths[1], name="two", port_a="C", port_b="D")]
        made = job(pair, ports, poses=0.1, steps=5, attitude=float(generator.choice([0.0, 0.3])))
        least, brute = pruned(*solve_runs(made, made.runs, made.poses))
        assert least == brute


def test_places_left_out_are_never_the_nearest() -> None:
    """All points in all poses and states against the few that are looked at; the plate carries port A."""
    generator = np.random.default_rng(3)
    for _ in range(25):
        points, ways = generator.uniform(-0.35, 0.35, (2, 3)), generator.normal(size=(2, 3))
        ports = [port("A", "arm", points[0], ways[0]), port("B", "chassis", points[1], ways[1])]
        length = 1.3 * float(np.linalg.norm(points[1] - points[0])) + generator.uniform(0.3, 0.9)
        seat, facing = np.array(ports[0].at), np.array(ports[0].facing)
        plate = BoxShape(tuple(seat - 0.05 * facing), (0.1, 0.3, 0.3), along=ports[0].facing, up=(0.3, 0.8, -0.5))
        ball = SphereShape(tuple(generator.uniform(-0.5, 0.5, 3)), 0.05)
        parts = [Obstacle("plate", "arm", plate), Obstacle("ball", "chassis", ball)]
        made = job(run(length), ports, joint=Turn(ports[0].at, tuple(ways[1])), poses=0.9, steps=9, obstacles=parts)
        found = solved(made)
        arcs, lines = clearance.finer_lines(found)
        for part, finding in zip(parts, clearance.check(found, made), strict=True):
            left_out = clearance.OFF_FERRULE * TWO_WIRE.outside_diameter if part.name == "plate" else -1.0
            brute = min(found.placement.distance(part.name, line[:, arcs > left_out]).min() for line in lines)
            measure = finding.measure + HALF + clearance.coil_set(found, made)
            assert measure == pytest.approx(brute, abs=1e-9)
