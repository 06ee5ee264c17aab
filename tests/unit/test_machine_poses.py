"""Motions, lattices and measured poses."""

import re

import numpy as np
import pytest

from hosewright.errors import ArgumentError, DataError
from hosewright.machine import Poses, cycle, joined, lattice, measured, refine, separate


def test_cycle_runs_straight_between_waypoints():
    poses = cycle([{"mast": 0.0, "slew": 1.0}, {"mast": 1.0}, {"slew": 3.0}], 2)
    np.testing.assert_allclose(poses.of("mast"), [0, 0.5, 1, 1, 1])
    np.testing.assert_allclose(poses.of("slew"), [1, 1, 1, 2, 3])
    np.testing.assert_allclose(poses.at, [0, 0.25, 0.5, 0.75, 1])
    assert (poses.path == 0).all()


def test_cycle_takes_what_is_held_and_complains_otherwise():
    assert cycle([{"a": 1.0}, {"b": 2.0}], 1, held={"b": 0.5}).of("b").tolist() == [0.5, 2.0]
    with pytest.raises(ArgumentError, match="waypoint 1 does not say where 'b' is"):
        cycle([{"a": 1.0}, {"b": 2.0}], 1)
    with pytest.raises(ArgumentError, match="at least 1, got 0"):
        cycle([{"a": 1.0}], 0)
    with pytest.raises(ArgumentError, match="at least one waypoint"):
        cycle([], 3)


def test_joined_paths_are_numbered_on_and_filled():
    both = joined([cycle([{"a": 0.0}, {"a": 1.0}], 1), separate([{"b": 2.0}, {"b": 3.0}])], held={"a": 7.0, "b": 9.0})
    assert both.path.tolist() == [0, 0, 1, 2]
    assert both.of("a").tolist() == [0, 1, 7, 7]
    assert both.of("b").tolist() == [9, 9, 2, 3]
    with pytest.raises(ArgumentError, match="one path moves 'b' and another does not say"):
        joined([cycle([{"a": 0.0}], 1), cycle([{"b": 0.0}], 1)])


def test_refine_never_bridges_two_paths():
    poses = separate([{"a": 0.0}, {"a": 1.0}])
    assert len(refine(poses, np.array([True]))) == 2
    path = joined([cycle([{"a": 0.0}, {"a": 1.0}], 1), cycle([{"a": 5.0}, {"a": 7.0}], 1)])
    finer = refine(path, np.ones(3, dtype=bool))
    assert finer.of("a").tolist() == [0, 0.5, 1, 5, 6, 7]
    assert finer.path.tolist() == [0, 0, 0, 1, 1, 1]


def test_lattice_limits():
    with pytest.raises(ArgumentError, match="finite range, got 0 to inf"):
        lattice({"a": (0.0, np.inf)}, 3)
    with pytest.raises(ArgumentError, match="1000 x 1000"):
        lattice({"a": (0.0, 1.0), "b": (0.0, 1.0)}, 1000)
    with pytest.raises(ArgumentError, match="no joint"):
        lattice({}, 3)


def test_poses_must_fit_together():
    with pytest.raises(ArgumentError, match="1 joints need values"):
        Poses(("a",), np.zeros((2, 2)), np.zeros(2, dtype=np.int64), np.zeros(2))
    with pytest.raises(ArgumentError, match="not a finite number"):
        cycle([{"a": float("nan")}], 1)
    assert cycle([{"a": 0.0}, {"a": 1.0}], 4).take([0, 4]).of("a").tolist() == [0, 1]


TABLE = """# measured in the yard
time_s, mast_deg, lift_mm, path
0, 0, 10, 0
1, 90, 20, 0

3, 45, 30, 0
0, 10, 40, 1
"""


def test_measured_poses_are_read_in_their_units():
    poses = measured(TABLE, "yard.csv")
    assert poses.joints == ("mast", "lift")
    np.testing.assert_allclose(poses.of("mast"), np.radians([0, 90, 45, 10]))
    np.testing.assert_allclose(poses.of("lift"), [0.01, 0.02, 0.03, 0.04])
    np.testing.assert_allclose(poses.at, [0, 1 / 3, 1, 0])
    assert poses.path.tolist() == [0, 0, 0, 1]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "yard.csv: needs a heading line"),
        ("mast_deg\n", "yard.csv: needs a heading line"),
        ("mast\n1\n", "yard.csv:1: column 'mast' must end in its unit: _deg, _rad, _mm, _m"),
        ("mast_deg\n1\n#\nx1\n", "yard.csv:4: mast_deg is 'x1'"),
        ("mast_deg\nnan\n", "yard.csv:2: mast_deg is 'nan'"),
        ("mast_deg,lift_mm\n1,5\n1,2,3\n", "yard.csv:3: 3 values under 2 headings (mast_deg, lift_mm)"),
        ("mast_deg,mast_rad\n1,1\n", "'mast' has more than one column"),
        ("time_s\n1\n", "no column of joint values"),
        ("time_s,mast_deg\n2,0\n1,0\n", "time_s falls from 2 s on"),
        ("path,mast_deg\n0,0\n1,0\n0,0\n", "all lines of a path together"),
        ("path,mast_deg\n0.5,0\n", "whole numbers"),
        ("mast_deg\n" + "9" * 200_000 + "\n", "yard.csv:2: mast_deg is '9999"),
    ],
)
def test_measured_poses_that_cannot_be_used(text, words):
    with pytest.raises(DataError, match=re.escape(words)):
        measured(text, "yard.csv")
