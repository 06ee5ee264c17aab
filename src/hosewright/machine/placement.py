"""Where everything on a machine is, in many poses at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from hosewright.errors import MachineError, nearest
from hosewright.geometry import Frames, Least, least_distance, upright
from hosewright.geometry.frames import Array
from hosewright.machine.description import Description, named
from hosewright.machine.kinematics import eye_to_eye
from hosewright.machine.linkage import Linkage, linkages, solve
from hosewright.machine.parts import Point
from hosewright.machine.poses import Poses
from hosewright.machine.problems import length_complaint
from hosewright.machine.text import in_words, pose_in_words

RANGE_TOLERANCE = 1e-7
"""Rounding of joint values at the ends of their range is forgiven up to this. [rad, m]"""


@dataclass(frozen=True, eq=False)
class Placement:
    """A machine in m poses.

    Attributes
    ----------
    values
        Values (m,) of every joint, given, followed or as drawn, and the stroke of every cylinder. [rad, m]
    bodies
        Frames of every body; they lie on the machine frame in the drawn pose.
    """

    machine: Description
    poses: Poses
    values: Mapping[str, Array]
    bodies: Mapping[str, Frames]

    def __len__(self) -> int:
        return len(self.poses)

    def take(self, index: NDArray[np.int64]) -> Placement:
        """Some of the poses."""
        values = {name: value[index] for name, value in self.values.items()}
        bodies = {name: Frames(frames.origin[index], frames.axes[index]) for name, frames in self.bodies.items()}
        return Placement(self.machine, self.poses.take(index), values, bodies)

    def body(self, name: str) -> Frames:
        """Frames of a body."""
        if name not in self.bodies:
            raise MachineError(f"the machine has no body '{name}'.{nearest(name, self.bodies)}")
        return self.bodies[name]

    def port(self, name: str) -> Frames:
        """Frames of a port's seat: x out of the port, y the zero of its clock."""
        if name not in self._ports:
            port = named(self.machine.ports, name, "port")
            self._ports[name] = self._on(port.on, port.at, port.facing, port.up)
        return self._ports[name]

    @cached_property
    def _ports(self) -> dict[str, Frames]:
        return {}

    def carriers(self, port: str, reach: float) -> frozenset[str]:
        """Names of the obstacles on whose surface a port sits, in the first pose, within a reach. [m]"""
        key = (port, reach)
        if key not in self._carriers:
            seat = self.port(port).origin[:1, None]
            found = [
                part.name
                for part in self.machine.obstacles
                if abs(float(part.shape.distance(self._first(part.on).local(seat))[0, 0])) < reach
            ]
            self._carriers[key] = frozenset(found)
        return self._carriers[key]

    def _first(self, body: str) -> Frames:
        frames = self.body(body)
        return Frames(frames.origin[:1], frames.axes[:1])

    @cached_property
    def _carriers(self) -> dict[tuple[str, float], frozenset[str]]:
        return {}

    def mount(self, name: str) -> Frames:
        """Frames of a mount at the hose axis: x along the hose, y out of the bolting face."""
        mount = named(self.machine.mounts, name, "mount")
        up = drawn_axes(mount.along, mount.up)[:, 1]
        axis = tuple(np.asarray(mount.at, dtype=float) + mount.stand_off * up)
        return self._on(mount.on, axis, mount.along, mount.up)

    def operator(self, name: str) -> Frames:
        """Frames of the place where somebody stands."""
        operator = named(self.machine.operators, name, "operator")
        return self._on(operator.on, operator.at, (1.0, 0.0, 0.0), (0.0, 1.0, 0.0))

    def _on(self, body: str, at: Point, along: Point, up: Point | None) -> Frames:
        return self.body(body).place(Frames(np.array([at], dtype=float), drawn_axes(along, up)[None]))

    def distance(self, obstacle: str, points: Array) -> Array:
        """Exact signed distances (m, n) of points (m, n, 3), in the machine frame, to an obstacle where it is then."""
        part = named(self.machine.obstacles, obstacle, "obstacle")
        return part.shape.distance(self.body(part.on).local(points))

    def least_distance(self, obstacle: str, points: Array, radii: Array | float = 0.0) -> Least:
        """Exact least distance (m,) of points (m, n, 3) in each pose, much faster than ``distance`` for meshes.

        With ``radii`` (n,) that of balls round them. [m]
        """
        part = named(self.machine.obstacles, obstacle, "obstacle")
        return least_distance(part.shape, self.body(part.on).local(points), radii)


