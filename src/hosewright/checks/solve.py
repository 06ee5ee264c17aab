"""From a run to its shapes: spans between ferrules and clamps, in every pose and every state of length."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from hosewright.assembly import Assembly
from hosewright.checks.run import Clamp, Job, Run
from hosewright.errors import ArgumentError
from hosewright.geometry import Frames, cross
from hosewright.machine import Machine, Placement, Poses
from hosewright.mechanics import Section, Shape, Shapes, Span, Support, carried_roll, equilibrium, sweeps
from hosewright.standards import din_20066

Array = NDArray[np.float64]

NOMINAL, SHORTEST, LONGEST = "nominal", "shortest", "longest"
"""N: as ordered, cold, empty, as fitted. S: short by its tolerance and shrunk under pressure. E: long and stretched."""

LENGTHS = (NOMINAL, SHORTEST, LONGEST)

GRAVITY = 9.80665
MOST_STRETCH, LEAST_SLACK = 0.04, 1e-3
"""A nearly taut hose whose axis gives way by more than this part of its slack is solved again with an axis ten times as
stiff: half of that part is missing in its curvature, which makes the radius too large. With hardly any slack it fails
by that."""
STIFFER, STIFFEST_AXIS = 10.0, 1e6
TRANSIT = 8
"""Steps from the fitting pose to the start of a path."""


@dataclass(frozen=True)
class State:
    """A length of the hose and a lie of the machine.

    Attributes
    ----------
    name
        ``nominal``, ``shortest`` or ``longest``.
    down
        The way down in the machine's frame.
    """

    name: str
    down: tuple[float, float, float]


@dataclass(frozen=True, eq=False)
class SolvedSpan:
    """Free hose between two held places.

    Attributes
    ----------
    start
        Where it begins, from ferrule tail a on nominal length. [m]
    lengths
        Free length in each state. [m]
    a, b : Frames
        Held ends over the m poses of the motion; both face from a to b.
    shapes
        Shapes over the m poses in each state.
    fitted
        Shape in the fitting pose.
    steady_approach
        Whether the hose neither snapped nor stayed unsolved on its way from the fitting pose to the motion.
    """

    name: str
    start: float
    lengths: tuple[float, ...]
    a: Frames
    b: Frames
    shapes: tuple[Shapes, ...]
    fitted: Shape
    steady_approach: bool = True

    @property
    def length(self) -> float:
        """Nominal free length. [m]"""
        return self.lengths[0]

    @cached_property
    def distance(self) -> Array:
        """Straight distance between the held ends, (m,). [m]"""
        return np.linalg.norm(self.b.origin - self.a.origin, axis=1)

    def nominal_place(self, arc: float, state: int) -> float:
        """From ferrule tail a on nominal length, of an arc length in a state. [m]"""
        return self.start + arc * self.length / self.lengths[state]

    def moves(self, distance: float, angle: float) -> bool:
        """Whether the ends move against each other by more than a distance or an angle."""
        far, turn = self._most_moved
        return far > distance or turn > angle

    @cached_property
    def _most_moved(self) -> tuple[float, float]:
        # of end b seen from end a, from the first pose [m, rad]
        offset = np.einsum("mji,mj->mi", self.a.axes, self.b.origin - self.a.origin)
        turn = np.swapaxes(self.a.axes, 1, 2) @ self.b.axes
        cosine = (np.einsum("ij,mij->m", turn[0], turn) - 1.0) / 2.0
        far = np.linalg.norm(offset - offset[0], axis=1).max()
        return float(far), float(np.arccos(np.clip(cosine, -1.0, 1.0)).max())


@dataclass(frozen=True, eq=False)
class SolvedRun:
    """A run with all its shapes.

    Attributes
    ----------
    orientation
        Angle between the two ends at which the hose is free of twist in the fitting pose. [rad]
    misfit
        Twist in the fitting pose, where the assembly was built to another angle. [rad]
    """

    run: Run
    states: tuple[State, ...]
    poses: Poses
    placement: Placement
    fitting_pose: Mapping[str, float]
    spans: tuple[SolvedSpan, ...]
    orientation: float
    misfit: float

    @property
    def solved(self) -> bool:
        """Whether every shape was found."""
        return all(shapes.converged.all() for span in self.spans for shapes in span.shapes)

    def moves(self, job: Job) -> bool:
        """Whether any span's ends move against each other."""
        distance, angle = job.profile["moving_distance"], job.profile["moving_angle"]
        return any(span.moves(distance, angle) for span in self.spans)

    @cached_property
    def lines(self) -> tuple[Array, ...]:
        """Whole centre line from ferrule tail to ferrule tail, (m, k, 3) in each state. [m]"""
        return tuple(
            np.concatenate(
                [self.spans[0].shapes[s].position, *(x.shapes[s].position[:, 1:] for x in self.spans[1:])], 1
            )
            for s in range(len(self.states))
        )

    @cached_property
    def arcs(self) -> Array:
        """Place of each node of the lines from ferrule tail a, on nominal length, (k,). [m]"""
        first, *rest = (np.linspace(x.start, x.start + x.length, x.shapes[0].position.shape[1]) for x in self.spans)
        return np.concatenate([first, *(arcs[1:] for arcs in rest)])

    def pose(self, k: int) -> dict[str, float]:
        """Joint values of a pose. [rad, m]"""
        return dict(zip(self.poses.joints, map(float, self.poses.values[k]), strict=True))


