"""From joint values to frames of bodies, many poses at once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from graphlib import TopologicalSorter
from typing import NamedTuple

import numpy as np

from hosewright.errors import MachineError
from hosewright.geometry import Frames, cross, rotation, upright
from hosewright.geometry.frames import Array
from hosewright.machine.parts import GROUND, Body, Cylinder, Eye, Point, Turn

Values = Mapping[str, Array]
"""Joint values (m,) by name."""

LEAST_LEVER = 1e-3
"""Sine of the angle between a cylinder and its pin below which the pin cannot tell how the barrel lies."""


class Rate(NamedTuple):
    """How a body moves when one joint's value grows: as a turn about a line, or as a slide (``turning`` zero).

    A point p moves by ``turning x p + moving``. All (m, 3).
    """

    turning: Array
    moving: Array

    def of_points(self, points: Array) -> Array:
        """Motion (m, 3) of points (m, 3) of the body."""
        return cross(self.turning, points) + self.moving

    def of_directions(self, directions: Array) -> Array:
        """Change (m, 3) of directions (m, 3) of the body."""
        return cross(self.turning, directions)


@dataclass(frozen=True)
class Tree:
    """The bodies of a machine, each on another one, and the values of their joints in the drawn pose."""

    bodies: tuple[Body, ...]
    cylinders: tuple[Cylinder, ...]
    drawn_at: Mapping[str, float]

    @cached_property
    def body_of(self) -> dict[str, Body]:
        """Bodies by name."""
        return {body.name: body for body in self.bodies}

    @cached_property
    def order(self) -> tuple[str, ...]:
        """Names of all bodies, each after those that it hangs on. Raises ``graphlib.CycleError``."""
        needs: dict[str, tuple[str, ...]] = {body.name: (body.on,) for body in self.bodies}
        for cylinder in self.cylinders:
            for name in cylinder.bodies:
                needs[name] = (cylinder.base.on, cylinder.rod.on)
        return tuple(name for name in TopologicalSorter(needs).static_order() if name != GROUND)

    @cached_property
    def joints(self) -> tuple[str, ...]:
        """Names of all joints."""
        return tuple(body.name for body in self.bodies if body.joint is not None)

    def drawn(self, joint: str) -> float:
        """Value of a joint in the drawn pose; 0 where nothing else is said."""
        return float(self.drawn_at.get(joint, 0.0))

    def chain(self, name: str) -> tuple[str, ...]:
        """Bodies from ``name`` down to the ground, itself included; barrels and rods end it, as no joint moves them."""
        found = []
        while name in self.body_of:
            found.append(name)
            name = self.body_of[name].on
        return tuple(found)

    def frames(self, values: Values, names: Iterable[str], poses: int) -> dict[str, Frames]:
        """Frames of the named bodies and of all that they hang on; cylinders are left out."""
        found = {GROUND: Frames(np.zeros((poses, 3)), np.broadcast_to(np.eye(3), (poses, 3, 3)))}
        wanted = {body for name in names for body in self.chain(name)}
        for name in self.order:
            if name in wanted:
                found[name] = self._placed(self.body_of[name], values, found)
        return found

    def all_frames(self, values: Values, poses: int) -> dict[str, Frames]:
        """Frames of all bodies, barrels and rods included."""
        found = self.frames(values, (), poses)
        ends = {name: cylinder for cylinder in self.cylinders for name in cylinder.bodies}
        for name in self.order:
            if name in self.body_of:
                found[name] = self._placed(self.body_of[name], values, found)
            else:
                found[name] = cylinder_frames(ends[name], name, found)
        return found

    def _placed(self, body: Body, values: Values, found: Mapping[str, Frames]) -> Frames:
        base = found[body.on]
        if body.joint is None:
            return base
        moved = values[body.name] - self.drawn(body.name)
        if isinstance(body.joint, Turn):
            axes = rotation(unit(body.joint.about), moved)
            pivot = np.asarray(body.joint.at, dtype=float)
            return base.place(Frames(pivot - axes @ pivot, axes))
        along = moved[:, None] * unit(body.joint.along)
        return base.place(Frames(along, np.broadcast_to(np.eye(3), (len(along), 3, 3))))

    def rate(self, joint: str, frames: Mapping[str, Frames]) -> Rate:
        """How bodies above a joint move with its value, in the poses of ``frames``."""
        body, frame = self.body_of[joint], frames[joint]
        if isinstance(body.joint, Turn):
            axis = frame.axes @ unit(body.joint.about)
            return Rate(axis, np.cross(fixed_point(frame, body.joint.at), axis))
        assert body.joint is not None  # joints are bodies with one
        return Rate(np.zeros_like(frame.origin), frame.axes @ unit(body.joint.along))


def unit(direction: Point) -> Array:
    """The direction with length 1."""
    vector = np.asarray(direction, dtype=float)
    return vector / np.linalg.norm(vector)


def fixed_point(frame: Frames, at: Point) -> Array:
    """A point of a body, given as drawn, in every pose: (m, 3)."""
    return frame.points(np.asarray([at], dtype=float))[:, 0]


def eye_to_eye(cylinder: Cylinder, frames: Mapping[str, Frames]) -> Array:
    """From the base eye to the rod eye in every pose: (m, 3)."""
    return fixed_point(frames[cylinder.rod.on], cylinder.rod.at) - fixed_point(
        frames[cylinder.base.on], cylinder.base.at
    )


def pin_direction(cylinder: Cylinder, eye: Eye) -> Array:
    """Direction of an eye's pin as drawn."""
    for named in (eye.pin, cylinder.base.pin, cylinder.rod.pin):
        if named is not None:
            return unit(named)
    along = unit_or_zero(np.subtract(cylinder.rod.at, cylinder.base.at))
    return np.array([1.0, 0.0, 0.0]) if abs(along[1]) > 0.99 else np.array([0.0, 1.0, 0.0])


def unit_or_zero(vector: Array) -> Array:
    """The vector with length 1, or zero where it has no length."""
    length = np.linalg.norm(vector)
    return vector / length if length > 0.0 else vector


def cylinder_frames(cylinder: Cylinder, name: str, frames: Mapping[str, Frames]) -> Frames:
    """Frame of the barrel or the rod: it turns with the line from eye to eye and does not roll about its pin."""
    eye = cylinder.base if name == cylinder.bodies[0] else cylinder.rod
    along = eye_to_eye(cylinder, frames)
    pin = frames[eye.on].axes @ pin_direction(cylinder, eye)
    lever = np.linalg.norm(np.cross(along, pin), axis=1) / np.maximum(np.linalg.norm(along, axis=1), 1e-300)
    if not (lever > LEAST_LEVER).all():
        raise MachineError(
            f"cylinder '{cylinder.name}' lies along its own pin on '{eye.on}' in pose {int(np.argmin(lever))}; "
            "a pin stands across the cylinder"
        )
    drawn = upright(np.subtract([cylinder.rod.at], [cylinder.base.at]), pin_direction(cylinder, eye)[None])
    axes = upright(along, pin) @ drawn.transpose(0, 2, 1)
    return Frames(fixed_point(frames[eye.on], eye.at) - axes @ np.asarray(eye.at, dtype=float), axes)
