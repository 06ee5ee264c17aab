"""The search for one run: from seeds by small steps to assemblies that pass, then at their limits."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from hosewright.assembly import End, Hose, Roll
from hosewright.catalog import Catalog
from hosewright.checks.run import Job, Run
from hosewright.checks.solve import SolvedRun
from hosewright.errors import ArgumentError
from hosewright.machine import Poses
from hosewright.search import candidates, robust
from hosewright.search.candidates import Refused
from hosewright.search.poses import typical
from hosewright.search.preference import Preference
from hosewright.search.remedies import sum_of_twist
from hosewright.search.request import Request
from hosewright.search.robust import Case
from hosewright.search.seeds import Ground, Seed, clamped, clear_ends, direct, family, spread
from hosewright.search.trial import Trial, Trials, can_centre, shortfall

COARSE_POSES = 4
SEEDS, NEAR = 6, 4
"""Seeds that may pass and others that are tried."""
STRETCHES = (0.95, 1.0, 1.07)
"""Free lengths of a seed that are tried first, in parts of it."""
FINALISTS = 3
MOST_STEPS = 12
LENGTH_STEPS = (1, 2, 4, 8, 16)
TURNS = tuple(map(math.radians, (5.0, 15.0, 45.0)))
CLAMP_SHIFTS = (0.01, 0.03)
ROUNDS = 4
"""Times that reserves are raised after an assembly has failed at its limits."""
MORE_RESERVE = 1.15
HOSES = 3
MOUNTS = 4

Over = Callable[[], bool]


@dataclass(frozen=True, eq=False)
class Sought:
    """What the search for one run found.

    Attributes
    ----------
    chosen
        The best assembly; ``None`` where there is no candidate at all.
    cases
        It at its limits; empty where it fails already without.
    others
        Assemblies of other families, the best of each, in order.
    refused
        Families that were refused.
    tried
        Assemblies that were tried on all rules.
    """

    request: Request
    chosen: Trial | None
    cases: tuple[Case, ...]
    others: tuple[Trial, ...]
    refused: tuple[Refused, ...]
    tried: int

    @property
    def passed(self) -> bool:
        """Whether the chosen assembly passes, at its limits too."""
        return self.chosen is not None and not self.chosen.failing and all(case.passed for case in self.cases)


@dataclass(eq=False)
class Seeker:
    """The search for one run.

    Attributes
    ----------
    poses
        In which assemblies are tried.
    others
        Hoses that lie already, solved in the same poses.
    taken
        Mounts that are taken.
    over
        Whether to stop.
    """

    request: Request
    job: Job
    catalog: Catalog
    poses: Poses
    others: Sequence[SolvedRun]
    taken: frozenset[str]
    over: Over
    refused: list[Refused] = field(default_factory=list)
    finished: dict[str, Trial] = field(default_factory=dict)
    looked: dict[str, Seed] = field(default_factory=dict)

    def seek(self) -> Sought:
        """Choose an assembly."""
        found = candidates.hoses(self.request, self.job, self.catalog)
        self.refused += found.refused
        hoses = candidates.undominated(found.fitting)[:HOSES]
        if not hoses:
            return Sought(self.request, None, (), (), tuple(self.refused), 0)
        masses = [hose.mass_per_length for hose in found.fitting if hose.mass_per_length]
        self.preference = Preference(self.job.profile, min(masses, default=1.0), _priced(found.fitting))
        self.ground = Ground(self.request, self.job, self.job.machine.place(self._coarse()), self.preference)
        self.trials = Trials(self.job, self.poses, self.others, self.preference, self.request.sleeve)
        self.hoses = hoses
        self.ends = {hose.dash_size: self._first_ends(hose.dash_size) for hose in hoses}
        for stage in (self._direct, self._clamped, self._adapted, self._swivelled):
            if self.over() and self.finished:
                break
            self._pursue(stage())
            best = self._best()
            if best is not None and best.penalty == 0.0:
                break
        return self._at_its_limits()

    # ---- where to begin ----

    def _coarse(self) -> Poses:
        placement = self.job.machine.place(self.poses)
        pair = [(self.request.a.port, self.request.b.port)]
        start = self._fitting_index()
        index = typical(self.poses, placement, pair, COARSE_POSES, [start])
        return self.poses.take(np.array([start, *(k for k in index if k != start)])[: max(COARSE_POSES, 1)])

    def _fitting_index(self) -> int:
        # the pose of the motion that is nearest to the one in which the hose is fitted
        own = self.request.fitting_pose or (self.job.service_poses[0] if self.job.service_poses else {})
        if not own:
            return 0
        known = [joint for joint in self.poses.joints if joint in own]
        if not known:
            return 0
        away = [np.abs(self.poses.of(joint) - own[joint]) for joint in known]
        return int(np.argmin(np.sum(away, axis=0)))

    def _first_ends(self, size: int) -> tuple[list[End], list[End]]:
        return self._clear(
            candidates.first_ends(self.request.a, size, self.catalog),
            candidates.first_ends(self.request.b, size, self.catalog),
        )

    def _clear(self, ends_a: list[End], ends_b: list[End]) -> tuple[list[End], list[End]]:
        clear_a, refused_a = clear_ends(ends_a, self.request.a.port, self.ground)
        clear_b, refused_b = clear_ends(ends_b, self.request.b.port, self.ground)
        self.refused += [*refused_a, *refused_b]
        return clear_a or ends_a, clear_b or ends_b  # where all are in the way, the least bad is sought

    def _by_size(self) -> Iterator[tuple[list[Hose], list[End], list[End]]]:
        for size, (ends_a, ends_b) in self.ends.items():
            yield [hose for hose in self.hoses if hose.dash_size == size], ends_a, ends_b

    def _direct(self) -> list[Seed]:
        if self.request.clamps:
            return []
        return [seed for hoses, a, b in self._by_size() for seed in direct(self.ground, hoses, a, b)]

    def _clamped(self) -> list[Seed]:
        fixed = self.request.clamps
        if fixed == ():
            return []
        seeds: list[Seed] = []
        for hoses, a, b in self._by_size():
            for mounts in [[clamp.mount for clamp in fixed]] if fixed else self._mounts():
                seeds += clamped(self.ground, hoses[0], a, b, mounts, fixed or ())
        return seeds

    def _mounts(self) -> list[list[str]]:
        """Single mounts that are free, those that lie least off the way first."""
        placement = self.ground.placement
        a, b = (placement.port(port).origin[0] for port in (self.request.a.port, self.request.b.port))
        free = [mount.name for mount in self.job.machine.mounts if mount.name not in self.taken]
        places = {name: placement.mount(name).origin[0] for name in free}
        detour = {name: np.linalg.norm(place - a) + np.linalg.norm(b - place) for name, place in places.items()}
        return [[name] for name in sorted(free, key=lambda name: (round(float(detour[name]), 6), name))[:MOUNTS]]

    def _adapted(self) -> list[Seed]:
        return self._behind_adapters(live=False)

    def _swivelled(self) -> list[Seed]:
        best = self._best()
        twisted = best is not None and any("twist" in finding.rule for finding in best.failing)
        return self._behind_adapters(live=True) if twisted else []

    def _behind_adapters(self, *, live: bool) -> list[Seed]:
        seeds: list[Seed] = []
        if self.request.clamps:
            return seeds
        for hoses, a, b in self._by_size():
            size = hoses[0].dash_size
            more_a, more_b = self._clear(
                candidates.adapted_ends(self.request.a, size, self.catalog, live=live),
                candidates.adapted_ends(self.request.b, size, self.catalog, live=live),
            )
            seeds += direct(self.ground, hoses, more_a, b) if more_a else []
            seeds += direct(self.ground, hoses, a, more_b) if more_b else []
        return seeds

    # ---- small steps ----

    def _pursue(self, seeds: Sequence[Seed]) -> None:
        for seed in seeds:
            best = self.looked.get(seed.family)
            if best is None or seed.shortfall < best.shortfall:
                self.looked[seed.family] = seed
        begun: list[Trial] = []
        for seed in spread(seeds, SEEDS, NEAR):
            if self.over() and (begun or self.finished):
                break
            begun.append(min(self.trials.all(self._stretched(seed.run)), key=lambda trial: trial.rank))
        for trial in sorted(begun, key=lambda trial: trial.rank):
            self._finish(trial)
        for trial in self._finalists(begun):
            if self.over():
                break
            self._finish(self._descend(trial))

    def _stretched(self, run: Run) -> list[Run]:
        if self.request.overall_length is not None:
            return [run]
        free = run.assembly.free_length
        return [_longer(run, (part - 1.0) * free, self.job) for part in STRETCHES]

    def _finalists(self, begun: Sequence[Trial]) -> list[Trial]:
        # the best of different families
        best: dict[str, Trial] = {}
        for trial in sorted(begun, key=lambda trial: trial.rank):
            best.setdefault(family(trial.run), trial)
        return list(best.values())[:FINALISTS]

    def _finish(self, trial: Trial) -> None:
        name = family(trial.run)
        if name not in self.finished or trial.rank < self.finished[name].rank:
            self.finished[name] = trial

    def _best(self) -> Trial | None:
        return min(self.finished.values(), key=lambda trial: trial.rank, default=None)

    def _descend(self, trial: Trial) -> Trial:
        """Go to the best neighbour until none is better; kinds of step in turn."""
        for _ in range(MOST_STEPS):
            before = trial
            for steps in (self._lengths, self._turns, self._forms, self._other_hoses, self._poses, self._shifts):
                if self.over():
                    return trial
                tried = self.trials.all(steps(trial))
                trial = min([trial, *tried], key=lambda one: one.rank)
            if trial is before:
                break
        return self._oriented(trial)

    def _lengths(self, trial: Trial) -> list[Run]:
        if self.request.overall_length is not None:
            return []
        step = self.job.profile["length_increment"]
        signs = (-1, 1) if trial.penalty > 0.0 else (-1,)
        return [_longer(trial.run, sign * count * step, self.job) for count in LENGTH_STEPS for sign in signs]

    def _turns(self, trial: Trial) -> Iterator[Run]:
        if trial.penalty == 0.0:
            return
        for name, wanted in (("a", self.request.a), ("b", self.request.b)):
            end: End = getattr(trial.run.assembly, name)
            if wanted.clock is not None or end.form.exit_angle == 0.0 or end.form.roll is Roll.FIXED:
                continue
            for turn in _turns_of(end):
                for sign in (1.0, -1.0):
                    yield from self._with(trial.run, **{name: replace(end, clock=(end.clock + sign * turn) % math.tau)})

    def _forms(self, trial: Trial) -> Iterator[Run]:
        size = trial.run.assembly.hose.dash_size
        for name, wanted in (("a", self.request.a), ("b", self.request.b)):
            end: End = getattr(trial.run.assembly, name)
            for form in candidates.forms(wanted, size, self.catalog, end.adapters):
                same = form.exit_angle == end.form.exit_angle and form.roll is end.form.roll
                if same and form is not end.form:
                    yield from self._with(trial.run, **{name: replace(end, form=form)})

    def _other_hoses(self, trial: Trial) -> Iterator[Run]:
        own = trial.run.assembly.hose
        for hose in self.hoses:
            if hose.dash_size == own.dash_size and hose is not own:
                yield from self._with(trial.run, hose=hose)

    def _poses(self, trial: Trial) -> Iterator[Run]:
        if self.request.fitting_pose is None and trial.penalty > 0.0:
            for pose in self.job.service_poses[1:]:
                yield replace(trial.run, fitting_pose=pose)

    def _shifts(self, trial: Trial) -> Iterator[Run]:
        if self.request.clamps is not None:
            return
        for k, clamp in enumerate(trial.run.clamps):
            for shift in CLAMP_SHIFTS:
                for sign in (1.0, -1.0):
                    moved = replace(clamp, at=clamp.at + sign * shift)
                    clamps = (*trial.run.clamps[:k], moved, *trial.run.clamps[k + 1 :])
                    yield replace(trial.run, clamps=clamps)

    def _with(self, run: Run, **changes: Any) -> Iterator[Run]:
        """The run with a changed assembly; nothing where the ends would take the whole length."""
        if changes.keys() & {"a", "b"} and self.request.orientation_angle is None:
            changes["orientation_angle"] = None  # it follows from the new ends
        try:
            yield replace(run, assembly=replace(run.assembly, **changes))
        except ArgumentError:
            return

    def _oriented(self, trial: Trial) -> Trial:
        """With the orientation angle that puts the fitting pose into the middle of the twist, in whole degrees."""
        if trial.solved is None or self.request.orientation_angle is not None or not can_centre(trial.run.assembly):
            return trial
        twists = np.array([sum_of_twist(trial.solved, state) for state in range(len(trial.solved.states))])
        middle = float(np.max(twists) + np.min(twists)) / 2.0 - trial.solved.misfit
        angles = {round(math.degrees(trial.solved.orientation + sign * middle)) % 360 for sign in (1.0, -1.0)}
        runs = [run for angle in sorted(angles) for run in self._with(trial.run, orientation_angle=math.radians(angle))]
        return min(self.trials.all(runs), key=lambda one: one.rank, default=trial)

    # ---- at the limits ----

    def _at_its_limits(self) -> Sought:
        cases: tuple[Case, ...] = ()
        best = self._best()
        for number in range(ROUNDS + 1):
            if best is None or best.failing:
                break
            cases = robust.cases(best.run, self.job, self._worst_poses(best), self.others)
            if all(case.passed for case in cases) or number == ROUNDS or self.over():
                break
            self._ask_more(cases)
            best = self._again()
        others = [t for t in sorted(self.finished.values(), key=lambda trial: trial.rank) if t is not best]
        refused = (*self.refused, *self._refused_families())
        return Sought(self.request, best, cases, tuple(others), refused, self.trials.count)

    def _worst_poses(self, trial: Trial) -> Poses:
        return self.poses

    def _ask_more(self, cases: Iterable[Case]) -> None:
        reserves = dict(self.trials.reserves)
        for finding in (finding for case in cases for finding in case.failing):
            short = shortfall(finding) + reserves.get(finding.rule, 0.0)
            reserves[finding.rule] = max(reserves.get(finding.rule, 0.0), MORE_RESERVE * short)
        self.trials.asking(reserves)

    def _again(self) -> Trial | None:
        self.finished = {name: self.trials.one(trial.run) for name, trial in self.finished.items()}
        for trial in sorted(self.finished.values(), key=lambda trial: trial.rank)[:2]:
            self._finish(self._descend(trial))
        return self._best()

    def _refused_families(self) -> list[Refused]:
        refused = []
        for name, trial in self.finished.items():
            if trial.failing:
                refused.append(Refused(name, trial.failing[0].rule, trial.failing[0].text))
        for name, seed in self.looked.items():
            if name not in self.finished:
                text = f"in a first look it falls short of the rule by {100.0 * seed.shortfall:.0f} % at best"
                if seed.shortfall <= 0.02:
                    text = "it may pass, but others cost less"
                refused.append(Refused(name, seed.rule if seed.shortfall > 0.02 else "preference", text))
        return refused


def _priced(hoses: Sequence[Hose]) -> bool:
    return all(hose.price is not None for hose in hoses)


def _longer(run: Run, more: float, job: Job) -> Run:
    step = job.profile["length_increment"]
    length = max(1, round((run.assembly.overall_length + more) / step)) * step
    clamps = run.clamps
    if len(clamps) == 1:  # the clamp stays in the middle of what it was
        part = clamps[0].at / run.assembly.free_length
        clamps = (replace(clamps[0], at=clamps[0].at + part * (length - run.assembly.overall_length)),)
    try:
        return replace(run, assembly=replace(run.assembly, overall_length=length), clamps=clamps)
    except ArgumentError:
        return run


def _turns_of(end: End) -> tuple[float, ...]:
    if end.form.roll is Roll.STEPPED and end.form.step:
        return (end.form.step,)
    return TURNS
