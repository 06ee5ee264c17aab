"""An invented cherry press with what a fitter may meet: adapters, a live swivel, a bent end, a clamp, a fixed end.

Two joints: a lid that turns up, and a slide. Every hose passes, for a hose that must
not be fitted gets no steps.
"""

from __future__ import annotations

import datetime
from functools import cache
from pathlib import Path
from typing import Any

from hosewright.checks.check import CheckResult, check
from hosewright.documents.bundle import Bundle
from hosewright.jobfile import JobFile, read_text
from hosewright.settings import Settings

JOB = """
[job]
format = 1
title = "Cherry press: lid and slide"
port_error = 2

[fluid]
grade = "HV 32"
temperature = { min = -5, working = 50, max = 75 }

[[body]]
name = "lid"
turn = { at = [0, 0, 800], about = [0, -1, 0], from = 0, to = 60 }

[[body]]
name = "feed"
slide = { along = [1, 0, 0], from = -60, to = 60 }

[[obstacle]]
name = "frame"
box = { at = [-700, 0, 300], size = [200, 400, 500] }

[[obstacle]]
name = "lid plate"
on = "lid"
box = { at = [700, 300, 820], size = [400, 200, 40] }

[[mount]]
name = "bracket"
at = [-340, -800, 620]
along = [1, 0, 0]
stand_off = 30

[[port]]
name = "V.A"
at = [-300, -300, 500]
facing = [0, 0, 1]
connection = "face seal -8 male"
adapter = [{ name = "live swivel" }]

[[port]]
name = "feed.A"
on = "feed"
at = [300, -300, 560]
facing = [1, 0, 0]
up = [0, 0, 1]
connection = "face seal -8 male"
adapter = [{ name = "90 swivel", clock = 0 }]

[[port]]
name = "V.B"
at = [-740, -800, 270]
facing = [0, 0, 1]
connection = "face seal -8 female"

[[port]]
name = "tank.B"
at = [60, -800, 270]
facing = [0, 0, 1]
connection = "face seal -8 male"

[[port]]
name = "V.C"
at = [-445, 600, 490]
facing = [0, 0, 1]
connection = "BSP G1/2 male"

[[port]]
name = "lid.C"
on = "lid"
at = [475, 600, 710]
facing = [0, 0, 1]
connection = "BSP G1/2 male"

[[run]]
name = "feed"
from = "V.A"
to = "feed.A"
pressure = { working = 150, peak = 180 }
flow = 15
hose = "2SC -8"
length = 1170
ends = [{ form = "straight" }, { form = "straight" }]

[[run]]
name = "tank"
from = "V.B"
to = "tank.B"
line = "return"
pressure = { working = 5, peak = 12 }
flow = 15
hose = "2SC -8"
length = 1340
ends = [{ form = "straight" }, { form = "straight" }]
clamps = [{ mount = "bracket", at = 603 }]

[[run]]
name = "lid"
from = "V.C"
to = "lid.C"
pressure = { working = 150, peak = 180 }
flow = 15
hose = "2SC -8"
length = 1300
ends = [{ form = "straight" }, { form = "45 short", clock = 180 }]

[[motion]]
cycle = [{ lid = 0, feed = -60 }, { lid = 60, feed = 60 }]
steps = 8

[service]
poses = [{ lid = 0, feed = 0 }]
"""


@cache
def checked(text: str = JOB) -> tuple[JobFile, CheckResult]:
    """The job with what was found about it."""
    file = read_text(text, Path("press.toml"))
    return file, check(file.job)


def bundle(**settings: Any) -> Bundle:
    """The papers of the job."""
    return Bundle.make(*checked(), Settings(**settings), datetime.date(2026, 8, 14))
