"""Shortest planar paths of bounded curvature: closed forms, and all six words drawn by ruler and compass.

References
----------
L. E. Dubins, American Journal of Mathematics 79 (1957) 497-516: a shortest path is an arc, a straight line and an arc,
or three arcs the middle one of which is longer than half a circle.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hosewright.geometry.planar import shortest_path, shortest_planar_path

WORDS = ("LSL", "RSR", "LSR", "RSL", "LRL", "RLR")
SIDE = {"L": 1.0, "R": -1.0}


def drawn(word: str, lengths: tuple[float, ...]) -> tuple[float, float, float]:
    """Where a path of unit arcs and straight lines from the origin along x ends, and its heading there."""
    x = y = heading = 0.0
    for kind, length in zip(word, lengths, strict=True):
        if kind == "S":
            x, y = x + length * math.cos(heading), y + length * math.sin(heading)
            continue
        side, after = SIDE[kind], heading + SIDE[kind] * length
        x += side * (math.sin(after) - math.sin(heading))
        y -= side * (math.cos(after) - math.cos(heading))
        heading = after
    return x, y, heading


def by_compass(x: float, y: float, turn: float) -> float:
    """Least length over all words whose construction, drawn again, ends where it has to."""
    least = math.inf
    for word in WORDS:
        first, last = SIDE[word[0]], SIDE[word[2]]
        a = 1j * first  # centres of the first and last circle as complex numbers
        b = complex(x, y) + 1j * last * np.exp(1j * turn)
        for middle_heading, straight, corner in _tangents(word, a, b):
            if word[1] == "S":
                lengths = (first * middle_heading % math.tau, straight, last * (turn - middle_heading) % math.tau)
            else:
                out = np.angle(corner - a) + first * math.pi / 2.0  # heading where the first circle touches the middle
                back = np.angle(corner - b) + last * math.pi / 2.0
                lengths = (first * out % math.tau, -first * (back - out) % math.tau, last * (turn - back) % math.tau)
            ends = drawn(word, lengths)
            assert math.hypot(ends[0] - x, ends[1] - y) < 1e-6
            assert abs(math.remainder(ends[2] - turn, math.tau)) < 1e-6
            least = min(least, sum(lengths))
    return least


def _tangents(word: str, a: complex, b: complex) -> list[tuple[float, float, complex]]:
    # heading and length of the straight line, or the centre of the middle circle, of each way to join two circles
    apart, towards = abs(b - a), float(np.angle(b - a))
    if word[1] != "S":
        if apart > 4.0 or apart < 1e-9:
            return []
        lift = math.sqrt(max(4.0 - apart**2 / 4.0, 0.0))
        return [(0.0, 0.0, (a + b) / 2.0 + side * 1j * lift * (b - a) / apart) for side in (1.0, -1.0)]
    if word[0] == word[2]:
        return [(towards, apart, 0j)]
    if apart < 2.0:
        return []
    return [(towards + SIDE[word[0]] * math.asin(2.0 / apart), math.sqrt(apart**2 - 4.0), 0j)]


@pytest.mark.parametrize(
    ("x", "y", "turn", "length"),
    [
        (5.0, 0.0, 0.0, 5.0),  # straight on
        (0.0, 2.0, math.pi, math.pi),  # U of two radii
        (0.0, -2.0, math.pi, math.pi),
        (0.0, 5.0, math.pi, math.pi + 3.0),  # wider U: two quarters and a straight line
        (-3.0, 2.0, math.pi, math.pi + 3.0),  # U with a longer leg
        (1.0, 1.0, math.pi / 2.0, math.pi / 2.0),  # quarter circle
        (1.0, -1.0, -math.pi / 2.0, math.pi / 2.0),
        (4.0, 3.0, math.pi / 2.0, math.pi / 2.0 + math.sqrt(13.0)),  # corner: the arcs lie at both ends
        (2.0, 2.0, 0.0, math.pi),  # offset by two quarters
        (2.0 * math.sin(0.7), 2.0 - 2.0 * math.cos(0.7), 0.0, 1.4),  # two arcs that touch
        (0.0, 0.0, math.pi, 7.0 * math.pi / 3.0),  # turn on the spot: 60, 300 and 60 degrees
        (0.0, 0.0, 0.0, 0.0),
    ],
)
def test_closed_forms(x: float, y: float, turn: float, length: float) -> None:
    assert shortest_path(x, y, turn) == pytest.approx(length, abs=1e-6)


@pytest.mark.parametrize("offset", [0.05, 0.4, 1.0, 3.0])
def test_parallel_offset(offset: float) -> None:
    """Parallel ports far apart: two equal arcs and the common inner tangent, length 2 a + sqrt(d^2 + h^2 - 4 h)."""
    distance = 6.0
    straight = math.sqrt(distance**2 + offset**2 - 4.0 * offset)
    arc = math.atan2(offset - 2.0, distance) + math.atan2(2.0, straight)
    assert shortest_path(distance, offset, 0.0) == pytest.approx(2.0 * arc + straight, abs=1e-9)


def test_all_words_by_compass() -> None:
    generator = np.random.default_rng(5)
    for _ in range(1500):
        x, y = generator.uniform(-4.5, 4.5, 2)
        turn = generator.uniform(-math.pi, math.pi)
        assert shortest_path(x, y, turn) == pytest.approx(by_compass(x, y, turn), abs=1e-6)


def test_touching_circles_need_no_loop() -> None:
    """Lengths of nothing, in all places of all words: rounding must not turn them into full circles."""
    lengths = (0.0, 0.3, 1.0, 2.0)
    for word, parts in itertools.product(WORDS, itertools.product(lengths, repeat=3)):
        assert shortest_path(*drawn(word, parts)) <= sum(parts) + 1e-5


@settings(max_examples=200, deadline=None)
@given(
    word=st.sampled_from(WORDS),
    parts=st.tuples(*[st.floats(0.0, math.tau)] * 3),
    radius=st.floats(0.01, 3.0),
    tilt=st.tuples(*[st.floats(-3.0, 3.0)] * 3),
)
def test_never_longer_than_a_path_that_exists(
    word: str, parts: tuple[float, float, float], radius: float, tilt: tuple[float, float, float]
) -> None:
    """Anywhere in space, of any size, and never shorter than the straight distance or radius times turn."""
    x, y, turn = drawn(word, parts)
    turned = np.linalg.qr(np.eye(3) + np.array([tilt, tilt[::-1], (0.1, 0.2, 0.3)]))[0]
    start, side, normal = turned.T
    chord = radius * (x * start + y * side)
    end = math.cos(turn) * start + math.sin(turn) * side
    if np.dot(np.cross(start, side), normal) < 0.0:
        normal = -normal
    length = shortest_planar_path(chord, start, end, normal, radius)
    assert length <= radius * (sum(parts) + 1e-5)
    assert length >= float(np.linalg.norm(chord)) - 1e-6 * radius
    assert length >= radius * (abs(math.remainder(turn, math.tau)) - 1e-5)
    assert length == pytest.approx(shortest_planar_path(chord, start, end, -normal, radius), abs=1e-5 * radius)
    assert length == pytest.approx(shortest_planar_path(-chord, -end, -start, normal, radius), abs=1e-5 * radius)
