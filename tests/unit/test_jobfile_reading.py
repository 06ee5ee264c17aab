"""What a job file becomes, and what is said about one that is wrong."""

import math
import re
import tomllib
from pathlib import Path

import numpy as np
import pytest
import trimesh

from hosewright.duty import Side
from hosewright.errors import JobError
from hosewright.jobfile import JobFileError, read_job, read_text, starter, write_assembly
from hosewright.jobfile.files import MOST_JOB_BYTES

EXAMPLES = Path(__file__).parents[2] / "examples"
HERE = Path("nowhere") / "job.toml"

MACHINE = """
[job]
format = 1
title = "test"
[fluid]
grade = "HM 46"
temperature = { min = -15, working = 55, max = 80 }
[[body]]
name = "mast"
turn = { at = [0, 0, 900], about = [0, -1, 0], from = -10, to = 65 }
[[cylinder]]
name = "lift"
base = { on = "chassis", at = [300, 0, 50], pin = [0, 1, 0] }
rod = { on = "mast", at = [420, 0, 860] }
closed = 740
open = 1220
bore = 80
rod_diameter = 45
[[mount]]
name = "m1"
on = "mast"
at = [200, 60, 980]
along = [1, 0, 0]
[[port]]
name = "P"
at = [-400, 0, 600]
facing = [0, 0, 1]
connection = "face seal -8 male"
[[port]]
name = "Q"
on = "mast"
at = [400, 0, 800]
facing = [0, 0, 1]
connection = "face seal -8 male"
[[motion]]
cycle = [{ mast = -10 }, { mast = 65 }]
steps = 4
"""
RUN = """
[[run]]
name = "one"
from = "P"
to = "Q"
pressure = { working = 150, peak = 180 }
flow = 18
hose = "2SC -8"
length = 1540
"""


def read(text=MACHINE + RUN, path=HERE):
    return read_text(text, path)


def complaints(text, path=HERE):
    with pytest.raises(JobFileError) as caught:
        read_text(text, path)
    return caught.value


def changed(old, new, text=MACHINE + RUN):
    assert old in text
    return text.replace(old, new)


def only(text, path=HERE):
    (problem,) = complaints(text, path).problems
    return problem


# ---- what is read ----


def test_si_figures_of_a_run():
    run = read().job.runs[0]
    assert (run.duty.working_pressure, run.duty.peak_pressure) == pytest.approx((150e5, 180e5))
    assert run.duty.flow == pytest.approx(18e-3 / 60)
    assert run.duty.temperature_min == pytest.approx(258.15)
    assert run.assembly.overall_length == pytest.approx(1.54)
    assert run.assembly.hose.name == "2SC -8"


@pytest.mark.parametrize(
    ("typed", "metres"), [('"60 5/8 in"', 1.539875), ('"1,54 m"', 1.54), ("1540.0", 1.54), ('"154 cm"', 1.54)]
)
def test_lengths_in_any_unit(typed, metres):
    run = read(changed("length = 1540", f"length = {typed}")).job.runs[0]
    assert run.assembly.overall_length == pytest.approx(metres)


def test_one_pressure_is_working_and_peak():
    duty = read(changed("pressure = { working = 150, peak = 180 }", 'pressure = "3000 psi"')).job.runs[0].duty
    assert duty.working_pressure == duty.peak_pressure == pytest.approx(206.84e5, rel=1e-4)


def test_left_out_ends_are_the_straight_ones_that_mate():
    assembly = read().job.runs[0].assembly
    for end in (assembly.a, assembly.b):
        assert (end.form.name, end.form.connection) == ("straight", "face seal -8 female")


@pytest.mark.parametrize(
    "ends",
    [
        'ends = [{ form = "90 short", clock = 90 }, { form = "45 long" }]',
        'ends = { a = { form = "90 short", clock = "90 deg" }, b = { form = "45 long" } }',
    ],
)
def test_ends_as_a_list_or_by_name(ends):
    assembly = read(MACHINE + RUN + ends + "\norientation = 120\n").job.runs[0].assembly
    assert (assembly.a.form.name, assembly.b.form.name) == ("90 short", "45 long")
    assert assembly.a.clock == pytest.approx(math.pi / 2)
    assert assembly.orientation_angle == pytest.approx(math.radians(120))


