"""What a job fixes of its runs when they are to be planned, and what is said where that contradicts itself."""

import math
from dataclasses import replace

import pytest

from hosewright.assembly import ORIENTATION_CONVENTION
from hosewright.errors import ArgumentError
from hosewright.jobfile import JobFileError, assembly_table, read_job, read_text, settled, write_plan
from plannable_jobs import FIXED, HALF, HERE, MACHINE, OPEN

HOSE = 'hose = "2SC -8"\n'
WHOLE = OPEN + HOSE + "length = 1540\n"


def request(run, machine=MACHINE):
    """The only run of a job, to be planned."""
    (found,) = read_text(machine + run, HERE, to_plan=True).requests
    return found


def problems(run, machine=MACHINE, *, to_plan):
    with pytest.raises(JobFileError) as caught:
        read_text(machine + run, HERE, to_plan=to_plan)
    return caught.value.problems


def changed(old, new, text=MACHINE):
    assert old in text
    return text.replace(old, new)


# ---- what is fixed ----


def test_a_run_may_leave_all_open():
    file = read_text(MACHINE + OPEN, HERE, to_plan=True)
    assert file.job.runs == ()
    (asked,) = file.requests
    assert (asked.name, asked.a.port, asked.b.port) == ("open", "P", "Q")
    assert asked.a.connection == "face seal -8 male"
    assert asked.duty.working_pressure == pytest.approx(150e5)
    open_keys = ("hose", "overall_length", "orientation_angle", "clamps", "sleeve", "bow", "fitting_pose", "number")
    assert [getattr(asked, key) for key in open_keys] == [None] * 8
    for end in (asked.a, asked.b):
        assert [end.adapters, end.form, end.clock, end.mates_as] == [None] * 4


def test_what_a_run_fixes_is_kept():
    asked = request(FIXED + "fitting_pose = { mast = 5, reach = 120 }\n")
    assert asked.hose.name == "2SC -8"
    assert asked.overall_length == pytest.approx(1.539875)
    assert [(clamp.mount, clamp.at) for clamp in asked.clamps] == [("m2", pytest.approx(0.61234))]
    assert (asked.sleeve, asked.number) == (True, "A 7")
    assert asked.fitting_pose == pytest.approx({"mast": math.radians(5), "reach": 0.12})


def test_each_key_of_an_end_is_fixed_for_itself():
    asked = request(HALF + "orientation = 30\n")
    assert (asked.a.form, asked.a.mates_as) == (None, None)
    assert asked.a.clock == pytest.approx(math.radians(7.25))
    assert (asked.b.form, asked.b.clock) == ("90 short", None)
    assert asked.orientation_angle == pytest.approx(math.radians(30))
    assert asked.bow == (0.0, 1.0, 0.0)
    named = request(OPEN + 'ends = { b = { clock = 0, connection = "FACE SEAL -8 female" } }\n')
    assert (named.a.clock, named.b.clock, named.b.mates_as) == (None, 0.0, "face seal -8 female")


def test_an_end_s_own_adapters_go_before_its_port_s():
    asked = request(HALF)
    ((of_port, clock),) = asked.a.adapters
    assert (of_port.name, clock) == ("90 swivel", pytest.approx(math.radians(12.345)))
    assert [adapter.name for adapter, _ in asked.b.adapters] == ["45 swivel"]
    assert request(HALF.replace("{ clock = 7.25 }", "{ adapter = [] }")).a.adapters == ()
    none_wanted = changed('connection = "face seal -8 male"\n\n[[port]]\nname = "Q"', 'adapter = []\nconnection = "face seal -8 male"\n\n[[port]]\nname = "Q"')  # fmt: skip  # noqa: E501
    asked = request(OPEN, none_wanted)
    assert (asked.a.adapters, asked.b.adapters) == ((), None)


def test_false_and_empty_are_fixed_too():
    asked = request(OPEN + "sleeve = false\nclamps = []\n")
    assert (asked.sleeve, asked.clamps) == (False, ())


