"""Signed distances on a lattice, filled where they are asked for and kept for the next run.

A distance changes by no more than the way that a point moves, so a trilinear value is never further from the exact
one than the mean distance to the eight nodes, at most ``sqrt(3)/2`` of the spacing.
"""

from __future__ import annotations

import contextlib
import math
import os
import tempfile
import threading
from collections.abc import Callable
from pathlib import Path

import numpy as np
import platformdirs
from numpy.typing import NDArray

from hosewright.errors import ArgumentError
from hosewright.geometry.frames import Array

CELLS = 8
"""Cells along each edge of a block; a block is filled as a whole."""

NODES = CELLS + 1
MOST_BLOCKS = 8_000_000
"""Of the table of blocks (4 bytes each); the blocks themselves are only made where they are needed."""

VERSION = 1
"""Goes into the name of a kept file, so that a change of layout never reads an old one."""


class DistanceGrid:
    """Trilinear signed distance around one solid.

    Parameters
    ----------
    exact
        Signed distances (k,) of points (k, 3). [m]
    bounds : (2, 3) float
        Box around the solid. [m]
    spacing
        Between nodes. [m]
    key
        Fingerprint of the solid; ``None`` keeps nothing between runs.
    margin
        How far around the box the lattice reaches; points further out are asked exactly. [m]
    folder
        Where filled blocks are kept; by default the user's cache.
    """

    def __init__(
        self,
        exact: Callable[[Array], Array],
        bounds: Array,
        spacing: float,
        key: str | None = None,
        margin: float = 0.5,
        folder: Path | None = None,
    ) -> None:
        if not spacing > 0.0:
            raise ArgumentError(f"the spacing of a distance grid must be above 0, got {spacing * 1e3:g} mm")
        self.spacing = spacing
        self._exact = exact
        self._origin = np.asarray(bounds[0]) - margin
        block = spacing * CELLS
        self._shape = np.maximum(np.ceil((bounds[1] - bounds[0] + 2.0 * margin) / block).astype(np.int64), 1)
        if math.prod(int(n) for n in self._shape) > MOST_BLOCKS:
            raise ArgumentError(
                f"a distance grid of {spacing * 1e3:g} mm over {' x '.join(f'{n * block:.1f}' for n in self._shape)} m "
                f"needs more than {MOST_BLOCKS:,} blocks; choose a wider spacing"
            )
        self._table = np.full(self._shape, -1, dtype=np.int32)
        self._values: NDArray[np.float32] = np.zeros((0, NODES, NODES, NODES), dtype=np.float32)
        self._filling = threading.Lock()
        self._file = _file(key, spacing, margin, folder) if key is not None else None
        self._kept = 0
        self._load()

    @property
    def error_bound(self) -> float:
        """No value is further than this from the exact distance. [m]"""
        # 1e-5: values are stored as 32-bit floats, good to 1e-6 m at 10 m
        return math.sqrt(3.0) / 2.0 * self.spacing + 1e-5

    @property
    def blocks(self) -> int:
        """Number of blocks filled so far."""
        return len(self._values)

    def distance(self, points: Array) -> Array:
        """Signed distances (...) of points (..., 3) within ``error_bound``. [m]"""
        points = np.asarray(points, dtype=np.float64)
        flat = points.reshape(-1, 3)
        place = (flat - self._origin) / self.spacing
        inside = ((place >= 0.0) & (place < self._shape * CELLS)).all(axis=1)
        result = np.empty(len(flat))
        result[inside] = self._interpolate(place[inside])
        if not inside.all():
            result[~inside] = self._exact(flat[~inside])
        return result.reshape(points.shape[:-1])

    def _interpolate(self, place: Array) -> Array:
        cell = place.astype(np.int64)
        block, node = cell // CELLS, cell % CELLS
        values, row = self._rows(block)
        flat = values.reshape(-1)
        base = ((row * NODES + node[:, 0]) * NODES + node[:, 1]) * NODES + node[:, 2]
        x, y, z = (place - cell).T
        result = np.zeros(len(place))
        for step_x, weight_x in ((0, 1.0 - x), (1, x)):
            for step_y, weight_y in ((0, 1.0 - y), (1, y)):
                step = base + (step_x * NODES + step_y) * NODES
                result += weight_x * weight_y * ((1.0 - z) * flat[step] + z * flat[step + 1])
        return result

    def _rows(self, block: NDArray[np.int64]) -> tuple[NDArray[np.float32], NDArray[np.int64]]:
        """Filled blocks and the row in them of each asked block."""
        index = np.ravel_multi_index(tuple(block.T), tuple(self._shape))
        with self._filling:
            table = self._table.reshape(-1)
            missing = np.unique(index[table[index] < 0])
            if len(missing):
                self._fill(missing)
            return self._values, table[index].astype(np.int64)

    def _fill(self, missing: NDArray[np.int64]) -> None:
        corner = np.stack(np.unravel_index(missing, tuple(self._shape)), axis=1) * CELLS
        steps = np.stack(np.meshgrid(*[np.arange(NODES)] * 3, indexing="ij"), axis=-1).reshape(-1, 3)
        nodes = self._origin + (corner[:, None, :] + steps) * self.spacing
        fresh = self._exact(nodes.reshape(-1, 3)).astype(np.float32).reshape(-1, NODES, NODES, NODES)
        self._table.reshape(-1)[missing] = np.arange(len(self._values), len(self._values) + len(fresh))
        self._values = np.concatenate([self._values, fresh])
        if len(self._values) > 1.25 * self._kept:  # seldom enough that writing stays cheap, however it is filled
            self._save()

    def _save(self) -> None:
        if self._file is None:
            return
        with contextlib.suppress(OSError):  # a cache that cannot be written costs time only
            self._file.parent.mkdir(parents=True, exist_ok=True)
            _write_whole(self._file, self._table, self._values)
            self._kept = len(self._values)

    def _load(self) -> None:
        if self._file is None or not self._file.exists():
            return
        with contextlib.suppress(Exception):  # a damaged file is as good as none
            with np.load(self._file, allow_pickle=False) as kept:
                table, values = kept["table"], kept["values"]
            if (
                table.shape == self._table.shape
                and values.shape[1:] == (NODES, NODES, NODES)
                and table.max() < len(values)
            ):
                self._table, self._values, self._kept = table.astype(np.int32), values.astype(np.float32), len(values)


def _write_whole(file: Path, table: NDArray[np.int32], values: NDArray[np.float32]) -> None:
    """Write so that another process sees the old file or the new one, never half of it."""
    handle, name = tempfile.mkstemp(dir=file.parent, suffix=".part")
    try:
        with os.fdopen(handle, "wb") as stream:
            np.savez_compressed(stream, table=table, values=values)
        os.replace(name, file)
    except OSError:
        Path(name).unlink(missing_ok=True)
        raise


def _file(key: str, spacing: float, margin: float, folder: Path | None) -> Path:
    folder = folder or platformdirs.user_cache_path("hosewright") / "distances"
    return folder / f"{key[:40]}-{spacing * 1e6:.0f}-{margin * 1e3:.0f}-v{VERSION}.npz"