def span_lengths(assembly: Assembly, clamps: Sequence[Clamp]) -> list[tuple[float, float]]:
    """Start and nominal free length of each span. [m]

    Raises
    ------
    ArgumentError
        A clamp does not lie on the hose, or clamps are out of order.
    """
    places = [0.0, *(clamp.at for clamp in clamps), assembly.free_length]
    for before, after in itertools.pairwise(places):
        if after <= before:
            raise ArgumentError(
                f"clamps must lie in order between the ferrule tails, 0 to {assembly.free_length * 1e3:.0f} mm: "
                f"{after * 1e3:.0f} mm comes after {before * 1e3:.0f} mm"
            )
    return [(before, after - before) for before, after in itertools.pairwise(places)]


def state_lengths(assembly: Assembly, length: float, last: bool) -> tuple[float, float, float]:
    """Nominal, shortest and longest free length of a span. [m]

    The length tolerance falls to the last span, since clamps are marked off from end a.
    """
    tolerance = din_20066.length_tolerance(assembly.overall_length, assembly.hose.inside_diameter)
    plus, minus = (tolerance.plus, tolerance.minus) if last else (0.0, 0.0)
    shorter, longer = assembly.hose.shorter or 0.0, assembly.hose.longer or 0.0
    return length, max(length - minus, 1e-3) * (1.0 - shorter), (length + plus) * (1.0 + longer)


def directions_down(attitude: float) -> list[tuple[float, float, float]]:
    """Ways down in the machine's frame: level, and tilted by the attitude to four sides.

    On slopes only the longest hose is solved, the one that weight moves most.
    """
    sin, cos = math.sin(attitude), math.cos(attitude)
    tilted = [(sin, 0.0, -cos), (-sin, 0.0, -cos), (0.0, sin, -cos), (0.0, -sin, -cos)]
    return [(0.0, 0.0, -1.0), *(tilted if attitude > 0.0 else [])]


def section_of(run: Run, length: float, job: Job) -> Section:
    """Stiffness and weight of a span of a run."""
    hose, fluid = run.assembly.hose, run.duty.fluid
    if hose.bending_stiffness is None:
        raise ArgumentError(f"hose {hose.name} has no bending stiffness; give one in the shop's own hose data")
    density = fluid.density(run.duty.temperature_working) or 870.0
    oil = density * math.pi / 4.0 * hose.inside_diameter**2
    mass = (hose.mass_per_length or 0.0) + oil
    stiffness = job.bending_factor * hose.bending_stiffness
    return Section(
        stiffness, job.torsion_ratio * stiffness, job.stiff_axis * stiffness / length**2, weight=GRAVITY * mass
    )


@dataclass(frozen=True, eq=False)
class _Track:
    """Poses to walk: the fitting pose twice, a transit and the poses of each path; ``kept`` marks the motion's own."""

    poses: Poses
    pieces: tuple[NDArray[np.int64], ...]  # for each path: indices from the fitting pose to its end
    kept: tuple[NDArray[np.bool_], ...]


def _track(machine: Machine, poses: Poses, fitting: Mapping[str, float]) -> _Track:
    joints = tuple(dict.fromkeys((*poses.joints, *fitting)))
    motion = _columns(machine, poses, joints)
    fit = np.array([fitting[joint] for joint in joints])
    parts, pieces, kept, count = [fit[None]], [], [], 1
    for number in range(int(poses.path.max()) + 1):
        path = motion[poses.path == number]
        transit = np.linspace(fit, path[0], 1 + (1 if np.allclose(fit, path[0], rtol=0.0, atol=1e-9) else TRANSIT))
        parts += [transit, path]
        pieces.append(np.r_[0, count : count + len(transit) + len(path)])
        kept.append(np.r_[np.zeros(1 + len(transit), dtype=bool), np.ones(len(path), dtype=bool)])
        count += len(transit) + len(path)
    numbers = np.repeat(np.arange(len(parts)), [len(part) for part in parts])
    return _Track(Poses(joints, np.concatenate(parts), numbers, np.zeros(count)), tuple(pieces), tuple(kept))


