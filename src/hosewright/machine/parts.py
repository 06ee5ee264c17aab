"""What a machine is made of.

All points and directions are given in one machine frame, as measured in the drawn pose. A body's frame lies on the
machine frame in that pose, so that a point fixed to a body keeps its drawn coordinates in the body's frame.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from hosewright.geometry import Shape

Point = tuple[float, float, float]

GROUND = "chassis"
"""The body that everything else is on."""


@dataclass(frozen=True)
class Turn:
    """A turning joint, right-handed about ``about`` through ``at``; values in radians."""

    at: Point
    about: Point
    lowest: float = -math.inf
    highest: float = math.inf


@dataclass(frozen=True)
class Slide:
    """A sliding joint along ``along``; values in metres."""

    along: Point
    lowest: float = -math.inf
    highest: float = math.inf


@dataclass(frozen=True)
class Body:
    """A rigid part on another one; without a joint it is fixed there. The joint goes by the body's name."""

    name: str
    on: str = GROUND
    joint: Turn | Slide | None = None


@dataclass(frozen=True)
class Eye:
    """Where one end of a cylinder is pinned.

    Attributes
    ----------
    pin
        Direction of the pin; it keeps the barrel or rod from rolling. ``None``: as the other eye's, else y, or x where
        the cylinder lies along y.
    """

    on: str
    at: Point
    pin: Point | None = None


@dataclass(frozen=True)
class Cylinder:
    """A hydraulic cylinder pinned at both ends; it gives the bodies ``<name>.barrel`` and ``<name>.rod``.

    Named in a set of poses, its value is the stroke, 0 when closed, and the joints between its eyes follow.

    Attributes
    ----------
    closed, open
        Eye to eye. [m]
    bore, rod_diameter
        [m]
    """

    name: str
    base: Eye
    rod: Eye
    closed: float
    open: float
    bore: float | None = None
    rod_diameter: float | None = None

    @property
    def bodies(self) -> tuple[str, str]:
        """Names of barrel and rod as bodies."""
        return f"{self.name}.barrel", f"{self.name}.rod"


@dataclass(frozen=True)
class Pin:
    """An extra pin that closes a linkage: both bodies keep the point ``at`` in common.

    Attributes
    ----------
    about
        Direction of the pin, which both bodies keep in common too; ``None`` for a ball joint.
    """

    name: str
    bodies: tuple[str, str]
    at: Point
    about: Point | None = None


@dataclass(frozen=True)
class Port:
    """A connection on a body.

    Attributes
    ----------
    at
        Seat of the connection. [m]
    facing
        Out of the port.
    up
        Zero of the clock angles of elbows; ``None``: z, or x where the port faces along z.
    connection
        What it mates as, such as ``"face seal -8 male"``.
    """

    name: str
    on: str
    at: Point
    facing: Point
    up: Point | None = None
    connection: str = ""


@dataclass(frozen=True)
class Mount:
    """A place where a clamp may be bolted.

    Attributes
    ----------
    at
        On the bolting face. [m]
    along
        The way the hose runs through the clamp.
    stand_off
        Bolting face to hose axis. [m]
    up
        Out of the bolting face; ``None``: z, or x where the hose runs along z.
    """

    name: str
    on: str
    at: Point
    along: Point
    stand_off: float = 0.0
    up: Point | None = None


@dataclass(frozen=True)
class Operator:
    """A place where people stand."""

    name: str
    on: str
    at: Point


class Surface(StrEnum):
    """What an obstacle does to a hose that comes close."""

    PLAIN = "plain"
    SHARP = "sharp"
    HOT = "hot"


@dataclass(frozen=True)
class Obstacle:
    """Something that a hose must keep away from; ``removable`` ones are out of the way when hoses are fitted."""

    name: str
    on: str
    shape: Shape
    surface: Surface = Surface.PLAIN
    removable: bool = False
