"""Solved shapes: arrays inside, one shape at a time on request."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, overload

import numpy as np
from numpy.typing import NDArray

from hosewright.errors import ArgumentError

if TYPE_CHECKING:
    from hosewright.mechanics.walk import Track

Array = NDArray[np.float64]

WIDEST_TURN = 0.35
"""A node that turns more than this is under-resolved. [rad]"""
SOFT = 1e-3
"""Lowest stiffness, as a part of a clamped straight hose's, below which a shape is near a snap."""


@dataclass(frozen=True, eq=False)
class Shapes(Sequence["Shape"]):
    """Shapes of one span in m poses, in order.

    Attributes
    ----------
    position : (m, n + 1, 3) float
        Nodes, evenly spaced along the hose. [m]
    curvature : (m, n + 1) float
        From statics, at the nodes. [1/m]
    least_radius, least_radius_at : (m,) float
        Least radius of the centre line anywhere on the span, and its arc length from a. [m]
    twist : (m,) float
        Turn of b against a about the direction a to b, right-handed; counted on from pose to pose. [rad]
    energy : (m,) float
        Bending, twist, stretch and weight (heights counted absolutely). [J]
    force_a, moment_a, force_b, moment_b : (m, 3) float
        What the hose does to its supports; moments about each support's own point. [N], [N m]
    converged : (m,) bool
    status : tuple of str
        ``ok``, ``not converged``, ``stretched`` (longer than it is), ``under-resolved`` or ``near snap``.
    residual : (m,) float
        Largest force on a node that is left unbalanced. [N]
    iterations, factorisations : (m,) int
        Newton steps and factorisations spent on the pose.
    softness : (m,) float
        Lowest stiffness as a part of that of a clamped straight hose; zero where the hose may lie either way.
    jumped_at : (m,) float
        Where the shape snapped through: the part of the step from the pose before, 0 where it did not.
    error_estimate : (m,) float
        Of the positions, as a part of the length; worked out when asked for.
    """

    length: Array
    position: Array
    curvature: Array
    least_radius: Array
    least_radius_at: Array
    twist: Array
    energy: Array
    force_a: Array
    moment_a: Array
    force_b: Array
    moment_b: Array
    converged: NDArray[np.bool_]
    status: tuple[str, ...]
    residual: Array
    iterations: NDArray[np.int64]
    factorisations: NDArray[np.int64]
    softness: Array
    jumped_at: Array
    others: tuple[Array, ...] = ()
    _errors: Callable[[], Array] = field(repr=False, default=lambda: np.empty(0))

    @property
    def error_estimate(self) -> Array:
        """Three fifteenths of the change from half the elements, as a part of the length, (m,)."""
        return self._errors()

    @property
    def snaps(self) -> tuple[float, ...]:
        """Places on the path where the shape jumped, in poses: 12.25 is a quarter of the way from pose 12 to 13."""
        return tuple(float(k - 1 + self.jumped_at[k]) for k in np.flatnonzero(self.jumped_at > 0.0))

    def take(self, index: NDArray[np.int64]) -> Shapes:
        """Some of the poses, in the order asked."""
        rows: dict[str, Any] = {name: getattr(self, name)[index] for name in _ARRAYS}
        status = tuple(self.status[k] for k in index)
        return Shapes(**rows, status=status, others=self.others, _errors=lambda: self._errors()[index])

    @staticmethod
    def joined(parts: Sequence[Shapes]) -> Shapes:
        """Several walks one after the other; all of as many elements."""
        if len(parts) == 1:
            return parts[0]
        rows: dict[str, Any] = {name: np.concatenate([getattr(part, name) for part in parts]) for name in _ARRAYS}
        status = tuple(text for part in parts for text in part.status)
        return Shapes(**rows, status=status, _errors=lambda: np.concatenate([part._errors() for part in parts]))

    def __len__(self) -> int:
        return len(self.position)

    @overload
    def __getitem__(self, index: int) -> Shape: ...
    @overload
    def __getitem__(self, index: slice) -> Shapes: ...
    def __getitem__(self, index: int | slice) -> Shape | Shapes:
        if isinstance(index, slice):
            return self.take(np.arange(len(self))[index])
        return Shape(self, range(len(self))[index])

    def __iter__(self) -> Iterator[Shape]:
        return (self[k] for k in range(len(self)))


_ARRAYS = tuple(name for name in Shapes.__dataclass_fields__ if name not in ("status", "others", "_errors"))


