"""How good plans are: runs of which an assembly is known that passes are planned anew from their ports alone.

Run ``python benchmarks/plan_quality.py [--count N] [--first-seed K] [--part k/n] [--only SEED] [--json FILE]``. The
runs are those of ``generated_runs.py``. Every plan is checked again in full, a few also by way of their job file.
``--only`` plans one of them and tells of it in any case. Ends with 1 where a bar is missed.
"""

from __future__ import annotations

import argparse
import json
import math
import statistics
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

from generated_runs import ARM, Generated, generated, in_words

from hosewright import catalog
from hosewright.catalog import Catalog
from hosewright.checks.check import CheckResult, check
from hosewright.checks.finding import Verdict
from hosewright.checks.run import Job, Run
from hosewright.geometry import BoxShape, CylinderShape
from hosewright.jobfile import assembly_table, read_job, write_plan
from hosewright.machine import Slide
from hosewright.search.plan import Plan, RunPlan, plan
from hosewright.search.preference import Preference

LEAST_PLANNED = 0.97
LEAST_SHORT = 0.90
LONGER = 1.05
"""Free length against that of the generating assembly that still counts as short."""
BY_FILE = 10
"""Every so many runs go by way of a job file, too."""


@dataclass(frozen=True)
class Outcome:
    """What became of one run; lengths in metres, times in seconds.

    Attributes
    ----------
    passed, robust
        Whether the plan passes the full check, and holds at its limits.
    untrue
        Whether the plan says that it passes and the check of its own job does not, or its job file reads otherwise.
    keeps
        Rules, or limits, that keep an unplanned run.
    cost_ratio
        Cost of the plan by that of the generating assembly, in the order of preference.
    """

    seed: int
    kind: str
    tags: tuple[str, ...]
    drawn: int
    drawn_by: str
    planned_by: str
    passed: bool
    robust: bool
    untrue: str
    keeps: tuple[str, ...]
    free_drawn: float
    free_planned: float
    over_bound: float
    cost_ratio: float
    tried: int
    seconds: float


def outcome(made: Generated, data: Catalog, *, by_file: bool = False) -> Outcome:
    """Plan one run and check the plan."""
    start = time.perf_counter()
    planned = plan(replace(made.job, runs=()), [made.request], data)
    seconds = time.perf_counter() - start
    (own,) = planned.runs
    if own.result is None:
        return _refused(made, own, seconds)
    checked = check(replace(made.job, runs=(own.result.run,)))
    run, ends = own.result.run, own.result.run.assembly.overall_length - own.result.run.assembly.free_length
    return Outcome(
        **_drawn(made),
        planned_by=in_words(run),
        passed=checked.passed,
        robust=all(case.passed for case in own.cases) and bool(own.cases),
        untrue=_untrue(made, planned, checked, data, by_file=by_file),
        keeps=_keeps(own, checked),
        free_planned=run.assembly.free_length,
        over_bound=run.assembly.free_length / (own.bounds[0].value - ends),
        cost_ratio=_cost(run, made, checked) / _cost(made.run, made, check(made.job)),
        tried=own.tried,
        seconds=seconds,
    )


def _drawn(made: Generated) -> dict[str, Any]:
    return {
        "seed": made.seed,
        "kind": made.kind,
        "tags": made.tags,
        "drawn": made.drawn,
        "drawn_by": in_words(made.run),
        "free_drawn": made.run.assembly.free_length,
    }


def _refused(made: Generated, own: RunPlan, seconds: float) -> Outcome:
    keeps = tuple(sorted({f"{one.rule} ({one.family})" for one in own.refused}))
    nothing = {"planned_by": "nothing", "passed": False, "robust": False, "untrue": "", "keeps": keeps}
    figures = dict.fromkeys(("free_planned", "over_bound", "cost_ratio"), math.nan)
    return Outcome(**_drawn(made), **nothing, **figures, tried=own.tried, seconds=seconds)


def _keeps(own: RunPlan, checked: CheckResult) -> tuple[str, ...]:
    rules = [f.rule for run in checked.runs for f in run.findings if f.verdict is Verdict.FAIL]
    limits = [f"{case.name}: {case.failing[0].rule if case.failing else 'unsolved'}" for case in own.cases]
    return tuple(rules) or tuple(text for text, case in zip(limits, own.cases, strict=True) if not case.passed)


