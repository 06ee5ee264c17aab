"""Velocity: the oil flows no faster in hose, ends and adapters than the line-sizing tables recommend.

What a cylinder returns counts. Above the recommended range the rule advises, above the highest figure of any of the
tables it fails; inserts are held to the same figures as the hose.
"""

from __future__ import annotations

from hosewright.checks.finding import Finding, Verdict, judge
from hosewright.checks.run import Job, Run
from hosewright.checks.text import listed, litres_per_minute, metres_per_second, millimetres
from hosewright.duty import Passage, VelocityLimit, highest_flow, passages, velocity, velocity_limit

RULE = "velocity"


def check(run: Run, job: Job) -> list[Finding]:
    """One finding for the hose and one for each end with its adapters, where the narrowest bore decides."""
    line = [passage for passage in passages(run.assembly) if passage.length > 0.0]
    return [_finding(run, place, [part for part in line if part.place == place]) for place in _places(line)]


def _places(line: list[Passage]) -> list[str]:
    return list(dict.fromkeys(passage.place for passage in line))


def _finding(run: Run, place: str, parts: list[Passage]) -> Finding:
    limit = velocity_limit(run.duty.line, run.duty.working_pressure)
    known = [(part.bore, part) for part in parts if part.bore is not None]
    unknown = [part.name for part in parts if part.bore is None]
    bore, narrowest = min(known, key=lambda pair: pair[0]) if known else (None, None)
    speed = None if bore is None else velocity(highest_flow(run.duty), bore)
    if bore is None or speed is None or narrowest is None or (unknown and speed <= limit.ceiling):
        return _result(place, Verdict.UNKNOWN, None, limit, f"the bore of the {listed(unknown)} is not known")
    verdict = judge(speed, limit.ceiling, at_least=False, advice_limit=limit.highest, source=limit.source)
    text = (
        f"{_flow(run)} through the {millimetres(bore)} bore of the {narrowest.name} at {metres_per_second(speed)}; "
        f"up to {metres_per_second(limit.highest)} is recommended in a {run.duty.line} line"
    )
    return _result(place, verdict, speed, limit, text)


def _flow(run: Run) -> str:
    flow = highest_flow(run.duty)
    if flow > run.duty.flow:
        return f"{litres_per_minute(flow)}, which the cylinder returns, flow"
    return f"{litres_per_minute(flow)} flow"


def _result(place: str, verdict: Verdict, speed: float | None, limit: VelocityLimit, text: str) -> Finding:
    return Finding(
        RULE, place, verdict, "velocity", speed, limit.ceiling, False, limit.source, text, advice_limit=limit.highest
    )
