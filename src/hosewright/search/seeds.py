"""Where the search begins: pairs of ends, clamps and lengths whose first look is the most promising."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from hosewright.assembly import Assembly, End, Hose, Roll
from hosewright.checks import end_clearance
from hosewright.checks.run import Clamp, Job, Run
from hosewright.checks.solve import GRAVITY
from hosewright.errors import ArgumentError
from hosewright.geometry import Frames
from hosewright.machine import Placement
from hosewright.search import coarse
from hosewright.search.candidates import Refused
from hosewright.search.coarse import Look, Shortfall, Surroundings
from hosewright.search.preference import Preference
from hosewright.search.request import Request

Array = NDArray[np.float64]

CLAMP_DECIMALS, LENGTH_DECIMALS = 3, 4
"""Clamps are marked off to the millimetre, lengths written to a tenth of it."""
MOST_PAIRS = 150
"""Pairs of ends that are looked at, those that turn the hose least."""


@dataclass(frozen=True, eq=False)
class Seed:
    """An assembly to begin with.

    Attributes
    ----------
    shortfall
        In the first look, in parts of the limits.
    rule
        That it was furthest from.
    """

    run: Run
    shortfall: float
    rule: str
    cost: float

    @property
    def family(self) -> str:
        """Hose and kinds of ends."""
        return family(self.run)


def family(run: Run) -> str:
    """Hose, kinds of ends and clamps, in words."""
    ends = " and ".join(_kind(end) for end in (run.assembly.a, run.assembly.b))
    clamps = "".join(f", clamped at {clamp.mount}" for clamp in run.clamps)
    return f"{run.assembly.hose.name}, {ends}{clamps}"


def _kind(end: End) -> str:
    angle = round(math.degrees(end.form.exit_angle))
    own = "straight" if angle == 0 else f"{angle} degrees"
    return " behind ".join([own, *(f"adapter {adapter.name}" for adapter, _ in reversed(end.adapters))])


@dataclass(frozen=True, eq=False)
class Ground:
    """What is the same for all seeds of one run.

    Attributes
    ----------
    placement
        The machine in few poses, the fitting pose first.
    lines
        Centre lines (p, k, 3) of other hoses in these poses, each with the distance that its axis asks of a surface.
        [m]
    """

    request: Request
    job: Job
    placement: Placement
    preference: Preference
    lines: tuple[tuple[Array, float], ...] = ()

    def around(self) -> Surroundings:
        """Obstacles and the clearance they ask."""
        ports = self.request.a.port, self.request.b.port
        sleeve = self.request.sleeve is not False
        return replace(coarse.surroundings(self.placement, *ports, self.job, sleeve=sleeve), lines=self.lines)

    def weight(self, hose: Hose) -> float:
        """Weight of the filled hose. [N/m]"""
        duty = self.request.duty
        density = duty.fluid.density(duty.temperature_working) or 870.0
        return GRAVITY * (hose.filled_mass_per_length(density) or 0.0)

    def run(self, hose: Hose, a: End, b: End, free: float, clamps: tuple[Clamp, ...]) -> Run | None:
        """A run with its overall length on the shop's increment; ``None`` where the ends take it all."""
        request, step = self.request, self.job.profile["length_increment"]
        ends = a.form.cutoff + a.form.insertion + b.form.cutoff + b.form.insertion
        length = request.overall_length or round(max(1, math.ceil((free + ends) / step - 1e-6)) * step, LENGTH_DECIMALS)
        bent = min(a.form.exit_angle, b.form.exit_angle) > 0.0
        try:
            assembly = Assembly(hose, a, b, length, request.orientation_angle if bent else None)
        except ArgumentError:
            return None
        sleeve, bow, pose = bool(request.sleeve), request.bow, request.fitting_pose
        return Run(request.name, request.a.port, request.b.port, request.duty, assembly, clamps, sleeve, bow, pose)


