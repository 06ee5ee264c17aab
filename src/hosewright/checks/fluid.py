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

RULE = "fluid"


@dataclass(frozen=True)
class _Remark:
    """What speaks against a hose for a fluid."""

    text: str
    source: Source | None


def check(run: Run, job: Job) -> list[Finding]:
    """One finding."""
    hose, fluid = run.assembly.hose, run.duty.fluid.fluid_class
    fit = fluid_fit(hose, fluid)
    objections = _objections(hose, fluid, fit)
    if objections:
        return [_failed(objections)]
    if fit.named:
        return [_passed(f"the data of {hose.name} names {fluid}", hose.sources.get("fluids"))]
    if fit.liner.suitability is None:
        return [_unknown(hose, fluid)]
    reservations = _reservations(hose, fluid, fit)
    if reservations:
        return [_advised(reservations)]
    return [_passed(f"a liner of {hose.liner} bears {fluid}", fit.liner.source)]


def _objections(hose: Hose, fluid: str, fit: FluidFit) -> list[_Remark]:
    remarks = []
    if fit.excluded_by is not None and not fit.named:
        text = f"{fit.excluded_by.document} leaves {fluid} out for {hose.construction} hose"
        remarks.append(_Remark(f"{text}, and the data of {hose.name} does not name it", fit.excluded_by))
    if fit.liner.suitability is Suitability.UNSUITABLE:
        text = f"{fluid} attacks the liner of {hose.liner}"
        named = f"; the data of {hose.name} names {fluid}, so one of the two is wrong" if fit.named else ""
        remarks.append(_Remark(text + named, fit.liner.source))
    return remarks


def _reservations(hose: Hose, fluid: str, fit: FluidFit) -> list[_Remark]:
    remarks = []
    if fit.liner.suitability is Suitability.LIMITED:
        remarks.append(_Remark(f"a liner of {hose.liner} bears {fluid} within limits only", fit.liner.source))
    if fit.named is False:
        text = f"the data of {hose.name} names {', '.join(hose.fluids)}, not {fluid}"
        remarks.append(_Remark(text, hose.sources.get("fluids")))
    if fit.cover.suitability is Suitability.UNSUITABLE:
        remarks.append(_Remark(f"{fluid} that is spilt attacks the cover of {hose.cover}", fit.cover.source))
    return remarks


def _failed(remarks: list[_Remark]) -> Finding:
    source = remarks[0].source
    verdict = judge(len(remarks), 0.0, at_least=False, source=source)
    text = "; ".join(remark.text for remark in remarks)
    return Finding(RULE, "", verdict, "count", float(len(remarks)), 0.0, False, source, text)


def _advised(remarks: list[_Remark]) -> Finding:
    source, count = remarks[0].source, float(len(remarks))
    verdict = judge(count, None, at_least=False, advice_limit=0.0, source=source)
    text = "; ".join(remark.text for remark in remarks) + ": ask the maker of the hose"
    return Finding(RULE, "", verdict, "count", count, None, False, source, text, advice_limit=0.0)


def _passed(text: str, source: Source | None) -> Finding:
    verdict = judge(0.0, 0.0, at_least=False, source=source)
    return Finding(RULE, "", verdict, "count", 0.0, 0.0, False, source, text)


def _unknown(hose: Hose, fluid: str) -> Finding:
    liner = f"how its liner of {hose.liner} bears it is not known" if hose.liner else "its liner is not known"
    named = f"the data of {hose.name} does not name {fluid}, and {liner}"
    return Finding(RULE, "", Verdict.UNKNOWN, "count", None, 0.0, False, None, named)
