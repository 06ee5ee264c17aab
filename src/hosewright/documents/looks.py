"""What a fitter looks at when a hose is on: its worst places, with figures that a rule or a gauge can check."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from hosewright.checks import bend_radius, clearance, end_clearance, motion_twist, plane, slack, straight
from hosewright.documents.bundle import Bundle
from hosewright.documents.findings_in_words import FindingsInWords, worst_first
from hosewright.documents.fitting_steps import moves
from hosewright.documents.poses_in_words import PosesInWords

WHAT = {
    rule.RULE: rule.__name__.rpartition(".")[2]
    for rule in (slack, bend_radius, straight, motion_twist, plane, clearance, end_clearance)
}
"""Rules whose worst place a fitter can look at, with the last part of the key of what he looks for."""
WHOLE = (slack.RULE, motion_twist.RULE)
"""Rules that are about a whole hose."""
MOST_LOOKS = 6
FAR = 5.0
"""Places that are further inside their limit than so many times are not worth a look, but for the two nearest."""
FEWEST_LOOKS = 2

CHORDS = {"metric": (100.0, 50.0), "us": (101.6, 50.8)}
"""Lengths of rule that are laid into a bend: 100 and 50 mm, 4 and 2 inches. [mm]"""
MARKS = {"metric": 0.5, "us": 25.4 / 16.0}
"""What a rule is read to. [mm]"""
AT_END = 0.05
"""A place that is nearer to a ferrule tail than this lies there. [mm]"""

RunData = Mapping[str, Any]
FindingData = Mapping[str, Any]


@dataclass(frozen=True)
class Look:
    """One place to look at.

    Attributes
    ----------
    what
        To look for.
    must
        What it must be, with the figure of the rule.
    check
        How to check that with a rule; empty where there is no simpler way than the figure itself.
    planned
        What it is by the plan, at worst.
    pose, where
        In which pose, and where on the hose.
    """

    what: str
    must: str
    check: str
    planned: str
    pose: str
    where: str


@dataclass(frozen=True, eq=False)
class Looks:
    """Writes what to look at for the runs of a bundle."""

    bundle: Bundle
    words: FindingsInWords
    poses: PosesInWords

    def of(self, run: RunData) -> list[Look]:
        """The worst place of every rule, the worst first."""
        return [self._look(finding, run) for finding in self.chosen(run)]

    @staticmethod
    def chosen(run: RunData) -> list[FindingData]:
        """The findings that are worth a look: of each rule the worst."""
        seen = [one for one in run["findings"] if one["rule"] in WHAT and one["measure"] is not None]
        worst: dict[str, FindingData] = {}
        for one in worst_first(one for one in seen if one["path"] is not None):
            worst.setdefault(one["rule"], one)
        near = [one for one in worst.values() if _near(one)]
        rest = [one for one in worst.values() if not _near(one)]
        return [*near, *rest[: max(FEWEST_LOOKS - len(near), 0)]][:MOST_LOOKS]

    def _word(self, key: str, **values: object) -> str:
        return self.bundle.texts(f"installation.{key}", **values)

    def _look(self, finding: FindingData, run: RunData) -> Look:
        return Look(
            self._what(finding, run),
            self._must(finding),
            " ".join(self._checks(finding, run)),
            self.bundle.figures(finding["measure"], finding["unit"]),
            self.poses(finding["pose"]) if moves(run) else self._word("any_pose"),
            self._where(finding, run["assembly"]),
        )

    def _what(self, finding: FindingData, run: RunData) -> str:
        key, rule = WHAT[finding["rule"]], finding["rule"]
        if rule == clearance.RULE and finding["subject"].startswith("hose "):
            return self._word("look_other_hose", name=finding["subject"].removeprefix("hose "))
        length = self.bundle.figures(self._straight_length(run), "mm")
        return self._word(f"look_{key}", name=self._name(finding), length=length)

    @staticmethod
    def _name(finding: FindingData) -> str:
        # of a part, of an end
        return str(finding["subject"]).removeprefix("end ")

    def _must(self, finding: FindingData) -> str:
        advised = finding["limit"] is None
        bound = finding["advice_limit"] if advised else finding["limit"]
        figures, least = self.bundle.figures, finding["at_least"]
        if bound is None:
            return self.bundle.texts("common.unknown")
        shown = (figures.at_least if least else figures.at_most)(bound, finding["unit"])
        return self._word(f"must_{'least' if least else 'most'}{'_advised' if advised else ''}", bound=shown)

    def _where(self, finding: FindingData, assembly: Mapping[str, Any]) -> str:
        rule, at, free = finding["rule"], finding["at_mm"], assembly["free_length_mm"]
        if rule == end_clearance.RULE:
            return self._word("at_end", name=self._name(finding))
        if rule in WHOLE or at is None:
            return self._word("at_whole")
        end, off = ("a", at) if at <= free / 2.0 else ("b", round(free - at, 1))
        if off <= AT_END:
            return self._word("at_ferrule", name=end)
        return self._word("at_from", name=end, at=self.bundle.figures(off, "mm"))

    def _checks(self, finding: FindingData, run: RunData) -> Iterator[str]:
        limit = finding["limit"]
        if limit is None:
            return
        if finding["rule"] == bend_radius.RULE:
            yield from self._rule_in_bend(limit)
        elif finding["rule"] == straight.RULE:
            length = self._straight_length(run)
            yield from self._off(limit * (1.0 - math.cos(length / limit)), "check_straight", length)
        elif finding["rule"] == motion_twist.RULE:
            turn = math.floor(limit * run["assembly"]["free_length_mm"] / 1000.0)
            yield self._word("check_twist", turn=self.bundle.figures(float(turn), "deg"))

    def _rule_in_bend(self, radius: float) -> Iterator[str]:
        # a rule laid into the inside of a bend stands off it in the middle, the more the tighter the bend
        for chord in CHORDS[self.bundle.settings.units]:
            if chord <= radius:
                yield from self._off(radius - math.sqrt(radius**2 - chord**2 / 4.0), "check_bend", chord)
                return

    def _off(self, off: float, key: str, length: float) -> Iterator[str]:
        mark = MARKS[self.bundle.settings.units]
        readable = mark * math.floor(off / mark)
        if readable > 0.0:
            yield self._word(key, length=self.bundle.figures(length, "mm"), off=self._read_off(readable))

    def _read_off(self, length: float) -> str:
        figures = self.bundle.figures
        return figures(length, "mm") if figures.system == "metric" else figures.cut(round(length, 1))

    def _straight_length(self, run: RunData) -> float:
        part = self.bundle.data["assumptions"]["profile"]["straight_length"]["value"]
        return float(round(part * (run["assembly"]["outside_diameter_mm"] or 0.0), 1))


def _near(finding: FindingData) -> bool:
    bound = finding["advice_limit"] if finding["limit"] is None else finding["limit"]
    if finding["verdict"] != "pass" or bound is None:
        return True
    measure = finding["measure"]
    return bool(measure < FAR * bound if finding["at_least"] else FAR * measure > bound)
