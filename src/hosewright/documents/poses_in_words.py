"""Where in their range the joints stand, for somebody at the machine who has no readout of them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hosewright.checks.check import CheckResult
from hosewright.documents.assumptions import joint_ranges
from hosewright.documents.clocks import FORWARD, UP
from hosewright.documents.fitting_picture import LEFT
from hosewright.documents.joint_values import slides
from hosewright.errors import HosewrightError
from hosewright.machine import Cylinder, Machine, Placement, Turn, cycle
from hosewright.words import Figures, Texts, read, reading

Array = NDArray[np.float64]

Way = Literal["rise", "sink", "out", "round", "fore", "aft", "left", "right", "plain"]
"""What a joint does to its part as its value grows: lifts it, lowers it, lets a rod out, turns it against the clock as
seen from above, moves it along the machine, or nothing that a word says."""

STOPPED = 0.1
"""A joint that is nearer to an end of its range than this stands there. [degrees, mm]"""
UPWARDS = 0.5
"""A part rises or sinks where so much of its way from end to end is up or down."""
ALONG = 0.9
"""Cosine of the angle between two directions, above which one goes along the other."""
LEVEL_WAYS: tuple[tuple[Way, Array], ...] = (("fore", FORWARD), ("aft", -FORWARD), ("left", LEFT), ("right", -LEFT))
PARTS = {1 / 4: "quarter", 1 / 3: "third", 1 / 2: "half", 2 / 3: "two_thirds", 3 / 4: "three_quarters"}
LITTLE = 0.125
"""Below this part of its range a joint stands a little off its lowest."""


@dataclass(frozen=True, eq=False)
class PosesInWords:
    """Writes joint values of the contract with the places in their ranges, such as ``"boom fully down (-10°)"``."""

    result: CheckResult
    texts: Texts
    figures: Figures

    def __call__(self, pose: Mapping[str, float]) -> str:
        """All joints of a pose, in the units of the contract."""
        return "; ".join(self._joint(name, value) for name, value in pose.items())

    def _joint(self, name: str, value: float) -> str:
        kind = "length" if name in slides(self._machine) else "angle"
        shown = self.figures(value, reading(kind).unit)
        low, high = (read(end, kind) for end in self._ranges[name])
        if low is None or high is None or high - low <= 2.0 * STOPPED:
            return f"{name} {shown}"
        key, joint = self._known_way(name), self._called(name)
        part = (value - low) / (high - low)
        if value - low <= STOPPED:
            place = self.texts(f"poses.{key}_low", joint=joint)
        elif high - value <= STOPPED:
            place = self.texts(f"poses.{key}_high", joint=joint)
        else:
            travel = self.figures(round(value - low, reading(kind).decimals), reading(kind).unit)
            place = self.texts(f"poses.{key}_between", joint=joint, part=self._part(part), travel=travel)
        return f"{place} ({shown})"

    def _called(self, name: str) -> str:
        return self.texts("poses.cylinder", name=name) if name in self._cylinders else name

    def _part(self, part: float) -> str:
        if part < LITTLE or part > 1.0 - LITTLE:
            return self.texts("poses.little" if part < LITTLE else "poses.nearly")
        return self.texts(f"poses.{PARTS[min(PARTS, key=lambda known: abs(known - part))]}")

    @property
    def _machine(self) -> Machine:
        return self.result.job.machine

    @cached_property
    def _cylinders(self) -> Mapping[str, Cylinder]:
        return {cylinder.name: cylinder for cylinder in self._machine.cylinders}

    @cached_property
    def _ranges(self) -> dict[str, tuple[float, float]]:
        """Of the joints; of one without stops what the motion uses of it. [rad, m]"""
        poses, ranges = self.result.poses, {}
        for name, (low, high) in joint_ranges(self._machine).items():
            used = poses.of(name) if name in poses.joints else np.array([math.nan])
            ranges[name] = (
                low if math.isfinite(low) else float(used.min()),
                high if math.isfinite(high) else float(used.max()),
            )
        return ranges

    @cached_property
    def _ways(self) -> dict[str, Way]:
        return {}

    def _known_way(self, name: str) -> Way:
        if name not in self._ways:
            self._ways[name] = self._way(name)
        return self._ways[name]

    def _way(self, name: str) -> Way:
        if name in self._cylinders:
            return "out"
        moved = self._moved(name)
        if moved is not None and abs(moved[2]) >= UPWARDS * float(np.linalg.norm(moved)) > 0.0:
            return "rise" if moved[2] > 0.0 else "sink"
        joint = next(body.joint for body in self._machine.bodies if body.name == name)
        if isinstance(joint, Turn):
            return "round" if _cosine(joint.about, UP) > ALONG else "plain"
        along = np.zeros(3) if joint is None else joint.along
        return next((way for way, axis in LEVEL_WAYS if _cosine(along, axis) > ALONG), "plain")

    def _moved(self, name: str) -> Array | None:
        """Way of the middle of all that sits on a joint's part, from one end of its range to the other. [m]"""
        if not all(map(math.isfinite, self._ranges[name])):
            return None
        start = dict(zip(self.result.poses.joints, map(float, self.result.poses.values[0]), strict=True))
        ends = [start | {name: value} for value in self._ranges[name]]
        try:
            placement = self._machine.place(cycle(ends, 1))
        except HosewrightError:  # the other joints do not let it come so far
            return None
        points = _points_on(name, self._machine, placement)
        return None if points is None else points[-1] - points[0]


def _cosine(one: ArrayLike, other: Array) -> float:
    length = float(np.linalg.norm(one))
    return float(np.dot(one, other)) / length if length else 0.0


def _points_on(body: str, machine: Machine, placement: Placement) -> Array | None:
    # middle of the ports, mounts and obstacles on a part and on what it carries, pose by pose
    carried = {one.name for one in machine.bodies if body in machine.tree.chain(one.name)}
    points = [placement.port(port.name).origin for port in machine.ports if port.on in carried]
    points += [placement.mount(mount.name).origin for mount in machine.mounts if mount.on in carried]
    for part in (part for part in machine.obstacles if part.on in carried):
        points.append(placement.body(part.on).points(part.shape.bounds.mean(axis=0)[None])[:, 0])
    return np.mean(points, axis=0) if points else None
