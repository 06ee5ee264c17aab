"""Runs without motion, for the rules that need no shape: two ports on the chassis and a hose between them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from hosewright.assembly import Assembly, End, EndForm
from hosewright.catalog import load
from hosewright.checks.finding import Finding
from hosewright.checks.run import Job, Run
from hosewright.duty import Duty, Fluid, FluidClass, Line
from hosewright.machine import Machine, Port, Poses

CATALOG = load()
BAR = 1e5
LITRES_PER_MINUTE = 1.0 / 6e4
STILL = Poses((), np.zeros((1, 0)), np.zeros(1, dtype=np.int64), np.zeros(1))


def kelvin(celsius: float) -> float:
    return celsius + 273.15


def fluid(name: str = "HM 46", **changes) -> Fluid:
    data = CATALOG.fluid(name)
    made = Fluid(
        data.name,
        FluidClass(data.fluid_class),
        data.viscosity_40,
        data.viscosity_100,
        data.density_15,
        data.lowest_temperature,
        data.highest_temperature,
        data.sources,
    )
    return replace(made, **changes)


def form(name: str = "straight", connection: str = "face seal -8 female", **changes) -> EndForm:
    return replace(CATALOG.end_form(name, connection), **changes)


def assembly(hose: str = "2SN -8", a: EndForm | End | None = None, b: EndForm | End | None = None, length: float = 1.0):
    ends = [one if isinstance(one, End) else End(one or form()) for one in (a, b)]
    return Assembly(CATALOG.hose(hose), *ends, length)


def duty(**changes) -> Duty:
    values = {
        "line": Line.PRESSURE,
        "working_pressure": 210 * BAR,
        "peak_pressure": 250 * BAR,
        "flow": 30 * LITRES_PER_MINUTE,
        "fluid": fluid(),
        "temperature_min": kelvin(-15),
        "temperature_working": kelvin(55),
        "temperature_max": kelvin(80),
    }
    return Duty(**values | changes)


def suction(**changes) -> Duty:
    values = {"line": Line.SUCTION, "working_pressure": -0.2 * BAR, "peak_pressure": 0.5 * BAR}
    return duty(**values | {"flow": 20 * LITRES_PER_MINUTE} | changes)


def found(
    rule, of: Assembly | None = None, needs: Duty | None = None, ports: tuple[str, str] = ("face seal -8 male",) * 2
) -> dict[str, Finding]:
    """Findings of a rule on one run by subject."""
    machine = Machine(
        ports=(
            Port("V1.A", "chassis", (0.0, 0.0, 0.0), (1.0, 0.0, 0.0), connection=ports[0]),
            Port("lift.R", "chassis", (0.6, 0.0, 0.0), (-1.0, 0.0, 0.0), connection=ports[1]),
        )
    )
    run = Run("lift, rod side", "V1.A", "lift.R", needs or duty(), of or assembly())
    findings = rule.check(run, Job("invented platform", machine, STILL, (run,)))
    by_subject = {finding.subject: finding for finding in findings}
    assert len(by_subject) == len(findings)
    return by_subject
