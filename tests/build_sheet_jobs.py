"""An invented job with the things that a build sheet may hold, and its papers."""

from __future__ import annotations

import datetime
import re
from functools import cache
from pathlib import Path
from typing import Any

import pypdfium2

from hosewright.checks.check import CheckResult, check
from hosewright.documents.bundle import Bundle
from hosewright.jobfile import JobFile, read_text
from hosewright.settings import Settings

JOB = """
[job]
format = 1
title = "Cherry platform <#7> $x$ @y: Größe № 漢"

[fluid]
grade = "HV 32"
temperature = { min = -10, working = 55, max = 80 }

[[port]]
name = "V.A"
at = [0, 0, 500]
facing = [0, 0, 1]
up = [1, 0, 0]
connection = "face seal -8 male"

[[port]]
name = "V.B"
at = [960, 0, 500]
facing = [0, 0, 1]
up = [-1, 0, 0]
connection = "face seal -8 male"

[[port]]
name = "W.A"
at = [0, 400, 500]
facing = [1, 0, 0]
connection = "face seal -6 male"

[[port]]
name = "W.B"
at = [560, 400, 500]
facing = [-1, 0, 0]
connection = "face seal -6 male"

[[mount]]
name = "m1"
at = [330, 0, 500]
along = [1, 0, 0]
stand_off = 28

[[run]]
name = "tilt, rod side"
from = "V.A"
to = "V.B"
pressure = { working = 175.5, peak = 211 }
flow = 18
hose = "2SC -8"
length = 1040
ends = [{ form = "90 short", clock = 0 }, { form = "90 short", clock = 0 }]
orientation = 355.5
clamps = [{ mount = "m1", at = 260.3 }]
sleeve = true
[run.assembly]
number = "T/17"

[[run]]
name = "too short"
from = "W.A"
to = "W.B"
pressure = { working = 160, peak = 190 }
flow = 8
hose = "2SC -6"
length = 560

[[assembly]]
name = "hose from the counter"
number = "S-3"
hose = "2SC -8"
length = 712
measured = "centre line to centre line"
ends = [
  { form = "90 short", connection = "face seal -8 female" },
  { form = "45 medium", connection = "face seal -8 female" },
]
orientation = 95
convention = "clockwise from the near end"

[[assembly]]
name = "not enough known"
length = 500
"""


@cache
def checked(text: str = JOB) -> tuple[JobFile, CheckResult]:
    """The job with what was found about it."""
    file = read_text(text, Path("given.toml"))
    return file, check(file.job)


def bundle(date: datetime.date | None = None, **settings: Any) -> Bundle:
    """The papers of the job."""
    return Bundle.make(*checked(), Settings(**{"shop": "The orchard workshop", **settings}), date)


def text_of(pdf: bytes) -> str:
    """All words of a document, one blank between them."""
    document = pypdfium2.PdfDocument(pdf)
    text = "\n".join(page.get_textpage().get_text_range() for page in document)
    document.close()
    return re.sub(r"[ \xa0]+", " ", text.replace("\r", ""))


def numbers_in(text: str, mark: str = ".") -> list[str]:
    """Numbers as they stand in a text."""
    return re.findall(rf"(?<![\w{re.escape(mark)}])\d+(?:{re.escape(mark)}\d+)?", text)