def test_an_adapter_moves_to_the_end_and_may_be_replaced_there():
    text = changed(
        'facing = [0, 0, 1]\nconnection = "face seal -8 male"\n[[port]]',
        'facing = [0, 0, 1]\nadapter = ["90 swivel"]\nconnection = "face seal -8 male"\n[[port]]',
    )
    ((adapter, clock),) = read(text).job.runs[0].assembly.a.adapters
    assert (adapter.name, clock) == ("90 swivel", 0.0)
    own = text + 'ends = [{ adapter = [{ name = "45 swivel", clock = 30 }] }, {}]\n'
    ((adapter, clock),) = read(own).job.runs[0].assembly.a.adapters
    assert (adapter.name, clock) == ("45 swivel", pytest.approx(math.radians(30)))
    assert read(text + "ends = [{ adapter = [] }, {}]\n").job.runs[0].assembly.a.adapters == ()


def test_a_run_at_a_cylinder_knows_its_areas():
    side = read(MACHINE + RUN + 'cylinder = { name = "lift", side = "rod" }\n').job.runs[0].duty.cylinder
    assert side.side is Side.ROD
    assert side.area_ratio == pytest.approx(80**2 / (80**2 - 45**2))


def test_clamps_are_put_in_order():
    text = changed('name = "m1"', 'name = "m2"\nat = [1, 2, 3]\nalong = [1, 0, 0]\n[[mount]]\nname = "m1"')
    run = read(text + 'clamps = [{ mount = "m2", at = 700 }, { mount = "m1", at = "300 mm" }]\n').job.runs[0]
    assert [clamp.mount for clamp in run.clamps] == ["m1", "m2"]
    assert [clamp.at for clamp in run.clamps] == pytest.approx([0.3, 0.7])


def test_temperatures_of_one_line():
    duty = read(MACHINE + RUN + "temperature = { max = 95 }\n").job.runs[0].duty
    assert (duty.temperature_max, duty.temperature_working) == pytest.approx((368.15, 328.15))


def test_a_fluid_of_own_data():
    text = changed('grade = "HM 46"', 'grade = "orchard oil"\nclass = "HV"\nviscosity_40 = "32 cSt"\ndensity_15 = 860')
    fluid = read(text).job.runs[0].duty.fluid
    assert (fluid.name, fluid.fluid_class, fluid.viscosity_100) == ("orchard oil", "HV", None)
    assert fluid.viscosity_40 == pytest.approx(32e-6)


def test_motions_become_poses():
    poses = read().job.poses
    assert poses.joints == ("mast",)
    assert np.degrees(poses.values[:, 0]) == pytest.approx([-10, 8.75, 27.5, 46.25, 65])


def test_several_motions_are_numbered_paths():
    poses = read(MACHINE + '[[motion]]\nfree = ["mast"]\nsteps = 3\n' + RUN).job.poses
    assert list(poses.path) == [0] * 5 + [1] * 3
    assert np.degrees(poses.values[5:, 0]) == pytest.approx([-10, 27.5, 65])


def test_a_cylinder_can_drive():
    text = changed("cycle = [{ mast = -10 }, { mast = 65 }]", 'cycle = [{ lift = 10 }, { lift = "40 cm" }]')
    poses = read(text).job.poses
    assert poses.values[[0, -1], 0] == pytest.approx([0.01, 0.4])


def test_without_motion_the_machine_stands_as_drawn():
    text = MACHINE.partition("[[motion]]")[0] + RUN
    file = read(text)
    assert len(file.job.poses) == 1
    assert any("motion" in str(warning) for warning in file.job.warnings)


def test_measured_poses(tmp_path):
    (tmp_path / "poses.csv").write_text("time_s,mast_deg\n0,0\n1,10\n2,20\n")
    text = changed("cycle = [{ mast = -10 }, { mast = 65 }]\nsteps = 4", 'measured = "poses.csv"')
    assert np.degrees(read(text, tmp_path / "job.toml").job.poses.values[:, 0]) == pytest.approx([0, 10, 20])


def test_samples_need_no_machine():
    text = """
    [job]
    format = 1
    title = "counter"
    date = 2026-03-01
    [[assembly]]
    name = "burst hose"
    length = "33 1/2 in"
    measured = "nut to nut, laid straight"
    ends = [{ form = "straight" }, { form = "90 short", clock = 45 }]
    failed = "burst near b"
    """
    file = read(text)
    (sample,) = file.samples
    assert sample.overall_length == pytest.approx(0.8509)
    assert sample.ends[1].clock == pytest.approx(math.pi / 4)
    assert (sample.failed, str(file.date)) == ("burst near b", "2026-03-01")
    assert file.job.runs == ()


