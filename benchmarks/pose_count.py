"""Whether findings depend on the number of poses: the example's motion as given against one ten times finer."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np

from hosewright.checks.check import CheckResult, check
from hosewright.jobfile import read_job
from hosewright.machine import refine
from hosewright.words import reading

PLATFORM = Path(__file__).parents[1] / "examples" / "platform.toml"
ALLOWED = {"length": 0.0005, "angle": 0.00175, "twist": 0.00175, "count": 0.0}
"""Half a millimetre, a tenth of a degree (per metre); or one per cent of the limit, whichever is larger."""


def finer(job, halvings: int):
    poses = job.poses
    for _ in range(halvings):
        poses = refine(poses, np.ones(len(poses) - 1, dtype=bool))
    return replace(job, poses=poses)


def compare(coarse: CheckResult, fine: CheckResult) -> int:
    missed = 0
    for run in coarse.runs:
        others = {finding.key: finding for finding in fine.run(run.run.name).findings}
        for finding in run.findings:
            other = others[finding.key]
            if finding.kind not in ALLOWED or finding.measure is None or other.measure is None:
                continue
            bound = finding.limit if finding.limit is not None else finding.advice_limit
            allowed = max(ALLOWED[finding.kind], 0.01 * abs(bound or 0.0))
            change = abs(finding.measure - other.measure)
            same = change <= allowed or (finding.verdict is other.verdict and finding.measure > 3.0 * abs(bound or 0.0))
            missed += not same
            if not same or change > 0.3 * allowed:
                how = reading(finding.kind)
                print(
                    f"{'' if same else 'MISSED '}{run.run.name}, {finding.rule}, {finding.subject}: "
                    f"{finding.measure * how.factor:.3f} and {other.measure * how.factor:.3f} {how.unit}"
                )
            missed += finding.verdict is not other.verdict
    return missed


def main() -> None:
    """Print what moves by more than a third of what is allowed."""
    job = read_job(PLATFORM).job
    coarse, fine = check(job), check(finer(job, 4))
    print(f"{len(job.poses)} poses given, {len(coarse.poses)} after refining; finer: {len(fine.poses)}")
    missed = compare(coarse, fine)
    print(f"{missed} findings differ by more than is allowed")
    sys.exit(bool(missed))


if __name__ == "__main__":
    main()
