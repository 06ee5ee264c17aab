import random

import pytest

from hosewright.documents import cutting
from hosewright.documents.cutting import Method, Piece, cutting_plan
from hosewright.errors import ArgumentError

HARD = [Piece(str(k), length) for k, length in enumerate([4, 4, 3, 3, 3, 3])]


def test_no_pieces_open_no_reel():
    plan = cutting_plan([], [50_000])
    assert (plan.reels, plan.opened, plan.method) == ((), 0.0, Method.SHORTEST)


def test_kerf_and_trim_are_lost_and_the_rest_is_an_offcut():
    plan = cutting_plan([Piece("a", 700.5), Piece("b", 1200.0)], [5000], kerf=2.5, trim=40.0)
    (reel,) = plan.reels
    assert [piece.name for piece in reel.pieces] == ["b", "a"]
    assert reel.offcut == 5000 - 1200 - 700.5 - 2 * 2.5 - 40
    assert plan.lost == 45.0


def test_a_piece_that_no_reel_holds_is_named():
    plan = cutting_plan([Piece("long", 4990.0), Piece("short", 10.0)], [5000], kerf=2.0, trim=10.0)
    assert [piece.name for piece in plan.too_long] == ["long"]
    assert [piece.name for piece in plan.reels[0].pieces] == ["short"]


def test_the_shortest_reel_that_holds_a_cut_is_opened():
    assert [reel.length for reel in cutting_plan([Piece("a", 900.0)], [5000, 1000, 2000]).reels] == [1000.0]


def test_a_plan_that_is_not_proven_says_so(monkeypatch):
    monkeypatch.setattr(cutting, "MOST_FILLINGS", 0)
    plan = cutting_plan(HARD, [10])
    assert (plan.method, len(plan.reels)) == (Method.FIRST_FIT, 3)
    monkeypatch.setattr(cutting, "MOST_FILLINGS", 8000)
    monkeypatch.setattr(cutting, "MOST_STEPS", 3)
    assert cutting_plan(HARD, [10]).method is Method.FIRST_FIT


def test_a_large_order_gives_the_same_plan_again():
    numbers = random.Random(1)
    pieces = [Piece(str(k), numbers.randint(5000, 9900)) for k in range(60)]
    plan = cutting_plan(pieces, [20_000, 25_000], kerf=2.0, trim=40.0)
    assert plan == cutting_plan(pieces, [20_000, 25_000], kerf=2.0, trim=40.0)
    assert sum(len(reel.pieces) for reel in plan.reels) == 60


@pytest.mark.parametrize(("reel", "least"), [(5000, 1900.0), (100_000, 190.0)])
def test_very_many_lengths_are_cut_too(reel, least):
    pieces = [Piece(str(k), least + 0.3 * k) for k in range(1500)]
    plan = cutting_plan(pieces, [reel], kerf=3.0, trim=50.0)
    assert sum(len(one.pieces) for one in plan.reels) == 1500


@pytest.mark.parametrize(
    ("pieces", "reels", "kerf", "trim", "says"),
    [
        ([Piece("a", 10.0)], [], 0.0, 0.0, "at least one length of reel"),
        ([Piece("a", 10.0)], [30.0], 0.0, 40.0, "longer than its trim of 40 mm, got 30 mm"),
        ([Piece("a", 10.0)], [30.0], -1.0, 0.0, "kerf and trim must be 0 or more, got -1"),
        ([Piece("a", 0.0)], [30.0], 0.0, 0.0, "piece 'a' must be longer than 0, got 0 mm"),
        ([Piece("a", 10.0)], [float("nan")], 0.0, 0.0, "got nan mm"),
    ],
)
def test_what_cannot_be_is_refused(pieces, reels, kerf, trim, says):
    with pytest.raises(ArgumentError, match=says):
        cutting_plan(pieces, reels, kerf, trim)
