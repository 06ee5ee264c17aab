"""What a plan writes into a job file is what a check reads from it, and nothing else in the file changes."""

import math
import re

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from hosewright.jobfile import assembly_table, read_text, settled, write_plan
from plannable_jobs import CATALOG, HERE, RUNS, job_texts, requests_of, runs_for

WRITTEN = re.compile(r"^\[run\.assembly\]\n(?:(?!\[run|#).*\n)*?hash = .*\n", re.MULTILINE)

slow = settings(max_examples=20, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])


def planned(data, text, names=tuple(RUNS)):
    """A file to be planned, and a run as a plan might have it for each name."""
    requests = requests_of(text)
    runs = {name: settled(data.draw(runs_for(requests[name])), requests[name]) for name in names}
    return read_text(text, HERE, CATALOG, to_plan=True), runs


def tables(file, runs):
    return {name: assembly_table(run, file.job.machine, f"N {name}") for name, run in runs.items()}


@slow
@given(st.data(), job_texts())
def test_a_plan_reads_back_as_it_was_made(data, text):
    file, runs = planned(data, text)
    read = read_text(write_plan(file, tables(file, runs)), HERE, CATALOG)
    assert {run.name: run for run in read.job.runs} == runs
    assert (read.hash, read.run_hashes) == (file.hash, file.run_hashes)
    assert not [warning for warning in read.job.warnings if "plan it again" in str(warning)]


NUMBERS = st.one_of(st.none(), st.floats(-1e6, 1e6).map(lambda value: round(value, 4)))
LIMITS = st.lists(
    st.fixed_dictionaries({
        "name": st.just("ports apart"), "kind": st.just("ports"), "holds": st.booleans(), "rule": st.just("slack"),
        "subject": st.just("a to b"), "measure": NUMBERS, "limit": NUMBERS, "unit": st.just("mm"), "margin": NUMBERS,
    }),
    max_size=4,
)  # fmt: skip


@slow
@given(st.data(), job_texts(), LIMITS)
def test_the_limits_read_back_as_they_were_written_and_any_change_is_noticed(data, text, limits):
    file, runs = planned(data, text)
    made = tables(file, runs)
    written = write_plan(file, {**made, "open": {**made["open"], "limits": limits}})
    read = read_text(written, HERE, CATALOG)
    assert read.limits["open"] == limits
    assert not [one for one in read.job.warnings if "by hand" in str(one)]
    spots = list(re.finditer(r"holds = (?:true|false)|(?:measure|limit|margin) = -?(?=\d)", written))
    if spots:
        spot = data.draw(st.sampled_from(spots))
        other = {"holds = true": "holds = false", "holds = false": "holds = true"}.get(spot[0], f"{spot[0]}1")
        edited = read_text(written[: spot.start()] + other + written[spot.end() :], HERE, CATALOG)
        assert [(one.run, one.stops) for one in edited.job.warnings if "by hand" in str(one)] == [("open", False)]
        assert "open" not in edited.limits


@slow
@given(st.data(), job_texts())
def test_nothing_but_the_tables_changes(data, text):
    file, runs = planned(data, text)
    written = write_plan(file, tables(file, runs))
    assert len(WRITTEN.findall(written)) == len(runs)
    rest = WRITTEN.sub("", written)
    assert rest in (text, text + "\n")  # a last line without its break gets one, where a table follows it


@slow
@given(st.data(), job_texts(), st.sampled_from([("open",), ("half", "fixed"), tuple(RUNS)]))
def test_a_second_plan_replaces_the_first(data, text, again):
    file, first = planned(data, text)
    _, second = planned(data, text, again)
    once = write_plan(file, tables(file, first))
    later = read_text(once, HERE, CATALOG, to_plan=True)
    assert later.requests == tuple(
        request if request.number else type(request)(**{**vars(request), "number": f"N {request.name}"})
        for request in file.requests
    )
    twice = write_plan(later, tables(later, second))
    assert {run.name: run for run in read_text(twice, HERE, CATALOG).job.runs} == {**first, **second}
    assert len(WRITTEN.findall(twice)) == len(first)
    back = write_plan(read_text(twice, HERE, CATALOG, to_plan=True), tables(file, first))
    assert back == once


@slow
@given(st.data(), job_texts())
def test_settled_runs_differ_by_no_more_than_the_rounding(data, text):
    requests = requests_of(text)
    for request in requests.values():
        run = data.draw(runs_for(request))
        near = settled(run, request)
        assert settled(near, request) == near
        assert near.assembly.overall_length == pytest.approx(run.assembly.overall_length, abs=0.05001e-3)
        for end, old in ((near.assembly.a, run.assembly.a), (near.assembly.b, run.assembly.b)):
            assert math.degrees(abs(end.clock - old.clock)) <= 0.05001
        if run.assembly.orientation_angle is not None:
            change = math.remainder(near.assembly.orientation_angle - run.assembly.orientation_angle, math.tau)
            assert math.degrees(abs(change)) <= 0.05001
            assert 0.0 <= near.assembly.orientation_angle < math.tau
