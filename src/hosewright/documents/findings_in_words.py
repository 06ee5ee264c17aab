"""Findings of the contract as paper shows them: every number as it stands there, in the units of the shop."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from hosewright.checks.finding import Verdict
from hosewright.documents.bundle import Bundle
from hosewright.documents.pictures import pose_in_words
from hosewright.documents.subjects import subject_in_words
from hosewright.words import US, written

FindingData = Mapping[str, Any]


def worst_first(findings: Iterable[FindingData]) -> list[FindingData]:
    """By verdict, then by their margin as a part of the limit."""
    verdicts = [str(verdict) for verdict in Verdict]
    return sorted(findings, key=lambda one: (verdicts.index(one["verdict"]), relative_margin(one)))


def relative_margin(finding: FindingData) -> float:
    """Margin as a part of the limit, or of the advice; infinite where there is none."""
    bound = finding["advice_limit"] if finding["limit"] is None else finding["limit"]
    return math.inf if finding["margin"] is None or not bound else finding["margin"] / abs(bound)


@dataclass(frozen=True, eq=False)
class FindingsInWords:
    """Writes findings in the language and the units of a bundle."""

    bundle: Bundle

    def name(self, finding: FindingData) -> str:
        """Rule and subject, such as ``"clearance, column"``."""
        subject = subject_in_words(finding["rule"], finding["subject"], self.bundle.texts)
        return self.rule(finding) + (f", {subject}" if subject else "")

    def rule(self, finding: FindingData) -> str:
        """The rule alone."""
        return self.bundle.texts(f"rules.{finding['rule']}")

    def verdict(self, finding: FindingData) -> str:
        """In one word."""
        return self.bundle.texts(f"common.verdict_{finding['verdict']}")

    def measure(self, finding: FindingData) -> str:
        """With its unit."""
        return self.bundle.figures(finding["measure"], finding["unit"])

    def bounds(self, finding: FindingData) -> list[str]:
        """The limit, and what calls for advice, never laxer than they are."""
        shown = []
        if finding["limit"] is not None:
            shown.append(self.bound(finding["limit"], finding["unit"], at_least=self._at_least(finding)))
        if finding["advice_limit"] is not None:
            advice = self.bound(finding["advice_limit"], finding["unit"], at_least=self._at_least(finding))
            shown.append(f"{self.bundle.texts('proof.advice_bound')} {advice}")
        return shown

    def bound(self, value: float, unit: str, *, at_least: bool) -> str:
        """A limit with its sign, such as ``"≥ 6.15 in (156 mm)"``."""
        figures = self.bundle.figures
        return f"≥ {figures.at_least(value, unit)}" if at_least else f"≤ {figures.at_most(value, unit)}"

    def margin(self, finding: FindingData) -> str:
        """With its sign, plus is good; none where a doubtful or missing figure leaves the rule unknown."""
        margin = finding["margin"]
        if margin is None or finding.get("verdict") == "unknown":
            return "–"
        return self.difference(margin, finding["unit"], sign=True)

    def difference(self, value: float, unit: str, *, sign: bool = False) -> str:
        """Of two figures; that of temperatures has no zero to shift."""
        figures = self.bundle.figures
        if unit == "°C" and figures.system == "us":
            degrees = figures.number(round(value * US[unit].factor), "")
            return f"{'+' if sign and value >= 0.0 else ''}{degrees}\N{NO-BREAK SPACE}{figures.unit(unit)}"
        return figures(value, unit, sign=sign)

    def text(self, finding: FindingData) -> str:
        """What was found, in a sentence."""
        return written(finding["said"], self.bundle.texts, self.bundle.figures)

    def remedy(self, finding: FindingData) -> str | None:
        """What would mend it; ``None`` where nothing was looked for."""
        remedy = finding["remedy"]
        return None if remedy is None else written(remedy["said"], self.bundle.texts, self.bundle.figures)

    def pose(self, pose: Mapping[str, float]) -> str:
        """Joint values."""
        return pose_in_words(pose, self.bundle.result.job.machine, self.bundle.figures)

    def where(self, finding: FindingData) -> str:
        """Pose, state and place on the hose."""
        texts = self.bundle.texts
        parts = [self.pose(finding["pose"])]
        if finding["state"] is not None:
            parts.append(texts(f"states.{finding['state']}"))
        if finding["at_mm"] is not None:
            parts.append(texts("proof.at", at=self.bundle.figures(finding["at_mm"], "mm")))
        return "; ".join(part for part in parts if part)

    def sentence(self, finding: FindingData) -> str:
        """Name, measure and bounds in a line."""
        bounds = ", ".join(self.bounds(finding))
        return f"{self.name(finding)}: {self.measure(finding)}" + (f" ({bounds})" if bounds else "")

    @staticmethod
    def _at_least(finding: FindingData) -> bool:
        return bool(finding["at_least"])
