"""Writing into a job file keeps what a person typed; the starter and the schema help with typing."""

from datetime import date, datetime
from pathlib import Path

import jsonschema
import pytest

from hosewright.errors import ArgumentError
from hosewright.jobfile import read_text, schema, set_value, starter, write_assembly
from hosewright.jobfile.places import Places

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.toml"))

TEXT = """\
# my machine
[job]
format = 1   # do not change
title = "two hoses"

[fluid]
grade = "HM 46"
temperature = { min = -15, working = 55, max = 80 }

[[port]]
name = "P"
at = [0, 0, 0]
facing = [1, 0, 0]
connection = "face seal -8 male"

[[run]]   # the first
name = "one"
from = "P"
to = "Q"
pressure = 200
flow = 18
hose = "2SC -8"
length = 560
# a note on the first run

# the second port comes late
[[port]]
name = "Q"
at = [500, 0, 0]
facing = [-1, 0, 0]
connection = "face seal -8 male"

[[run]]
name = "two"
from = "P"
to = "Q"
pressure = 200
flow = 18
hose = "2SC -8"
length = 560
[run.cylinder]
name = "x"
side = "rod"

# the end"""

RECORD = {
    "hose": "2SC -8",
    "length": 585,
    "ends": [{"form": "90 short", "clock": 22.5}, {"form": "straight"}],
    "orientation": 90.0,
    "convention": "clockwise",
    "number": 'A "1"',
}


def plain(text):
    return Places.parse(text).toml.unwrap()


@pytest.fixture
def file():
    return read_text(TEXT.replace('[run.cylinder]\nname = "x"\nside = "rod"\n', ""), Path("job.toml"))


def test_a_value_is_replaced_and_nothing_else():
    places = Places.parse(TEXT)
    assert set_value(places, ("job", "format"), 2) == TEXT.replace("format = 1   #", "format = 2   #")
    assert set_value(places, ("fluid", "temperature", "max"), "95 °C") == TEXT.replace("max = 80", 'max = "95 °C"')
    assert set_value(places, ("port", 1, "at", 0), 510.5) == TEXT.replace("[500, 0, 0]", "[510.5, 0, 0]")
    longer = set_value(places, ("run", 1, "length"), 600)
    assert longer == TEXT[: TEXT.rindex("560")] + "600" + TEXT[TEXT.rindex("560") + 3 :]


@pytest.mark.parametrize(
    ("path", "value", "added"),
    [
        (("job", "attitude"), 15, 'title = "two hoses"\nattitude = 15\n\n[fluid]'),
        (("run", 0, "sleeve"), True, "# a note on the first run\nsleeve = true\n\n# the second"),
        (("run", 1, "bow"), [0, 0, -1], "length = 560\nbow = [0, 0, -1]\n[run.cylinder]"),
        (("run", 1, "cylinder", "note me"), "x", 'side = "rod"\n"note me" = "x"\n'),
        (("fluid", "temperature", "x"), 1, "max = 80, x = 1 }"),
    ],
)
def test_a_key_is_added_to_its_table(path, value, added):
    text = set_value(Places.parse(TEXT), path, value)
    assert added in text
    lines = TEXT.split("\n")
    assert [line for line in lines if line not in text.split("\n")] in ([], [lines[7]])


def test_places_that_the_file_does_not_have_are_refused():
    places = Places.parse(TEXT)
    for path in (("run", 7, "length"), ("nothing", "x"), ("job", "title", "x"), ("port", 0, "at", 9), ()):
        with pytest.raises(ArgumentError):
            set_value(places, path, 1)


@pytest.mark.parametrize(("run", "index"), [("one", 0), ("two", 1)])
def test_an_assembly_is_added_with_all_notes_kept(file, run, index):
    text = write_assembly(file, run, RECORD)
    added = plain(text)
    written = added["run"][index].pop("assembly")
    assert written == {**RECORD, "hash": file.run_hashes[run][:16]}
    assert added == plain(file.text)
    assert [line for line in file.text.split("\n") if line not in text.split("\n")] == []


def test_an_assembly_goes_to_the_end_of_its_run(file):
    text = write_assembly(file, "one", RECORD)
    assert "# a note on the first run\n[run.assembly]\n" in text
    assert f'hash = "{file.run_hashes["one"][:16]}"\n\n# the second port comes late\n[[port]]' in text
    assert write_assembly(file, "two", RECORD).endswith(f'hash = "{file.run_hashes["two"][:16]}"\n\n# the end')