def clear_ends(ends: Iterable[End], port: str, ground: Ground) -> tuple[list[End], list[Refused]]:
    """Ends that hit no part at their port, and those that do."""
    clear: list[End] = []
    refused: list[Refused] = []
    for end in ends:
        gap = end_clearance.least_gap(end, port, ground.placement, ground.job)
        if gap is None or gap.measure >= gap.limit:
            clear.append(end)
        else:
            refused.append(_in_the_way(end, port, gap))
    return clear, refused


def _in_the_way(end: End, port: str, gap: end_clearance.Gap) -> Refused:
    name = " behind ".join([end.form.name, *(f"adapter {adapter.name}" for adapter, _ in reversed(end.adapters))])
    tail = end.tail().origin[0]
    reach = float(np.abs(end.axis()[:, 0]).max()) * 1e3
    text = (
        f"port {port} faces '{gap.part}': a {name} end at {math.degrees(end.clock) % 360.0:.0f} degrees reaches "
        f"{reach:.0f} mm out and {float(np.hypot(tail[1], tail[2])) * 1e3:.0f} mm aside, and is "
        f"{(gap.limit - gap.measure) * 1e3:.0f} mm short of room"
    )
    return Refused(f"{name} at port {port}", end_clearance.RULE, text)


def spread(seeds: Sequence[Seed], feasible: int, near: int) -> list[Seed]:
    """The cheapest that may pass and the nearest of the rest, no more than two of a family."""
    passing = sorted((seed for seed in seeds if seed.shortfall <= coarse.KEPT), key=lambda seed: seed.cost)
    rest = sorted((seed for seed in seeds if seed.shortfall > coarse.KEPT), key=lambda seed: seed.shortfall)
    return [*_few_of_each(passing, feasible), *_few_of_each(rest, near)]


def _few_of_each(seeds: Sequence[Seed], most: int) -> list[Seed]:
    count: dict[str, int] = {}
    kept: list[Seed] = []
    for seed in seeds:
        count[seed.family] = count.get(seed.family, 0) + 1
        if count[seed.family] <= 2 and len(kept) < most:
            kept.append(seed)
    return kept


def direct(ground: Ground, hoses: Sequence[Hose], ends_a: Sequence[End], ends_b: Sequence[End]) -> list[Seed]:
    """Seeds without clamps, for hoses of one size."""
    port_a, port_b = (ground.placement.port(port) for port in (ground.request.a.port, ground.request.b.port))
    tails_a = [port_a.place(end.tail()) for end in ends_a]
    tails_b = [_reversed(port_b.place(end.tail())) for end in ends_b]
    pairs = _least_turning(ends_a, ends_b, tails_a, tails_b)
    if not pairs:
        return []
    looks, gaps = _looked(ground, hoses[0], [(tails_a[i], tails_b[j]) for i, j in pairs], None)
    seeds: list[Seed] = []
    for (i, j), one, gap in zip(pairs, looks, gaps, strict=True):
        for hose in hoses:
            seeds += _seed(ground, hose, (ends_a[i], ends_b[j]), [(one, gap)], ())
    return seeds


def _reversed(frames: Frames) -> Frames:
    return Frames(frames.origin, frames.axes * np.array([-1.0, 1.0, -1.0]))


def _looked(
    ground: Ground, hose: Hose, spans: Sequence[tuple[Frames, Frames]], fixed: float | None
) -> tuple[list[Look], Array]:
    looks = coarse.look(spans, hose, ground.weight(hose), ground.job, fixed)
    return looks, coarse.clearances(looks, ground.around(), hose.outside_diameter or 0.0)


def _least_turning(
    ends_a: Sequence[End], ends_b: Sequence[End], tails_a: Sequence[Frames], tails_b: Sequence[Frames]
) -> list[tuple[int, int]]:
    ranked = []
    for i, j in itertools.product(range(len(ends_a)), range(len(ends_b))):
        if not _can_be_fitted(ends_a[i], ends_b[j]):
            continue
        chord = tails_b[j].origin - tails_a[i].origin
        along = chord / np.maximum(np.linalg.norm(chord, axis=1, keepdims=True), 1e-9)
        cosines = np.sum(tails_a[i].facing * along, axis=1), np.sum(tails_b[j].facing * along, axis=1)
        turn = sum(np.arccos(np.clip(cosine, -1.0, 1.0)) for cosine in cosines)
        ranked.append((round(float(np.mean(turn)), 6), i, j))
    return [(i, j) for _, i, j in sorted(ranked)[:MOST_PAIRS]]


