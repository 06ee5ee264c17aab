"""What the program says of any job: no English in German, and every US figure is the metric one converted."""

from __future__ import annotations

import datetime
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import said
from checked_runs import DUTY, HARMLESS, TWO_WIRE, run, u_ports
from checked_runs import job as shape_job
from counter_papers import checked
from duty_runs import CATALOG, assembly, duty, fluid, form, found
from hosewright.assembly import End
from hosewright.checks.check import DUTY_RULES, RunResult, check
from hosewright.checks.run import Clamp, Job
from hosewright.duty import CylinderSide, FluidClass, Line
from hosewright.geometry import BoxShape
from hosewright.machine import Mount, Obstacle, Operator, Surface, Turn
from hosewright.search.changes import figure_changes
from hosewright.search.remedies import with_remedies
from hosewright.search.surplus import with_surplus
from hosewright.search.wider import Scene, wider_changes
from hosewright.service import Flange, Period, Sample, SampleEnd, Thread, remake
from hosewright.service.sample import Reach
from mended_jobs import wrong_job

QUICK = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
FORMS = ("straight", "45 short", "90 long")
HOSES = ("2SN -8", "1SN -6", "R5 -8", "R4 -12", "4SH -12", "EN R7 -8")
PORTS = (
    "face seal -8 male",
    "37 flare -8 male",
    "face seal -8 female",
    "face seal -6 male",
    "",
    "Xyz -8 male",
    "BSP x",
)
MISSING = ("outside_diameter", "minimum_bend_radius", "shorter", "mass_per_length")


def test_the_example_with_its_faults() -> None:
    """The platform, whose hoses are wrong on purpose."""
    _, result = checked()
    seen = {finding.rule for each in result.runs for finding in each.findings}
    assert len(seen) > 12
    for each in result.runs:
        _check_findings(each)


def _check_findings(result: RunResult) -> None:
    for finding in result.findings:
        said.check(finding.said)
        if finding.remedy is not None:
            said.check(finding.remedy.said)


@st.composite
def needs(draw: st.DrawFn):
    """Any duty of any line."""
    line = draw(st.sampled_from(list(Line)))
    working = draw(st.floats(-0.3, 0.5) if line is Line.SUCTION else st.floats(0.0, 400.0)) * 1e5
    temperatures = sorted(draw(st.lists(st.floats(200.0, 420.0), min_size=3, max_size=3)))
    made = duty(
        line=line,
        working_pressure=working,
        peak_pressure=working + draw(st.floats(0.0, 100e5)),
        flow=draw(st.floats(0.0, 5e-3)),
        temperature_min=temperatures[0],
        temperature_working=temperatures[1],
        temperature_max=temperatures[2],
        fluid=replace(fluid(), fluid_class=draw(st.sampled_from(list(FluidClass)))),
    )
    if draw(st.booleans()):
        made = replace(made, fluid=replace(made.fluid, density_15=None, highest_temperature=350.0))
    if line is Line.PRESSURE and draw(st.booleans()):
        made = replace(made, cylinder=CylinderSide(0.08, 0.05, "rod"))
    return made


@QUICK
@given(
    needs(),
    st.sampled_from(HOSES),
    st.lists(st.sampled_from(FORMS), min_size=2, max_size=2),
    st.lists(st.sampled_from(PORTS), min_size=2, max_size=2),
    st.sets(st.sampled_from(("max_working_pressure", "liner", "lowest_temperature", "highest_temperature", "fluids"))),
    st.booleans(),
)
def test_what_the_rules_on_duty_say(needed, hose, forms, ports, lacking, bores) -> None:
    ends = [End(form(name) if bores else form(name, insert_bore=None, max_working_pressure=None)) for name in forms]
    made = assembly(hose, *ends)
    empty = {name: () if name == "fluids" else None for name in lacking}
    made = replace(made, hose=replace(made.hose, **empty))
    for rule in DUTY_RULES:
        for finding in found(_Rule(rule), made, needed, tuple(ports)).values():
            said.check(finding.said)


class _Rule:
    def __init__(self, check) -> None:
        self.check = check


@pytest.mark.parametrize("lacking", [(), MISSING[:1], MISSING[1:2], MISSING[2:], MISSING[2:3], MISSING[3:]])
@pytest.mark.parametrize("harmless", [True, False])
def test_what_the_rules_on_shape_say(lacking: tuple[str, ...], harmless: bool) -> None:
    hose = replace(TWO_WIRE, **dict.fromkeys(lacking))
    made = _crowded(hose, harmless=harmless)
    for each in with_surplus(check(made)).runs:
        _check_findings(each)


