"""The page about the job file says what the schema says: every table and key, what is needed, examples that read."""

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from hosewright.jobfile import schema
from hosewright.jobfile.models import JobTables

PAGE = (Path(__file__).parents[2] / "docs" / "job-file.md").read_text(encoding="utf-8")
SCHEMA = schema()
SECTION = re.compile(r"^## `(\[+\w+\]+)`\n(.*?)(?=^## |\Z)", re.MULTILINE | re.DOTALL)
SECTIONS = {heading.strip("[]"): (heading, text) for heading, text in SECTION.findall(PAGE)}
HEAD = {"job": {"format": 1, "title": "an example of the page"}}


def referred(schema_of_key: Any) -> list[str]:
    """Names of the tables that a key may hold, in the order of the schema."""
    if isinstance(schema_of_key, list):
        return [name for one in schema_of_key for name in referred(one)]
    if not isinstance(schema_of_key, dict):
        return []
    own = [schema_of_key["$ref"].rpartition("/")[2]] if "$ref" in schema_of_key else []
    return own + [name for one in schema_of_key.values() for name in referred(one)]


def keys(table: str, before: str = "", seen: tuple[str, ...] = ()) -> Iterator[tuple[str, bool]]:
    """Keys of a table and of the tables in it, dotted, and whether each is needed."""
    known = SCHEMA["$defs"][table]
    for key, held in known["properties"].items():
        yield before + key, key in known.get("required", [])
        for inner in referred(held):
            if inner not in seen:
                yield from keys(inner, f"{before}{key}.", (*seen, table, inner))


def table_of(root: str) -> str | None:
    return next(iter(referred(SCHEMA["properties"][root])), None)


def told(root: str) -> dict[str, bool]:
    """Keys in the first column of a section's rows, and whether the last one says that they are needed."""
    found = {}
    for line in re.findall(r"^\| `.*$", SECTIONS[root][1], re.MULTILINE):
        first, *_, last = [cell.strip() for cell in line.strip("|").split("|")]
        found |= dict.fromkeys(re.findall(r"`([\w.]+)`", first), last == "**needed**")
    return found


# Told once: a table of the same keys elsewhere is described by its first place.
ELSEWHERE = re.compile(
    r"rod\.\w+$"  # as base
    r"|(ends|ends\.[ab])\.adapter\.\w+$"  # as a port's
    r"|ends\.[ab]\.\w+$"  # as ends
    r"|assembly\.\w+\..*$"  # as the run's own
)


def expected(root: str) -> dict[str, bool]:
    table = table_of(root)
    found = dict(keys(table)) if table else {}
    return {key: needed for key, needed in found.items() if not (root in ("cylinder", "run") and ELSEWHERE.match(key))}


def test_every_table_has_its_section_and_no_other_one_has() -> None:
    assert SECTIONS.keys() == SCHEMA["properties"].keys()


@pytest.mark.parametrize("root", SCHEMA["properties"])
def test_brackets_say_whether_a_table_may_stand_more_than_once(root: str) -> None:
    many = SCHEMA["properties"][root].get("type") == "array"
    assert SECTIONS[root][0] == (f"[[{root}]]" if many else f"[{root}]")


@pytest.mark.parametrize("root", SCHEMA["properties"])
def test_every_key_is_named_and_none_is_invented(root: str) -> None:
    assert told(root).keys() == expected(root).keys()


@pytest.mark.parametrize("root", SCHEMA["properties"])
def test_what_is_needed_is_told(root: str) -> None:
    assert told(root) == expected(root)


@pytest.mark.parametrize("root", SCHEMA["properties"])
def test_the_example_of_every_table_can_be_read(root: str) -> None:
    blocks = re.findall(r"^```toml\n(.*?)^```", SECTIONS[root][1], re.MULTILINE | re.DOTALL)
    assert blocks
    for block in blocks:
        given = tomllib.loads(block)
        assert root in given
        JobTables.model_validate({**HEAD, **given})