def test_profile_in_the_units_of_the_file():
    profile = read(MACHINE + RUN + "[profile]\nclearance_plain = 15\ntwist_limit = 3\nplane_travel = 0.4\n").job.profile
    assert profile["clearance_plain"] == pytest.approx(0.015)
    assert profile["twist_limit"] == pytest.approx(math.radians(3))
    assert profile["plane_travel"] == pytest.approx(0.4)
    assert "job.toml" in profile.source("clearance_plain").document


def test_own_hoses(tmp_path):
    (tmp_path / "hoses.csv").write_text("name,like,minimum_bend_radius_mm\nshop two-wire -8,2SC -8,80\n")
    text = MACHINE + '[catalog]\nown = ["hoses.csv"]\n' + RUN.replace("2SC -8", "shop two-wire -8")
    hose = read(text, tmp_path / "job.toml").job.runs[0].assembly.hose
    assert hose.minimum_bend_radius == pytest.approx(0.08)


URDF = """<robot name="r"><link name="chassis"/>
<link name="arm"><collision><geometry><box size="0.1 0.1 0.1"/></geometry></collision></link>
<joint name="j" type="revolute"><parent link="chassis"/><child link="arm"/>
<origin xyz="0 0 1" rpy="0 0 1.5707963267948966"/>
<axis xyz="0 1 0"/><limit lower="-1" upper="1" effort="1" velocity="1"/></joint></robot>"""


def urdf_job(tmp_path, port):
    (tmp_path / "machine.urdf").write_text(URDF)
    text = f"""
    [job]
    format = 1
    title = "from a robot description"
    drawn_at = {{ arm = 0 }}
    [machine]
    urdf = "machine.urdf"
    [[port]]
    name = "P"
    on = "arm"
    {port}
    connection = "face seal -8 male"
    [[motion]]
    cycle = [{{ arm = 0 }}, {{ arm = 30 }}]
    """
    return text, tmp_path / "job.toml"


def test_points_of_a_urdf_link_in_either_frame(tmp_path):
    in_link = read(*urdf_job(tmp_path, 'frame = "link"\nat = [200, 0, 100]\nfacing = [1, 0, 0]')).job.machine.ports[0]
    in_machine = read(*urdf_job(tmp_path, "at = [0, 200, 1100]\nfacing = [0, 1, 0]")).job.machine.ports[0]
    assert in_link.at == pytest.approx(in_machine.at)
    assert in_link.facing == pytest.approx(in_machine.facing)


def test_a_urdf_file_that_cannot_be_read_causes_one_problem(tmp_path):
    text, path = urdf_job(tmp_path, "at = [0, 200, 1100]\nfacing = [0, 1, 0]")
    (tmp_path / "machine.urdf").write_text("<robot>")
    problem = only(text, path)
    assert problem.path == ("machine", "urdf")


def test_the_hash_tells_inputs_apart_and_nothing_else(tmp_path):
    first = read().hash
    assert read(MACHINE + RUN + "# a note\n").hash == first
    assert read(MACHINE + RUN + '[run.assembly]\nnumber = "A 1"\n').hash == first
    assert read(changed("flow = 18", "flow = 19")).hash != first
    text = changed("cycle = [{ mast = -10 }, { mast = 65 }]\nsteps = 4", 'measured = "poses.csv"')
    hashes = set()
    for end in (10, 11):
        (tmp_path / "poses.csv").write_text(f"mast_deg\n0\n{end}\n")
        hashes.add(read(text, tmp_path / "job.toml").hash)
    assert len(hashes) == 2


def test_what_the_program_chose_is_used_where_the_user_fixed_nothing():
    bare = RUN.replace('hose = "2SC -8"\n', "").replace("length = 1540", "")
    record = '[run.assembly]\nhose = "2SN -8"\nlength = 1600\nends = [{ form = "90 short" }, {}]\n'
    assembly = read(MACHINE + bare + record).job.runs[0].assembly
    assert (assembly.hose.name, assembly.a.form.name) == ("2SN -8", "90 short")
    fixed = read(MACHINE + RUN + record).job.runs[0].assembly
    assert (fixed.hose.name, fixed.overall_length) == ("2SC -8", pytest.approx(1.54))


