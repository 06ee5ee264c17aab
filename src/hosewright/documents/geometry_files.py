"""Shapes for other programs: GLB and STEP of the hoses as they are fitted, CSV of centre lines through the motion.

GLB follows glTF 2.0: metres, y up, z forward, x to the left; the machine's x (forward), y (left) and z (up) become z, x
and y. STEP and CSV stay in the machine's own frame, in mm. A hose reaches from ferrule tail to ferrule tail. Hoses that
are fitted in different poses come in different files, each with the machine in that pose.

References
----------
ISO/IEC 12113, glTF 2.0: coordinate system and units
"""

from __future__ import annotations

import itertools
import logging
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from hosewright.assembly import End
from hosewright.checks.check import RunResult
from hosewright.checks.solve import LENGTHS, NOMINAL, SolvedRun
from hosewright.documents import step_file
from hosewright.documents.bundle import Bundle
from hosewright.documents.csv_file import table
from hosewright.documents.joint_values import read_pose
from hosewright.documents.step_file import Pipe
from hosewright.geometry import BoxShape, CapsuleShape, CylinderShape, Frames, MeshShape, Shape, SphereShape
from hosewright.geometry.frames import Array
from hosewright.geometry.tube import tube
from hosewright.machine import Machine, Placement, Poses, Slide
from hosewright.words import MOST

if TYPE_CHECKING:
    import trimesh

LOG = logging.getLogger(__name__)

FITTED = "fitting"
SPREAD = 12
"""Poses of the motion, evenly spread, whose centre lines are written besides the worst ones."""

DECIMALS = 3
"""Of the figures of centre lines: a thousandth of a mm."""

