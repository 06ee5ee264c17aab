"""What each rule means, for a person who asks."""

from __future__ import annotations

import importlib
import inspect
import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import ModuleType

from hosewright.checks.profile import Profile
from hosewright.errors import ArgumentError, nearest

_FIGURES = {
    "slack": (),
    "bend radius": ("moving_radius_factor", "moving_distance", "moving_angle"),
    "straight at the end": (
        "straight_length",
        "straight_factor_still",
        "straight_factor_moving",
        "straight_factor_advice",
    ),
    "twist in motion": ("twist_advice", "twist_limit", "twist_diameter"),
    "twist as built": ("built_twist_advice", "built_twist_limit", "fitter_twist"),
    "plane": ("plane_travel",),
    "clearance": (
        "clearance_plain",
        "clearance_sharp",
        "clearance_moving_past",
        "clearance_hot",
        "clearance_hose",
        "coil_set",
    ),
    "end clearance": ("clearance_moving_past",),
    "support": ("support_to_8", "support_to_16", "support_above", "clamp_bend_radius"),
    "pressure drop": ("drop_pressure_part", "drop_return", "drop_drain"),
    "guard": ("guard_distance", "guard_pressure", "guard_temperature"),
}
_MODULES = (
    "slack",
    "bend_radius",
    "straight",
    "motion_twist",
    "built_twist",
    "plane",
    "clearance",
    "end_clearance",
    "support",
    "guard",
    "snap",
    "pressure",
    "temperature",
    "fluid",
    "vacuum",
    "velocity",
    "pressure_drop",
    "connection",
)


_TYPED = {
    "m": ("mm", 1e3, 0.0),
    "rad": ("degrees", 180.0 / math.pi, 0.0),
    "rad/m": ("degrees per metre", 180.0 / math.pi, 0.0),
    "Pa": ("bar", 1e-5, 0.0),
    "K": ("°C", 1.0, -273.15),
}
"""Units of the profile's table to those of a job file: name, factor, offset."""


@cache
def _rules() -> dict[str, ModuleType]:
    modules = [importlib.import_module(f"hosewright.checks.{name}") for name in _MODULES]
    return {module.RULE: module for module in modules}


def rules() -> list[str]:
    """Names of all rules."""
    return list(_rules())


@dataclass(frozen=True)
class Explanation:
    """What a rule means, in words, and the figures of the profile that it uses."""

    text: str
    figures: tuple[str, ...]


def explain(rule: str, profile: Profile, more: Mapping[str, Explanation] | None = None) -> str:
    """What a rule means and where its figures come from.

    Parameters
    ----------
    rule : str
        Its name; case and dashes do not matter.
    profile : Profile
        Whose figures are shown.
    more : mapping, optional
        Rules that are worked out elsewhere.

    Raises
    ------
    ArgumentError
        There is no such rule.
    """
    known = {name: Explanation(module.__doc__ or "", _FIGURES.get(name, ())) for name, module in _rules().items()}
    known |= more or {}
    name = rule.strip().lower().replace("-", " ")
    if name not in known:
        raise ArgumentError(f"there is no rule '{rule}'.{nearest(name, known)} All: {', '.join(known)}.")
    lines = [name, "", inspect.cleandoc(known[name].text)]
    if known[name].figures:
        lines += ["", "Figures of the profile:"]
    lines += [f"  {figure} = {_typed(profile, figure)}  [{profile.source(figure)}]" for figure in known[name].figures]
    return "\n".join(lines).replace("``", "")


def _typed(profile: Profile, figure: str) -> str:
    # in the units in which a job file takes it
    unit = profile.figures[figure].unit
    name, factor, offset = _TYPED.get(unit, (unit, 1.0, 0.0))
    return f"{profile[figure] * factor + offset:.4g} {'' if name == '-' else name}".rstrip()
