"""What is asked for: two ports and a duty, and whatever the user has fixed of the assembly."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from hosewright.assembly import Adapter, End, Hose
from hosewright.checks.run import Clamp, Run, Vector
from hosewright.duty import Duty


@dataclass(frozen=True)
class EndRequest:
    """One end of a hose to be chosen; ``None`` where the user leaves the choice open.

    Attributes
    ----------
    port
        Name of the port.
    connection
        Of the port itself, before any adapter.
    adapters
        From the port outwards, each with its clock angle; ``()`` where the user wants none. [rad]
    form
        Name of the end form.
    clock
        Clock angle of the end form. [rad]
    mates_as
        Connection of the hose's end.
    """

    port: str
    connection: str
    adapters: tuple[tuple[Adapter, float], ...] | None = None
    form: str | None = None
    clock: float | None = None
    mates_as: str | None = None

    def fixed(self, end: End) -> EndRequest:
        """The request that leaves only this end."""
        return replace(self, adapters=end.adapters, form=end.form.name, clock=end.clock, mates_as=end.form.connection)


@dataclass(frozen=True)
class Request:
    """A run to be planned; ``None`` where the user leaves the choice open. SI units.

    Attributes
    ----------
    overall_length
        [m]
    orientation_angle
        [rad]
    bow
        Side to which the fitter lays the hose, in the machine frame.
    fitting_pose
        Joint values in which the hose is put on.
    number
        Assembly number.
    """

    name: str
    a: EndRequest
    b: EndRequest
    duty: Duty
    hose: Hose | None = None
    overall_length: float | None = None
    orientation_angle: float | None = None
    clamps: tuple[Clamp, ...] | None = None
    sleeve: bool | None = None
    bow: Vector | None = None
    fitting_pose: Mapping[str, float] | None = None
    number: str | None = None

    def fixed(self, run: Run) -> Request:
        """The request that leaves only this run."""
        assembly = run.assembly
        return replace(
            self,
            a=self.a.fixed(assembly.a),
            b=self.b.fixed(assembly.b),
            hose=assembly.hose,
            overall_length=assembly.overall_length,
            orientation_angle=assembly.orientation_angle,
            clamps=run.clamps,
            sleeve=run.sleeve,
            bow=run.bow,
            fitting_pose=run.fitting_pose,
        )
