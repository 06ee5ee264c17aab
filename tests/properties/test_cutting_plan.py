"""The cutting plan against every way to cut, and against first-fit decreasing."""

import math
from collections import Counter

from hypothesis import given, settings
from hypothesis import strategies as st

from hosewright.documents.cutting import CuttingPlan, Method, Piece, cutting_plan

LENGTHS = st.integers(5, 100)
REELS = st.lists(st.integers(40, 160), min_size=1, max_size=3, unique=True)
KERF_AND_TRIM = st.tuples(st.integers(0, 4), st.integers(0, 10))


def pieces_of(lengths):
    return [Piece(f"p{k}", float(length)) for k, length in enumerate(lengths)]


def least_by_trial(widths: tuple[int, ...], rooms: dict[int, int]) -> float:
    """Least length of reels over all partitions of the pieces; ``rooms`` by reel length."""

    def cost(width: int) -> float:
        return min((length for length, room in rooms.items() if room >= width), default=math.inf)

    def place(k: int, sums: tuple[int, ...]) -> float:
        if k == len(widths):
            return sum(map(cost, sums))
        fuller = ((*sums[:i], sums[i] + widths[k], *sums[i + 1 :]) for i in range(len(sums)))
        return min(place(k + 1, more) for more in (*fuller, (*sums, widths[k])))

    return place(0, ())


def first_fit_decreasing(widths: list[int], rooms: dict[int, int]) -> float:
    """The textbook rule with reels of the longest kind, each exchanged for the shortest that holds as much."""
    bins: list[int] = []
    most = max(rooms.values())
    for width in sorted(widths, reverse=True):
        for k, filled in enumerate(bins):
            if filled + width <= most:
                bins[k] += width
                break
        else:
            bins.append(width)
    return sum(min(length for length, room in rooms.items() if room >= filled) for filled in bins)


def check_whole(plan: CuttingPlan, pieces: list[Piece]) -> None:
    """Every piece is cut once, and every reel adds up."""
    cut = [piece for reel in plan.reels for piece in reel.pieces]
    assert Counter(cut) + Counter(plan.too_long) == Counter(pieces)
    for reel in plan.reels:
        taken = sum(piece.length + plan.kerf for piece in reel.pieces) + plan.trim
        assert reel.offcut >= 0.0
        assert taken + reel.offcut == reel.length
    assert plan.opened == plan.needed + plan.lost + sum(reel.offcut for reel in plan.reels)


@given(st.lists(LENGTHS, max_size=6), REELS, KERF_AND_TRIM)
@settings(max_examples=150)
def test_no_way_to_cut_is_shorter(lengths, reels, kerf_and_trim):
    kerf, trim = kerf_and_trim
    pieces = pieces_of(lengths)
    plan = cutting_plan(pieces, reels, kerf, trim)
    check_whole(plan, pieces)
    rooms = {reel: reel - trim for reel in reels}
    widths = tuple(length + kerf for length in lengths if length + kerf <= max(rooms.values()))
    assert plan.method is Method.SHORTEST
    assert plan.opened == least_by_trial(widths, rooms)


@given(st.lists(LENGTHS, min_size=7, max_size=40), REELS, KERF_AND_TRIM)
@settings(max_examples=60)
def test_never_worse_than_first_fit_decreasing(lengths, reels, kerf_and_trim):
    kerf, trim = kerf_and_trim
    pieces = pieces_of(lengths)
    plan = cutting_plan(pieces, reels, kerf, trim)
    check_whole(plan, pieces)
    rooms = {reel: reel - trim for reel in reels}
    widths = [length + kerf for length in lengths if length + kerf <= max(rooms.values())]
    assert plan.opened <= first_fit_decreasing(widths, rooms)
    assert plan.opened >= sum(widths)


@given(st.lists(LENGTHS, min_size=1, max_size=12), REELS, st.randoms())
@settings(max_examples=40)
def test_the_order_of_the_pieces_does_not_matter(lengths, reels, random):
    shuffled = list(lengths)
    random.shuffle(shuffled)

    def cuts(plan):
        return [(reel.length, [piece.length for piece in reel.pieces]) for reel in plan.reels]

    assert cuts(cutting_plan(pieces_of(lengths), reels)) == cuts(cutting_plan(pieces_of(shuffled), reels))
