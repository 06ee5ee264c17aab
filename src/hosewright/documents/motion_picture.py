"""Picture of one hose through a motion: shapes, radius along the hose, twist through the motion."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from matplotlib import colormaps
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from hosewright.mechanics import Shapes

SHOWN = 5


def draw_motion(shapes: Shapes, title: str, file: Path, least_radius: float | None = None) -> None:
    """Draw shapes of one span in some poses, and its radius and twist, into a PNG file.

    Parameters
    ----------
    shapes : Shapes
        Over the poses of a motion.
    title : str
        Above the picture.
    file : Path
        Overwritten.
    least_radius : float, optional
        Radius of the centre line that is allowed, drawn as a line. [m]
    """
    poses = np.unique(np.linspace(0, len(shapes) - 1, SHOWN).astype(int))
    colours = [colormaps["viridis"](x) for x in np.linspace(0.0, 0.85, len(poses))]
    figure = Figure(figsize=(11.0, 7.5), layout="constrained")
    figure.suptitle(title)
    grid = figure.add_gridspec(2, 2, width_ratios=(1.3, 1.0))
    _draw_shapes(figure.add_subplot(grid[:, 0], projection="3d"), shapes, poses, colours)
    _draw_radius(figure.add_subplot(grid[0, 1]), shapes, poses, colours, least_radius)
    _draw_twist(figure.add_subplot(grid[1, 1]), shapes)
    figure.savefig(file, dpi=110, metadata={"Software": None})


def _draw_shapes(axes: Axes, shapes: Shapes, poses: np.ndarray, colours: list[tuple[float, ...]]) -> None:
    for k, colour in zip(poses, colours, strict=True):
        axes.plot(*(1e3 * shapes.position[k]).T, color=colour, linewidth=3.0, label=f"pose {k + 1}")
    for k, marker in ((0, "s"), (-1, "o")):
        ends = 1e3 * shapes.position[poses, k]
        axes.plot(*ends.T, marker, color="black", markersize=5)
    axes.set(xlabel="x [mm]", ylabel="y [mm]", zlabel="z [mm]")
    axes.set_aspect("equal")
    axes.locator_params(axis="y", nbins=max(2, round(10 * float(np.ptp(shapes.position[poses, :, 1])))))  # often short
    axes.legend(loc="upper left")
    axes.set_title("Shape in five poses (square: end a)")


def _draw_radius(
    axes: Axes, shapes: Shapes, poses: np.ndarray, colours: list[tuple[float, ...]], least_radius: float | None
) -> None:
    for k, colour in zip(poses, colours, strict=True):
        place = np.linspace(0.0, 1e3 * shapes.length[k], shapes.curvature.shape[1])
        axes.plot(place, 1e3 / np.maximum(shapes.curvature[k], 0.2), color=colour)
    if least_radius is not None:
        axes.axhline(1e3 * least_radius, color="tab:red", linestyle="--", label="least allowed")
        axes.legend()
    axes.set_ylim(0.0, 4e3 * float(np.median(shapes.least_radius)))
    axes.set(xlabel="along the hose from end a [mm]", ylabel="radius of the centre line [mm]")
    axes.set_title("Radius along the hose")
    axes.grid(alpha=0.3)


def _draw_twist(axes: Axes, shapes: Shapes) -> None:
    axes.plot(np.arange(1, len(shapes) + 1), np.degrees(shapes.twist), color="tab:blue")
    axes.set(xlabel="pose", ylabel="twist, end b against end a [degrees]")
    axes.set_title("Twist through the motion")
    axes.grid(alpha=0.3)
