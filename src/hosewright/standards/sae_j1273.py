"""SAE J1273, recommended practices for hydraulic hose assemblies; from memory."""

from __future__ import annotations

from hosewright.sources import Confidence, Source
from hosewright.standards.values import Value


def shelf_life() -> Value:
    """Longest storage of bulk rubber hose that is stored well and passes inspection. [years]"""
    return Value(10.0, Source("SAE J1273", "shelf life, 40 quarters", Confidence.MEMORY))
