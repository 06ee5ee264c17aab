"""What a fitter looks at when a hose is on: its worst places, with figures that a rule or a gauge can check."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from hosewright.checks import bend_radius, built_twist, clearance, end_clearance, motion_twist, plane, slack, straight
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
LEAST_MARKS = 2
"""That a bend must stand off a rule, so that what is read hangs little on where the marks lie."""
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
            "; ".join(self._checks(finding, run)),
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
        if finding["limit"] is not None:
            return self._bound("must", finding, finding["limit"])
        advice = finding["advice_limit"]
        if advice is None:
            return self.bundle.texts("common.unknown")
        if not _beyond_advice(finding):
            return self._bound("advised", finding, advice)
        planned = self.bundle.figures(finding["measure"], finding["unit"])
        return self._word(f"planned_{_side(finding)}", planned=planned)

    def _bound(self, key: str, finding: FindingData, bound: float) -> str:
        figures = self.bundle.figures
        shown = (figures.at_least if finding["at_least"] else figures.at_most)(bound, finding["unit"])
        return self._word(f"{key}_{_side(finding)}", bound=shown)

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
            if _beyond_advice(finding):
                yield self._bound("beyond", finding, finding["advice_limit"])
        elif finding["rule"] == bend_radius.RULE:
            yield from self._rule_in_bend(limit, finding, run["assembly"])
        elif finding["rule"] == straight.RULE:
            length = self._straight_length(run)
            yield from self._off(limit * (1.0 - math.cos(length / limit)), "check_straight", length)
        elif finding["rule"] == motion_twist.RULE:
            yield from self._turn(limit, run)

    def _turn(self, limit: float, run: RunData) -> Iterator[str]:
        # what a fitter sees is the sum of what the motion, and of what building and fitting put in
        metres = run["assembly"]["free_length_mm"] / 1000.0
        built = next((one["measure"] for one in run["findings"] if one["rule"] == built_twist.RULE), None)
        if built is not None:
            part = round(built * metres)
            turn = math.floor(limit * metres) + part
            figures = self.bundle.figures
            yield self._word("check_twist", turn=figures(float(turn), "deg"), built=figures(float(part), "deg"))

    def _rule_in_bend(self, radius: float, finding: FindingData, assembly: Mapping[str, Any]) -> Iterator[str]:
        # a rule laid into the inside of a bend stands off it in the middle, the more the tighter the bend
        room, half = _from_held(finding["at_mm"], assembly), (assembly["outside_diameter_mm"] or 0.0) / 2.0
        for chord in CHORDS[self.bundle.settings.units]:
            if chord <= radius and (radius + half) * math.asin(chord / 2.0 / radius) <= room:
                off = radius - math.sqrt(radius**2 - chord**2 / 4.0)
                yield from self._off(off, "check_bend", chord, LEAST_MARKS)
                return

    def _off(self, off: float, key: str, length: float, least: int = 1) -> Iterator[str]:
        mark = MARKS[self.bundle.settings.units]
        marks = math.floor(off / mark)
        if marks >= least:
            yield self._word(key, length=self.bundle.figures(length, "mm"), off=self._read_off(mark * marks))

    def _read_off(self, length: float) -> str:
        figures = self.bundle.figures
        return figures(length, "mm") if figures.system == "metric" else figures.cut(round(length, 1))

    def _straight_length(self, run: RunData) -> float:
        part = self.bundle.data["assumptions"]["profile"]["straight_length"]["value"]
        return float(round(part * (run["assembly"]["outside_diameter_mm"] or 0.0), 1))


def _side(finding: FindingData) -> str:
    return "least" if finding["at_least"] else "most"


def _beyond_advice(finding: FindingData) -> bool:
    # where the plan itself is, so that the advice is nothing to measure a hose by
    measure, advice = finding["measure"], finding["advice_limit"]
    return bool(measure < advice if finding["at_least"] else measure > advice)


def _from_held(at: float | None, assembly: Mapping[str, Any]) -> float:
    """Way along a hose to the next ferrule or clamp, where it is straight. [mm]"""
    held = (0.0, assembly["free_length_mm"], *(clamp["at_mm"] for clamp in assembly["clamps"]))
    return math.inf if at is None else min(abs(at - place) for place in held)


def _near(finding: FindingData) -> bool:
    bound = finding["advice_limit"] if finding["limit"] is None else finding["limit"]
    if finding["verdict"] != "pass" or bound is None:
        return True
    measure = finding["measure"]
    return bool(measure < FAR * bound if finding["at_least"] else FAR * measure > bound)
