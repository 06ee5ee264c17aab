"""The machine: its parts, checked, and put into poses."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

from hosewright.errors import MachineError, dotted
from hosewright.machine.description import Description
from hosewright.machine.parts import Port
from hosewright.machine.placement import Placement, place
from hosewright.machine.poses import Poses
from hosewright.machine.problems import find_problems

KEPT_PLACEMENTS = 32


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
        """Put the machine into all poses; see :func:`hosewright.machine.placement.place`.

        The last few placements are kept: all hoses of a machine go through the same poses.
        """
        key = (poses.joints, poses.values.tobytes(), poses.path.tobytes(), poses.at.tobytes())
        kept = self._placements
        if key not in kept:
            if len(kept) >= KEPT_PLACEMENTS:
                kept.pop(next(iter(kept)), None)
            kept[key] = place(self, poses)
        return kept[key]

    def with_port(self, port: Port) -> Machine:
        """The same machine with another port of that name; placements are kept, since ports move nothing."""
        changed = replace(self, ports=tuple(port if one.name == port.name else one for one in self.ports))
        for key, placement in dict(self._placements).items():  # another thread may add to them
            changed._placements[key] = replace(placement, machine=changed)
        return changed

    @cached_property
    def _placements(self) -> dict[tuple[object, ...], Placement]:
        return {}
