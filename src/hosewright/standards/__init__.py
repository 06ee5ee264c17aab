"""Standards: one module a document; each rule answers with its source."""

from hosewright.standards import (
    common_practice,
    dguv_113_020,
    din_20066,
    hose_handbook,
    iso_8331,
    mil_dtl_83796,
    sae_j343,
    sae_j516,
    sae_j517,
    sae_j1273,
    sae_j1405,
)
from hosewright.standards.values import Tolerance, Value

__all__ = [
    "Tolerance",
    "Value",
    "common_practice",
    "dguv_113_020",
    "din_20066",
    "hose_handbook",
    "iso_8331",
    "mil_dtl_83796",
    "sae_j343",
    "sae_j516",
    "sae_j517",
    "sae_j1273",
    "sae_j1405",
]
