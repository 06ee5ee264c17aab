"""What each rule means, for a person who asks."""

from __future__ import annotations

import importlib
import inspect
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


@cache
def _rules() -> dict[str, ModuleType]:
    modules = [importlib.import_module(f"hosewright.checks.{name}") for name in _MODULES]
    return {module.RULE: module for module in modules}


def rules() -> list[str]:
    """Names of all rules."""
    return list(_rules())


def explain(rule: str, profile: Profile) -> str:
    """What a rule means and where its figures come from.

    Raises
    ------
    ArgumentError
        There is no such rule.
    """
    name = rule.strip().lower().replace("-", " ")
    if name not in _rules():
        raise ArgumentError(f"there is no rule '{rule}'.{nearest(name, _rules())} All: {', '.join(_rules())}.")
    lines = [f"{name}", "", inspect.cleandoc(_rules()[name].__doc__ or "")]
    figures = _FIGURES.get(name, ())
    if figures:
        lines += ["", "Figures of the profile:"]
    for figure in figures:
        unit = profile.figures[figure].unit
        lines.append(f"  {figure} = {profile[figure]:g} {'' if unit == '-' else unit}  [{profile.source(figure)}]")
    return "\n".join(lines)
