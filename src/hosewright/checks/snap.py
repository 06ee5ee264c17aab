"""Solved and steady: every shape was found, and none snapped through to another on the way."""

from __future__ import annotations

import numpy as np

from hosewright.checks.finding import Finding, Verdict
from hosewright.checks.run import Job
from hosewright.checks.solve import SolvedRun, SolvedSpan
from hosewright.checks.worst import place_of
from hosewright.sources import Confidence, Source
from hosewright.words import Sentence

RULE = "steady shape"
SOURCE = Source("mechanics of the rod", "snap-through", Confidence.OURS)


def check(solved: SolvedRun, job: Job) -> list[Finding]:
    """One finding for each span."""
    return [_finding(solved, span) for span in solved.spans]


def _finding(solved: SolvedRun, span: SolvedSpan) -> Finding:
    unsolved = np.array([~shapes.converged for shapes in span.shapes])
    jumped = np.array([shapes.jumped_at > 0.0 for shapes in span.shapes])
    coarse = np.array([[status == "under-resolved" for status in shapes.status] for shapes in span.shapes])
    measure = 0.0
    verdict, said, marked = Verdict.PASS, Sentence.of("findings.steady"), None
    if unsolved.any():
        said = Sentence.of("findings.not_solved", count=int(unsolved.sum()))
        verdict, marked = Verdict.FAIL, unsolved
    elif jumped.any():
        said = Sentence.of("findings.snaps", count=int(jumped.any(axis=0).sum()))
        verdict, marked = Verdict.FAIL, jumped
    elif not span.steady_approach:
        said = Sentence.of("findings.snaps_on_the_way")
        verdict, measure = Verdict.FAIL, 1.0
    elif coarse.any():
        said = Sentence.of("findings.coarse")
        verdict, marked = Verdict.ADVICE, coarse
    if marked is not None:
        measure = float(marked.sum())
    state, pose = (0, 0) if marked is None else (int(i[0]) for i in np.nonzero(marked))
    place = place_of(solved, state, pose, span.name)
    limits = (None, 0.0) if verdict is Verdict.ADVICE else (0.0, None)
    return Finding(RULE, span.name, verdict, "count", measure, limits[0], False, SOURCE, said, limits[1], place)
