"""From a run to its shapes: spans, lengths, ways down, fitting poses, orientation angle."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from checked_runs import BENT, LIGHT, TWO_WIRE, assembly, job, port, run, solved, straight_ports, u_ports
from hosewright.assembly import End, orientation_angle
from hosewright.checks.run import Clamp, Job
from hosewright.checks.solve import SolvedRun, directions_down, fitting_pose, solve_runs, span_lengths
from hosewright.errors import ArgumentError
from hosewright.geometry import Frames, upright
from hosewright.machine import Body, Machine, Mount, Port, Poses, Slide, Turn, cycle, joined

DISTANCE = 0.6
WAY = 3  # states to a way down


def bent_port(name: str, origin: tuple, facing: tuple, outlet: tuple, end: End) -> Port:
    """A port on which a bent end has its ferrule tail at ``origin``, running to ``facing``, outlet to ``outlet``."""
    tail = end.tail()
    wanted = upright(np.array([facing], dtype=float), np.array([outlet], dtype=float))
    frame = Frames(np.array([origin], dtype=float), wanted @ np.swapaxes(tail.axes, 1, 2))
    at = frame.origin[0] - frame.axes[0] @ tail.origin[0]
    return Port(name, "chassis", tuple(at), tuple(frame.axes[0, :, 0]), tuple(frame.axes[0, :, 1]))


def outlet(angle: float) -> tuple[float, float, float]:
    return (0.0, math.cos(angle), math.sin(angle))


@pytest.mark.parametrize("clocks", [(0.0, 0.0), (0.6, 1.1), (2.0, 4.0)])
@pytest.mark.parametrize("angles", [(0.3, 0.3), (0.3, 2.0), (1.0, -1.4), (0.0, math.pi)])
def test_orientation_angle_of_a_straight_hose(clocks: tuple, angles: tuple) -> None:
    """That of the assembly's convention, whichever end is a and however the elbows are clocked."""
    ends = [End(BENT, clock) for clock in clocks]
    ports = [
        bent_port("A", (0, 0, 0), (1, 0, 0), outlet(angles[0]), ends[0]),
        bent_port("B", (DISTANCE, 0, 0), (-1, 0, 0), outlet(angles[1]), ends[1]),
    ]
    there = run(0, assembly=assembly(1.0005 * DISTANCE, LIGHT, *ends), bow=(0, 0, 1))
    back = run(0, assembly=assembly(1.0005 * DISTANCE, LIGHT, *ends[::-1]), bow=(0, 0, 1), port_a="B", port_b="A")
    expected = orientation_angle((1, 0, 0), outlet(angles[0]), outlet(angles[1]))
    found = [solved(job(one, ports)).orientation for one in (there, back)]
    assert math.remainder(found[0] - expected, math.tau) == pytest.approx(0.0, abs=1e-9)
    assert found[1] == pytest.approx(found[0], abs=1e-9)
    assert all(0.0 <= angle < math.tau for angle in found)


@pytest.mark.parametrize("off", [0.2, -0.35])
def test_built_to_another_angle(off: float) -> None:
    """An assembly built with its angle too large by x lies twisted by -x in the fitting pose."""
    ends = [End(BENT), End(BENT)]
    ports = [
        bent_port("A", (0, 0, 0), (1, 0, 0), outlet(0.2), ends[0]),
        bent_port("B", (0.9, 0, 0), (-1, 0, 0), outlet(1.5), ends[1]),
    ]
    plain = assembly(0.9005, LIGHT, *ends)
    right = solved(job(run(0, assembly=plain, bow=(0, 0, 1)), ports))
    built = replace(plain, orientation_angle=(right.orientation + off) % math.tau)
    made = solved(job(run(0, assembly=built, bow=(0, 0, 1)), ports))
    assert right.misfit == 0.0
    assert right.spans[0].fitted.twist == pytest.approx(0.0, abs=1e-9)
    assert made.misfit == pytest.approx(-off)
    assert made.spans[0].fitted.twist == pytest.approx(-off, rel=0.02)  # the bow gives a little
    assert made.spans[0].shapes[0].twist[0] == pytest.approx(made.spans[0].fitted.twist)


MOUNTS = (
    Mount("m1", "chassis", (0.42, 0, 0), (1, 0, 0)),
    Mount("m2", "chassis", (0.84, 0, 0), (-1, 0, 0)),
)


def clamped() -> SolvedRun:
    made = job(
        run(1.45, clamps=(Clamp("m1", 0.46), Clamp("m2", 0.93)), bow=(0, 0, 1)),
        straight_ports(1.3),
        mounts=MOUNTS,
    )
    return solved(made)


