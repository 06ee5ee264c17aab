"""The cutting plan against worked examples."""

from hosewright.documents.cutting import Method, Piece, cutting_plan

DEMAND = {
    1380: 22, 1520: 25, 1560: 12, 1710: 14, 1820: 18, 1880: 18, 1930: 20,
    2000: 10, 2050: 12, 2100: 14, 2140: 16, 2150: 18, 2200: 20,
}  # fmt: skip


def test_paper_machine():
    """Master rolls of 5600 mm, 13 widths: the least is 73 rolls.

    Free encyclopedia, article "Cutting stock problem", example of a paper machine (from memory, table and result).
    """
    pieces = [Piece(f"{width}", width) for width, count in DEMAND.items() for _ in range(count)]
    plan = cutting_plan(pieces, [5600])
    assert plan.method is Method.SHORTEST
    assert len(plan.reels) == 73
    assert plan.needed == sum(width * count for width, count in DEMAND.items())


def test_two_reels_where_first_fit_takes_three():
    """4 + 4, 3 + 3 + 3, 3 by first-fit decreasing; 4 + 3 + 3 twice is all that is needed (by hand)."""
    plan = cutting_plan([Piece(str(k), length) for k, length in enumerate([4, 4, 3, 3, 3, 3])], [10])
    assert [[piece.length for piece in reel.pieces] for reel in plan.reels] == [[4, 3, 3], [4, 3, 3]]
    assert plan.method is Method.SHORTEST
