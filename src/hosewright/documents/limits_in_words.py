"""The limits at which plans are tried, in the words of a language."""

from __future__ import annotations

import re

from hosewright.words import Texts

_NAME = re.compile(r"(?P<key>.*?)(?: (?P<value>[-+]?[0-9.]+))?")
"""Words that are a key of the language files, and a figure, as ``search.robust`` names its cases."""


def limit_in_words(name: str, texts: Texts) -> str:
    """What differs at a limit, such as ``"bending stiffness 0.2 times the nominal one"``; a name unknown as it is."""
    found = _NAME.fullmatch(name)
    known = texts.section("limits")
    if found is None or found["key"] not in known:
        return name
    return known[found["key"]].format(value=(found["value"] or "").replace(".", texts.decimal_mark))
