"""Everything that the papers of a job are made from."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType
from typing import Any

from hosewright.checks import pressure
from hosewright.checks.check import CheckResult
from hosewright.documents import paper, result_json
from hosewright.documents.assembly_data import samples_data
from hosewright.documents.assembly_numbers import run_numbers, sample_numbers
from hosewright.documents.pictures import run_picture
from hosewright.jobfile import JobFile
from hosewright.settings import Settings
from hosewright.words import Figures, Texts, written

HASH_DIGITS = 16
"""Of the hash of the inputs, on paper."""

PAPERS = {"a4": "a4", "letter": "us-letter"}

_NOTHING: Mapping[str, bytes] = MappingProxyType({})


@dataclass(frozen=True, eq=False)
class Bundle:
    """A job with what was found about it, and how its papers shall look.

    Attributes
    ----------
    data
        The whole contract, as ``result_json.as_dict`` gives it: the source of every number on paper.
    date
        That the papers bear; ``None`` leaves a blank to fill in.
    """

    file: JobFile
    result: CheckResult
    data: Mapping[str, Any]
    texts: Texts
    settings: Settings
    date: datetime.date | None

    @staticmethod
    def make(file: JobFile, result: CheckResult, settings: Settings, date: datetime.date | None = None) -> Bundle:
        """A bundle of a job that was checked; ``date`` counts before the job's own.

        Raises
        ------
        DataError
            The shop's logo cannot be drawn.
        """
        if settings.logo is not None:
            paper.check_picture(settings.logo.name, settings.logo.content)
        numbers = run_numbers(file, result)
        data = result_json.as_dict(result, file.path.name, file.hash, file.catalog.version, numbers, file.limits)
        date = date or file.date
        data["samples"] = samples_data(file, date, sample_numbers(file, numbers.values()))
        return Bundle(file, result, data, Texts.load(settings.language), settings, date)

    @cached_property
    def figures(self) -> Figures:
        """Writes the numbers of ``data`` in the units and with the decimal mark of the papers."""
        return Figures(self.settings.units, self.texts.decimal_mark, self.texts("common.unknown"))

    @cached_property
    def pictures(self) -> Mapping[str, bytes]:
        """Picture (SVG) of every run at its worst place, by the run's name; several papers show it."""
        return {
            run.run.name: run_picture(self.result, run, texts=self.texts, figures=self.figures)
            for run in self.result.runs
        }

    def pdf(
        self, template: str, title: str, data: Mapping[str, Any], pictures: Mapping[str, bytes] = _NOTHING
    ) -> bytes:
        """A document of a template with the head and foot of all papers; see :func:`hosewright.documents.paper.pdf`."""
        logo = self.settings.logo
        shown = {} if logo is None else {logo.name: logo.content}
        return paper.pdf(template, {"common": self._common(title), **data}, {**shown, **pictures})

    def _common(self, title: str) -> dict[str, Any]:
        settings = self.settings
        return {
            "title": title,
            "paper": PAPERS[settings.paper],
            "language": settings.language,
            "shop": settings.shop,
            "address": list(settings.address),
            "logo": None if settings.logo is None else settings.logo.name,
            "job": self.data["title"],
            "file": self.data["job"],
            "hash": str(self.data["input_hash"])[:HASH_DIGITS],
            "program": self.data["program"],
            "catalog": self.data["catalog"],
            "date": None if self.date is None else self.date.isoformat(),
            "words": self.texts.section("common"),
        }

    def write(self, said: Any) -> str:
        """A sentence of the contract (its ``said``) in the language and the units of the papers."""
        return written(said, self.texts, self.figures)

    def source(self, data: Mapping[str, Any], key: str = "source") -> str | None:
        """What the contract says under a key, in the language of the papers; ``None`` where it says nothing."""
        said = data[f"{key}_said"]
        return None if said is None else self.write(said)

    @cached_property
    def warnings(self) -> list[str]:
        """Doubts about the job as it was written, those about single runs among them."""
        return [self.write(one["said"]) for one in self.data["warnings"]]

    def warnings_of(self, run: Mapping[str, Any]) -> list[str]:
        """Doubts about a run of the contract that do not stop it; :meth:`stops` has the others."""
        return self._told_of(run, stops=False)

    def _told_of(self, run: Mapping[str, Any], *, stops: bool) -> list[str]:
        warnings = [one for one in self.data["warnings"] if one["run"] == run["name"]]
        return [self.write(one["said"]) for one in warnings if one["stops"] is stops]

    def stops(self, one: Mapping[str, Any]) -> list[str]:
        """Why the assembly of a run or a sample of the contract must not be built.

        Of a run what fails, what was not solved, a plan that is older than its inputs or does not hold at its limits;
        of a sample what does not bear the line.
        """
        if "findings" not in one:
            return [self.write(reason["said"]) for reason in one["stops"]]
        unsolved = [] if one["status"] == "solved" else [self.texts("common.not_solved")]
        failing = [finding for finding in one["findings"] if finding["verdict"] == "fail" or _unrated(finding)]
        return [*unsolved, *self._told_of(one, stops=True), *map(self._with_rule, failing)]

    def _with_rule(self, finding: Mapping[str, Any]) -> str:
        return f"{self.texts('rules.' + finding['rule'])}: {self.write(finding['said'])}"


def _unrated(finding: Mapping[str, Any]) -> bool:
    """Whether nobody knows that an assembly bears its pressure."""
    return finding["rule"] == pressure.RULE and finding["verdict"] == "unknown"
