"""Fluid: the hose is made for it. The hose's own data goes first, then its standard, then what its liner bears.

The measure is the number of objections. A liner that the fluid destroys is one even where the hose's data names the
fluid: then one of the two is wrong.
"""

from __future__ import annotations

from dataclasses import dataclass

from hosewright.assembly import Hose
from hosewright.checks.finding import Finding, Verdict, judge
from hosewright.checks.run import Job, Run
from hosewright.duty import FluidFit, Suitability, fluid_fit
from hosewright.sources import Source
from hosewright.words import Sentence, one_after_another

RULE = "fluid"


@dataclass(frozen=True)
class _Remark:
    """What speaks against a hose for a fluid."""

    said: Sentence
    source: Source | None


def check(run: Run, job: Job) -> list[Finding]:
    """One finding."""
    hose, fluid = run.assembly.hose, run.duty.fluid.fluid_class
    fit = fluid_fit(hose, fluid)
    objections = _objections(hose, fluid, fit)
    if objections:
        return [_failed(objections)]
    if fit.named:
        return [_passed(Sentence.of("findings.fluid_named", hose=hose.name, fluid=fluid), hose.sources.get("fluids"))]
    if fit.liner.suitability is None:
        return [_unknown(hose, fluid)]
    reservations = _reservations(hose, fluid, fit)
    if reservations:
        return [_advised(reservations)]
    said = Sentence.of("findings.liner_bears", liner=hose.liner or "", fluid=fluid)
    return [_passed(said, fit.liner.source)]


def _objections(hose: Hose, fluid: str, fit: FluidFit) -> list[_Remark]:
    remarks = []
    if fit.excluded_by is not None and not fit.named:
        standard, kind = fit.excluded_by.document, hose.construction
        said = Sentence.of("findings.fluid_excluded", standard=standard, fluid=fluid, construction=kind, hose=hose.name)
        remarks.append(_Remark(said, fit.excluded_by))
    if fit.liner.suitability is Suitability.UNSUITABLE:
        said = Sentence.of("findings.liner_attacked", liner=hose.liner or "", fluid=fluid)
        named = Sentence.of("findings.attacked_though_named", hose=hose.name, fluid=fluid) if fit.named else None
        remarks.append(_Remark(said.then(named), fit.liner.source))
    return remarks


def _reservations(hose: Hose, fluid: str, fit: FluidFit) -> list[_Remark]:
    remarks = []
    if fit.liner.suitability is Suitability.LIMITED:
        said = Sentence.of("findings.liner_limited", liner=hose.liner or "", fluid=fluid)
        remarks.append(_Remark(said, fit.liner.source))
    if fit.named is False:
        said = Sentence.of("findings.fluid_not_named", hose=hose.name, fluids=hose.fluids, fluid=fluid)
        remarks.append(_Remark(said, hose.sources.get("fluids")))
    if fit.cover.suitability is Suitability.UNSUITABLE:
        said = Sentence.of("findings.cover_attacked", cover=hose.cover or "", fluid=fluid)
        remarks.append(_Remark(said, fit.cover.source))
    return remarks


def _failed(remarks: list[_Remark]) -> Finding:
    source = remarks[0].source
    verdict = judge(len(remarks), 0.0, at_least=False, source=source)
    said = one_after_another(remark.said for remark in remarks)
    return Finding(RULE, "", verdict, "count", float(len(remarks)), 0.0, False, source, said)


def _advised(remarks: list[_Remark]) -> Finding:
    source, count = remarks[0].source, float(len(remarks))
    verdict = judge(count, None, at_least=False, advice_limit=0.0, source=source)
    said = Sentence.of("findings.ask_the_maker", said=one_after_another(remark.said for remark in remarks))
    return Finding(RULE, "", verdict, "count", count, None, False, source, said, advice_limit=0.0)


def _passed(said: Sentence, source: Source | None) -> Finding:
    verdict = judge(0.0, 0.0, at_least=False, source=source)
    return Finding(RULE, "", verdict, "count", 0.0, 0.0, False, source, said)


def _unknown(hose: Hose, fluid: str) -> Finding:
    if hose.liner:
        said = Sentence.of("findings.fluid_unknown", hose=hose.name, fluid=fluid, liner=hose.liner)
    else:
        said = Sentence.of("findings.liner_unknown", hose=hose.name, fluid=fluid)
    return Finding(RULE, "", Verdict.UNKNOWN, "count", None, 0.0, False, None, said)
