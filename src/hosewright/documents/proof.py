"""Proof sheet of a machine: every rule on every run with its figures; charts; what was assumed, and not checked."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from hosewright.checks.check import RunResult
from hosewright.checks.finding import Verdict
from hosewright.documents.bundle import Bundle
from hosewright.documents.charts import margins_chart, radius_chart
from hosewright.documents.findings_in_words import FindingsInWords, relative_margin, worst_first
from hosewright.documents.fitting_steps import invented_ends
from hosewright.documents.limit_arithmetic import LimitArithmetic
from hosewright.documents.poses_in_words import PosesInWords
from hosewright.documents.subjects import span_in_words, subject_in_words

VERDICTS = tuple(str(verdict) for verdict in Verdict)
FILE = "proof.pdf"
COUNTED = ""
"""Unit of findings whose figures are counts, which say less than their sentence."""

TRIED = {
    "stiffness other than the nominal one": "stiffness",
    "ports off by their measuring error, in radius and clearance": "ports",
}
"""What a check leaves out, and a plan tries at limits of this kind."""

ENDS_OFF = ("ports", "clock", "orientation")
"""Kinds of limits that an end which is off would twist the hose by, were it not judged by a rule of its own."""

RunData = Mapping[str, Any]
FindingData = Mapping[str, Any]


def files(bundle: Bundle) -> Iterator[tuple[str, bytes]]:
    """The sheet; none where a job has no run."""
    if bundle.data["runs"]:
        yield FILE, _Proof(bundle).pdf()


class _Proof:
    """The sheet being written; the sources get their numbers in the order in which they are named."""

    def __init__(self, bundle: Bundle) -> None:
        self.bundle, self.texts, self.figures = bundle, bundle.texts, bundle.figures
        self.words, self.sums = FindingsInWords(bundle), LimitArithmetic(bundle)
        self.poses = PosesInWords(bundle.result, self.texts, self.figures)
        self.sources: dict[str, int] = {}
        self.pictures: dict[str, bytes] = {}

    def pdf(self) -> bytes:
        data = self.bundle.data
        pairs = list(zip(data["runs"], self.bundle.result.runs, strict=True))
        runs = [self._run(number, run, result) for number, (run, result) in enumerate(pairs, start=1)]
        contents = {
            "here": self.texts.section("proof"),
            "verdict": list(self._verdict()),
            "stopped": bool(self._stopped()),
            "verdicts": [self.texts(f"common.verdict_{verdict}") for verdict in VERDICTS],
            "summary": [self._summary(run) for run in data["runs"]],
            "warnings": [*invented_ends(self.bundle), *self.bundle.warnings],
            "units": self._word("converted") if self.figures.system == "us" else None,
            "inputs": self._inputs(),
            "runs": runs,
            "assumptions": self._assumptions(),
            "joints": self._joints(),
            "states": [self._states(run) for run in data["runs"]],
            "profile": self._profile(),
            "sources": [[str(number), source] for source, number in self.sources.items()],
            "not_checked": [self._not_checked(text) for text in data["not_checked"]],
            "cautions": [self.texts(f"common.caution_{one}") for one in ("maker", "approve")],
        }
        return self.bundle.pdf("proof", self._word("title"), contents, self.pictures)

    def _word(self, key: str, **values: object) -> str:
        return self.texts(f"proof.{key}", **values)

    # ---- the whole job ----

    def _verdict(self) -> Iterator[str]:
        """What an inspector wants to know first, in a few sentences."""
        runs, stopped = self.bundle.data["runs"], self._stopped()
        findings = [finding for run in runs for finding in run["findings"]]
        counts = {verdict: sum(one["verdict"] == verdict for one in findings) for verdict in VERDICTS}
        if stopped:
            names = "; ".join(run["name"] for run in stopped)
            yield self._word("verdict_stopped", stopped=len(stopped), count=len(runs), names=names)
        else:
            yield self._word(f"verdict_all_{next(one for one in VERDICTS if counts[one])}")
        yield self._word("verdict_counts", **counts)
        yield self._limits_verdict(runs)

    def _limits_verdict(self, runs: list[RunData]) -> str:
        tried = [limit for run in runs for limit in run["limits"] or ()]
        untried = [run["name"] for run in runs if not run["limits"]]
        if not tried:
            return self._word("verdict_untried")
        held = sum(limit["holds"] for limit in tried)
        told = [self._word("verdict_limits", held=held, count=len(tried))]
        weak = [run["name"] for run in runs if not all(limit["holds"] for limit in run["limits"] or ())]
        for key, names in (("verdict_weak", weak), ("verdict_partly", untried)):
            if names:
                told.append(self._word(key, names="; ".join(names)))
        return " ".join(told)

    def _stopped(self) -> list[RunData]:
        return [run for run in self.bundle.data["runs"] if self._stops(run)]

    def _stops(self, run: RunData) -> list[str]:
        return self.bundle.stops(run)

    def _inputs(self) -> list[list[str]]:
        """What an inspector needs to get the same result: name and value of each."""
        data = self.bundle.data
        return [
            [self._word("input_file"), data["job"]],
            [self._word("input_hash"), data["input_hash"]],
            [self._word("input_program"), data["program"]],
            [self._word("input_catalog"), data["catalog"]],
        ]

    def _summary(self, run: RunData) -> dict[str, Any]:
        findings = run["findings"]
        assembly = run["assembly"]
        return {
            "number": assembly["number"],
            "name": run["name"],
            "hose": assembly["hose"],
            "length": self.figures(assembly["overall_length_mm"], "mm"),
            "counts": [str(sum(one["verdict"] == verdict for one in findings)) for verdict in VERDICTS],
            "stop": bool(self._stops(run)),
            "limits": self._limits_count(run),
            "tightest": self._tightest(run),
        }

    def _limits_count(self, run: RunData) -> str:
        limits = run["limits"]
        if not limits:
            return self._word("not_tried")
        return self._word("limits_count", held=sum(limit["holds"] for limit in limits), count=len(limits))

    def _tightest(self, run: RunData) -> str:
        """The rule that is nearest to its limit, or furthest beyond it, with its margin."""
        judged = [
            one
            for one in run["findings"]
            if one["limit"] is not None and one["margin"] is not None and one["unit"] != COUNTED
        ]
        worst = min(judged, key=lambda one: (one["verdict"] != "fail", relative_margin(one)), default=None)
        if worst is None:
            return "–"
        return self._word("tightest_is", finding=self.words.sentence(worst), margin=self.words.margin(worst))

    # ---- a run ----

    def _run(self, number: int, run: RunData, result: RunResult) -> dict[str, Any]:
        charts = {
            "radius": radius_chart(result, texts=self.texts, figures=self.figures),
            "margins": margins_chart(self.bundle.result, result, texts=self.texts, figures=self.figures),
        }
        names = {kind: f"{kind}-{number}.svg" for kind, chart in charts.items() if chart is not None}
        self.pictures |= {names[kind]: chart for kind, chart in charts.items() if chart is not None}
        self.pictures[f"hose-{number}.svg"] = self.bundle.pictures[run["name"]]
        return {
            **self._summary(run),
            "place": str(number),
            "stops": self._stops(run),
            "duty": list(self._duty(run)),
            "hose_data": [self._hose_figure(one) for one in run["assumptions"]["hose_data"]],
            "picture": f"hose-{number}.svg",
            "picture_alt": self._word("picture_alt", run=run["name"], worst=self._worst(run)),
            "charts": names,
            "findings": [self._finding(finding, run) for finding in run["findings"]],
            "tried": [self._limit(limit) for limit in run["limits"] or ()],
            "tried_note": self._word("limits_twist") if _ends_off(run) else None,
        }

    def _worst(self, run: RunData) -> str:
        shown = worst_first(one for one in run["findings"] if one["measure"] is not None)
        return self.words.sentence(shown[0]) if shown else ""

    def _duty(self, run: RunData) -> Iterator[str]:
        assembly, figures = run["assembly"], self.figures
        yield " – ".join(end["port"] for end in assembly["ends"])
        yield self.texts(f"common.line_{assembly['line']}")
        yield self._word("duty_working", pressure=figures(assembly["working_pressure_bar"], "bar"))
        yield self._word("duty_peak", pressure=figures(assembly["peak_pressure_bar"], "bar"))
        yield self._word("duty_flow", flow=figures(run["assumptions"]["flow_l_min"], "L/min"))
        yield from self._cylinder(run)
        low, high = assembly["fluid_temperature_min_c"], assembly["fluid_temperature_max_c"]
        yield self._word("duty_fluid", fluid=assembly["fluid"], range=f"{figures(low, '°C')} … {figures(high, '°C')}")
        rating = figures(assembly["rating_bar"], "bar")
        part = self.bundle.source(assembly, "rating_part") or self.texts("common.unknown")
        yield self._word("duty_rating", rating=rating, part=part)

    def _cylinder(self, run: RunData) -> Iterator[str]:
        """What a cylinder makes of the supply's flow and pressures, so that velocities can be worked out by hand."""
        given, figures = run["assumptions"]["cylinder"], self.figures
        if given is None:
            return
        bore, rod = (figures(given[key], "mm") for key in ("bore_mm", "rod_diameter_mm"))
        ratio = figures.number(given["area_ratio"], "")
        yield self._word(f"duty_{given['side']}_side", bore=bore, rod=rod, ratio=ratio)
        if given["flow_l_min"] != run["assumptions"]["flow_l_min"]:
            yield self._word("duty_returned", flow=figures(given["flow_l_min"], "L/min"), ratio=ratio)
        if given["peak_pressure_bar"] != run["assembly"]["peak_pressure_bar"]:
            working, peak = (figures(given[f"{key}_pressure_bar"], "bar") for key in ("working", "peak"))
            yield self._word("duty_raised", working=working, peak=peak, ratio=ratio)

    def _hose_figure(self, one: Mapping[str, Any]) -> list[str]:
        value = self.figures(one["value"], one["unit"])
        return [self._word(f"hose_{one['figure']}"), value, self._numbered(self.bundle.source(one))]

    def _numbered(self, source: str | None) -> str:
        return "–" if source is None else str(self.sources.setdefault(source, len(self.sources) + 1))

    def _finding(self, finding: FindingData, run: RunData) -> dict[str, Any]:
        counted = finding["unit"] == COUNTED
        return {
            "verdict": finding["verdict"],
            "word": self.words.verdict(finding),
            "rule": self.words.name(finding),
            "sentence": self.words.text(finding) if counted else None,
            "measure": self.words.measure(finding),
            "bounds": self._bounds(finding, run),
            "margin": self._margin(finding),
            "where": self.words.where(finding),
            "source": self._source(finding),
            "text": None if counted or finding["verdict"] == Verdict.PASS else self.words.text(finding),
            "remedy": self.words.remedy(finding),
        }

    def _bounds(self, finding: FindingData, run: RunData) -> list[list[str | None]]:
        """Limit and advice, each with the sum that it comes from."""
        sums = [
            sum_of(finding, run)
            for bound, sum_of in (("limit", self.sums.limit), ("advice_limit", self.sums.advice))
            if finding[bound] is not None
        ]
        return [[bound, how] for bound, how in zip(self.words.bounds(finding), sums, strict=True)]

    def _margin(self, finding: FindingData) -> list[str | None]:
        """To the limit with its sign; to the advice in words, since the contract has no margin beyond it."""
        measure, advice = finding["measure"], finding["advice_limit"]
        to_limit = None if finding["limit"] is None else self.words.margin(finding)
        if measure is None or advice is None:
            return [to_limit or "–", None]
        over = round(advice - measure if finding["at_least"] else measure - advice, 2)
        if to_limit is not None and over <= 0.0:
            return [to_limit, None]
        key, by = ("beyond_advice", over) if over > 0.0 else ("within_advice", finding["margin"])
        return [to_limit, self._word(key, by=self.words.difference(by, finding["unit"]))]

    def _source(self, finding: FindingData) -> str:
        if finding["source"] is None:
            return "–"
        confidence = self._word("conf_" + finding["confidence"].replace(" ", "_"))
        return f"{self._numbered(self.bundle.source(finding))} {confidence}"

    def _limit(self, limit: Mapping[str, Any]) -> list[str]:
        name = self.texts.name(limit["name"], "limits")
        holds = self._word("holds" if limit["holds"] else "holds_not")
        if limit["rule"] is None:
            return [name, self._word("limit_unsolved"), "–", "–", "–", holds]
        subject = subject_in_words(limit["rule"], limit["subject"], self.texts)
        rule = self.texts(f"rules.{limit['rule']}") + (f", {subject}" if subject else "")
        measure = self.figures(limit["measure"], limit["unit"])
        bound = self.words.bound(limit["limit"], limit["unit"], at_least=_at_least(limit))
        return [name, rule, measure, bound, self.words.margin(limit), holds]

    # ---- what it rests on ----

    def _assumptions(self) -> list[str]:
        given = self.bundle.data["assumptions"]
        slope = given["attitude_deg"]
        error = f"{self.figures(given['port_error_mm'], 'mm')}, {self.figures(given['port_angle_error_deg'], 'deg')}"
        factor = self.figures.number(given["torsional_over_bending_stiffness"], "")
        return [
            self._word("assume_shape", poses=given["poses"]),
            self._word("assume_states"),
            self._word("assume_gravity", slope=self.figures(slope, "deg")) if slope else self._word("assume_level"),
            self._word("assume_stiffness", factor=factor),
            self._word("assume_ports", error=error),
            *([self._word("limits_note")] if any(run["limits"] for run in self.bundle.data["runs"]) else []),
            *([self._word("limits_twist")] if any(map(_ends_off, self.bundle.data["runs"])) else []),
        ]

    def _joints(self) -> dict[str, Any]:
        motion = self.bundle.data["assumptions"]["motion"]
        return {
            "paths": self._word("motion_paths", paths=motion["paths"]),
            "rows": [self._joint(joint) for joint in motion["joints"]],
            "service": [self.poses(pose) for pose in motion["service_poses"]],
        }

    def _joint(self, joint: Mapping[str, Any]) -> list[str]:
        stops = (joint["lowest"], joint["highest"])
        unit = joint["unit"]
        ranges = [self._word("no_stop") if stop is None else self.figures(stop, unit) for stop in stops]
        return [joint["joint"], *ranges, *(self.figures(joint[key], unit) for key in ("from", "to"))]

    def _states(self, run: RunData) -> dict[str, Any]:
        given = run["assumptions"]
        stiffness = given["bending_stiffness_nm2"]
        return {
            "name": run["name"],
            "stiffness": "–" if stiffness is None else f"{self.figures.number(stiffness, '')} N m²",
            "source": self._numbered(self.bundle.source(given, "bending_stiffness_source")),
            "spans": [
                [
                    span_in_words(span["span"], self.texts),
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
            rows.append([self.texts(f"figures.{name}"), value, self.bundle.source(figure) or ""])
        return rows

    def _not_checked(self, text: str) -> str:
        shown = self.texts.section("not_checked").get(text, text)
        kind = TRIED.get(text)
        runs = self.bundle.data["runs"]
        tried = kind and all(any(limit["kind"] == kind for limit in run["limits"] or ()) for run in runs)
        return self._word("tried_at_limits", point=shown) if tried else shown


def _ends_off(run: RunData) -> bool:
    return any(limit["kind"] in ENDS_OFF for limit in run["limits"] or ())


def _at_least(limit: Mapping[str, Any]) -> bool:
    # limits of a plan are written without it; their margin is the difference, to one side or the other
    over = limit["measure"] - limit["limit"]
    return bool(abs(over - limit["margin"]) <= abs(over + limit["margin"]))