def drawn_axes(along: Point, up: Point | None) -> Array:
    """Axes (3, 3) with x along ``along`` and y towards ``up``; without ``up`` towards z, or x where along is z."""
    x = np.asarray(along, dtype=float)
    if up is None:
        up = (1.0, 0.0, 0.0) if np.hypot(x[0], x[1]) < 1e-3 * abs(x[2]) else (0.0, 0.0, 1.0)
    return upright(x[None], np.asarray([up], dtype=float))[0]


def place(machine: Description, poses: Poses) -> Placement:
    """Put a machine into all poses; closed linkages follow.

    Raises
    ------
    MachineError
        A name is unknown, a linkage cannot close, or a joint or cylinder leaves its range; names the pose and figures.
    """
    values = _values(machine, poses)
    bodies = machine.tree.all_frames(values, len(poses))
    for cylinder in machine.cylinders:
        values[cylinder.name] = np.linalg.norm(eye_to_eye(cylinder, bodies), axis=1) - cylinder.closed
    complaints = [*_range_complaints(machine, poses, values), *_length_complaints(machine, poses, values)]
    if complaints:
        raise MachineError("\n".join(complaints))
    return Placement(machine, poses, values, bodies)


def _values(machine: Description, poses: Poses) -> dict[str, Array]:
    tree = machine.tree
    known = [*tree.joints, *(cylinder.name for cylinder in machine.cylinders)]
    for joint in poses.joints:
        if joint not in known:
            raise MachineError(
                f"the poses move '{joint}', but there is no such joint or cylinder.{nearest(joint, known)}"
            )
    values = {
        joint: poses.of(joint) if joint in poses.joints else np.full(len(poses), tree.drawn(joint))
        for joint in tree.joints
    }
    for loops in linkages(tree, machine.pins, machine.cylinders, poses.joints, machine.size):
        values = _followed(machine, poses, loops, values)
    return values


def _followed(machine: Description, poses: Poses, loops: Linkage, values: dict[str, Array]) -> dict[str, Array]:
    drawn = {joint: machine.tree.drawn(joint) for joint in machine.tree.joints}
    drawn |= {c.name: float(np.linalg.norm(np.subtract(c.base.at, c.rod.at))) - c.closed for c in loops.drivers}
    start = np.array([drawn[name] for name in loops.names])
    loose = loops.loose(start[None])
    if loose:
        raise MachineError(
            f"the poses leave {loose} of the joints {', '.join(loops.following)} undetermined: pins and strokes do not "
            f"say where they go. Name {loose} more of them in the poses (or the linkage is drawn in a dead centre)"
        )
    targets = np.stack([values[name] if name in values else poses.of(name) for name in loops.names], axis=1)
    solved = solve(loops, start, targets, poses.path)
    if solved.failed is not None:
        complaints = loops.complaints(solved.values[solved.failed], targets[solved.failed])
        reason = ", ".join(complaints) or "on the way there it passes a dead centre, where it could fold over"
        raise MachineError(f"{pose_in_words(machine, poses, solved.failed)}: the linkage does not close: {reason}")
    return values | {joint: solved.values[:, loops.names.index(joint)] for joint in loops.following}


def _range_complaints(machine: Description, poses: Poses, values: Mapping[str, Array]) -> list[str]:
    complaints = []
    for body in machine.bodies:
        if body.joint is None:
            continue
        low, high = body.joint.lowest, body.joint.highest
        off = np.maximum(low - values[body.name], values[body.name] - high)
        worst = int(np.argmax(off))
        if off[worst] > RANGE_TOLERANCE:
            value, *limits = (in_words(machine, body.name, v) for v in (values[body.name][worst], low, high))
            complaints.append(
                f"{pose_in_words(machine, poses, worst)}: joint '{body.name}' would be at {value}, "
                f"outside its range from {limits[0]} to {limits[1]}"
            )
    return complaints


def _length_complaints(machine: Description, poses: Poses, values: Mapping[str, Array]) -> list[str]:
    complaints = []
    for cylinder in machine.cylinders:
        stroke = values[cylinder.name]
        worst = int(np.argmax(np.maximum(-stroke, stroke + cylinder.closed - cylinder.open)))
        complaint = length_complaint(cylinder, float(stroke[worst]) + cylinder.closed)
        if complaint:
            complaints.append(f"{pose_in_words(machine, poses, worst)}: {complaint}")
    return complaints
