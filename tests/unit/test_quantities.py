"""Numbers as people read them: rounded once, margins never towards good."""

import math

import pytest

from hosewright.documents.quantities import MOST, read, read_difference, read_pose
from hosewright.machine import Body, Machine, Slide, Turn


@pytest.mark.parametrize(
    ("value", "kind", "shown"),
    [
        (0.12345, "length", 123.5),
        (250e5, "pressure", 250.0),
        (253.15, "temperature", -20.0),
        (math.radians(5.0), "twist", 5.0),
        (1e9, "length", MOST),
        (-1e-9, "length", 0.0),
        (None, "length", None),
        (math.nan, "length", None),
    ],
)
def test_read(value: float | None, kind: str, shown: float | None) -> None:
    assert read(value, kind) == shown


def test_a_failing_margin_never_reads_as_none() -> None:
    assert read_difference(-1e-7, "length") == -0.1
    assert read_difference(1e-7, "length") == 0.0
    assert read_difference(-20.0, "temperature") == -20.0


def test_poses_in_degrees_and_millimetres() -> None:
    bodies = (
        Body("mast", joint=Turn((0.0, 0.0, 0.0), (0.0, 1.0, 0.0))),
        Body("beam", on="mast", joint=Slide((1.0, 0.0, 0.0))),
    )
    pose = {"mast": math.radians(65.0), "beam": 0.4}
    assert read_pose(pose, Machine(bodies=bodies)) == {"mast": 65.0, "beam": 400.0}


def test_unknown_kind() -> None:
    with pytest.raises(KeyError, match="lenght"):
        read(1.0, "lenght")
