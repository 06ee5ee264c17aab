"""Bounds of the length: what no hose between the same ends can do with less."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from hosewright.assembly import Assembly
from hosewright.checks.check import RunResult
from hosewright.checks.run import Job
from hosewright.checks.slack import shortest_way
from hosewright.checks.solve import SolvedSpan
from hosewright.search.coarse import centre_radius
from hosewright.standards import din_20066


@dataclass(frozen=True)
class Bound:
    """A least length.

    Attributes
    ----------
    name
        ``"overall length"``.
    value
        [m]
    proven
        Whether it holds for any hose between these ends; else it is an estimate.
    text
        What it rests on.
    """

    name: str
    value: float
    proven: bool
    text: str


def bounds(run: RunResult, job: Job) -> tuple[Bound, ...]:
    """Least overall lengths of a run with its ends as they are: the proven one, then the estimate."""
    assembly, spans = run.run.assembly, run.solved.spans
    radius = centre_radius(assembly.hose)
    proven = sum(_span_way(span, radius, planar=False) for span in spans)
    likely = sum(_span_way(span, radius, planar=True) for span in spans)
    ends = assembly.overall_length - assembly.free_length
    found = [
        Bound(
            "overall length",
            _nominal(proven, ends, assembly, job),
            True,
            "in its shortest state the hose must span the straight distance, and turn at no less than its radius",
        )
    ]
    if likely > proven * 1.001:
        text = "the shortest path of the permitted radius in the plane of both ends"
        found.append(Bound("overall length along the path", _nominal(likely, ends, assembly, job), False, text))
    return tuple(found)


def _span_way(span: SolvedSpan, radius: float, *, planar: bool) -> float:
    if planar:
        return float(shortest_way(span, radius).max())
    cosine = np.clip(np.sum(span.a.facing * span.b.facing, axis=1), -1.0, 1.0)
    return float(np.maximum(span.distance, radius * np.arccos(cosine)).max())


def _nominal(way: float, ends: float, assembly: Assembly, job: Job) -> float:
    # nominal overall length whose shortest state is the way and the reserve; the tolerance is that of the length
    need = (way + job.port_error) / (1.0 - (assembly.hose.shorter or 0.0))
    tolerance = din_20066.length_tolerance(need + ends, assembly.hose.inside_diameter).minus
    return need + tolerance + ends
