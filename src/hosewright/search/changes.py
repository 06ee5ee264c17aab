"""Changes of a run: what one is, and those of its figures: length, angles, end form, fitting pose, sleeve."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from hosewright.assembly import Assembly, End, EndForm, Roll
from hosewright.catalog import Catalog
from hosewright.checks import slack
from hosewright.checks.check import RunResult
from hosewright.checks.finding import Verdict
from hosewright.checks.run import Job, Run
from hosewright.checks.solve import SolvedRun
from hosewright.errors import ArgumentError
from hosewright.machine import Machine, Turn
from hosewright.words import Figure, Name, Sentence

LENGTH_STEPS = (0, 1, 2, 4, 8, 16, 32)
"""Changes of the overall length that are tried, in the shop's increments, beyond what a hose is too short."""
TURNS = (15.0, 30.0, 60.0, 90.0, 180.0)
"""Changes of an angle that are tried. [deg]"""
LENGTH_PATH = "run.assembly.length"


@dataclass(frozen=True)
class Change:
    """One change to one run.

    Attributes
    ----------
    size
        Orders changes of figures, the smallest first; infinite where more than a figure changes.
    path, value
        Field of the job and its new value, in the job file's units; a table where several fields change, in which
        ``None`` takes a field out.
    machine
        The changed machine, where a port is turned.
    """

    kind: str
    size: float
    said: Sentence
    path: str
    value: Any
    run: Run
    machine: Machine | None = None

    @property
    def text(self) -> str:
        """The change, in a sentence."""
        return str(self.said)


def freed_orientation(old: Run, new: Run) -> tuple[list[Sentence], dict[str, Any]]:
    """Words and table that leave the orientation angle open where it no longer fits the ends; ``None`` takes it out."""
    if old.assembly.orientation_angle is None or new.assembly.orientation_angle is not None:
        return [], {}
    return [Sentence.of("remedies.free_orientation")], {"orientation": None}


def figure_changes(run: RunResult, job: Job, catalog: Catalog) -> Iterator[Change]:
    """Single changes to a run, each with its size: a step of length counts 1, 15 degrees 3, another end 20."""
    yield from _lengths(run, job)
    yield from _orientations(run)
    for end in ("a", "b"):
        yield from _clocks(run.run, end)
        yield from _forms(run.run, end, catalog)
    yield from _fitting_poses(run.run, job)
    if not run.run.sleeve:
        said = Sentence.of("remedies.sleeve")
        yield Change("sleeve", 8.0, said, "run.sleeve", True, replace(run.run, sleeve=True))


def _with_assembly(run: Run, **parts: Any) -> Run | None:
    try:
        return replace(run, assembly=replace(run.assembly, **parts))
    except ArgumentError:
        return None  # the ends leave no free hose


def _lengths(run: RunResult, job: Job) -> Iterator[Change]:
    reach = steps_to_reach(run, job)
    for steps in LENGTH_STEPS:
        for more in (reach + steps,) if reach else (steps, -steps) if steps else ():
            change = length_change(run.run, job, more)
            if change is not None:
                yield change


def steps_to_reach(run: RunResult, job: Job) -> int:
    """Least increments by which a hose that fails for slack has to be longer; 0 where it reaches."""
    short = [-(f.margin or 0.0) for f in run.findings if f.rule == slack.RULE and f.verdict is Verdict.FAIL]
    if not short:
        return 0
    increment, assembly = job.profile["length_increment"], run.run.assembly
    needed = assembly.overall_length + max(short) / (1.0 - (assembly.hose.shorter or 0.0))
    return max(1, math.ceil(needed / increment - 1e-6) - round(assembly.overall_length / increment))


def length_change(run: Run, job: Job, steps: int) -> Change | None:
    """Another overall length, so many of the shop's increments away; ``None`` where no free hose is left."""
    increment = job.profile["length_increment"]
    length = (round(run.assembly.overall_length / increment) + steps) * increment
    changed = _with_assembly(run, overall_length=length) if length > 0.0 else None
    if changed is None:
        return None
    more = Figure.length(length - run.assembly.overall_length, sign=True)
    said = Sentence.of("remedies.length", length=Figure.length(length), more=more)
    return Change("length", abs(steps), said, LENGTH_PATH, round(length * 1e3, 3), changed)


def _orientations(run: RunResult) -> Iterator[Change]:
    assembly, solved = run.run.assembly, run.solved
    if assembly.orientation_angle is None or not _bent(assembly):
        return
    best = math.degrees(solved.orientation)
    twists = np.concatenate([sum_of_twist(solved, s) for s in range(len(solved.states))])
    centred = best + math.degrees(float(twists.max() + twists.min()) / 2.0 - solved.misfit)
    for angle in dict.fromkeys((round(best), round(centred))):
        turned = math.radians(angle) % math.tau
        changed = _with_assembly(run.run, orientation_angle=turned)
        if changed is not None:
            value = angle % 360
            size = 3.0 * abs(math.remainder(turned - assembly.orientation_angle, math.tau)) / math.radians(15.0)
            yield Change(
                "orientation",
                size,
                Sentence.of("remedies.orientation", angle=Figure.angle(math.radians(value))),
                "run.assembly.orientation",
                value,
                changed,
            )


