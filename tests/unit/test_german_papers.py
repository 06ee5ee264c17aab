"""A German paper is German throughout: what is left in English are names that a user gave."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from functools import cache

import pytest
from pypdf import PdfReader

import build_sheet_jobs
from counter_papers import counter_bundle
from hosewright.documents.bundle import Bundle
from hosewright.documents.makers import all_files
from said import ENGLISH

MORE = re.compile(r"\b(?:hose|end|length|bend|clearance|swivel|standard|short|long|straight|female|male)\b")
JOBS = {"counter": lambda: counter_bundle(language="de"), "faulty": lambda: build_sheet_jobs.bundle(language="de")}


@cache
def papers(job: str) -> tuple[Bundle, dict[str, str]]:
    made: Bundle = JOBS[job]()
    pdfs = {name: content for name, content in all_files(made) if name.endswith(".pdf")}
    return made, {name: _text(content) for name, content in pdfs.items()}


def _text(content: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(content)).pages).split())


def given_names(made: Bundle) -> Iterator[str]:
    """What the user of a job called things."""
    job = made.result.job
    yield from (made.data["title"], made.data["job"], made.settings.shop, *made.settings.address)
    yield from (one["name"] for one in (*made.data["runs"], *made.data["samples"]))
    machine = job.machine
    yield from (one.name for one in (*machine.ports, *machine.mounts, *machine.obstacles, *machine.bodies))


@pytest.mark.parametrize("job", JOBS)
def test_nothing_but_names_is_english(job: str) -> None:
    made, texts = papers(job)
    assert len(texts) > 4
    for name, text in texts.items():
        left = re.sub(r"\[[^\]]*\]", "", text)  # the catalog's names in a bill
        for given in sorted(given_names(made), key=len, reverse=True):
            left = left.replace(given, "") if given else left
        for pattern in (ENGLISH, MORE):
            found = [left[max(0, one.start() - 40) : one.end() + 40] for one in pattern.finditer(left)]
            assert not found, (name, found)
