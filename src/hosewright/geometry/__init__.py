"""Frames, centre lines and distances: arrays only."""

from hosewright.geometry.distance import Least, LeastBetween, LinePairs, least_between, least_distance, line_pairs
from hosewright.geometry.frames import Frames, cross, rotation, upright
from hosewright.geometry.grid import DistanceGrid
from hosewright.geometry.mesh import Mesh, MeshShape, MeshWarning, read_mesh
from hosewright.geometry.shapes import BoxShape, CapsuleShape, CylinderShape, Shape, SphereShape

__all__ = [
    "BoxShape",
    "CapsuleShape",
    "CylinderShape",
    "DistanceGrid",
    "Frames",
    "Least",
    "LeastBetween",
    "LinePairs",
    "Mesh",
    "MeshShape",
    "MeshWarning",
    "Shape",
    "SphereShape",
    "cross",
    "least_between",
    "least_distance",
    "line_pairs",
    "read_mesh",
    "rotation",
    "upright",
]
