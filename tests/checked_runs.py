"""Jobs for the tests of the rules: invented ends of 60 mm on ports that stand where the ferrule tails have to be."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from hosewright.assembly import Assembly, End, EndForm, Hose, Roll
from hosewright.checks.run import Job, Run
from hosewright.checks.solve import SolvedRun, solve_runs
from hosewright.duty import Duty, Fluid, FluidClass, Line
from hosewright.machine import Body, Machine, Port, Poses, Slide, Turn, cycle

END = 0.06
"""Seat to ferrule tail of the straight end. [m]"""
STRAIGHT = EndForm("straight", "any", 8, 0.0, END / 2, END / 2, 0.0, 0.03, 0.035, Roll.SWIVEL)
BENT = EndForm("90", "any", 8, math.pi / 2, 0.045, 0.030, 0.028, 0.03, 0.035, Roll.SWIVEL)
TWO_WIRE = Hose(  # figures of EN 853 2SN -8; mass and stiffness are invented
    "two-wire -8", "2SN", 8, 0.0127, 0.0231, 0.180, 275e5, 233.0, 373.0, 343.0, 0.02, 0.04, 0.6, 5.0
)
LIGHT = replace(TWO_WIRE, mass_per_length=1e-9, inside_diameter=1e-6)
"""Without weight, and thin enough for oil without weight: shapes of closed form."""
OIL = Fluid("oil", FluidClass.HM, 46e-6, 6.8e-6, 870.0)
DUTY = Duty(Line.PRESSURE, 200e5, 250e5, 5e-4, OIL, 258.0, 313.0, 333.0)
HARMLESS = Duty(Line.RETURN, 5e5, 10e5, 5e-4, OIL, 258.0, 300.0, 310.0)

Vector = Sequence[float]


def port(name: str, on: str, tail: Vector, facing: Vector, up: Vector | None = None, end: float = END) -> Port:
    """A port from which a straight end reaches to ``tail``."""
    along = np.asarray(facing, dtype=float) / np.linalg.norm(facing)
    at = np.asarray(tail, dtype=float) - end * along
    return Port(name, on, tuple(map(float, at)), tuple(map(float, along)), None if up is None else tuple(up))


def assembly(free_length: float, hose: Hose = TWO_WIRE, a: End | None = None, b: End | None = None) -> Assembly:
    """A hose of so much free length between two ends, straight unless told."""
    a, b = a or End(STRAIGHT), b or End(STRAIGHT)
    ends = sum(end.form.cutoff + end.form.insertion for end in (a, b))
    return Assembly(hose, a, b, free_length + ends)


def run(free_length: float, hose: Hose = TWO_WIRE, name: str = "one", **more: Any) -> Run:
    """A run from port A to port B."""
    made = more.pop("assembly", None) or assembly(free_length, hose)
    given = {"port_a": "A", "port_b": "B", "duty": DUTY, **more}
    return Run(name, assembly=made, **given)


def job(
    runs: Run | Sequence[Run],
    ports: Sequence[Port],
    *,
    joint: Turn | Slide | None = None,
    poses: Poses | Mapping[str, float] | float | None = None,
    steps: int = 24,
    **more: Any,
) -> Job:
    """A job on a machine with one body, ``arm``; ``poses`` as they are, or the value to which the arm moves from 0."""
    parts = {name: tuple(more.pop(name, ())) for name in ("obstacles", "mounts", "operators")}
    machine = Machine(bodies=(Body("arm", joint=joint or Slide((0.0, 0.0, 1.0))),), ports=tuple(ports), **parts)
    if not isinstance(poses, Poses):
        poses = cycle([{"arm": 0.0}, {"arm": float(poses)}] if poses else [{"arm": 0.0}], steps if poses else 1)
    listed = (runs,) if isinstance(runs, Run) else tuple(runs)
    return Job("a trial", machine, poses, listed, **more)


def solved(made: Job) -> SolvedRun:
    """The only run of a job, solved."""
    (found,) = solve_runs(made, made.runs, made.poses)
    return found


def straight_ports(distance: float, on: str = "chassis") -> list[Port]:
    """Ports that face each other, ferrule tails so far apart along x."""
    return [port("A", "chassis", (0, 0, 0), (1, 0, 0)), port("B", on, (distance, 0, 0), (-1, 0, 0))]


def u_ports(gap: float, on: str = "chassis") -> list[Port]:
    """Ports side by side that both face down, ferrule tails so far apart along x."""
    return [port("A", "chassis", (0, 0, 0), (0, 0, -1)), port("B", on, (gap, 0, 0), (0, 0, -1))]