RECORD = '[run.assembly]\nhose = "2SN -8"\nlength = 900\nsleeve = true\nnumber = "B 2"\nhash = "0123"\n'


def test_what_the_program_wrote_is_passed_over_but_for_the_number():
    asked = request(OPEN + RECORD)
    assert replace(asked, number=None) == request(OPEN)
    assert asked.number == "B 2"
    assert request(OPEN + 'number = "A 1"\n' + RECORD).number == "A 1"
    assert read_text(MACHINE + OPEN + RECORD, HERE, to_plan=True).job.warnings == ()


@pytest.mark.parametrize("record", ['hose = "9SN -8"', "lenght = 3", "number = 7", "ends = [{}]", "orientation = 10"])
def test_a_spoilt_table_of_the_program_does_not_stop_a_plan(record):
    spoilt = f"{WHOLE}[run.assembly]\n{record}\n"
    assert request(spoilt) == request(WHOLE)
    (problem,) = problems(spoilt.replace(HOSE, "") if "hose" in record else spoilt, to_plan=False)
    assert problem.path[:3] == ("run", 0, "assembly")
    assert problem.text.endswith("'hosewright plan JOB' writes this table anew")


def test_read_to_be_checked_there_are_no_requests():
    file = read_text(MACHINE + WHOLE, HERE)
    assert file.requests == ()
    assert [run.name for run in file.job.runs] == ["open"]


def test_files_are_read_to_be_planned(tmp_path):
    (tmp_path / "job.toml").write_text(MACHINE + OPEN, encoding="utf-8")
    assert read_job(tmp_path / "job.toml", to_plan=True).requests == (request(OPEN),)


def test_ends_of_the_program_fill_in_what_the_user_leaves_open():
    own = 'ends = [{ form = "90 short" }, { clock = 5 }]\n'
    record = '[run.assembly]\nends = [{ form = "45 long", clock = 70 }, { form = "45 short", clock = 9, adapter = ["90 swivel"] }]\n'  # noqa: E501
    a, b = (getattr(read_text(MACHINE + WHOLE + own + record, HERE).job.runs[0].assembly, end) for end in "ab")
    assert (a.form.name, a.clock) == ("90 short", pytest.approx(math.radians(70)))
    assert (b.form.name, b.clock) == ("45 short", pytest.approx(math.radians(5)))
    assert [adapter.name for adapter, _ in b.adapters] == ["90 swivel"]


def test_error_of_the_ports_directions():
    assert read_text(MACHINE + WHOLE, HERE).job.port_angle_error == pytest.approx(math.radians(2))
    own = changed('title = "test"', 'title = "test"\nport_angle_error = "0.5 deg"')
    assert read_text(own + WHOLE, HERE).job.port_angle_error == pytest.approx(math.radians(0.5))
    (problem,) = problems(WHOLE, changed('title = "test"', 'title = "test"\nport_angle_error = -1'), to_plan=False)
    assert problem.path == ("job", "port_angle_error")
    assert "at least" in problem.text


# ---- what is incomplete ----


@pytest.mark.parametrize(
    ("given", "parts"),
    [
        ("", ["'hose' and 'length' are missing", 'hose = "2SC -8", length = 850', "choose them"]),
        (HOSE, ["'length' is missing", "length = 850", "choose it"]),
        ("length = 1540\n", ["'hose' is missing", 'hose = "2SC -8"', "choose it"]),
    ],
)
def test_a_check_says_what_is_missing_and_that_a_plan_can_choose_it(given, parts):
    (problem,) = problems(OPEN + given, to_plan=False)
    assert problem.path == ("run", 0)
    for part in [*parts, "run 'open'", "'hosewright plan JOB' can"]:
        assert part in problem.text


