"""Installation sheet of a machine: in which order its hoses go on, and for each hose what to do, hold and look at."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from hosewright.checks import bend_radius, clearance, end_clearance, motion_twist, plane, slack, straight
from hosewright.documents.bundle import Bundle
from hosewright.documents.findings_in_words import FindingsInWords, worst_first
from hosewright.service.fitting_order import fitting_order

FILE = "installation.pdf"
LOOKED_AT = frozenset(
    rule.RULE for rule in (slack, bend_radius, straight, motion_twist, plane, clearance, end_clearance)
)
"""Rules whose worst place a fitter can look at."""
MOST_LOOKS = 4
FLANGE = " head"
"""How the connection of an end that is screwed on by a flange ends."""

RunData = Mapping[str, Any]
EndData = Mapping[str, Any]


def files(bundle: Bundle) -> Iterator[tuple[str, bytes]]:
    """The sheet; none where a job has no run."""
    if bundle.data["runs"]:
        yield FILE, _Installation(bundle).pdf()


class _Installation:
    """The sheet being written."""

    def __init__(self, bundle: Bundle) -> None:
        self.bundle, self.texts, self.figures = bundle, bundle.texts, bundle.figures
        self.words = FindingsInWords(bundle)

    def pdf(self) -> bytes:
        runs = self._in_order()
        names = {run["name"]: f"hose-{number}.svg" for number, run in enumerate(runs, start=1)}
        contents = {
            "here": self.texts.section("installation"),
            "warnings": self.bundle.warnings,
            "runs": [self._run(number, run, names[run["name"]]) for number, run in enumerate(runs, start=1)],
            "cautions": [
                self.texts(f"common.caution_{one}") for one in ("pressure", "load", "leak", "hot", "maker", "approve")
            ],
        }
        pictures = {name: self.bundle.pictures[run] for run, name in names.items()}
        return self.bundle.pdf("installation", self._word("title"), contents, pictures)

    def _word(self, key: str, **values: object) -> str:
        return self.texts(f"installation.{key}", **values)

    def _in_order(self) -> list[RunData]:
        result = self.bundle.result
        known = {run["name"]: run for run in self.bundle.data["runs"]}
        order = fitting_order([run.solved for run in result.runs], result.job)
        return [known[solved.run.name] for solved in order]

    def _run(self, number: int, run: RunData, picture: str) -> dict[str, Any]:
        assembly = run["assembly"]
        looks = self._looks(run)
        worst = self.words.sentence(looks[0]) if looks else self._word("look_none")
        return {
            "place": str(number),
            "number": assembly["number"],
            "name": run["name"],
            "hose": assembly["hose"],
            "length": self.figures(assembly["overall_length_mm"], "mm"),
            "stops": self.bundle.stops(run),
            "ports": " – ".join(end["port"] for end in assembly["ends"]),
            "spanners": ", ".join(self._spanners(assembly)),
            "pose": self.words.pose(assembly["fitting_pose"]),
            "ends": [self._end(end) for end in assembly["ends"]],
            "torque_source": self._torque_source(assembly),
            "missing": self._missing(assembly),
            "steps": self._steps(run),
            "looks": [self._look(finding) for finding in looks],
            "picture": picture,
            "picture_alt": self._word("picture_alt", run=run["name"], worst=worst),
        }

    def _spanners(self, assembly: Mapping[str, Any]) -> list[str]:
        widths = {end[key] for end in assembly["ends"] for key in ("nut_width_mm", "hex_width_mm")}
        return [self.figures.cut(width) for width in sorted(width for width in widths if width is not None)]

    def _end(self, end: EndData) -> list[str]:
        adapters = [self._turned(one["name"], one["clock_deg"]) for one in end["adapters"]]
        form = self._turned(end["form"], end["clock_deg"]) if end["exit_angle_deg"] else end["form"]
        return [
            self.texts("common.end", name=end["name"]),
            end["port"],
            "; ".join(adapters) or self._word("none"),
            form,
            end["connection"],
            self.figures.cut(end["nut_width_mm"]),
            self.figures.cut(end["hex_width_mm"]),
            self._torque(end) or self._word("torque_maker"),
        ]

    def _turned(self, name: str, clock: float) -> str:
        return self._word("bent_clock", form=name, clock=self.figures(clock, "deg"))

    def _torque(self, end: EndData) -> str | None:
        low, high = end["torque_low_nm"], end["torque_high_nm"]
        return None if low is None or high is None else self.figures.span(low, high, "Nm")

    def _torque_source(self, assembly: Mapping[str, Any]) -> str | None:
        sources = dict.fromkeys(end["torque_source"] for end in assembly["ends"] if end["torque_source"])
        return self._word("torque_source", sources="; ".join(sources)) if sources else None

    def _missing(self, assembly: Mapping[str, Any]) -> str | None:
        names = [
            self._word(f"missing_{part}", name=end["name"])
            for end in assembly["ends"]
            for part in ("nut", "hex")
            if end[f"{part}_width_mm"] is None
        ]
        return self._word("missing", names=", ".join(names)) if names else None

    def _steps(self, run: RunData) -> list[str]:
        assembly = run["assembly"]
        ends, pose = assembly["ends"], assembly["fitting_pose"]
        moves = any(finding["rule"] == plane.RULE for finding in run["findings"])
        steps = [self._word("step_pose", pose=self.words.pose(pose)) if pose else self._word("step_pose_still")]
        if any(end["adapters"] for end in ends):
            steps.append(self._word("step_adapters"))
        if any(end["exit_angle_deg"] for end in ends):
            steps.append(self._word("step_elbows"))
        if assembly["sleeve"]:
            steps.append(self._word("step_sleeve", length=self.figures(assembly["sleeve_length_mm"], "mm")))
        steps += [self._word("step_lay"), self._word("step_hand"), *map(self._tighten, ends)]
        if assembly["clamps"]:
            steps.append(self._word("step_clamps", clamps=", ".join(map(self._clamp, assembly["clamps"]))))
        return [
            *steps,
            self._word("step_motion" if moves else "step_motion_still"),
            self._word("step_bleed"),
            self._word("step_recheck"),
        ]

    def _tighten(self, end: EndData) -> str:
        if end["connection"].endswith(FLANGE):
            return self._word("step_flange", name=end["name"])
        widths = {"hex": self.figures.cut(end["hex_width_mm"]), "nut": self.figures.cut(end["nut_width_mm"])}
        torque = self._torque(end)
        if torque is None:
            return self._word("step_tighten_maker", name=end["name"], **widths)
        return self._word("step_tighten", name=end["name"], torque=torque, **widths)

    def _clamp(self, clamp: Mapping[str, Any]) -> str:
        return self._word("clamp", mount=clamp["mount"], mark=self.figures.cut(clamp["mark_mm"]))

    def _looks(self, run: RunData) -> list[Mapping[str, Any]]:
        seen = [one for one in run["findings"] if one["rule"] in LOOKED_AT and one["measure"] is not None]
        return worst_first(one for one in seen if one["path"] is not None)[:MOST_LOOKS]

    def _look(self, finding: Mapping[str, Any]) -> list[str]:
        bounds = ", ".join(self.words.bounds(finding))
        return [self.words.name(finding), self.words.measure(finding), bounds, self.words.where(finding)]
