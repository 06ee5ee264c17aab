"""Cutting plan: which piece of hose comes off which reel, so that the reels opened are as short in all as can be.

Every piece takes its length and one kerf, and every reel loses the trim of its ends once. First-fit decreasing gives a
plan at once. Where no lesser length of reels holds as much hose, that plan is the shortest; else the integer programme
over all ways to fill a reel is solved. Both are bounded in size, not in time, so that the same pieces give the same
plan; a plan says how it was found. Lengths in mm; a tenth is the finest that counts.

References
----------
Gilmore, Gomory: A linear programming approach to the cutting-stock problem, Operations Research 9 (1961)
"""

from __future__ import annotations

import itertools
import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from hosewright.errors import ArgumentError

MOST_FILLINGS = 8_000
"""Ways to fill reels that the integer programme takes; where pieces are so short, first fit is hardly ever beaten."""
MOST_KINDS = 300
"""Lengths of pieces for which these ways are sought; so many have too many ways, or no other than first fit."""
MOST_STEPS = 200_000
"""Steps of the search for these ways."""
MOST_NODES = 200
"""Branches of the integer programme."""

Filling = tuple[tuple[int, int], ...]  # which of the widths, and how many pieces of it


class Method(StrEnum):
    """How a plan was found."""

    SHORTEST = "shortest"  # proven: no plan opens a lesser length of reels
    FOUND = "found"  # better than first fit, but the search was broken off
    FIRST_FIT = "first fit"  # first-fit decreasing, not proven


@dataclass(frozen=True)
class Piece:
    """A piece to be cut. [mm]"""

    name: str
    length: float


@dataclass(frozen=True)
class CutReel:
    """A reel with the pieces that come off it, longest first; ``offcut`` is what stays. [mm]"""

    length: float
    pieces: tuple[Piece, ...]
    offcut: float


@dataclass(frozen=True)
class CuttingPlan:
    """Reels and what comes off them. [mm]

    Attributes
    ----------
    too_long
        Pieces that no reel holds.
    """

    reels: tuple[CutReel, ...]
    too_long: tuple[Piece, ...]
    method: Method
    kerf: float
    trim: float

    @property
    def opened(self) -> float:
        """Length of all reels that are cut into."""
        return round(sum(reel.length for reel in self.reels), 1)

    @property
    def needed(self) -> float:
        """Length of all pieces that are cut."""
        return round(sum(piece.length for reel in self.reels for piece in reel.pieces), 1)

    @property
    def lost(self) -> float:
        """Length that kerfs and trims take."""
        return round(self.opened - self.needed - sum(reel.offcut for reel in self.reels), 1)


def cutting_plan(
    pieces: Sequence[Piece], reel_lengths: Sequence[float], kerf: float = 0.0, trim: float = 0.0
) -> CuttingPlan:
    """Plan that opens the least length of reels.

    Parameters
    ----------
    pieces
        In any order; the plan does not depend on it, save for pieces of equal length, which are cut in this order.
    reel_lengths
        That the shop stocks, as many of each as needed. [mm]
    kerf
        Taken by each cut. [mm]
    trim
        Taken once from each reel, both ends together. [mm]

    Raises
    ------
    ArgumentError
        No reel, or a length that cannot be.
    """
    _check(pieces, reel_lengths, kerf, trim)
    stock = _Stock.of(reel_lengths, kerf, trim)
    whole = [piece for piece in pieces if stock.width(piece) <= stock.room[-1]]
    too_long = tuple(piece for piece in pieces if stock.width(piece) > stock.room[-1])
    widths = Counter(stock.width(piece) for piece in whole)
    bins, method = _bins(dict(sorted(widths.items(), reverse=True)), stock)
    return CuttingPlan(tuple(_reels(bins, whole, stock)), too_long, method, kerf, trim)


def _check(pieces: Sequence[Piece], reel_lengths: Sequence[float], kerf: float, trim: float) -> None:
    if not reel_lengths:
        raise ArgumentError("a cutting plan needs at least one length of reel, such as 50000 mm")
    for length in reel_lengths:
        if not trim < length < math.inf:
            raise ArgumentError(f"a reel must be longer than its trim of {trim:g} mm, got {length:g} mm")
    if not (0.0 <= kerf < math.inf and 0.0 <= trim < math.inf):
        raise ArgumentError(f"kerf and trim must be 0 or more, got {kerf:g} and {trim:g} mm")
    for piece in pieces:
        if not 0.0 < piece.length < math.inf:
            raise ArgumentError(f"piece '{piece.name}' must be longer than 0, got {piece.length:g} mm")


@dataclass(frozen=True)
class _Stock:
    """Reels, shortest first, in whole tenths of a mm: their length, and their room for pieces with their kerfs."""

    length: tuple[int, ...]
    room: tuple[int, ...]
    kerf: int

    @staticmethod
    def of(reel_lengths: Sequence[float], kerf: float, trim: float) -> _Stock:
        lengths = tuple(sorted({_tenths(length) for length in reel_lengths}))
        return _Stock(lengths, tuple(length - _tenths(trim) for length in lengths), _tenths(kerf))

    def width(self, piece: Piece) -> int:
        return _tenths(piece.length) + self.kerf

    def shortest(self, filled: int) -> int:
        """Number of the shortest reel with so much room."""
        return next(k for k, room in enumerate(self.room) if room >= filled)

    def cost(self, bins: Sequence[Counter[int]]) -> int:
        """Length of the reels that so many bins open."""
        return sum(self.length[self.shortest(_filled(one))] for one in bins)


def _tenths(length: float) -> int:
    return round(10.0 * length)


def _filled(one: Mapping[int, int]) -> int:
    return sum(width * count for width, count in one.items())


