"""Vacuum: a suction hose must not be sucked flat."""

from __future__ import annotations

from hosewright.checks.finding import Finding, judge
from hosewright.checks.run import Job, Run
from hosewright.duty import vacuum_fact
from hosewright.words import Figure, Sentence

RULE = "vacuum"


def check(run: Run, job: Job) -> list[Finding]:
    """One finding for a line that sees a vacuum, none for the others."""
    hose = run.assembly.hose
    fact = vacuum_fact(hose, run.duty)
    if fact is None or fact.measure is None:
        return []
    asked = Sentence.of("findings.vacuum_asked", vacuum=Figure.pressure(-fact.measure))
    if fact.limit is None:
        rated = Sentence.of("findings.vacuum_unrated", hose=hose.name)
    elif fact.limit < 0.0:
        rated = Sentence.of("findings.vacuum_borne", hose=hose.name, vacuum=Figure.pressure(-fact.limit))
    else:
        rated = Sentence.of("findings.vacuum_none", hose=hose.name)
    verdict = judge(fact.measure, fact.limit, at_least=True, source=fact.source)
    return [Finding(RULE, "", verdict, "pressure", fact.measure, fact.limit, True, fact.source, asked.then(rated))]
