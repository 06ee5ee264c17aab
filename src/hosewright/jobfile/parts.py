"""From the tables of a job file to the parts of a machine."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cache, partial
from typing import Any, TypeVar

import numpy as np

from hosewright.errors import ArgumentError, DataError, nearest
from hosewright.geometry import BoxShape, CylinderShape, Frames, MeshShape, Shape, SphereShape, upright
from hosewright.jobfile.files import Folder
from hosewright.jobfile.joints import Joints
from hosewright.jobfile.models import (
    BodyTable,
    CylinderTable,
    MeshTable,
    MountTable,
    ObstacleTable,
    OperatorTable,
    PinTable,
    PortTable,
    SlideTable,
    TurnTable,
)
from hosewright.jobfile.problems import Collector
from hosewright.jobfile.salvage import Salvage
from hosewright.machine import (
    Body,
    Cylinder,
    Eye,
    Mount,
    Obstacle,
    Operator,
    Pin,
    Port,
    Slide,
    Structure,
    Surface,
    Turn,
    from_urdf,
)
from hosewright.machine.parts import Point
from hosewright.units import Kind

Placed = PortTable | MountTable | OperatorTable | ObstacleTable
Part = TypeVar("Part")

STILL = Frames(np.zeros((1, 3)), np.eye(3)[None])
LEAST_SINE = 1e-3


@dataclass(frozen=True)
class Parts:
    """All parts that a file gives; those of a URDF file come last, so that places in the file hold."""

    bodies: tuple[Body, ...]
    cylinders: tuple[Cylinder, ...]
    pins: tuple[Pin, ...]
    ports: tuple[Port, ...]
    mounts: tuple[Mount, ...]
    operators: tuple[Operator, ...]
    obstacles: tuple[Obstacle, ...]
    drawn_at: Mapping[str, float]

    joints: Joints

    def held(self, drawn: Mapping[str, float]) -> dict[str, float]:
        """Value of every joint and stroke of every cylinder in the drawn pose."""
        values = {body.name: drawn.get(body.name, 0.0) for body in self.bodies if body.joint is not None}
        return values | {one.name: math.dist(one.base.at, one.rod.at) - one.closed for one in self.cylinders}


def read_parts(job: Salvage, folder: Folder, found: Collector) -> Parts:
    """Parts of the machine; what cannot be used is noted in ``found`` and left out."""
    structure = _structure(job, folder, found)
    bodies = (*(_body(table) for _, table in job.each("body")), *structure.bodies)
    cylinders = tuple(_cylinder(table) for _, table in job.each("cylinder"))
    return Parts(
        bodies=bodies,
        cylinders=cylinders,
        pins=tuple(_pin(table) for _, table in job.each("pin")),
        ports=_placed(job, "port", structure, found, _port),
        mounts=_placed(job, "mount", structure, found, _mount),
        operators=_placed(job, "operator", structure, found, _operator),
        obstacles=(*_placed(job, "obstacle", structure, found, _Obstacles(folder)), *structure.obstacles),
        drawn_at=structure.drawn_at,
        joints=_joints(job, bodies, cylinders, structure),
    )


def drawn_values(job: Salvage, parts: Parts, found: Collector) -> dict[str, float]:
    """Joint values of the drawn pose."""
    given = job.tables.job.drawn_at
    return {**parts.drawn_at, **parts.joints.values(given, found, ("job", "drawn_at"))}


def joint_kinds(bodies: Iterable[Body]) -> dict[str, Kind]:
    """What the value of each joint measures."""
    return {
        body.name: Kind.ANGLE if isinstance(body.joint, Turn) else Kind.LENGTH
        for body in bodies
        if body.joint is not None
    }


def _structure(job: Salvage, folder: Folder, found: Collector) -> Structure:
    machine = job.tables.machine
    if machine is not None:
        with found.at("machine", "urdf"):
            text = folder.text(machine.urdf)
            load = cache(partial(folder.urdf_mesh, machine.meshes))
            kinds = joint_kinds(from_urdf(text, load, machine.urdf).bodies)
            given = job.tables.job.drawn_at
            own = {joint: value for joint, value in given.items() if joint in kinds}
            drawn = Joints(kinds).values(own, found, ("job", "drawn_at"))
            return from_urdf(text, load, machine.urdf, drawn)
    return Structure((), (), {}, {})


def _joints(job: Salvage, bodies: tuple[Body, ...], cylinders: tuple[Cylinder, ...], structure: Structure) -> Joints:
    kinds = joint_kinds(bodies) | {cylinder.name: Kind.LENGTH for cylinder in cylinders}
    usable = {body.name for body in bodies} | {cylinder.name for cylinder in cylinders}
    broken = {name for key in ("body", "cylinder") for name in job.names(key) if name not in usable}
    complete = not job.broken & {"machine", "body", "cylinder"} and (
        job.tables.machine is None or bool(structure.bodies)
    )
    return Joints(kinds, frozenset(broken), complete)


def _body(table: BodyTable) -> Body:
    joint: Turn | Slide | None = None
    if table.turn is not None:
        joint = Turn(table.turn.at, table.turn.about, *_range(table.turn))
    elif table.slide is not None:
        joint = Slide(table.slide.along, *_range(table.slide))
    return Body(table.name, table.on, joint)


def _range(table: TurnTable | SlideTable) -> tuple[float, float]:
    return (
        -math.inf if table.lowest is None else table.lowest,
        math.inf if table.highest is None else table.highest,
    )


def _cylinder(table: CylinderTable) -> Cylinder:
    base, rod = (Eye(eye.on, eye.at, eye.pin) for eye in (table.base, table.rod))
    return Cylinder(table.name, base, rod, table.closed, table.open, table.bore, table.rod_diameter)


def _pin(table: PinTable) -> Pin:
    return Pin(table.name, (table.bodies[0], table.bodies[1]), table.at, table.about)


def _placed(
    job: Salvage, kind: str, structure: Structure, found: Collector, make: Callable[[Any, Frames], Part]
) -> tuple[Part, ...]:
    """Parts that sit on bodies, their points brought into the machine frame."""
    parts = []
    for index, table in job.each(kind):
        with found.at(kind, index):
            parts.append(make(table, _frame(table, structure)))
    return tuple(parts)


def _frame(table: Placed, structure: Structure) -> Frames:
    if table.frame == "machine":
        return STILL
    if table.on not in structure.links:
        raise DataError(
            f"frame = 'link' needs 'on' to be a link of the URDF file, '{table.on}' is none."
            f"{nearest(table.on, structure.links)}"
        )
    return structure.links[table.on]


def _point(frame: Frames, point: Point) -> Point:
    x, y, z = (float(value) for value in frame.points(np.array([point]))[0, 0])
    return x, y, z


def _direction(frame: Frames, direction: Point | None) -> Point | None:
    return None if direction is None else _turned(frame, direction)


def _turned(frame: Frames, direction: Point) -> Point:
    x, y, z = (float(value) for value in frame.directions(np.array([direction]))[0, 0])
    return x, y, z


def _port(table: PortTable, frame: Frames) -> Port:
    facing, up = _turned(frame, table.facing), _direction(frame, table.up)
    return Port(table.name, table.on, _point(frame, table.at), facing, up, table.connection)


def _mount(table: MountTable, frame: Frames) -> Mount:
    along, up = _turned(frame, table.along), _direction(frame, table.up)
    return Mount(table.name, table.on, _point(frame, table.at), along, table.stand_off, up)


def _operator(table: OperatorTable, frame: Frames) -> Operator:
    return Operator(table.name, table.on, _point(frame, table.at))


@dataclass(frozen=True)
class _Obstacles:
    folder: Folder

    def __call__(self, table: ObstacleTable, frame: Frames) -> Obstacle:
        shape = self._shape(table, frame)
        return Obstacle(table.name, table.on, shape, Surface(table.surface), table.removable)

    def _shape(self, table: ObstacleTable, frame: Frames) -> Shape:
        if box := table.box:
            return BoxShape(_point(frame, box.at), box.size, _turned(frame, box.along), _turned(frame, box.up))
        if bar := table.cylinder:
            return CylinderShape(_point(frame, bar.start), _point(frame, bar.end), bar.half)
        if ball := table.sphere:
            return SphereShape(_point(frame, ball.at), ball.half)
        assert table.mesh is not None  # a table has exactly one shape
        return self._mesh(table.mesh, frame)

    def _mesh(self, table: MeshTable, frame: Frames) -> Shape:
        mesh = self.folder.mesh(table.file, table.unit)
        along, up = np.array([_turned(frame, table.along)]), np.array([_turned(frame, table.up)])
        if np.linalg.norm(np.cross(along, up)) < LEAST_SINE:
            raise ArgumentError("the mesh's 'along' and 'up' must not be parallel")
        return MeshShape(mesh.placed(upright(along, up)[0], np.array(_point(frame, table.at))))
