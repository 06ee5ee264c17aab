"""Joint values in words."""

from __future__ import annotations

import math

from hosewright.machine.description import Description
from hosewright.machine.parts import Turn
from hosewright.machine.poses import Poses


def in_words(machine: Description, joint: str, value: float) -> str:
    """A joint value or stroke with its unit, for messages."""
    body = machine.tree.body_of.get(joint)
    if body is not None and isinstance(body.joint, Turn):
        return f"{math.degrees(value):.4g} degrees"
    return f"{value * 1e3:.4g} mm"


def pose_in_words(machine: Description, poses: Poses, index: int) -> str:
    """Which pose, how far along its path and where its joints are."""
    joints = ", ".join(
        f"{joint} {in_words(machine, joint, value)}"
        for joint, value in zip(poses.joints, poses.values[index], strict=True)
    )
    return f"pose {index} (path {poses.path[index]}, {poses.at[index] * 100:.0f} % along: {joints})"