def _cost(run: Run, made: Generated, checked: CheckResult) -> float:
    hoses = [made.run.assembly.hose, run.assembly.hose]
    lightest = min(hose.mass_per_length or 99.0 for hose in hoses)
    return Preference(made.job.profile, lightest).cost(run, checked.runs[0].findings)


def _untrue(made: Generated, planned: Plan, checked: CheckResult, data: Catalog, *, by_file: bool) -> str:
    (own,) = planned.runs
    said = own.result is not None and not own.result.count(Verdict.FAIL) and own.result.solved.solved
    if said and not checked.passed:
        return "check fails it"
    return _by_file(made, planned, data) if by_file and said else ""


# ---- by way of a job file ----


def _by_file(made: Generated, planned: Plan, data: Catalog) -> str:
    """Whether the written plan, read and checked, passes, too."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "job.toml"
        path.write_text(job_text(made), encoding="utf-8")
        file = read_job(path, data, to_plan=True)
        own = planned.runs[0].result
        assert own is not None
        path.write_text(write_plan(file, {own.run.name: assembly_table(own.run, made.job.machine)}), encoding="utf-8")
        read = read_job(path, data).job
    if not check(read).passed:
        return "check fails its job file"
    return "" if in_words(read.runs[0]) == in_words(own.run) else "its job file reads otherwise"


def job_text(made: Generated) -> str:
    """The job of a run without its assembly, as a job file."""
    job, duty = made.job, made.run.duty
    lines = ["[job]", "format = 1", 'title = "generated"', "", "[fluid]", 'grade = "HM 46"']
    lines += ["temperature = { min = -15, working = 55, max = 80 }", "", "[[body]]", f'name = "{ARM}"', _joint(job)]
    for port in job.machine.ports:
        lines += ["", "[[port]]", f'name = "{port.name}"', f'on = "{port.on}"', f"at = {_mm(port.at)}"]
        lines += [f"facing = {list(port.facing)}", f"up = {list(port.up or ())}", f'connection = "{port.connection}"']
    for part in job.machine.obstacles:
        lines += ["", "[[obstacle]]", f'name = "{part.name}"', f'on = "{part.on}"', f'surface = "{part.surface}"']
        lines += [_shape(part.shape)]
    for operator in job.machine.operators:
        lines += ["", "[[operator]]", f'name = "{operator.name}"', f"at = {_mm(operator.at)}"]
    pressure = f"{{ working = {duty.working_pressure / 1e5:.12g}, peak = {duty.peak_pressure / 1e5:.12g} }}"
    lines += ["", "[[run]]", 'name = "one"', 'from = "A"', 'to = "B"', f"pressure = {pressure}"]
    lines += [f"flow = {duty.flow * 6e4:.12g}", "", "[[motion]]", f"cycle = [{_waypoints(job)}]"]
    lines += [f"steps = {max(len(job.poses) - 1, 1)}"]
    if job.service_poses:
        lines += ["", "[service]", f"poses = [{_pose(job, job.service_poses[0][ARM])}]"]
    return "\n".join(lines) + "\n"


def _joint(job: Job) -> str:
    joint = job.machine.bodies[0].joint
    assert joint is not None
    if isinstance(joint, Slide):
        limits = (-1.0, 1.0) if math.isinf(joint.lowest) else (joint.lowest, joint.highest)
        low, high = (f"{value * 1e3!r}" for value in limits)
        return f"slide = {{ along = {list(joint.along)}, from = {low}, to = {high} }}"
    low, high = (f"{math.degrees(value)!r}" for value in (joint.lowest, joint.highest))
    return f"turn = {{ at = {_mm(joint.at)}, about = {list(joint.about)}, from = {low}, to = {high} }}"


def _waypoints(job: Job) -> str:
    values = job.poses.of(ARM)
    return ", ".join(_pose(job, value) for value in dict.fromkeys((float(values[0]), float(values[-1]))))


def _pose(job: Job, value: float) -> str:
    sliding = isinstance(job.machine.bodies[0].joint, Slide)
    return f"{{ {ARM} = {value * 1e3 if sliding else math.degrees(value)!r} }}"


def _mm(point: Sequence[float]) -> list[float]:
    return [float(value) * 1e3 for value in point]


def _shape(shape: object) -> str:
    if isinstance(shape, BoxShape):
        at, size = _mm(shape.centre), _mm(shape.size)
        return f"box = {{ at = {at}, size = {size}, along = {list(shape.along)}, up = {list(shape.up)} }}"
    assert isinstance(shape, CylinderShape)
    return f"cylinder = {{ from = {_mm(shape.start)}, to = {_mm(shape.end)}, diameter = {2e3 * shape.radius!r} }}"


# ---- the whole set ----


def main() -> int:
    """Plan the set and print the figures."""
    asked = _arguments()
    data, outcomes, drawn = catalog.load(), list[Outcome](), Counter[str]()
    seed, part, parts = asked.first_seed, *map(int, asked.part.split("/"))
    seeds = [asked.only] if asked.only is not None else range(seed + part - 1, seed + 10 * asked.count, parts)
    for seed in seeds:
        if len(outcomes) == math.ceil(asked.count / parts):
            break
        made = generated(seed, data)
        if made is None:
            drawn["seeds without a run"] += 1
            continue
        drawn.update({**made.lost, "kept": 1})
        outcomes.append(outcome(made, data, by_file=len(outcomes) % BY_FILE == 0))
        _tell(outcomes[-1], verbose=asked.only is not None)
    if asked.json:
        asked.json.write_text(json.dumps([asdict(one) for one in outcomes], indent=1), encoding="utf-8")
    return _summary(outcomes, drawn)


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--count", type=int, default=200, help="runs to plan")
    parser.add_argument("--first-seed", type=int, default=0)
    parser.add_argument("--part", default="1/1", help="k/n: only every n-th seed, to share the set among processes")
    parser.add_argument("--only", type=int, help="one seed, told at length")
    parser.add_argument("--json", type=Path, help="file for the outcomes")
    return parser.parse_args()


def _tell(one: Outcome, *, verbose: bool) -> None:
    verdict = "planned" if one.passed and one.robust else "fails at limits" if one.passed else "NOT PLANNED"
    ratio = one.free_planned / one.free_drawn
    print(
        f"{one.seed:5} {one.kind:8} {verdict:15} {ratio:5.2f} x drawn, {one.seconds:5.1f} s, {one.tried} tried",
        flush=True,
    )
    if verbose or not (one.passed and one.robust) or one.untrue or ratio > LONGER:
        print(
            f"      drawn {one.drawn_by}\n      plan  {one.planned_by}   {one.untrue} {'; '.join(one.keeps)}",
            flush=True,
        )


def _summary(outcomes: Sequence[Outcome], drawn: Counter[str]) -> int:
    number = len(outcomes)
    planned = sum(one.passed for one in outcomes) / number
    robust_too = sum(one.passed and one.robust for one in outcomes) / number
    short = sum(one.free_planned <= LONGER * one.free_drawn for one in outcomes) / number
    untrue = [one for one in outcomes if one.untrue]
    seconds = [one.seconds for one in outcomes]
    total = sum(drawn.values())
    print(f"\n{number} runs of {total} layouts drawn: {100 * (1 - number / total):.0f} % drawn away ({dict(drawn)})")
    print(f"planned without a failing finding {100 * planned:.1f} % (bar {100 * LEAST_PLANNED:.0f} %)")
    print(f"planned, and holds at all limits  {100 * robust_too:.1f} %")
    print(f"free length at most {LONGER:.2f} x drawn   {100 * short:.1f} % (bar {100 * LEAST_SHORT:.0f} %)")
    print(f"cheaper than drawn, or equal      {100 * sum(one.cost_ratio <= 1.001 for one in outcomes) / number:.1f} %")
    over = statistics.median(one.over_bound for one in outcomes if not math.isnan(one.over_bound))
    print(f"median of free length over its proven bound {over:.3f}")
    print(f"plans that the check fails        {len(untrue)} (bar 0) {[one.seed for one in untrue]}")
    print(f"seconds a run: median {statistics.median(seconds):.1f}, greatest {max(seconds):.1f}")
    missed = [one.seed for one in outcomes if not (one.passed and one.robust)]
    print(f"not planned or not robust: {missed}")
    good = planned >= LEAST_PLANNED and short >= LEAST_SHORT and not untrue
    print("all bars met" if good else "a bar is missed")
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
