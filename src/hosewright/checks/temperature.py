"""Temperature: the coldest start and the hottest fluid lie within what the hose bears, and the fluid itself."""

from __future__ import annotations

from hosewright.checks.finding import Finding, judge
from hosewright.checks.run import Job, Run
from hosewright.duty import Fact, fluid_temperature_facts, temperature_facts
from hosewright.words import Figure, Sentence

RULE = "temperature"


def check(run: Run, job: Job) -> list[Finding]:
    """A finding for the hose at either end of the range, and for the fluid where it has limits of its own."""
    hose = Sentence.of("findings.the_hose", name=run.assembly.hose.name)
    fluid = Sentence.of("findings.the_fluid", name=run.duty.fluid.name)
    return [
        *(_finding(fact, hose) for fact in temperature_facts(run.assembly.hose, run.duty)),
        *(_finding(fact, fluid) for fact in fluid_temperature_facts(run.duty)),
    ]


def _finding(fact: Fact, who: Sentence) -> Finding:
    assert fact.measure is not None  # a duty always has its temperatures
    of = "hose" if fact.place == "hose" else "fluid"
    subject = f"{of} at the coldest start" if fact.at_least else f"{of} at the hottest"
    verdict = judge(fact.measure, fact.limit, at_least=fact.at_least, source=fact.source)
    key = "findings.coldest" if fact.at_least else "findings.hottest"
    said = Sentence.of(key, temperature=Figure(fact.measure, "temperature")).then(_bears(fact, who))
    return Finding(RULE, subject, verdict, "temperature", fact.measure, fact.limit, fact.at_least, fact.source, said)


def _bears(fact: Fact, who: Sentence) -> Sentence:
    if fact.limit is None:
        return Sentence.of("findings.no_lowest" if fact.at_least else "findings.no_highest", who=who)
    key = "findings.bears_down_to" if fact.at_least else "findings.bears_up_to"
    return Sentence.of(key, who=who, temperature=Figure(fact.limit, "temperature"))