def test_a_stale_assembly_is_a_warning():
    fresh = read().run_hashes["one"]
    assert read(MACHINE + RUN + f'[run.assembly]\nhash = "{fresh[:16]}"\n').job.warnings == ()
    (warning,) = read(MACHINE + RUN + '[run.assembly]\nhash = "0123"\n').job.warnings
    assert "'one'" in str(warning)
    assert (warning.run, warning.stops) == ("one", True)


def test_a_plan_is_stale_where_its_own_inputs_changed_and_only_there(tmp_path):
    other = RUN.replace('"one"', '"two"')
    measured = 'measured = "poses.csv"\n'
    machine = MACHINE[: MACHINE.index("cycle")] + measured
    text = machine + RUN + other
    (tmp_path / "poses.csv").write_text("mast_deg\n0\n10\n")

    def hashes(old="", new=""):
        return read(changed(old, new, text), tmp_path / "job.toml").run_hashes

    before = hashes()
    for same in (
        ('title = "test"', 'title = "other"'),
        ("[fluid]", "date = 2026-05-01\n[fluid]"),
        ("[fluid]", "# a note\n[fluid]"),
        ('"one"\n', '"one"\nnumber = "A 1"\n'),
        (measured, f'{measured}[[assembly]]\nname = "counter"\n'),
        (RUN + other, other + RUN),
    ):
        assert hashes(*same) == before
    for shared in (
        ("bore = 80", "bore = 81"),
        ("working = 55", "working = 56"),
        ("[fluid]", "port_error = 4\n[fluid]"),
        ("[fluid]", "[profile]\nclearance_sharp = 30\n[fluid]"),
    ):
        assert not before.items() & hashes(*shared).items()
    sleeved = hashes('"one"\n', '"one"\nsleeve = true\n')
    assert sleeved["one"] != before["one"]
    assert sleeved["two"] == before["two"]
    (tmp_path / "poses.csv").write_text("mast_deg\n0\n11\n")
    assert not before.items() & hashes().items()


LIMITS = """\
limits = [
  {name = "bending 0.2", kind = "stiffness", holds = true, rule = "bend radius", subject = "a to b", \
measure = 88.4, limit = 75.0, unit = "mm", margin = 13.4},
  {name = "ports apart", kind = "ports", holds = false},
]
"""


def planned(limits):
    """The job with a plan of these limits, as the program writes it."""
    record = {"sleeve": False, "number": "A 1", **tomllib.loads(limits)}
    return write_assembly(read(), "one", record)


def doubts(text):
    return [(str(one).partition(":")[0], one.run, one.stops, "by hand" in str(one)) for one in read(text).job.warnings]


BY_HAND = ("run 'one'", "one", False, True)
WEAK = ("run 'one'", "one", True, False)


def test_the_limits_of_a_plan_are_read_as_they_were_written():
    first, second = read(planned(LIMITS)).limits["one"]
    assert first == {
        "name": "bending 0.2", "kind": "stiffness", "holds": True, "rule": "bend radius",
        "subject": "a to b", "measure": 88.4, "limit": 75.0, "unit": "mm", "margin": 13.4,
    }  # fmt: skip
    assert first.keys() == second.keys()
    assert {value for key, value in second.items() if key not in ("name", "kind", "holds")} == {None}


def test_a_plan_that_does_not_hold_at_its_limits_is_a_warning():
    (warning,) = read(planned(LIMITS)).job.warnings
    assert (warning.run, warning.stops) == ("one", True)
    assert str(warning) == (
        "run 'one': its plan does not hold at all limits, only at 1 of 2, "
        "not at ports further apart by their measuring error"
    )
    assert doubts(planned(LIMITS.replace("false", "true"))) == []


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("holds = false", "holds = true", [BY_HAND]),
        ("88.4", "98.4", [BY_HAND, WEAK]),
        ("sleeve = false", "sleeve = true", [BY_HAND, WEAK]),
        ("hash = ", "# hash = ", [BY_HAND, WEAK]),
        ('  {name = "ports apart", kind = "ports", holds = false},\n', "", [BY_HAND]),
        ('number = "A 1"', 'number = "B 2"', [WEAK]),
    ],
)
def test_limits_count_only_as_the_plan_wrote_them(old, new, told):
    text = changed(old, new, planned(LIMITS))
    assert doubts(text) == told
    assert bool(read(text).limits) == (BY_HAND not in told)


