"""What is checked: a machine with its motion, and the runs of hose on it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from hosewright.assembly import Assembly
from hosewright.catalog import TORSION_OVER_BENDING
from hosewright.checks.profile import Profile
from hosewright.duty import Duty
from hosewright.geometry import Frames
from hosewright.machine import Machine, Poses
from hosewright.words import Sentence

Vector = tuple[float, float, float]


class Hold(StrEnum):
    """What a clamp does to the hose."""

    FIXED = "fixed"  # grips: each side keeps its own length and its own twist


@dataclass(frozen=True)
class Clamp:
    """A clamp on one hose.

    Attributes
    ----------
    mount
        Name of the mount that it is bolted to.
    at
        From the ferrule tail of end a, on the nominal free length. [m]
    """

    mount: str
    at: float
    hold: Hold = Hold.FIXED


@dataclass(frozen=True)
class Run:
    """One line from port to port with its duty and its assembly.

    Attributes
    ----------
    bow
        Side to which the fitter lays the hose, in the machine frame; ``None``: as it falls.
    fitting_pose
        Joint values in which the hose is put on; ``None``: the first service pose, else the first pose of the motion.
    sleeve
        Whether a protective sleeve covers the hose.
    """

    name: str
    port_a: str
    port_b: str
    duty: Duty
    assembly: Assembly
    clamps: tuple[Clamp, ...] = ()
    sleeve: bool = False
    bow: Vector | None = None
    fitting_pose: Mapping[str, float] | None = None


@dataclass(frozen=True)
class JobWarning:
    """A doubt about a job as it was written.

    Attributes
    ----------
    said
        To be written in any language; ``str`` of the warning is English and metric.
    run
        That it is about; ``None`` where it is about the job as a whole.
    stops
        Whether the assembly of that run must not be built as it stands.
    """

    said: Sentence
    run: str | None = None
    stops: bool = False

    def __str__(self) -> str:
        return str(self.said)


@dataclass(frozen=True)
class Job:
    """A machine, its motion and its runs.

    Attributes
    ----------
    poses
        All paths of the motion, at first resolution; the checks refine them.
    service_poses
        Safe poses in which hoses are fitted.
    attitude
        Steepest slope that the machine works on. [rad]
    port_error
        Measuring error of the ports' positions. [m]
    port_angle_error
        Measuring error of the ports' directions. [rad]
    port_offsets
        Frames in which ports really lie, seen from where they were measured; those not named lie there.
    bending_factor
        Bending stiffness as a multiple of the nominal one.
    torsion_ratio
        Torsional over bending stiffness.
    stiff_axis
        Axial stiffness times length squared over bending stiffness: a numerical device that keeps the length. At 1e4 a
        solve takes half the time of 1e5. Hoses that are nearly taut are solved again with a stiffer one.
    elements
        Of each span.
    """

    title: str
    machine: Machine
    poses: Poses
    runs: tuple[Run, ...]
    service_poses: tuple[Mapping[str, float], ...] = ()
    attitude: float = 0.0
    port_error: float = 0.005
    port_angle_error: float = math.radians(2.0)
    profile: Profile = field(default_factory=Profile.standard)
    warnings: tuple[JobWarning, ...] = ()
    port_offsets: Mapping[str, Frames] = field(default_factory=dict)
    bending_factor: float = 1.0
    torsion_ratio: float = TORSION_OVER_BENDING
    stiff_axis: float = 1e5
    elements: int = 48
