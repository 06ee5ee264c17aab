"""The nouns: hose, end form, adapter and the assembly made of them, with its three lengths.

Lengths are never mixed up. The *overall length* goes from measuring point to measuring point, the *cut length* is
the hose alone (overall length less both cut-offs), the *free length* is what can bend and change its length (cut
length less the hose held inside both ferrules).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np

from hosewright.errors import ArgumentError
from hosewright.geometry import Frames, cross
from hosewright.sources import Source

ORIENTATION_CONVENTION = (
    "hose laid straight, looking along it from the near end, clockwise from the near end's outlet to the far end's; "
    "the same number whichever end is near"
)


@dataclass(frozen=True)
class Hose:
    """One construction in one size. SI units, temperatures in kelvin; ``None`` where the data is missing.

    Attributes
    ----------
    outside_diameter
        The largest that the construction allows. [m]
    minimum_bend_radius
        To the inside of the bend. [m]
    longer, shorter
        Limits of the length change under pressure as positive fractions.
    mass_per_length
        Of the empty hose. [kg/m]
    bending_stiffness
        Nominal, of the whole section. [N m^2]
    lowest_pressure
        Gauge, negative for suction. [Pa]
    fluids
        Classes of ISO 6743-4 that the hose is meant for.
    sources
        Source of each figure by attribute name.
    price
        A shop's own, per metre, in its currency.
    """

    name: str
    construction: str
    dash_size: int
    inside_diameter: float
    outside_diameter: float | None
    minimum_bend_radius: float | None
    max_working_pressure: float | None
    lowest_temperature: float | None
    highest_temperature: float | None
    highest_temperature_water: float | None
    longer: float | None
    shorter: float | None
    mass_per_length: float | None
    bending_stiffness: float | None
    lowest_pressure: float | None = None
    liner: str | None = None
    cover: str | None = None
    fluids: tuple[str, ...] = ()
    sources: Mapping[str, Source] = field(default_factory=dict)
    price: float | None = None

    def filled_mass_per_length(self, density: float) -> float | None:
        """Mass of the hose with its oil. [kg/m]

        Parameters
        ----------
        density
            Of the fluid. [kg/m^3]
        """
        if self.mass_per_length is None:
            return None
        return self.mass_per_length + density * math.pi / 4.0 * self.inside_diameter**2


class Roll(StrEnum):
    """How an end may turn about its port's axis."""

    FIXED = "fixed"
    SWIVEL = "swivel"
    STEPPED = "stepped"


@dataclass(frozen=True)
class EndForm:
    """End fitting of one form, connection and size. SI units; ``None`` where the data is missing.

    Attributes
    ----------
    name
        Form alone, such as ``"straight"`` or ``"90 short"``.
    connection
        What it mates as, such as ``"face seal -8 female"``.
    exit_angle
        Between the port's axis and the hose axis. [rad]
    cutoff
        Measuring point to hose stop, along the hose axis. [m]
    insertion
        Hose held inside the ferrule. [m]
    drop
        Seat to hose axis, normal to it. [m]
    insert_bore
        Narrowest bore of the insert. [m]
    nut_width, hex_width
        Across flats of the nut and of the hose-side hex. [m]
    price
        A shop's own, ferrule included, in its currency.
    """

    name: str
    connection: str
    dash_size: int
    exit_angle: float
    cutoff: float
    insertion: float
    drop: float
    ferrule_diameter: float | None
    ferrule_length: float | None
    roll: Roll
    step: float | None = None
    max_working_pressure: float | None = None
    insert_bore: float | None = None
    nut_width: float | None = None
    hex_width: float | None = None
    source: Source | None = None
    price: float | None = None


@dataclass(frozen=True)
class Adapter:
    """A fitting between port and hose end: it moves the seat, adds a joint and a rating.

    Attributes
    ----------
    run
        Port seat to corner, along the port's axis. [m]
    leg
        Corner to the new seat. [m]
    angle
        Between the port's axis and the new seat's. [rad]
    live
        Whether it turns under pressure, so that a straight end behind it never twists the hose.
    price
        A shop's own, in its currency.
    """

    name: str
    port_side: str
    hose_side: str
    angle: float
    run: float
    leg: float
    body_diameter: float | None = None
    max_working_pressure: float | None = None
    bore: float | None = None
    source: Source | None = None
    price: float | None = None
    live: bool = False


