"""Papers of a machine for the tests: what they say, and the numbers in it."""

from __future__ import annotations

import io
import math
import re
from collections import Counter
from collections.abc import Iterable, Iterator
from functools import cache
from typing import Any

from pypdf import PdfReader

import fitted_job
from counter_papers import bundle
from hosewright.documents import installation, proof
from hosewright.documents.bundle import Bundle
from hosewright.documents.clamps_in_words import from_port
from hosewright.documents.clocks import clock_views

NUMBER = re.compile(r"\d+(?:[.,]\d+)?")


@cache
def papers(language: str, paper: str = "a4", units: str = "metric") -> tuple[Bundle, dict[str, bytes]]:
    """Installation and proof sheet of the example platform."""
    made = bundle(language=language, paper=paper, units=units)
    return made, {name: content for maker in (installation, proof) for name, content in maker.files(made)}


@cache
def fitted_papers(language: str, paper: str = "a4", units: str = "metric") -> tuple[Bundle, dict[str, bytes]]:
    """Installation and proof sheet of a job with adapters, clamps and bent ends, all of which passes."""
    made = fitted_job.bundle(language=language, paper=paper, units=units)
    return made, {name: content for maker in (installation, proof) for name, content in maker.files(made)}


def worked_out(made: Bundle) -> set[str]:
    """Numbers that paper may hold beside those of the contract, each worked out from the contract anew."""
    verdicts = [finding["verdict"] for run in made.data["runs"] for finding in run["findings"]]
    found: set[float] = set(map(float, Counter(verdicts).values()))
    for run in made.data["runs"]:
        assembly = run["assembly"]
        twice, free = 2.0 * assembly["outside_diameter_mm"], assembly["free_length_mm"]
        rates = [one["measure"] for one in run["findings"] if one["rule"] == "twist as built"]
        built = float(round(rates[0] * free / 1000.0)) if rates else 0.0
        found.add(twice)
        found |= {float(view.degrees) for view in clock_views(made.result, made.result.run(run["name"]))}
        found |= _above_lowest(made, assembly["fitting_pose"])
        for clamp in assembly["clamps"]:
            found |= {float(abs(round(one))) for one in from_port(clamp["mount"], made, made.result.run(run["name"]))}
        for finding in run["findings"]:
            found |= _above_lowest(made, finding["pose"])
            if finding["at_mm"] is not None:
                found.add(free - finding["at_mm"])
            if finding["advice_limit"] is not None and finding["measure"] is not None:
                found.add(abs(finding["advice_limit"] - finding["measure"]))
            found |= _on_a_rule(finding, twice, free, built)
    return {_plain(f"{number:.2f}") for number in found}


def _above_lowest(made: Bundle, pose: dict[str, float]) -> set[float]:
    lowest = {joint["joint"]: joint["lowest"] for joint in made.data["assumptions"]["motion"]["joints"]}
    return {value - lowest[joint] for joint, value in pose.items()}


def _on_a_rule(finding: dict[str, Any], length: float, free: float, built: float) -> set[float]:
    """Chords, what bends stand off them, and turns; a rule is read to half a millimetre, on the safe side."""
    limit = finding["limit"]
    if finding["rule"] == "bend radius":
        gaps = {limit - limit * math.cos(math.asin(chord / 2.0 / limit)) for chord in (100.0, 50.0)}
        return {100.0, 50.0, *(int(2.0 * gap) / 2.0 for gap in gaps)}
    if finding["rule"] == "straight at the end":
        return {int(2.0 * (limit - limit * math.cos(length / limit))) / 2.0}
    if finding["rule"] == "twist in motion":
        return {float(int(limit * free / 1000.0)) + built, built}
    return set()


def text_of(content: bytes) -> str:
    """All words of a PDF; those that a line ends within are joined by blanks."""
    pages = (page.extract_text() for page in PdfReader(io.BytesIO(content)).pages)
    return " ".join("\n".join(pages).replace("\N{NO-BREAK SPACE}", " ").split())


def numbers_in(text: str) -> set[str]:
    """Numbers of a text, with a decimal point, without their sign."""
    return {_plain(found) for found in NUMBER.findall(text)}


def numbers_of(data: Any) -> set[str]:
    """Numbers of the contract, as numbers and within its texts, without their sign."""
    return {number for leaf in _leaves(data) for number in numbers_in(leaf)}


def _leaves(data: Any) -> Iterator[str]:
    if isinstance(data, dict):
        yield from (str(key) for key in data)
        yield from _all(data.values())
    elif isinstance(data, list | tuple):
        yield from _all(data)
    elif isinstance(data, bool) or data is None:
        return
    else:
        yield f"{data:.4f}" if isinstance(data, float) else str(data)


def _all(values: Iterable[Any]) -> Iterator[str]:
    for value in values:
        yield from _leaves(value)


def _plain(number: str) -> str:
    number = number.replace(",", ".")
    return number.rstrip("0").rstrip(".") if "." in number else number