def test_limits_that_were_taken_out_are_missed():
    text = re.sub(r"limits = \[.*?^\]\n", "", planned(LIMITS), flags=re.DOTALL | re.MULTILINE)
    assert "limits" not in text
    assert doubts(text) == [BY_HAND]


def test_limits_without_a_digest_of_them_do_not_count():
    text = re.sub(r'(hash = "\w+)-\w+"', r'\1"', planned(LIMITS.replace("false", "true")))
    assert doubts(text) == [BY_HAND]
    assert read(text).limits == {}


def test_a_digest_without_that_of_the_inputs_is_stale():
    text = re.sub(r'hash = "\w+-', 'hash = "-', planned(LIMITS.replace("false", "true")))
    (warning,) = read(text).job.warnings
    assert (warning.run, warning.stops) == ("one", True)
    assert "plan it again" in str(warning)


def test_limits_of_older_files_do_not_count_and_their_failures_do():
    record = '[run.assembly]\nlimits = "{} of 16"\n'
    assert read(MACHINE + RUN + record.format(15)).limits == {}
    assert doubts(MACHINE + RUN + record.format(15)) == [BY_HAND, WEAK]
    assert doubts(MACHINE + RUN + record.format(16)) == [BY_HAND]


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*.toml")), ids=lambda path: path.name)
def test_examples_read_without_a_warning(path):
    assert read_job(path, to_plan=path.stem.endswith("to_plan")).job.warnings == ()


def test_the_starter_reads_as_it_stands(tmp_path):
    (tmp_path / "new.toml").write_text(starter(), encoding="utf-8")
    file = read_job(tmp_path / "new.toml")
    assert len(file.job.runs) == 1
    assert file.job.warnings == ()


# ---- what is refused ----


def test_all_problems_at_once_in_order_each_with_its_place():
    text = changed('grade = "HM 46"', 'grade = "HX 46"')
    text = changed("at = [-400, 0, 600]", 'at = ["400 brr", 0, 600]', text)
    text = changed('to = "Q"', 'to = "R"', text)
    text = changed("flow = 18", 'flow = "18 bar"', text)
    text = changed('hose = "2SC -8"', 'hose = "2SC -9"\nlenght = 3', text)
    error = complaints(text)
    assert [problem.path for problem in error.problems] == [
        ("fluid", "grade"), ("port", 0, "at", 0), ("run", 0, "to"), ("run", 0, "flow"), ("run", 0, "hose"),
        ("run", 0, "lenght"),
    ]  # fmt: skip
    lines = text.split("\n")
    for one in error.located:
        key = one.problem.path[-1] if isinstance(one.problem.path[-1], str) else one.problem.path[-2]
        assert lines[one.place.line - 1].startswith(str(key))
        assert one.source[one.column :] == lines[one.place.line - 1][one.place.column - 1 :]
    assert isinstance(error, JobError)


def test_a_slip_in_the_head_does_not_hide_problems_of_the_machine():
    text = changed("open = 1220", "open = 800", changed('title = "test"', "title = 3"))
    assert [problem.path for problem in complaints(text).problems] == [("job", "title"), ("cylinder", 0)]


ANOTHER = RUN.replace('"one"', '"two"').replace('"P"', '"S"').replace('"Q"', '"P"').replace('"S"', '"Q"')
COUNTER = '[[assembly]]\nname = "counter"\n'


@pytest.mark.parametrize("same", ["X-1", "x1", " X 1", "x–1", "Ｘ.１"])
@pytest.mark.parametrize("to_plan", [False, True])
@pytest.mark.parametrize(
    ("first", "second", "path", "owner"),
    [
        (RUN, ANOTHER, ("run", 1, "number"), "run 'one'"),
        (RUN, ANOTHER + "[run.assembly]\n", ("run", 1, "assembly", "number"), "run 'one'"),
        (RUN + "[run.assembly]\n", COUNTER, ("assembly", 0, "number"), "run 'one'"),
        (COUNTER, RUN, ("run", 0, "number"), "sample 'counter'"),
        (COUNTER, COUNTER.replace("counter", "yard"), ("assembly", 1, "number"), "sample 'counter'"),
    ],
)
def test_two_assemblies_cannot_have_the_same_number(first, second, path, owner, to_plan, same):
    spare = "" if "[[run]]" in first + second else ANOTHER
    text = f'{MACHINE}{spare}{first}number = "X-1"\n{second}number = "{same}"\n'
    with pytest.raises(JobFileError) as caught:
        read_text(text, HERE, to_plan=to_plan)
    (one,) = caught.value.located
    other = text.split("\n").index('number = "X-1"') + 1
    assert one.problem.path == path
    assert one.problem.text.startswith(f"the number '{same}' is already that of {owner} (line {other})")
    assert one.problem.text.endswith("; choose another one")
    assert ("do not count" in one.problem.text) == (same != "X-1")
    assert one.source[one.column :] == f'"{same}"'


