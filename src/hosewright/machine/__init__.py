"""Bodies, joints, linkages, ports and obstacles; poses to frames."""

from hosewright.machine.machine import Machine
from hosewright.machine.parts import (
    GROUND,
    Body,
    Cylinder,
    Eye,
    Mount,
    Obstacle,
    Operator,
    Pin,
    Port,
    Slide,
    Surface,
    Turn,
)
from hosewright.machine.placement import Placement
from hosewright.machine.poses import Poses, cycle, joined, lattice, measured, refine, separate
from hosewright.machine.urdf import Structure, from_urdf

__all__ = [
    "GROUND",
    "Body",
    "Cylinder",
    "Eye",
    "Machine",
    "Mount",
    "Obstacle",
    "Operator",
    "Pin",
    "Placement",
    "Port",
    "Poses",
    "Slide",
    "Structure",
    "Surface",
    "Turn",
    "cycle",
    "from_urdf",
    "joined",
    "lattice",
    "measured",
    "refine",
    "separate",
]
