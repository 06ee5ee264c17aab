"""Jobs with their results, for the tests of the papers of the counter."""

from __future__ import annotations

import datetime
from dataclasses import replace
from functools import cache
from pathlib import Path

from hosewright.checks.check import CheckResult, check
from hosewright.documents.bundle import Bundle
from hosewright.jobfile import JobFile, read_job, read_text
from hosewright.settings import Settings

EXAMPLES = Path(__file__).parents[1] / "examples"
DATE = datetime.date(2026, 8, 14)
SHOP = Settings(shop="The orchard workshop", address=("Cherry Lane 1", "Orchard"))


@cache
def checked(name: str = "platform.toml") -> tuple[JobFile, CheckResult]:
    """An example with what was found about it; some of its hoses are wrong on purpose."""
    file = read_job(EXAMPLES / name)
    return file, check(file.job)


@cache
def checked_text(text: str) -> tuple[JobFile, CheckResult]:
    """A job given as text."""
    file = read_text(text, EXAMPLES / "given.toml")
    return file, check(file.job)


def bundle(date: datetime.date | None = DATE, **settings: object) -> Bundle:
    """The papers of the example platform."""
    return Bundle.make(*checked(), replace(SHOP, **settings), date)


def bundle_of(text: str, date: datetime.date | None = DATE, **settings: object) -> Bundle:
    """The papers of a job given as text."""
    return Bundle.make(*checked_text(text), replace(SHOP, **settings), date)
