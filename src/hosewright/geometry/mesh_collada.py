"""What a COLLADA file says about itself, read before its triangles, through the optional ``collada`` extra.

References
----------
COLLADA digital asset schema release 1.4.1 (Khronos Group, 2008), elements ``asset`` and ``unit``
"""

from __future__ import annotations

import importlib.util
import math
from xml.etree import ElementTree

from hosewright.errors import DataError


def stated_unit(data: bytes, name: str) -> float:
    """Length of one unit of the file, 1 m where it states none. [m]

    The file's coordinates are used as they stand; a stated up axis does not turn them, since robot descriptions place
    the mesh by its own coordinates.

    Raises
    ------
    DataError
        The extra is not installed, or this is not a COLLADA file.
    """
    if importlib.util.find_spec("collada") is None:
        raise DataError(
            f"{name}: COLLADA files need an extra part: pip install 'hosewright[collada]'; or export the shape as STL"
        )
    head = _Head()
    parser = ElementTree.XMLParser(target=head)
    try:
        parser.feed(data)
        parser.close()
    except (ElementTree.ParseError, LookupError, ValueError) as error:
        raise DataError(f"{name}: not a usable DAE file ({error})") from error
    if head.root != "COLLADA":
        raise DataError(f"{name}: a COLLADA file starts with <COLLADA>, this one with <{head.root}>")
    return _length(head.unit, name)


class _Head:
    """Follows the parser; only the root and the first unit are kept."""

    def __init__(self) -> None:
        self.root = ""
        self.unit = "1"

    def doctype(self, *_: object) -> None:
        raise ValueError("a document type or entities are not allowed")

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        local = tag.rpartition("}")[2]
        if not self.root:
            self.root = local
        elif local == "unit" and self.unit == "1":
            self.unit = attributes.get("meter", "1")

    def close(self) -> None:
        pass


def _length(text: str, name: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not 0.0 < value < math.inf:
        raise DataError(f"{name}: its unit is '{text}' metres; it must be a number above 0, such as 0.001")
    return value
