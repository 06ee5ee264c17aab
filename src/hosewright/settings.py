"""Settings of a shop: its name and logo, units, language, paper, and the lengths in which it buys hose.

A TOML file, the one named or ``settings.toml`` in the user's configuration folder::

    shop = "The orchard workshop"
    address = ["Cherry Lane 1", "Orchard"]
    logo = "logo.svg"                  # SVG or PNG beside this file
    units = "us"                       # or "metric"
    language = "de"                    # or "en"
    paper = "letter"                   # or "a4"
    reel_lengths = ["50 m", "100 m"]
    kerf = 3                           # mm that a cut takes
    reel_trim = 50                     # mm that are cut off a reel's ends, both together
    least_offcut = 300                 # mm; what is left of a reel and shorter counts as waste
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import platformdirs

from hosewright import units
from hosewright.errors import DataError, HosewrightError, nearest
from hosewright.units import Kind
from hosewright.words import System

MOST_LOGO_BYTES = 2_000_000
LONGEST_TEXT = 200
LEAST_REEL = 1.0
"""A shorter reel is a slip of the unit: bare numbers are mm. [m]"""

MOST_LOST = 0.9
"""A kerf, trim or offcut beyond this is a slip of the unit, and would use up the shortest reel. [m]"""

SIGNATURES = {".svg": b"<", ".png": b"\x89PNG\r\n\x1a\n"}
"""How the pictures begin that a logo may be."""


@dataclass(frozen=True)
class Logo:
    """A picture by its file name."""

    name: str
    content: bytes


@dataclass(frozen=True)
class Settings:
    """What a shop sets once for all its papers.

    Attributes
    ----------
    address
        Lines.
    reel_lengths
        Lengths in which hose is bought. [m]
    kerf, reel_trim
        Lost by each cut and once by each reel. [m]
    least_offcut
        A shorter rest of a reel is waste. [m]
    """

    shop: str = ""
    address: tuple[str, ...] = ()
    logo: Logo | None = None
    units: System = "metric"
    language: str = "en"
    paper: str = "a4"
    reel_lengths: tuple[float, ...] = (50.0,)
    kerf: float = 0.003
    reel_trim: float = 0.05
    least_offcut: float = 0.3


def user_file() -> Path:
    """Where the settings of a user lie."""
    return platformdirs.user_config_path("hosewright") / "settings.toml"


def read_settings(path: Path | None = None) -> Settings:
    """The settings of a file; without a name those of the user, and where there are none the usual ones.

    Raises
    ------
    DataError
        The file cannot be read or something in it is wrong; the message names file, key and value.
    """
    if path is None:
        path = user_file()
        if not path.is_file():
            return Settings()
    try:
        given = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except OSError as error:
        raise DataError(f"{path}: cannot be read: {error.strerror}") from error
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise DataError(f"{path}: is not a TOML file: {error}") from error
    return _read(given, path)


def _read(given: Mapping[str, Any], path: Path) -> Settings:
    readers = _readers(path.parent)
    values = {}
    for key, value in given.items():
        if key not in readers:
            raise DataError(f"{path}: there is no setting '{key}'.{nearest(key, readers)}")
        try:
            values[key] = readers[key](value)
        except HosewrightError as error:
            raise DataError(f"{path}: {key}: {error}") from error
    return Settings(**values)


def _readers(folder: Path) -> Mapping[str, Callable[[Any], Any]]:
    return {
        "shop": _text,
        "address": lambda value: tuple(map(_text, value if isinstance(value, list) else [value])),
        "logo": lambda value: _logo(folder / _text(value)),
        "units": _one_of("metric", "us"),
        "language": _one_of("en", "de"),
        "paper": _one_of("a4", "letter"),
        "reel_lengths": _reels,
        "kerf": _lost,
        "reel_trim": _lost,
        "least_offcut": _lost,
    }


def _text(value: Any) -> str:
    if not isinstance(value, str) or len(value) > LONGEST_TEXT:
        raise DataError(f"needs a text of at most {LONGEST_TEXT} signs, got {str(value)[:40]!r}")
    return value.strip()


def _one_of(*known: str) -> Callable[[Any], str]:
    def read(value: Any) -> str:
        if value not in known:
            raise DataError(f"'{str(value)[:40]}' is not known; write one of: {', '.join(known)}")
        return str(value)

    return read


def _logo(path: Path) -> Logo:
    begin = SIGNATURES.get(path.suffix.lower())
    if begin is None:
        raise DataError(f"'{path.name}' is neither an SVG nor a PNG file")
    try:
        content = path.read_bytes()
    except OSError as error:
        raise DataError(f"'{path.name}' cannot be read: {error.strerror}") from error
    if len(content) > MOST_LOGO_BYTES or not content.lstrip(b"\xef\xbb\xbf \r\n\t").startswith(begin):
        raise DataError(
            f"'{path.name}' is no {path.suffix[1:].upper()} picture of at most {MOST_LOGO_BYTES / 1e6:.0f} MB"
        )
    return Logo(f"logo{path.suffix.lower()}", content)


def _reels(value: Any) -> tuple[float, ...]:
    lengths = tuple(sorted(units.si(one, Kind.LENGTH) for one in (value if isinstance(value, list) else [value])))
    if not lengths or lengths[0] < LEAST_REEL:
        raise DataError(f'needs lengths of at least 1 m with their unit, such as ["50 m", "100 m"]; got {value!r}')
    return lengths


def _lost(value: Any) -> float:
    length = units.si(value, Kind.LENGTH)
    if not 0.0 <= length <= MOST_LOST:
        raise DataError(f"needs a length of 0 to {MOST_LOST * 1e3:.0f} mm, got {value!r}")
    return length
