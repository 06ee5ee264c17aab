"""What a picture of a hose shows: one run in one pose and state, the machine round it, and the hose in other poses."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from hosewright.assembly import End
from hosewright.checks.check import CheckResult, RunResult
from hosewright.checks.finding import Finding, Place, Verdict
from hosewright.checks.solve import SolvedRun
from hosewright.documents.projection import View, best_view
from hosewright.documents.solids import Solid, solid
from hosewright.geometry import Frames
from hosewright.machine import GROUND, Machine, Obstacle, Placement, Poses

Array = NDArray[np.float64]

MOST_GHOSTS = 2
LEAST_GHOST = 0.02
"""A hose that comes no further from where it is shown than this is not shown again. [m]"""
NEXT_GHOST = 0.4
"""Nor is it a second time, where it comes no further than this part of the first time."""
NO_DIAMETER = 1.5
"""Outside over inside diameter, where the data of a hose gives no outside diameter."""


def worst_finding(run: RunResult) -> Finding | None:
    """The finding that a picture of a run should show: the worst that has a place, then the one nearest its limit."""
    shown = [finding for finding in run.findings if finding.place.path is not None and finding.measure is not None]
    return worst_first(shown)[0] if shown else None


def worst_first(findings: Sequence[Finding]) -> list[Finding]:
    """By verdict, then by their margin as a part of the limit."""
    verdicts = list(Verdict)
    return sorted(findings, key=lambda finding: (verdicts.index(finding.verdict), _relative_margin(finding)))


def _relative_margin(finding: Finding) -> float:
    bound = finding.advice_limit if finding.limit is None else finding.limit
    return math.inf if finding.margin is None or not bound else finding.margin / abs(bound)


def finding_at(run: RunResult, place: Place) -> Finding | None:
    """The first finding of a run that is about this place."""
    return next((finding for finding in run.findings if finding.place == place and finding.measure is not None), None)


def pose_of(solved: SolvedRun, place: Place) -> int:
    """Pose of the motion that a place is about; where it names none, the one nearest to the fitting pose."""
    poses = solved.poses
    if place.path is not None and place.path_at is not None:
        return poses.nearest(place.path, place.path_at)
    first = zip(poses.joints, poses.values[0], strict=True)
    fitting = np.array([solved.fitting_pose.get(joint, value) for joint, value in first])
    return int(np.argmin(np.linalg.norm(poses.values - fitting, axis=1)))


def fitted(result: CheckResult, run: RunResult) -> tuple[CheckResult, RunResult]:
    """A run as it lies in the one pose in which it is fitted, among the hoses that are fitted in that pose, too."""
    pose = run.solved.fitting_pose
    poses = Poses(tuple(pose), np.array([list(pose.values())]), np.zeros(1, dtype=np.int64), np.zeros(1))
    placement = result.job.machine.place(poses)
    there = tuple(_laid(one, poses, placement) for one in result.solved if one.fitting_pose == pose)
    lying = replace(run, solved=next(one for one in there if one.run.name == run.run.name), findings=())
    return replace(result, runs=(lying,), poses=poses, solved=there), lying


def _laid(solved: SolvedRun, poses: Poses, placement: Placement) -> SolvedRun:
    spans = tuple(
        replace(span, shapes=(span.fitted.shapes.take(np.array([span.fitted.pose])),)) for span in solved.spans
    )
    return replace(solved, states=solved.states[:1], poses=poses, placement=placement, spans=spans)


@dataclass(frozen=True, eq=False)
class Ghost:
    """The hose in another pose, with its ends and the parts that moved with it. [m]"""

    pose: int
    line: Array
    ends: tuple[Array, Array]
    solids: tuple[Solid, ...]


@dataclass(frozen=True, eq=False)
class Scene:
    """One run in the pose and state of a place; points in the machine frame. [m]"""

    result: CheckResult
    run: RunResult
    place: Place

    @property
    def solved(self) -> SolvedRun:
        """The run with its shapes."""
        return self.run.solved

    @property
    def machine(self) -> Machine:
        """What the hose is on."""
        return self.result.job.machine

    @cached_property
    def pose(self) -> int:
        """Number of the pose."""
        return pose_of(self.solved, self.place)

    @cached_property
    def state(self) -> int:
        """Number of the state: the first of its name."""
        names = [state.name for state in self.solved.states]
        return names.index(self.place.state) if self.place.state in names else 0

    @cached_property
    def diameter(self) -> float:
        """Outside, of the hose."""
        hose = self.run.run.assembly.hose
        return hose.outside_diameter or NO_DIAMETER * hose.inside_diameter

    @cached_property
    def line(self) -> Array:
        """Centre line from ferrule tail to ferrule tail, (k, 3)."""
        return self._line(self.pose)

    @cached_property
    def ends(self) -> tuple[Array, Array]:
        """Corners of both ends' own axes, from the port to the ferrule tail."""
        return self._ends(self.pose)

    @cached_property
    def whole(self) -> Array:
        """From port to port, (k, 3)."""
        return np.concatenate([self.ends[0], self.line, self.ends[1][::-1]])

    @property
    def worst(self) -> Array:
        """The place on the hose; the middle of its span, or of the hose, where the place names none, (3,)."""
        arcs = self.solved.arcs
        middles = {span.name: span.start + span.length / 2.0 for span in self.solved.spans}
        at = middles.get(self.place.span, arcs[-1] / 2.0) if self.place.at is None else self.place.at
        return np.array([np.interp(at, arcs, column) for column in self.line.T])

    @cached_property
    def solids(self) -> tuple[tuple[Obstacle, Solid], ...]:
        """Parts of the machine where they are."""
        return tuple((part, self._solid(part, self.pose)) for part in self.machine.obstacles)

    @cached_property
    def triangles(self) -> Array:
        """Of all parts, (t, 3, 3)."""
        return np.concatenate([np.zeros((0, 3, 3)), *(one.corners for _, one in self.solids)])

    @cached_property
    def ghosts(self) -> tuple[Ghost, ...]:
        """The hose in the poses in which it is furthest from where it is shown, and from each other."""
        lines = np.array([self._line(k) for k in range(len(self.solved.poses))])
        shown, furthest = [self.pose], 0.0
        while len(shown) <= MOST_GHOSTS:
            away = np.min([np.linalg.norm(lines - lines[k], axis=2).mean(axis=1) for k in shown], axis=0)
            pose = int(np.argmax(away))
            if away[pose] < max(LEAST_GHOST, NEXT_GHOST * furthest):
                break
            shown.append(pose)
            furthest = max(furthest, float(away[pose]))
        return tuple(Ghost(pose, self._line(pose), self._ends(pose), tuple(self._moved(pose))) for pose in shown[1:])

    def view(self) -> View:
        """From where the hose is seen best."""
        return best_view(self.whole, [ghost.line for ghost in self.ghosts], self.triangles)

    def others(self) -> Iterator[tuple[SolvedRun, Array]]:
        """The other runs of the job with their nominal lines in this pose."""
        for other in self.result.solved:
            if other.run.name != self.run.run.name:
                yield other, other.lines[0][self.pose]

    def nearest_on(self, part: Obstacle) -> Array:
        """The place on a part that is nearest to the worst place on the hose, (3,)."""
        frame = _one(self.solved.placement.body(part.on), self.pose)
        point = frame.local(self.worst[None, None])[0, 0]
        step = 1e-4
        around = point + step * np.concatenate([np.eye(3), -np.eye(3), np.zeros((1, 3))])
        far = part.shape.distance(around)
        slope = (far[:3] - far[3:6]) / (2.0 * step)  # the steepest way off the part
        nearest = point - far[6] * slope / max(float(np.linalg.norm(slope)), 1e-9)
        return frame.points(nearest[None])[0, 0]

    def _line(self, pose: int) -> Array:
        return self._beside(self.solved.lines[self.state][pose], pose)

    def _ends(self, pose: int) -> tuple[Array, Array]:
        run = self.run.run
        return self._end(run.port_a, run.assembly.a, pose), self._end(run.port_b, run.assembly.b, pose)

    def _end(self, port: str, end: End, pose: int) -> Array:
        return self._beside(_one(self.solved.placement.port(port), pose).points(end.axis())[0], pose)

    def _solid(self, part: Obstacle, pose: int) -> Solid:
        one = solid(part.shape)
        placed = _one(self.solved.placement.body(part.on), pose).points(one.vertices)[0]
        return Solid(self._beside(placed, pose), one.faces)

    def _moved(self, pose: int) -> Iterator[Solid]:
        # parts of the bodies that carry the ports, where they move in the drawing
        for part, here in self.solids:
            there = self._solid(part, pose)
            if part.on in self._carriers and not np.allclose(here.vertices, there.vertices, atol=1e-3):
                yield there

    @cached_property
    def _carriers(self) -> tuple[str, ...]:
        names = (self.run.run.port_a, self.run.run.port_b)
        return tuple(next(port.on for port in self.machine.ports if port.name == name) for name in names)

    def _beside(self, points: Array, pose: int) -> Array:
        # as somebody sees them who stands on the chassis, or where both ports move, on the part that carries port a
        if pose == self.pose:
            return points
        body = self.solved.placement.body(GROUND if GROUND in self._carriers else self._carriers[0])
        turn = body.axes[self.pose] @ body.axes[pose].T
        return (points - body.origin[pose]) @ turn.T + body.origin[self.pose]


def _one(frames: Frames, pose: int) -> Frames:
    return Frames(frames.origin[pose : pose + 1], frames.axes[pose : pose + 1])
