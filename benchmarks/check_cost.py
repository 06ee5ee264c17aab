"""Cost of a check against the number of runs and poses: it should grow in proportion to both."""

from __future__ import annotations

import math
import statistics
import time

from hosewright import catalog
from hosewright.assembly import Assembly, End
from hosewright.checks.check import check
from hosewright.checks.run import Job, Run
from hosewright.duty import Duty, Fluid
from hosewright.machine import Body, Machine, Port, Turn, cycle


def job(runs: int, poses: int) -> Job:
    """So many equal hoses side by side from a chassis to a swinging mast (invented)."""
    data = catalog.load()
    hose, form = data.hose("2SC -6"), data.end_form("straight", "face seal -6 female")
    fluid = Fluid(**vars(data.fluid("HM 46")))
    duty = Duty("pressure", 210e5, 250e5, 20 / 6e4, fluid, 258.15, 328.15, 353.15)
    mast = Body("mast", joint=Turn((0.0, 0.0, 0.9), (0.0, 1.0, 0.0), math.radians(-10.0), math.radians(65.0)))
    ports, made = [], []
    for k in range(runs):
        y = 0.1 * k
        ports.append(Port(f"V{k}", "chassis", (0.0, y, 0.6), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0), "face seal -6 male"))
        ports.append(Port(f"L{k}", "mast", (0.3, y, 0.9), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0), "face seal -6 male"))
        made.append(Run(f"run {k}", f"V{k}", f"L{k}", duty, Assembly(hose, End(form), End(form), 1.1)))
    motion = cycle([{"mast": math.radians(-10.0)}, {"mast": math.radians(65.0)}], poses - 1)
    return Job("cost", Machine((mast,), ports=tuple(ports)), motion, tuple(made))


def seconds(runs: int, poses: int) -> float:
    """Median time of one check, refinement of poses included. [s]"""
    subject = job(runs, poses)
    times = []
    for _ in range(3):
        start = time.perf_counter()
        check(subject)
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def main() -> None:
    """Print both curves."""
    seconds(1, 10)
    print("runs  poses   time [ms]   per run and pose [us]")
    for runs, poses in [(1, 60), (2, 60), (4, 60), (8, 60), (4, 30), (4, 120), (4, 240), (4, 480)]:
        time_taken = seconds(runs, poses)
        print(f"{runs:4d} {poses:6d} {time_taken * 1e3:11.1f} {time_taken / runs / poses * 1e6:14.1f}")


if __name__ == "__main__":
    main()