@pytest.mark.parametrize("start", ["", "run = []\n"])
def test_a_plan_needs_runs(start):
    with pytest.raises(JobFileError) as caught:
        read_text(start + MACHINE, HERE, to_plan=True)
    (problem,) = caught.value.problems
    assert "the job has no [[run]]" in problem.text
    assert "such as" in problem.text
    assert read_text(start + MACHINE, HERE).job.runs == ()


# ---- what contradicts itself ----

DIFFERENT = changed('at = [400, 0, 800]\nfacing = [0, 0, 1]\nconnection = "face seal -8 male"',
                    'at = [400, 0, 800]\nfacing = [0, 0, 1]\nconnection = "face seal -6 male"')  # fmt: skip
FEMALE = MACHINE.replace("face seal -8 male", "face seal -8 female").replace(
    'adapter = [{ name = "90 swivel", clock = 12.345 }]\n', ""
)
CONTRADICTIONS = {
    "form of no size": (
        OPEN + 'ends = [{ form = "91 short" }, {}]\n', ("ends", 0, "form"),
        ["no end '91 short' mates", "at port 'P'", "Did you mean '90 short'"],
    ),
    "form not for the hose": (
        WHOLE + 'ends = [{}, { form = "90 shorter" }]\n', ("ends", 1, "form"),
        ["no end '90 shorter' for -8 hose", "at port 'Q'", "Did you mean '90 short'"],
    ),
    "connection of another family": (
        OPEN + 'ends = [{ connection = "BSP G1/2 female" }, {}]\n', ("ends", 0, "connection"),
        ["does not mate with port 'P'", "different families", "Known: 'face seal -8 female'"],
    ),
    "connection that is none": (
        OPEN + 'ends = [{ connection = "faze seal -8 female" }, {}]\n', ("ends", 0, "connection"),
        ["faze seal", "'face seal'"],
    ),
    "connection of the same half": (
        OPEN + 'ends = [{ connection = "face seal -8 male" }, {}]\n', ("ends", 0, "connection"),
        ["both male halves", "'face seal -8 female'"],
    ),
    "adapter that is none": (
        OPEN + 'ends = [{ adapter = ["91 swivel"] }, {}]\n', ("ends", 0, "adapter", 0), ["no adapter '91 swivel'"],
    ),
    "angle with a straight end": (
        OPEN + 'ends = [{ form = "straight" }, {}]\norientation = 20\n', ("orientation",),
        ["two bent ends", "straight", "port 'P'", "such as '45 short'", "leave the angle out"],
    ),
    "length below that of the ends": (
        OPEN + "length = 100\n", ("length",), ["overall length 100 mm", "the ends alone take 122 mm at least"],
    ),
    "length below that of long ends": (
        OPEN + HOSE + 'length = 150\nends = [{ form = "90 short" }, { form = "90 short" }]\n', ("length",),
        ["overall length 150 mm", "take 153 mm"],
    ),
    "clamp off the hose": (
        OPEN + 'length = 500\nclamps = [{ mount = "m1", at = 400 }]\n', ("clamps", 0, "at"),
        ["400 mm is not on the free hose", "378 mm"],
    ),
    "clamp on the ferrule": (
        OPEN + 'clamps = [{ mount = "m1", at = 0 }]\n', ("clamps", 0, "at"), ["0 mm is not on the free hose"],
    ),
    "unknown mount": (
        OPEN + 'clamps = [{ mount = "m9", at = 300 }]\n', ("clamps", 0, "mount"), ["no mount 'm9'", "'m1'"],
    ),
    "from the port that it goes to": (
        OPEN.replace('to = "Q"', 'to = "P"'), ("to",), ["'P' is also the port", "choose another one"],
    ),
    "three ends": (OPEN + "ends = [{}, {}, {}]\n", ("ends",), ["two ends", "got 3"]),
    "unknown hose": (OPEN + 'hose = "2SC -9"\n', ("hose",), ["2SC -9", "-8"]),
}  # fmt: skip


