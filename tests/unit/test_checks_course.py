"""The worst of a measure over the motion is the measure that the rule found."""

import numpy as np
import pytest

from checked_runs import assembly, job, port, run
from hosewright.checks.check import check
from hosewright.checks.course import course
from hosewright.checks.run import Clamp
from hosewright.geometry import BoxShape, CylinderShape, Mesh, MeshShape
from hosewright.machine import Mount, Obstacle, Turn

TURN = Turn((0.2, 0.0, 0.0), (0.3, 1.0, 0.1))


@pytest.fixture(scope="module")
def checked():
    ports = [port("A", "chassis", (0, 0, 0), (0, 0, 1)), port("B", "arm", (0.42, 0.05, 0), (0.2, 0, 1))]
    corners = np.array([[0, 0, 0], [0.1, 0, 0], [0, 0.1, 0], [0, 0, 0.1]]) + np.array([0.1, 0.1, 0.2])
    mesh = MeshShape(Mesh(corners, np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]])))
    obstacles = [
        Obstacle("block", "arm", BoxShape((0.3, -0.2, 0.1), (0.1, 0.2, 0.1))),
        Obstacle("bar", "chassis", CylinderShape((0.2, 0.15, -0.2), (0.2, 0.2, 0.4), 0.02)),
        Obstacle("wedge", "chassis", mesh),
    ]
    one = run(0.95, clamps=(Clamp("m", 0.30),))
    mounts = [Mount("m", "chassis", (0.02, 0.0, 0.29), (0.1, 0, 1))]
    made = job(one, ports, joint=TURN, poses=0.7, obstacles=obstacles, mounts=mounts, attitude=0.1)
    return made, check(made)


@pytest.mark.parametrize("rule", ["bend radius", "slack", "twist in motion", "clearance"])
def test_the_worst_of_the_course_is_the_measure(checked, rule):
    made, result = checked
    (found,) = result.runs
    findings = [finding for finding in found.findings if finding.rule == rule]
    assert findings
    for finding in findings:
        values = course(finding, found.solved, made)
        assert values.shape == (len(result.poses),)
        worst = values.min() if finding.at_least else values.max()
        assert worst == pytest.approx(finding.measure, abs=1e-9)
        pose = values.argmin() if finding.at_least else values.argmax()
        assert values[pose] == pytest.approx(
            values[np.argmin(np.abs(result.poses.at - finding.place.path_at))], abs=1e-8
        )


def test_other_findings_have_no_course(checked):
    made, result = checked
    (found,) = result.runs
    assert all(
        course(f, found.solved, made) is None for f in found.findings if f.rule in ("plane", "pressure", "guard")
    )


def test_a_hose_without_a_diameter_has_no_clearance_to_follow():
    from dataclasses import replace

    from checked_runs import TWO_WIRE, straight_ports

    thin = replace(TWO_WIRE, outside_diameter=None)
    block = Obstacle("block", "chassis", BoxShape((0.4, 0.3, 0.0), (0.1, 0.1, 0.1)))
    made = job(run(0.8, assembly=assembly(0.8, thin)), straight_ports(0.75), obstacles=[block])
    (found,) = check(made).runs
    (finding,) = [f for f in found.findings if f.rule == "clearance"]
    assert course(finding, found.solved, made) is None
