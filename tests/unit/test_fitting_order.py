"""Hoses go on in the order in which they lie off the machine."""

from checked_runs import job, port, run
from hosewright.checks.solve import solve_runs
from hosewright.geometry import BoxShape
from hosewright.machine import Obstacle
from hosewright.service.fitting_order import distance_off, fitting_order

TABLE = Obstacle("table", "chassis", BoxShape((0.4, 0.0, -0.05), (2.0, 2.0, 0.1)))


def solved(heights, parts=(TABLE,)):
    ports, runs = [], []
    for number, height in enumerate(heights):
        ports += [
            port(f"A{number}", "chassis", (0, 0, height), (1, 0, 0)),
            port(f"B{number}", "chassis", (0.75, 0, height), (-1, 0, 0)),
        ]
        runs.append(run(0.76, name=f"at {height}", port_a=f"A{number}", port_b=f"B{number}", bow=(0.0, 0.0, 1.0)))
    made = job(runs, ports, obstacles=parts)
    return made, solve_runs(made, made.runs, made.poses)


def test_the_lower_of_hoses_over_a_table_goes_on_first():
    made, runs = solved([0.35, 0.15, 0.55])
    assert [one.run.name for one in fitting_order(runs, made)] == ["at 0.15", "at 0.35", "at 0.55"]


def test_the_distance_is_that_of_the_centre_line():
    made, (one,) = solved([0.3])
    line = one.spans[0].fitted.position[:, 2]
    assert distance_off(one, made.machine) == line.mean()


def test_without_parts_the_order_is_that_of_the_job():
    made, runs = solved([0.35, 0.15], parts=())
    assert [one.run.name for one in fitting_order(runs, made)] == ["at 0.35", "at 0.15"]
