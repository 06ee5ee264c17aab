"""What planning, and a check of one changed length cost; times are for reading, nothing depends on them.

Run ``python benchmarks/plan_cost.py``; the kernels have to be compiled already (``hosewright warmup``).
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from hosewright.catalog import load
from hosewright.checks.check import duty_findings, shape_findings
from hosewright.checks.solve import solve_runs
from hosewright.jobfile import read_job, read_text
from hosewright.mechanics import warm_up
from hosewright.search.plan import plan

HERE = Path(__file__).parent.parent / "examples"
FIXED = """\
[job]
format = 1
title = "one line between fixed ports"
[fluid]
grade = "HM 46"
temperature = { min = -10, working = 55, max = 80 }
[[port]]
name = "A"
at = [0, 0, 500]
facing = [1, 0, 0]
connection = "face seal -8 male"
[[port]]
name = "B"
at = [1100, 0, 500]
facing = [-1, 0, 0]
connection = "face seal -8 male"
[[run]]
name = "line"
from = "A"
to = "B"
pressure = { working = 160, peak = 200 }
flow = 25
ends = [{ form = "straight" }, { form = "straight" }]
"""


def main() -> int:
    """Print the times."""
    warm_up()
    _plans()
    _changed_length()
    return 0


def _plans() -> None:
    catalog = load()
    fixed = read_text(FIXED, Path("line.toml"), catalog, to_plan=True)
    plan(fixed.job, fixed.requests, catalog)
    took, _ = _timed(lambda: plan(fixed.job, fixed.requests, catalog), 5)
    print(f"one fixed run with straight ends    {took:6.2f} s (bar 1)")
    file = read_job(HERE / "platform_to_plan.toml", catalog, to_plan=True)
    took, made = _timed(lambda: plan(file.job, file.requests, catalog), 1)
    tried = sum(run.tried for run in made.runs)
    passed = sum(run.passed for run in made.runs)
    print(f"six runs of the example             {took:6.2f} s (bar 20), {passed} pass, {tried} trials")


def _changed_length() -> None:
    job = replace(read_job(HERE / "platform.toml", load()).job, attitude=0.0)
    others = solve_runs(job, job.runs, job.poses)
    run = job.runs[1]
    count = iter(range(1, 1000))

    def again() -> None:
        length = round(run.assembly.overall_length + 0.001 * next(count), 4)
        changed = replace(run, assembly=replace(run.assembly, overall_length=length))
        (solved,) = solve_runs(job, [changed], job.poses)
        shape_findings(solved, [one for one in others if one.run.name != run.name], job)
        duty_findings(changed, job)

    again()
    took, _ = _timed(again, 9)
    print(f"one changed length, {len(job.poses)} poses       {1e3 * took:6.0f} ms (bar 100)")


def _timed(make: Callable[[], object], times: int) -> tuple[float, object]:
    took = []
    for _ in range(times):
        start = time.perf_counter()
        made = make()
        took.append(time.perf_counter() - start)
    return statistics.median(took), made


if __name__ == "__main__":
    sys.exit(main())
