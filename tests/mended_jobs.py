"""Jobs with runs that are wrong in some way, and the changes of remedies written into their job files."""

from __future__ import annotations

import copy
import random
from pathlib import Path
from typing import Any

import tomlkit

from hosewright.catalog import load
from hosewright.checks.check import CheckResult, check
from hosewright.checks.finding import Remedy, Verdict
from hosewright.jobfile import read_text
from hosewright.search.remedies import with_remedies

CATALOG = load()
HERE = Path("nowhere") / "job.toml"
Table = dict[str, Any]


def checked(document: Table) -> CheckResult:
    """A job file, checked."""
    return check(read_text(tomlkit.dumps(document), HERE, CATALOG).job)


def mended(document: Table) -> CheckResult:
    """A job file, checked and with remedies."""
    return with_remedies(checked(document), CATALOG)


def failing(result: CheckResult) -> set[tuple[str, str]]:
    """Run and key of each finding that fails."""
    return {(run.run.name, f.key) for run in result.runs for f in run.findings if f.verdict is Verdict.FAIL}


def applied(document: Table, name: str, remedy: Remedy) -> Table:
    """The job file with the change of a remedy of a run."""
    made = copy.deepcopy(document)
    (run,) = (run for run in made["run"] if run["name"] == name)
    first, _, rest = (remedy.path or "").partition(".")
    if first == "port":
        port = rest.removesuffix(".facing")
        (table,) = (table for table in made["port"] if table["name"] == port)
        table |= {key: remedy.value[key] for key in ("facing", "up")}
        _merge(run, {key: one for key, one in remedy.value.items() if key not in ("facing", "up")})
    else:
        _merge(run, _nested(rest.removeprefix("assembly").removeprefix("."), remedy.value))
    return made


def _nested(path: str, value: Any) -> Table:
    # the table of fields that a path and its value stand for
    for key in reversed(path.replace("[0]", ".a").replace("[1]", ".b").split(".") if path else []):
        value = {key: value}
    return dict(value)


def _merge(run: Table, change: Table) -> None:
    ends = change.pop("ends", {})
    if ends:
        old = run.get("ends", {})
        old = dict(zip("ab", old, strict=False)) if isinstance(old, list) else old
        run["ends"] = {name: _without_none({**old.get(name, {}), **ends.get(name, {})}) for name in "ab"}
    run.update(change)
    for key in [key for key, one in run.items() if one is None]:
        del run[key]


def _without_none(table: Table) -> Table:
    return {key: one for key, one in table.items() if one is not None}


MACHINE: Table = {
    "job": {"format": 1, "title": "a trial", "port_error": 3},
    "fluid": {"grade": "HM 46", "temperature": {"min": -15, "working": 55, "max": 80}},
    "body": [{"name": "arm", "turn": {"at": [0, 0, 300], "about": [0, -1, 0], "from": -30, "to": 60}}],
    "motion": [{"cycle": [{"arm": 0}, {"arm": 40}], "steps": 16}],
    "service": {"poses": [{"arm": 0}, {"arm": 30}]},
}
HOSES = ("2SC -8", "2SN -8", "4SP -8", "1SC -8", "R17 -8")
FORMS = ("straight", "straight", "45 short", "90 short", "90 long")
DIRECTIONS = ([1, 0, 0], [0, 0, 1], [0, 1, 0], [-0.87, 0, 0.5], [0, 0, -1])


def wrong_job(seed: int) -> Table:
    """A job with two runs side by side that somebody made up carelessly."""
    draw = random.Random(seed)
    made = copy.deepcopy(MACHINE)
    on = draw.choice(["arm", "chassis"])
    distance = draw.uniform(350, 900)
    made["port"], made["run"] = [], []
    a, b = draw.choice(DIRECTIONS), draw.choice(DIRECTIONS)
    for k in range(2):
        aside = k * draw.choice([25, 60, 120])
        made["port"] += [
            {"name": f"A{k}", "at": [-250, aside, 300], "facing": a, "connection": "face seal -8 male"},
            {"name": f"B{k}", "on": on, "at": [distance - 250, aside, 420], "facing": b}
            | {"connection": "face seal -8 male"},
        ]
        made["run"].append(_wrong_run(draw, k, distance))
    corner = [draw.uniform(-100, distance - 400), 0, draw.uniform(0, 600)]
    made["obstacle"] = [{"name": "bracket", "box": {"at": corner, "size": [80, 400, 60]}}]
    made["mount"] = [{"name": "m", "at": [0, 0, 520], "along": [1, 0, 0]}]
    return made


def _wrong_run(draw: random.Random, k: int, distance: float) -> Table:
    run: Table = {
        "name": f"line {k}",
        "from": f"A{k}",
        "to": f"B{k}",
        "pressure": draw.choice([80, 150, 240, 300]),
        "flow": 20,
        "hose": draw.choice(HOSES),
        "length": round(distance * draw.choice([1.0, 1.2, 1.5, 2.0]) / 5) * 5 + 120,
        "ends": {end: {"form": draw.choice(FORMS), "clock": draw.choice([0, 90, 180, 270])} for end in "ab"},
    }
    if "straight" not in (run["ends"]["a"]["form"], run["ends"]["b"]["form"]) and draw.random() < 0.5:
        run["orientation"] = draw.choice([0, 90, 200])
    return run
