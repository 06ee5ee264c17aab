"""Pressure: the highest peak, as a cylinder intensifies it, stays within the rating of the assembly's weakest part.

References
----------
SAE J517 and ISO 17165-1: the maximum working pressure of an assembly is the lowest of its parts and covers every peak.
"""

from __future__ import annotations

from hosewright.checks.finding import Finding, Verdict, judge
from hosewright.checks.run import Job, Run
from hosewright.duty import PartRating, Rating, pressure_demand, rating
from hosewright.words import Figure, Sentence, one_after_another

RULE = "pressure"


def check(run: Run, job: Job) -> list[Finding]:
    """One finding: a part that is too weak decides, else a part whose rating is missing or doubtful."""
    whole = rating(run.assembly)
    firm = Rating(tuple(part for part in whole.parts if part.is_firm))
    weakest, limit = firm.weakest, firm.max_working_pressure
    peak = pressure_demand(run.duty).peak
    if weakest is None or limit is None or (whole.loose and peak <= limit):
        return [_unknown(run, whole.max_working_pressure, whole.loose)]
    verdict = judge(peak, limit, at_least=False, source=weakest.source)
    said = _peak(run).then(Sentence.of("findings.weakest", part=weakest.told, limit=Figure.pressure(limit)))
    return [Finding(RULE, "", verdict, "pressure", peak, limit, False, weakest.source, said)]


def _unknown(run: Run, limit: float | None, loose: tuple[PartRating, ...]) -> Finding:
    missing = tuple(part.told for part in loose if part.max_working_pressure is None)
    doubtful = tuple(part.told for part in loose if part.max_working_pressure is not None)
    sentences = [_peak(run)]
    if missing:
        sentences.append(Sentence.of("findings.unrated", parts=missing))
    if doubtful:
        sentences.append(Sentence.of("findings.doubtful_rating", parts=doubtful))
    source = None if missing else loose[0].source
    peak = pressure_demand(run.duty).peak
    return Finding(RULE, "", Verdict.UNKNOWN, "pressure", peak, limit, False, source, one_after_another(sentences))


def _peak(run: Run) -> Sentence:
    demand = pressure_demand(run.duty)
    peak = Figure.pressure(demand.peak)
    if demand.intensification == 1.0:
        return Sentence.of("findings.peak", peak=peak)
    own, factor = Figure.pressure(run.duty.peak_pressure), Figure.number(demand.intensification, 3)
    return Sentence.of("findings.peak_intensified", own=own, peak=peak, factor=factor)
