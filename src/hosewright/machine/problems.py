"""What is wrong with a machine, as far as its drawn pose tells; each with its place in the job."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from graphlib import CycleError

import numpy as np

from hosewright.errors import Problem, nearest
from hosewright.machine.description import Description, Named
from hosewright.machine.kinematics import LEAST_LEVER, pin_direction, unit_or_zero
from hosewright.machine.linkage import between
from hosewright.machine.parts import GROUND, Body, Cylinder, Mount, Obstacle, Operator, Pin, Point, Port, Slide, Turn
from hosewright.machine.text import in_words

PARALLEL = 1e-3
"""Sine of an angle below which two directions count as parallel. [1]"""

LENGTH_TOLERANCE = 1e-6
"""Rounding in a cylinder's length is forgiven up to this. [m]"""

DEEPEST_SEAT = 0.005
"""A port's seat may lie this deep in the part that carries it: counterbores, and rounding of drawings. [m]"""

Problems = Iterator[Problem]
Path = tuple[str | int, ...]


def find_problems(machine: Description) -> tuple[Problem, ...]:
    """All that is wrong; what depends on names only once these are right, what depends on directions likewise."""
    rounds: list[list[Callable[[Description], Problems]]] = [
        [_names, _bodies_named],
        [_cycle],
        [_numbers, _joints, _drawn_at, _cylinders, _loops, _directions],
        [_buried_ports],
    ]
    for checks in rounds:
        problems = tuple(problem for check in checks for problem in check(machine))
        if problems:
            return problems
    return ()


def body_names(machine: Description) -> list[str]:
    """Names that something may be on."""
    ends = [name for cylinder in machine.cylinders for name in cylinder.bodies]
    return [GROUND, *(body.name for body in machine.bodies), *ends]


def _names(machine: Description) -> Problems:
    kinds: dict[str, Sequence[Named]] = {
        "pin": machine.pins,
        "port": machine.ports,
        "mount": machine.mounts,
        "operator": machine.operators,
        "obstacle": machine.obstacles,
    }
    for kind, parts in kinds.items():
        yield from _twice(kind, [part.name for part in parts])
    yield from _twice("body", [body.name for body in machine.bodies], [GROUND])
    taken = [GROUND, *(body.name for body in machine.bodies)]
    yield from _twice("cylinder", [cylinder.name for cylinder in machine.cylinders], taken)
    for index, body in enumerate(machine.bodies):
        if body.name in {name for cylinder in machine.cylinders for name in cylinder.bodies}:
            yield Problem(
                ("body", index, "name"), f"'{body.name}' is already a part of a cylinder; choose another name"
            )


def _twice(kind: str, names: list[str], taken: list[str] | None = None) -> Problems:
    seen = Counter(taken or [])
    for index, name in enumerate(names):
        if not name.strip():
            yield Problem((kind, index, "name"), f"a {kind} needs a name")
        elif seen[name]:
            yield Problem((kind, index, "name"), f"the name '{name}' is already taken; choose another one")
        seen[name] += 1


def _bodies_named(machine: Description) -> Problems:
    known = body_names(machine)
    for path, name in _uses(machine):
        if name not in known:
            yield Problem(path, f"there is no body '{name}'.{nearest(name, known)}")


def _uses(machine: Description) -> Iterator[tuple[Path, str]]:
    for index, cylinder in enumerate(machine.cylinders):
        yield ("cylinder", index, "base", "on"), cylinder.base.on
        yield ("cylinder", index, "rod", "on"), cylinder.rod.on
    for index, pin in enumerate(machine.pins):
        for side, name in enumerate(pin.bodies):
            yield ("pin", index, "bodies", side), name
    riders: dict[str, Sequence[Body | Port | Mount | Operator | Obstacle]] = {
        "body": machine.bodies,
        "port": machine.ports,
        "mount": machine.mounts,
        "operator": machine.operators,
        "obstacle": machine.obstacles,
    }
    for kind, parts in riders.items():
        for index, part in enumerate(parts):
            yield (kind, index, "on"), part.on


def _cycle(machine: Description) -> Problems:
    try:
        _ = machine.tree.order
    except CycleError as error:
        ring = [name for name in error.args[1] if name != GROUND]
        names = [body.name for body in machine.bodies]
        index = next((names.index(name) for name in ring if name in names), 0)
        chain = " on ".join(f"'{name}'" for name in reversed(ring))
        yield Problem(("body", index, "on"), f"{chain}: they hang on each other; a pin can close a loop, 'on' cannot")