def test_numbers_that_differ_or_that_no_assembly_has_are_no_problem():
    own = RUN + 'number = "Größe 1"\n[run.assembly]\nnumber = "B 2"\n'
    other = ANOTHER + 'number = "Größe 2"\n'
    samples = "".join(f'[[assembly]]\nname = "{name}"\nnumber = "{name}"\n' for name in ("B 2", "漢", "字", "-", "--"))
    assert len(read(MACHINE + own + other + samples).samples) == 5


def test_a_problem_is_shown_with_file_line_column_source_and_mark():
    text = changed("peak = 180", 'peak = "180 mm"')
    shown = str(complaints(text)).split("\n")
    line = text.split("\n").index('pressure = { working = 150, peak = "180 mm" }') + 1
    assert shown[0].startswith(f"job.toml:{line}:36: run[0].pressure.peak: '180 mm' is not a pressure")
    assert shown[1] == '    pressure = { working = 150, peak = "180 mm" }'
    assert shown[2].index("^") - 4 == 35


BAD = {
    "unknown key": ('title = "test"', 'titel = "test"', "Did you mean 'title'"),
    "unknown table": ("[fluid]", "[fluids]\na = 1\n[fluid]", "Did you mean 'fluid'?"),
    "missing key": ("open = 1220\n", "", "such as open = 1020"),
    "missing table": ("[job]", "[jobs]", "'job' is missing"),
    "wrong version": ("format = 1", "format = 2", "is 2"),
    "single brackets": ("[[body]]", "[body]", "[[body]]"),
    "not a table": (
        'base = { on = "chassis", at = [300, 0, 50], pin = [0, 1, 0] }', "base = 3", "needs a table",
    ),
    "wrong kind of unit": ("closed = 740", 'closed = "740 bar"', "'bar' measures something else"),
    "unknown unit": ("closed = 740", 'closed = "740 brr"', "'brr' is no known unit"),
    "text without unit": ("closed = 740", 'closed = "740"', "has no unit"),
    "two numbers": ("at = [300, 0, 50]", "at = [300, 50]", "three numbers"),
    "no direction": ("about = [0, -1, 0]", "about = [0, 0, 0]", "direction"),
    "huge direction": ("about = [0, -1, 0]", "about = [0, 1e300, 0]", "plain number"),
    "far away": ("at = [-400, 0, 600]", 'at = ["900 km", 0, 600]', "at most"),
    "empty joint range": ("from = -10, to = 65", "from = 65, to = -10", "from 65° to -10°, an empty range"),
    "joint range of nothing": ("from = -10, to = 65", "from = 5, to = 5", "empty range"),
    "drawn outside the range": ("from = -10, to = 65", "from = 10, to = 65", "drawn"),
    "short cylinder": ("open = 1220", "open = 800", "more than it reaches open"),
    "cylinder that cannot reach": (
        "cycle = [{ mast = -10 }, { mast = 65 }]", "cycle = [{ lift = 10 }, { lift = 600 }]",
        "the linkage does not close",
    ),
    "joint out of its range": ("{ mast = 65 }", "{ mast = 70 }", "70 degrees"),
    "unknown joint": ("{ mast = 65 }", "{ mats = 65 }", "Did you mean 'mast'?"),
    "joint of another kind": ("{ mast = 65 }", '{ mast = "65 mm" }', "not an angle"),
    "unknown body": ('on = "mast"\nat = [400', 'on = "mats"\nat = [400', "Did you mean 'mast'?"),
    "unknown port": ('to = "Q"', 'to = "QQ"', "there is no port 'QQ'"),
    "the same port twice": ('to = "Q"', 'to = "P"', "also the port"),
    "unknown hose": ('"2SC -8"', '"2SC -9"', "-4, -5, -6, -8"),
    "unknown family": ('"face seal -8 male"\n[[port]]', '"faze seal -8 male"\n[[port]]', "faze seal"),
    "no hose": ('hose = "2SC -8"\n', "", 'such as hose = "2SC -8"'),
    "no length": ("length = 1540\n", "", "such as length = 850"),
    "too short for its ends": ("length = 1540", "length = 100", "leaves no free hose"),
    "peak below working": ("peak = 180", "peak = 80", "80 bar"),
    "negative flow": ("flow = 18", "flow = -18", "at least"),
    "rod thicker than the bore": ("rod_diameter = 45", "rod_diameter = 90", "below the bore"),
    "up along facing": ("facing = [0, 0, 1]\nconn", "facing = [0, 0, 1]\nup = [0, 0, 1]\nconn", "parallel"),
    "temperatures out of order": ("working = 55", "working = 95", "must rise"),
    "unknown fluid": ('"HM 46"', '"HM 45"', "no viscosity grade 45"),
    "zero steps": ("steps = 4", "steps = 0", "at least 1"),
    "absurd steps": ("steps = 4", "steps = 400000000", "at most"),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD)
