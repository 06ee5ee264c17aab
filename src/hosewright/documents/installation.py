"""Installation sheet of a machine: in which order its hoses go on, and for each hose what to do, hold and look at."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import asdict
from typing import Any

from hosewright.checks import support
from hosewright.checks.check import RunResult
from hosewright.documents.bundle import Bundle
from hosewright.documents.clocks import ClockView, clock_in_words, clock_pictures, clock_views
from hosewright.documents.findings_in_words import FindingsInWords, worst_first
from hosewright.documents.fitting_picture import fitting_picture
from hosewright.documents.fitting_steps import FittingSteps, cannot_turn, invented_ends, torque_in_words
from hosewright.documents.looks import Looks
from hosewright.documents.poses_in_words import PosesInWords
from hosewright.service.fitting_order import fitting_order

FILE = "installation.pdf"
CAUTIONS = ("pressure", "load", "leak", "hot", "maker", "approve")
UNSUPPORTED, CLAMP = "unsupported length", "clamp "
"""Subject of the finding that advises a clamp, and how that of one about a clamp begins."""

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
        self.poses = PosesInWords(bundle.result, self.texts, self.figures)
        self.looks = Looks(bundle, self.words, self.poses)
        self.pictures: dict[str, bytes] = {}

    def pdf(self) -> bytes:
        runs = [self._run(number, run) for number, run in enumerate(self._in_order(), start=1)]
        contents = {
            "here": self.texts.section("installation"),
            "warnings": [*invented_ends(self.bundle), *self.bundle.warnings],
            "before_clock": self._clock_tolerance(),
            "runs": runs,
            "cautions": [self.texts(f"common.caution_{one}") for one in CAUTIONS],
        }
        return self.bundle.pdf("installation", self._word("title"), contents, self.pictures)

    def _word(self, key: str, **values: object) -> str:
        return self.texts(f"installation.{key}", **values)

    def _in_order(self) -> list[RunData]:
        result = self.bundle.result
        known = {run["name"]: run for run in self.bundle.data["runs"]}
        order = fitting_order([run.solved for run in result.runs], result.job)
        return [known[solved.run.name] for solved in order]

    def _clock_tolerance(self) -> str:
        error = self.figures(self.bundle.data["assumptions"]["profile"]["fitter_clock"]["value"], "deg")
        return self._word("before_clock", error=error)

    def _run(self, number: int, run: RunData) -> dict[str, Any]:
        assembly, solved = run["assembly"], self.bundle.result.run(run["name"])
        reasons = self.bundle.stops(run)
        self.pictures[f"hose-{number}.svg"] = self.bundle.pictures[run["name"]]
        return {
            "place": str(number),
            "number": assembly["number"],
            "name": run["name"],
            "hose": assembly["hose"],
            "length": self.figures(assembly["overall_length_mm"], "mm"),
            "stops": reasons,
            "ports": " – ".join(end["port"] for end in assembly["ends"]),
            "spanners": ", ".join(self._spanners(assembly)),
            "pose": self.poses(assembly["fitting_pose"]) or "–",
            "ends": [self._end(end, solved) for end in assembly["ends"]],
            "torque_source": self._torque_source(assembly),
            "missing": self._missing(assembly, solved),
            "picture": f"hose-{number}.svg",
            "picture_alt": self._word("picture_alt", run=run["name"], worst=self._worst(run)),
            "fitting": None if reasons else self._fitting(number, run, solved),
        }

    def _worst(self, run: RunData) -> str:
        placed = worst_first(one for one in run["findings"] if one["path"] is not None and one["measure"] is not None)
        return self.words.sentence(placed[0]) if placed else self._word("look_none")

    def _fitting(self, number: int, run: RunData, solved: RunResult) -> dict[str, Any]:
        """How the hose goes on, and what to look at then."""
        clocks = clock_views(self.bundle.result, solved)
        name = f"fitting-{number}.svg"
        self.pictures[name] = fitting_picture(self.bundle.result, solved, texts=self.texts, figures=self.figures)
        return {
            "picture": name,
            "alt": self._word("fitting_alt", run=run["name"]),
            "clocks": self._clocks(number, clocks),
            "warnings": [*self.bundle.warnings_of(run), *self._warnings(run)],
            "steps": FittingSteps(self.bundle, run, solved, clocks, self.poses).lines(),
            "look": self._word("look", place=number, name=run["name"]),
            "looks": [asdict(look) for look in self.looks.of(run)],
        }

    def _clocks(self, number: int, views: list[ClockView]) -> list[dict[str, str]]:
        shown = []
        for place, face in enumerate(clock_pictures(views, self.texts, self.figures), start=1):
            name = f"clock-{number}-{place}.svg"
            self.pictures[name] = face
            shown.append({"picture": name, "alt": clock_in_words(views[place - 1], self.texts, self.figures)})
        return shown

    def _spanners(self, assembly: Mapping[str, Any]) -> list[str]:
        widths = {end[key] for end in assembly["ends"] for key in ("nut_width_mm", "hex_width_mm")}
        return [self.figures.spanner(width) for width in sorted(width for width in widths if width is not None)]

    def _end(self, end: EndData, solved: RunResult) -> list[str]:
        return [
            self.texts("common.end", name=end["name"]),
            end["port"],
            ", ".join(self.texts.name(one["name"]) for one in end["adapters"]) or self._word("none"),
            self.texts.name(end["form"]),
            self.texts.name(end["connection"], "connections"),
            self._word("none") if cannot_turn(end, solved) else self._width(end["nut_width_mm"]),
            self._width(end["hex_width_mm"]),
            torque_in_words(end, self.bundle) or self._word("torque_maker"),
        ]

    def _width(self, width: float | None) -> str:
        return self._word("torque_maker") if width is None else self.figures.spanner(width)

    def _torque_source(self, assembly: Mapping[str, Any]) -> str | None:
        parts = [part for end in assembly["ends"] for part in (end, *end["adapters"])]
        told = [self.bundle.source(part, "torque_source") for part in parts if torque_in_words(part, self.bundle)]
        sources = dict.fromkeys(source for source in told if source)
        return self._word("torque_source", sources="; ".join(sources)) if sources else None

    def _missing(self, assembly: Mapping[str, Any], solved: RunResult) -> str | None:
        names = [
            self._word(f"missing_{part}", name=end["name"])
            for end in assembly["ends"]
            for part in ("nut", "hex")
            if end[f"{part}_width_mm"] is None and not (part == "nut" and cannot_turn(end, solved))
        ]
        adapters = dict.fromkeys(self.texts.name(one["name"]) for end in assembly["ends"] for one in end["adapters"])
        names += [self._word("missing_adapter", name=name) for name in adapters]
        return self._word("missing", names=", ".join(names)) if names else None

    def _warnings(self, run: RunData) -> Iterator[str]:
        for finding in run["findings"]:
            if finding["rule"] != support.RULE or finding["verdict"] == "pass":
                continue
            bounds = ", ".join(self.words.bounds(finding))
            if finding["subject"] == UNSUPPORTED:
                key = "more_clamps" if run["assembly"]["clamps"] else "no_clamp"
                yield self._word(key, length=self.words.measure(finding), bounds=bounds)
            elif finding["subject"].startswith(CLAMP):
                yield self._word("bent_clamp", found=self.words.text(finding), bounds=bounds)
