"""Pages: a packaged template and its data made into a tagged PDF.

The data travel as JSON beside the template and are never part of its text, so that no sign in them can act as markup.
The fonts are those within the typesetter, whatever the machine has installed; no date and no random number goes into
the file, so that the same data give the same bytes.
"""

from __future__ import annotations

import json
import tempfile
from collections.abc import Mapping
from functools import cache
from importlib import resources
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final

import typst

from hosewright.errors import DataError

STANDARD: Final = "ua-1"
"""PDF/UA-1 (ISO 14289-1): tagged, with its language and a title."""

UNKNOWN_SIGN = "?"
"""Stands for a sign that no font has."""

_NOTHING: Mapping[str, bytes] = MappingProxyType({})
_PLAIN = "".join(map(chr, range(0x20, 0x17F)))
"""Signs that the fonts are known to have."""

_PROBE = b"""#set document(title: "probe")
#set text(font: ("Libertinus Serif", "DejaVu Sans Mono"))
#json(bytes(sys.inputs.data)).sign"""


def pdf(template: str, data: Mapping[str, Any], pictures: Mapping[str, bytes] = _NOTHING) -> bytes:
    """A document of a packaged template.

    Parameters
    ----------
    template
        Name of a file in ``templates``, without its ending.
    data
        What the template reads as ``data``; texts may hold any sign.
    pictures
        SVG or PNG by the name that the template gives to ``image``.
    """
    files = {**_templates(), **pictures, "main.typ": f'#include "{template}.typ"'.encode()}
    return _compiled(files, _shown(data))


def check_picture(name: str, content: bytes) -> None:
    """Make sure that a picture of a user can be drawn.

    Parameters
    ----------
    name
        File name, whose ending tells the kind.
    content
        SVG or PNG.

    Raises
    ------
    DataError
        It cannot.
    """
    page = f'#set document(title: "x")\n#image("{name}", alt: "x")'
    try:
        _compiled({name: content, "main.typ": page.encode()}, {})
    except typst.TypstError as error:
        raise DataError(f"the picture '{name}' cannot be drawn: {error.message}; save it anew as SVG or PNG") from error


def _compiled(files: Mapping[str, bytes], data: Any) -> bytes:
    with tempfile.TemporaryDirectory() as folder:  # handed over in memory, pictures would have to be text
        for name, content in files.items():
            (Path(folder) / name).write_bytes(content)
        return typst.compile(
            Path(folder) / "main.typ",
            root=Path(folder),
            font_paths=_fonts(),
            ignore_system_fonts=True,
            sys_inputs={"data": json.dumps(data)},
            format="pdf",
            pdf_standards=STANDARD,
            timestamp=0,
        )


@cache
def _fonts() -> typst.Fonts:
    return typst.Fonts(include_system_fonts=False)


@cache
def _templates() -> Mapping[str, bytes]:
    folder = resources.files("hosewright.documents").joinpath("templates")
    return {file.name: file.read_bytes() for file in folder.iterdir() if file.name.endswith(".typ")}


def _shown(data: Any) -> Any:
    # PDF/UA does not allow signs without a glyph, and a title from a user may hold any
    if isinstance(data, str):
        return "".join(sign if sign in _PLAIN or _has(sign) else UNKNOWN_SIGN for sign in data)
    if isinstance(data, Mapping):
        return {key: _shown(value) for key, value in data.items()}
    if isinstance(data, list | tuple):
        return [_shown(value) for value in data]
    return data


@cache
def _has(sign: str) -> bool:
    """Whether the fonts have a sign: asked of the typesetter itself."""
    if sign in "\n\t":
        return True
    if not sign.isprintable():
        return False
    try:
        _compiled({"main.typ": _PROBE}, {"sign": sign})
    except typst.TypstError:
        return False
    return True