def _numbers(machine: Description) -> Problems:
    for path, point in [*_points(machine), *_direction_values(machine)]:
        if len(point) != 3 or not np.isfinite(point).all():
            yield Problem(path, f"needs three numbers, got {_listed(point)}")
    for path, direction in _direction_values(machine):
        if len(direction) == 3 and not any(direction):
            yield Problem(path, "a direction cannot be 0, 0, 0; for instance 0, 0, 1 is up")


def _listed(point: Point) -> str:
    return ", ".join(f"{value:g}" for value in point)


def _points(machine: Description) -> Iterator[tuple[Path, Point]]:
    for index, body in enumerate(machine.bodies):
        if isinstance(body.joint, Turn):
            yield ("body", index, "turn", "at"), body.joint.at
    for index, cylinder in enumerate(machine.cylinders):
        yield ("cylinder", index, "base", "at"), cylinder.base.at
        yield ("cylinder", index, "rod", "at"), cylinder.rod.at
    placed: dict[str, Sequence[Pin | Port | Mount | Operator]] = {
        "pin": machine.pins,
        "port": machine.ports,
        "mount": machine.mounts,
        "operator": machine.operators,
    }
    for kind, parts in placed.items():
        for index, part in enumerate(parts):
            yield (kind, index, "at"), part.at


def _direction_values(machine: Description) -> Iterator[tuple[Path, Point]]:
    for index, body in enumerate(machine.bodies):
        if isinstance(body.joint, Turn):
            yield ("body", index, "turn", "about"), body.joint.about
        elif isinstance(body.joint, Slide):
            yield ("body", index, "slide", "along"), body.joint.along
    for index, cylinder in enumerate(machine.cylinders):
        for side, eye in (("base", cylinder.base), ("rod", cylinder.rod)):
            if eye.pin is not None:
                yield ("cylinder", index, side, "pin"), eye.pin
    for index, pin in enumerate(machine.pins):
        if pin.about is not None:
            yield ("pin", index, "about"), pin.about
    for path, along, up in _axes(machine):
        yield path, along
        if up is not None:
            yield (*path[:2], "up"), up


def _axes(machine: Description) -> Iterator[tuple[Path, Point, Point | None]]:
    """Directions of ports and mounts, each with its ``up``."""
    for index, port in enumerate(machine.ports):
        yield ("port", index, "facing"), port.facing, port.up
    for index, mount in enumerate(machine.mounts):
        yield ("mount", index, "along"), mount.along, mount.up


def _joints(machine: Description) -> Problems:
    for index, body in enumerate(machine.bodies):
        if body.joint is None:
            continue
        path = ("body", index, "turn" if isinstance(body.joint, Turn) else "slide")
        lowest, highest = body.joint.lowest, body.joint.highest
        if not lowest <= highest:
            low, high = (in_words(machine, body.name, value) for value in (lowest, highest))
            yield Problem(path, f"runs from {low} to {high}; the first must not be above the second")
        elif not lowest - 1e-9 <= machine.tree.drawn(body.name) <= highest + 1e-9:
            low, high, drawn = (
                in_words(machine, body.name, value) for value in (lowest, highest, machine.tree.drawn(body.name))
            )
            yield Problem(path, f"is drawn at {drawn}, outside its range from {low} to {high}; say where in drawn_at")


def _drawn_at(machine: Description) -> Problems:
    for name, value in machine.drawn_at.items():
        path = ("job", "drawn_at", name)
        if any(cylinder.name == name for cylinder in machine.cylinders):
            yield Problem(path, f"the stroke of '{name}' follows from its points; leave it out")
        elif name not in machine.tree.joints:
            yield Problem(path, f"there is no joint '{name}'.{nearest(name, machine.tree.joints)}")
        elif not math.isfinite(value):
            yield Problem(path, f"needs a number, got {value:g}")


