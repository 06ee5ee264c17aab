"""DGUV Regel 113-020 (formerly BGR 237), hydraulic hose assemblies and fluids: safe use."""

from __future__ import annotations

from hosewright.sources import Source
from hosewright.standards.values import Value

REPLACEMENT = Source("DGUV Regel 113-020", "replacement of hose assemblies")


def hose_age_at_assembly() -> Value:
    """Greatest age of the hose when an assembly is made from it. [years]"""
    return Value(4.0, REPLACEMENT)


def storage_time() -> Value:
    """Longest storage of an assembly, which counts as part of its life. [years]"""
    return Value(2.0, REPLACEMENT)


def service_time(raised_duty: bool = False) -> Value:
    """Guide value for the replacement of an assembly. [years]

    Parameters
    ----------
    raised_duty
        Several shifts, short cycles, strong attack from inside or outside, or hand-held tools: then two years of
        operation; else six years from its making, storage included. More needs evidence and a written assessment of the
        risk.
    """
    return Value(2.0 if raised_duty else 6.0, REPLACEMENT)