def test_two_clamps_make_three_spans() -> None:
    """Each keeps its length change; the tolerance, 20 over and 6 under at 1570 mm, falls to the last: DIN 20066."""
    found = clamped()
    assert found.solved
    assert [span.name for span in found.spans] == ["a to m1", "m1 to m2", "m2 to b"]
    assert [span.start for span in found.spans] == pytest.approx([0.0, 0.46, 0.93])
    wanted = [
        (0.46, 0.46 * 0.96, 0.46 * 1.02),
        (0.47, 0.47 * 0.96, 0.47 * 1.02),
        (0.52, 0.514 * 0.96, 0.54 * 1.02),
    ]
    for span, lengths in zip(found.spans, wanted, strict=True):
        assert span.lengths == pytest.approx(lengths)
        assert span.a.facing[0] == pytest.approx([1, 0, 0])  # a mount's direction may be given either way
        assert span.b.facing[0] == pytest.approx([1, 0, 0])
    assert found.lines[0].shape == (1, 3 * 48 + 1, 3)
    assert found.arcs[[0, 48, 96, 144]] == pytest.approx([0.0, 0.46, 0.93, 1.45])
    for state, line in enumerate(found.lines):
        assert line[0, [0, 48, 96, 144], 0] == pytest.approx([0.0, 0.42, 0.84, 1.3])
        pieces = np.linalg.norm(np.diff(line[0], axis=0), axis=1).sum()
        assert pieces == pytest.approx(sum(span.lengths[state] for span in found.spans), rel=2e-3)


@pytest.mark.parametrize("places", [(0.93, 0.46), (0.46, 1.5), (-0.1, 0.5), (0.46, 0.46)])
def test_clamps_out_of_order(places: tuple[float, float]) -> None:
    made = assembly(1.45)
    with pytest.raises(ArgumentError, match="clamps must lie in order"):
        span_lengths(made, [Clamp("m1", places[0]), Clamp("m2", places[1])])


def test_state_places_are_told_on_nominal_length() -> None:
    span = clamped().spans[2]
    for state in range(3):
        assert span.nominal_place(0.0, state) == pytest.approx(0.93)
        assert span.nominal_place(span.lengths[state], state) == pytest.approx(1.45)


def test_attitude_tilts_the_way_down_to_four_sides() -> None:
    downs = np.array(directions_down(math.radians(20.0)))
    assert downs.shape == (5, 3)
    assert np.linalg.norm(downs, axis=1) == pytest.approx(np.ones(5))
    assert downs @ [0.0, 0.0, -1.0] == pytest.approx([1.0, *[math.cos(math.radians(20.0))] * 4])
    assert downs.sum(axis=0)[:2] == pytest.approx([0.0, 0.0])
    assert directions_down(0.0) == [(0.0, 0.0, -1.0)]


def test_attitude_moves_the_hose_downhill() -> None:
    """A heavy U in the xz-plane leans to +y and -y when the machine stands across a slope; level it does not."""
    heavy = replace(TWO_WIRE, mass_per_length=3.0)
    made = solved(job(run(1.6, heavy), u_ports(0.4), attitude=math.radians(15.0)))
    assert [state.name for state in made.states] == ["nominal", "shortest", "longest", *["longest"] * 4]
    lean = [float(line[0, 24, 1]) for line in made.lines]
    for state, y in zip(made.states, lean, strict=True):
        assert math.copysign(1.0, y) == math.copysign(1.0, state.down[1]) if state.down[1] else abs(y) < 1e-6
    sideways = [y for state, y in zip(made.states, lean, strict=True) if state.down[1]]
    assert min(abs(y) for y in sideways) > 0.005
    assert sum(sideways) == pytest.approx(0.0, abs=1e-6)
    nominal, shortest, longest = made.spans[0].lengths[:WAY]
    assert [span.lengths for span in made.spans] == [(nominal, shortest, longest, *[longest] * 4)]


def two_joints(**more: Any) -> Job:
    machine = Machine(
        bodies=(Body("arm", joint=Slide((0, 0, 1))), Body("slew", joint=Turn((0, 0, 0), (0, 0, 1)))),
        ports=tuple(u_ports(0.4, "slew")),
    )
    made = job(run(0.9), u_ports(0.4, "arm"), poses=0.1, steps=4, **more)
    return replace(made, machine=machine)


