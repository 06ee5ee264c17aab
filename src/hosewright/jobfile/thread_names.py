"""Sizes of the trade that name a whole thread: ``12L`` for a tube, ``G1/2``, ``1/2 NPT``."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from hosewright.catalog import Size, families, sizes
from hosewright.errors import ArgumentError

TUBES = "24 cone"
"""Family whose sizes are tubes of a light and a heavy series (ISO 8434-1)."""

_PARALLEL, _TAPERED, _NPT = ("BSP", "G"), ("BSP taper", "R"), ("NPT", "")
PIPES = {
    "g": _PARALLEL, "bspp": _PARALLEL, "bsp": _PARALLEL, "r": _TAPERED, "rc": _TAPERED, "bspt": _TAPERED,
    "npt": _NPT, "nptf": _NPT,
}  # fmt: skip
"""Family and beginning of its sizes, by the letters of a pipe thread (ISO 228-1, ISO 7-1, ASME B1.20.1)."""

SAME = 1e-5
"""Nominal diameters differ by more. [m]"""

EITHER = "bsp"
"""May be parallel or tapered: the thread is the same, and which it is is left to the eye."""

_LETTERS = "|".join(PIPES)
_INCH = r"(?:[0-9]+[ -])?[0-9]+/[0-9]+|[12]"
TUBE = re.compile(r"\b(?P<tube>[0-9]{1,2}) ?(?P<series>ll?|s)\b|\b(?P<before>ll?|s) ?(?P<behind>[0-9]{1,2})\b")
PIPE = re.compile(
    rf"\b(?P<kind>{_LETTERS}) ?(?P<inch>{_INCH})(?: ?a)?(?![\w/])"
    rf"|(?<![\w/])(?P<size>{_INCH})(?: ?- ?[0-9]+(?:[.,]5)?)? ?(?P<letters>{_LETTERS})\b"
)


@dataclass(frozen=True)
class Named:
    """What a name says of an end.

    Attributes
    ----------
    taper_known
        Whether it says if the thread is tapered.
    """

    size: Size
    taper_known: bool = True

    def readings(self, half: str | None, given: Mapping[str, Any]) -> dict[str, Any]:
        """Readings by the names of ``service.Thread``; a thread that was said, too, is left as it was said.

        Raises
        ------
        ArgumentError
            Another thread was named, too, or the inside diameter of such a female thread is not tabulated.
        """
        nominal, own = given.get("nominal"), self.size.male_diameter
        if nominal is not None and own is not None and not math.isclose(nominal, own, abs_tol=SAME):
            raise ArgumentError(f"{self.size.name} has the thread {self.size.thread}, not one of {nominal * 1e3:g} mm")
        family, size = families()[self.size.family], self.size
        found: dict[str, Any] = {}
        if family.name == TUBES:
            found = {"seat": family.seat, "recess": size.tube_diameter}
        elif self.taper_known:
            found = {"tapered": family.tapered}
        if not given.keys() & {"nominal", "diameter", "pitch", "threads_per_inch"}:
            diameter = size.female_diameter if half == "female" else size.male_diameter
            if diameter is None:
                raise ArgumentError(f"a female {size.thread} has no tabulated diameter: measure inside it and say that")
            found |= {"diameter": diameter, "pitch": size.pitch}
        return found


def tube(match: re.Match[str]) -> Named:
    """The size of a tube with its series, as ``TUBE`` finds it.

    Raises
    ------
    ArgumentError
        There is no such size.
    """
    series, diameter = match["series"] or match["before"], match["tube"] or match["behind"]
    known = ", ".join(one.lstrip("LS") + one.rstrip("0123456789") for one in sizes(TUBES))
    return Named(_size(TUBES, f"{series.upper()}{int(diameter)}", f"tube size '{match[0]}' is known: write {known}"))


def pipe(match: re.Match[str]) -> Named:
    """The size of a pipe thread, as ``PIPE`` finds it.

    Raises
    ------
    ArgumentError
        There is no such size.
    """
    letters = match["kind"] or match["letters"]
    family, begin = PIPES[letters]
    inch = "-".join((match["inch"] or match["size"]).replace("-", " ").split())
    known = f"pipe thread '{match[0]}' is known: write one of {', '.join(sizes(family))}"
    return Named(_size(family, begin + inch, known), letters != EITHER)


def _size(family: str, name: str, otherwise: str) -> Size:
    size = sizes(family).get(name)
    if size is None:
        raise ArgumentError(f"no {otherwise}")
    return size
