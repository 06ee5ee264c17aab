"""Hoses, ends, adapters, connections, fluids and spanners as data, each figure with its source."""

from hosewright.catalog.catalog import VERSION, Catalog, load
from hosewright.catalog.connections import Connection, Family, Size, families, mates, sizes, why_not
from hosewright.catalog.fluids import FluidData
from hosewright.catalog.hoses import TORSION_OVER_BENDING, Construction, ImpulsePoint, constructions
from hosewright.catalog.spanners import Spanner, spanner_for, spanners
from hosewright.catalog.threads import Match, identify, look_alikes

__all__ = [
    "TORSION_OVER_BENDING",
    "VERSION",
    "Catalog",
    "Connection",
    "Construction",
    "Family",
    "FluidData",
    "ImpulsePoint",
    "Match",
    "Size",
    "Spanner",
    "constructions",
    "families",
    "identify",
    "load",
    "look_alikes",
    "mates",
    "sizes",
    "spanner_for",
    "spanners",
    "why_not",
]
