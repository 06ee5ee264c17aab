"""What holds for any flow, fluid and cylinder."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hosewright.duty import (
    CylinderSide,
    FluidState,
    Passage,
    Side,
    Turn,
    ViscosityCurve,
    bore_for_velocity,
    friction,
    intensified_pressure,
    pressure_drop,
    returned_flow,
    velocity,
)

flows = st.floats(1e-6, 1e-2)
bores = st.floats(3e-3, 0.06)
viscosities = st.floats(1e-6, 1e-2)
temperatures = st.floats(243.0, 393.0)
states = st.builds(FluidState, st.just(313.15), viscosities, st.floats(800.0, 1200.0))


@st.composite
def lines(draw):
    """Bores in a row with bends, as from port to port."""
    count = draw(st.integers(1, 5))
    return [
        Passage(f"p{i}", "bore", draw(bores), draw(st.floats(0.0, 5.0)), draw(st.floats(0.0, 4.0)),
                draw(st.sampled_from(list(Turn))))
        for i in range(count)
    ]  # fmt: skip


@st.composite
def curves(draw):
    """Hydraulic fluids: VG 10 to 150 with viscosity indices from poor to very high."""
    warm = draw(st.floats(10.0, 150.0))
    return ViscosityCurve.through((313.15, warm * 1e-6), (373.15, warm ** draw(st.floats(0.45, 0.65)) * 1e-6))


@given(flows, st.floats(0.1, 20.0))
def test_bore_and_velocity_undo_each_other(flow, speed):
    assert velocity(flow, bore_for_velocity(flow, speed)) == pytest.approx(speed, rel=1e-12)


@given(st.floats(1e-3, 1e6), st.floats(0.0, 0.02))
def test_friction_lies_between_its_branches(reynolds, roughness):
    result = friction(reynolds, roughness)
    low, high = sorted((result.laminar, result.turbulent))
    assert low * (1 - 1e-12) <= result.factor <= high * (1 + 1e-12)


@given(st.floats(1.0, 1e5))
def test_friction_has_no_jump(reynolds):
    assert friction(reynolds * 1.0001).factor == pytest.approx(friction(reynolds).factor, rel=1e-3)


@given(lines(), flows, states, st.floats(1.001, 3.0))
def test_more_flow_drops_more_pressure(line, flow, state, factor):
    less, more = pressure_drop(line, flow, state), pressure_drop(line, flow * factor, state)
    assert more.total >= less.total * (1 - 1e-12)


@given(lines(), flows, states)
def test_breakdown_adds_up(line, flow, state):
    drop = pressure_drop(line, flow, state)
    assert all(loss.drop >= 0.0 for loss in drop.losses)
    assert drop.total == pytest.approx(sum(loss.drop for loss in drop.losses), rel=1e-12)
    assert drop.known == drop.total
    assert drop.highest >= drop.total * (1 - 1e-12)
    assert drop.total == pytest.approx(sum(drop.at(place).total for place in {x.place for x in drop.losses}), rel=1e-9)


@given(lines(), states)
def test_no_flow_no_drop(line, state):
    assert pressure_drop(line, 0.0, state).total == 0.0


@given(bores, flows, states, st.floats(0.1, 5.0), st.floats(0.1, 0.9))
def test_where_a_straight_bore_is_cut_does_not_matter(bore, flow, state, length, share):
    whole = pressure_drop([Passage("a", "hose", bore, length)], flow, state)
    parts = [Passage("a", "hose", bore, length * share), Passage("b", "hose", bore, length * (1 - share))]
    assert pressure_drop(parts, flow, state).total == pytest.approx(whole.total, rel=1e-9)


@given(lines(), flows, states, st.data())
def test_one_unknown_bore_makes_the_sum_unknown_never_smaller(line, flow, state, data):
    hidden = data.draw(st.integers(0, len(line) - 1))
    holes = [
        Passage(p.place, p.name, None if i == hidden else p.bore, p.length or 0.1, p.angle, p.turn)
        for i, p in enumerate(line)
    ]
    drop = pressure_drop(holes, flow, state)
    assert drop.total is None
    assert drop.highest is None
    assert drop.unknown


@given(curves(), temperatures, st.floats(0.5, 40.0))
def test_fluids_thin_with_heat(curve, temperature, warmer):
    assert curve.viscosity(temperature + warmer) < curve.viscosity(temperature)


@given(curves(), temperatures, st.floats(10.0, 60.0))
def test_any_two_points_give_the_same_curve(curve, temperature, apart):
    """Away from the thin end, where equation 3 is only a fit."""
    cold, warm = temperature, temperature + apart
    if curve.viscosity(warm) < 3e-6:
        return
    again = ViscosityCurve.through((cold, curve.viscosity(cold)), (warm, curve.viscosity(warm)))
    assert again.viscosity(333.15) == pytest.approx(curve.viscosity(333.15), rel=2e-3)


@given(st.floats(0.01, 0.3), st.floats(0.05, 0.95), st.floats(1e5, 4e7), flows)
def test_cylinder_conserves_force_and_power(bore, share, pressure, flow):
    rod, piston = (CylinderSide(bore, bore * share, side) for side in Side)
    assert intensified_pressure(pressure, rod) * rod.annulus_area == pytest.approx(pressure * rod.piston_area)
    # p Q on the piston side equals p' Q' on the rod side
    assert intensified_pressure(pressure, rod) * returned_flow(flow, rod) == pytest.approx(pressure * flow)
    assert returned_flow(returned_flow(flow, rod), piston) == pytest.approx(flow)
    assert rod.area_ratio > 1.0
    assert math.isfinite(rod.area_ratio)