def _cylinders(machine: Description) -> Problems:
    for index, cylinder in enumerate(machine.cylinders):
        path = ("cylinder", index)
        if not 0.0 < cylinder.closed < cylinder.open < math.inf:
            yield Problem(
                path,
                f"'{cylinder.name}' is {cylinder.closed * 1e3:.4g} mm closed and {cylinder.open * 1e3:.4g} mm open; "
                "eye to eye, open must be longer than closed",
            )
            continue
        yield from _bore(path, cylinder)
        drawn = math.dist(cylinder.base.at, cylinder.rod.at)
        complaint = length_complaint(cylinder, drawn)
        if complaint:
            yield Problem(path, f"in the drawn pose {complaint}")
        for side, eye in (("base", cylinder.base), ("rod", cylinder.rod)):
            along = unit_or_zero(np.subtract(cylinder.rod.at, cylinder.base.at))
            if np.linalg.norm(np.cross(along, pin_direction(cylinder, eye))) < LEAST_LEVER:
                yield Problem(
                    (*path, side, "pin"), f"runs along the cylinder '{cylinder.name}'; a pin stands across it"
                )


def _bore(path: Path, cylinder: Cylinder) -> Problems:
    bore, rod = cylinder.bore, cylinder.rod_diameter
    if bore is not None and not 0.0 < bore < math.inf:
        yield Problem((*path, "bore"), f"must be above 0, got {bore * 1e3:.4g} mm")
    elif rod is not None and not 0.0 < rod < (bore or math.inf):
        over = f"the bore, {bore * 1e3:.4g} mm" if bore is not None else "infinity"
        yield Problem((*path, "rod_diameter"), f"must be above 0 and below {over}, got {rod * 1e3:.4g} mm")


def length_complaint(cylinder: Cylinder, length: float) -> str:
    """What is wrong with an eye-to-eye length; empty where nothing is."""
    if cylinder.closed - LENGTH_TOLERANCE <= length <= cylinder.open + LENGTH_TOLERANCE:
        return ""
    short = length < cylinder.closed
    off = cylinder.closed - length if short else length - cylinder.open
    return (
        f"the eyes of cylinder '{cylinder.name}' are {length * 1e3:.1f} mm apart, {off * 1e3:.1f} mm "
        f"{'less than it has closed' if short else 'more than it reaches open'} "
        f"({cylinder.closed * 1e3:.4g} mm closed, {cylinder.open * 1e3:.4g} mm open)"
    )


def _loops(machine: Description) -> Problems:
    for index, pin in enumerate(machine.pins):
        if not between(machine.tree, *pin.bodies):
            yield Problem(
                ("pin", index, "bodies"), f"'{pin.bodies[0]}' and '{pin.bodies[1]}' do not move against each other"
            )
        yield from _on_cylinder(machine, ("pin", index, "bodies"), pin.bodies)
    for index, cylinder in enumerate(machine.cylinders):
        bodies = (cylinder.base.on, cylinder.rod.on)
        if not between(machine.tree, *bodies):
            yield Problem(
                ("cylinder", index),
                f"both eyes of '{cylinder.name}' are on parts that do not move against each other "
                f"('{bodies[0]}' and '{bodies[1]}'): it could never move",
            )
        yield from _on_cylinder(machine, ("cylinder", index), bodies)


def _on_cylinder(machine: Description, path: Path, names: tuple[str, str]) -> Problems:
    ends = {name for cylinder in machine.cylinders for name in cylinder.bodies}
    for name in names:
        lowest = machine.tree.chain(name)[-1] if name in machine.tree.body_of else name
        foot = machine.tree.body_of[lowest].on if lowest in machine.tree.body_of else lowest
        if foot in ends:
            yield Problem(
                path, f"'{name}' hangs on '{foot}', which only follows; put the eye or pin on a body with a joint"
            )


def _directions(machine: Description) -> Problems:
    for path, along, up in _axes(machine):
        if up is not None and _parallel(along, up):
            yield Problem(
                (*path[:2], "up"), f"{_listed(up)} is parallel to {path[2]} {_listed(along)}; it must stand across it"
            )


def _parallel(a: Point, b: Point) -> bool:
    return bool(np.linalg.norm(np.cross(a, b)) < PARALLEL * np.linalg.norm(a) * np.linalg.norm(b))


def _buried_ports(machine: Description) -> Problems:
    for index, port in enumerate(machine.ports):
        for obstacle in machine.obstacles:
            depth = -float(obstacle.shape.distance(np.array([port.at], dtype=float))[0])
            if depth > DEEPEST_SEAT:
                yield Problem(
                    ("port", index, "at"),
                    f"the seat of '{port.name}' lies {depth * 1e3:.1f} mm inside obstacle '{obstacle.name}'; "
                    f"at most {DEEPEST_SEAT * 1e3:.0f} mm are taken for a counterbore",
                )
