"""Whatever stands in a job file: a job comes out, or an error that a user can read; never a traceback."""

import copy
import tomllib
import warnings
from pathlib import Path

import pytest
import tomlkit
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tomlkit.items import Table

from hosewright.errors import JobError
from hosewright.jobfile import read_job, read_text, set_value, starter
from hosewright.jobfile.places import Places, TomlError
from plannable_jobs import FIXED, HALF, MACHINE

HERE = Path("nowhere") / "job.toml"
PLATFORM = (Path(__file__).parents[2] / "examples" / "platform.toml").read_text(encoding="utf-8")
TABLES = tomllib.loads(starter())
RICH = tomllib.loads(PLATFORM)
PLANNED = MACHINE + HALF + '[run.assembly]\nlength = 900\nnumber = "A 1"\n' + FIXED

scalars = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-(2**70), 2**70),
    st.floats(),
    st.sampled_from(
        [0, -1, 1e-300, 1e300, "", " ", "12 brr", "1/0 in", "-8", "chassis", "arm", "lift", "\x1b[2J", "{text}"]
    ),
    st.text(max_size=8),
    st.dates(),
)
values = st.recursive(
    scalars,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=6,
)


def survives(text, *, to_plan=False):
    """Read a text; gives whether it was right."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            read_text(text, HERE, to_plan=to_plan)
    except JobError as error:
        problem = error
    else:
        return True
    assert problem.problems
    assert all(one.place.line >= 1 and one.place.column >= 1 for one in problem.located)
    assert all(line.isprintable() for line in str(problem).split("\n"))
    return False


def spots(value, path=()):
    """Paths of everything in a tree."""
    yield path
    parts = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, part in parts:
        yield from spots(part, (*path, key))


def replaced(tree, path, value):
    """A copy with one value replaced, or taken out for ``None``."""
    tree = copy.deepcopy(tree)
    holder = tree
    for part in path[:-1]:
        holder = holder[part]
    if value is None:
        del holder[path[-1]]
    else:
        holder[path[-1]] = value
    return tree


def is_a_value(places, path):
    return len(path) > 1 and places.span(path) is not None and not isinstance(places.steps(path)[-1][1], Table)


def without_none(value):
    if isinstance(value, dict):
        return {key: without_none(part) for key, part in value.items() if part is not None}
    return [without_none(part) for part in value if part is not None] if isinstance(value, list) else value


@settings(deadline=None, max_examples=60)
@given(st.binary(max_size=200))
def test_bytes(tmp_path_factory, data):
    path = tmp_path_factory.mktemp("job") / "job.toml"
    path.write_bytes(data)
    with pytest.raises(JobError):
        read_job(path)


@settings(deadline=None, max_examples=120)
@given(st.text(alphabet=st.sampled_from("[]{}=\".,\n #ab1-\\'_:é"), max_size=60))
def test_text_of_toml_characters(text):
    assert not survives(text)


@settings(deadline=None, max_examples=120)
@given(st.data())
def test_characters_of_the_starter_exchanged(data):
    text = list(starter())
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(text) - 1))
        text[at] = data.draw(
            st.one_of(st.sampled_from(["", "\n", '"', "[", "]", "{", "}", "=", "0", "-", ","]), st.characters())
        )
    survives("".join(text))


@settings(deadline=None, max_examples=120, suppress_health_check=[HealthCheck.too_slow])
@given(st.data(), values)
def test_values_of_the_starter_exchanged(data, value):
    path = data.draw(st.sampled_from([path for path in spots(TABLES) if path]))
    survives(tomlkit.dumps(replaced(TABLES, path, without_none(value))))


@settings(deadline=None, max_examples=120, suppress_health_check=[HealthCheck.too_slow])
@given(st.data(), st.lists(values, min_size=1, max_size=3))
def test_values_of_a_rich_job_exchanged(data, new):
    tree = RICH
    for value in new:
        path = data.draw(st.sampled_from([path for path in spots(tree) if path]))
        tree = replaced(tree, path, without_none(value))
    survives(tomlkit.dumps(tree))


@settings(deadline=None, max_examples=120, suppress_health_check=[HealthCheck.too_slow])
@given(st.data(), st.lists(values, min_size=1, max_size=2))
def test_values_of_a_job_to_be_planned_exchanged(data, new):
    tree = tomllib.loads(PLANNED)
    for value in new:
        path = data.draw(st.sampled_from([path for path in spots(tree) if path[:1] == ("run",)]))
        tree = replaced(tree, path, without_none(value))
    survives(tomlkit.dumps(tree), to_plan=True)


@settings(deadline=None, max_examples=50)
@given(st.data())
def test_a_problem_is_found_where_it_was_put(data):
    """A value of a wrong type anywhere is told with the line on which it stands."""
    places = Places.parse(PLATFORM)
    leaves = [path for path in spots(RICH) if is_a_value(places, path)]
    path = data.draw(st.sampled_from(leaves))
    if path[0] in ("motion", "service"):
        return  # joint values may be numbers of any kind
    text = set_value(places, path, [[True]])
    with pytest.raises(JobError) as caught:
        read_text(text, HERE)
    line = Places.parse(text).place(path).line
    assert any(
        one.problem.path[: len(path)] == path or path[: len(one.problem.path)] == one.problem.path
        for one in caught.value.located
    )
    assert any(one.place.line == line for one in caught.value.located)


@settings(deadline=None, max_examples=100)
@given(
    st.recursive(
        st.booleans() | st.integers(-9, 9) | st.text(max_size=3),
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(min_size=1, max_size=3), inner, max_size=3),
        max_leaves=8,
    ).filter(lambda value: isinstance(value, dict))
)
def test_the_document_says_what_the_standard_library_reads(tree):
    text = tomlkit.dumps(tree)
    assert Places.parse(text).toml.unwrap() == tomllib.loads(text)


@settings(deadline=None, max_examples=120)
@given(st.text(alphabet=st.sampled_from('[]="\n.ab1'), max_size=40))
def test_what_is_read_the_standard_library_reads_alike(text):
    try:
        read = Places.parse(text).toml.unwrap()
    except TomlError:
        return
    assert read == tomllib.loads(text)
