"""Whether an assembly still passes at its limits: stiffness, ports off by their measuring error, angles of bent ends.

Length tolerance and length change are states of every check. Here the shape rules are checked again, one thing at a
time and on level ground,

* with 0.2 and 3 times the nominal bending stiffness, and with torsional over bending stiffness of 3 and 30;
* with both ports off by the whole of their measuring error, in position and direction: apart, together and in ten
  directions drawn once and for all (sampling, not a proof);
* with each bent end and bent adapter fitted off its clock angle to either side by what a fitter who sets it by eye may
  be off;
* with two bent ends at both limits of their orientation tolerance.

The twist that an angle that is off puts in is judged by the rule of the twist as built: it does not count here.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from hosewright.assembly import Assembly, End
from hosewright.checks import bend_radius, motion_twist, straight
from hosewright.checks.check import shape_findings
from hosewright.checks.finding import Finding, Verdict
from hosewright.checks.run import Job, Run
from hosewright.checks.solve import SolvedRun, solve_runs
from hosewright.geometry import Frames
from hosewright.geometry.frames import rotation
from hosewright.machine import Poses
from hosewright.search.trial import can_centre, centred_twist, shortfall
from hosewright.standards import mil_dtl_83796

BENDING = (0.2, 3.0)
TORSION = (3.0, 30.0)
SAMPLES = 10
SEED = 2718
STIFF, AXIS_RESERVE = 1e5, 0.02
"""With a softer axis than this, and fewer elements, radii and twist read a little too good: they must keep so much of
their limit in hand."""


@dataclass(frozen=True, eq=False)
class Case:
    """One way in which the real thing may differ.

    Attributes
    ----------
    name
        What differs, and by how much where it has a figure, such as ``"bending 0.2"`` or ``"ports apart"``: the words
        before the figure are a key of the language files.
    kind
        ``"stiffness"``, ``"ports"``, ``"clock"`` or ``"orientation"``.
    worst
        The finding that fails by most, else the one with the least margin.
    failing
        Findings that fail.
    solved
        Whether every shape was found.
    """

    name: str
    kind: str
    worst: Finding | None
    failing: tuple[Finding, ...]
    solved: bool

    @property
    def passed(self) -> bool:
        """Whether nothing fails."""
        return self.solved and not self.failing

    @property
    def short(self) -> float:
        """What it falls short by, in parts of the limit; 0 where it passes."""
        if not self.solved:
            return math.inf
        return max((shortfall(finding) for finding in self.failing), default=0.0)


@dataclass(frozen=True, eq=False)
class Setting:
    """A job and a run as they may be."""

    name: str
    kind: str
    job: Job
    run: Run


def _bending(factor: float) -> str:
    return f"bending {factor:g}"


SOFTEST = _bending(BENDING[0])


def cases(
    run: Run, job: Job, poses: Poses, others: Sequence[SolvedRun], *, bearable: float = math.inf
) -> tuple[Case, ...]:
    """Check a run at its limits, in some poses, beside other hoses solved in the same poses.

    Given up after a case that falls short of a limit by more than a ``bearable`` part of it.
    """
    found: list[Case] = []
    for setting in settings(run, job, poses):
        found.append(_case(setting, poses, others))
        if found[-1].short > bearable:
            break
    return tuple(found)


def settings(run: Run, job: Job, poses: Poses) -> Iterator[Setting]:
    """The ways in which the real thing may differ."""
    for factor in BENDING:
        yield Setting(_bending(factor), "stiffness", replace(job, bending_factor=factor), run)
    for ratio in TORSION:
        yield Setting(f"torsion {ratio:g}", "stiffness", replace(job, torsion_ratio=ratio), run)
    free = replace(run, assembly=replace(run.assembly, orientation_angle=None))
    for name, offsets in _off_ports(run, job, poses):
        yield Setting(name, "ports", replace(job, port_offsets=offsets, port_error=0.0), free)
    for name, assembly in _off_clocks(free.assembly, job.profile["fitter_clock"]):
        yield Setting(name, "clock", job, replace(free, assembly=assembly))
    angle = run.assembly.orientation_angle
    if angle is not None and can_centre(run.assembly):
        tolerance = mil_dtl_83796.orientation_tolerance(run.assembly.overall_length).plus
        for off in (tolerance, -tolerance):
            turned = replace(run, assembly=replace(run.assembly, orientation_angle=(angle + off) % math.tau))
            yield Setting(f"orientation {math.degrees(off):+.0f}", "orientation", job, turned)


def _off_clocks(assembly: Assembly, off: float) -> Iterator[tuple[str, Assembly]]:
    """An assembly with each of its bent parts in turn off its clock angle, to either side. [rad]"""
    for angle in (off, -off):
        shown = f"{math.degrees(angle):+.0f}"
        for name, end in _turned(assembly.a, angle):
            yield f"{name} a {shown}", replace(assembly, a=end)
        for name, end in _turned(assembly.b, angle):
            yield f"{name} b {shown}", replace(assembly, b=end)


def _turned(end: End, angle: float) -> Iterator[tuple[str, End]]:
    # each bent part turned by an angle, with all that it carries
    for k, (adapter, clock) in enumerate(end.adapters):
        if adapter.angle > 0.0:
            adapters = (*end.adapters[:k], (adapter, clock + angle), *end.adapters[k + 1 :])
            yield "adapter clock", replace(end, adapters=adapters)
    if end.form.exit_angle > 0.0:
        yield "clock", replace(end, clock=end.clock + angle)


def _off_ports(run: Run, job: Job, poses: Poses) -> Iterator[tuple[str, dict[str, Frames]]]:
    if job.port_error <= 0.0 and job.port_angle_error <= 0.0:
        return
    placement = job.machine.place(poses)
    a, b = placement.port(run.port_a), placement.port(run.port_b)
    chord = b.origin[0] - a.origin[0]
    along = chord / max(float(np.linalg.norm(chord)), 1e-9)
    local = a.axes[0].T @ along, b.axes[0].T @ along
    for name, sign in (("ports apart", 1.0), ("ports together", -1.0)):
        yield (
            name,
            {
                run.port_a: _offset(-sign * local[0] * job.port_error, np.eye(3)[2], 0.0),
                run.port_b: _offset(sign * local[1] * job.port_error, np.eye(3)[2], 0.0),
            },
        )
    draw = np.random.default_rng(SEED)
    for number in range(1, SAMPLES + 1):
        moves, axes = draw.normal(size=(2, 3)), draw.normal(size=(2, 3))
        moves *= job.port_error / np.linalg.norm(moves, axis=1, keepdims=True)
        axes /= np.linalg.norm(axes, axis=1, keepdims=True)
        ports = (run.port_a, run.port_b)
        yield (
            f"ports sample {number}",
            {port: _offset(moves[k], axes[k], job.port_angle_error) for k, port in enumerate(ports)},
        )


def _offset(move: np.ndarray, axis: np.ndarray, angle: float) -> Frames:
    return Frames(np.asarray(move, dtype=float)[None], rotation(axis, np.array([angle])))


def _case(setting: Setting, poses: Poses, others: Sequence[SolvedRun]) -> Case:
    (solved,) = solve_runs(setting.job, [setting.run], poses)
    findings = [_twist_alone(f, setting, solved) for f in shape_findings(solved, others, setting.job)]
    if setting.kind == "orientation":
        findings = [finding for finding in findings if finding.rule != motion_twist.RULE]
    judged = [finding for finding in findings if finding.measure is not None and finding.limit is not None]
    failing = tuple(sorted((f for f in judged if _fails(f, setting.job)), key=shortfall, reverse=True))
    worst = max((f for f in judged if f.kind != "count"), key=shortfall, default=None)
    return Case(setting.name, setting.kind, worst, failing, solved.solved)


def _fails(finding: Finding, job: Job) -> bool:
    soft = job.stiff_axis < STIFF and finding.rule in (bend_radius.RULE, straight.RULE, motion_twist.RULE)
    return finding.verdict is Verdict.FAIL or shortfall(finding) > (-AXIS_RESERVE if soft else 0.0)


def _twist_alone(finding: Finding, setting: Setting, solved: SolvedRun) -> Finding:
    # with ports off the ends may not fit each other any more: how far is the business of the twist as built
    if finding.rule != motion_twist.RULE or setting.kind not in ("ports", "clock") or finding.measure is None:
        return finding
    measure = min(finding.measure, centred_twist(finding, solved))
    bound = finding.limit
    verdict = Verdict.FAIL if bound is not None and measure > bound else Verdict.PASS
    return replace(finding, measure=measure, verdict=verdict)
