"""Jobs with their results, for the tests of the papers of the counter."""

from __future__ import annotations

import datetime
from dataclasses import replace
from functools import cache
from pathlib import Path

from hosewright.catalog import Catalog, load
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


def counter_bundle(date: datetime.date | None = DATE, **settings: object) -> Bundle:
    """The papers of the example counter: samples without a machine, of one of which too little is known."""
    return Bundle.make(*checked("counter.toml"), replace(SHOP, **settings), date)


@cache
def priced_catalog() -> Catalog:
    """The packaged catalog with invented prices of a shop, a different one for each end; hose -6 has none."""
    catalog = load().with_own([{"name": "2SC -8", "price_per_m": 7.35}], "prices")
    forms = {
        (form.name, form.connection, form.dash_size): replace(form, price=10.0 + k / 100.0)
        for k, form in enumerate(catalog.end_forms())
    }
    return replace(catalog, own_ends=forms)


@cache
def checked_priced() -> tuple[JobFile, CheckResult]:
    """The example platform with prices."""
    file = read_job(EXAMPLES / "platform.toml", priced_catalog())
    return file, check(file.job)


def priced_bundle(date: datetime.date | None = DATE, **settings: object) -> Bundle:
    """The papers of the example platform, with prices."""
    return Bundle.make(*checked_priced(), replace(SHOP, **settings), date)


def bundle_of(text: str, date: datetime.date | None = DATE, **settings: object) -> Bundle:
    """The papers of a job given as text."""
    return Bundle.make(*checked_text(text), replace(SHOP, **settings), date)