def sum_of_twist(solved: SolvedRun, state: int) -> np.ndarray:
    """Twist of the whole hose in each pose of a state, (m,). [rad]"""
    return np.sum([span.shapes[state].twist for span in solved.spans], axis=0)


def _bent(assembly: Assembly) -> bool:
    return min(assembly.a.form.exit_angle, assembly.b.form.exit_angle) > 0.0


def _end(run: Run, end: str) -> End:
    return run.assembly.a if end == "a" else run.assembly.b


def _clocks(run: Run, end: str) -> Iterator[Change]:
    old = _end(run, end)
    if old.form.exit_angle <= 0.0 or old.form.roll is Roll.FIXED:
        return
    for turn in TURNS:
        for sign in (1.0, -1.0) if turn < 180.0 else (1.0,):
            clock = (old.clock + sign * math.radians(turn)) % math.tau
            if not _allowed(old, clock):
                continue
            # the orientation angle follows from the new lie
            changed = _with_assembly(run, **{end: replace(old, clock=clock)}, orientation_angle=None)
            if changed is not None:
                value = round(math.degrees(clock), 1)
                more = Figure.angle(sign * math.radians(turn), sign=True)
                said = Sentence.of("remedies.clock", end=end, clock=Figure.angle(clock), more=more)
                yield _end_change("clock", 3.0 * turn / 15.0, said, {end: {"clock": value}}, run, changed)


def _allowed(end: End, clock: float) -> bool:
    if end.form.roll is not Roll.STEPPED or not end.form.step:
        return True
    return abs(math.remainder(clock - end.clock, end.form.step)) < 1e-6


def _forms(run: Run, end: str, catalog: Catalog) -> Iterator[Change]:
    old = _end(run, end)
    for form in catalog.end_forms(connection=old.form.connection, dash_size=old.form.dash_size):
        if form.name == old.form.name:
            continue
        clocks = [0.0, 90.0, 180.0, 270.0] if form.exit_angle > 0.0 and old.form.exit_angle <= 0.0 else [None]
        for clock in clocks:
            turned = old.clock if clock is None else math.radians(clock)
            changed = _with_assembly(run, **{end: replace(old, form=form, clock=turned)}, orientation_angle=None)
            if changed is None:
                continue
            table = {"form": form.name} if clock is None else {"form": form.name, "clock": clock}
            said = use_form(form, end, None if clock is None else turned)
            yield _end_change("form", 20.0 + 0.01 * form.drop * 1e3, said, {end: table}, run, changed)


def use_form(form: EndForm, end: str, clock: float | None, *, connection: bool = False) -> Sentence:
    """The words to use another end form, at a clock angle [rad] where it is bent; with its connection if asked."""
    wanted = Sentence.of("remedies.form", form=Name(form.name))
    if connection:
        wanted = Sentence.of("remedies.form_mates", form=wanted, connection=Name(form.connection, "connections"))
    if clock is None:
        return Sentence.of("remedies.use", form=wanted, end=end)
    return Sentence.of("remedies.use_turned", form=wanted, end=end, clock=Figure.angle(clock))


def together(changes: Sequence[Sentence]) -> Sentence:
    """Changes that are made at once, in a sentence."""
    return changes[0] if len(changes) == 1 else Sentence.of("remedies.together", changes=tuple(changes))


def _end_change(
    kind: str, size: float, said: Sentence, ends: dict[str, dict[str, Any]], run: Run, changed: Run
) -> Change:
    freed, table = freed_orientation(run, changed)
    return Change(kind, size, together([said, *freed]), "run.assembly", {"ends": ends, **table}, changed)


def _fitting_poses(run: Run, job: Job) -> Iterator[Change]:
    for pose in job.service_poses[1:] if run.fitting_pose is None else job.service_poses:
        values = {joint: _as_typed(joint, float(value), job) for joint, value in pose.items()}
        words = tuple(_joint(joint, float(value), job) for joint, value in pose.items())
        said = Sentence.of("remedies.fitting_pose", pose=words)
        yield Change("fitting pose", 10.0, said, "run.fitting_pose", values, replace(run, fitting_pose=pose))


def _joint(joint: str, value: float, job: Job) -> Sentence:
    figure = Figure.angle(value) if _turns(joint, job) else Figure.length(value, 1)
    return Sentence.of("remedies.joint", joint=joint, value=figure)


def _as_typed(joint: str, value: float, job: Job) -> float:
    # degrees for a joint that turns, else millimetres
    return round(math.degrees(value) if _turns(joint, job) else value * 1e3, 6)


def _turns(joint: str, job: Job) -> bool:
    return any(body.name == joint and isinstance(body.joint, Turn) for body in job.machine.bodies)
