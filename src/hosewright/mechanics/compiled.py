"""How the functions of this package are compiled."""

from __future__ import annotations

from typing import Any

from numba import njit

_OPTIONS: dict[str, Any] = {
    "nogil": True,
    "error_model": "numpy",
    "fastmath": {"contract", "reassoc", "arcp", "nsz"},  # not a number and infinity keep their meaning
}

kernel = njit(**_OPTIONS | {"no_cpython_wrapper": True})
"""For functions that are called from compiled code only."""

entry = njit(**_OPTIONS, cache=True)
"""For functions that Python calls: kept on disk with all that they call, run without the interpreter's lock."""