def _crowded(hose, *, harmless: bool) -> Job:
    """Two hoses that share a clamp, between parts and beside people."""
    needed = HARMLESS if harmless else DUTY
    mounts = [Mount("m", "chassis", (0.2, 0.0, -0.35), (1.0, 0.0, 0.0))]
    runs = [
        run(length, hose, name, clamps=(Clamp("m", 0.4),), duty=needed, sleeve=harmless)
        for name, length in (("one", 0.9), ("two", 0.95))
    ]
    parts = [
        Obstacle("plate", "arm", BoxShape((0.35, 0.0, -0.55), (0.1, 0.4, 0.1)), surface=Surface.HOT),
        Obstacle("edge", "chassis", BoxShape((0.17, 0.0, -0.33), (0.05, 0.1, 0.1)), surface=Surface.SHARP),
    ]
    operators = [Operator("seat", "chassis", (0.2, 0.5, 0.0))]
    return shape_job(
        runs, u_ports(0.4, "arm"), joint=Turn((0.4, 0.0, 0.0), (1.0, 0.3, 0.0)), poses=0.5, steps=4, mounts=mounts,
        obstacles=parts, operators=operators,
    )  # fmt: skip


@pytest.mark.parametrize("seed", [1, 4])
def test_what_changes_and_remedies_say(seed: int) -> None:
    from tomlkit import dumps

    from hosewright.jobfile import read_text
    from mended_jobs import HERE

    job = read_text(dumps(wrong_job(seed)), HERE, CATALOG).job
    result = check(job)
    for each in result.runs:
        _check_findings(each)
        others = [other for other in result.solved if other.run.name != each.run.name]
        for change in (*figure_changes(each, job, CATALOG), *wider_changes(Scene(each, others, job, CATALOG))):
            said.check(change.said)
    none = with_remedies(replace(result, runs=result.runs[:1]), CATALOG)
    _check_findings(none.runs[0])


MADE = Period(datetime.date(2004, 4, 1), datetime.date(2004, 6, 30))
ENDS = st.builds(
    SampleEnd,
    form=st.sampled_from(["straight", "90 short", "45", None]),
    connection=st.sampled_from(["face seal -8 female", "BSP G1/2 female", "flange 61 -8 head", None]),
    reading=st.sampled_from(
        [
            None,
            Thread(20.9e-3, "male", threads_per_inch=14),
            Thread(18.9e-3, "female"),
            Flange(30.1e-3),
            Thread(0.05, "male"),
        ]
    ),
    reach=st.sampled_from([None, *Reach]),
    beyond=st.sampled_from([None, 0.009]),
    drop=st.sampled_from([None, 0.03]),
)


@QUICK
@given(
    st.builds(
        Sample,
        name=st.just("x"),
        hose=st.sampled_from(["2SN -8", "2SC -8", None]),
        overall_length=st.sampled_from([0.6, None]),
        ends=st.tuples(ENDS, ENDS),
        orientation_angle=st.sampled_from([None, 1.0]),
        markings=st.sampled_from([None, "EN 853 2SN 1/2 in DN12 WP 400 bar 2Q19", "DN12 -6 2SN", "X", "2SC"]),
        made=st.sampled_from([None, MADE, Period(datetime.date(2030, 1, 1), datetime.date(2030, 12, 31))]),
        fitted=st.sampled_from([None, MADE, Period(datetime.date(2012, 1, 1), datetime.date(2012, 1, 31))]),
        raised_duty=st.booleans(),
        used=st.booleans(),
        working_pressure=st.sampled_from([None, 100e5, 500e5]),
        fluid=st.sampled_from([None, "HM 46", "HFDR 46", "HETG 46", "treacle", "HM 47"]),
        failed=st.sampled_from([None, "burst behind the ferrule", "worn, twisted", "rust", "leak at the seal", "7"]),
    ),
    st.sampled_from([None, datetime.date(2026, 8, 14)]),
)
def test_what_is_said_of_samples(sample: Sample, date: datetime.date | None) -> None:
    for warning in remake(sample, CATALOG, date).warnings:
        said.check(warning.told)