def test_bad_input_has_one_clear_problem(name):
    old, new, part = BAD[name]
    text = MACHINE + RUN
    assert old in text
    problems = complaints(text.replace(old, new, 1)).problems
    assert any(part in problem.text for problem in problems), [problem.text for problem in problems]
    assert len(problems) <= 2
    assert all("Traceback" not in problem.text for problem in problems)


def in_run(lines):
    return MACHINE + RUN + lines + "\n"


@pytest.mark.parametrize(
    ("lines", "part"),
    [
        ('line = "presure"', "Did you mean 'pressure' or"),
        ('ends = [{ form = "91 short" }, {}]', "Did you mean '90 short'"),
        ('ends = [{ connection = "37 flare -8 female" }, {}]', "different families"),
        ('ends = [{ connection = "face seal -8 male" }, {}]', "both male"),
        ('ends = [{ connection = "face seal -6 female" }, {}]', "does not mate"),
        ("ends = [{}]", "two ends"),
        ("ends = 3", "needs a table"),
        ('ends = [{ adapter = ["95 swivel"] }, {}]', "no adapter '95 swivel'"),
        ('clamps = [{ mount = "m9", at = 300 }]', "Known: 'm1'"),
        ('clamps = [{ mount = "m1", at = 3000 }]', "not on the free hose"),
        ('clamps = [{ mount = "m1", at = 300 }, { mount = "m1", at = 305 }]', "already"),
        ('clamps = [{ mount = "m1", at = 300, hold = "glued" }]', "fixed"),
        ('cylinder = { name = "lifft", side = "rod" }', "Did you mean 'lift'?"),
        ('cylinder = { name = "lift", side = "rood" }', "Did you mean 'rod'?"),
        ("orientation = 90", "two bent ends"),
        ("fitting_pose = { mast = -10.2 }", "-10.2 degrees"),
        ("fitting_pose = { boom = 9 }", "there is no joint or cylinder 'boom'"),
        ("bow = [0, 0, 0]", "direction"),
        ("sleeve = 1", "true or false"),
    ],
)
def test_bad_runs(lines, part):
    assert part in only(in_run(lines)).text


def test_two_fixed_ends_cannot_be_screwed_in():
    text = (MACHINE + RUN).replace("face seal -8 male", "face seal -8 female")
    text = changed(
        "length", 'ends = [{ connection = "face seal -8 male" }, { connection = "face seal -8 male" }]\nlength', text
    )
    assert "both fixed" in only(text).text


def test_a_port_inside_an_obstacle():
    text = MACHINE + '[[obstacle]]\nname = "tank"\nbox = { at = [-400, 0, 600], size = [100, 100, 100] }\n' + RUN
    problem = only(text)
    assert problem.path == ("port", 0, "at")
    assert "50.0 mm inside obstacle 'tank'" in problem.text


def test_a_linkage_that_cannot_close():
    text = (
        MACHINE.partition("[[cylinder]]")[0]
        + """
    [[body]]
    name = "link"
    turn = { at = [0, 0, 1300], about = [0, -1, 0] }
    [[body]]
    name = "rocker"
    on = "mast"
    turn = { at = [900, 0, 900], about = [0, -1, 0] }
    [[pin]]
    name = "p"
    bodies = ["link", "rocker"]
    at = [600, 0, 1200]
    about = [0, 1, 0]
    [[motion]]
    cycle = [{ mast = 0 }, { mast = -10 }]
    [[motion]]
    cycle = [{ mast = 0 }, { rocker = 179 }]
    """
    )
    assert any("does not close" in problem.text for problem in complaints(text).problems)