def _can_be_fitted(a: End, b: End) -> bool:
    return a.form.roll is not Roll.FIXED or b.form.roll is not Roll.FIXED or bool(a.adapters or b.adapters)


def _seed(
    ground: Ground, hose: Hose, ends: tuple[End, End], spans: Sequence[tuple[Look, Array]], mounts: Sequence[str]
) -> Iterator[Seed]:
    free = [False] * len(spans)
    free[0] |= ends[0].rolls_freely
    free[-1] |= ends[1].rolls_freely
    falls = [
        coarse.shortfall(one, hose, gap, ground.job, free=rolls) for (one, gap), rolls in zip(spans, free, strict=True)
    ]
    rungs = [_rung(fall, one, gap, hose, ground) for fall, (one, gap) in zip(falls, spans, strict=True)]
    lengths = [float(one.length[rung]) for (one, _), rung in zip(spans, rungs, strict=True)]
    places = np.cumsum(lengths)
    clamps = tuple(
        Clamp(mount, round(float(place), CLAMP_DECIMALS)) for mount, place in zip(mounts, places, strict=False)
    )
    run = ground.run(hose, *ends, float(places[-1]), clamps)
    if run is None or (clamps and clamps[-1].at >= run.assembly.free_length):
        return
    totals = [float(fall.total[rung]) for fall, rung in zip(falls, rungs, strict=True)]
    worst = int(np.argmax(totals))
    yield Seed(run, sum(totals), falls[worst].reason(rungs[worst]), ground.preference.cost(run))


def _rung(fall: Shortfall, one: Look, gap: Array, hose: Hose, ground: Ground) -> int:
    if ground.request.overall_length is None or len(one.length) == 1:
        return fall.best
    return int(np.argmin(np.abs(one.length - ground.request.overall_length)))


def clamped(
    ground: Ground,
    hose: Hose,
    ends_a: Sequence[End],
    ends_b: Sequence[End],
    mounts: Sequence[str],
    fixed: Sequence[Clamp],
) -> list[Seed]:
    """Seeds through clamps on mounts in the order given; clamps that the user fixed keep their places."""
    port_a, port_b = (ground.placement.port(port) for port in (ground.request.a.port, ground.request.b.port))
    tails_a = [port_a.place(end.tail()) for end in ends_a]
    tails_b = [_reversed(port_b.place(end.tail())) for end in ends_b]
    middle = _along([port_a, *(ground.placement.mount(mount) for mount in mounts), port_b])
    places = [clamp.at for clamp in fixed]
    first = _best_of(ground, hose, [(tail, middle[0]) for tail in tails_a], places[0] if places else None)
    last = _best_of(ground, hose, [(middle[-1], tail) for tail in tails_b], None)
    between = [
        _best_of(ground, hose, [pair], places[k + 1] - places[k] if places else None)[0]
        for k, pair in enumerate(itertools.pairwise(middle))
    ]
    seeds: list[Seed] = []
    for (i, head), (j, tail) in itertools.product(enumerate(first), enumerate(last)):
        if _can_be_fitted(ends_a[i], ends_b[j]):
            seeds += _seed(ground, hose, (ends_a[i], ends_b[j]), [head, *between, tail], mounts)
    return seeds


def _best_of(
    ground: Ground, hose: Hose, spans: Sequence[tuple[Frames, Frames]], fixed: float | None
) -> list[tuple[Look, Array]]:
    looks, gaps = _looked(ground, hose, spans, fixed)
    return list(zip(looks, gaps, strict=True))


def _along(places: Sequence[Frames]) -> list[Frames]:
    # mounts between the ports, each turned the way that the hose runs on
    middle = []
    for before, here, after in zip(places, places[1:], places[2:], strict=False):
        onward = after.origin[0] - before.origin[0]
        middle.append(_reversed(here) if onward @ here.facing[0] < 0.0 else here)
    return middle
