"""The conditions that close a loop: a pin that two bodies share, or a cylinder of given length."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from hosewright.geometry import Frames
from hosewright.geometry.frames import Array
from hosewright.machine.kinematics import Rate, eye_to_eye, fixed_point, unit
from hosewright.machine.parts import Cylinder, Pin

ARM = 0.1
"""A pin that stands askew by an angle counts as apart by the angle times this. [m]"""


@dataclass(frozen=True)
class PinClosing:
    """Both bodies keep a point, and the direction of the pin, in common."""

    pin: Pin

    @property
    def bodies(self) -> tuple[str, str]:
        """The bodies that meet."""
        return self.pin.bodies

    def miss(self, frames: Mapping[str, Frames]) -> Array:
        """What the condition lacks, (m, 3) or (m, 6). [m]"""
        a, b = (frames[name] for name in self.bodies)
        apart = fixed_point(a, self.pin.at) - fixed_point(b, self.pin.at)
        if self.pin.about is None:
            return apart
        axis = unit(self.pin.about)
        return np.concatenate([apart, ARM * np.cross(a.axes @ axis, b.axes @ axis)], axis=1)

    def slope(self, frames: Mapping[str, Frames], a: Rate, b: Rate) -> Array:
        """Change of ``miss`` when the two bodies move at these rates."""
        points = [fixed_point(frames[name], self.pin.at) for name in self.bodies]
        apart = a.of_points(points[0]) - b.of_points(points[1])
        if self.pin.about is None:
            return apart
        axes = [frames[name].axes @ unit(self.pin.about) for name in self.bodies]
        askew = np.cross(a.of_directions(axes[0]), axes[1]) + np.cross(axes[0], b.of_directions(axes[1]))
        return np.concatenate([apart, ARM * askew], axis=1)

    def complaint(self, miss: Array) -> str:
        """What is wrong, from one row of ``miss``."""
        text = f"the halves of pin '{self.pin.name}' stay {np.linalg.norm(miss[:3]) * 1e3:.2f} mm apart"
        if len(miss) > 3 and np.linalg.norm(miss[3:]) > 1e-9:
            askew = math.degrees(math.asin(min(float(np.linalg.norm(miss[3:])) / ARM, 1.0)))
            text += f" and {askew:.2f} degrees askew"
        return text


@dataclass(frozen=True)
class LengthClosing:
    """A cylinder is as long as its stroke says."""

    cylinder: Cylinder
    length: Array

    @property
    def bodies(self) -> tuple[str, str]:
        """The bodies that carry its eyes."""
        return self.cylinder.base.on, self.cylinder.rod.on

    def miss(self, frames: Mapping[str, Frames]) -> Array:
        """What the condition lacks, (m, 1). [m]"""
        return (np.linalg.norm(eye_to_eye(self.cylinder, frames), axis=1) - self.length)[:, None]

    def slope(self, frames: Mapping[str, Frames], a: Rate, b: Rate) -> Array:
        """Change of ``miss`` when the two bodies move at these rates."""
        along = eye_to_eye(self.cylinder, frames)
        along = along / np.linalg.norm(along, axis=1, keepdims=True)
        base = fixed_point(frames[self.bodies[0]], self.cylinder.base.at)
        rod = fixed_point(frames[self.bodies[1]], self.cylinder.rod.at)
        return ((b.of_points(rod) - a.of_points(base)) * along).sum(axis=1, keepdims=True)

    def complaint(self, miss: Array) -> str:
        """What is wrong, from one row of ``miss``."""
        return f"the eyes of cylinder '{self.cylinder.name}' stay {abs(miss[0]) * 1e3:.2f} mm off its length"


Closing = PinClosing | LengthClosing
