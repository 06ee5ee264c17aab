"""Time that the papers of a job of 20 assemblies take, by maker; the check beforehand is not counted.

The second time is that of all cores together, which tells more where other work goes on.

The runs of the example platform, again and again, each time a little further to the side.
"""

from __future__ import annotations

import itertools
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

from hosewright.checks.check import check
from hosewright.checks.run import Job, Run
from hosewright.documents.bundle import Bundle
from hosewright.documents.makers import MAKERS
from hosewright.jobfile import JobFile, read_job
from hosewright.machine import Mount, Port
from hosewright.settings import Settings

EXAMPLE = Path(__file__).parents[1] / "examples" / "platform.toml"
ASSEMBLIES = 20
ASIDE = 0.15
"""From each copy of the runs to the next. [m]"""


Part = TypeVar("Part", Port, Mount)


def many(job: Job) -> Job:
    """A job with so many runs, copies of its own beside each other."""
    copies = range(-(-ASSEMBLIES // len(job.runs)))
    machine = replace(
        job.machine,
        ports=tuple(_aside(one, k) for k in copies for one in job.machine.ports),
        mounts=tuple(_aside(one, k) for k in copies for one in job.machine.mounts),
    )
    runs = [_again(run, k) for k in copies for run in job.runs]
    return replace(job, machine=machine, runs=tuple(runs[:ASSEMBLIES]))


def _aside(one: Part, copy: int) -> Part:
    x, y, z = one.at
    return replace(one, name=_named(one.name, copy), at=(x, y + ASIDE * copy, z))


def _again(run: Run, copy: int) -> Run:
    clamps = tuple(replace(clamp, mount=_named(clamp.mount, copy)) for clamp in run.clamps)
    ports = {"port_a": _named(run.port_a, copy), "port_b": _named(run.port_b, copy)}
    return replace(run, name=_named(run.name, copy), clamps=clamps, **ports)


def _named(name: str, copy: int) -> str:
    return f"{name} {copy + 1}" if copy else name


def timed(file: JobFile, settings: Settings) -> dict[str, tuple[float, float, int]]:
    """Seconds, seconds of all cores, and bytes of each maker."""
    result = check(file.job)
    taken: dict[str, tuple[float, float, int]] = {}

    def measure(name: str, make: Callable[[], int]) -> None:
        start, busy = time.perf_counter(), time.process_time()
        size = make()
        taken[name] = (time.perf_counter() - start, time.process_time() - busy, size)

    bundles: list[Bundle] = []
    measure("contract", lambda: bundles.append(Bundle.make(file, result, settings)) or 0)
    (bundle,) = bundles
    measure("pictures", lambda: sum(map(len, bundle.pictures.values())))
    for files in MAKERS:
        name = files.__module__.rpartition(".")[2]
        measure(name, lambda files=files: sum(len(content) for _, content in files(bundle)))
    return taken


def main() -> None:
    file = read_job(EXAMPLE)
    warm = Bundle.make(file, check(file.job), Settings())
    for _ in itertools.chain.from_iterable(files(warm) for files in MAKERS):
        pass
    taken = timed(replace(file, job=many(file.job)), Settings())
    print(f"papers of {ASSEMBLIES} assemblies")
    for name, figures in {**taken, "all": tuple(map(sum, zip(*taken.values(), strict=True)))}.items():
        seconds, busy, size = figures
        print(f"{name:16s} {seconds:7.2f} s {busy:7.2f} s {size / 1024.0:9.0f} KB")


if __name__ == "__main__":
    main()
