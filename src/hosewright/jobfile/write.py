"""Writing into a job file by splicing its text: whatever is not replaced stays as it was typed, to the last blank."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import tomlkit
from tomlkit.items import AoT, Array, InlineTable, Item, Table

from hosewright.errors import ArgumentError, dotted, nearest
from hosewright.jobfile.hashes import hash_of_record
from hosewright.jobfile.places import Places, Span, TomlError
from hosewright.jobfile.read import JobFile

Path = Sequence[str | int]
Value = str | int | float | bool | Sequence[Any] | Mapping[str, Any]

LONGEST_LIST = 90
"""A list of tables whose text is longer is written with one table a line."""


@dataclass(frozen=True)
class _Splice:
    """A stretch of a text and what takes its place."""

    start: int
    end: int
    text: str


def _spliced(text: str, splices: Iterable[_Splice]) -> str:
    for one in sorted(splices, key=lambda splice: -splice.start):  # from behind, so that the places in front stay
        text = text[: one.start] + one.text + text[one.end :]
    return text


def set_value(places: Places, path: Path, value: Value) -> str:
    """The text with one value replaced, or a key added to a table that is there.

    Raises
    ------
    ArgumentError
        The file has no such place.
    """
    return _checked(_spliced(places.text, [_value(places, path, value)]), {tuple(path): value})


def _checked(text: str, values: Mapping[tuple[str | int, ...], Value]) -> str:
    """Splicing is trusted only once the text says what was meant, at each path."""
    try:
        document: Any = Places.parse(text).toml.unwrap()
    except TomlError:
        document = None
    for path, value in values.items():
        if _found(document, path) != _item(value).unwrap():
            raise ArgumentError(
                f"'{dotted(path)}' cannot be written into this file; write its table on lines of its own"
            )
    return text


def _found(document: Any, path: Path) -> Any:
    for part in path:
        try:
            document = document[part]
        except (LookupError, TypeError):
            return None
    return document


def _value(places: Places, path: Path, value: Value) -> _Splice:
    span, text = places.span(path), places.text
    if span is not None and isinstance(places.steps(path)[-1][1], Table | AoT):
        raise ArgumentError(f"'{dotted(path)}' is a table with a header of its own; write its values one by one")
    if span is not None:
        return _Splice(span.start, _value_end(text, span), rendered(value))
    *table, key = path or [0]
    holder = places.span(table)
    item = places.steps(table)[-1][1] if holder is not None else None
    if holder is None or not isinstance(key, str) or not isinstance(item, Table | InlineTable):
        raise ArgumentError(f"the file has no place '{dotted(path)}' to write to")
    if isinstance(item, InlineTable):
        return _into_inline(text, holder, key, value)
    end = _content_end(text, Span(holder.start, _own_end(places.text, item, holder)))
    return _lines(text, end, end, f"{_key(key)} = {rendered(value)}\n")


def write_assembly(file: JobFile, run: str, table: Mapping[str, Value]) -> str:
    """The text with ``[run.assembly]`` of one run written or replaced; see :func:`write_plan`."""
    return write_plan(file, {run: table})


def write_plan(file: JobFile, tables: Mapping[str, Mapping[str, Value]]) -> str:
    """The text with ``[run.assembly]`` of some runs written or replaced, each with the hash of its inputs.

    Whatever else is in it stays as it was typed, line breaks included.

    Parameters
    ----------
    file
        The job file as it was read, to be planned or to be checked.
    tables
        Values of each table as the file has them (mm, degrees, texts), by the name of its run.

    Raises
    ------
    ArgumentError
        There is no such run, or it is written in a way that leaves no place for a table.
    """
    names = [one.get("name") for one in file.document.unwrap().get("run", ())]
    unknown = next((run for run in tables if run not in names), None)
    if unknown is not None:
        raise ArgumentError(f"the job has no run '{unknown}'.{nearest(unknown, names)}")
    records: dict[tuple[str | int, ...], Mapping[str, Value]] = {
        ("run", names.index(run), "assembly"): {**table, "hash": hash_of_record(file.run_hashes[run], table)}
        for run, table in tables.items()
    }
    splices = [_assembly(file.places, path, record) for path, record in records.items()]
    return _checked(_spliced(file.text, splices), records).replace("\n", file.line_break)


def _assembly(places: Places, path: tuple[str | int, ...], record: Mapping[str, Value]) -> _Splice:
    span, text = places.span(path[:-1]), places.text
    if span is None:
        name = f"'{dotted(path[:-1])}'"
        raise ArgumentError(f"{name} is not written as a table [[run]] of its own, so nothing can be added to it")
    old = places.span(path)
    if not text.startswith("[", span.start) or (old is not None and not text.startswith("[", old.start)):
        return _value(places, path, record)
    block = "[run.assembly]\n" + "".join(f"{_key(key)} = {rendered(value)}\n" for key, value in record.items())
    start = old.start if old is not None else _content_end(text, span)
    end = _content_end(text, old, notes=False) if old is not None else start
    return _lines(text, start, end, block)


def rendered(value: Value) -> str:
    """A value in TOML; long lists of tables one a line."""
    item = _item(value)
    text = item.as_string()
    if isinstance(item, Array) and len(text) > LONGEST_LIST and all(isinstance(one, InlineTable) for one in item):
        return "[\n" + "".join(f"  {one.as_string()},\n" for one in item) + "]"
    return text


def _item(value: Value) -> Item:
    if isinstance(value, Mapping):
        table = tomlkit.inline_table()
        for key, part in value.items():
            if part is not None:  # the file leaves out what is not known
                table.append(key, _item(part))
        return table
    if isinstance(value, Sequence) and not isinstance(value, str):
        array = tomlkit.array()
        for part in value:
            array.append(_item(part))
        return array
    return tomlkit.item(value)


def _key(key: str) -> str:
    return tomlkit.key(key).as_string()


def _value_end(text: str, span: Span) -> int:
    """A date takes the blanks behind it along."""
    return span.start + len(text[span.start : span.end].rstrip())


def _lines(text: str, start: int, end: int, block: str) -> _Splice:
    """A block of lines, which begins on a line of its own."""
    broken = start == 0 or text[start - 1] == "\n"
    return _Splice(start, end, block if broken else "\n" + block)


def _own_end(text: str, table: Table, holder: Span) -> int:
    """Where a table's own keys end: tables within it follow under headers of their own."""
    spans = [getattr(part, "span", None) for _, part in table.value.body]
    headers = [span.start for span in spans if span is not None and text.startswith("[", span.start)]
    return min((start for start in headers if _opens_line(text, start)), default=holder.end)


def _opens_line(text: str, start: int) -> bool:
    return not text[text.rfind("\n", 0, start) + 1 : start].strip()


def _content_end(text: str, span: Span, *, notes: bool = True) -> int:
    """End of a table's last line, or of the notes under it; notes behind a blank line belong to what follows."""
    lines = text[span.start : span.end].splitlines(keepends=True)
    last = max((n for n, line in enumerate(lines) if line.strip() and not line.lstrip().startswith("#")), default=0)
    while notes and last + 1 < len(lines) and lines[last + 1].strip():
        last += 1
    return span.start + sum(len(line) for line in lines[: last + 1])


def _into_inline(text: str, holder: Span, key: str, value: Value) -> _Splice:
    body = text[holder.start + 1 : holder.end - 1].rstrip().rstrip(",")
    comma = "," if body.strip() else ""
    return _Splice(holder.start, holder.end, f"{{{body}{comma} {_key(key)} = {rendered(value)} }}")
