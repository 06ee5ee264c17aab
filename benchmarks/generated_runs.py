"""Runs that can be built: an assembly and a motion are drawn first, and the ports follow from them.

The hose is drawn as a smooth curve in one pose, port a sits on the chassis and port b on a body that turns, slides or
lies still; obstacles and people come beside the way that the hose really takes. Kept is what passes every rule, in all
poses, and at its limits in the poses that a plan is tried in. Machines, motions and duties are invented.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from hosewright import catalog
from hosewright.assembly import Assembly, End, EndForm, Hose
from hosewright.catalog import Catalog
from hosewright.checks.check import check, duty_findings, shape_findings
from hosewright.checks.finding import Verdict
from hosewright.checks.run import Job, Run
from hosewright.checks.solve import SolvedRun, solve_runs
from hosewright.duty import Duty, Fluid, Line
from hosewright.geometry import BoxShape, CylinderShape, Frames
from hosewright.machine import Body, Machine, Obstacle, Operator, Port, Poses, Slide, Surface, Turn, cycle
from hosewright.search import robust
from hosewright.search.coarse import centre_radius
from hosewright.search.plan import TRIED_POSES
from hosewright.search.poses import typical
from hosewright.search.request import EndRequest, Request

Array = NDArray[np.float64]
Rng = np.random.Generator

KINDS = ("still", "turning", "sliding")
CONSTRUCTIONS = ("1SN", "2SN", "1SC", "2SC", "4SP")
SIZES = (6, 8, 10, 12)
CONNECTIONS = {  # of the ports, by hose size; their ends have ratings in the example catalog
    6: ("face seal -6", "37 flare -6", "24 cone S14", "24 cone L12", "BSP G3/8"),
    8: ("face seal -8", "37 flare -8", "24 cone S16", "24 cone L15", "BSP G1/2"),
    10: ("face seal -10", "37 flare -10", "24 cone S20", "24 cone L18", "BSP G5/8"),
    12: ("face seal -12", "37 flare -12", "24 cone S25", "24 cone L22", "BSP G3/4"),
}
STEPS = 80
"""Steps along a drawn curve."""
INCREMENT = 0.005
MOST_DRAWN = 600
SAME_PARTS = 60
"""Layouts drawn before other parts are."""
MOST_PLACES = 12
"""Places drawn for what stands beside a hose."""
ARM = "arm"


@dataclass(frozen=True, eq=False)
class Generated:
    """A job of one run that passes, and what is asked of a plan.

    Attributes
    ----------
    job
        With the assembly that was drawn.
    tags
        What is special about it.
    drawn
        Layouts drawn until this one passed, itself included.
    lost
        How many of them failed where.
    """

    seed: int
    kind: str
    job: Job
    request: Request
    tags: tuple[str, ...]
    drawn: int
    lost: dict[str, int]

    @property
    def run(self) -> Run:
        """The run as drawn."""
        return self.job.runs[0]


def generated(seed: int, data: Catalog | None = None) -> Generated | None:
    """The run of a seed; ``None`` where none of many layouts passes."""
    data, rng = data or catalog.load(), np.random.default_rng(seed)
    kind, lost = KINDS[seed % len(KINDS)], dict.fromkeys(("shape", "beside", "check", "limits"), 0)
    for drawn in range(MOST_DRAWN):
        if drawn % SAME_PARTS == 0:
            parts = _parts(rng, data)
        job, reason = _attempt(rng, parts, kind, data)
        if job is not None:
            return Generated(seed, kind, job, request_of(job), _tags(job), drawn + 1, lost)
        lost[reason] += 1
    return None


def request_of(job: Job) -> Request:
    """Nothing but ports, connections and duty."""
    (run,), ports = job.runs, {port.name: port for port in job.machine.ports}
    a, b = (EndRequest(name, ports[name].connection) for name in (run.port_a, run.port_b))
    return Request(run.name, a, b, run.duty)


def tried_poses(job: Job) -> Poses:
    """The poses in which a plan is tried."""
    ports = [(run.port_a, run.port_b) for run in job.runs]
    return job.poses.take(typical(job.poses, job.machine.place(job.poses), ports, TRIED_POSES))


def failing(run: Run, solved: SolvedRun, job: Job) -> list[str]:
    """Rules that fail on a solved run."""
    findings = [*shape_findings(solved, [], job), *duty_findings(run, job)]
    unsolved = [] if solved.solved else ["unsolved"]
    return [*unsolved, *(finding.rule for finding in findings if finding.verdict is Verdict.FAIL)]


# ---- what is drawn ----


@dataclass(frozen=True)
class _Parts:
    hose: Hose
    forms: tuple[EndForm, EndForm]
    duty: Duty


def _parts(rng: Rng, data: Catalog) -> _Parts:
    hose = data.hose(f"{rng.choice(CONSTRUCTIONS)} -{rng.choice(SIZES)}")
    family = CONNECTIONS[hose.dash_size][rng.integers(5)]
    other = family if rng.random() < 0.7 else CONNECTIONS[hose.dash_size][rng.integers(5)]
    forms = tuple(_form(rng, f"{one} female", hose, data) for one in (family, other))
    ratings = [rating for rating in (hose.max_working_pressure, *(f.max_working_pressure for f in forms)) if rating]
    return _Parts(hose, (forms[0], forms[1]), _duty(rng, hose, min(ratings), data))


def _form(rng: Rng, connection: str, hose: Hose, data: Catalog) -> EndForm:
    angle = rng.choice([0.0, 45.0, 90.0], p=[0.4, 0.25, 0.35])
    forms = data.end_forms(connection=connection, dash_size=hose.dash_size)
    fitting = [form for form in forms if abs(math.degrees(form.exit_angle) - angle) < 1.0]
    return fitting[rng.integers(len(fitting))]


def _duty(rng: Rng, hose: Hose, rating: float, data: Catalog) -> Duty:
    peak = min(rating, rng.uniform(0.5, 1.0) * (hose.max_working_pressure or rating))
    flow = rng.uniform(3.0, 5.0) * math.pi / 4.0 * hose.inside_diameter**2
    fluid = Fluid(**vars(data.fluid("HM 46")))
    peak, flow = round(peak / 1e5) * 1e5, round(flow * 6e4) / 6e4
    return Duty(Line.PRESSURE, round(0.85 * peak / 1e5) * 1e5, peak, flow, fluid, 258.15, 328.15, 353.15)


def _attempt(rng: Rng, parts: _Parts, kind: str, data: Catalog) -> tuple[Job | None, str]:
    job = _oriented(_bare(rng, parts, kind))
    if job is None or failing(job.runs[0], _solved(job), job):
        return None, "shape"
    with_more = _beside(rng, job) if rng.random() < 1.0 / 3.0 else job
    with_more = _watched(rng, with_more) if with_more is not None and rng.random() < 0.15 else with_more
    if with_more is None:
        return None, "beside"
    if not check(with_more).passed:
        return None, "check"
    cases = robust.cases(with_more.runs[0], with_more, tried_poses(with_more), [])
    return (with_more, "") if all(case.passed for case in cases) else (None, "limits")


def _solved(job: Job) -> SolvedRun:
    (solved,) = solve_runs(job, job.runs, tried_poses(job))
    return solved


def _bare(rng: Rng, parts: _Parts, kind: str) -> Job:
    radius = centre_radius(parts.hose)
    ends = tuple(End(form, _clock(rng)) for form in parts.forms)
    held = sum(form.cutoff + form.insertion for form in parts.forms)
    free = min(rng.uniform(3.5, 12.0) * radius, 2.5)
    assembly = Assembly(parts.hose, ends[0], ends[1], math.ceil((free + held) / INCREMENT) * INCREMENT)
    curve = _placed(rng, _curve(rng, assembly.free_length, radius))
    arm, waypoints = _motion(rng, kind, curve, assembly.free_length)
    ports = (
        _port("A", "chassis", ends[0], _tail(rng, curve, 0), parts.forms[0]),
        _port("B", "chassis" if kind == "still" else ARM, ends[1], _tail(rng, curve, -1), parts.forms[1]),
    )
    poses = cycle(waypoints, int(rng.integers(30, 61)) if len(waypoints) > 1 else 1)
    service = ()
    if len(waypoints) > 1 and rng.random() < 0.3:
        service = ({ARM: float(rng.choice([waypoints[0][ARM], waypoints[1][ARM], 0.0]))},)
    run = Run("one", "A", "B", parts.duty, assembly)
    return Job("generated", Machine(bodies=(Body(ARM, joint=arm),), ports=ports), poses, (run,), service)


def _clock(rng: Rng) -> float:
    step = 45.0 if rng.random() < 0.5 else 5.0
    return math.radians(step * rng.integers(round(360.0 / step)))


@dataclass(frozen=True, eq=False)
class _Curve:
    """A drawn centre line with its frames: tangent and two normals, (n, 3, 3) as columns; mostly planar."""

    position: Array
    axes: Array


def _curve(rng: Rng, length: float, radius: float) -> _Curve:
    s = (np.arange(STEPS) + 0.5) / STEPS
    shape = rng.choice(["bend", "double", "any"], p=[0.6, 0.25, 0.15])
    bends = {"bend": np.sin(np.pi * s), "double": np.sin(2.0 * np.pi * s), "any": _waves(rng, s)}
    most = min(rng.uniform(0.05, 0.8) / radius, math.radians(rng.uniform(20.0, 200.0)) * np.pi / 2.0 / length)
    first = most * bends[str(shape)]
    second = rng.uniform(0.1, 0.5) * most * _waves(rng, s) if rng.random() < 0.25 else np.zeros(STEPS)
    step, axes, position = length / STEPS, [np.eye(3)], [np.zeros(3)]
    for one, other in zip(first, second, strict=True):
        turn = _turn(step * (one * axes[-1][:, 2] - other * axes[-1][:, 1]))
        middle = axes[-1][:, 0] + turn @ axes[-1][:, 0]
        position.append(position[-1] + step * middle / np.linalg.norm(middle))
        axes.append(turn @ axes[-1])
    return _Curve(np.array(position), np.array(axes))


def _waves(rng: Rng, s: Array) -> Array:
    waves = sum(rng.normal() / k * np.sin(k * np.pi * s) for k in range(1, 4))
    return np.asarray(waves / np.abs(waves).max())


def _turn(vector: Array) -> Array:
    angle = float(np.linalg.norm(vector))
    if angle < 1e-12:
        return np.eye(3)
    x, y, z = vector / angle
    cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    return np.eye(3) + math.sin(angle) * cross + (1.0 - math.cos(angle)) * (cross @ cross)


def _placed(rng: Rng, curve: _Curve) -> _Curve:
    """Put on the machine: in an upright plane, a level one, or any."""
    choice, spin = rng.random(), _turn(np.array([0.0, 0.0, rng.uniform(0.0, math.tau)]))
    tilt = np.eye(3)
    if choice < 0.55:
        tilt = spin @ _turn(np.array([math.pi / 2.0, 0.0, 0.0]))
    elif choice > 0.8:
        tilt = _turn(rng.uniform(0.0, math.pi) * _unit(rng))
    turn = tilt @ spin
    return _Curve(np.array([0.0, 0.0, 1.0]) + curve.position @ turn.T, turn @ curve.axes)


def _unit(rng: Rng) -> Array:
    vector = rng.normal(size=3)
    return np.asarray(vector / np.linalg.norm(vector))


def _tail(rng: Rng, curve: _Curve, end: int) -> Frames:
    """Ferrule tail: the outlet of an elbow lies mostly in the plane of the bend."""
    along, normal, other = (curve.axes[end][:, k] for k in range(3))
    angle = rng.choice([0.0, 90.0, 180.0, 270.0, rng.uniform(0.0, 360.0)], p=[0.3, 0.1, 0.3, 0.1, 0.2])
    outlet = math.cos(math.radians(angle)) * normal + math.sin(math.radians(angle)) * other
    away = along if end == 0 else -along
    axes = np.stack([away, outlet, np.cross(away, outlet)], axis=1)
    return Frames(curve.position[end][None], axes[None])


def _port(name: str, on: str, end: End, tail: Frames, form: EndForm) -> Port:
    """The port whose end reaches to a ferrule tail."""
    own = end.tail()
    axes = tail.axes[0] @ own.axes[0].T
    at = tail.origin[0] - axes @ own.origin[0]
    return Port(name, on, _point(at), _point(axes[:, 0]), _point(axes[:, 1]), form.connection.replace("female", "male"))


def _point(vector: Array) -> tuple[float, float, float]:
    x, y, z = map(float, vector)
    return x, y, z


def _motion(rng: Rng, kind: str, curve: _Curve, length: float) -> tuple[Turn | Slide, list[dict[str, float]]]:
    """Joint of the arm and the values that it runs through; 0 is the pose of the drawn curve."""
    if kind == "still":
        return Slide((0.0, 0.0, 1.0)), [{ARM: 0.0}]
    normal = curve.axes[STEPS // 2][:, 2]
    part = rng.uniform(0.0, 1.0)
    if kind == "turning":
        span = math.radians(rng.uniform(10.0, 110.0))
        axis = normal if rng.random() < 0.75 else normal + rng.uniform(0.1, 0.5) * _unit(rng)
        middle, chord = (curve.position[0] + curve.position[-1]) / 2.0, curve.position[-1] - curve.position[0]
        aside = np.cross(normal, chord) / np.linalg.norm(chord)
        at = middle + rng.uniform(-0.6, 0.6) * chord + rng.uniform(-0.6, 0.6) * length * aside
        joint: Turn | Slide = Turn(_point(at), _point(axis / np.linalg.norm(axis)), -part * span, (1.0 - part) * span)
    else:
        span = rng.uniform(0.05, 0.8) * length
        along = _turn(rng.uniform(0.0, math.tau) * normal) @ curve.axes[0][:, 0]
        along = along if rng.random() < 0.75 else along + rng.uniform(0.1, 0.5) * _unit(rng)
        joint = Slide(_point(along / np.linalg.norm(along)), -part * span, (1.0 - part) * span)
    waypoints = [{ARM: joint.lowest}, {ARM: joint.highest}]
    return joint, waypoints if rng.random() < 0.5 else waypoints[::-1]


def _oriented(job: Job) -> Job | None:
    """With the orientation angle, in whole degrees, at which the hose is fitted free of twist."""
    (run,) = job.runs
    if min(run.assembly.a.form.exit_angle, run.assembly.b.form.exit_angle) == 0.0:
        return job
    angle = math.radians(round(math.degrees(_solved(job).orientation)) % 360)
    return replace(job, runs=(replace(run, assembly=replace(run.assembly, orientation_angle=angle)),))


# ---- what stands beside ----


def _beside(rng: Rng, job: Job) -> Job | None:
    """With one or two obstacles 15 to 60 mm beside the way of the hose."""
    for number in range(int(rng.integers(1, 3))):
        more = next((found for found in _with_obstacles(rng, job, number) if _passes(found)), None)
        if more is None:
            return None
        job = more
    return job


def _passes(job: Job) -> bool:
    return not failing(job.runs[0], _solved(job), job)


def _with_obstacles(rng: Rng, job: Job, number: int) -> Iterator[Job]:
    solved = _solved(job)
    for _ in range(MOST_PLACES):
        moving = job.runs[0].port_b == "B" and job.machine.ports[1].on == ARM
        body = ARM if moving and rng.random() < 0.3 else "chassis"
        lines = [*solved.lines, *_ends(solved)]
        swept = np.concatenate([solved.placement.body(body).local(line).reshape(-1, 3) for line in lines])
        radius = (job.runs[0].assembly.hose.outside_diameter or 0.0) / 2.0
        shape = _shape_beside(rng, swept, rng.uniform(0.015, 0.060) + radius)
        if shape is not None:
            surface = Surface.SHARP if rng.random() < 0.15 else Surface.PLAIN
            part = Obstacle(f"part {number + 1}", body, shape, surface)
            machine = replace(job.machine, obstacles=(*job.machine.obstacles, part))
            yield replace(job, machine=machine)


def _ends(solved: SolvedRun) -> list[Array]:
    """Points along both ends, (m, k, 3)."""
    run, placement = solved.run, solved.placement
    ends = ((run.port_a, run.assembly.a), (run.port_b, run.assembly.b))
    return [placement.port(port).points(_dense(end.axis())) for port, end in ends]


def _dense(corners: Array) -> Array:
    parts = np.linspace(0.0, 1.0, 12)[:, None]
    return np.concatenate([a + parts * (b - a) for a, b in itertools.pairwise(corners)])


def _shape_beside(rng: Rng, swept: Array, gap: float) -> BoxShape | CylinderShape | None:
    """A block or a bar, moved away from one point of the way until it has the gap."""
    start, away = swept[rng.integers(len(swept))], _unit(rng)
    size, axis = rng.uniform(0.03, 0.20, 3), _unit(rng)
    for shift in np.arange(0.02, 0.5, 0.004):
        centre = start + shift * away
        shape: BoxShape | CylinderShape = (
            BoxShape(_point(centre), _point(size), _point(axis), _point(np.cross(axis, away)))
            if size[0] > 0.1
            else CylinderShape(_point(centre - size[1] * axis), _point(centre + size[1] * axis), float(size[2] / 4.0))
        )
        if float(shape.distance(swept).min()) >= gap:
            return shape
    return None


def _watched(rng: Rng, job: Job) -> Job:
    """With somebody who stands a little beyond the distance that a hose without a sleeve keeps."""
    lines = np.concatenate(_solved(job).lines).reshape(-1, 3)
    away, start, distance = _unit(rng), lines[rng.integers(len(lines))], rng.uniform(1.04, 1.6)
    for shift in np.arange(1.0, 4.0, 0.01):
        place = start + shift * away
        if float(np.linalg.norm(lines - place, axis=1).min()) >= distance:
            operator = Operator("driver", "chassis", _point(place))
            return replace(job, machine=replace(job.machine, operators=(operator,)))
    return job


def _tags(job: Job) -> tuple[str, ...]:
    found = [f"{len(job.machine.obstacles)} obstacles"] if job.machine.obstacles else []
    found += ["operator"] if job.machine.operators else []
    return (*found, *(["service pose"] if job.service_poses else []))


def in_words(run: Run) -> str:
    """An assembly in one line."""
    assembly = run.assembly
    ends = " | ".join(_end_in_words(end) for end in (assembly.a, assembly.b))
    angle = assembly.orientation_angle
    turned = "" if angle is None else f", {math.degrees(angle):.0f} degrees"
    return (
        f"{assembly.hose.name}, {ends}, overall {assembly.overall_length * 1e3:.0f}, free "
        f"{assembly.free_length * 1e3:.1f}{turned}{', clamps' * bool(run.clamps)}{', sleeve' * run.sleeve}"
    )


def _end_in_words(end: End) -> str:
    chain: Sequence[str] = [f"{adapter.name}@{math.degrees(clock):.0f}" for adapter, clock in end.adapters]
    return " + ".join([*chain, f"{end.form.name}@{math.degrees(end.clock) % 360.0:.0f}"])
