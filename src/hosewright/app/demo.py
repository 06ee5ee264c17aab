"""A hose through a swing, for a first look."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from hosewright.errors import DataError
from hosewright.mechanics import Section, Shapes, Support, sweep

DEMO_POSES = 200
DEMO_RADIUS = 0.130 + 0.0215 / 2.0
"""Minimum bend radius of a compact two-wire hose of size -8 (130 mm inside), on the centre line. [m]"""


def demonstrate(out: Path) -> str:
    """Carry an invented hose from a chassis to a swinging boom; draws ``swing.png`` and returns a table.

    Raises
    ------
    DataError
        The folder cannot be written.
    """
    from hosewright.documents.motion_picture import draw_motion

    shapes = swing(DEMO_POSES)
    try:
        out.mkdir(parents=True, exist_ok=True)
        draw_motion(
            shapes,
            "An invented hose from chassis to boom, the boom swings by 90 degrees",
            out / "swing.png",
            DEMO_RADIUS,
        )
    except OSError as error:
        raise DataError(f"{out}: cannot be written: {error.strerror}") from error
    return f"{_table(shapes)}\n\nPicture: {out / 'swing.png'}"


def swing(poses: int) -> Shapes:
    """A hose of 0.9 m from a fixed port to one on a boom that swings by 90 degrees about a slightly skewed pin."""
    angle = np.radians(np.linspace(-20.0, 70.0, poses))
    zero, one = np.zeros(poses), np.ones(poses)
    reach = np.stack([np.cos(angle), 0.12 * one, np.sin(angle)], axis=1)
    along = np.stack([np.sin(angle), zero, -np.cos(angle)], axis=1)
    section = Section(bending_stiffness=1.3, torsional_stiffness=13.0, axial_stiffness=1.6e5, weight=7.0)
    a = Support(position=(0.0, 0.0, 0.25), direction=(0.0, 0.0, 1.0), reference=(0.0, 1.0, 0.0))
    b = Support(position=0.45 * reach + np.array([0.1, 0.0, 0.25]), direction=along, reference=(0.0, 1.0, 0.0))
    return sweep(section, 0.9, a, b)


def _table(shapes: Shapes) -> str:
    lines = ["pose   least radius     at    twist   energy  status", "           [mm]      [mm]    [deg]      [J]"]
    for k in np.unique(np.linspace(0, len(shapes) - 1, 11).astype(int)):
        shape = shapes[int(k)]
        lines.append(
            f"{k + 1:4d} {shape.least_radius * 1e3:12.1f} {shape.least_radius_at * 1e3:9.0f} "
            f"{np.degrees(shape.twist):8.2f} {shape.energy:8.3f}  {shape.status}"
        )
    worst = int(np.argmin(shapes.least_radius))
    lines.append(
        f"Tightest of {len(shapes)} poses: {shapes.least_radius[worst] * 1e3:.1f} mm in pose {worst + 1}; "
        f"{shapes.iterations.mean():.1f} Newton steps a pose; largest error estimate "
        f"{shapes.error_estimate.max():.1e} of the length"
    )
    return "\n".join(lines)
