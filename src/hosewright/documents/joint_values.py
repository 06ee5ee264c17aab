"""Joint values as people read them."""

from __future__ import annotations

from collections.abc import Mapping

from hosewright.machine import Machine, Slide
from hosewright.words import read


def slides(machine: Machine) -> set[str]:
    """Joints and cylinders whose value is a length."""
    sliding = {body.name for body in machine.bodies if isinstance(body.joint, Slide)}
    return sliding | {cylinder.name for cylinder in machine.cylinders}


def read_pose(pose: Mapping[str, float], machine: Machine) -> dict[str, float]:
    """Joint values as people read them: degrees of turning joints, mm of sliding ones and strokes."""
    sliding = slides(machine)
    return {name: read(value, "length" if name in sliding else "angle") or 0.0 for name, value in pose.items()}
