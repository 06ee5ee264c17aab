"""Temperature: the coldest start and the hottest fluid lie within what the hose bears, and the fluid itself."""

from __future__ import annotations

from hosewright.checks.finding import Finding, judge
from hosewright.checks.run import Job, Run
from hosewright.checks.text import celsius
from hosewright.duty import Fact, fluid_temperature_facts, temperature_facts

RULE = "temperature"


def check(run: Run, job: Job) -> list[Finding]:
    """A finding for the hose at either end of the range, and for the fluid where it has limits of its own."""
    hose = [
        _finding(fact, f"the hose {run.assembly.hose.name}") for fact in temperature_facts(run.assembly.hose, run.duty)
    ]
    fluid = [_finding(fact, f"the fluid {run.duty.fluid.name}") for fact in fluid_temperature_facts(run.duty)]
    return hose + fluid


def _finding(fact: Fact, who: str) -> Finding:
    assert fact.measure is not None  # a duty always has its temperatures
    of = "hose" if fact.place == "hose" else "fluid"
    subject = f"{of} at the coldest start" if fact.at_least else f"{of} at the hottest"
    when = "coldest start" if fact.at_least else "hottest fluid"
    if fact.limit is None:
        bears = f"the data of {who} gives no {'lowest' if fact.at_least else 'highest'} temperature"
    else:
        bears = f"{who} may go {'down' if fact.at_least else 'up'} to {celsius(fact.limit)}"
    verdict = judge(fact.measure, fact.limit, at_least=fact.at_least, source=fact.source)
    text = f"{when} {celsius(fact.measure)}; {bears}"
    return Finding(RULE, subject, verdict, "temperature", fact.measure, fact.limit, fact.at_least, fact.source, text)
