"""The kernels as plain Python: a second copy of their modules, imported with the compiler switched off.

The compiled kernels can be called from compiled code only, and compiling them for a test takes half a minute. The copy
runs the same lines, one small rod at a time.
"""

from __future__ import annotations

import sys
from importlib import import_module
from types import SimpleNamespace

import numba
import numpy as np

import hosewright.mechanics as package

NAMES = ("compiled", "rod", "banded", "terms", "newton", "statics", "starts", "walk")


def interpreted() -> SimpleNamespace:
    """Modules of the kernel by their names; those that the program uses stay as they are."""
    names = [f"{package.__name__}.{name}" for name in NAMES]
    kept = {name: sys.modules.pop(name) for name in names if name in sys.modules}
    before, numba.config.DISABLE_JIT = numba.config.DISABLE_JIT, True
    try:
        found = SimpleNamespace(**{name: import_module(f"{package.__name__}.{name}") for name in NAMES})
    finally:
        numba.config.DISABLE_JIT = before
        for name, short in zip(names, NAMES, strict=True):
            sys.modules.pop(name, None)
            delattr(package, short)
            if name in kept:
                sys.modules[name] = kept[name]
                setattr(package, short, kept[name])
    return found


PLAIN = interpreted()


def random_ends(rng: np.random.Generator, chord: float) -> np.ndarray:
    """Ends (6, 3) of one pose: position, direction and reference of a, then of b."""
    frames = [np.linalg.qr(rng.normal(size=(3, 3)))[0] for _ in range(2)]
    along = chord * np.linalg.qr(rng.normal(size=(3, 3)))[0][0]
    return np.array([np.zeros(3), *frames[0][:2], along, *frames[1][:2]])
