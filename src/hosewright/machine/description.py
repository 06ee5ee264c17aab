"""The parts of a machine together, as drawn; nothing is checked here."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Protocol, TypeVar

import numpy as np

from hosewright.errors import MachineError, nearest
from hosewright.machine.kinematics import Tree
from hosewright.machine.parts import Body, Cylinder, Mount, Obstacle, Operator, Pin, Port, Turn


class Named(Protocol):
    """A part with a name."""

    @property
    def name(self) -> str: ...  # noqa: D102


Part = TypeVar("Part", bound=Named)


@dataclass(frozen=True)
class Description:
    """A tree of bodies with what sits on them.

    Attributes
    ----------
    drawn_at
        Joint values in the pose in which all points were measured; 0 where a joint is left out.
    """

    bodies: tuple[Body, ...] = ()
    cylinders: tuple[Cylinder, ...] = ()
    pins: tuple[Pin, ...] = ()
    ports: tuple[Port, ...] = ()
    mounts: tuple[Mount, ...] = ()
    operators: tuple[Operator, ...] = ()
    obstacles: tuple[Obstacle, ...] = ()
    drawn_at: Mapping[str, float] = field(default_factory=dict)

    @cached_property
    def tree(self) -> Tree:
        """The bodies alone."""
        return Tree(self.bodies, self.cylinders, self.drawn_at)

    @cached_property
    def size(self) -> float:
        """Of the box around all joints, pins and eyes, at least 0.1 m. [m]"""
        points = [body.joint.at for body in self.bodies if isinstance(body.joint, Turn)]
        points += [eye.at for cylinder in self.cylinders for eye in (cylinder.base, cylinder.rod)]
        points += [pin.at for pin in self.pins]
        return max(float(np.linalg.norm(np.ptp(np.array(points), axis=0))) if points else 0.0, 0.1)


def named(parts: Sequence[Part], name: str, kind: str) -> Part:
    """The part of that name."""
    for part in parts:
        if part.name == name:
            return part
    raise MachineError(f"the machine has no {kind} '{name}'.{nearest(name, [part.name for part in parts])}")
