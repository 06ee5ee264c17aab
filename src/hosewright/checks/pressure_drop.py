"""Pressure drop: hose, ends and adapters lose little pressure, at the working temperature and at the coldest start.

A suction line is judged by what is left at the pump's inlet, the others are advised on. Where the flow may be laminar
or turbulent the higher loss counts.
"""

from __future__ import annotations

import math

from hosewright.checks.finding import Finding, judge
from hosewright.checks.profile import Profile
from hosewright.checks.run import Job, Run
from hosewright.checks.text import bar, celsius, listed
from hosewright.duty import (
    Duty,
    FluidState,
    Line,
    PressureDrop,
    assembly_pressure_drop,
    highest_flow,
    inlet_fact,
    passages,
)
from hosewright.errors import ArgumentError
from hosewright.sources import Source

RULE = "pressure drop"

HOSE_TURN = math.pi
"""Turn of the hose itself, which counts before its shape is known: half a circle, ours. [rad]"""


def check(run: Run, job: Job) -> list[Finding]:
    """A finding at the working temperature and one at the coldest start."""
    duty = run.duty
    of = _inlet_finding if duty.line is Line.SUCTION else _drop_finding
    return [
        of(run, job.profile, "at work", duty.temperature_working),
        of(run, job.profile, "at the coldest start", duty.temperature_min),
    ]


def _drop_finding(run: Run, profile: Profile, when: str, temperature: float) -> Finding:
    state, why_not = _state(run.duty, temperature)
    drop = _drop(run, state)
    limit, source = _limit(run.duty, profile)
    measure = drop.highest
    text = why_not or _unknown_bores(run)
    if measure is not None:
        text = f"the assembly loses {bar(measure)} at {celsius(temperature)}, ends included{_band(drop)}"
        text += "; the job gives no working pressure to compare it with" if limit is None else ""
    verdict = judge(measure, None, at_least=False, advice_limit=limit, source=source)
    return Finding(RULE, when, verdict, "pressure", measure, None, False, source, text, advice_limit=limit)


def _inlet_finding(run: Run, profile: Profile, when: str, temperature: float) -> Finding:
    state, why_not = _state(run.duty, temperature)
    drop = _drop(run, state)
    fact = inlet_fact(drop, state)
    text = why_not or _unknown_bores(run)
    if fact.measure is not None and fact.limit is not None:
        text = (
            f"at {celsius(temperature)} this hose alone puts the pump inlet {bar(-fact.measure)} below the atmosphere, "
            f"oil level with it{_band(drop)}; most pumps bear {bar(-fact.limit)}, the pump's data sheet wins"
        )
    verdict = judge(fact.measure, fact.limit, at_least=True, source=fact.source)
    return Finding(RULE, f"pump inlet {when}", verdict, "pressure", fact.measure, fact.limit, True, fact.source, text)


def _state(duty: Duty, temperature: float) -> tuple[FluidState | None, str]:
    """The fluid at a temperature, or why it is not known."""
    try:
        state = duty.fluid.at(temperature)
    except ArgumentError as error:
        return None, str(error)
    lacks = "density" if duty.fluid.density_15 is None else "viscosity at 40 and at 100 °C"
    return state, "" if state else f"the data of {duty.fluid.name} does not give its {lacks}"


def _drop(run: Run, state: FluidState | None) -> PressureDrop:
    return assembly_pressure_drop(run.assembly, highest_flow(run.duty), state, HOSE_TURN)


def _limit(duty: Duty, profile: Profile) -> tuple[float | None, Source]:
    if duty.line is Line.RETURN:
        return profile["drop_return"], profile.source("drop_return")
    if duty.line is Line.DRAIN:
        return profile["drop_drain"], profile.source("drop_drain")
    part, source = profile["drop_pressure_part"], profile.source("drop_pressure_part")
    return part * duty.working_pressure if duty.working_pressure > 0.0 else None, source


def _unknown_bores(run: Run) -> str:
    names = [f"{part.name} ({part.place})" for part in passages(run.assembly) if part.bore is None]
    return f"the bore of the {listed(names)} is not known" if names else ""


def _band(drop: PressureDrop) -> str:
    if not drop.in_transition:
        return ""
    return " (part of it flows between laminar and turbulent, where the loss may be lower)"
