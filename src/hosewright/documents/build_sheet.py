"""Build sheet: one page an assembly, with all that a shop needs to cut, crimp, mark and prove it, and its drawing."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from hosewright.documents.assembly_data import is_invented
from hosewright.documents.assembly_drawing import AssemblyDrawing, draw
from hosewright.documents.bundle import Bundle
from hosewright.documents.folder import slug
from hosewright.documents.sleeves import against_what

MOST_REASONS = 3
"""Reasons not to build, and warnings: so many are printed, the proof sheet has the rest."""
MOST_DOUBTS = 20
"""Warnings of a sample, which has no proof sheet."""

SLIP = 0.05
"""Rounded lengths that miss their sum by less than this add up. [mm]"""


@dataclass(frozen=True, eq=False)
class Sheet:
    """What a build sheet is made from: an assembly of a run, or a sample to re-make.

    Attributes
    ----------
    name
        Of the run or the sample.
    assembly
        Its block of the contract, as ``assembly_data`` or ``parts_data`` gives it, with its number.
    stops
        Why it must not be built.
    warnings
        What a builder must know, one sentence each, the weightiest first.
    weighty
        How many of them stand out.
    """

    name: str
    assembly: Mapping[str, Any]
    stops: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    weighty: int = 0


def files(bundle: Bundle) -> Iterator[tuple[str, bytes]]:
    """Build sheet (PDF) and drawing (DXF) of every run, and of every sample of which enough is known."""
    runs = [sheet_of_run(bundle, run) for run in bundle.data["runs"]]
    samples = [
        Sheet(one["name"], one["assembly"], tuple(bundle.stops(one)), *_told(one["warnings"], bundle))
        for one in bundle.data["samples"]
        if one["assembly"] is not None
    ]
    return sheet_files(bundle, [*runs, *samples])


def _told(warnings: Iterable[Mapping[str, Any]], bundle: Bundle) -> tuple[tuple[str, ...], int]:
    """Warnings of a sample, those of a kind in one, and how many of them are weighty; those that stop stand above."""
    kinds: dict[tuple[str, bool], list[str]] = {}
    for one in warnings:
        if not one["stops"]:
            kinds.setdefault((one["kind"], one["weighty"]), []).append(bundle.write(one["said"]))
    texts = tuple("; ".join([first, *(text.partition(": ")[2] for text in more)]) for first, *more in kinds.values())
    return texts, sum(weighty for _, weighty in kinds)


def sheet_of_run(bundle: Bundle, run: Mapping[str, Any]) -> Sheet:
    """What the sheet of a run of the contract is made from."""
    texts = bundle.texts
    doubts = [
        f"{texts('rules.' + one['rule'])}: {bundle.write(one['said'])}"
        for one in run["findings"]
        if one["verdict"] == "unknown"
    ]
    told = bundle.warnings_of(run)
    return Sheet(run["name"], run["assembly"], tuple(bundle.stops(run)), (*told, *doubts), len(told))


def sheet_files(bundle: Bundle, sheets: Iterable[Sheet]) -> Iterator[tuple[str, bytes]]:
    """Build sheet and drawing of each, under its number."""
    taken: set[str] = set()
    for sheet in sheets:
        stem = file_stem(sheet.assembly["number"] or sheet.name, sheet.name, taken)
        drawing = draw(sheet.assembly, f"{sheet.assembly['number'] or ''} {sheet.name}".strip(), bundle.figures)
        yield f"{stem}.build.pdf", sheet_pdf(bundle, sheet, drawing)
        yield f"{stem}.dxf", drawing.dxf


def file_stem(number: str, name: str, taken: set[str]) -> str:
    """Name of a file for a number, on any system; the run's name is added where the number is taken."""
    stem = slug(number)
    if stem.casefold() in taken:
        stem = f"{stem}-{slug(name)}"
    unique, count = stem, 2
    while unique.casefold() in taken:
        unique, count = f"{stem}-{count}", count + 1
    taken.add(unique.casefold())
    return unique


