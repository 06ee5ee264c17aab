"""Hydraulic hose assemblies: chosen, proved and documented by computing the real shape of the hose.

``read``, ``change``, ``check`` and ``plan`` are the Python interface; see :mod:`hosewright.api`.
"""

from importlib import import_module
from typing import Any

__version__ = "0.1.0"

_OFFERED = ("change", "check", "plan", "read")


def __getattr__(name: str) -> Any:
    """The interface, loaded when it is first used: importing the package alone costs nothing."""
    if name in _OFFERED:
        return getattr(import_module("hosewright.api"), name)
    raise AttributeError(f"module 'hosewright' has no attribute '{name}'")


def __dir__() -> list[str]:
    return sorted([*globals(), *_OFFERED])
