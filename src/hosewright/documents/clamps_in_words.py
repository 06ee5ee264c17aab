"""Where the clamps of a hose are, and how closely the hose must lie in them, for somebody who looks for the mounts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from hosewright.checks import slack
from hosewright.checks.check import RunResult
from hosewright.documents.bundle import Bundle
from hosewright.documents.clocks import FORWARD, UP
from hosewright.documents.fitting_picture import LEFT
from hosewright.documents.scenes import fitted
from hosewright.machine import Mount

Array = NDArray[np.float64]

OFF_MARK = 5.0
"""By which a hose may lie beside its mark, where its plan has so much length in hand. [mm]"""
BESIDE = 10.0
"""A mount that is less than this up, forward, ... of a port is not said to be so. [mm]"""
WAYS = ((FORWARD, ("ahead", "back")), (LEFT, ("left", "right")), (UP, ("up", "down")))


@dataclass(frozen=True, eq=False)
class ClampsInWords:
    """Writes the clamps of one run, each as ``"bracket at 663 mm (on chassis, 400 mm forward of port V.B)"``."""

    bundle: Bundle
    run: Mapping[str, Any]
    solved: RunResult

    def each(self) -> Iterator[str]:
        """Mount, mark and place of every clamp, from end a."""
        for clamp in self.run["assembly"]["clamps"]:
            mount = next(one for one in self.bundle.result.job.machine.mounts if one.name == clamp["mount"])
            yield self._word(
                "clamp", mount=mount.name, mark=self.bundle.figures.cut(clamp["mark_mm"]), place=self._place(mount)
            )

    def closely(self) -> str:
        """How far beside its mark a hose may lie: a clamp that is moved takes its length from one of its spans."""
        margins = [one["margin"] for one in self.run["findings"] if one["rule"] == slack.RULE]
        in_hand = min((margin for margin in margins if margin is not None), default=0.0)
        figures = self.bundle.figures
        key = "clamp_within" if in_hand >= OFF_MARK else "clamp_exactly"
        return self._word(key, off=figures.cut(OFF_MARK), margin=figures(in_hand, "mm"))

    def _word(self, key: str, **values: object) -> str:
        return self.bundle.texts(f"installation.{key}", **values)

    def _place(self, mount: Mount) -> str:
        on = self._word("clamp_on", body=mount.on)
        ways = ", ".join(self._ways(mount.name))
        port = self.solved.run.port_a
        where = self._word("clamp_from_port", ways=ways, port=port) if ways else self._word("clamp_at_port", port=port)
        parts = [on, where]
        if mount.stand_off:
            off = self.bundle.figures(round(1e3 * mount.stand_off, 1), "mm")
            parts.append(self._word("clamp_stand_off", off=off))
        return ", ".join(parts)

    def _ways(self, mount: str) -> Iterator[str]:
        away = from_port(mount, self.bundle, self.solved)
        for axis, (more, less) in WAYS:
            length = float(round(float(away @ axis)))
            if abs(length) >= BESIDE:
                way = self.bundle.texts(f"clocks.{more if length > 0.0 else less}")
                yield f"{self.bundle.figures(abs(length), 'mm')} {way}"


def from_port(mount: str, bundle: Bundle, solved: RunResult) -> Array:
    """From the port of end a to the axis of the hose at a mount, in the fitting pose, (3,). [mm]"""
    placement = fitted(bundle.result, solved)[1].solved.placement
    way: Array = 1e3 * (placement.mount(mount).origin[0] - placement.port(solved.run.port_a).origin[0])
    return way