def test_a_plan_that_was_changed_by_hand_keeps_none_of_its_limits(file):
    limit = {"name": "ports apart", "kind": "ports", "holds": True, "measure": None}
    planned = read_text(write_assembly(file, "one", {"hose": "2SN -8", "sleeve": False, "limits": [limit]}), file.path)
    assert planned.limits["one"][0]["holds"]
    assert not [one for one in planned.job.warnings if "by hand" in str(one)]
    edited = read_text(planned.text.replace("sleeve = false", "sleeve = true"), file.path)
    (warning,) = [one for one in edited.job.warnings if "by hand" in str(one)]
    assert (warning.run, warning.stops) == ("one", False)
    assert edited.limits == {}


def test_an_assembly_is_replaced_and_the_file_reads_again(file):
    bent = {**RECORD, "ends": [{"form": "90 short"}, {"form": "90 short", "clock": 180}]}
    once = read_text(write_assembly(file, "one", RECORD | bent), file.path)
    twice = read_text(write_assembly(once, "one", {"hose": "2SN -8"}), file.path)
    assert once.hash == twice.hash == file.hash
    assert plain(twice.text)["run"][0]["assembly"] == {"hose": "2SN -8", "hash": file.run_hashes["one"][:16]}
    assert not [warning for warning in twice.job.warnings if "plan it again" in str(warning)]
    assert write_assembly(twice, "one", RECORD | bent) == once.text


def test_an_assembly_of_an_inline_run(file):
    head, _, _ = file.text.partition("[[run]]")
    late = file.text[file.text.index("# the second port") : file.text.rindex("[[run]]")]
    inline = (
        'run = [\n  { name = "one", from = "P", to = "Q", pressure = 200, flow = 18, hose = "2SC -8", length = 560 },'
        "  # mine\n]\n"
    )
    text = write_assembly(read_text(inline + head + late, file.path), "one", {"length": 585})
    assert plain(text)["run"][0]["assembly"]["length"] == 585
    assert "# mine" in text


def test_an_unknown_run_is_refused(file):
    with pytest.raises(ArgumentError, match="one"):
        write_assembly(file, "won", RECORD)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.name)
def test_every_note_of_the_examples_survives_writing_all_assemblies(path):
    original = path.read_text(encoding="utf-8")
    file = read_text(original, path, to_plan=True) if "[[run]]" in original else read_text(original, path)
    for request in file.requests:
        file = read_text(write_assembly(file, request.name, {"length": 900}), path, to_plan=True)
    assert [line for line in original.split("\n") if line not in file.text.split("\n")] == []
    data = plain(file.text)
    assert all(run.pop("assembly")["length"] == 900 for run in data.get("run", []))
    assert data == plain(original)


# ---- schema ----


def dates_as_text(value):
    if isinstance(value, dict):
        return {key: dates_as_text(part) for key, part in value.items()}
    if isinstance(value, list):
        return [dates_as_text(part) for part in value]
    return value.isoformat() if isinstance(value, date | datetime) else value


@pytest.fixture(scope="module")
def validator():
    jsonschema.Draft202012Validator.check_schema(schema())
    return jsonschema.Draft202012Validator(schema())


@pytest.mark.parametrize(
    "text", [starter(), *(path.read_text(encoding="utf-8") for path in EXAMPLES)], ids=range(len(EXAMPLES) + 1)
)
def test_schema_holds_for_starter_and_examples(validator, text):
    validator.validate(dates_as_text(plain(text)))


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('title = "two hoses"', ""),
        ("pressure = 200", "presure = 200"),
        ("[500, 0, 0]", "[500, 0]"),
        ("flow = 18", "flow = [18]"),
        ("format = 1 ", "format = 2 "),
        ('side = "rod"', 'side = "lid"'),
    ],
)
def test_schema_refuses_what_the_reader_refuses(validator, old, new):
    assert old in TEXT
    assert not validator.is_valid(plain(TEXT.replace(old, new)))


def test_schema_explains_every_field():
    tables = schema()["$defs"].values()
    nameless = [
        (table["title"], key)
        for table in tables
        for key, value in table["properties"].items()
        if "description" not in value
    ]
    assert nameless == []
