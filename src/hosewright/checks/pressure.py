"""Pressure: the highest peak, as a cylinder intensifies it, stays within the rating of the assembly's weakest part.

References
----------
SAE J517 and ISO 17165-1: the maximum working pressure of an assembly is the lowest of its parts and covers every peak.
"""

from __future__ import annotations

from hosewright.checks.finding import Finding, Verdict, judge
from hosewright.checks.run import Job, Run
from hosewright.checks.text import bar, listed
from hosewright.duty import PartRating, Rating, pressure_demand, rating
from hosewright.sources import Confidence

RULE = "pressure"


def check(run: Run, job: Job) -> list[Finding]:
    """One finding: a part that is too weak decides, else a part whose rating is missing or doubtful."""
    whole = rating(run.assembly)
    firm = Rating(tuple(part for part in whole.parts if _is_firm(part)))
    loose = [part for part in whole.parts if not _is_firm(part)]
    weakest, limit = firm.weakest, firm.max_working_pressure
    peak = pressure_demand(run.duty).peak
    if weakest is None or limit is None or (loose and peak <= limit):
        return [_unknown(run, whole.max_working_pressure, loose)]
    verdict = judge(peak, limit, at_least=False, source=weakest.source)
    text = f"{_peak(run)}; {_name(weakest)} is the weakest part and bears {bar(limit)}"
    return [Finding(RULE, "", verdict, "pressure", peak, limit, False, weakest.source, text)]


def _is_firm(part: PartRating) -> bool:
    doubtful = part.source is not None and part.source.confidence is Confidence.DOUBTFUL
    return part.max_working_pressure is not None and not doubtful


def _unknown(run: Run, limit: float | None, loose: list[PartRating]) -> Finding:
    missing = [_name(part) for part in loose if part.max_working_pressure is None]
    doubtful = [_name(part) for part in loose if part.max_working_pressure is not None]
    text = _peak(run)
    if missing:
        text += f"; no rating is known of {listed(missing)}"
    if doubtful:
        text += f"; the rating of {listed(doubtful)} is doubtful: take it from the data sheet"
    source = None if missing else loose[0].source
    peak = pressure_demand(run.duty).peak
    return Finding(RULE, "", Verdict.UNKNOWN, "pressure", peak, limit, False, source, text)


def _peak(run: Run) -> str:
    demand = pressure_demand(run.duty)
    if demand.intensification == 1.0:
        return f"the highest peak is {bar(demand.peak)}"
    return (
        f"the peak of {bar(run.duty.peak_pressure)} becomes {bar(demand.peak)} on the cylinder's rod side, "
        f"{demand.intensification:.3f} times as much"
    )


def _name(part: PartRating) -> str:
    return f"the hose {part.name}" if part.place == "hose" else f"the {part.name} ({part.place})"