def _columns(machine: Machine, poses: Poses, joints: Sequence[str]) -> Array:
    # joint values of the poses, (m, k); joints not named stay as drawn, and the machine refuses unknown ones
    drawn = {joint: machine.tree.drawn(joint) for joint in machine.tree.joints}
    drawn |= {one.name: math.dist(one.base.at, one.rod.at) - one.closed for one in machine.cylinders}
    values = np.empty((len(poses), len(joints)))
    for column, joint in enumerate(joints):
        values[:, column] = poses.of(joint) if joint in poses.joints else drawn.get(joint, 0.0)
    return values


def fitting_pose(run: Run, job: Job) -> dict[str, float]:
    """Joint values in which a run is fitted: its own, else the first service pose, else where the motion begins."""
    start = dict(zip(job.poses.joints, map(float, job.poses.values[0]), strict=True))
    own = run.fitting_pose or (job.service_poses[0] if job.service_poses else {})
    return {**start, **own}


def held_places(run: Run, placement: Placement, offsets: Mapping[str, Frames] | None = None) -> list[Frames]:
    """Ferrule tail a, clamps, ferrule tail b as frames that all face from a to b; ports may lie a little off."""
    a = port_frames(placement, run.port_a, offsets).place(run.assembly.a.tail())
    b = port_frames(placement, run.port_b, offsets).place(run.assembly.b.tail())
    places = [a, *(placement.mount(clamp.mount) for clamp in run.clamps), _reversed(b)]
    for k in range(1, len(places) - 1):
        onward = places[k + 1].origin[0] - places[k - 1].origin[0]
        if onward @ places[k].facing[0] < 0.0:
            places[k] = _reversed(places[k])  # a mount's direction may be given either way
    return places


def port_frames(placement: Placement, name: str, offsets: Mapping[str, Frames] | None) -> Frames:
    """Frames of a port, which may lie a little off."""
    port = placement.port(name)
    return port.place(offsets[name]) if offsets and name in offsets else port


def _reversed(frames: Frames) -> Frames:
    return Frames(frames.origin, frames.axes * np.array([-1.0, 1.0, -1.0]))


def solve_runs(job: Job, runs: Sequence[Run], poses: Poses) -> list[SolvedRun]:
    """Solve runs over all poses of the motion and all states, on all cores.

    Raises
    ------
    MachineError
        The machine cannot take a pose.
    ArgumentError
        A run contradicts itself.
    """
    plans = [_plan(job, run, poses) for run in runs]
    shapes = iter(sweeps([span for plan in plans for span in plan.tasks]))
    solved = [plan.gather([next(shapes) for _ in plan.tasks]) for plan in plans]
    if job.stiff_axis >= STIFFEST_AXIS:
        return solved
    stiffer = replace(job, stiff_axis=STIFFER * job.stiff_axis)
    return [solve_runs(stiffer, [one.run], poses)[0] if _stretch(one, job) > MOST_STRETCH else one for one in solved]


def _stretch(solved: SolvedRun, job: Job) -> float:
    """At most what the axis gives way, as a part of the slack between the straight distance and the hose."""
    worst = 0.0
    for span in solved.spans:
        axis = section_of(solved.run, span.length, job).axial_stiffness
        for length, shapes in zip(span.lengths, span.shapes, strict=True):
            slack = 1.0 - span.distance / length
            part = np.linalg.norm(shapes.force_a, axis=1) / axis / np.maximum(slack, LEAST_SLACK)
            worst = max(worst, float(part[slack > LEAST_SLACK].max(initial=0.0)))
    return worst


@dataclass(frozen=True, eq=False)
class _Plan:
    """One run with its sweeps to do, ordered by span, state, path."""

    job: Job
    run: Run
    poses: Poses
    track: _Track
    placement: Placement
    states: tuple[State, ...]
    places: list[Frames]
    lengths: list[tuple[float, ...]]
    tasks: list[Span]
    orientation: float
    misfit: float

    def gather(self, shapes: list[Shapes]) -> SolvedRun:
        paths = len(self.track.pieces)
        spans = []
        starts = [start for start, _ in span_lengths(self.run.assembly, self.run.clamps)]
        names = ["a", *(clamp.mount for clamp in self.run.clamps), "b"]
        index = np.concatenate([piece[kept] for piece, kept in zip(self.track.pieces, self.track.kept, strict=True)])
        for number, start in enumerate(starts):
            mine = shapes[number * len(self.states) * paths : (number + 1) * len(self.states) * paths]
            by_state = tuple(_kept(mine[s * paths : (s + 1) * paths], self.track.kept) for s in range(len(self.states)))
            a, b = (_taken(self.places[number + end], index) for end in (0, 1))
            name = f"{names[number]} to {names[number + 1]}"
            steady = all(
                _steady(shapes, keep) for shapes, keep in zip(mine, self.track.kept * len(self.states), strict=True)
            )
            spans.append(SolvedSpan(name, start, self.lengths[number], a, b, by_state, mine[0][0], steady))
        placement = self.job.machine.place(self.poses)
        return SolvedRun(
            self.run,
            self.states,
            self.poses,
            placement,
            fitting_pose(self.run, self.job),
            tuple(spans),
            self.orientation,
            self.misfit,
        )


