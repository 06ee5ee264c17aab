"""Proof sheet of a machine: every rule on every run with its figures; charts; what was assumed, and not checked."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from hosewright.checks.check import RunResult
from hosewright.checks.finding import Verdict
from hosewright.documents.bundle import Bundle
from hosewright.documents.charts import margins_chart, radius_chart
from hosewright.documents.findings_in_words import FindingsInWords, worst_first

VERDICTS = tuple(str(verdict) for verdict in Verdict)
FILE = "proof.pdf"

RunData = Mapping[str, Any]


def files(bundle: Bundle) -> Iterator[tuple[str, bytes]]:
    """The sheet; none where a job has no run."""
    if bundle.data["runs"]:
        yield FILE, _Proof(bundle).pdf()


class _Proof:
    """The sheet being written; the sources get their numbers in the order in which they are named."""

    def __init__(self, bundle: Bundle) -> None:
        self.bundle, self.texts, self.figures = bundle, bundle.texts, bundle.figures
        self.words = FindingsInWords(bundle)
        self.sources: dict[str, int] = {}
        self.pictures: dict[str, bytes] = {}

    def pdf(self) -> bytes:
        data = self.bundle.data
        pairs = list(zip(data["runs"], self.bundle.result.runs, strict=True))
        runs = [self._run(number, run, result) for number, (run, result) in enumerate(pairs, start=1)]
        contents = {
            "here": self.texts.section("proof"),
            "verdicts": [self.texts(f"common.verdict_{verdict}") for verdict in VERDICTS],
            "summary": [self._summary(run) for run in data["runs"]],
            "warnings": self.bundle.warnings,
            "runs": runs,
            "assumptions": self._assumptions(),
            "states": [self._states(run) for run in data["runs"]],
            "profile": self._profile(),
            "sources": [[str(number), source] for source, number in self.sources.items()],
            "not_checked": [self._not_checked(text) for text in data["not_checked"]],
            "cautions": [self.texts(f"common.caution_{one}") for one in ("maker", "approve")],
        }
        return self.bundle.pdf("proof", self.texts("proof.title"), contents, self.pictures)

    def _summary(self, run: RunData) -> dict[str, Any]:
        findings = run["findings"]
        counts = [sum(one["verdict"] == verdict for one in findings) for verdict in VERDICTS]
        shown = worst_first(one for one in findings if one["measure"] is not None)
        assembly = run["assembly"]
        return {
            "number": assembly["number"],
            "name": run["name"],
            "hose": assembly["hose"],
            "length": self.figures(assembly["overall_length_mm"], "mm"),
            "counts": [str(count) for count in counts],
            "stop": bool(self.bundle.stops(run)),
            "nearest": self.words.sentence(shown[0]) if shown else "",
        }

    def _run(self, number: int, run: RunData, result: RunResult) -> dict[str, Any]:
        charts = {
            "radius": radius_chart(result, texts=self.texts, figures=self.figures),
            "margins": margins_chart(self.bundle.result, result, texts=self.texts, figures=self.figures),
        }
        names = {kind: f"{kind}-{number}.svg" for kind, chart in charts.items() if chart is not None}
        self.pictures |= {names[kind]: chart for kind, chart in charts.items() if chart is not None}
        self.pictures[f"hose-{number}.svg"] = self.bundle.pictures[run["name"]]
        summary = self._summary(run)
        return {
            **summary,
            "place": str(number),
            "stops": self.bundle.stops(run),
            "picture": f"hose-{number}.svg",
            "picture_alt": self.texts("proof.picture_alt", run=run["name"], worst=summary["nearest"]),
            "charts": names,
            "findings": [self._finding(finding) for finding in run["findings"]],
        }

    def _finding(self, finding: Mapping[str, Any]) -> dict[str, Any]:
        plain = finding["verdict"] == Verdict.PASS
        return {
            "verdict": finding["verdict"],
            "word": self.words.verdict(finding),
            "rule": self.words.name(finding),
            "measure": self.words.measure(finding),
            "bounds": self.words.bounds(finding),
            "margin": self.words.margin(finding),
            "where": self.words.where(finding),
            "source": self._source(finding),
            "text": None if plain else self.words.text(finding),
            "remedy": self.words.remedy(finding),
        }

    def _source(self, finding: Mapping[str, Any]) -> str:
        source = finding["source"]
        if source is None:
            return "–"
        number = self.sources.setdefault(source, len(self.sources) + 1)
        return f"{number} {self.texts('proof.conf_' + finding['confidence'].replace(' ', '_'))}"

    def _assumptions(self) -> list[str]:
        given = self.bundle.data["assumptions"]
        slope = given["attitude_deg"]
        error = f"{self.figures(given['port_error_mm'], 'mm')}, {self.figures(given['port_angle_error_deg'], 'deg')}"
        return [
            self.texts("proof.assume_shape", poses=given["poses"]),
            self.texts("proof.assume_states"),
            self.texts("proof.assume_gravity", slope=self.figures(slope, "deg"))
            if slope
            else self.texts("proof.assume_level"),
            self.texts(
                "proof.assume_stiffness", factor=self.figures.number(given["torsional_over_bending_stiffness"], "")
            ),
            self.texts("proof.assume_ports", error=error),
        ]

    def _states(self, run: RunData) -> dict[str, Any]:
        given = run["assumptions"]
        stiffness = given["bending_stiffness_nm2"]
        return {
            "name": run["name"],
            "stiffness": "–" if stiffness is None else f"{self.figures.number(stiffness, '')} N m²",
            "source": given["bending_stiffness_source"] or "–",
            "spans": [
                [
                    span["span"],
                    *(self.figures(span[f"{state}_mm"], "mm") for state in ("nominal", "shortest", "longest")),
                ]
                for span in given["spans"]
            ],
        }

    def _profile(self) -> list[list[str]]:
        rows = []
        for name, figure in self.bundle.data["assumptions"]["profile"].items():
            unit = figure["unit"]
            value = self.figures(figure["value"], unit).rstrip()
            rows.append([self.texts(f"figures.{name}"), value, figure["source"]])
        return rows

    def _not_checked(self, text: str) -> str:
        return self.texts.section("not_checked").get(text, text)
