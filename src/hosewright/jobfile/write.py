"""Writing into a job file by splicing its text: whatever is not replaced stays as it was typed, to the last blank."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import tomlkit
from tomlkit.items import AoT, Array, InlineTable, Item, Table

from hosewright.errors import ArgumentError, dotted, nearest
from hosewright.jobfile.hashes import hash_of_choice
from hosewright.jobfile.places import Places, Span, TomlError
from hosewright.jobfile.read import JobFile

Path = Sequence[str | int]
Value = str | int | float | bool | Sequence[Any] | Mapping[str, Any]

HASH_LENGTH = 16
"""Digits of the hash of the inputs that are written, plenty to notice a change."""

CHOICE_LENGTH = 8
"""And of that of what was chosen."""

LONGEST_LIST = 90
"""A list of tables whose text is longer is written with one table a line."""


def set_value(places: Places, path: Path, value: Value) -> str:
    """The text with one value replaced, or a key added to a table that is there.

    Raises
    ------
    ArgumentError
        The file has no such place.
    """
    return _checked(_with_value(places, path, value), path, value)


def _checked(text: str, path: Path, value: Value) -> str:
    """Splicing is trusted only once the text says what was meant."""
    try:
        found: Any = Places.parse(text).toml.unwrap()
        for part in path:
            found = found[part]
    except (TomlError, LookupError, TypeError):
        found = None
    if found != _item(value).unwrap():
        raise ArgumentError(f"'{dotted(path)}' cannot be written into this file; write its table on lines of its own")
    return text


def _with_value(places: Places, path: Path, value: Value) -> str:
    span, text = places.span(path), places.text
    if span is not None and isinstance(places.steps(path)[-1][1], Table | AoT):
        raise ArgumentError(f"'{dotted(path)}' is a table with a header of its own; write its values one by one")
    if span is not None:
        return text[: span.start] + rendered(value) + text[_value_end(text, span) :]
    *table, key = path or [0]
    holder = places.span(table)
    item = places.steps(table)[-1][1] if holder is not None else None
    if holder is None or not isinstance(key, str) or not isinstance(item, Table | InlineTable):
        raise ArgumentError(f"the file has no place '{dotted(path)}' to write to")
    if isinstance(item, InlineTable):
        return _into_inline(text, holder, key, value)
    end = _content_end(text, Span(holder.start, _own_end(places.text, item, holder)))
    return f"{_broken(text[:end])}{_key(key)} = {rendered(value)}\n{text[end:]}"


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
    text = file.text
    for run, table in tables.items():
        if run not in names:
            raise ArgumentError(f"the job has no run '{run}'.{nearest(run, names)}")
        inputs = file.run_hashes[run][:HASH_LENGTH]
        record = {**table, "hash": f"{inputs}-{hash_of_choice(table)[:CHOICE_LENGTH]}" if "limits" in table else inputs}
        text = _with_assembly(Places.parse(text), names.index(run), run, record)  # what was written moves the rest
    return text.replace("\n", file.line_break)


def _with_assembly(places: Places, index: int, run: str, record: Mapping[str, Value]) -> str:
    path = ("run", index)
    span, text = places.span(path), places.text
    if span is None:
        raise ArgumentError(f"run '{run}' is not written as a table [[run]] of its own, so nothing can be added to it")
    old = places.span((*path, "assembly"))
    if not text.startswith("[", span.start) or (old is not None and not text.startswith("[", old.start)):
        return set_value(places, (*path, "assembly"), record)
    block = "[run.assembly]\n" + "".join(f"{_key(key)} = {rendered(value)}\n" for key, value in record.items())
    start = old.start if old is not None else _content_end(text, span)
    end = _content_end(text, old, notes=False) if old is not None else start
    return _checked(_broken(text[:start]) + block + text[end:], (*path, "assembly"), record)


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


def _broken(text: str) -> str:
    """Text that ends in a line break."""
    return text if text.endswith("\n") or not text else text + "\n"


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


def _into_inline(text: str, holder: Span, key: str, value: Value) -> str:
    body = text[holder.start + 1 : holder.end - 1].rstrip().rstrip(",")
    comma = "," if body.strip() else ""
    return f"{text[: holder.start]}{{{body}{comma} {_key(key)} = {rendered(value)} }}{text[holder.end :]}"
