"""The door to the compiled solver: loads it when first needed, compiles it once per machine and says so."""

from __future__ import annotations

import hashlib
import logging
import os
import time
from functools import cache
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import platformdirs

logger = logging.getLogger("hosewright")

_SOURCES = ("compiled", "rod", "banded", "terms", "newton", "statics", "starts", "walk", "carried")


@cache
def cache_folder() -> Path:
    """Folder of the compiled code; another one for each state of the sources, as callers do not notice new callees."""
    here = Path(__file__).parent
    text = b"".join((here / f"{name}.py").read_bytes() for name in _SOURCES)
    base = os.environ.get("HOSEWRIGHT_CACHE") or platformdirs.user_cache_dir("hosewright", appauthor=False)
    return Path(base) / "solver" / hashlib.sha256(text).hexdigest()[:16]


@cache
def load() -> None:
    """Load the compiled code; announces the compilation where it is still to be done."""
    import numba

    from hosewright.mechanics import first

    settings: Any = numba.config
    folder = cache_folder()
    ready = folder / f"ready-numba-{numba.__version__}"
    if ready.exists() or settings.DISABLE_JIT:
        return
    logger.warning("Compiling the hose solver for this machine, once: about half a minute.")
    start = time.perf_counter()
    _exercise(first)
    logger.info("Compiled in %.0f s.", time.perf_counter() - start)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        ready.touch()
    except OSError as problem:
        logger.info("The compiled solver cannot be kept: %s", problem)


def _exercise(first: ModuleType) -> None:
    # one small problem through everything that Python calls
    from hosewright.mechanics import walk
    from hosewright.mechanics.carried import carry
    from hosewright.mechanics.rod import make_work
    from hosewright.mechanics.terms import no_springs

    along, across = np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])
    ends = np.array([[0.0 * along, along, across, 0.9 * along + 0.1 * across, along, across]] * 2)
    path = walk.Path(ends, np.ones(2), np.zeros((2, 3)), 3.0, 1e4)
    found = first.first_shapes(path, 8, None)
    track = walk.make_track(2, 8)
    walk.walk(path, no_springs(), make_work(8, 1), found.position[0].copy(), float(found.twist[0]), track, walk.LEVELS)
    carry(found.position[:1], along[None], along[None], across[None], across[None], np.empty(1))


def warm_up() -> None:
    """Load the solver, and compile it where that is still to be done."""
    load()