def test_motions_that_drive_one_linkage_by_different_names():
    text = MACHINE + "[[motion]]\ncycle = [{ lift = 20 }, { lift = 100 }]\n" + RUN
    problems = complaints(text).problems
    assert all("name the same joints in all motions" in problem.text for problem in problems)


def test_two_runs_of_one_name():
    assert "already taken" in only(MACHINE + RUN + RUN).text


def test_a_broken_table_does_not_cause_further_complaints():
    problem = only(changed("about = [0, -1, 0], from", 'about = [0, -1, "x"], from'))
    assert problem.path == ("body", 0, "turn", "about", 2)


def test_a_mesh_that_is_not_watertight_is_used_with_a_warning(tmp_path):
    box = trimesh.creation.box((0.1, 0.1, 0.1))
    trimesh.Trimesh(box.vertices, box.faces[:-1]).export(tmp_path / "box.stl")
    text = MACHINE + '[[obstacle]]\nname = "b"\nmesh = { file = "box.stl", unit = "m", at = [0, 0, 5000] }\n' + RUN
    file = read(text, tmp_path / "job.toml")
    (warning,) = file.job.warnings
    assert "box.stl: the mesh is not watertight" in str(warning)
    assert file.job.machine.obstacles[0].shape.bounds[:, 2] == pytest.approx([4.95, 5.05])


@pytest.mark.parametrize(
    ("name", "part"),
    [
        ("/etc/hosts", "absolute"),
        ("C:\\meshes\\a.stl", "absolute"),
        ("../a.stl", "leads out"),
        ("a.stl", "no file"),
        ("", "name of a file"),
        ("a\\u0000.stl", "name of a file"),
        ("folder", "is a folder"),
    ],
)
def test_files_that_are_not_there_or_not_ours(tmp_path, name, part):
    (tmp_path / "folder").mkdir()
    quoted = name if "\\u" in name else name.replace("\\", "\\\\")
    text = MACHINE + f'[[obstacle]]\nname = "b"\nmesh = {{ file = "{quoted}" }}\n' + RUN
    assert part in only(text, tmp_path / "job.toml").text


def test_job_files_of_absurd_size_or_other_encoding(tmp_path):
    path = tmp_path / "job.toml"
    path.write_bytes(b"#" * (MOST_JOB_BYTES + 1))
    with pytest.raises(JobFileError, match="1 MB"):
        read_job(path)
    path.write_bytes(b"a = '\xff'")
    with pytest.raises(JobFileError, match="UTF-8"):
        read_job(path)
    with pytest.raises(JobFileError, match=r"no file .*missing\.toml"):
        read_job(tmp_path / "missing.toml")


def test_too_many_poses_are_refused_before_they_are_made():
    text = MACHINE + "[[motion]]\nsteps = 10000\ncycle = [" + "{ mast = 1 }, " * 2000 + "]\n" + RUN
    assert "100,000" in only(text).text


def test_escapes_of_a_terminal_do_not_come_through():
    assert "\x1b" not in str(complaints(changed('to = "Q"', 'to = "\\u001b[2J"')))


def test_windows_line_ends_read_alike():
    assert read((MACHINE + RUN).replace("\n", "\r\n")).hash == read().hash


def test_a_cylinder_longer_inside_than_outside_is_doubted(tmp_path: Path) -> None:
    """A single-stage cylinder cannot have a stroke above its closed length (common practice, no source)."""
    text = """
[job]
format = 1
title = "a doubtful cylinder"

[[body]]
name = "arm"
turn = { at = [0, 0, 0], about = [0, -1, 0], from = 0, to = 60 }

[[cylinder]]
name = "lift"
base = { on = "chassis", at = [100, 0, -600] }
rod = { on = "arm", at = [500, 0, 0] }
closed = 500
open = OPEN
"""
    path = tmp_path / "job.toml"
    for longest, doubted in ((1000, False), (1100, True)):
        path.write_text(text.replace("OPEN", str(longest)), encoding="utf-8")
        assert any("telescopic" in str(warning) for warning in read_job(path).job.warnings) == doubted
