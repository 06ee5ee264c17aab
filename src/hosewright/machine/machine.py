"""The machine: its parts, checked, and put into poses."""

from __future__ import annotations

from dataclasses import dataclass

from hosewright.errors import MachineError, dotted
from hosewright.machine.description import Description
from hosewright.machine.placement import Placement, place
from hosewright.machine.poses import Poses
from hosewright.machine.problems import find_problems


@dataclass(frozen=True)
class Machine(Description):
    """A machine whose parts fit together in the drawn pose.

    Raises
    ------
    MachineError
        Something does not fit; the error's ``problems`` hold all that was found, each with its place.
    """

    def __post_init__(self) -> None:
        problems = find_problems(self)
        if problems:
            raise MachineError("\n".join(f"{dotted(problem.path)}: {problem.text}" for problem in problems), problems)

    def place(self, poses: Poses) -> Placement:
        """Put the machine into all poses; see :func:`hosewright.machine.placement.place`."""
        return place(self, poses)