def _bins(widths: Mapping[int, int], stock: _Stock) -> tuple[list[Counter[int]], Method]:
    # pieces by width with their number, widest first, to bins
    first = min((_first_fit(widths, room) for room in stock.room if room >= max(widths, default=0)), key=stock.cost)
    if stock.cost(first) <= _least_cost(_filled(widths), stock):
        return first, Method.SHORTEST
    fillings = _fillings(widths, stock)
    if fillings is None:
        return first, Method.FIRST_FIT
    found, proven = _solved(widths, fillings, stock)
    if found is not None and (proven or stock.cost(found) < stock.cost(first)):
        return found, Method.SHORTEST if proven else Method.FOUND
    return first, Method.FIRST_FIT


def _first_fit(widths: Mapping[int, int], room: int) -> list[Counter[int]]:
    bins: list[Counter[int]] = []
    left: list[int] = []
    for width in (width for width, count in widths.items() for _ in range(count)):
        k = next((k for k, free in enumerate(left) if free >= width), len(bins))
        if k == len(bins):
            bins.append(Counter())
            left.append(room)
        bins[k][width] += 1
        left[k] -= width
    return bins


def _least_cost(filled: int, stock: _Stock) -> int:
    """Least length of reels that have room for so much hose, however it is cut."""
    if not filled:
        return 0
    (bound, _, _) = _programme(np.array(stock.length), np.array([stock.room]), np.array([filled]))
    return bound


def _fillings(widths: Mapping[int, int], stock: _Stock) -> list[tuple[int, Filling]] | None:
    """Every way to fill each reel to which no piece can be added; ``None`` where there are too many."""
    if len(widths) > MOST_KINDS:
        return None
    kinds, steps = tuple(widths.items()), iter(range(MOST_STEPS))
    others = tuple(_filled(dict(kinds[k:])) for k in range(len(kinds) + 1))
    ways = ((k, way) for k, room in enumerate(stock.room) for way in _ways(kinds, others, 0, room, math.inf, steps))
    try:
        found = list(itertools.islice(ways, MOST_FILLINGS + 1))
    except _TooManyError:
        return None
    return found if len(found) <= MOST_FILLINGS else None


class _TooManyError(Exception):
    pass


def _ways(
    kinds: tuple[tuple[int, int], ...],
    others: tuple[int, ...],
    k: int,
    room: int,
    least_missing: float,
    steps: Iterator[int],
) -> Iterator[Filling]:
    # with the pieces from the k-th kind on, of which ``others[k]`` is the width of all; the narrowest piece of the
    # kinds before that was left out must not fit in the end
    if next(steps, None) is None:
        raise _TooManyError
    while k < len(kinds) and kinds[k][0] > room:
        k += 1
    if k == len(kinds) and room < least_missing:
        yield ()
    for first in range(k, len(kinds)):  # that is taken; the kinds before are left out
        if room - others[first] >= least_missing:
            return
        width, count = kinds[first]
        for taken in range(min(count, room // width), 0, -1):
            missing = least_missing if taken == count else width
            for way in _ways(kinds, others, first + 1, room - taken * width, missing, steps):
                yield ((first, taken), *way)
        least_missing = width


def _solved(
    widths: Mapping[int, int], fillings: Sequence[tuple[int, Filling]], stock: _Stock
) -> tuple[list[Counter[int]] | None, bool]:
    cost = np.array([stock.length[k] for k, _ in fillings])
    ways = np.zeros((len(widths), len(fillings)), dtype=np.int64)
    for column, (_, filling) in enumerate(fillings):
        for kind, count in filling:
            ways[kind, column] = count
    _, times, proven = _programme(cost, ways, np.array(list(widths.values())))
    if times is None:
        return None, False
    missing, kinds = Counter(widths), tuple(widths)
    bins = []
    for column in (column for column, often in enumerate(times) for _ in range(often)):
        filled = Counter({kinds[kind]: count for kind, count in fillings[column][1]})
        one = filled & missing
        missing -= one
        bins.append(one)
    return None if +missing else [one for one in bins if one], proven


def _programme(
    cost: NDArray[np.int64], ways: NDArray[np.int64], need: NDArray[np.int64]
) -> tuple[int, NDArray[np.int64] | None, bool]:
    """Least cost of whole numbers of columns that cover the need.

    Returns
    -------
    int
        No solution costs less.
    (n,) int or None
        How often each column is taken in the best solution found.
    bool
        Whether it is the best there is.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp

    scale = float(cost.max())
    result = milp(
        cost / scale,
        integrality=np.ones(len(cost)),
        bounds=Bounds(0.0, np.inf),
        constraints=LinearConstraint(ways / need[:, None], 1.0, np.inf),
        options={"node_limit": MOST_NODES, "mip_rel_gap": 0.0},
    )
    bound = result.mip_dual_bound
    least = math.ceil(bound * scale - 1e-3) if bound is not None and math.isfinite(bound) else 0
    times = None if result.x is None else np.round(result.x).astype(np.int64)
    return least, times, result.status == 0


def _reels(bins: Sequence[Counter[int]], pieces: Sequence[Piece], stock: _Stock) -> Iterator[CutReel]:
    waiting: dict[int, list[Piece]] = {}
    for piece in pieces:
        waiting.setdefault(stock.width(piece), []).append(piece)
    order = sorted(bins, key=lambda one: (-_filled(one), sorted(one.items(), reverse=True)))
    for one in order:
        filled = _filled(one)
        k = stock.shortest(filled)
        taken = tuple(waiting[width].pop(0) for width in sorted(one, reverse=True) for _ in range(one[width]))
        yield CutReel(stock.length[k] / 10.0, taken, (stock.room[k] - filled) / 10.0)
