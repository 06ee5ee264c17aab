"""Flow in a round bore: velocity, bore, Reynolds number, friction factor.

References
----------
Darcy-Weisbach with f = 64/Re (laminar) and Colebrook's equation (turbulent), as in any fluid mechanics handbook.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from fluids.friction import Clamond, friction_laminar

from hosewright.errors import ArgumentError
from hosewright.sources import Confidence, Source

DARCY = Source("Darcy-Weisbach", "f = 64/Re below Re 2000, Colebrook above 4000")
BLEND = Source("linear blend of the laminar and the turbulent branch", "Re 2000 to 4000", Confidence.OURS)

LAMINAR_LIMIT = 2000.0
"""Reynolds number under which flow in a bore is laminar."""

TURBULENT_LIMIT = 4000.0
"""Reynolds number above which it is turbulent; in between it may be either."""


class Regime(StrEnum):
    """How the fluid flows."""

    LAMINAR = "laminar"
    TRANSITION = "transition"
    TURBULENT = "turbulent"


def velocity(flow: float, bore: float) -> float:
    """Mean velocity of a flow [m3/s] in a bore [m]. [m/s]"""
    return flow / (math.pi / 4.0 * _positive(bore, "bore") ** 2)


def bore_for_velocity(flow: float, velocity: float) -> float:
    """Least bore that keeps a flow [m3/s] at or below a velocity [m/s]. [m]"""
    return math.sqrt(4.0 * flow / (math.pi * _positive(velocity, "velocity")))


def reynolds_number(velocity: float, bore: float, viscosity: float) -> float:
    """Reynolds number of a velocity [m/s] in a bore [m] at a kinematic viscosity [m2/s]."""
    return velocity * bore / _positive(viscosity, "viscosity")


def regime_of(reynolds: float) -> Regime:
    """Laminar under 2000, turbulent above 4000, in between the transition band."""
    if reynolds < LAMINAR_LIMIT:
        return Regime.LAMINAR
    return Regime.TURBULENT if reynolds > TURBULENT_LIMIT else Regime.TRANSITION


def turbulent_share(reynolds: float) -> float:
    """Weight of the turbulent branch: 0 under 2000, 1 above 4000, linear in between."""
    return min(1.0, max(0.0, (reynolds - LAMINAR_LIMIT) / (TURBULENT_LIMIT - LAMINAR_LIMIT)))


def blended(laminar: float, turbulent: float, reynolds: float) -> float:
    """Value between two branches by the turbulent share."""
    share = turbulent_share(reynolds)
    return (1.0 - share) * laminar + share * turbulent


@dataclass(frozen=True)
class Friction:
    """Darcy friction factor with both of its branches.

    Attributes
    ----------
    laminar, turbulent
        What either branch alone would give; between Re 2000 and 4000 the truth may be either.
    """

    reynolds: float
    laminar: float
    turbulent: float

    @property
    def regime(self) -> Regime:
        """How the fluid flows; callers report TRANSITION, where the factor is a blend."""
        return regime_of(self.reynolds)

    @property
    def factor(self) -> float:
        """Darcy friction factor to compute with."""
        return blended(self.laminar, self.turbulent, self.reynolds)


def friction(reynolds: float, relative_roughness: float = 0.0) -> Friction:
    """Darcy friction factor; a rubber or plastic hose counts as smooth (common practice).

    Parameters
    ----------
    reynolds
        Above zero.
    relative_roughness
        Roughness over bore.
    """
    _positive(reynolds, "Reynolds number")
    # Colebrook has no root at creeping flow, where the branch has no say anyway
    turbulent = float(Clamond(max(reynolds, 100.0), relative_roughness))
    return Friction(reynolds, float(friction_laminar(reynolds)), turbulent)


def _positive(value: float, name: str) -> float:
    if not 0.0 < value < math.inf:
        raise ArgumentError(f"{name} must be above zero and finite: got {value:.4g}")
    return value
