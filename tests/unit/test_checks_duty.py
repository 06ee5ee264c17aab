"""The rules on duty, connection and twist as built: missing data is unknown, sentences carry the figures."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from duty_runs import (
    BAR,
    CATALOG,
    LITRES_PER_MINUTE,
    assembly,
    duty,
    fluid,
    form,
    found,
    kelvin,
    suction,
)
from hosewright.assembly import Adapter, End, Roll
from hosewright.checks import (
    built_twist,
    connection,
    pressure,
    pressure_drop,
    temperature,
    vacuum,
    velocity,
)
from hosewright.checks import fluid as fluid_rule
from hosewright.checks.finding import Verdict
from hosewright.duty import CylinderSide, FluidClass, Line, Side
from hosewright.sources import Confidence, Source

RULES = (pressure, temperature, fluid_rule, vacuum, velocity, pressure_drop, connection, built_twist)
DOUBTFUL = Source("a scribbled note", confidence=Confidence.DOUBTFUL)
ELBOW = Adapter(
    "90 swivel", "face seal -8 female", "face seal -8 male", math.pi / 2, 0.03, 0.02, None, 200 * BAR, 10e-3
)


def with_hose(**changes):
    made = assembly()
    return replace(made, hose=replace(made.hose, **changes))


def every_case():
    lines = {Line.PRESSURE: duty(), Line.RETURN: duty(line=Line.RETURN, working_pressure=5e5, peak_pressure=20e5)}
    lines |= {Line.SUCTION: suction(), Line.DRAIN: replace(lines[Line.RETURN], line=Line.DRAIN)}
    lines |= {Line.PILOT: duty(line=Line.PILOT, working_pressure=35e5, peak_pressure=40e5, flow=1e-4)}
    for hose in CATALOG.hoses():
        yield pytest.param(replace(assembly(), hose=hose), duty(), id=hose.name)
    for needs in lines.values():
        yield pytest.param(assembly(a=form("90 long"), b=form("45 short")), needs, id=needs.line)
    for fluid_class in FluidClass:
        grade = fluid(f"{fluid_class} 46", viscosity_100=6e-6)
        yield pytest.param(assembly(), duty(fluid=grade), id=f"{fluid_class} 46")


@pytest.mark.parametrize(("made", "needs"), list(every_case()))
def test_margins_agree_with_verdicts(made, needs):
    """At least 0 for pass and advice, under 0 for fail, none where nothing was measured or nothing is allowed."""
    for rule in RULES:
        for finding in found(rule, made, needs).values():
            assert finding.rule == rule.RULE
            if finding.verdict in (Verdict.PASS, Verdict.ADVICE):
                assert finding.margin >= 0.0
            elif finding.verdict is Verdict.FAIL:
                assert finding.margin < 0.0
            elif finding.measure is None:
                assert finding.margin is None
            assert finding.text
            assert "None" not in finding.text


def test_pressure_of_a_part_without_a_rating_is_unknown():
    finding = found(pressure, assembly(b=replace(form(), max_working_pressure=None)))[""]
    assert finding.verdict is Verdict.UNKNOWN
    assert finding.limit is None
    assert "straight end, face seal -8 female (end b)" in finding.text


def test_pressure_fails_at_a_weak_part_whatever_is_unknown_of_the_others():
    made = assembly(hose="1SN -8", b=replace(form(), max_working_pressure=None))
    finding = found(pressure, made)[""]
    assert (finding.verdict, finding.limit) == (Verdict.FAIL, 160 * BAR)
    assert "the hose 1SN -8 is the weakest part" in finding.text


@pytest.mark.parametrize("doubtful", [200 * BAR, 400 * BAR])
def test_pressure_never_rests_on_a_doubtful_rating(doubtful):
    end = replace(form(), max_working_pressure=doubtful, source=DOUBTFUL)
    finding = found(pressure, assembly(a=end))[""]
    assert (finding.verdict, finding.confidence) == (Verdict.UNKNOWN, Confidence.DOUBTFUL)
    assert finding.limit == min(doubtful, 275 * BAR)
    assert "doubtful" in finding.text


def test_pressure_counts_adapters():
    finding = found(pressure, assembly(a=End(form(), adapters=((ELBOW, 0.0),))))[""]
    assert (finding.verdict, finding.limit) == (Verdict.FAIL, 200 * BAR)
    assert "adapter 90 swivel (end a)" in finding.text


def test_pressure_at_the_rating_passes():
    assert found(pressure, needs=duty(peak_pressure=275 * BAR))[""].verdict is Verdict.PASS


def test_piston_side_is_not_intensified():
    needs = duty(cylinder=CylinderSide(0.08, 0.05, Side.PISTON))
    assert found(pressure, needs=needs)[""].measure == 250 * BAR


def test_temperature_without_a_limit_is_unknown():
    findings = found(temperature, with_hose(lowest_temperature=None))
    assert findings["hose at the coldest start"].verdict is Verdict.UNKNOWN
    assert "-15 °C" in findings["hose at the coldest start"].text
    assert findings["hose at the hottest"].verdict is Verdict.PASS


def test_temperature_of_a_fluid_with_limits_of_its_own():
    cold = duty(fluid=fluid("HFC 46"), temperature_min=kelvin(-25), temperature_max=kelvin(60))
    findings = found(temperature, needs=cold)
    assert findings["fluid at the coldest start"].verdict is Verdict.FAIL
    assert findings["fluid at the coldest start"].margin == pytest.approx(-5.0)
    assert findings["fluid at the hottest"].verdict is Verdict.PASS
    assert set(found(temperature)) == {"hose at the coldest start", "hose at the hottest"}


@pytest.mark.parametrize(
    ("changes", "grade", "verdict", "said"),
    [
        ({}, "HETG 46", Verdict.FAIL, "EN 853 leaves HETG out"),
        ({"fluids": ("HETG",), "liner": "HNBR"}, "HETG 46", Verdict.PASS, "names HETG"),
        ({"fluids": ("HFDR",)}, "HFDR 46", Verdict.FAIL, "one of the two is wrong"),
        ({"construction": "own", "fluids": (), "liner": "EPDM"}, "HM 46", Verdict.FAIL, "attacks the liner of EPDM"),
        ({"construction": "own", "fluids": (), "liner": "NBR"}, "HM 46", Verdict.PASS, "liner of NBR bears HM"),
        ({"construction": "own", "fluids": (), "liner": None}, "HM 46", Verdict.UNKNOWN, "its liner is not known"),
        ({"construction": "own", "fluids": ("HM",), "liner": None}, "HM 46", Verdict.PASS, "names HM"),
        ({}, "HEPG 46", Verdict.ADVICE, "within limits only"),
        ({}, "HEPR 46", Verdict.UNKNOWN, "how its liner of NBR bears it is not known"),
        ({"construction": "own", "liner": "HNBR"}, "HETG 46", Verdict.ADVICE, "not HETG"),
        ({"construction": "own", "fluids": (), "liner": "PTFE"}, "HFDR 46", Verdict.ADVICE, "attacks the cover of CR"),
    ],
)
def test_fluid(changes, grade, verdict, said):
    finding = found(fluid_rule, with_hose(**changes), duty(fluid=fluid(grade)))[""]
    assert finding.verdict is verdict
    assert said in finding.text


def test_fluid_never_rests_on_doubtful_data():
    made = with_hose(sources={"fluids": DOUBTFUL})
    assert found(fluid_rule, made)[""].verdict is Verdict.UNKNOWN


def test_vacuum_concerns_lines_that_see_one():
    assert found(vacuum) == {}
    assert found(vacuum, needs=duty(line=Line.RETURN, working_pressure=-0.1 * BAR)) != {}
    finding = found(vacuum, with_hose(lowest_pressure=0.0), suction())[""]
    assert finding.verdict is Verdict.FAIL
    assert "bears no vacuum" in finding.text


def test_velocity_in_an_insert_of_unknown_bore():
    narrow, blind = replace(form(), insert_bore=6e-3), replace(form(), insert_bore=None)
    blocked = End(blind, adapters=((replace(ELBOW, bore=6e-3), 0.0),))
    wide = End(blind, adapters=((replace(ELBOW, bore=15e-3), 0.0),))
    findings = found(velocity, assembly(a=blind, b=narrow))
    assert (findings["end a"].verdict, findings["end a"].measure) == (Verdict.UNKNOWN, None)
    assert "straight end" in findings["end a"].text
    assert findings["end b"].verdict is Verdict.FAIL
    assert found(velocity, assembly(a=blocked))["end a"].verdict is Verdict.FAIL  # the adapter alone is too narrow
    assert found(velocity, assembly(a=wide))["end a"].verdict is Verdict.UNKNOWN


def test_velocity_counts_what_comes_back():
    needs = duty(line=Line.RETURN, cylinder=CylinderSide(0.08, 0.05, Side.PISTON))
    finding = found(velocity, needs=needs)["hose"]
    assert "49.2 L/min, which the cylinder returns" in finding.text
    assert finding.limit > finding.advice_limit


def test_pressure_drop_advises_and_never_fails():
    findings = found(pressure_drop, needs=duty(working_pressure=10 * BAR, flow=60 * LITRES_PER_MINUTE))
    assert [finding.verdict for finding in findings.values()] == [Verdict.ADVICE, Verdict.ADVICE]
    assert findings["at work"].advice_limit == pytest.approx(1 * BAR)
    assert findings["at the coldest start"].measure > findings["at work"].measure


@pytest.mark.parametrize(("line", "limit"), [(Line.RETURN, 2.0), (Line.DRAIN, 1.0), (Line.PILOT, 21.0)])
def test_pressure_drop_is_compared_by_line(line, limit):
    finding = found(pressure_drop, needs=duty(line=line, flow=1e-5))["at work"]
    assert (finding.verdict, finding.advice_limit) == (Verdict.PASS, pytest.approx(limit * BAR))


def test_pressure_drop_names_what_is_not_known():
    blind = replace(form("90 short"), insert_bore=None)
    finding = found(pressure_drop, assembly(b=blind))["at work"]
    assert finding.verdict is Verdict.UNKNOWN
    assert "90 short end (end b)" in finding.text
    nameless = found(pressure_drop, needs=duty(fluid=fluid(viscosity_100=None)))["at work"]
    assert nameless.verdict is Verdict.UNKNOWN
    assert "viscosity" in nameless.text
    assert "density" in found(pressure_drop, needs=duty(fluid=fluid(density_15=None)))["at work"].text
    unpressed = found(pressure_drop, needs=duty(working_pressure=0.0))["at work"]
    assert (unpressed.verdict, unpressed.margin) == (Verdict.UNKNOWN, None)


def test_fluid_that_does_not_flow_is_told_and_not_raised():
    frozen = duty(temperature_min=kelvin(-80))
    finding = found(pressure_drop, needs=frozen)["at the coldest start"]
    assert finding.verdict is Verdict.UNKNOWN
    assert "-80 °C" in finding.text


def test_pump_inlet_fails_when_the_oil_is_thick():
    large = form(connection="face seal -16 female")
    made = assembly("R4 -16", large, large)
    findings = found(pressure_drop, made, suction(temperature_min=kelvin(-15)))
    assert findings["pump inlet at work"].verdict is Verdict.PASS
    cold = findings["pump inlet at the coldest start"]
    assert (cold.verdict, cold.limit) == (Verdict.FAIL, -0.2 * BAR)
    assert cold.measure < cold.limit
    blind = replace(large, insert_bore=None)
    unknown = found(pressure_drop, assembly("R4 -16", blind, large), suction())["pump inlet at work"]
    assert unknown.verdict is Verdict.UNKNOWN


def test_pump_inlet_is_what_the_hose_loses():
    lost = found(pressure_drop, needs=duty(line=Line.RETURN))["at work"].measure
    left = found(pressure_drop, needs=suction(flow=duty().flow))["pump inlet at work"].measure
    assert left == pytest.approx(-lost)


def test_connection_goes_through_adapters():
    end = End(form(), adapters=((ELBOW, 0.0),))
    assert found(connection, assembly(a=end))["end a"].verdict is Verdict.PASS
    wrong = replace(ELBOW, hose_side="face seal -6 male")
    finding = found(connection, assembly(a=End(form(), adapters=((wrong, 0.0),))))["end a"]
    assert (finding.verdict, finding.measure) == (Verdict.FAIL, 1.0)
    assert "different sizes" in finding.text


def test_connection_of_a_port_that_is_not_described():
    findings = found(connection, ports=("", "face seal -8 mail"))
    assert [findings[end].verdict for end in ("end a", "end b")] == [Verdict.UNKNOWN, Verdict.UNKNOWN]
    assert "V1.A" in findings["end a"].text
    assert "face seal -8 mail" in findings["end b"].text


def test_two_fixed_males_cannot_be_screwed_in():
    male = form(connection="face seal -8 male")
    assert male.roll is Roll.FIXED
    fixed = found(connection, assembly(a=male, b=male), ports=("face seal -8 female",) * 2)
    assert fixed["turning when fitted"].verdict is Verdict.FAIL
    assert fixed["end a"].verdict is Verdict.PASS
    one = found(connection, assembly(a=male))["turning when fitted"]
    assert (one.verdict, one.margin) == (Verdict.PASS, 0.0)
    flange = replace(form(connection="flange 61 -8 head"), roll=Roll.FIXED)
    assert found(connection, assembly(a=male, b=flange))["turning when fitted"].verdict is Verdict.PASS
    adapted = End(male, adapters=((ELBOW, 0.0),))
    assert found(connection, assembly(a=adapted, b=male))["turning when fitted"].verdict is Verdict.UNKNOWN


def test_ends_of_another_size_than_the_hose():
    other = replace(form(), dash_size=10)
    finding = found(connection, assembly(b=other))["size of the hose"]
    assert finding.verdict is Verdict.FAIL
    assert "end b is for -10, the hose is -8" in finding.text
    by_tube = found(connection, assembly("R5 -8"))["size of the hose"]
    assert by_tube.verdict is Verdict.ADVICE
    assert "10.3 mm" in by_tube.text


def test_built_twist_of_short_hoses_fails():
    bent = form("90 short")
    long, short = (found(built_twist, assembly(a=bent, b=bent, length=length))[""] for length in (3.0, 0.5))
    assert (long.verdict, short.verdict) == (Verdict.PASS, Verdict.FAIL)
    middle = found(built_twist, assembly(a=bent, b=bent))[""]
    assert middle.verdict is Verdict.ADVICE
    straight = found(built_twist, assembly(a=bent, length=0.5))[""]
    assert straight.measure < short.measure / 2
