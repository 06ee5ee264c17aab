"""Pressure drop: hose, ends and adapters lose little pressure, at the working temperature and at the coldest start.

A suction line is judged by what is left at the pump's inlet, the others are advised on. Where the flow may be laminar
or turbulent the higher loss counts.
"""

from __future__ import annotations

import math

from hosewright.checks.finding import Finding, judge
from hosewright.checks.profile import Profile
from hosewright.checks.run import Job, Run
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
from hosewright.words import Figure, Name, Sentence, said_by

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
    said = why_not or _unknown_bores(run)
    if measure is not None:
        loss, when_so = Figure.pressure(measure), Figure(temperature, "temperature")
        said = _in_band(Sentence.of("findings.drop", loss=loss, temperature=when_so), drop)
        said = said.then(None if limit is not None else Sentence.of("findings.no_working_pressure"))
    verdict = judge(measure, None, at_least=False, advice_limit=limit, source=source)
    return Finding(RULE, when, verdict, "pressure", measure, None, False, source, said, advice_limit=limit)


def _inlet_finding(run: Run, profile: Profile, when: str, temperature: float) -> Finding:
    state, why_not = _state(run.duty, temperature)
    drop = _drop(run, state)
    fact = inlet_fact(drop, state)
    said = why_not or _unknown_bores(run)
    if fact.measure is not None and fact.limit is not None:
        vacuum, when_so = Figure.pressure(-fact.measure), Figure(temperature, "temperature")
        said = _in_band(Sentence.of("findings.inlet", vacuum=vacuum, temperature=when_so), drop)
        said = said.then(Sentence.of("findings.inlet_limit", vacuum=Figure.pressure(-fact.limit)))
    verdict = judge(fact.measure, fact.limit, at_least=True, source=fact.source)
    return Finding(RULE, f"pump inlet {when}", verdict, "pressure", fact.measure, fact.limit, True, fact.source, said)


def _state(duty: Duty, temperature: float) -> tuple[FluidState | None, Sentence | None]:
    """The fluid at a temperature, or why it is not known."""
    try:
        state = duty.fluid.at(temperature)
    except ArgumentError as error:
        return None, said_by(error)
    if state is not None:
        return state, None
    key = "findings.no_density" if duty.fluid.density_15 is None else "findings.no_viscosity"
    return None, Sentence.of(key, fluid=duty.fluid.name)


def _drop(run: Run, state: FluidState | None) -> PressureDrop:
    return assembly_pressure_drop(run.assembly, highest_flow(run.duty), state, HOSE_TURN)


def _limit(duty: Duty, profile: Profile) -> tuple[float | None, Source]:
    if duty.line is Line.RETURN:
        return profile["drop_return"], profile.source("drop_return")
    if duty.line is Line.DRAIN:
        return profile["drop_drain"], profile.source("drop_drain")
    part, source = profile["drop_pressure_part"], profile.source("drop_pressure_part")
    return part * duty.working_pressure if duty.working_pressure > 0.0 else None, source


def _unknown_bores(run: Run) -> Sentence:
    names = tuple(
        Sentence.of("findings.part_at", part=part.said, place=Name(part.place))
        for part in passages(run.assembly)
        if part.bore is None
    )
    return Sentence.of("findings.unknown_bores", parts=names) if names else Sentence.of("findings.nothing_known")


def _in_band(said: Sentence, drop: PressureDrop) -> Sentence:
    return Sentence.of("findings.in_transition", said=said) if drop.in_transition else said
