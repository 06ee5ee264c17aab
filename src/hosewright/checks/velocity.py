"""Velocity: the oil flows no faster in hose, ends and adapters than the line-sizing tables recommend.

What a cylinder returns counts. Above the recommended range the rule advises, above the highest figure of any of the
tables it fails; inserts are held to the same figures as the hose.
"""

from __future__ import annotations

from hosewright.checks.finding import Finding, Verdict, judge
from hosewright.checks.run import Job, Run
from hosewright.duty import Line, Passage, VelocityLimit, highest_flow, passages, velocity, velocity_limit
from hosewright.words import Figure, Sentence

RULE = "velocity"
RECOMMENDED = {
    Line.PRESSURE: "findings.recommended_pressure",
    Line.RETURN: "findings.recommended_return",
    Line.SUCTION: "findings.recommended_suction",
    Line.DRAIN: "findings.recommended_drain",
    Line.PILOT: "findings.recommended_pilot",
}


def check(run: Run, job: Job) -> list[Finding]:
    """One finding for the hose and one for each end with its adapters, where the narrowest bore decides."""
    line = [passage for passage in passages(run.assembly) if passage.length > 0.0]
    return [_finding(run, place, [part for part in line if part.place == place]) for place in _places(line)]


def _places(line: list[Passage]) -> list[str]:
    return list(dict.fromkeys(passage.place for passage in line))


def _finding(run: Run, place: str, parts: list[Passage]) -> Finding:
    limit = velocity_limit(run.duty.line, run.duty.working_pressure)
    known = [(part.bore, part) for part in parts if part.bore is not None]
    unknown = tuple(part.said for part in parts if part.bore is None)
    bore, narrowest = min(known, key=lambda pair: pair[0]) if known else (None, None)
    speed = None if bore is None else velocity(highest_flow(run.duty), bore)
    if bore is None or speed is None or narrowest is None or (unknown and speed <= limit.ceiling):
        return _result(place, Verdict.UNKNOWN, None, limit, Sentence.of("findings.unknown_bores", parts=unknown))
    verdict = judge(speed, limit.ceiling, at_least=False, advice_limit=limit.highest, source=limit.source)
    said = _sentence(run, narrowest, bore, speed).then(
        Sentence.of(RECOMMENDED[run.duty.line], velocity=Figure(limit.highest, "velocity", 2))
    )
    return _result(place, verdict, speed, limit, said)


def _sentence(run: Run, part: Passage, bore: float, speed: float) -> Sentence:
    flow = highest_flow(run.duty)
    key = "findings.flow_returned" if flow > run.duty.flow else "findings.flow"
    values = {"flow": Figure(flow, "flow"), "bore": Figure.length(bore, 1), "velocity": Figure(speed, "velocity", 2)}
    return Sentence.of(key, part=part.said, **values)


def _result(place: str, verdict: Verdict, speed: float | None, limit: VelocityLimit, said: Sentence) -> Finding:
    return Finding(
        RULE, place, verdict, "velocity", speed, limit.ceiling, False, limit.source, said, advice_limit=limit.highest
    )