GLTF_AXES = np.array([[0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [1.0, 0.0, 0.0]])
"""From the machine's x, y, z to glTF's: a turn, so that nothing is mirrored."""

ROUND_FACES = 32
HOSE_GREY, END_GREY, OBSTACLE_GREY = 40, 120, 190


@dataclass(frozen=True, eq=False)
class _Fitting:
    """Runs that are fitted in one pose, and what their files are called."""

    suffix: str
    pose: Mapping[str, float]
    runs: tuple[RunResult, ...]


def files(bundle: Bundle) -> Iterator[tuple[str, bytes]]:
    """Files of the shapes of a job; without the extra ``cad`` no STEP, and the log says so."""
    if not bundle.result.runs:
        return
    machine = bundle.result.job.machine
    fittings = list(_fittings(bundle.result.runs))
    for fitting in fittings:
        yield f"machine{fitting.suffix}.glb", _glb(fitting, machine)
    yield from _steps(fittings)
    yield from _centre_lines(bundle)


def _fittings(runs: Sequence[RunResult]) -> Iterator[_Fitting]:
    poses: list[Mapping[str, float]] = []
    for run in runs:
        if run.solved.fitting_pose not in poses:
            poses.append(run.solved.fitting_pose)
    for number, pose in enumerate(poses, start=1):
        suffix = f"-{number}" if len(poses) > 1 else ""
        yield _Fitting(suffix, pose, tuple(run for run in runs if run.solved.fitting_pose == pose))


def hose_diameter(run: RunResult) -> float:
    """Outside diameter of a hose as drawn; its bore where the outside is not known. [m]"""
    hose = run.run.assembly.hose
    return hose.inside_diameter if hose.outside_diameter is None else hose.outside_diameter


def fitted_line(solved: SolvedRun) -> Array:
    """Centre line in the fitting pose, nominal, from ferrule tail to ferrule tail, (k, 3). [m]"""
    first, *rest = (span.fitted.position for span in solved.spans)
    return np.concatenate([first, *(line[1:] for line in rest)])


# ---- GLB ----


def _glb(fitting: _Fitting, machine: Machine) -> bytes:
    import trimesh  # slow to import

    placement = _placed(machine, fitting.pose)
    scene = trimesh.Scene()
    for obstacle in machine.obstacles:
        frame = placement.body(obstacle.on)
        _add(scene, f"obstacle {obstacle.name}", _moved(_solid(obstacle.shape), frame), OBSTACLE_GREY)
    for run in fitting.runs:
        name = run.run.name
        _add(scene, f"hose {name}", _tube(fitted_line(run.solved), hose_diameter(run)), HOSE_GREY)
        for end, port, side in zip("ab", (run.run.port_a, run.run.port_b), _ends(run), strict=True):
            mesh = _end_mesh(side, placement.port(port), hose_diameter(run))
            _add(scene, f"end {end} of {name}", mesh, END_GREY)
    made = scene.export(file_type="glb")  # type: ignore[no-untyped-call]
    assert isinstance(made, bytes)
    return made


def _ends(run: RunResult) -> tuple[End, End]:
    return run.run.assembly.a, run.run.assembly.b


def _placed(machine: Machine, pose: Mapping[str, float]) -> Placement:
    values = np.array([list(pose.values())], dtype=float)
    return machine.place(Poses(tuple(pose), values, np.zeros(1, dtype=np.int64), np.zeros(1)))


def _add(scene: trimesh.Scene, name: str, mesh: trimesh.Trimesh, grey: int) -> None:
    import trimesh
    from trimesh.visual.material import PBRMaterial

    mesh = trimesh.Trimesh(mesh.vertices @ GLTF_AXES.T, mesh.faces, process=False)
    colour = [grey, grey, grey, 255]
    look = PBRMaterial(baseColorFactor=colour, metallicFactor=0.0, roughnessFactor=0.8)  # type: ignore[no-untyped-call]
    mesh.visual = trimesh.visual.TextureVisuals(material=look)  # type: ignore[no-untyped-call]
    scene.add_geometry(mesh, node_name=name, geom_name=name)


def _tube(line: Array, diameter: float) -> trimesh.Trimesh:
    import trimesh

    return trimesh.Trimesh(*tube(line, diameter / 2.0), process=False)


def _end_mesh(end: End, port: Frames, hose: float) -> trimesh.Trimesh:
    """Adapters and end form as bars from corner to corner, as thick as the ferrule."""
    import trimesh

    corners = port.points(end.axis())[0]
    thickness = end.form.ferrule_diameter or hose
    pairs = itertools.pairwise(corners)
    bars = [_tube(np.stack(pair), thickness) for pair in pairs if np.linalg.norm(pair[1] - pair[0]) > 1e-6]
    whole = trimesh.util.concatenate(bars)
    assert isinstance(whole, trimesh.Trimesh)
    return whole


def _solid(shape: Shape) -> trimesh.Trimesh:
    import trimesh
    from trimesh import creation

    if isinstance(shape, SphereShape):
        return _moved(creation.icosphere(subdivisions=3, radius=shape.radius), _at(shape.centre, np.eye(3)))
    if isinstance(shape, BoxShape):
        return _moved(creation.box(extents=shape.size), _at(shape.centre, shape.axes))
    if isinstance(shape, CylinderShape):
        return creation.cylinder(shape.radius, sections=ROUND_FACES, segment=[shape.start, shape.end])
    if isinstance(shape, CapsuleShape):
        middle = (np.asarray(shape.start) + np.asarray(shape.end)) / 2.0
        bar = creation.capsule(shape.length, shape.radius, count=[ROUND_FACES, ROUND_FACES])
        turn = trimesh.geometry.align_vectors([0, 0, 1], shape.direction)  # type: ignore[no-untyped-call]
        return _moved(bar, _at(middle, turn[:3, :3]))
    if isinstance(shape, MeshShape):
        return trimesh.Trimesh(shape.mesh.vertices, shape.mesh.faces, process=False)
    raise TypeError(f"no mesh is made of {type(shape).__name__}")


def _at(origin: Any, axes: Array) -> Frames:
    return Frames(np.array([origin], dtype=float), axes[None])


def _moved(mesh: trimesh.Trimesh, frame: Frames) -> trimesh.Trimesh:
    import trimesh

    return trimesh.Trimesh(frame.points(np.asarray(mesh.vertices))[0], mesh.faces, process=False)


# ---- STEP ----


def _steps(fittings: Iterable[_Fitting]) -> Iterator[tuple[str, bytes]]:
    if not step_file.available():
        LOG.warning("No STEP file was written: it needs an extra part: pip install 'hosewright[cad]'")
        return
    for fitting in fittings:
        pipes = [Pipe(run.run.name, fitted_line(run.solved), hose_diameter(run)) for run in fitting.runs]
        name = f"hoses{fitting.suffix}.step"
        yield name, step_file.step(pipes, name)


# ---- CSV ----


def _centre_lines(bundle: Bundle) -> Iterator[tuple[str, bytes]]:
    rows: list[tuple[Any, ...]] = []
    used: dict[int, None] = {}
    for run in bundle.result.runs:
        poses = _shown_poses(run, len(run.solved.poses))
        used |= dict.fromkeys(poses)
        rows += _lines(run, poses)
    head = ("run", "state", "pose", "arc_mm", "x_mm", "y_mm", "z_mm", "radius_mm")
    yield "centre-lines.csv", table(head, rows)
    yield "poses.csv", _pose_table(bundle, sorted(used))


def _shown_poses(run: RunResult, count: int) -> list[int]:
    """Poses spread over the motion, and those in which a finding is worst."""
    poses = run.solved.poses
    places = [finding.place for finding in run.findings]
    worst = {
        poses.nearest(place.path, place.path_at)
        for place in places
        if place.path is not None and place.path_at is not None
    }
    return sorted(worst | {round(k) for k in np.linspace(0.0, count - 1.0, min(count, SPREAD))})


def _lines(run: RunResult, poses: Sequence[int]) -> Iterator[tuple[Any, ...]]:
    solved, name = run.solved, run.run.name
    curvature = _joined([span.fitted.curvature for span in solved.spans])
    yield from _points((name, NOMINAL, FITTED), solved.arcs, fitted_line(solved), curvature)
    for state, label in enumerate(LENGTHS):
        for k in poses:
            curvature = _joined([span.shapes[state].curvature[k] for span in solved.spans])
            yield from _points((name, label, k + 1), _arcs(solved, state), solved.lines[state][k], curvature)


def _arcs(solved: SolvedRun, state: int) -> Array:
    """Places of the nodes along the hose as long as it is in a state, from ferrule tail a, (k,). [m]"""
    starts = [span.start for span in solved.spans]
    ends = np.cumsum([span.lengths[state] for span in solved.spans])
    return np.interp(solved.arcs, [*starts, starts[-1] + solved.spans[-1].length], [0.0, *ends])


def _joined(spans: Sequence[Array]) -> Array:
    """Curvature at the nodes of a whole hose; where two spans meet, that of the tighter one counts."""
    whole = spans[0]
    for curvature in spans[1:]:
        whole = np.concatenate([whole[:-1], [max(whole[-1], curvature[0])], curvature[1:]])
    return whole


def _points(head: tuple[Any, ...], arcs: Array, line: Array, curvature: Array) -> Iterator[tuple[Any, ...]]:
    radius = 1e3 / np.maximum(curvature, 1e3 / MOST)
    figures = np.round(np.column_stack([arcs * 1e3, line * 1e3, radius]), DECIMALS) + 0.0  # no -0.0
    yield from ((*head, *row) for row in figures.tolist())


def _pose_table(bundle: Bundle, used: Sequence[int]) -> bytes:
    machine, poses = bundle.result.job.machine, bundle.result.poses
    fitted = [run.solved.fitting_pose for run in bundle.result.runs]
    joints = list(dict.fromkeys([*poses.joints, *(joint for pose in fitted for joint in pose)]))
    rows: list[tuple[Any, ...]] = []
    for k in used:
        values = dict(zip(poses.joints, map(float, poses.values[k]), strict=True))
        shown = read_pose(values, machine)
        at = (int(poses.path[k]) + 1, round(float(poses.at[k]), 4))
        rows.append(("", k + 1, *at, *(shown.get(joint, "") for joint in joints)))
    for run, pose in zip(bundle.result.runs, fitted, strict=True):
        shown = read_pose(pose, machine)
        rows.append((run.run.name, FITTED, "", "", *(shown.get(joint, "") for joint in joints)))
    units = {joint: _unit(joint, machine) for joint in joints}
    return table(("run", "pose", "path", "part_of_path", *(f"{joint}_{units[joint]}" for joint in joints)), rows)


def _unit(joint: str, machine: Machine) -> str:
    slides = {body.name for body in machine.bodies if isinstance(body.joint, Slide)}
    return "mm" if joint in slides | {cylinder.name for cylinder in machine.cylinders} else "deg"
