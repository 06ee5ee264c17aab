"""The rules on shape against closed forms and figures of the trade.

References
----------
A. E. H. Love, A Treatise on the Mathematical Theory of Elasticity, 4th ed., 1927, sections 262-263 (the elastica).
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import ellipe, ellipk, gamma

from checked_runs import LIGHT, TWO_WIRE, assembly, job, port, run, solved, straight_ports, u_ports
from hosewright.checks import bend_radius, slack, straight
from hosewright.checks.finding import Verdict
from hosewright.checks.solve import state_lengths
from hosewright.machine import Turn
from hosewright.standards import din_20066

INCH = 0.0254
HALF_BEND = TWO_WIRE.outside_diameter / 2.0


# the rectangular elastica: its half wave spans 2 pi sqrt(2 pi) / Gamma(1/4)^2 of the greatest height y, at which the
# radius is y/2, and is Gamma(1/4)^2 / (2 sqrt(2 pi)) of it long
WIDTH = 2.0 * math.pi * math.sqrt(2.0 * math.pi) / gamma(0.25) ** 2
ARC = gamma(0.25) ** 2 / (2.0 * math.sqrt(2.0 * math.pi))


def test_natural_u_needs_a_gap_of_2_4_radii() -> None:
    """Love 1927, section 263: U between parallel ends that presses on neither of them sideways."""
    gap, part = 0.5, 0.5 / WIDTH
    assert part == pytest.approx(0.417, abs=5e-4)
    made = solved(job(run(gap * ARC / WIDTH, LIGHT), u_ports(gap)))
    assert made.solved
    assert made.spans[0].shapes[0].least_radius[0] == pytest.approx(part * gap, rel=5e-4)
    for length in (1.7, 2.0, 2.4, 3.0):
        other = solved(job(run(gap * length, LIGHT), u_ports(gap)))
        assert other.spans[0].shapes[0].least_radius[0] > part * gap  # the natural length is the worst


def test_shortest_u_is_the_half_circle() -> None:
    """Only there a U needs no more than 2 radii; a bent rod under moments alone is an arc (Love 1927, section 262)."""
    gap = 0.5
    made = solved(job(run(math.pi / 2.0 * gap, LIGHT), u_ports(gap)))
    assert made.spans[0].shapes[0].least_radius[0] == pytest.approx(gap / 2.0, rel=1e-3)
    lengths = math.pi / 2.0 * gap * np.array([1.02, 1.1, 1.2, 1.35])
    radii = [solved(job(run(length, LIGHT), u_ports(gap))).spans[0].shapes[0].least_radius[0] for length in lengths]
    assert (np.diff(radii) < 0.0).all()


@pytest.mark.parametrize(("radii", "verdict"), [(2.35, Verdict.FAIL), (2.45, Verdict.PASS)])
def test_gap_of_a_u(radii: float, verdict: Verdict) -> None:
    """Not the 2 radii of rigid arcs; without length change and tolerance in the way."""
    constant = replace(LIGHT, longer=0.0, shorter=0.0)
    gap = radii * (constant.minimum_bend_radius + HALF_BEND)
    made = job(run(gap * ARC / WIDTH, constant), u_ports(gap))
    (finding,) = bend_radius.check(solved(made), made)
    assert finding.verdict is verdict


def bowed_radius(distance: float, length: float) -> float:
    """Least radius of a clamped straight rod that is pressed together: four quarter waves of the elastica."""
    square = brentq(lambda m: 2.0 * ellipe(m) / ellipk(m) - 1.0 - distance / length, 1e-12, 0.8)
    return length / (8.0 * ellipk(square) * math.sqrt(square))


@pytest.mark.parametrize("distance", [0.45, 0.64, 0.9])
def test_bow_between_aligned_ends(distance: float) -> None:
    """Timoshenko and Gere, Theory of Elastic Stability, 1961, section 2.7."""
    made = solved(job(run(1.1 * distance, LIGHT, bow=(0, 0, 1)), straight_ports(distance)))
    for shapes, length in zip(made.spans[0].shapes, made.spans[0].lengths, strict=True):
        assert shapes.least_radius[0] == pytest.approx(bowed_radius(distance, length), rel=5e-3)


def shortest_straight_run() -> float:
    """Distance of aligned ferrule tails at which slack without reserve just leaves the bend radius of a -8 (2SN)."""

    def spare(distance: float) -> float:
        tolerance = din_20066.length_tolerance(1.05 * distance + 0.12, TWO_WIRE.inside_diameter)
        nominal = distance / (1.0 - 0.04) + tolerance.minus
        return bowed_radius(distance, (nominal + tolerance.plus) * 1.02) - (0.180 + HALF_BEND)

    return brentq(spare, 0.4, 2.0)


def test_straight_run_cannot_keep_slack_and_radius_below_639_mm() -> None:
    """EN 853 2SN -8: MBR 180, OD 23.1, +2/-4 %, with the length tolerance of DIN 20066 (the standards from memory)."""
    least = shortest_straight_run()
    assert least == pytest.approx(0.639, abs=5e-4)
    for distance, possible in ((least - 0.012, False), (least + 0.012, True)):
        verdicts = []
        for spare in np.linspace(1.03, 1.08, 26):
            made = job(run(spare * distance, LIGHT, bow=(0, 0, 1)), straight_ports(distance), port_error=0.0)
            found = solved(made)
            findings = [*slack.check(found, made), *bend_radius.check(found, made)]
            verdicts.append(all(finding.verdict is Verdict.PASS for finding in findings))
        assert any(verdicts) is possible


def test_36_inches_shorten_by_1_44() -> None:
    """A straight run of 36 in at 4 % shortens 1.44 in: common practice, no source."""
    made = assembly(36.0 * INCH)
    nominal, shortest, _ = state_lengths(made, made.free_length, last=False)
    assert (nominal - shortest) / INCH == pytest.approx(1.44)
    found = job(run(36.0 * INCH), straight_ports(36.0 * INCH))
    (finding,) = slack.check(solved(found), found)
    assert finding.verdict is Verdict.FAIL
    assert finding.measure == pytest.approx(-(1.44 * INCH + 0.96 * 0.004))  # and the tolerance of DIN 20066 on top


def test_half_inch_hose_stays_straight_for_one_inch() -> None:
    """Two outside diameters: common practice, no source."""
    half_inch = replace(TWO_WIRE, outside_diameter=0.5 * INCH)
    made = job(run(0.9, half_inch), u_ports(0.45))
    finding = straight.check(solved(made), made)[0]
    assert "first 25 mm" in finding.text


def test_lengths_of_the_states() -> None:
    """DIN 20066: 1000 ordered may be 996 to 1012 at DN 12; +2/-4 % of EN 853 on the free hose."""
    made = assembly(0.880)
    assert made.overall_length == pytest.approx(1.0)
    nominal, shortest, longest = state_lengths(made, made.free_length, last=True)
    assert (nominal, shortest, longest) == pytest.approx((0.880, 0.876 * 0.96, 0.892 * 1.02))


@pytest.mark.parametrize("reserve", [0.0, 0.005, 0.02])
def test_shortest_straight_run_with_slack(reserve: float) -> None:
    """By hand: (F - 4 mm) x 0.96 = distance + reserve, since 840 mm overall allow -4 mm (DIN 20066)."""
    distance = 0.7
    least = (distance + reserve) / 0.96 + 0.004
    for length, verdict in ((least - 1e-4, Verdict.FAIL), (least + 1e-4, Verdict.PASS)):
        made = job(run(length), straight_ports(distance), port_error=reserve)
        (finding,) = slack.check(solved(made), made)
        assert finding.verdict is verdict
        assert finding.margin == pytest.approx(0.96 * (length - least), abs=1e-9)
        assert finding.place.state == "shortest"


@pytest.mark.parametrize(
    ("b", "facing", "way"),
    [
        # in centre-line radii of the hose at its minimum: where b stands, which way the hose runs there, and the way
        ((0.0, 0.0, -2.0), (-1.0, 0.0, 0.0), math.pi),  # U of rigid arcs
        ((1.0, 0.0, -4.0), (0.0, 0.0, -1.0), math.pi / 2.0 + 3.0),  # round one corner
        ((5.0, 0.0, 0.0), (1.0, 0.0, 0.0), 5.0),  # straight on
        ((2.0, 0.0, -2.0), (1.0, 0.0, 0.0), math.pi),  # offset
        ((0.0, 0.0, -0.5), (-0.8, 0.6, 0.0), math.acos(-0.8)),  # not in a plane: radius times turn is proven
    ],
)
def test_slack_counts_the_way_round_the_radius(b: tuple, facing: tuple, way: float) -> None:
    radius = TWO_WIRE.minimum_bend_radius + HALF_BEND
    ports = [
        port("A", "chassis", (0, 0, 0), (1, 0, 0)),
        port("B", "chassis", radius * np.array(b), -np.array(facing)),
    ]
    made = job(run(5.5 * radius), ports)
    found = solved(made)
    (finding,) = slack.check(found, made)
    assert finding.measure == pytest.approx(found.spans[0].lengths[1] - way * radius, abs=1e-5)


def test_hinge_in_line_with_the_fitting() -> None:
    """A U whose arm turns about the middle of its gap by 90 degrees: distances by hand, worst where it is opened."""
    gap = 0.6
    made = job(run(1.4), u_ports(gap, "arm"), joint=Turn((0.0, 0.0, 0.0), (0.0, 1.0, 0.0)), poses=math.pi / 2)
    made = replace(made, profile=made.profile.with_own({"moving_radius_factor": 1.0}, "radius as at rest"))
    found = solved(made)
    assert found.spans[0].distance == pytest.approx(np.full(25, gap))
    assert found.spans[0].b.facing[-1] == pytest.approx([1.0, 0.0, 0.0])
    (finding,) = slack.check(found, made)
    assert finding.place.pose["arm"] == pytest.approx(0.0)
