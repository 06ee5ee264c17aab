"""How a hose goes onto its machine: what the fitter does, step by step."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from hosewright.assembly import Roll
from hosewright.checks import plane
from hosewright.checks.check import RunResult
from hosewright.documents.assembly_data import is_invented
from hosewright.documents.bundle import Bundle
from hosewright.documents.clamps_in_words import ClampsInWords
from hosewright.documents.clocks import ClockView, clock_in_words
from hosewright.documents.poses_in_words import PosesInWords

FLANGE = " head"
"""How the connection of an end that is screwed on by a flange ends."""

RunData = Mapping[str, Any]
EndData = Mapping[str, Any]


def torque_in_words(part: Mapping[str, Any], bundle: Bundle) -> str | None:
    """Torque of an end's or an adapter's connection; ``None`` where its maker has to be asked.

    The screws of flanges are one of those cases: their figures are doubtful.
    """
    low, high = part["torque_low_nm"], part["torque_high_nm"]
    connection = part["connection"] if "connection" in part else part["port_side"]
    if low is None or high is None or connection.endswith(FLANGE):
        return None
    return bundle.figures(low, "Nm") if low == high else bundle.figures.span(low, high, "Nm")


def invented_ends(bundle: Bundle) -> list[str]:
    """The warning that ends of a job are examples, where any is."""
    ends = (end for run in bundle.data["runs"] for end in run["assembly"]["ends"])
    return [bundle.texts("common.invented_ends")] if any(map(is_invented, ends)) else []


def cannot_turn(end: EndData, run: RunResult) -> bool:
    """Whether an end has neither a nut nor a flange: it goes on with its whole hose."""
    assembly = run.run.assembly
    form = (assembly.a if end["name"] == "a" else assembly.b).form
    return form.roll is Roll.FIXED and not form.connection.endswith(FLANGE)


def moves(run: RunData) -> bool:
    """Whether the ends of a hose move against each other."""
    return any(finding["rule"] == plane.RULE for finding in run["findings"])


@dataclass(frozen=True, eq=False)
class FittingSteps:
    """Steps of one hose, in their order.

    Attributes
    ----------
    run
        Of the contract.
    solved
        The same as it was checked.
    clocks
        Its bent parts as a fitter sees them.
    """

    bundle: Bundle
    run: RunData
    solved: RunResult
    clocks: Sequence[ClockView]
    poses: PosesInWords

    def lines(self) -> list[str]:
        """One sentence or a few for each step."""
        return [
            self._pose(),
            *(line for end in self._ends for line in self._adapters(end)),
            self._lay(),
            *(self._fixed(end) for end in self._ends if self._cannot_turn(end)),
            *self._by_hand(),
            *(self._tighten(end) for end in self._ends if not self._cannot_turn(end)),
            *self._sleeve(),
            *self._clamps(),
            self._word("step_bleed"),
            self._word("step_motion" if moves(self.run) else "step_motion_still"),
            self._word("step_recheck_clamps" if self.run["assembly"]["clamps"] else "step_recheck"),
        ]

    def _word(self, key: str, **values: object) -> str:
        return self.bundle.texts(f"installation.{key}", **values)

    @property
    def _ends(self) -> list[EndData]:
        return list(self.run["assembly"]["ends"])

    def _cannot_turn(self, end: EndData) -> bool:
        return cannot_turn(end, self.solved)

    def _pose(self) -> str:
        pose = self.run["assembly"]["fitting_pose"]
        return self._word("step_pose", pose=self.poses(pose)) if pose else self._word("step_pose_still")

    def _adapters(self, end: EndData) -> Iterator[str]:
        met = self._word("met_port", port=end["port"])
        for number, adapter in enumerate(end["adapters"]):
            parts = [self._adapter(end, adapter, met)]
            clock = self._clock(end, number)
            if clock is not None:
                parts.append(self._word("adapter_clock", clock=clock))
            if adapter["live"]:
                parts.append(self._word("adapter_live"))
            yield " ".join(parts)
            met = self._word("met_adapter", name=self.bundle.texts.name(adapter["name"]))

    def _adapter(self, end: EndData, adapter: Mapping[str, Any], met: str) -> str:
        return self._word(
            "step_adapter",
            name=end["name"],
            adapter=self.bundle.texts.name(adapter["name"]),
            side=self.bundle.texts.name(adapter["port_side"], "connections"),
            met=met,
            torque=torque_in_words(adapter, self.bundle) or self._word("torque_of_maker"),
        )

    def _clock(self, end: EndData, adapter: int | None) -> str | None:
        for view in self.clocks:
            if (view.end, view.adapter) == (end["name"], adapter):
                return clock_in_words(view, self.bundle.texts, self.bundle.figures)
        return None

    def _sleeve(self) -> Iterator[str]:
        assembly = self.run["assembly"]
        if assembly["sleeve"]:
            yield self._word("step_sleeve", length=self.bundle.figures(assembly["sleeve_length_mm"], "mm"))

    def _lay(self) -> str:
        bow = self.solved.run.bow is not None
        return " ".join([self._word("step_lay"), *([self._word("step_bow")] if bow else [])])

    def _by_hand(self) -> Iterator[str]:
        if not all(map(self._cannot_turn, self._ends)):
            yield self._word("step_hand")

    def _fixed(self, end: EndData) -> str:
        torque = torque_in_words(end, self.bundle) or self._word("torque_of_maker")
        step = self._word("step_fixed", name=end["name"], hex=self._width(end["hex_width_mm"]), torque=torque)
        return self._of_example(step, end)

    def _tighten(self, end: EndData) -> str:
        clock = self._clock(end, None)
        turned = [] if clock is None else [self._word("end_clock", clock=clock)]
        return " ".join([self._word("at_head", name=end["name"]), *turned, self._tightened(end)])

    def _tightened(self, end: EndData) -> str:
        if end["connection"].endswith(FLANGE):
            return self._word("step_flange")
        step = self._word(
            "step_tighten",
            hold=self._hold(end),
            nut=self._width(end["nut_width_mm"]),
            torque=torque_in_words(end, self.bundle) or self._word("torque_of_maker"),
        )
        return self._of_example(step, end)

    def _of_example(self, step: str, end: EndData) -> str:
        return f"{step} {self._word('invented_widths')}" if is_invented(end) else step

    def _hold(self, end: EndData) -> str:
        hexagon = self._width(end["hex_width_mm"])
        if not end["adapters"]:
            return self._word("hold_hex", hex=hexagon)
        live = end["adapters"][-1]["live"]
        return self._word("hold_live" if live else "hold_adapter", hex=hexagon)

    def _width(self, width: float | None) -> str:
        return self._word("width_maker") if width is None else self.bundle.figures.spanner(width)

    def _clamps(self) -> Iterator[str]:
        if self.run["assembly"]["clamps"]:
            clamps = ClampsInWords(self.bundle, self.run, self.solved)
            told = self._word("step_clamps", clamps="; ".join(clamps.each()), closely=clamps.closely())
            sleeved = [self._word("clamps_sleeved")] if self.run["assembly"]["sleeve"] else []
            yield " ".join([told, *sleeved])
