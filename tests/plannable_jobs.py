"""A job whose runs leave more or less open, and the runs that a plan could make of it."""

from pathlib import Path

from hypothesis import strategies as st

from hosewright import units
from hosewright.assembly import Assembly, End
from hosewright.catalog import load
from hosewright.checks.run import Clamp, Run
from hosewright.jobfile import read_text
from hosewright.units import Kind

HERE = Path("nowhere") / "job.toml"
CATALOG = load()

MACHINE = """\
[job]
format = 1
title = "test"

[fluid]
grade = "HM 46"
temperature = { min = -15, working = 55, max = 80 }

[[body]]
name = "mast"
turn = { at = [0, 0, 900], about = [0, -1, 0], from = -10, to = 65 }

[[body]]
name = "reach"
on = "mast"
slide = { along = [1, 0, 0], from = 0, to = 400 }

[[mount]]
name = "m1"
on = "mast"
at = [200, 60, 980]
along = [1, 0, 0]

[[mount]]
name = "m2"
at = [-100, 60, 700]
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

[[port]]
name = "R"
on = "reach"
at = [600, 0, 800]
facing = [0, 0, 1]
connection = "face seal -8 male"
adapter = [{ name = "90 swivel", clock = 12.345 }]

[[motion]]
cycle = [{ mast = -10 }, { mast = 65 }]
steps = 4
"""
DUTY = "pressure = { working = 150, peak = 180 }\nflow = 18\n"
OPEN = f'[[run]]\nname = "open"\nfrom = "P"\nto = "Q"\n{DUTY}'
HALF = (
    f'[[run]]\nname = "half"\nfrom = "R"\nto = "Q"\n{DUTY}'
    'ends = [{ clock = 7.25 }, { form = "90 short", adapter = ["45 swivel"] }]\nbow = [0, 1, 0]\n'
)
FIXED = (
    f'[[run]]\nname = "fixed"\nfrom = "Q"\nto = "P"\n{DUTY}'
    'hose = "2SC -8"\nlength = "60 5/8 in"\nclamps = [{ mount = "m2", at = 612.34 }]\nsleeve = true\nnumber = "A 7"\n'
)
RUNS = {"open": OPEN, "half": HALF, "fixed": FIXED}

NOTES = st.sampled_from(["", "\n", "# a note\n", "\n# a note\n\n", "\n\n# one = 1\n# [run.assembly]\n", "    # é\n"])

INNER = st.sampled_from(["", "[run.temperature]\nmax = 90\n", "\n[run.temperature]   # hot\nmax = 90\n"])


@st.composite
def job_texts(draw):
    """The job with its tables in any order, and notes between them."""
    runs = draw(
        st.permutations(
            [*(run + draw(INNER) for run in RUNS.values()), '[[operator]]\nname = "picker"\nat = [0, 900, 0]\n']
        )
    )
    return MACHINE + "".join(draw(NOTES) + run + draw(NOTES) for run in runs) + draw(st.sampled_from(["", "# the end"]))


def requests_of(text):
    """What the runs of a job fix, by name."""
    return {request.name: request for request in read_text(text, HERE, CATALOG, to_plan=True).requests}


lengths = st.floats(0.8, 2.5)
angles = st.floats(-7.0, 7.0)
typed_degrees = st.integers(-3_600_000, 3_600_000).map(lambda n: units.si(n / 1e4, Kind.ANGLE))
poses = st.none() | st.builds(
    lambda mast, reach: {"mast": units.si(mast / 1e3, Kind.ANGLE), "reach": units.si(reach / 1e3, Kind.LENGTH)},
    st.integers(-10_000, 65_000),
    st.integers(0, 400_000),
)


@st.composite
def ends_for(draw, request, dash_size):
    """An end that a request allows."""
    adapters = request.adapters
    if adapters is None:
        chosen = draw(st.none() | st.sampled_from(CATALOG.adapters(port=request.connection)))
        adapters = () if chosen is None else ((chosen, draw(typed_degrees)),)
    met = adapters[-1][0].hose_side if adapters else request.connection
    forms = CATALOG.end_forms(mating=met, dash_size=dash_size)
    form = draw(st.sampled_from([form for form in forms if request.form in (None, form.name)]))
    return End(form, draw(angles) if request.clock is None else request.clock, adapters)


@st.composite
def runs_for(draw, request):
    """A run that a request allows."""
    hose = request.hose or draw(st.sampled_from([hose for hose in CATALOG.hoses() if hose.dash_size == 8]))
    a, b = draw(ends_for(request.a, hose.dash_size)), draw(ends_for(request.b, hose.dash_size))
    bent = min(a.form.exit_angle, b.form.exit_angle) > 0.0
    orientation = draw(st.none() | st.floats(0.0, 6.28318)) if bent else None
    clamps = request.clamps
    if clamps is None:
        at = draw(st.sampled_from([(), (0.21234567,), (0.15, 0.31999)]))
        clamps = tuple(Clamp(draw(st.sampled_from(["m1", "m2"])), place) for place in at)
    return Run(
        request.name,
        request.a.port,
        request.b.port,
        request.duty,
        Assembly(hose, a, b, request.overall_length or draw(lengths), orientation),
        clamps,
        draw(st.booleans()) if request.sleeve is None else request.sleeve,
        request.bow,
        draw(poses),
    )