@dataclass(frozen=True)
class End:
    """One end of an assembly as fitted: adapters from the port outwards, each with its clock angle, then the end form.

    A clock angle turns from the port's ``up``, clockwise for somebody who looks at the port from outside. [rad]
    """

    form: EndForm
    clock: float = 0.0
    adapters: tuple[tuple[Adapter, float], ...] = ()

    @property
    def rolls_freely(self) -> bool:
        """Whether the hose may turn about its own axis at this end, through a live swivel in line with it."""
        bent = self.form.exit_angle > 0.0
        for adapter, _ in reversed(self.adapters):
            if bent:
                return False
            if adapter.live:
                return adapter.angle == 0.0  # of a bent one nobody says which side turns
            bent = adapter.angle > 0.0
        return False

    def seat(self) -> Frames:
        """Frame of the seat that the end form meets, in the port's frame."""
        frame = Frames(np.zeros((1, 3)), np.eye(3)[None])
        for adapter, clock in self.adapters:
            frame = frame.place(_turned(clock, adapter.angle, adapter.run, adapter.leg))
        return frame

    def axis(self) -> np.ndarray:
        """Corners of the end's own axis from the port's seat to the ferrule tail, (k, 3) in the port's frame. [m]"""
        frame, corners = Frames(np.zeros((1, 3)), np.eye(3)[None]), [np.zeros(3)]
        for adapter, clock in self.adapters:
            corners.append(frame.origin[0] + adapter.run * frame.facing[0])
            frame = frame.place(_turned(clock, adapter.angle, adapter.run, adapter.leg))
            corners.append(frame.origin[0])
        tail = self.tail()
        held = self.form.cutoff + self.form.insertion
        return np.array([*corners, tail.origin[0] - held * tail.facing[0], tail.origin[0]])

    def tail(self) -> Frames:
        """Frame of the ferrule tail in the port's frame.

        ``facing`` is the way the hose leaves the ferrule; ``up`` points from the hose axis to the outlet of a bent end
        (along the clock's zero direction for a straight one), so that it turns with the fitting.
        """
        form = self.form
        sin, cos = math.sin(form.exit_angle), math.cos(form.exit_angle)
        zero = _clock_direction(self.clock)
        port = np.array([1.0, 0.0, 0.0])
        along = cos * port + sin * zero
        away = sin * port - cos * zero  # from the seat to the hose axis, normal to the axis
        origin = away * form.drop + along * (form.cutoff + form.insertion)
        axes = np.stack([along, -away, cross(along, -away)], axis=1)
        return self.seat().place(Frames(origin[None], axes[None]))


def orientation_angle(along: Sequence[float], outlet_a: Sequence[float], outlet_b: Sequence[float]) -> float:
    """Orientation angle of two bent ends on a hose laid straight, in ``[0, 2 pi)``; see ORIENTATION_CONVENTION. [rad]

    Parameters
    ----------
    along : (3,) float
        From end a to end b. Exchanging the ends (and so this direction) gives the same angle.
    outlet_a, outlet_b : (3,) float
        From the hose axis to the outlet of each end; only the parts normal to ``along`` count.
    """
    axis = np.asarray(along, dtype=float) / np.linalg.norm(along)
    near, far = (np.asarray(outlet) - np.dot(outlet, axis) * axis for outlet in (outlet_a, outlet_b))
    # a right-handed turn about the line of sight looks clockwise
    angle = math.atan2(float(axis @ np.cross(near, far)), float(near @ far)) % math.tau
    return 0.0 if angle == math.tau else angle  # a tiny negative angle rounds to a full turn


def _clock_direction(clock: float) -> np.ndarray:
    # local axes are facing (1,0,0), up (0,1,0), facing x up (0,0,1); the right hand of one who looks at the port is -z
    return np.array([0.0, math.cos(clock), -math.sin(clock)])


def _turned(clock: float, angle: float, run: float, leg: float) -> Frames:
    zero = _clock_direction(clock)
    port = np.array([1.0, 0.0, 0.0])
    facing = math.cos(angle) * port + math.sin(angle) * zero
    up = -math.sin(angle) * port + math.cos(angle) * zero
    axes = np.stack([facing, up, np.cross(facing, up)], axis=1)
    return Frames((run * port + leg * facing)[None], axes[None])


@dataclass(frozen=True)
class Assembly:
    """A hose with both its ends.

    Attributes
    ----------
    overall_length
        Measuring point to measuring point. [m]
    orientation_angle
        Between the outlets of two bent ends, in ``[0, 2 pi)``; see ORIENTATION_CONVENTION. ``None`` where an end is
        straight or the angle is left to be taken from the fitting pose. [rad]
    """

    hose: Hose
    a: End
    b: End
    overall_length: float
    orientation_angle: float | None = None

    def __post_init__(self) -> None:
        if not self.free_length > 0.0:
            need = self.overall_length - self.free_length
            raise ArgumentError(
                f"overall length {self.overall_length * 1e3:.0f} mm leaves no free hose: "
                f"the ends alone take {need * 1e3:.0f} mm"
            )

    @property
    def cut_length(self) -> float:
        """Length of the hose alone. [m]"""
        return self.overall_length - self.a.form.cutoff - self.b.form.cutoff

    @property
    def free_length(self) -> float:
        """Length between the ferrule tails. [m]"""
        return self.cut_length - self.a.form.insertion - self.b.form.insertion

    def with_free_length(self, free_length: float) -> Assembly:
        """The same assembly with another free length."""
        return Assembly(
            self.hose, self.a, self.b, self.overall_length - self.free_length + free_length, self.orientation_angle
        )