def _kept(pieces: Sequence[Shapes], kept: Sequence[NDArray[np.bool_]]) -> Shapes:
    return Shapes.joined([piece.take(np.flatnonzero(keep)) for piece, keep in zip(pieces, kept, strict=True)])


def _steady(shapes: Shapes, kept: NDArray[np.bool_]) -> bool:
    # on the poses that are not kept, those before the motion
    return bool((shapes.converged | kept).all() and ((shapes.jumped_at == 0.0) | kept).all())


def _taken(frames: Frames, index: NDArray[np.int64]) -> Frames:
    return Frames(frames.origin[index], frames.axes[index])


def _plan(job: Job, run: Run, poses: Poses) -> _Plan:
    track = _track(job.machine, poses, fitting_pose(run, job))
    placement = job.machine.place(track.poses)
    places = held_places(run, placement, job.port_offsets)
    pieces = span_lengths(run.assembly, run.clamps)
    lengths = [state_lengths(run.assembly, length, k == len(pieces) - 1) for k, (_, length) in enumerate(pieces)]
    downs = directions_down(job.attitude)
    level, *slopes = downs
    states = tuple(State(name, level) for name in LENGTHS) + tuple(State(LONGEST, down) for down in slopes)
    free = [_fit(job, run, places, k, length) for k, (_, length) in enumerate(pieces)]
    rolls = [_roll(shape, places, k) for k, shape in enumerate(free)]
    orientation = sum(rolls) % math.tau % math.tau  # a tiny negative angle rounds to a full turn
    built = run.assembly.orientation_angle
    misfit = 0.0 if built is None else math.remainder(orientation - built, math.tau)
    tasks = []
    total = sum(length for _, length in pieces)
    for k, (_, length) in enumerate(pieces):
        a, b = _supports(places, k, misfit * length / total - rolls[k], _free(run, k, len(pieces)))
        section = section_of(run, length, job)
        for state in states:
            target = lengths[k][LENGTHS.index(state.name)]
            for piece in track.pieces:
                # as it was laid, twisted if need be, over the ramp to the state's length, then along the path
                ramp = np.r_[length, np.full(len(piece) - 1, target)]
                ends = _at(a, piece), _at(b, piece)
                tasks.append(Span(section, ramp, *ends, job.elements, state.down, start=free[k]))
    full = [tuple(row[LENGTHS.index(state.name)] for state in states) for row in lengths]
    return _Plan(job, run, poses, track, placement, states, places, full, tasks, orientation, misfit)


def _fit(job: Job, run: Run, places: Sequence[Frames], k: int, length: float) -> Shape:
    # as the fitter lays it: free to roll, in the fitting pose
    a, b = places[k], places[k + 1]
    return equilibrium(
        section_of(run, length, job),
        length,
        Support(a.origin[0], a.facing[0]),
        Support(b.origin[0], b.facing[0]),
        elements=job.elements,
        bow=run.bow,
    )


def _roll(shape: Shape, places: Sequence[Frames], k: int) -> float:
    a, b = places[k], places[k + 1]
    position = shape.position[None]
    return float(carried_roll(position, a.facing[:1], b.facing[:1], a.up[:1], b.up[:1])[0])


def _free(run: Run, k: int, spans: int) -> bool:
    # whether a live swivel lets a span turn about its own axis
    assembly = run.assembly
    return (k == 0 and assembly.a.rolls_freely) or (k == spans - 1 and assembly.b.rolls_freely)


def _supports(places: Sequence[Frames], k: int, turn: float, free: bool) -> tuple[Support, Support]:
    # references such that the span is twisted by its share of the misfit in the fitting pose
    a, b = places[k], places[k + 1]
    if free:
        return Support(a.origin, a.facing), Support(b.origin, b.facing)
    reference = math.cos(turn) * b.up + math.sin(turn) * cross(b.facing, b.up)
    return Support(a.origin, a.facing, a.up), Support(b.origin, b.facing, reference)


def _at(support: Support, index: NDArray[np.int64] | int) -> Support:
    position, direction = np.asarray(support.position)[index], np.asarray(support.direction)[index]
    reference = None if support.reference is None else np.asarray(support.reference)[index]
    return Support(position, direction, reference)
