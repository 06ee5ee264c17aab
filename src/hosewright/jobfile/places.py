"""Where everything stands in a job file: TOML with the place of every key, value and table.

The TOML library keeps comments but tells no places (its parse errors apart). Its parser is followed here at the few
methods through which every key, value and table passes; they are private, so the version is pinned and the tests look
up places of every kind.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from tomlkit import TOMLDocument
from tomlkit.container import Container
from tomlkit.exceptions import InvalidControlChar, ParseError, TOMLKitError, UnexpectedCharError, UnexpectedEofError
from tomlkit.items import AoT, Array, InlineTable, Item, Key, SingleKey, Table
from tomlkit.parser import Parser

from hosewright.errors import HosewrightError

Path = Sequence[str | int]
Step = tuple[Key | None, Any]

ALREADY = re.compile(r'[Kk]ey "(.*)" already exists')
HINTS = {  # by what was not expected
    r"""(["'])(?!.*\1)""": "; the closing quote is missing",
    r"""["']""": '; several texts need brackets, such as ["Cherry Lane 1", "Orchard"]',
    r"[^\W\d]": '; text needs quotes, such as "12 mm", yes is written true, and a list ends in a bracket',
    ",": "; a list needs brackets, such as [0, 0, 1], and a decimal number a point",
    "[“”„‘’«»]": '; write straight quotes, such as "12 mm"',
    ":": "; a key and its value are joined by =, such as length = 850",
}
KEY = re.compile(r"""[\w."'-]+[ \t]*=""")
HEADING = re.compile(r"[ \t]*\[+[\w. \t\"'-]+\]*[ \t]*(#.*)?")
WORD = re.compile(r"""[^\s,=\]}#]+""")
NOTE = re.compile(r"#.*")

WIDEST = 110
"""Characters of a source line that a message shows."""


@dataclass(frozen=True)
class Place:
    """Line and column, both counted from 1."""

    line: int
    column: int


@dataclass(frozen=True)
class Span:
    """Characters of the text, ``end`` not included."""

    start: int
    end: int


class TomlError(HosewrightError):
    """The text is not TOML."""

    def __init__(self, text: str, place: Place) -> None:
        self.place = place
        super().__init__(text)


@dataclass(frozen=True)
class Places:
    """A parsed text and the places in it."""

    text: str
    toml: TOMLDocument

    @classmethod
    def parse(cls, text: str) -> Places:
        """Parse TOML.

        Raises
        ------
        TomlError
            The text is not TOML; names line and column.
        """
        parser = _PlacingParser(text)
        try:
            toml = parser.parse()
            toml.unwrap()
        except (UnexpectedCharError, UnexpectedEofError) as error:
            reason, offset = _unexpected(parser, text, min(parser.offset, len(text)))
            raise TomlError(reason, _place(text, offset)) from error
        except ParseError as error:
            raise TomlError(_reason(error), _error_place(error, parser, text)) from error
        except (TOMLKitError, RecursionError, ValueError, AttributeError, TypeError) as error:
            # a foreign reader of foreign text: whatever it raises, the text is at fault
            raise TomlError(_reason(error), _place(text, parser.last_key)) from error
        return cls(text, toml)

    def steps(self, path: Path) -> list[Step]:
        """Key and item at each part of a path, as far as the path is in the file."""
        found: list[Step] = []
        nodes: list[Any] = [self.toml]
        for part in path:
            matches = _children(nodes, part)
            if not matches:
                break
            found.append(matches[0])
            nodes = [item for _, item in matches]
        return found

    def span(self, path: Path) -> Span | None:
        """Where the value of a path stands; ``None`` where the file does not have it."""
        steps = self.steps(path)
        return getattr(steps[-1][1], "span", None) if len(steps) == len(path) and steps else None

    def key_span(self, path: Path) -> Span | None:
        """Where the key of a path stands."""
        steps = self.steps(path)
        return getattr(steps[-1][0], "span", None) if len(steps) == len(path) and steps else None

    def place(self, path: Path, key: bool = False) -> Place:
        """Place of a value, or of the nearest table or array around it that the file has."""
        if key and (span := self.key_span(path)) is not None:
            return _place(self.text, span.start)
        for _, item in reversed(self.steps(path)):
            span = getattr(item, "span", None)
            if span is not None:
                return _place(self.text, span.start)
        return Place(1, 1)

    def line(self, place: Place) -> tuple[str, int]:
        """The source line of a place, cut where it is very long, and the place's column in it (from 0)."""
        lines = self.text.split("\n")
        line = lines[place.line - 1].rstrip("\r") if place.line <= len(lines) else ""
        first = max(place.column - 1 - WIDEST // 2, 0) if len(line) > WIDEST else 0
        return line[first : first + WIDEST].replace("\t", " "), place.column - 1 - first


class _PlacingParser(Parser):
    """Notes on every key, value and table where it stands."""

    def __init__(self, text: str) -> None:
        super().__init__(text)
        self._headers: list[int] = []
        self.last_key = 0
        self.last_table = 0
        self.last_value = 0
        """End of the last value that is complete."""
        self.open: list[int] = []
        """Starts of the lists and tables in brackets that are not complete."""

    @property
    def offset(self) -> int:
        """Where the parser stands."""
        return int(self._idx)

    def _parse_value(self) -> Item:
        start = self.offset
        item = super()._parse_value()
        self.last_value = self.offset
        return _spanned(item, start, self.offset)

    def _parse_array(self) -> Array:
        self.open.append(self.offset)
        array = super()._parse_array()
        self.open.pop()
        return array

    def _parse_inline_table(self) -> InlineTable:
        self.open.append(self.offset)
        table = super()._parse_inline_table()
        self.open.pop()
        return table

    def _parse_simple_key(self) -> SingleKey:
        start = self.offset
        key = super()._parse_simple_key()
        self.last_key = start + len(key._original) - len(key._original.lstrip())
        return _spanned(key, self.last_key, self.offset)

    def _parse_table(self, parent_name: Key | None = None, parent: Table | None = None) -> tuple[Key, Table | AoT]:
        start = self.offset
        self._headers.append(start)
        key, table = super()._parse_table(parent_name, parent)
        self.last_table = self._headers.pop()
        return key, _spanned(table, start, self.offset)

    def _parse_aot(self, first: Table, name_first: Key) -> AoT:
        # reached at the end of the first table of an array, before its siblings
        if self._headers:
            _spanned(first, self._headers[-1], self.offset)
        return super()._parse_aot(first, name_first)


def _spanned(item: Any, start: int, end: int) -> Any:
    item.span = Span(start, end)
    return item


def _children(nodes: Iterable[Any], part: str | int) -> list[Step]:
    """Items under a key; several where a table is given in pieces. Or the one item of a list."""
    if isinstance(part, int):
        elements = [element for node in nodes for element in _elements(node)]
        return [(None, elements[part])] if part < len(elements) else []
    return [(key, item) for node in nodes for key, item in _body(node) if key is not None and key.key == part]


def _elements(node: Any) -> list[Any]:
    if isinstance(node, AoT):
        return list(node.body)
    return list(list.__iter__(node)) if isinstance(node, Array) else []


def _body(node: Any) -> list[tuple[Key | None, Any]]:
    container = node.value if isinstance(node, Table | InlineTable) else node
    return list(container.body) if isinstance(container, Container) else []


def _place(text: str, offset: int) -> Place:
    before = text[:offset]
    return Place(before.count("\n") + 1, offset - (before.rfind("\n") + 1) + 1)


def _error_place(error: ParseError, parser: _PlacingParser, text: str) -> Place:
    """The library does not tell the place of a table that is there already."""
    if "already exists" in str(error):
        return _place(text, parser.last_table)
    return Place(error.line, error.col + 1)


def _reason(error: Exception) -> str:
    reason = str(error).rpartition(" at line ")[0] or str(error)
    if isinstance(error, InvalidControlChar):
        return "this is not TOML: a quote is missing at the end of the text, or a character in it cannot be printed"
    if match := ALREADY.search(reason):
        return f"'{match[1]}' is given twice; leave out one of them (or write [[...]] where there may be several)"
    return f"this is not TOML: {reason[:1].lower()}{reason[1:]}"


def _unexpected(parser: _PlacingParser, text: str, offset: int) -> tuple[str, int]:
    """What is wrong where the text does not go on as it should, and where that is."""
    start = text.rfind("\n", 0, offset) + 1
    line = text[start:].partition("\n")[0]
    if parser.open:
        return _in_brackets(parser, text, offset, line)
    if parser.last_value > start and KEY.match(text[offset:]):
        return f"this is not TOML: {_word(text[offset:])} needs a line of its own", offset
    if text[offset : offset + 1] not in ("", "\n"):
        return f"this is not TOML: unexpected character: '{text[offset]}'{_hint(text[offset:])}", offset
    if line.lstrip().startswith("["):
        name = line.strip(" \t[]")
        return f"this is not TOML: the brackets of a heading do not match; write [{name}] or [[{name}]]", start
    if "=" in line and not line.partition("=")[2].strip():
        return f"this is not TOML: '{line.partition('=')[0].strip()}' has no value", offset
    if not text[offset:]:
        return "this is not TOML: the text ends too early; a quote or bracket may be missing", offset
    return f"this is not TOML: '{line.strip()}' is no key with its value, such as length = 850", start


def _in_brackets(parser: _PlacingParser, text: str, offset: int, line: str) -> tuple[str, int]:
    begin, rest = parser.open[-1], text[offset:]
    listed, between = text[begin] == "[", text[parser.last_value : offset]
    if not rest or HEADING.fullmatch(line) or (listed and KEY.match(rest)):
        lines = [one for one in parser.open if "\n" in text[one:offset]] or [begin]
        kind, bracket = ("list", "]") if text[lines[-1]] == "[" else ("table", "}")
        return f"this is not TOML: the {kind} that begins here is not closed; '{bracket}' is missing", lines[-1]
    if begin < parser.last_value and not NOTE.sub("", between).strip() and _begins(rest, listed=listed):
        return f"this is not TOML: a comma is missing before {_word(rest)}", offset
    return f"this is not TOML: unexpected character: '{rest[0]}'{_hint(rest)}", offset


def _begins(rest: str, *, listed: bool) -> bool:
    """Whether another element of a list, or another key of a table, begins here."""
    return rest[0] in "[{\"'+-.0123456789" or rest.startswith(("true", "false")) if listed else bool(KEY.match(rest))


def _word(rest: str) -> str:
    if rest[0] in "[{":
        return f"this '{rest[0]}'"
    match = WORD.match(rest)
    return f"'{match[0]}'" if match and match[0][0] not in "\"'" else "this text"


def _hint(rest: str) -> str:
    """What may be meant by a text that cannot be read on."""
    return next((text for kind, text in HINTS.items() if re.match(kind, rest)), "")