def sheet_pdf(bundle: Bundle, sheet: Sheet, drawing: AssemblyDrawing) -> bytes:
    """The page."""
    words = _Words(bundle, sheet, drawing)
    title = bundle.texts("build_sheet.title", number=sheet.assembly["number"] or sheet.name)
    pictures = {"drawing.svg": drawing.svg}
    if sheet.assembly["orientation_angle_deg"] is not None:
        pictures["clock.svg"] = clock_face(sheet.assembly["orientation_angle_deg"], bundle.figures(
            sheet.assembly["orientation_angle_deg"], "deg"))  # fmt: skip
    return bundle.pdf("build_sheet", title, words.data(), pictures)


class _Words:
    """The sheet's numbers and sentences, written in the units and the language of the shop."""

    def __init__(self, bundle: Bundle, sheet: Sheet, drawing: AssemblyDrawing) -> None:
        self.bundle, self.sheet, self.drawing = bundle, sheet, drawing
        self.texts, self.figures, self.assembly = bundle.texts, bundle.figures, sheet.assembly

    def data(self) -> dict[str, Any]:
        return {
            "words_here": self.texts.section("build_sheet"),
            "name": self.sheet.name,
            "number": self.assembly["number"],
            "stops": self._stops(),
            "warnings": self._warnings(),
            "hose": self._hose(),
            "duty": self._duty(),
            "ends": self._ends(),
            "lengths": self._lengths(),
            "orientation": self._orientation(),
            "marks": self._marks(),
            "steps": self._steps(),
            "records": self._records(),
            "drawing": {
                "scale": f"1 : {self.drawing.scale:g}".replace(".", self.texts.decimal_mark),
                "alt": self._word(
                    "drawing_alt",
                    overall=self._length("overall_length_mm"),
                    cut=self._length("cut_length_mm"),
                ),
                "guessed": self._guessed(),
                "read": " ".join([self._word("measuring_points"), *self._dashed()]),
                "units": self._word(f"drawing_units_{self.figures.system}"),
            },
            "units_note": None if self.figures.system == "metric" else self._word("units_note"),
            "cautions": [self.texts(f"common.caution_{one}") for one in ("leak", "maker", "approve")],
        }

    def _word(self, key: str, **values: object) -> str:
        return self.texts(f"build_sheet.{key}", **values)

    def _length(self, key: str, data: Mapping[str, Any] | None = None) -> str:
        return self.figures((self.assembly if data is None else data)[key], "mm")

    def _stops(self) -> list[str]:
        reasons = list(map(_capital, self.sheet.stops))
        more = len(reasons) - MOST_REASONS
        return reasons if more <= 0 else [*reasons[:MOST_REASONS], self._word("more_reasons", count=more)]

    def _warnings(self) -> list[dict[str, Any]]:
        missing = self._missing()
        lacks = [self._word("missing", names=", ".join(missing))] if missing else []
        invented = any(map(is_invented, self.assembly["ends"]))
        own = (f"{_capital(text).rstrip('.')}." for text in self.sheet.warnings)
        warnings = [*([self.texts("common.invented_ends")] if invented else []), *lacks, *own]
        weighty = len(warnings) - len(self.sheet.warnings) + self.sheet.weighty
        shown = [{"text": text, "weighty": place < weighty} for place, text in enumerate(warnings)]
        # where it must not be built, the reasons need the room
        most = MOST_DOUBTS if self.assembly["line"] is None else MOST_REASONS - bool(self.sheet.stops)
        more = len(shown) - most
        if more <= 0:
            return shown
        return [*shown[:most], {"text": self._word("more_warnings", count=more), "weighty": False}]

    def _missing(self) -> list[str]:
        """Names of the figures that a builder needs and the data does not give."""
        here = [key for key in ("outside_diameter_mm", "hose_working_pressure_bar", "minimum_bend_radius_mm",
                                "overall_plus_mm") if self.assembly[key] is None]  # fmt: skip
        names = [self._word(f"missing_{key}") for key in here]
        for end in self.assembly["ends"]:
            keys = [key for key in ("ferrule_diameter_mm", "nut_width_mm", "hex_width_mm") if end[key] is None]
            names += [f"{self._word(f'missing_{key}')} ({self._end_name(end)})" for key in keys]
        return names + [
            self._word("missing_rating", part=self.bundle.write(part)) for part in self.assembly["rating_unknown_said"]
        ]

    def _dashed(self) -> list[str]:
        return [self._word("drawing_sleeve")] if self.assembly["sleeve"] else []

    def _guessed(self) -> str | None:
        return self._word("guessed") if self.drawing.guessed else None

    def _end_name(self, end: Mapping[str, Any]) -> str:
        return self.texts("common.end", name=end["name"])

    # ---- tables: pairs of word and value ----

    def _hose(self) -> list[list[str]]:
        data, figures = self.assembly, self.figures
        return [
            [self._word("hose"), data["hose"]],
            [self._word("construction"), self._construction()],
            [
                self._word("size"),
                f"-{data['dash_size']}, {self._word('bore')} {figures.crimp(data['inside_diameter_mm'])}",
            ],
            [self._word("standard"), data["standard"] or figures.unknown],
            [self._word("outside_diameter"), figures.crimp(data["outside_diameter_mm"])],
            [self._word("minimum_bend_radius"), figures.at_least(data["minimum_bend_radius_mm"], "mm")],
            [self._word("temperature"), figures.span(data["temperature_min_c"], data["temperature_max_c"], "°C")],
        ]

    def _construction(self) -> str:
        name, _, layers = self.assembly["construction"].partition(", ")
        return f"{name}, {self.texts.section('layers').get(layers, layers)}" if layers else name

    def _duty(self) -> list[list[str]]:
        data, figures = self.assembly, self.figures
        parts = [data["rating_part_said"]] if data["rating_part"] else data["rating_unknown_said"]
        part = ", ".join(map(self.bundle.write, parts))
        return [
            [self._word("hose_pressure"), figures.at_most(data["hose_working_pressure_bar"], "bar")],
            [self._word("rating"), figures.at_most(data["rating_bar"], "bar")],
            [self._word("rating_part" if data["rating_part"] else "rating_lacks"), _capital(part)],
            *(self._line_of_sample() if data["line"] is None else self._line()),
        ]

    def _line(self) -> list[list[str]]:
        data, figures = self.assembly, self.figures
        warm = figures.demand(data["fluid_temperature_min_c"], data["fluid_temperature_max_c"], "°C")
        return [
            [self._word("line"), self.texts(f"common.line_{data['line']}")],
            [self._word("working_pressure"), figures.at_least(data["working_pressure_bar"], "bar")],
            [self._word("peak_pressure"), figures.at_least(data["peak_pressure_bar"], "bar")],
            [self._word("fluid"), f"{data['fluid']}, {warm}"],
        ]

    def _line_of_sample(self) -> list[list[str]]:
        """What was told of its line; the warnings say what was not."""
        pressure, fluid = self.assembly["working_pressure_bar"], self.assembly["fluid"]
        told = [] if pressure is None else [[self._word("working_pressure"), self.figures.at_least(pressure, "bar")]]
        return told if fluid is None else [*told, [self._word("fluid"), fluid]]

    def _ends(self) -> dict[str, Any]:
        a, b = self.assembly["ends"]
        rows = [(self._word(key), write(a), write(b)) for key, write in self._end_rows().items()]
        return {
            "head": [self._end_name(a), self._end_name(b)],
            "rows": [list(row) for row in rows if set(row[1:]) != {""}],
            "source": "; ".join(dict.fromkeys(self.bundle.source(end) or self.figures.unknown for end in (a, b))),
        }

    def _end_rows(self) -> dict[str, Any]:
        figures = self.figures

        bent_ends = any(end["exit_angle_deg"] for end in self.assembly["ends"])

        def bent(write: Any) -> Any:
            return lambda end: write(end) if end["exit_angle_deg"] else "–" if bent_ends else ""

        return {
            "port": lambda end: end["port"] or "",
            "adapters": lambda end: ", ".join(self.texts.name(one["name"]) for one in end["adapters"]),
            "connection": lambda end: self.texts.name(end["connection"], "connections"),
            "form": self._form,
            "drop": bent(lambda end: figures.crimp(end["drop_mm"])),
            "insertion": lambda end: figures.crimp(end["insertion_mm"]),
            "ferrule_diameter": lambda end: figures.crimp(end["ferrule_diameter_mm"]),
            "ferrule_length": lambda end: figures.crimp(end["ferrule_length_mm"]),
            "nut": lambda end: figures.spanner(end["nut_width_mm"]),
            "hex": lambda end: figures.spanner(end["hex_width_mm"]),
        }

    def _form(self, end: Mapping[str, Any]) -> str:
        """Name of the form, with its bend where the name does not tell it."""
        name, bend = self.texts.name(end["form"]), end["exit_angle_deg"]
        return f"{name}, {self.figures(bend, 'deg')}" if bend and f"{bend:g}" not in name else name

    def _lengths(self) -> dict[str, Any]:
        """The cut length as a sum in mm, which a bench can check; inches stand below."""
        data, metric = self.assembly, self.figures.metric
        overall, cut, computed = (data[f"{key}_mm"] for key in ("overall_length", "cut_length", "computed_cut_length"))
        cutoffs = [end["cutoff_mm"] for end in data["ends"]]
        return {
            "overall": metric(overall, "mm"),
            "cutoff_a": metric(cutoffs[0], "mm"),
            "cutoff_b": metric(cutoffs[1], "mm"),
            "equals": "=" if _adds_up([overall, *cutoffs, cut]) else "≈",
            "cut": metric(cut, "mm"),
            "computed": None if cut == computed else self._word("computed", computed=metric(computed, "mm")),
            "inches": None if self.figures.system == "metric" else self._inches(overall, cut),
            "tolerance": self._tolerance(),
            "free": metric(data["free_length_mm"], "mm"),
        }

    def _inches(self, overall: float, cut: float) -> str:
        inches = self.figures.inches
        return self._word("in_inches", overall=inches(overall), cut=inches(cut))

    def _tolerance(self) -> str:
        data, metric = self.assembly, self.figures.metric
        if data["overall_plus_mm"] is None:
            return self._word("no_tolerance")
        return self._word(
            "tolerance",
            window=self.figures.window(data["overall_least_mm"], data["overall_greatest_mm"]),
            plus=metric(data["overall_plus_mm"], "mm"),
            minus=metric(data["overall_minus_mm"], "mm"),
            source=self.bundle.source(data, "tolerance_source"),
        )

    def _orientation(self) -> dict[str, Any]:
        angle = self.assembly["orientation_angle_deg"]
        if angle is None:
            bent = [end for end in self.assembly["ends"] if end["exit_angle_deg"]]
            return {"angle": None, "words": self._word("orientation_open" if len(bent) == 2 else "orientation_none")}
        tolerance = self.assembly["orientation_tolerance_deg"]
        return {
            "angle": self.figures(angle, "deg"),
            "tolerance": "" if tolerance is None else f"± {self.figures(tolerance, 'deg')}",
            "words": self._word("orientation_convention"),
            "view": self._word("orientation_view"),
            "alt": self._word("clock_alt", angle=self.figures(angle, "deg")),
        }

    def _marks(self) -> dict[str, Any]:
        data, figures = self.assembly, self.figures
        return {
            "clamps": [[clamp["mount"], figures.cut(clamp["mark_mm"])] for clamp in data["clamps"]],
            "sleeve": self._sleeve() if data["sleeve"] else None,
        }

    def _sleeve(self) -> dict[str, str]:
        against = against_what(self.assembly["sleeve_kinds"], self.texts)
        return {
            "for": self._word("sleeve_against", kinds=against) if against else self._word("sleeve_asked"),
            "how": self._word("sleeve", length=self.figures.cut(self.assembly["sleeve_length_mm"])),
        }

    def _steps(self) -> list[str]:
        data = self.assembly
        a, b = data["ends"]
        steps = [
            self._word("step_cut", cut=self.figures.cut(data["cut_length_mm"])),
            self._word("step_mark", a=self.figures.crimp(a["insertion_mm"]), b=self.figures.crimp(b["insertion_mm"])),
            self._word("step_first"),
            self._word("step_lay_line"),
        ]
        if data["sleeve"]:
            steps.append(self._word("step_sleeve", length=self.figures.cut(data["sleeve_length_mm"])))
        if data["orientation_angle_deg"] is None:
            steps.append(self._word("step_second"))
        else:
            angle = self.figures(data["orientation_angle_deg"], "deg")
            steps.append(self._word("step_second_turned", angle=angle))
        if data["overall_least_mm"] is not None:
            window = self.figures.window(data["overall_least_mm"], data["overall_greatest_mm"])
            steps.append(self._word("step_check", window=window))
        if data["clamps"]:
            steps.append(self._word("step_clamps"))
        return [*steps, self._proof("step_proof"), self._word("step_clean")]

    def _proof(self, key: str) -> str:
        proof = self.assembly["proof_pressure_bar"]
        return (
            self._word(f"{key}_unknown")
            if proof is None
            else self._word(key, proof=self.figures.at_least(proof, "bar"))
        )

    def _records(self) -> dict[str, Any]:
        data = self.assembly
        return {
            "pressure_unit": self.figures.unit("bar"),
            "orientation": data["orientation_angle_deg"] is not None,
            "proof": self._proof("proof"),
        }


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _adds_up(parts: list[float]) -> bool:
    return math.isclose(parts[0] - parts[1] - parts[2], parts[3], abs_tol=SLIP)


