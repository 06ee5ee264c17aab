"""Requests for the tests of planning, on ports that stand where the ferrule tails of straight ends have to be."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from checked_runs import DUTY
from hosewright.catalog import load
from hosewright.checks.run import Job
from hosewright.machine import Body, Machine, Port, Poses, Slide, Turn, cycle
from hosewright.search.plan import Plan, plan
from hosewright.search.request import EndRequest, Request

CATALOG = load()
CONNECTION = "face seal -8 male"
_STRAIGHT = CATALOG.end_form("straight", "face seal -8 female", 8)
END = _STRAIGHT.cutoff + _STRAIGHT.insertion
"""Seat to ferrule tail of a straight end. [m]"""
TWO_WIRE = CATALOG.hose("2SN -8")
LIGHT = replace(TWO_WIRE, mass_per_length=1e-9)
"""Without weight, but for its oil: take ``job(..., dry=True)`` too."""


def port(name: str, on: str, tail: Sequence[float], facing: Sequence[float]) -> Port:
    """A face seal port from which a straight end reaches to ``tail``."""
    along = np.asarray(facing, dtype=float) / np.linalg.norm(facing)
    at = np.asarray(tail, dtype=float) - END * along
    return Port(name, on, tuple(map(float, at)), tuple(map(float, along)), None, CONNECTION)


def request(**fixed: Any) -> Request:
    """A run from port A to port B; straight ends alone with ``form="straight"``."""
    form = fixed.pop("form", None)
    ends = (EndRequest(name, CONNECTION, None, form) for name in ("A", "B"))
    return Request("one", *ends, **{"duty": DUTY, **fixed})


def job(ports: Sequence[Port], joint: Turn | Slide | None = None, to: float = 0.0, steps: int = 24, **more: Any) -> Job:
    """A job on a machine with one body, ``arm``, that moves from 0 to a value; ports measured without error."""
    parts = {name: tuple(more.pop(name, ())) for name in ("obstacles", "mounts", "operators")}
    machine = Machine(bodies=(Body("arm", joint=joint or Slide((0.0, 0.0, 1.0))),), ports=tuple(ports), **parts)
    poses: Poses = cycle([{"arm": 0.0}, {"arm": to}] if to else [{"arm": 0.0}], steps if to else 1)
    return Job("a trial", machine, poses, (), **{"port_error": 0.0, "port_angle_error": 0.0, **more})


def planned(made: Job, asked: Request) -> Plan:
    """The plan of one request."""
    return plan(made, [asked], CATALOG)
