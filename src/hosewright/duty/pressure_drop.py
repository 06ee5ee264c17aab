"""Pressure drop of an assembly: friction, bends and changes of bore, through both ends, in a breakdown.

Turbulent loss coefficients are the handbook's. In laminar flow losses rise as the 2-K method says. Between Re 2000 and
4000 both branches are kept and blended, as for the friction factor.

References
----------
Hooper, W. B., The 2-K Method Predicts Head Losses in Pipe Fittings, Chemical Engineering, August 24, 1981
Hooper, W. B., Calculate Head Loss Caused by Change in Pipe Size, Chemical Engineering, November 7, 1988
Rennels, D. C., Hudson, H. M., Pipe Flow: A Practical and Comprehensive Guide, 2012, sudden contraction and expansion
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from fluids.fittings import Hooper2K, contraction_sharp, diffuser_sharp

from hosewright.assembly import Adapter, Assembly, End
from hosewright.duty.conditions import FluidState
from hosewright.duty.flow import LAMINAR_LIMIT, Regime, blended, friction, regime_of, reynolds_number, velocity
from hosewright.sources import Confidence, Source
from hosewright.words import Name, Sentence, Value

HOOPER_1981 = Source("Hooper, The 2-K Method, Chemical Engineering, August 24, 1981")
CHANGE_OF_BORE = Source(
    "Rennels and Hudson, Pipe Flow, 2012 (turbulent); Hooper, Chemical Engineering, November 7, 1988 (laminar)"
)
SMOOTH_BEND = Source("hydraulics handbooks", "smooth 90 degree bend, K 0.15 to 0.30, upper end", Confidence.PRACTICE)

_INCH = 0.0254
_RIGHT_ANGLE = math.pi / 2.0
_CREEPING = 1e-9  # Reynolds number that stands for no flow: finite coefficients, and the velocity makes the drop zero
_CONTRACTION_LAMINAR_END = 2500.0  # Hooper 1988 changes its equation there
_LAMINAR_BEND = 800.0  # K Re of a 90 degree elbow in Hooper 1981
_SMOOTH_BEND_TURBULENT = 0.30


class Turn(StrEnum):
    """How a passage turns the flow."""

    BENT_TUBE = "bent tube"
    ELBOW = "elbow"
    HOSE = "hose bend"


_HOOPER_NAMES = {
    Turn.BENT_TUBE: ("Elbow, 45°, Long-radius (R/D 1.5), All types", "Elbow, 90°, Long-radius (R/D = 1.5), All types"),
    Turn.ELBOW: ("Elbow, 45°, Standard (R/D = 1), All types", "Elbow, 90°, Standard (R/D = 1), Screwed"),
}


@dataclass(frozen=True)
class Passage:
    """A stretch of one bore.

    Attributes
    ----------
    bore
        ``None`` where the data sheet does not give it. [m]
    length
        Along the flow. [m]
    angle
        By which it turns the flow. [rad]
    said
        Its name, as a language has words for it.
    """

    place: str
    name: str
    bore: float | None
    length: float
    angle: float = 0.0
    turn: Turn = Turn.BENT_TUBE
    said: Value = ""


@dataclass(frozen=True)
class Loss:
    """Share of one passage or change of bore in the pressure drop; ``None`` where a bore or the fluid is unknown.

    Attributes
    ----------
    velocity, reynolds
        In the bore that the coefficients refer to, the narrower one at a change of bore. [m/s]
    laminar, turbulent
        Loss coefficient of either branch: K, or f L/d of friction.
    dynamic_pressure
        [Pa]
    """

    place: str
    name: str
    bore: float | None
    velocity: float | None
    reynolds: float | None
    laminar: float | None
    turbulent: float | None
    dynamic_pressure: float | None
    source: Source | None = None

    @property
    def regime(self) -> Regime | None:
        """How the fluid flows there."""
        return None if self.reynolds is None else regime_of(self.reynolds)

    @property
    def coefficient(self) -> float | None:
        """Loss coefficient to compute with, a blend in the transition band."""
        if self.laminar is None or self.turbulent is None or self.reynolds is None:
            return None
        return blended(self.laminar, self.turbulent, self.reynolds)

    @property
    def drop(self) -> float | None:
        """Pressure drop. [Pa]"""
        return _times(self.coefficient, self.dynamic_pressure)

    @property
    def highest_drop(self) -> float | None:
        """Pressure drop, with the worse branch in the transition band. [Pa]"""
        if self.regime is not Regime.TRANSITION or self.laminar is None or self.turbulent is None:
            return self.drop
        return _times(max(self.laminar, self.turbulent), self.dynamic_pressure)


@dataclass(frozen=True)
class PressureDrop:
    """Pressure drop of a line, part by part in the order of the flow."""

    losses: tuple[Loss, ...]

    @property
    def total(self) -> float | None:
        """Sum of all parts; ``None`` where one of them is unknown. [Pa]"""
        return _sum([loss.drop for loss in self.losses])

    @property
    def highest(self) -> float | None:
        """Sum of all parts with the worse branch in the transition band. [Pa]"""
        return _sum([loss.highest_drop for loss in self.losses])

    @property
    def known(self) -> float:
        """Sum of the parts that are known, a lower bound. [Pa]"""
        return sum(loss.drop for loss in self.losses if loss.drop is not None)

    @property
    def unknown(self) -> tuple[Loss, ...]:
        """Parts that could not be computed."""
        return tuple(loss for loss in self.losses if loss.drop is None)

    @property
    def in_transition(self) -> bool:
        """Whether a part flows between Re 2000 and 4000, where ``total`` is uncertain up to ``highest``."""
        return any(loss.regime is Regime.TRANSITION for loss in self.losses)

    def at(self, place: str) -> PressureDrop:
        """The parts at one place alone."""
        return PressureDrop(tuple(loss for loss in self.losses if loss.place == place))


def assembly_pressure_drop(
    assembly: Assembly, flow: float, state: FluidState | None, hose_turn: float = 0.0
) -> PressureDrop:
    """Pressure drop of an assembly with its adapters, flow from a to b.

    Call it at the working temperature and again at the coldest start.

    Parameters
    ----------
    assembly
        With the insert bores of its ends.
    flow
        [m3/s]
    state
        The fluid at its temperature; ``None`` leaves every part unknown.
    hose_turn
        By which the hose itself is bent in all. [rad]
    """
    return pressure_drop(passages(assembly, hose_turn), flow, state)


def passages(assembly: Assembly, hose_turn: float = 0.0) -> tuple[Passage, ...]:
    """The bores from port to port.

    The ports are taken to have the bore of the hose. An insert's bore is taken from its seat to the end of the insert.
    """
    bore = assembly.hose.inside_diameter
    return (
        Passage("end a", "port", bore, 0.0, said=Name("port")),
        *_end_passages("end a", assembly.a),
        Passage("hose", "hose", bore, assembly.free_length, hose_turn, Turn.HOSE, Name("hose")),
        *reversed(_end_passages("end b", assembly.b)),
        Passage("end b", "port", bore, 0.0, said=Name("port")),
    )


def _end_passages(place: str, end: End) -> tuple[Passage, ...]:
    form = end.form
    length = form.cutoff + form.insertion + abs(form.drop)
    said = Sentence.of("names.end_form", form=Name(form.name))
    insert = Passage(place, f"{form.name} end", form.insert_bore, length, form.exit_angle, said=said)
    return (*(_adapter_passage(place, adapter) for adapter, _ in end.adapters), insert)


def _adapter_passage(place: str, adapter: Adapter) -> Passage:
    length = adapter.run + adapter.leg
    said = Sentence.of("names.adapter_part", name=Name(adapter.name))
    return Passage(place, f"adapter {adapter.name}", adapter.bore, length, adapter.angle, Turn.ELBOW, said)


def pressure_drop(line: Sequence[Passage], flow: float, state: FluidState | None) -> PressureDrop:
    """Pressure drop of passages in the order of the flow [m3/s], changes of bore between them included."""
    losses: list[Loss] = []
    for index, passage in enumerate(line):
        if index > 0:
            losses.extend(_change_loss(line[index - 1], passage, flow, state))
        if passage.length > 0.0:
            losses.append(_friction_loss(passage, flow, state))
        if passage.angle > 0.0:
            losses.append(_bend_loss(passage, flow, state))
    return PressureDrop(tuple(losses))


def _friction_loss(passage: Passage, flow: float, state: FluidState | None) -> Loss:
    name = f"{passage.name}, friction"
    if passage.bore is None or state is None:
        return _unknown(passage.place, name, passage.bore)
    factor = friction(_reynolds(flow, passage.bore, state))
    slenderness = passage.length / passage.bore
    return _loss(passage.place, name, passage.bore, flow, state, factor.laminar * slenderness,
                 factor.turbulent * slenderness)  # fmt: skip


def _bend_loss(passage: Passage, flow: float, state: FluidState | None) -> Loss:
    name = f"{passage.name}, bend of {math.degrees(passage.angle):.0f} degrees"
    if passage.bore is None or state is None:
        return _unknown(passage.place, name, passage.bore)
    reynolds = _reynolds(flow, passage.bore, state)
    if passage.turn is Turn.HOSE:
        right_angles = passage.angle / _RIGHT_ANGLE
        laminar, turbulent = _LAMINAR_BEND / reynolds * right_angles, _SMOOTH_BEND_TURBULENT * right_angles
        return _loss(passage.place, name, passage.bore, flow, state, laminar, turbulent, SMOOTH_BEND)
    coefficient = bend_coefficient(passage.turn, passage.angle, passage.bore, reynolds)
    return _loss(passage.place, name, passage.bore, flow, state, coefficient, coefficient, HOOPER_1981)


def bend_coefficient(turn: Turn, angle: float, bore: float, reynolds: float) -> float:
    """Loss coefficient K of a bent tube or an elbow by the 2-K method, valid in laminar and in turbulent flow.

    Between 0, 45 and 90 degrees by straight lines; beyond 90 degrees in proportion, the safe side.
    """
    half, right = (float(Hooper2K(bore / _INCH, reynolds, name)) for name in _HOOPER_NAMES[turn])
    share = angle / _RIGHT_ANGLE
    if share >= 1.0:
        return right * share
    return 2.0 * share * half if share <= 0.5 else half + (2.0 * share - 1.0) * (right - half)


def _change_loss(before: Passage, after: Passage, flow: float, state: FluidState | None) -> list[Loss]:
    place = before.place if after.place == "hose" else after.place
    name = f"{before.name} to {after.name}"
    if before.bore is None or after.bore is None or state is None:
        return [_unknown(place, f"{name}, change of bore", None)]
    if before.bore == after.bore:
        return []
    narrow = min(before.bore, after.bore)
    reynolds = _reynolds(flow, narrow, state)
    if after.bore > before.bore:
        laminar, turbulent = expansion_coefficients(before.bore, after.bore)
        return [_loss(place, f"{name}, expansion", narrow, flow, state, laminar, turbulent, CHANGE_OF_BORE)]
    laminar, turbulent = contraction_coefficients(before.bore, after.bore, reynolds)
    return [_loss(place, f"{name}, contraction", narrow, flow, state, laminar, turbulent, CHANGE_OF_BORE)]


def expansion_coefficients(narrow: float, wide: float) -> tuple[float, float]:
    """Laminar and turbulent K of a sudden expansion, on the velocity in the narrow bore.

    The turbulent one is ``(1 - A1/A2)^2``; the laminar one Hooper's of 1988.
    """
    laminar = diffuser_sharp(narrow, wide, Re=LAMINAR_LIMIT, method="Hooper")  # the same at any laminar Re
    return float(laminar), float(diffuser_sharp(narrow, wide))


def contraction_coefficients(wide: float, narrow: float, reynolds: float) -> tuple[float, float]:
    """Laminar and turbulent K of a sharp-edged contraction, on the velocity and Reynolds number in the narrow bore.

    The turbulent one is Rennels', some 0.5 for a small bore; the laminar one Hooper's of 1988.
    """
    upstream = min(reynolds * narrow / wide, _CONTRACTION_LAMINAR_END)
    laminar = contraction_sharp(wide, narrow, Re=upstream, method="Hooper")
    return float(laminar), float(contraction_sharp(wide, narrow))


def _reynolds(flow: float, bore: float, state: FluidState) -> float:
    return max(reynolds_number(velocity(flow, bore), bore, state.viscosity), _CREEPING)


def _loss(
    place: str, name: str, bore: float, flow: float, state: FluidState, laminar: float, turbulent: float,
    source: Source | None = None,
) -> Loss:  # fmt: skip
    speed = velocity(flow, bore)
    return Loss(
        place,
        name,
        bore,
        speed,
        _reynolds(flow, bore, state),
        laminar,
        turbulent,
        state.density * speed**2 / 2.0,
        source,
    )


def _unknown(place: str, name: str, bore: float | None) -> Loss:
    return Loss(place, name, bore, None, None, None, None, None)


def _times(coefficient: float | None, pressure: float | None) -> float | None:
    return None if coefficient is None or pressure is None else coefficient * pressure


def _sum(drops: Sequence[float | None]) -> float | None:
    known = [drop for drop in drops if drop is not None]
    return sum(known) if len(known) == len(drops) else None