@dataclass(frozen=True, eq=False)
class Shape:
    """One pose of some Shapes, with the same names for one pose's values; ``others`` are other stable shapes' nodes."""

    shapes: Shapes = field(repr=False)
    pose: int = 0

    @property
    def length(self) -> float:
        """Rest length. [m]"""
        return float(self.shapes.length[self.pose])

    @property
    def position(self) -> Array:
        """Nodes, (n + 1, 3). [m]"""
        return self.shapes.position[self.pose]

    @property
    def curvature(self) -> Array:
        """At the nodes, (n + 1,). [1/m]"""
        return self.shapes.curvature[self.pose]

    @property
    def least_radius(self) -> float:
        """Of the centre line. [m]"""
        return float(self.shapes.least_radius[self.pose])

    @property
    def least_radius_at(self) -> float:
        """Arc length from a. [m]"""
        return float(self.shapes.least_radius_at[self.pose])

    @property
    def twist(self) -> float:
        """Total, right-handed about the direction a to b. [rad]"""
        return float(self.shapes.twist[self.pose])

    @property
    def energy(self) -> float:
        """[J]."""
        return float(self.shapes.energy[self.pose])

    @property
    def force_a(self) -> Array:
        """On support a. [N]"""
        return self.shapes.force_a[self.pose]

    @property
    def moment_a(self) -> Array:
        """On support a. [N m]"""
        return self.shapes.moment_a[self.pose]

    @property
    def force_b(self) -> Array:
        """On support b. [N]"""
        return self.shapes.force_b[self.pose]

    @property
    def moment_b(self) -> Array:
        """On support b. [N m]"""
        return self.shapes.moment_b[self.pose]

    @property
    def converged(self) -> bool:
        """Whether Newton's method came to rest."""
        return bool(self.shapes.converged[self.pose])

    @property
    def status(self) -> str:
        """See Shapes."""
        return self.shapes.status[self.pose]

    @property
    def residual(self) -> float:
        """[N]."""
        return float(self.shapes.residual[self.pose])

    @property
    def iterations(self) -> int:
        """Newton steps."""
        return int(self.shapes.iterations[self.pose])

    @property
    def factorisations(self) -> int:
        """Factorisations of the Hessian."""
        return int(self.shapes.factorisations[self.pose])

    @property
    def softness(self) -> float:
        """See Shapes."""
        return float(self.shapes.softness[self.pose])

    @property
    def error_estimate(self) -> float:
        """Of the positions, as a part of the length."""
        return float(self.shapes.error_estimate[self.pose])

    @property
    def others(self) -> tuple[Array, ...]:
        """Nodes of other stable shapes that the starts found in the first pose, by rising energy."""
        return self.shapes.others

    def __str__(self) -> str:
        return (
            f"{self.status}: least radius {self.least_radius * 1e3:.1f} mm at {self.least_radius_at * 1e3:.0f} mm of "
            f"{self.length * 1e3:.0f} mm, twist {np.degrees(self.twist):.2f} deg, energy {self.energy:.4g} J"
        )


def from_track(
    track: Track,
    length: Array,
    distance: Array,
    stiffness: float,
    others: tuple[Array, ...],
    errors: Callable[[], Array],
) -> Shapes:
    """Results of a walk in SI units; ``distance`` (m,) is the straight distance between the ends."""
    columns = track.scalars.T
    energy, twist, peak, peak_at, residual, steps, factorisations, solved, softness, jumped, turn = columns
    converged = solved > 0.5
    loads = stiffness * track.loads
    return Shapes(
        length=length,
        position=track.position,
        curvature=track.curvature,
        least_radius=1.0 / np.maximum(peak, 1e-12),
        least_radius_at=peak_at,
        twist=twist,
        energy=stiffness * energy,
        force_a=loads[:, 0],
        moment_a=loads[:, 1],
        force_b=loads[:, 2],
        moment_b=loads[:, 3],
        converged=converged,
        status=_status(converged, distance > length, turn, softness, jumped),
        residual=stiffness * residual,
        iterations=steps.astype(int),
        factorisations=factorisations.astype(int),
        softness=softness,
        jumped_at=jumped,
        others=others,
        _errors=errors,
    )


Flags = NDArray[np.bool_]


def _status(converged: Flags, stretched: Flags, turn: Array, softness: Array, jumped: Array) -> tuple[str, ...]:
    near = (jumped > 0.0) | (softness < SOFT)
    cases = {
        "not converged": ~converged,
        "stretched": stretched,
        "under-resolved": turn > WIDEST_TURN,
        "near snap": near,
    }
    return tuple(next((name for name, case in cases.items() if case[k]), "ok") for k in range(len(converged)))


def check_start(start: Shape, elements: int) -> Array:
    """Nodes of a shape from which a walk may start."""
    if len(start.position) != elements + 1:
        raise ArgumentError(f"start has {len(start.position) - 1} elements; {elements} were asked for")
    return start.position.copy()