@pytest.mark.parametrize("to_plan", [True, False])
@pytest.mark.parametrize("name", CONTRADICTIONS)
def test_contradictions_are_refused_with_what_would_do(name, to_plan):
    run, path, parts = CONTRADICTIONS[name]
    if not to_plan:  # a check needs hose and length; whatever is fixed stays
        run += "" if "hose = " in run else HOSE
        run += "" if "length = " in run else "length = 1540\n"
        parts = [part.replace(" mates", "").replace(" at least", "") for part in parts]
    (problem,) = problems(run, to_plan=to_plan)
    assert problem.path[:2] == ("run", 0)
    assert problem.path[2:] == path
    for part in parts:
        assert part in problem.text


@pytest.mark.parametrize("to_plan", [True, False])
def test_a_hose_of_a_size_that_no_end_takes_is_refused_for_each_port(to_plan):
    found = problems(WHOLE.replace("2SC -8", "2SC -6"), to_plan=to_plan)
    assert [problem.path for problem in found] == [("run", 0, "hose")] * 2
    for problem, port in zip(found, "PQ", strict=True):
        assert f"no end for -6 hose mates with 'face seal -8 male' at port '{port}'" in problem.text
        assert problem.text.endswith("the catalog has such ends for -8")


@pytest.mark.parametrize("to_plan", [True, False])
def test_two_fixed_ends_are_refused_where_no_adapter_may_help(to_plan):
    males = '{ connection = "face seal -8 male", adapter = [] }'
    (problem,) = problems(f"{WHOLE}ends = [{males}, {males}]\n", FEMALE, to_plan=to_plan)
    assert problem.path == ("run", 0, "ends")
    assert "both fixed" in problem.text
    assert "swivel" in problem.text


def test_ports_of_different_sizes_take_no_hose():
    (problem,) = problems(OPEN, DIFFERENT, to_plan=True)
    assert problem.path == ("run", 0)
    for part in ("no hose fits both ends", "port 'P' (face seal -8 male) takes -8", "'Q'", "takes -6", "adapter"):
        assert part in problem.text


def test_a_form_need_exist_for_one_size_only(tmp_path):
    (tmp_path / "ends.csv").write_text(
        "name,connection,dash_size,exit_angle_deg,cutoff_mm,insertion_mm,drop_mm,roll\n"
        "60 special,face seal -8 female,-6,60,50,28,20,swivel\n"
        "straight,face seal -8 female,-6,0,30,28,0,swivel\n",
        encoding="utf-8",
    )
    path = tmp_path / "job.toml"
    start = MACHINE + '[catalog]\nown = ["ends.csv"]\n' + OPEN + 'ends = [{ form = "60 special" }, {}]\n'
    (asked,) = read_text(start, path, to_plan=True).requests
    assert asked.a.form == "60 special"
    with pytest.raises(JobFileError, match="no end '60 special' for -8 hose"):
        read_text(start + HOSE, path, to_plan=True)
    with pytest.raises(JobFileError, match="take 136 mm"):  # 50 + 28 + 30 + 28 of size -6; size -8 has no such end a
        read_text(start + "length = 100\n", path, to_plan=True)


def test_an_adapter_of_the_catalog_may_make_a_connection_mate(tmp_path):
    flange = changed('facing = [0, 0, 1]\nconnection = "face seal -8 male"\n\n[[port]]\nname = "Q"',
                     'facing = [0, 0, 1]\nconnection = "flange 62 -8 port"\n\n[[port]]\nname = "Q"')  # fmt: skip
    asked = request(OPEN + 'ends = [{ connection = "37 flare -8 female" }, {}]\n', flange)
    assert (asked.a.connection, asked.a.mates_as) == ("flange 62 -8 port", "37 flare -8 female")
    (problem,) = problems(OPEN + 'ends = [{ connection = "BSP G1/2 female" }, {}]\n', flange, to_plan=True)
    assert "no adapter of the catalog leads to it" in problem.text


