"""The search for one run: from seeds by small steps to assemblies that pass, then at their limits."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from hosewright.assembly import End, Hose, Roll
from hosewright.catalog import Catalog
from hosewright.checks import motion_twist, snap
from hosewright.checks.run import Job, Run
from hosewright.checks.solve import SolvedRun
from hosewright.errors import ArgumentError
from hosewright.machine import Poses
from hosewright.search import candidates, robust
from hosewright.search.candidates import Refused
from hosewright.search.changes import sum_of_twist
from hosewright.search.poses import typical
from hosewright.search.preference import Preference
from hosewright.search.request import Request
from hosewright.search.robust import Case
from hosewright.search.seeds import (
    CLAMP_DECIMALS,
    LENGTH_DECIMALS,
    Ground,
    Seed,
    clamped,
    clear_ends,
    direct,
    family,
    spread,
)
from hosewright.search.trial import Trial, Trials, can_centre, shortfall

COARSE_POSES = 4
SEEDS, NEAR = 8, 4
"""Seeds that may pass and others that are tried."""
STRETCHES = (0.95, 1.07, 1.16)
"""Other free lengths of a seed that are tried where its own does not pass, in parts of it."""
RUNNERS_UP = 2
FINALISTS = 4
MOST_STEPS = 12
MOST_TRIED, FEW_TRIED = 160, 80
"""Assemblies of one run that are tried before the best so far has to do, in each stage of a thorough search and of one
that only sees whether there is room."""
LENGTH_STEPS = (1, 4, 16)
TURNS = tuple(map(math.radians, (15.0, 45.0)))
FINE_TURN = math.radians(5.0)
NEARLY = 0.3
"""Penalty below which clock angles are changed in fine steps, and orientation angles chosen."""
CLAMP_SHIFTS = (0.01, 0.03)
LAST_RESORTS = 3
"""Stages that only a thorough search goes through: adapters, other hoses, live swivels."""
MENDABLE = 0.25
"""What an assembly may fall short at its limits, in parts of the limit, and yet be mended by small steps."""
MENDINGS = 2
"""Times that this is tried for one family."""
MOST_ASIDE = 6
"""Families that fail at their limits before the best of them has to do, in each stage."""
MORE_RESERVE, LEAST_RESERVE = 1.15, 0.01
HOSES = 4
MOUNTS = 4

Over = Callable[[], bool]
Array = NDArray[np.float64]


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


@dataclass(frozen=True, eq=False)
class _Aside:
    """An assembly that passes as told and fails at its limits, by how much."""

    short: float
    trial: Trial
    cases: tuple[Case, ...]


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
    reserves
        What is asked beyond its limit by key of the finding, as ``shortfall`` counts.
    thorough
        Whether to go on to adapters and live swivels where nothing else passes.
    """

    request: Request
    job: Job
    catalog: Catalog
    poses: Poses
    others: Sequence[SolvedRun]
    taken: frozenset[str]
    over: Over
    reserves: Mapping[str, float] = field(default_factory=dict)
    thorough: bool = True
    refused: list[Refused] = field(default_factory=list)
    finished: dict[str, Trial] = field(default_factory=dict)
    looked: dict[str, Seed] = field(default_factory=dict)
    waiting: list[Trial] = field(default_factory=list)
    aside: dict[str, _Aside] = field(default_factory=dict)
    dropped: set[str] = field(default_factory=set)
    mended: Counter[str] = field(default_factory=Counter)
    most_tried: int = MOST_TRIED
    plain: list[Seed] = field(default_factory=list)
    stages: list[Callable[[], list[Seed]]] = field(default_factory=list)
    found: Sought | None = None

    def seek(self) -> Sought:
        """Choose an assembly."""
        found = candidates.hoses(self.request, self.job, self.catalog)
        self.refused += found.refused
        hoses = candidates.undominated(found.fitting)[:HOSES]
        if not hoses:
            self.found = Sought(self.request, None, (), (), tuple(self.refused), 0)
            return self.found
        masses = [hose.mass_per_length for hose in found.fitting if hose.mass_per_length]
        self.preference = Preference(self.job.profile, min(masses, default=1.0), _priced(found.fitting))
        index = self._coarse()
        coarse = self.poses.take(index)
        self.ground = Ground(
            self.request, self.job, self.job.machine.place(coarse), self.preference, self._lines(index)
        )
        self.trials = Trials(self.job, self.poses, self.others, self.preference, self.request.sleeve)
        self.trials.reserves |= self.reserves
        self.hoses = hoses
        self.ends = {hose.dash_size: self._first_ends(hose.dash_size) for hose in hoses}
        self.stages = [
            self._direct,
            self._with_stiffer_hoses,
            self._clamped,
            self._adapted,
            self._with_other_hoses,
            self._swivelled,
        ]
        return self._by_stages()

    def go_on(self) -> Sought:
        """Seek with last resorts, too, after a search without."""
        self.thorough = True
        return self._by_stages()

    def _by_stages(self) -> Sought:
        """Go on to clamps, adapters and live swivels, until something passes at its limits, too."""
        found = self.found
        while self.stages and (self.thorough or len(self.stages) > LAST_RESORTS):
            if found is not None and (found.passed or self.over()):
                break
            self.most_tried = self.trials.count + (MOST_TRIED if self.thorough else FEW_TRIED)
            self._pursue(self.stages.pop(0)())
            found = self._at_its_limits()
        assert found is not None
        self.found = found
        return found

    # ---- where to begin ----

    def _coarse(self) -> NDArray[np.int64]:
        placement = self.job.machine.place(self.poses)
        pair = [(self.request.a.port, self.request.b.port)]
        start = self._fitting_index()
        index = typical(self.poses, placement, pair, COARSE_POSES, [start])
        return np.array([start, *(k for k in index if k != start)])[:COARSE_POSES]

    def _lines(self, index: NDArray[np.int64]) -> tuple[tuple[Array, float], ...]:
        """Nominal centre lines of the other hoses in the coarse poses, and how near their axes may come."""
        part = self.job.profile["clearance_hose"]
        thick = [(other, other.run.assembly.hose.outside_diameter or 0.0) for other in self.others]
        return tuple((other.lines[0][index], (0.5 + part) * diameter) for other, diameter in thick)

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
        self.plain = [seed for hoses, a, b in self._by_size() for seed in direct(self.ground, hoses, a, b)]
        return self.plain

    def _with_stiffer_hoses(self) -> list[Seed]:
        """Seeds of other hoses, where most of what was set aside sags when it is softer than told."""
        first = [next((case.name for case in one.cases if not case.passed), "") for one in self.aside.values()]
        return self._with_other_hoses() if 2 * first.count(robust.SOFTEST) > len(first) else []

    def _with_other_hoses(self) -> list[Seed]:
        """Seeds of hoses that are not among those set aside, such as stiffer ones."""
        tried = {one.trial.run.assembly.hose.name for one in self.aside.values()}
        return [seed for seed in self.plain if seed.run.assembly.hose.name not in tried]

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
        bad = [finding for trial in self.finished.values() for finding in trial.failing]
        bad += [finding for one in self.aside.values() for case in one.cases for finding in case.failing]
        twisted = any(finding.rule == motion_twist.RULE for finding in bad)
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
            if (begun or self.finished) and (self._spent() or self._enough(begun, seed)):
                break
            begun.append(self._begun(seed.run))
        for trial in sorted(begun, key=lambda trial: trial.rank):
            self._finish(trial)
        finalists = self._finalists(begun)
        passing = sum(trial.penalty == 0.0 for trial in finalists)
        count = max(FINALISTS - passing, RUNNERS_UP + 1)
        for trial in finalists[:count]:
            if self._spent():
                break
            self._finish(self._descend(trial))
        self.waiting += finalists[count:]

    def _spent(self) -> bool:
        return self.over() or self.trials.count > self.most_tried

    def _enough(self, begun: Sequence[Trial], seed: Seed) -> bool:
        """Whether enough families pass and the next seed would cost more than they do."""
        passing = {family(trial.run): trial.cost for trial in begun if trial.penalty == 0.0}
        return len(passing) > RUNNERS_UP and seed.cost > min(passing.values())

    def _begun(self, run: Run) -> Trial:
        trial = self.trials.one(run)
        if trial.penalty == 0.0 or self.request.overall_length is not None:
            return trial
        free = run.assembly.free_length
        stretched = [self._longer(run, (part - 1.0) * free) for part in STRETCHES]
        return min([trial, *self.trials.all(stretched)], key=lambda trial: trial.rank)

    def _finalists(self, begun: Sequence[Trial]) -> list[Trial]:
        # the best of different families
        best: dict[str, Trial] = {}
        for trial in sorted(begun, key=lambda trial: trial.rank):
            best.setdefault(family(trial.run), trial)
        return list(best.values())

    def _finish(self, trial: Trial) -> None:
        if trial.penalty < NEARLY:
            trial = self._oriented(trial)
        name = family(trial.run)
        if name not in self.finished or trial.rank < self.finished[name].rank:
            self.finished[name] = trial

    def _best(self, dropped: Collection[str] = ()) -> Trial | None:
        found = (trial for name, trial in self.finished.items() if name not in dropped)
        return min(found, key=lambda trial: trial.rank, default=None)

    def _descend(self, trial: Trial) -> Trial:
        """Go to the best neighbour until none is better; kinds of step in turn."""
        if self.request.orientation_angle is None and trial.run.assembly.orientation_angle is not None:
            (loose,) = self._with(trial.run, orientation_angle=None)
            trial = self.trials.one(loose)
        for _ in range(MOST_STEPS):
            before = trial
            for steps in self._kinds(trial):
                if self._spent():
                    return trial
                tried = self.trials.all(steps(trial))
                trial = min([trial, *tried], key=lambda one: one.rank)
            if trial is before:
                break
        return trial

    def _kinds(self, trial: Trial) -> tuple[Callable[[Trial], Iterable[Run]], ...]:
        """Kinds of step: what passes is only made shorter."""
        if trial.penalty == 0.0:
            return (self._lengths,)
        return self._lengths, self._turns, self._forms, self._other_hoses, self._poses, self._shifts

    def _lengths(self, trial: Trial) -> list[Run]:
        if self.request.overall_length is not None:
            return []
        step = self.job.profile["length_increment"]
        signs = (-1, 1) if trial.penalty > 0.0 else (-1,)
        return [self._longer(trial.run, sign * count * step) for count in LENGTH_STEPS for sign in signs]

    def _turns(self, trial: Trial) -> Iterator[Run]:
        for name, wanted in (("a", self.request.a), ("b", self.request.b)):
            end: End = getattr(trial.run.assembly, name)
            if wanted.clock is not None or end.form.exit_angle == 0.0 or end.form.roll is Roll.FIXED:
                continue
            for turn in _turns_of(end, trial.penalty):
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
        if self.request.fitting_pose is None:
            for pose in self.job.service_poses[1:]:
                yield replace(trial.run, fitting_pose=pose)

    def _shifts(self, trial: Trial) -> Iterator[Run]:
        if self.request.clamps is not None:
            return
        for k, clamp in enumerate(trial.run.clamps):
            for shift in CLAMP_SHIFTS:
                for sign in (1.0, -1.0):
                    moved = replace(clamp, at=round(clamp.at + sign * shift, CLAMP_DECIMALS))
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

    def _longer(self, run: Run, more: float) -> Run:
        step = self.job.profile["length_increment"]
        length = round(max(1, round((run.assembly.overall_length + more) / step)) * step, LENGTH_DECIMALS)
        clamps = run.clamps
        if len(clamps) == 1 and self.request.clamps is None:  # the clamp keeps its share of the hose
            part = clamps[0].at / run.assembly.free_length
            at = clamps[0].at + part * (length - run.assembly.overall_length)
            clamps = (replace(clamps[0], at=round(at, CLAMP_DECIMALS)),)
        try:
            return replace(run, assembly=replace(run.assembly, overall_length=length), clamps=clamps)
        except ArgumentError:
            return run

    def _oriented(self, trial: Trial) -> Trial:
        """With the orientation angle that puts the fitting pose into the middle of the twist, in whole degrees."""
        assembly = trial.run.assembly
        if trial.solved is None or assembly.orientation_angle is not None or not can_centre(assembly):
            return trial
        twists = np.array([sum_of_twist(trial.solved, state) for state in range(len(trial.solved.states))])
        middle = float(np.max(twists) + np.min(twists)) / 2.0 - trial.solved.misfit
        angles = {round(math.degrees(trial.solved.orientation + sign * middle)) % 360 for sign in (1.0, -1.0)}
        runs = [run for angle in sorted(angles) for run in self._with(trial.run, orientation_angle=math.radians(angle))]
        return min(self.trials.all(runs), key=lambda one: one.rank)

    # ---- at the limits ----

    def _at_its_limits(self) -> Sought:
        """The best assembly that passes at its limits, too; else the one that falls least short there."""
        best, cases, most = self._next(), tuple[Case, ...](), len(self.dropped) + MOST_ASIDE
        while best is not None and not best.failing:
            name = family(best.run)
            cases = robust.cases(best.run, self.job, self.poses, self.others, bearable=MENDABLE)
            if all(case.passed for case in cases):
                break
            self._set_aside(name, best, cases)
            best, cases = self._next(), ()
            if len(self.dropped) > most or self.over():
                break
        if self.aside and not (cases and all(case.passed for case in cases)):
            least = min(self.aside.values(), key=lambda one: one.short)
            best = least.trial
            cases = robust.cases(best.run, self.job, self.poses, self.others)
        others = [t for t in sorted(self.finished.values(), key=lambda trial: trial.rank) if t is not best]
        refused = (*self.refused, *self._refused_families(), *_weak(self.aside, best))
        return Sought(self.request, best, cases, tuple(others), refused, self.trials.count)

    def _set_aside(self, name: str, trial: Trial, cases: tuple[Case, ...]) -> None:
        """Mend an assembly that fails at its limits by small steps, or else drop its family."""
        short = max(case.short for case in cases)
        if name not in self.aside or short < self.aside[name].short:
            self.aside[name] = _Aside(short, trial, cases)
        if short >= MENDABLE or self.mended[name] >= MENDINGS or self._spent():
            self.dropped.add(name)
            return
        self.mended[name] += 1
        self._ask_more(trial, cases)
        self.finished = {key: self.trials.one(one.run) for key, one in self.finished.items()}
        self._finish(self._descend(self.finished[name]))

    def _next(self) -> Trial | None:
        """The best that is left, from those that wait where no other passes."""
        best = self._best(self.dropped)
        while (best is None or best.failing) and self.waiting and not self._spent():
            self._finish(self._descend(self.waiting.pop(0)))
            best = self._best(self.dropped)
        return best

    def _ask_more(self, trial: Trial, cases: Iterable[Case]) -> None:
        """Ask for the margin that the assembly has as told, and for what it falls short by at its limits."""
        margins = {finding.key: -shortfall(finding) for finding in trial.findings}
        more: dict[str, float] = {}
        for finding in (finding for case in cases for finding in case.failing):
            asked = max(margins.get(finding.key, 0.0), 0.0) + MORE_RESERVE * max(shortfall(finding), LEAST_RESERVE)
            more[finding.key] = max(more.get(finding.key, 0.0), asked)
        self.trials.asking(self.trials.reserves | more)

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


def _weak(aside: Mapping[str, _Aside], best: Trial | None) -> list[Refused]:
    weak = []
    for name, one in aside.items():
        if best is None or family(best.run) != name:
            bad = next(case for case in one.cases if not case.passed)
            rule = bad.failing[0].rule if bad.failing else snap.RULE
            text = bad.failing[0].text if bad.failing else "a shape was not found"
            weak.append(Refused(name, rule, f"with {bad.name}: {text}"))
    return weak


def _priced(hoses: Sequence[Hose]) -> bool:
    return all(hose.price is not None for hose in hoses)


def _turns_of(end: End, penalty: float) -> tuple[float, ...]:
    if end.form.roll is Roll.STEPPED and end.form.step:
        return (end.form.step,)
    return (FINE_TURN, TURNS[0]) if penalty < NEARLY else TURNS
