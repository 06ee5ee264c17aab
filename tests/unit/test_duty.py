"""Facts of a duty: missing data stays unknown, messages carry the value."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from hosewright.assembly import Adapter, Assembly, End, EndForm, Hose, Roll
from hosewright.duty import (
    CylinderSide,
    Duty,
    Fluid,
    FluidClass,
    Line,
    Regime,
    Side,
    Suitability,
    ViscosityCurve,
    assembly_pressure_drop,
    fluid_fit,
    fluid_temperature_facts,
    friction,
    grade_viscosity,
    highest_flow,
    inlet_fact,
    least_bore,
    material_rating,
    pressure_demand,
    pressure_facts,
    rating,
    temperature_facts,
    vacuum_fact,
    velocity,
    velocity_facts,
)
from hosewright.errors import ArgumentError
from hosewright.sources import Source

SHEET = Source("invented data sheet")
OIL = Fluid("invented HM 46", FluidClass.HM, 46e-6, 6.8e-6, 870.0)
WATER_GLYCOL = Fluid(
    "invented HFC 46", FluidClass.HFC, 46e-6, 10e-6, 1080.0, lowest_temperature=253.15, highest_temperature=333.15
)
HOSE = Hose(
    name="invented 2SN -8",
    construction="2SN",
    dash_size=8,
    inside_diameter=12.7e-3,
    outside_diameter=22.2e-3,
    minimum_bend_radius=0.18,
    max_working_pressure=275e5,
    lowest_temperature=233.15,
    highest_temperature=373.15,
    highest_temperature_water=343.15,
    longer=0.02,
    shorter=0.04,
    mass_per_length=0.6,
    bending_stiffness=None,
    liner="NBR",
    cover="CR",
    fluids=("HL", "HM", "HV"),
    sources={"max_working_pressure": SHEET, "lowest_temperature": SHEET},
)
STRAIGHT = EndForm("straight", "face seal -8 female", 8, 0.0, 0.03, 0.03, 0.0, None, None, Roll.SWIVEL,
                   max_working_pressure=400e5, insert_bore=9.5e-3, source=SHEET)  # fmt: skip
ELBOW = replace(STRAIGHT, name="90 short", exit_angle=math.pi / 2, drop=0.05)
ADAPTER = Adapter("90 swivel", "port", "face seal -8", math.pi / 2, 0.03, 0.02, max_working_pressure=250e5, bore=10e-3)
ASSEMBLY = Assembly(HOSE, End(STRAIGHT), End(ELBOW), 1.12)
WITH_ADAPTER = replace(ASSEMBLY, a=End(STRAIGHT, adapters=((ADAPTER, 0.0),)))


def duty(**changes):
    values = {
        "line": Line.PRESSURE,
        "working_pressure": 210e5,
        "peak_pressure": 250e5,
        "flow": 45 / 6e4,
        "fluid": OIL,
        "temperature_min": 258.15,
        "temperature_working": 328.15,
        "temperature_max": 353.15,
    }
    return Duty(**values | changes)


def test_pressure_drop_names_every_part():
    drop = assembly_pressure_drop(WITH_ADAPTER, 45 / 6e4, OIL.at(328.15), hose_turn=math.pi)
    assert [(loss.place, loss.name) for loss in drop.losses] == [
        ("end a", "port to adapter 90 swivel, contraction"),
        ("end a", "adapter 90 swivel, friction"),
        ("end a", "adapter 90 swivel, bend of 90 degrees"),
        ("end a", "adapter 90 swivel to straight end, contraction"),
        ("end a", "straight end, friction"),
        ("end a", "straight end to hose, expansion"),
        ("hose", "hose, friction"),
        ("hose", "hose, bend of 180 degrees"),
        ("end b", "hose to 90 short end, contraction"),
        ("end b", "90 short end, friction"),
        ("end b", "90 short end, bend of 90 degrees"),
        ("end b", "90 short end to port, expansion"),
    ]
    assert drop.total > drop.at("hose").total > 0.0


def test_inserts_matter():
    wide = replace(ASSEMBLY, a=End(replace(STRAIGHT, insert_bore=12.7e-3)))
    state = OIL.at(328.15)
    assert assembly_pressure_drop(ASSEMBLY, 1e-3, state).total > assembly_pressure_drop(wide, 1e-3, state).total


def test_missing_insert_bore_leaves_the_drop_unknown_but_bounded():
    assembly = replace(ASSEMBLY, b=End(replace(ELBOW, insert_bore=None)))
    drop = assembly_pressure_drop(assembly, 1e-3, OIL.at(328.15))
    assert drop.total is None
    assert drop.known > drop.at("hose").total
    assert {loss.place for loss in drop.unknown} == {"end b"}


def test_fluid_without_its_second_point_leaves_the_drop_unknown():
    fluid = replace(OIL, viscosity_100=None)
    assert fluid.at(328.15) is None
    assert fluid.density(328.15) is not None
    assert assembly_pressure_drop(ASSEMBLY, 1e-3, fluid.at(328.15)).total is None


def test_transition_band_is_flagged_with_its_worse_branch():
    state = replace(OIL.at(328.15), viscosity=velocity(1e-3, 12.7e-3) * 12.7e-3 / 2900)
    drop = assembly_pressure_drop(ASSEMBLY, 1e-3, state)
    assert drop.in_transition
    assert drop.at("hose").losses[0].regime is Regime.TRANSITION
    assert drop.highest > drop.total


def test_velocity_in_hose_inserts_and_adapters():
    facts = velocity_facts(WITH_ADAPTER, duty(flow=45 / 6e4))
    speeds = {(fact.place, fact.name): fact.measure for fact in facts}
    assert speeds["hose", "oil velocity, hose"] == pytest.approx(velocity(45 / 6e4, 12.7e-3))
    assert speeds["end a", "oil velocity, straight end"] == pytest.approx(velocity(45 / 6e4, 9.5e-3))
    assert speeds["end a", "oil velocity, adapter 90 swivel"] == pytest.approx(velocity(45 / 6e4, 10e-3))
    assert all(fact.margin == pytest.approx(fact.limit - fact.measure) for fact in facts)


def test_velocity_in_an_unknown_insert_is_unknown():
    assembly = replace(ASSEMBLY, a=End(replace(STRAIGHT, insert_bore=None)))
    by_place = {fact.place: fact for fact in velocity_facts(assembly, duty())}
    assert by_place["end a"].measure is None
    assert by_place["end a"].margin is None
    assert by_place["hose"].margin is not None


def test_high_pressure_may_flow_faster():
    low, high = least_bore(duty(working_pressure=209e5)), least_bore(duty(working_pressure=211e5))
    assert high < low


def test_return_flow_sizes_the_piston_side():
    piston = duty(cylinder=CylinderSide(0.08, 0.05, "piston"))
    rod = duty(cylinder=CylinderSide(0.08, 0.05, "rod"))
    assert highest_flow(piston) == pytest.approx(piston.flow * 6400 / 3900)
    assert highest_flow(rod) == rod.flow
    assert least_bore(piston) > least_bore(rod)


def test_rod_side_is_intensified_and_piston_side_is_not():
    rod = pressure_demand(duty(cylinder=CylinderSide(0.08, 0.05, Side.ROD)))
    assert rod.working == pytest.approx(210e5 * 6400 / 3900)
    assert rod.peak == pytest.approx(250e5 * 6400 / 3900)
    piston = pressure_demand(duty(cylinder=CylinderSide(0.08, 0.05, Side.PISTON)))
    assert (piston.working, piston.peak, piston.intensification) == (210e5, 250e5, 1.0)


def test_weakest_part_rates_the_assembly():
    assert rating(ASSEMBLY).max_working_pressure == 275e5
    assert rating(ASSEMBLY).weakest.place == "hose"
    assert rating(ASSEMBLY).weakest.source == SHEET
    weakest = rating(WITH_ADAPTER).weakest
    assert (weakest.place, weakest.name, weakest.max_working_pressure) == ("end a", "adapter 90 swivel", 250e5)


def test_a_part_without_rating_leaves_the_assembly_unrated():
    result = rating(replace(ASSEMBLY, b=End(replace(ELBOW, max_working_pressure=None))))
    assert result.max_working_pressure is None
    assert [part.place for part in result.unknown] == ["end b"]
    assert result.weakest.max_working_pressure == 275e5


def test_pressure_facts_show_a_known_weak_part_beside_an_unknown_one():
    assembly = replace(ASSEMBLY, b=End(replace(ELBOW, max_working_pressure=None)))
    facts = {fact.place: fact for fact in pressure_facts(assembly, duty(peak_pressure=300e5))}
    assert facts["hose"].margin == pytest.approx(-25e5)
    assert facts["end b"].margin is None


def test_temperatures_against_the_hose():
    cold, hot = temperature_facts(HOSE, duty())
    assert cold.margin == pytest.approx(25.0)
    assert cold.source == SHEET
    assert hot.margin == pytest.approx(20.0)


def test_water_based_fluids_have_their_own_limit():
    _, hot = temperature_facts(HOSE, duty(fluid=WATER_GLYCOL))
    assert hot.margin == pytest.approx(343.15 - 353.15)
    _, hot = temperature_facts(replace(HOSE, highest_temperature_water=None), duty(fluid=WATER_GLYCOL))
    assert hot.limit is None
    assert hot.margin is None


def test_water_glycol_itself_has_a_range():
    cold, hot = fluid_temperature_facts(duty(fluid=WATER_GLYCOL))
    assert cold.margin == pytest.approx(5.0)
    assert hot.margin == pytest.approx(-20.0)
    assert fluid_temperature_facts(duty()) == ()


def test_fluid_named_by_the_data_sheet():
    assert fluid_fit(HOSE, FluidClass.HM).named is True
    assert fluid_fit(HOSE, FluidClass.HEES).named is False
    assert fluid_fit(replace(HOSE, fluids=()), FluidClass.HM).named is None
    assert fluid_fit(HOSE, FluidClass.HEES).excluded_by.document == "EN 853"


def test_liner_and_cover_are_judged_apart():
    fit = fluid_fit(HOSE, FluidClass.HM)
    assert (fit.liner.suitability, fit.cover.suitability) == (Suitability.GOOD, Suitability.LIMITED)


@pytest.mark.parametrize(("material", "fluid_class"), [(None, "HM"), ("unheard of", "HM"), ("NBR", "HEPR")])
def test_unknown_material_or_pairing_is_unknown(material, fluid_class):
    rated = material_rating(material, FluidClass(fluid_class))
    assert rated.suitability is None
    assert rated.source is None


def test_suction_asks_for_half_a_bar_of_vacuum():
    suction = duty(line="suction", working_pressure=-0.2e5, peak_pressure=0.0)
    assert vacuum_fact(HOSE, suction).measure == -0.5e5
    assert vacuum_fact(HOSE, suction).margin is None
    rated = replace(HOSE, lowest_pressure=-0.8e5, sources={"lowest_pressure": SHEET})
    assert vacuum_fact(rated, suction).margin == pytest.approx(0.3e5)
    deep = duty(line=Line.SUCTION, working_pressure=-0.9e5, peak_pressure=0.0)
    assert vacuum_fact(rated, deep).margin == pytest.approx(-0.1e5)
    assert vacuum_fact(HOSE, duty()) is None


def test_cold_start_starves_the_pump():
    suction = replace(HOSE, inside_diameter=25.4e-3)
    wide = replace(STRAIGHT, insert_bore=22e-3)
    assembly = Assembly(suction, End(wide), End(wide), 1.0)
    warm, cold = (
        inlet_fact(assembly_pressure_drop(assembly, 30 / 6e4, OIL.at(t)), OIL.at(t), head=0.3) for t in (328.15, 258.15)
    )
    assert warm.margin > 0.0 > cold.margin
    assert inlet_fact(assembly_pressure_drop(assembly, 30 / 6e4, None), None).margin is None


def test_head_of_oil_counts():
    state = OIL.at(288.15)
    still = assembly_pressure_drop(ASSEMBLY, 0.0, state)
    assert inlet_fact(still, state, head=1.0).measure == pytest.approx(870.0 * 9.80665)


@pytest.mark.parametrize(
    ("make", "value"),
    [
        (lambda: duty(peak_pressure=200e5), "200 bar"),
        (lambda: duty(working_pressure=-2e5), "-2 bar"),
        (lambda: duty(working_pressure=math.nan), "nan"),
        (lambda: duty(flow=-1 / 6e4), "-1 L/min"),
        (lambda: duty(flow=math.inf), "inf"),
        (lambda: duty(temperature_min=340.0), "67"),
        (lambda: CylinderSide(0.05, 0.06, Side.ROD), "60 mm"),
        (lambda: CylinderSide(0.05, 0.0, Side.ROD), "0 mm"),
        (lambda: duty(line="presure"), "'presure' is no kind of line. Did you mean 'pressure'"),
        (lambda: CylinderSide(0.08, 0.05, "top"), "'top' is no side of a cylinder. Known: 'rod', 'piston'"),
        (lambda: replace(OIL, fluid_class="HLP"), "'HLP' is no hydraulic fluid class"),
        (lambda: velocity(1e-3, 0.0), "bore"),
        (lambda: friction(0.0), "Reynolds"),
        (lambda: grade_viscosity(45), "45"),
        (lambda: ViscosityCurve.through((313.15, 5e-6), (373.15, 46e-6)), "46 mm2/s at 100"),
        (lambda: ViscosityCurve.through((313.15, 0.0), (373.15, 1e-6)), "0 mm2/s"),
        (lambda: OIL.viscosity(100.0), "-173"),
        (lambda: Fluid("steep", FluidClass.HH, 1e-3, 1e-6, 900.0).viscosity(233.15), "-40"),
    ],
)
def test_errors_carry_the_value(make, value):
    with pytest.raises(ArgumentError, match=value):
        make()
