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

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Annotated, Any, get_args

import platformdirs
from pydantic import BeforeValidator, Field, ValidationError, ValidationInfo

from hosewright.errors import ArgumentError, DataError, HosewrightError, close_names, nearest
from hosewright.jobfile.files import MOST_JOB_BYTES, read_bytes
from hosewright.jobfile.places import Places, TomlError
from hosewright.jobfile.problems import Collector, not_toml
from hosewright.jobfile.quantities import quantity, refuse, shown, word
from hosewright.jobfile.salvage import note
from hosewright.jobfile.table import Table
from hosewright.units import Kind, si
from hosewright.words import System

MOST_LOGO_BYTES = 2_000_000
LONGEST_TEXT = 200
LEAST_REEL = 1.0
"""A shorter reel is a slip of the unit: bare numbers are mm. [m]"""

MOST_LOST = 0.9
"""A kerf, trim or offcut beyond this is a slip of the unit, and would use up the shortest reel. [m]"""

SIGNATURES = {".svg": b"<", ".png": b"\x89PNG\r\n\x1a\n"}
"""How the pictures begin that a logo may be."""

CHOICES: Mapping[str, tuple[str, Sequence[str]]] = {
    "units": ("system of units", get_args(System)),
    "language": ("language of the papers", ("en", "de")),
    "paper": ("paper", ("a4", "letter")),
}
"""Of the settings that are one word out of a few, what they are and the words."""


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


def read_settings(path: Path | None = None, **words: str | None) -> Settings:
    """The settings of a file; without a name those of the user, and where there are none the usual ones.

    Parameters
    ----------
    path
        The file.
    words
        ``units``, ``language`` or ``paper`` that count before those of the file; ``None`` leaves the file's.

    Raises
    ------
    DataError
        The file cannot be read or something in it is wrong; all of it is told with its place.
    ArgumentError
        Words are not known; all of them are told.
    """
    own = _read_words(words)
    if path is None and not user_file().is_file():
        return replace(Settings(), **own)
    return replace(_read(user_file() if path is None else path), **own)


def _read_words(words: Mapping[str, str | None]) -> dict[str, Any]:
    read: dict[str, Any] = {}
    wrong: list[str] = []
    for name, text in words.items():
        try:
            read |= {} if text is None else {name: read_word(name, text)}
        except ArgumentError as error:
            wrong.append(str(error))
    if wrong:
        raise ArgumentError("\n".join(wrong))
    return read


def read_word(name: str, text: str) -> Any:
    """Units, language or paper as somebody typed them, in capitals or not.

    Raises
    ------
    ArgumentError
        There is no such word.
    """
    kind, known = CHOICES[name]
    if _folded(text) not in known:
        hint = nearest(text.casefold(), close_names(text.casefold(), known))
        raise ArgumentError(f"'{text}' is no {kind}: give one of {', '.join(known)}.{hint}")
    return _folded(text)


def _read(path: Path) -> Settings:
    places = _parsed(path)
    try:
        table = _Tables.model_validate(places.toml.unwrap(), context={"folder": path.parent})
    except ValidationError as error:
        found = Collector()
        note(error, found)
        raise DataError(str(found.error(str(path), places))) from None
    return Settings(**{name: getattr(table, name) for name in table.model_fields_set})


def _parsed(path: Path) -> Places:
    try:
        text = read_bytes(path, str(path), MOST_JOB_BYTES).decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        raise DataError(f"{path}: is not UTF-8 text (byte {error.start}); save it as UTF-8") from error
    try:
        return Places.parse(text)
    except TomlError as error:
        raise DataError(str(not_toml(text, str(path), error))) from error


def _folded(value: Any) -> Any:
    return value.strip().casefold() if isinstance(value, str) else value


def _line(value: Any) -> str:
    if not isinstance(value, str) or len(value) > LONGEST_TEXT:
        raise refuse(f"needs a text of at most {LONGEST_TEXT} signs in quotes, got {shown(value)}")
    return value.strip()


def _lines(value: Any) -> tuple[str, ...]:
    return tuple(map(_line, value if isinstance(value, list) else [value]))


def _logo(value: Any, info: ValidationInfo) -> Logo:
    path = (info.context or {})["folder"] / _line(value)
    begin = SIGNATURES.get(path.suffix.lower())
    if begin is None:
        raise refuse(f"'{path.name}' is neither an SVG nor a PNG file")
    try:
        content = read_bytes(path, path.name, MOST_LOGO_BYTES)
    except DataError as error:
        raise refuse(str(error)) from error
    if not content.lstrip(b"\xef\xbb\xbf \r\n\t").startswith(begin):
        raise refuse(f"'{path.name}' is no {path.suffix[1:].upper()} picture")
    return Logo(f"logo{path.suffix.lower()}", content)


def _reels(value: Any) -> tuple[float, ...]:
    try:
        lengths = [si(one, Kind.LENGTH) for one in (value if isinstance(value, list) else [value])]
    except HosewrightError as error:
        raise refuse(str(error)) from error
    if not lengths or min(lengths) < LEAST_REEL:
        raise refuse(f'needs lengths of at least 1 m with their unit, such as ["50 m", "100 m"], got {shown(value)}')
    return tuple(sorted(lengths))


def _choice(name: str) -> tuple[Any, ...]:
    return (*word(*CHOICES[name]), BeforeValidator(_folded))


Lost = Annotated[float, *quantity(Kind.LENGTH, least=0.0, most=MOST_LOST)]


class _Tables(Table):
    """The file of the settings; what it leaves out is as in ``Settings``."""

    shop: Annotated[str, BeforeValidator(_line)] = Field("", description="name of the shop")
    address: Annotated[tuple[str, ...], BeforeValidator(_lines)] = Field((), description="lines of its address")
    logo: Annotated[Logo | None, BeforeValidator(_logo)] = Field(None, description="picture beside the file")
    units: Annotated[str, *_choice("units")] = Field("metric", description="system of units")
    language: Annotated[str, *_choice("language")] = Field("en", description="language of the papers")
    paper: Annotated[str, *_choice("paper")] = Field("a4", description="size of the paper")
    reel_lengths: Annotated[tuple[float, ...], BeforeValidator(_reels)] = Field((), description="lengths of reels")
    kerf: Lost = Field(0.0, description="length that a cut takes")
    reel_trim: Lost = Field(0.0, description="length that is cut off a reel's ends")
    least_offcut: Lost = Field(0.0, description="shorter rests of a reel are waste")
