"""From the motions of a job file to poses."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from hosewright.errors import ArgumentError, HosewrightError
from hosewright.jobfile.files import Folder
from hosewright.jobfile.models import JointValues, MotionTable
from hosewright.jobfile.parts import Parts
from hosewright.jobfile.problems import Collector
from hosewright.jobfile.salvage import Salvage
from hosewright.machine import Machine, Poses, cycle, joined, lattice, measured, separate
from hosewright.machine.poses import MOST_POSES

Path = tuple[str | int, ...]

STEPS = 20
"""Poses from each waypoint to the next where the file says nothing."""

VALUES = 7
"""Values of each free joint where the file says nothing."""

SAME = 1e-6
"""A joint that differs less than this from its drawn value stands still. [rad, m]"""


@dataclass(frozen=True)
class Motion:
    """One motion with its place in the file."""

    path: Path
    poses: Poses


def read_motions(
    job: Salvage, parts: Parts, held: Mapping[str, float], folder: Folder, found: Collector
) -> list[Motion]:
    """Poses of each motion that can be used."""
    reader = _MotionReader(parts, held, folder, found)
    motions: list[Motion] = []
    for index, table in job.each("motion"):
        key = next(key for key in ("cycle", "free", "measured") if getattr(table, key) is not None)
        path = ("motion", index, key)
        with found.at(*path):
            poses = reader.read(table, path)
            if poses is not None:
                _refuse_too_many(sum(len(motion.poses) for motion in motions) + len(poses))
                motions.append(Motion(path, poses))
    return motions


def _refuse_too_many(count: int) -> None:
    if count > MOST_POSES:
        raise ArgumentError(f"the motions have {count:,} poses so far; at most {MOST_POSES:,} can be solved")


@dataclass(frozen=True)
class _MotionReader:
    parts: Parts
    held: Mapping[str, float]
    folder: Folder
    found: Collector

    def read(self, table: MotionTable, path: Path) -> Poses | None:
        """Poses of a motion; ``None`` where a name or value in it, or the joint of one, cannot be used."""
        if table.cycle is not None:
            return self._cycle(table.cycle, table.steps or STEPS, path)
        if table.free is not None:
            return self._lattice(table.free, table.steps or VALUES, path)
        assert table.measured is not None  # a table has exactly one kind of motion
        poses = measured(self.folder.text(table.measured), table.measured)
        return poses if self._known(poses.joints, [path] * len(poses.joints)) else None

    def _cycle(self, given: list[JointValues], steps: int, path: Path) -> Poses | None:
        _refuse_too_many(len(given) * steps)
        joints = self.parts.joints
        waypoints = [joints.values(one, self.found, (*path, number)) for number, one in enumerate(given)]
        whole = all(len(waypoint) == len(one) for waypoint, one in zip(waypoints, given, strict=True))
        return cycle(waypoints, steps, self.held) if whole else None

    def _lattice(self, names: list[str], steps: int, path: Path) -> Poses | None:
        if not self._known(names, [(*path, number) for number in range(len(names))]):
            return None
        return lattice({joint: _range(self.parts, joint) for joint in names}, steps)

    def _known(self, names: Sequence[str], paths: Sequence[Path]) -> bool:
        for name, path in zip(names, paths, strict=True):
            if complaint := self.parts.joints.complaint(name):
                self.found.add(path, complaint)
        return all(name in self.parts.joints.kinds for name in names)


def _range(parts: Parts, joint: str) -> tuple[float, float]:
    for body in parts.bodies:
        if body.name == joint and body.joint is not None:
            return body.joint.lowest, body.joint.highest
    cylinder = next(one for one in parts.cylinders if one.name == joint)
    return 0.0, cylinder.open - cylinder.closed


def whole_motion(machine: Machine, motions: list[Motion], held: Mapping[str, float], found: Collector) -> Poses:
    """All motions as one; each is tried on the machine first."""
    good = [motion for motion in motions if _reaches(machine, motion, found)]
    if not good:
        return Poses((), np.zeros((1, 0)), np.zeros(1, dtype=np.int64), np.zeros(1))
    joints = dict.fromkeys(joint for motion in good for joint in motion.poses.joints)
    for motion in good:
        _same_drive(machine, motion, [joint for joint in joints if joint not in motion.poses.joints], held, found)
    with found.at("motion"):
        return joined([motion.poses for motion in good], held)
    return good[0].poses


def _reaches(machine: Machine, motion: Motion, found: Collector) -> bool:
    try:
        machine.place(motion.poses)
    except HosewrightError as error:
        for line in str(error).splitlines():
            found.add(motion.path, line)
        return False
    return True


def _same_drive(
    machine: Machine, motion: Motion, others: list[str], held: Mapping[str, float], found: Collector
) -> None:
    """Refuse a motion that moves through other joints what another motion drives by name."""
    values = machine.place(motion.poses).values if others else {}
    for joint in others:
        if np.abs(values[joint] - held[joint]).max() > SAME:
            found.add(
                motion.path,
                f"moves '{joint}' by way of {', '.join(motion.poses.joints)}, while another motion drives '{joint}' "
                "itself: name the same joints in all motions",
            )


def service_poses(
    job: Salvage, machine: Machine | None, parts: Parts, held: Mapping[str, float], found: Collector
) -> tuple[dict[str, float], ...]:
    """The safe poses."""
    given = job.tables.service.poses if job.tables.service else []
    poses = [parts.joints.values(one, found, ("service", "poses", number)) for number, one in enumerate(given)]
    for number, pose in enumerate(poses):
        try_pose(machine, pose, held, found, ("service", "poses", number))
    return tuple(poses)


def try_pose(
    machine: Machine | None,
    pose: Mapping[str, float],
    held: Mapping[str, float],
    found: Collector,
    path: Path,
) -> None:
    """Note why the machine cannot take a pose."""
    if machine is not None and pose:
        with found.at(*path):
            machine.place(separate([pose], held))
