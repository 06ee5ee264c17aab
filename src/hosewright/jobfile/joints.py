"""Joint values as people type them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from hosewright import units
from hosewright.errors import nearest
from hosewright.jobfile.models import JointValues
from hosewright.jobfile.problems import Collector
from hosewright.units import Kind

Path = tuple[str | int, ...]


@dataclass(frozen=True)
class Joints:
    """What can be moved by name.

    Attributes
    ----------
    kinds
        What the value of each joint measures; a cylinder's is its stroke.
    broken
        Names whose own table cannot be used; nothing is said about them twice.
    complete
        Whether all names are known; not so where the URDF file cannot be read.
    """

    kinds: Mapping[str, Kind]
    broken: frozenset[str] = frozenset()
    complete: bool = True

    def values(self, given: JointValues, found: Collector, path: Path) -> dict[str, float]:
        """Values in SI; bare numbers are degrees or mm as the joint turns or slides. Problems go to ``found``."""
        values = {}
        for joint, value in given.items():
            if joint in self.kinds:
                with found.at(*path, joint):
                    values[joint] = units.si(value, self.kinds[joint])
            elif complaint := self.complaint(joint):
                found.add_key((*path, joint), complaint)
        return values

    def complaint(self, joint: str) -> str:
        """Why a name is none of a joint; empty where it is one, or may be."""
        if joint in self.kinds or joint in self.broken or not self.complete:
            return ""
        return f"there is no joint or cylinder '{joint}'.{nearest(joint, self.kinds)}"