# ---- what is written ----


def test_the_table_of_a_run():
    ends = 'ends = [{ form = "90 short", clock = 33.3 }, { form = "45 long", adapter = [{ name = "90 swivel", clock = 10 }] }]\n'  # noqa: E501
    more = 'orientation = 120\nclamps = [{ mount = "m1", at = 300 }]\nfitting_pose = { mast = -10, reach = 12.5 }\n'
    job = read_text(MACHINE + WHOLE + ends + more, HERE).job
    assert assembly_table(job.runs[0], job.machine, "A 1") == {
        "hose": "2SC -8",
        "length": 1540.0,
        "ends": [
            {"form": "90 short", "clock": 33.3, "connection": "face seal -8 female", "adapter": []},
            {
                "form": "45 long",
                "clock": 0.0,
                "connection": "face seal -8 female",
                "adapter": [{"name": "90 swivel", "clock": 10.0, "to": "face seal -8 male"}],
            },
        ],
        "orientation": 120.0,
        "convention": ORIENTATION_CONVENTION,
        "clamps": [{"mount": "m1", "at": 300.0, "hold": "fixed"}],
        "sleeve": False,
        "fitting_pose": {"mast": -10.0, "reach": 12.5},
        "number": "A 1",
    }


def test_a_run_without_angle_pose_or_number_says_nothing_of_them():
    job = read_text(MACHINE + WHOLE, HERE).job
    assert assembly_table(job.runs[0], job.machine).keys() == {"hose", "length", "ends", "clamps", "sleeve"}


@pytest.mark.parametrize(("degrees", "written"), [(359.97, 0.0), (359.94, 359.9), (0.04, 0.0), (-90.0, 270.0)])
def test_orientation_angles_are_written_from_0_to_below_360(degrees, written):
    bent = 'ends = [{ form = "90 short" }, { form = "90 short" }]\n'
    file = read_text(f"{MACHINE}{WHOLE}{bent}orientation = {degrees}\n", HERE)
    assert assembly_table(file.job.runs[0], file.job.machine)["orientation"] == written
    near = settled(file.job.runs[0], request(OPEN))
    assert near.assembly.orientation_angle == pytest.approx(math.radians(written))


def test_a_written_plan_goes_stale_with_the_inputs():
    file = read_text(MACHINE + OPEN, HERE, to_plan=True)
    text = write_plan(file, {"open": {"hose": "2SC -8", "length": 1540}})
    assert read_text(text, HERE).job.warnings == ()
    (warning,) = read_text(text.replace("flow = 18", "flow = 19"), HERE).job.warnings
    assert "run 'open'" in str(warning)
    assert "plan it again" in str(warning)


def test_an_unknown_run_is_refused_before_anything_is_written():
    file = read_text(MACHINE + OPEN + HALF, HERE, to_plan=True)
    with pytest.raises(ArgumentError, match=r"no run 'hull'.*'half'"):
        write_plan(file, {"open": {}, "hull": {}})
    assert write_plan(file, {}) == file.text


def test_notes_under_a_table_of_the_program_stay():
    text = MACHINE + OPEN + RECORD + "# mine\n\n# of the next run\n" + HALF
    written = write_plan(read_text(text, HERE, to_plan=True), {"open": {"length": 1540}})
    before, _, after = text.partition(RECORD)
    assert written.startswith(before + "[run.assembly]\nlength = 1540\nhash = ")
    assert written.endswith('"\n' + after)


def test_line_breaks_of_the_file_are_kept():
    table = {"open": {"hose": "2SC -8", "ends": [{"form": "straight", "connection": "face seal -8 female"}] * 2}}
    plain = write_plan(read_text(MACHINE + OPEN, HERE, to_plan=True), table)
    windows = (MACHINE + OPEN).replace("\n", "\r\n")
    assert write_plan(read_text(windows, HERE, to_plan=True), table) == plain.replace("\n", "\r\n")
