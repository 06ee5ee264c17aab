"""Time of signed distances: 100,000 points to a mesh of 20,000 faces, exact and through the grid.

Run: python benchmarks/distance.py
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import trimesh

from hosewright.geometry import DistanceGrid, Mesh, MeshShape, least_distance

POINTS = 100_000


def torus_mesh() -> Mesh:
    torus = trimesh.creation.torus(major_radius=0.5, minor_radius=0.15, major_sections=200, minor_sections=50)
    return Mesh(np.asarray(torus.vertices), np.asarray(torus.faces), "torus")


def timed(what: str, call: Callable[[], object]) -> None:
    start = time.perf_counter()
    call()
    seconds = time.perf_counter() - start
    print(f"{what:56} {seconds * 1e3:9.1f} ms   {POINTS / seconds:12,.0f} points/s")


def main() -> None:
    mesh = torus_mesh()
    random = np.random.default_rng(7)
    points = random.uniform(mesh.bounds[0] - 0.2, mesh.bounds[1] + 0.2, (POINTS, 3))
    print(f"{len(mesh.faces):,} faces, {POINTS:,} points")
    timed("exact, trees built on the way", lambda: mesh.distance(points))
    timed("exact, again", lambda: mesh.distance(points))
    with tempfile.TemporaryDirectory() as folder:
        grid = DistanceGrid(mesh.distance, mesh.bounds, 0.010, key=mesh.fingerprint, folder=Path(folder))
        timed("grid of 10 mm, filled on the way (once)", lambda: grid.distance(points))
        timed("grid of 10 mm, again", lambda: grid.distance(points))
        start = time.perf_counter()
        DistanceGrid(mesh.distance, mesh.bounds, 0.010, key=mesh.fingerprint, folder=Path(folder))
        print(f"{'grid of 10 mm, read back from the cache':56} {(time.perf_counter() - start) * 1e3:9.1f} ms")
    error = np.abs(grid.distance(points) - mesh.distance(points)).max()
    print(f"largest error of the grid {error * 1e3:.2f} mm, proven bound {grid.error_bound * 1e3:.2f} mm")
    hoses = points.reshape(1000, 100, 3)
    shape = MeshShape(mesh, spacing=0.010)
    least_distance(shape, hoses)
    timed("exact least distance of 1,000 lines of 100 points", lambda: least_distance(shape, hoses))


if __name__ == "__main__":
    main()