def clock_face(angle: float, shown: str) -> bytes:
    """Picture of the orientation angle: outlet of end a at twelve, that of end b clockwise from it.

    Parameters
    ----------
    angle
        Orientation angle. [deg]
    shown
        The angle as written beside its arc.
    """
    ticks = "".join(_tick(hour) for hour in range(12))
    apart = 20.0 <= angle <= 340.0  # else the letters would lie on each other
    side = 12.0 if angle < 180.0 else -12.0
    b = _hand(angle, "b", angle if apart else side, 2.6, 'fill="white" stroke="black" stroke-width="0.6"', "2 1")
    a = _hand(0.0, "a", 0.0 if apart else -side, 1.5, 'fill="black"', "")
    text = _sign(*_on_clock(angle / 2.0 if angle > 60.0 else angle + 60.0, 4.6), shown, 3.0)
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="50mm" height="50mm" viewBox="0 0 50 50">'
        f'<circle cx="25" cy="25" r="18" fill="none" stroke="black" stroke-width="0.5"/>'
        f"{ticks}{_arc(angle)}{b}{a}{text}</svg>"
    ).encode()


def _on_clock(degrees: float, radius: float) -> tuple[float, float]:
    turn = math.radians(degrees)
    return 25.0 + radius * math.sin(turn), 25.0 - radius * math.cos(turn)


