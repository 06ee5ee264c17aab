"""Machines from URDF, the open XML format of robot descriptions (links, joints, shapes).

Read are links with their collision shapes (or visual ones where a link has no other), and revolute, continuous,
prismatic and fixed joints with their limits. What cannot be read is refused by name, not left out.

References
----------
Unified Robot Description Format, XML specification: joint, link, geometry
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from xml.etree import ElementTree

import numpy as np

from hosewright.errors import ArgumentError, DataError, nearest
from hosewright.geometry import BoxShape, CylinderShape, Frames, Mesh, MeshShape, Shape, SphereShape, rotation
from hosewright.geometry.frames import Array
from hosewright.machine.parts import GROUND, Body, Obstacle, Point, Slide, Turn

MOST_BYTES = 20_000_000

MeshLoader = Callable[[str], Mesh]
"""Gives the mesh, one file unit as one metre, for a file name as it stands in the URDF (``package://...`` included)."""


@dataclass(frozen=True)
class Structure:
    """What a URDF file says: parts for a machine, in its drawn pose.

    Attributes
    ----------
    bodies
        One for each link; the root link is fixed on the chassis, or is the chassis if that is its name. Each joint
        goes by the name of its child link.
    drawn_at
        Value of each joint in the pose in which the parts are given.
    links : mapping to Frames
        Frame (one pose) of each link in the drawn pose, to place points that are known in a link's frame.
    """

    bodies: tuple[Body, ...]
    obstacles: tuple[Obstacle, ...]
    drawn_at: Mapping[str, float]
    links: Mapping[str, Frames]


def from_urdf(text: str, load_mesh: MeshLoader, name: str, drawn_at: Mapping[str, float] | None = None) -> Structure:
    """Bodies and obstacles from the text of a URDF file.

    Parameters
    ----------
    text
        Content of the file.
    load_mesh
        Called for each mesh file that is named; finding it is the caller's work.
    name
        Of the file, for messages.
    drawn_at
        Joint values, by child link or by joint, in the pose in which other points of the machine are measured;
        0 (or the nearest value in range) where a joint is left out. [rad, m]

    Raises
    ------
    DataError
        The text is not a URDF file, or holds something that cannot be read.
    """
    robot = _parsed(text, name)
    links = _by_name(robot, "link", name)
    joints = _tree(robot, links, name)
    drawn = _drawn_values(joints, drawn_at or {}, name)
    frames = _link_frames(joints, links, drawn)
    bodies = [_body(link, joints.get(link), frames) for link in frames if link != GROUND]
    obstacles = [part for link in frames for part in _obstacles(links[link], link, frames[link], load_mesh, name)]
    return Structure(tuple(bodies), tuple(obstacles), drawn, frames)


class _NoDoctype(ElementTree.TreeBuilder):
    def doctype(self, *_: object) -> None:
        raise DataError("a document type or entities are not allowed in a URDF file")


def _parsed(text: str, name: str) -> ElementTree.Element:
    if len(text) > MOST_BYTES:
        raise DataError(f"{name}: {len(text) / 1e6:.0f} MB are too much; at most {MOST_BYTES / 1e6:.0f} MB can be read")
    parser = ElementTree.XMLParser(target=_NoDoctype())
    try:
        parser.feed(text)
        robot = parser.close()
    except ElementTree.ParseError as error:
        raise DataError(f"{name}:{error.position[0]}: not well-formed XML ({error})") from error
    except DataError as error:
        raise DataError(f"{name}: {error}") from error
    if not isinstance(robot, ElementTree.Element) or robot.tag != "robot":
        raise DataError(f"{name}: a URDF file starts with <robot>, this one with <{getattr(robot, 'tag', '')}>")
    return robot


def _by_name(robot: ElementTree.Element, kind: str, name: str) -> dict[str, ElementTree.Element]:
    found: dict[str, ElementTree.Element] = {}
    for element in robot.findall(kind):
        label = element.get("name", "")
        if not label or label in found:
            raise DataError(f"{name}: each <{kind}> needs a name of its own, got '{label}'{' twice' if label else ''}")
        found[label] = element
    if kind == "link" and not found:
        raise DataError(f"{name}: no <link> found")
    return found


@dataclass(frozen=True)
class _Joint:
    name: str
    parent: str
    child: str
    kind: str
    origin: Frames
    axis: Point
    lowest: float
    highest: float


def _tree(robot: ElementTree.Element, links: Mapping[str, object], name: str) -> dict[str, _Joint]:
    """Joints by child link."""
    found: dict[str, _Joint] = {}
    for label, element in _by_name(robot, "joint", name).items():
        joint = _joint(element, label, name)
        for link in (joint.parent, joint.child):
            if link not in links:
                raise DataError(
                    f"{name}: joint '{label}' names link '{link}', which is not there.{nearest(link, links)}"
                )
        if joint.child in found:
            raise DataError(
                f"{name}: link '{joint.child}' hangs on two joints, '{found[joint.child].name}' and '{label}'"
            )
        found[joint.child] = joint
    _refuse_other_than_tree(found, links, name)
    return found


def _refuse_other_than_tree(joints: Mapping[str, _Joint], links: Mapping[str, object], name: str) -> None:
    roots = [link for link in links if link not in joints]
    if len(roots) != 1:
        found = ", ".join(f"'{root}'" for root in roots) or "none"
        raise DataError(f"{name}: exactly one link must hang on no joint, found {found}")
    if GROUND in joints:
        raise DataError(f"{name}: only the root link can be named '{GROUND}', the name of the ground")
    hanging, reached = set(joints), {roots[0]}
    while ready := {link for link in hanging if joints[link].parent in reached}:
        reached |= ready
        hanging -= ready
    if hanging:
        raise DataError(f"{name}: links {', '.join(sorted(hanging))} hang on each other")


def _joint(element: ElementTree.Element, label: str, name: str) -> _Joint:
    kind = element.get("type", "")
    place = f"{name}: joint '{label}'"
    if kind not in ("revolute", "continuous", "prismatic", "fixed"):
        raise DataError(f"{place} is of type '{kind}'; known: revolute, continuous, prismatic, fixed")
    if element.find("mimic") is not None:
        raise DataError(
            f"{place} mimics another joint; that is not read: close the linkage by a pin, or remove <mimic>"
        )
    axis = _three(element.find("axis"), "xyz", (1.0, 0.0, 0.0), place)
    if not any(axis):
        raise DataError(f"{place}: its axis is 0 0 0; for instance 0 1 0 turns about y")
    lowest, highest = -math.inf, math.inf
    if kind in ("revolute", "prismatic"):
        limit = element.find("limit")
        if limit is None:
            raise DataError(f"{place} is {kind} and needs a <limit lower=... upper=...>")
        lowest, highest = (_number(limit.get(key, "0"), f"{place} {key}") for key in ("lower", "upper"))
        if lowest > highest:
            raise DataError(f"{place}: lower {lowest:g} is above upper {highest:g}")
    ends = []
    for key in ("parent", "child"):
        end = element.find(key)
        ends.append(end.get("link", "") if end is not None else "")
    return _Joint(label, ends[0], ends[1], kind, _origin(element, place), axis, lowest, highest)


def _drawn_values(joints: Mapping[str, _Joint], asked: Mapping[str, float], name: str) -> dict[str, float]:
    moving = {child: joint for child, joint in joints.items() if joint.kind != "fixed"}
    child_of = {joint.name: child for child, joint in moving.items()} | {child: child for child in moving}
    values = {child: float(np.clip(0.0, joint.lowest, joint.highest)) for child, joint in moving.items()}
    for label, value in asked.items():
        if label not in child_of:
            raise DataError(f"{name}: there is no moving joint '{label}'.{nearest(label, child_of)}")
        values[child_of[label]] = value
    return values


def _link_frames(
    joints: Mapping[str, _Joint], links: Mapping[str, object], drawn: Mapping[str, float]
) -> dict[str, Frames]:
    """Frame of every link in the drawn pose, parents first; the root's is the machine frame."""
    frames: dict[str, Frames] = {link: _still() for link in links if link not in joints}
    waiting = list(joints.values())
    while ready := [joint for joint in waiting if joint.parent in frames]:
        for joint in ready:
            frames[joint.child] = (
                frames[joint.parent].place(joint.origin).place(_moved(joint, drawn.get(joint.child, 0.0)))
            )
        waiting = [joint for joint in waiting if joint.child not in frames]
    return frames


def _still() -> Frames:
    return Frames(np.zeros((1, 3)), np.eye(3)[None])


def _moved(joint: _Joint, value: float) -> Frames:
    axis = np.asarray(joint.axis) / np.linalg.norm(joint.axis)
    if joint.kind == "prismatic":
        return Frames(value * axis[None], np.eye(3)[None])
    return Frames(np.zeros((1, 3)), rotation(axis, np.array([value])))


def _body(link: str, joint: _Joint | None, frames: Mapping[str, Frames]) -> Body:
    if joint is None:
        return Body(link, GROUND)
    if joint.kind == "fixed":
        return Body(link, joint.parent)
    frame = frames[link]
    axis = _point(frame.axes[0] @ np.asarray(joint.axis))
    if joint.kind == "prismatic":
        return Body(link, joint.parent, Slide(axis, joint.lowest, joint.highest))
    return Body(link, joint.parent, Turn(_point(frame.origin[0]), axis, joint.lowest, joint.highest))


def _obstacles(
    link: ElementTree.Element, label: str, frame: Frames, load_mesh: MeshLoader, name: str
) -> list[Obstacle]:
    shapes = link.findall("collision") or link.findall("visual")
    found = []
    for number, element in enumerate(shapes, start=1):
        place = f"{name}: {element.tag} {number} of link '{label}'"
        try:
            shape = _shape(element, frame.place(_origin(element, place)), load_mesh, place)
        except ArgumentError as error:
            raise DataError(f"{place}: {error}") from error
        found.append(Obstacle(f"{label} {number}" if len(shapes) > 1 else label, label, shape))
    return found


def _shape(element: ElementTree.Element, frame: Frames, load_mesh: MeshLoader, place: str) -> Shape:
    geometry = element.find("geometry")
    solid = next(iter(geometry), None) if geometry is not None else None
    if solid is None:
        raise DataError(f"{place} has no geometry")
    origin, axes = frame.origin[0], frame.axes[0]
    if solid.tag == "box":
        size = _three(solid, "size", None, place)
        return BoxShape(_point(origin), size, along=_point(axes[:, 0]), up=_point(axes[:, 1]))
    if solid.tag == "sphere":
        return SphereShape(_point(origin), _number(solid.get("radius", ""), f"{place} radius"))
    if solid.tag == "cylinder":
        half = _number(solid.get("length", ""), f"{place} length") / 2.0 * axes[:, 2]
        radius = _number(solid.get("radius", ""), f"{place} radius")
        return CylinderShape(_point(origin - half), _point(origin + half), radius)
    if solid.tag == "mesh":
        scale = np.diag(_three(solid, "scale", (1.0, 1.0, 1.0), place))
        return MeshShape(load_mesh(solid.get("filename", "")).placed(axes @ scale, origin))
    raise DataError(f"{place} is a <{solid.tag}>; known: box, cylinder, sphere, mesh")


def _origin(element: ElementTree.Element, place: str) -> Frames:
    origin = element.find("origin")
    from scipy.spatial.transform import Rotation  # few jobs read a URDF, all would wait for it

    turned = Rotation.from_euler("xyz", _three(origin, "rpy", (0.0, 0.0, 0.0), place)).as_matrix()
    return Frames(np.array([_three(origin, "xyz", (0.0, 0.0, 0.0), place)]), turned[None])


def _three(element: ElementTree.Element | None, key: str, default: Point | None, place: str) -> Point:
    text = element.get(key) if element is not None else None
    if text is None and default is not None:
        return default
    words = (text or "").split()
    if len(words) != 3:
        raise DataError(f"{place}: {key} needs three numbers, got '{text or ''}'")
    x, y, z = (_number(word, f"{place} {key}") for word in words)
    return x, y, z


def _number(text: str, place: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise DataError(f"{place}: '{text}' is not a number")
    return value


def _point(vector: Array) -> Point:
    x, y, z = (float(value) for value in vector)
    return x, y, z
