"""Papers of a machine for the tests: what they say, and the numbers in it."""

from __future__ import annotations

import io
import re
from collections.abc import Iterable, Iterator
from functools import cache
from typing import Any

from pypdf import PdfReader

from counter_papers import bundle, checked
from hosewright.documents import installation, proof
from hosewright.documents.bundle import Bundle

NUMBER = re.compile(r"\d+(?:[.,]\d+)?")


@cache
def papers(language: str, paper: str = "a4", units: str = "metric") -> tuple[Bundle, dict[str, bytes]]:
    """Installation and proof sheet of the example platform."""
    made = bundle(language=language, paper=paper, units=units)
    return made, {name: content for maker in (installation, proof) for name, content in maker.files(made)}


def text_of(content: bytes) -> str:
    """All words of a PDF; those that a line ends within are joined by blanks."""
    pages = (page.extract_text() for page in PdfReader(io.BytesIO(content)).pages)
    return " ".join("\n".join(pages).replace("\N{NO-BREAK SPACE}", " ").split())


def numbers_in(text: str) -> set[str]:
    """Numbers of a text, with a decimal point, without their sign."""
    return {_plain(found) for found in NUMBER.findall(text)}


def numbers_of(data: Any) -> set[str]:
    """Numbers of the contract, as numbers and within its texts, without their sign."""
    return {number for leaf in _leaves(data) for number in numbers_in(leaf)}


def _leaves(data: Any) -> Iterator[str]:
    if isinstance(data, dict):
        yield from (str(key) for key in data)
        yield from _all(data.values())
    elif isinstance(data, list | tuple):
        yield from _all(data)
    elif isinstance(data, bool) or data is None:
        return
    else:
        yield f"{data:.4f}" if isinstance(data, float) else str(data)


def _all(values: Iterable[Any]) -> Iterator[str]:
    for value in values:
        yield from _leaves(value)


def _plain(number: str) -> str:
    number = number.replace(",", ".")
    return number.rstrip("0").rstrip(".") if "." in number else number


__all__ = ["checked", "numbers_in", "numbers_of", "papers", "text_of"]
