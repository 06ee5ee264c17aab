"""Twist as built: what the orientation of two bent ends may be off, and what the fitter leaves, per metre of hose.

Two bent ends meet two ports, so that every degree by which they are off is taken up by the hose; a straight end's nut
takes it up instead.
"""

from __future__ import annotations

from hosewright.assembly import Assembly
from hosewright.checks.finding import Finding, judge
from hosewright.checks.run import Job, Run
from hosewright.standards import mil_dtl_83796
from hosewright.words import Figure, Sentence

RULE = "twist as built"


def check(run: Run, job: Job) -> list[Finding]:
    """One finding."""
    profile, assembly = job.profile, run.assembly
    source = profile.source("built_twist_limit")
    limit, advice = profile["built_twist_limit"], profile["built_twist_advice"]
    built, fitted = _off_orientation(assembly), profile["fitter_twist"]
    measure = (built + fitted) / assembly.free_length
    left, length = Figure.angle(fitted), Figure.length(assembly.free_length, 1)
    twist = Figure(measure, "twist")
    if built:
        off = Figure.angle(built)
        said = Sentence.of("findings.built_twist_ends", off=off, left=left, length=length, twist=twist)
    else:
        said = Sentence.of("findings.built_twist", left=left, length=length, twist=twist)
    verdict = judge(measure, limit, at_least=False, advice_limit=advice, source=source)
    return [Finding(RULE, "", verdict, "twist", measure, limit, False, source, said, advice_limit=advice)]


def _off_orientation(assembly: Assembly) -> float:
    """Tolerance of the angle between two bent ends; 0 where one of them is straight. [rad]"""
    if assembly.a.form.exit_angle == 0.0 or assembly.b.form.exit_angle == 0.0:
        return 0.0
    return mil_dtl_83796.orientation_tolerance(assembly.overall_length).plus
