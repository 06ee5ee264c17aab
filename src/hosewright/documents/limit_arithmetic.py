"""How limits come about that are a figure of the profile times something, so that an inspector can do the sum again.

A sum is only told where it gives the limit of the contract.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple

from hosewright.checks import bend_radius, clearance, motion_twist, plane, pressure_drop, slack, straight, support
from hosewright.documents.bundle import Bundle
from hosewright.search import surplus

SAME = 0.0502
"""The limit of the contract is rounded to a tenth; a sum gives it where it lies within half of that."""

OTHER_HOSE, CLAMP = "hose ", "clamp "
"""How the subjects of findings begin that are about another hose, and about a clamp."""

FindingData = Mapping[str, Any]


class Sum(NamedTuple):
    """A sum in words, and what it gives in the unit of its finding."""

    text: str
    value: float


@dataclass(frozen=True, eq=False)
class LimitArithmetic:
    """Tells the sums behind the limits of a bundle's findings."""

    bundle: Bundle

    def limit(self, finding: FindingData, run: Mapping[str, Any]) -> str | None:
        """Of the limit; ``None`` where the limit is no sum."""
        return self._of(finding["limit"], finding, run)

    def advice(self, finding: FindingData, run: Mapping[str, Any]) -> str | None:
        """Of what calls for advice."""
        return self._of(finding["advice_limit"], finding, run)

    def _of(self, bound: float | None, finding: FindingData, run: Mapping[str, Any]) -> str | None:
        if bound is None:
            return None
        fitting = (one.text for one in self._sums(finding, run["assembly"]) if abs(one.value - bound) <= SAME)
        return next(fitting, None)

    def _sums(self, finding: FindingData, assembly: Mapping[str, Any]) -> Iterator[Sum]:
        rule, subject = finding["rule"], finding["subject"]
        radius, diameter = assembly["minimum_bend_radius_mm"], assembly["outside_diameter_mm"]
        if rule == slack.RULE:
            yield Sum(self._word("sum_ports"), self.bundle.data["assumptions"]["port_error_mm"])
        elif rule == bend_radius.RULE and radius is not None:
            yield Sum(self._word("sum_radius"), radius)
            yield self._times("moving_radius_factor", radius, "mm")
        elif rule == straight.RULE and None not in (radius, diameter):
            for still in ("straight_factor_still", "straight_factor_moving", "straight_factor_advice"):
                yield self._with_half(self._times(still, radius, "mm"), diameter)
        elif rule == motion_twist.RULE and diameter is not None:
            yield self._twist("twist_limit", diameter)
            yield self._twist("twist_advice", diameter)
        elif rule == plane.RULE and diameter is not None:
            yield self._times("plane_travel", diameter, "mm")
        elif rule == clearance.RULE and subject.startswith(OTHER_HOSE):
            yield from self._between_hoses(subject.removeprefix(OTHER_HOSE), diameter)
        elif rule == support.RULE and subject.startswith(CLAMP) and radius is not None:
            yield self._times("clamp_bend_radius", radius, "mm")
        elif rule == support.RULE:
            yield from self._by_size(assembly["dash_size"])
        elif rule == surplus.RULE:
            yield self._times("surplus_part", assembly["free_length_mm"], "mm")
        elif rule == pressure_drop.RULE:
            yield self._times("drop_pressure_part", assembly["working_pressure_bar"], "bar")

    def _word(self, key: str, **values: object) -> str:
        return self.bundle.texts(f"proof.{key}", **values)

    def _figure(self, name: str) -> float:
        return float(self.bundle.data["assumptions"]["profile"][name]["value"])

    def _times(self, name: str, value: float, unit: str) -> Sum:
        factor = self._figure(name)
        return Sum(f"{self.bundle.figures.number(factor, '')} × {self.bundle.figures(value, unit)}", factor * value)

    def _with_half(self, product: Sum, diameter: float) -> Sum:
        half = f"{self.bundle.figures(diameter, 'mm')} / 2"
        return Sum(f"{product.text} + {half}", product.value + diameter / 2.0)

    def _twist(self, name: str, diameter: float) -> Sum:
        limit, of = self._figure(name), self._figure("twist_diameter")
        figures = self.bundle.figures
        text = f"{figures(limit, 'deg/m')} × {figures(of, 'mm')} / {figures(diameter, 'mm')}"
        return Sum(text, limit * of / diameter)

    def _between_hoses(self, other: str, diameter: float | None) -> Iterator[Sum]:
        # of runs that were left out of the check nothing is known here
        diameters = [diameter] + [
            run["assembly"]["outside_diameter_mm"] for run in self.bundle.data["runs"] if run["name"] == other
        ]
        known = [one for one in diameters if one is not None]
        if known:
            yield self._times("clearance_hose", max(known), "mm")

    def _by_size(self, dash_size: int) -> Iterator[Sum]:
        for name, most in (("support_to_8", 8), ("support_to_16", 16), ("support_above", None)):
            if most is None or dash_size <= most:
                size = self._word("sum_size", size=f"-{most}") if most else self._word("sum_size_above", size="-16")
                yield Sum(size, self._figure(name))
                return
