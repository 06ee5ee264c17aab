"""Vacuum: a suction hose must not be sucked flat."""

from __future__ import annotations

from hosewright.checks.finding import Finding, judge
from hosewright.checks.run import Job, Run
from hosewright.checks.text import bar
from hosewright.duty import vacuum_fact

RULE = "vacuum"


def check(run: Run, job: Job) -> list[Finding]:
    """One finding for a line that sees a vacuum, none for the others."""
    hose = run.assembly.hose
    fact = vacuum_fact(hose, run.duty)
    if fact is None or fact.measure is None:
        return []
    asked = f"the line asks for a hose that bears {bar(-fact.measure)} below the atmosphere"
    if fact.limit is None:
        rated = f"{hose.name} is not rated for suction unless its data sheet says so"
    else:
        rated = f"{hose.name} bears {bar(-fact.limit)}" if fact.limit < 0.0 else f"{hose.name} bears no vacuum"
    verdict = judge(fact.measure, fact.limit, at_least=True, source=fact.source)
    text = f"{asked}; {rated}"
    return [Finding(RULE, "", verdict, "pressure", fact.measure, fact.limit, True, fact.source, text)]
