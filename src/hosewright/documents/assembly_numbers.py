"""Assembly numbers: as written in the job, else derived from what is built, so that it keeps its number.

A derived number is that of the assembly alone. Whatever else changes in the job, the same assembly is called the same,
and one that is built otherwise is called otherwise. Within a job that is certain; among all that a shop makes it is a
matter of odds, about 0.005 % that any two of 10 000 assemblies have the same number.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import asdict, replace
from itertools import count
from typing import Any

from hosewright.assembly import Assembly, End
from hosewright.checks.check import CheckResult, RunResult
from hosewright.jobfile import JobFile, counted
from hosewright.service import Sample
from hosewright.words import read

PREFIX = "H-"
LENGTH = 8
"""Signs of a derived number: of n assemblies two share one with odds of about n^2 / (2 x 32^8)."""

GROUP = 4
"""Signs that are written together, for who reads them aloud or types them."""

SIGNS = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"
"""Digits and capitals without those that are taken for each other: 0 and O, 1 and I."""

WHOLE_DEGREES = 0
"""Of an orientation angle that follows from the fitting pose: the last digits of a solution do not change a number."""


def run_numbers(file: JobFile, result: CheckResult) -> dict[str, str]:
    """Assembly number of every run of a result.

    Parameters
    ----------
    file
        The job file; a number in a run or in its ``[run.assembly]`` counts before a derived one.
    result
        Of the job as it is to be built.
    """
    written = _written(file)
    open_runs = [run for run in result.runs if run.run.name not in written]
    taken = {*written.values(), *_written_on_samples(file)}
    made = derived([_built(run) for run in open_runs], taken)
    return written | {run.run.name: number for run, number in zip(open_runs, made, strict=True)}


def sample_numbers(file: JobFile, taken: Collection[str] = ()) -> list[str]:
    """Number of every sample: its own, else derived from all that its table says.

    Parameters
    ----------
    file
        The job file.
    taken
        Numbers of the runs.
    """
    unnamed = [sample for sample in file.samples if not sample.number]
    made = iter(derived([_said(sample) for sample in unnamed], {*taken, *_written_on_samples(file)}))
    return [sample.number or next(made) for sample in file.samples]


def _written(file: JobFile) -> dict[str, str]:
    """Numbers by run; what the run says itself goes before what the program wrote."""
    tables = file.document.unwrap().get("run", ())
    numbers = {table["name"]: table.get("number") or (table.get("assembly") or {}).get("number") for table in tables}
    return {name: number for name, number in numbers.items() if number}


def _written_on_samples(file: JobFile) -> Iterator[str]:
    return (sample.number for sample in file.samples if sample.number)


def _built(run: RunResult) -> dict[str, Any]:
    """What a bench needs to build the assembly of a run and to mark it."""
    assembly = run.run.assembly
    return {
        "run": run.run.name,
        "hose": assembly.hose.name,
        "length": read(assembly.overall_length, "length"),
        "ends": [_end(end) for end in (assembly.a, assembly.b)],
        "orientation": _orientation(assembly, run.solved.orientation),
        "sleeve": run.run.sleeve,
        "marks": [read(clamp.at, "length") for clamp in run.run.clamps],
    }


def _end(end: End) -> list[Any]:
    # its clock is how it is fitted, not how it is built
    return [end.form.name, end.form.connection, [[adapter.name, adapter.hose_side] for adapter, _ in end.adapters]]


def _orientation(assembly: Assembly, as_fitted: float) -> float | None:
    if min(assembly.a.form.exit_angle, assembly.b.form.exit_angle) <= 0.0:
        return None
    if assembly.orientation_angle is not None:
        return read(assembly.orientation_angle, "angle")
    return round(read(as_fitted, "angle") or 0.0, WHOLE_DEGREES) % 360.0


def _said(sample: Sample) -> dict[str, Any]:
    return {"sample": asdict(replace(sample, number=None))}


def derived(contents: Sequence[Mapping[str, Any]], taken: Collection[str]) -> list[str]:
    """A number for each content, none of them taken; where two clash the order in the file does not matter."""
    texts = [json.dumps(_rounded(content), sort_keys=True, default=str) for content in contents]
    written = {counted(number) for number in taken}
    numbers: dict[int, str] = {}
    for place in sorted(range(len(texts)), key=lambda place: texts[place]):
        tries = (_number(f"{texts[place]} {attempt}") for attempt in count())
        numbers[place] = next(one for one in tries if counted(one) not in written and one not in numbers.values())
    return [numbers[place] for place in range(len(texts))]


def _rounded(value: Any) -> Any:
    """Values that are the same in another unit read the same."""
    if isinstance(value, Mapping):
        return {key: _rounded(part) for key, part in value.items()}
    if isinstance(value, list | tuple):
        return [_rounded(part) for part in value]
    return f"{value:.9g}" if isinstance(value, float) else value


def _number(text: str) -> str:
    digest = int.from_bytes(hashlib.sha256(text.encode()).digest())
    signs = "".join(SIGNS[digest // len(SIGNS) ** place % len(SIGNS)] for place in range(LENGTH))
    return PREFIX + "-".join(signs[place : place + GROUP] for place in range(0, LENGTH, GROUP))
