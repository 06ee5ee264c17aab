"""How the functions of this package are compiled."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from numba import config, njit

from hosewright.mechanics.kernel import cache_folder

_OPTIONS: dict[str, Any] = {
    "nogil": True,
    "error_model": "numpy",
    "fastmath": {"contract", "reassoc", "arcp", "nsz"},  # not a number and infinity keep their meaning
}

kernel = njit(**_OPTIONS | {"no_cpython_wrapper": True})
"""For functions that are called from compiled code only."""


def entry(function: Callable[..., Any]) -> Any:
    """For functions that Python calls: kept on disk with all that they call, run without the interpreter's lock."""
    settings: Any = config
    before, settings.CACHE_DIR = settings.CACHE_DIR, str(cache_folder())
    try:
        return njit(**_OPTIONS, cache=True)(function)
    finally:
        settings.CACHE_DIR = before