def _tick(hour: int) -> str:
    quarter = hour % 3 == 0
    (x, y), (u, v) = _on_clock(30.0 * hour, 15.2 if quarter else 16.2), _on_clock(30.0 * hour, 18.0)
    width = 0.7 if quarter else 0.3
    return f'<line x1="{x:.2f}" y1="{y:.2f}" x2="{u:.2f}" y2="{v:.2f}" stroke="black" stroke-width="{width}"/>'


def _hand(degrees: float, letter: str, letter_at: float, size: float, style: str, dashes: str) -> str:
    x, y = _on_clock(degrees, 12.0)
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    return (
        f'<line x1="25" y1="25" x2="{x:.2f}" y2="{y:.2f}" stroke="black" stroke-width="1.3"{dashed}/>'
        f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{size}" {style}/>{_sign(*_on_clock(letter_at, 21.5), letter, 4.6)}'
    )


def _arc(angle: float) -> str:
    """From twelve clockwise to the angle, with its arrow; none where there is no room."""
    if not 12.0 < angle < 359.0:
        return ""
    (x, y), (p, q), (r, s) = _on_clock(angle, 8.0), _on_clock(angle - 9.0, 9.3), _on_clock(angle - 9.0, 6.7)
    return (
        f'<path d="M 25 17 A 8 8 0 {int(angle > 180.0)} 1 {x:.2f} {y:.2f}" fill="none" stroke="black" '
        f'stroke-width="0.5"/><polygon points="{x:.2f},{y:.2f} {p:.2f},{q:.2f} {r:.2f},{s:.2f}"/>'
    )


def _sign(x: float, y: float, text: str, size: float) -> str:
    return (
        f'<text x="{x:.2f}" y="{y:.2f}" dy="{0.36 * size:.2f}" font-family="DejaVu Sans Mono" font-size="{size}" '
        f'text-anchor="middle">{text}</text>'
    )
