"""The first page names every rule, and none that is not there."""

import re
from pathlib import Path

from hosewright.checks.explain import rules
from hosewright.search import surplus

README = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
TABLE = re.compile(r"^ *\| rule \| asks \|\n(.*?)\n\n", re.MULTILINE | re.DOTALL)


def test_the_table_of_rules_holds_all_of_them() -> None:
    (table,) = TABLE.findall(README)
    _, *lines = table.splitlines()
    named = [line.split("|")[1].strip() for line in lines]
    assert sorted(named) == sorted([*rules(), surplus.RULE])
