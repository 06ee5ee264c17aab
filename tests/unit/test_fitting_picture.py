"""A hose in its fitting pose: which way it bows, and a picture of it that can be drawn again alike."""

import math
from dataclasses import replace

import numpy as np
import pytest

import fitted_job
from checked_runs import BENT, DUTY, STRAIGHT, assembly, job, port, run
from hosewright.assembly import End
from hosewright.checks.check import check
from hosewright.checks.finding import Place
from hosewright.checks.run import Job, Run
from hosewright.documents.clocks import clock_views
from hosewright.documents.fitting_picture import bow, bow_in_words, fitting_picture
from hosewright.documents.scenes import Scene, fitted
from hosewright.machine import Machine, Port, Poses, Turn
from hosewright.words import Texts

ANGLE = np.linspace(0.0, math.pi, 41)


@pytest.mark.parametrize(
    ("across", "way"),
    [
        ((0, 0, 1), "up"),
        ((0, 0, -1), "down"),
        ((1, 0, 0), "forward"),
        ((-1, 0, 0), "to the rear"),
        ((0.8, 0, 0.6), "forward and up"),
        ((0.1, 0, 1), "up"),
    ],
)
def test_a_half_circle_bows_to_its_top(across, way):
    top = np.array(across) / np.linalg.norm(across)
    line = 0.3 * (np.outer(np.cos(ANGLE), [0.0, 1.0, 0.0]) + np.outer(np.sin(ANGLE), top))  # its ends lie along y
    assert bow(line) == pytest.approx(0.3 * top, abs=1e-9)
    assert bow_in_words(line, Texts.load("en")) == f"bows {way}"


def test_left_is_where_y_points_and_a_straight_hose_bows_nowhere():
    line = np.stack([np.cos(ANGLE), np.sin(ANGLE), np.zeros(41)], axis=1)
    assert bow_in_words(line, Texts.load("de")) == "Bogen nach links"
    assert bow_in_words(line * np.array([1.0, 0.01, 1.0]), Texts.load("en")) is None


def test_a_lopsided_bow_goes_across_the_way_between_its_ends():
    # up by 0.1 m near its rear end: towards the middle of the 1 m between the ends that would be down and forward
    line = np.array([[0.0, 0.0, 0.0], [0.1, 0.0, 0.1], [0.5, 0.0, 0.05], [1.0, 0.0, 0.0]])
    assert bow(line) == pytest.approx([0.0, 0.0, 0.1])
    assert bow_in_words(line, Texts.load("en")) == "bows up"


def test_a_hose_that_hangs_beyond_its_lower_end_bows_to_no_side():
    # 0.2 m below the lower of two ends that are above each other, and 0.1 m aside
    line = np.array([[0.0, 0.0, 0.0], [0.1, 0.0, -0.2], [0.05, 0.0, -0.5], [0.0, 0.0, -0.3]])
    assert bow_in_words(line, Texts.load("en")) is None


@pytest.mark.parametrize(("high", "told"), [(0.049, None), (0.051, "bows up")])
def test_a_bow_of_less_than_a_twentieth_of_its_way_is_not_told(high, told):
    assert bow_in_words(np.array([[0.0, 0, 0], [0.5, 0, high], [1.0, 0, 0]]), Texts.load("en")) == told


def test_a_clamped_hose_bows_span_by_span():
    # up out of a port, forward through a clamp above and in front of it, down into a port in front of and below that
    spans = fitted_job.bundle().result.run("tank").solved.spans
    told = [bow_in_words(span.fitted.position, Texts.load("en")) for span in spans]
    assert told == ["bows up and to the rear", "bows up and forward"]


@pytest.fixture(scope="module")
def turned():
    ports = [port("A", "chassis", (0, 0, 0), (0, 0, 1)), port("B", "arm", (0.42, 0.05, 0), (0.2, 0, 1))]
    made = job([run(0.95), run(1.0, name="two")], ports, joint=Turn((0.2, 0, 0), (0.3, 1, 0.1)), poses=0.7)
    return check(replace(made, service_poses=({"arm": 0.31},)))


def test_a_scene_of_the_fitting_pose_is_the_hose_as_it_was_laid_there(turned):
    there, lying = fitted(turned, turned.runs[0])
    scene = Scene(there, lying, Place())
    (span,) = turned.runs[0].solved.spans
    assert scene.solved.pose(scene.pose) == {"arm": 0.31}
    assert scene.line == pytest.approx(span.fitted.position)
    for end, tail in zip(scene.ends, (0, -1), strict=True):
        assert end[-1] == pytest.approx(scene.line[tail], abs=1e-3)
    assert scene.ghosts == ()
    assert [other.run.name for other, _ in scene.others()] == ["two"]


def test_the_same_hose_gives_the_same_picture(turned):
    first, second = (fitting_picture(turned, turned.runs[0]) for _ in range(2))
    assert first == second
    assert b"<svg" in first
    assert fitting_picture(turned, turned.runs[0], texts=Texts.load("de")) != first


def test_a_machine_that_stands_still_has_a_fitting_picture_and_clocks():
    down, aside = (0.0, 0.0, -1.0), (0.0, 1.0, 0.0)
    ports = [Port("A", "chassis", (0.0, 0.0, 0.5), down), Port("B", "chassis", (0.0, 0.3, 0.0), aside)]
    hose = assembly(0.8, a=End(BENT), b=End(STRAIGHT))
    still = Poses((), np.zeros((1, 0)), np.zeros(1, dtype=np.int64), np.zeros(1))
    made = Job("still", Machine(ports=tuple(ports)), still, (Run("one", "A", "B", DUTY, hose),))
    result = check(made)
    assert [view.hour for view in clock_views(result, result.runs[0])] == [
        "9:00"
    ]  # x, seen from below with y at the top
    assert b"<svg" in fitting_picture(result, result.runs[0])
