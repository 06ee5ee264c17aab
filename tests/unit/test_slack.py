"""What the rule of slack says where more hose would not help."""

from __future__ import annotations

import numpy as np
import pytest

from checked_runs import TWO_WIRE, job, port, run, solved
from hosewright.checks import slack
from hosewright.checks.finding import Finding

RADIUS = TWO_WIRE.minimum_bend_radius + TWO_WIRE.outside_diameter / 2.0


def finding(along: float, aside: float, length: float) -> Finding:
    """Of a hose between parallel ports, so many radii on and aside."""
    tail = RADIUS * np.array([along, 0.0, -aside])
    made = job(
        run(length * RADIUS), [port("A", "chassis", (0, 0, 0), (1, 0, 0)), port("B", "chassis", tail, (-1, 0, 0))]
    )
    (found,) = slack.check(solved(made), made)
    return found


def test_too_tight_for_the_radius_is_said_to_be_a_loop() -> None:
    found = finding(along=1.0, aside=1.5, length=2.2)
    way = found.measure * -1e3 + float(found.text.split("shortest the hose is ")[1].split(" mm")[0])
    assert "of slack" not in found.text
    assert f"too tight for a radius of {RADIUS * 1e3:.0f} mm" in found.text
    loop = float(found.text.split("a loop of ")[1].split(" mm")[0])
    assert loop == pytest.approx(way, abs=1.1)
    assert loop / 1e3 > np.hypot(1.0, 1.5) * RADIUS + np.pi * RADIUS


def test_a_way_that_keeps_the_radius_is_said_with_its_slack() -> None:
    found = finding(along=4.0, aside=1.5, length=4.0)
    assert "loop" not in found.text
    assert f"{found.measure * 1e3:.0f} mm of slack" in found.text