def test_fitted_in_a_pose_of_a_joint_that_the_motion_leaves_alone() -> None:
    """The hose is walked back to where the motion has that joint: no jump into its first pose."""
    found = solved(two_joints(service_poses=({"slew": 0.5},)))
    assert found.fitting_pose == {"arm": 0.0, "slew": 0.5}
    assert found.solved
    assert found.spans[0].fitted.position[-1] == pytest.approx([0.4 * math.cos(0.5), 0.4 * math.sin(0.5), 0.0])
    assert found.spans[0].b.origin == pytest.approx(np.tile([0.4, 0.0, 0.0], (5, 1)))
    # hose and b go back by 0.5 about z, which leaves a, whose way is -z, turned by -0.5 against them; some is bent off
    for shapes in found.spans[0].shapes:
        assert not shapes.snaps
        assert 0.1 < shapes.twist[0] < 0.5


def test_without_a_motion() -> None:
    nothing = Poses((), np.zeros((1, 0)), np.zeros(1, dtype=np.int64), np.zeros(1))
    found = solved(job(run(0.9), u_ports(0.4), poses=nothing))
    assert found.solved
    assert len(found.poses) == 1
    assert found.pose(0) == {}


def test_fitting_pose_is_the_runs_own_before_the_service_pose() -> None:
    made = job(run(0.9, fitting_pose={"arm": 0.03}), u_ports(0.4, "arm"), poses=0.1, service_poses=({"arm": 0.05},))
    assert fitting_pose(made.runs[0], made) == {"arm": 0.03}
    assert fitting_pose(replace(made.runs[0], fitting_pose=None), made) == {"arm": 0.05}
    assert fitting_pose(replace(made.runs[0], fitting_pose=None), replace(made, service_poses=())) == {"arm": 0.0}


def test_motion_in_a_plane_twists_nothing() -> None:
    turn = Turn((0.4, 0.0, 0.1), (0.0, 1.0, 0.0))
    found = solved(job(run(1.2), u_ports(0.4, "arm"), joint=turn, poses=1.2))
    for shapes in found.spans[0].shapes:
        assert np.abs(shapes.twist).max() < 1e-9


def test_motion_out_of_the_plane_twists_by_the_solid_angle() -> None:
    """Yaw, tilt and counter-roll lead end b round a cone without spin: 2 pi (1 - cos tilt), less what bends."""
    tilt, b = 0.3, (0.6, 0.0, 0.5)
    machine = Machine(
        bodies=(
            Body("yaw", joint=Turn(b, (0, 0, 1))),
            Body("tilt", "yaw", joint=Turn(b, (0, 1, 0))),
            Body("roll", "tilt", joint=Turn(b, (0, 0, 1))),
        ),
        ports=(port("A", "chassis", (0, 0, 0), (0, 0, 1)), port("B", "roll", b, (0, 0, -1))),
    )
    loop = [{"yaw": turn, "roll": -turn * math.cos(tilt)} for turn in np.linspace(0.0, math.tau, 25)]
    home = {"yaw": 0.0, "tilt": 0.0, "roll": 0.0}
    poses = cycle([home, {"tilt": tilt}, *loop[1:], {"tilt": 0.0}], 6)
    made = replace(job(run(0.8, LIGHT), straight_ports(1.0)), machine=machine, poses=poses)
    twist = solved(made).spans[0].shapes[0].twist
    solid_angle = math.tau * (1.0 - math.cos(tilt))
    assert twist[0] == pytest.approx(0.0, abs=1e-9)
    assert 0.7 * solid_angle < twist[-1] < solid_angle
    spin = cycle([home, {"yaw": solid_angle}], 30)  # the same angle by turning b about its own axis
    spun = solved(replace(made, poses=spin)).spans[0].shapes[0].twist
    assert twist[-1] == pytest.approx(spun[-1], abs=1e-5)


def test_each_path_starts_from_the_fitting_pose() -> None:
    up, down = cycle([{"arm": 0.0}, {"arm": 0.1}], 6), cycle([{"arm": 0.1}, {"arm": 0.0}], 6)
    found = solved(job(run(0.9), u_ports(0.4, "arm"), poses=joined([up, down])))
    line = found.lines[1]
    assert line[:7] == pytest.approx(line[7:][::-1], abs=1e-7)
    assert found.poses.path.tolist() == [0] * 7 + [1] * 7


def test_runs_are_solved_as_they_would_be_alone() -> None:
    one, two = run(0.9), run(1.1, name="two")
    made = job([one, two], u_ports(0.4, "arm"), poses=0.1)
    both = solve_runs(made, made.runs, made.poses)
    alone = solve_runs(made, [two], made.poses)
    assert both[1].lines[2] == pytest.approx(alone[0].lines[2], abs=1e-12)
