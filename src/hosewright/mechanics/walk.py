"""From ends to shapes: separate shapes settled, and a walk along a path of ends on one branch."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from hosewright.mechanics.compiled import entry, kernel
from hosewright.mechanics.newton import largest, lowest_mode, relax, scattered_mode, total_energy
from hosewright.mechanics.rod import Rod, Work, copy_rows, slopes
from hosewright.mechanics.statics import curvatures, end_loads
from hosewright.mechanics.terms import Springs, add_springs

PATIENCE = 90
"""Newton steps for one of several first shapes before it is given up for the others."""
MOST_STEPS = 150
"""Newton steps for one shape before it counts as not solved."""
LEVELS = 4
"""A suspicious step is cut in 4, 16, then 64 before a jump is believed."""
JUMP = 8.0
"""A node that moves this many times as far as the ends did, and more than JUMP_FLOOR, has jumped."""
JUMP_FLOOR = 0.03
"""Part of the length below which a movement is no jump."""
MOST_PACE = 1.5
"""A step is foreseen from the one before as if it were at most this many times as large."""
STRAIGHT = 4.0
"""Of a step foreseen along a parabola, this many times the part by which it bends is left straight: straight on, nodes
draw apart a little, while a parabola may press them together, and a pressed hose buckles."""

# ends of one pose, rows of a (6, 3) array
A, A_DIRECTION, A_REFERENCE, B, B_DIRECTION, B_REFERENCE = range(6)


class Path(NamedTuple):
    """Ends, lengths and weights along one path of m poses; stiffnesses divided by the bending stiffness."""

    ends: np.ndarray  # (m, 6, 3) position, direction, reference of a, then of b
    length: np.ndarray  # (m,) [m]
    weight: np.ndarray  # (m, 3) [1/m3]
    twist: float
    stretch: float


class Track(NamedTuple):
    """What a walk leaves behind for each of its m poses; everything divided by the bending stiffness."""

    position: np.ndarray  # (m, n + 1, 3)
    curvature: np.ndarray  # (m, n + 1)
    loads: np.ndarray  # (m, 4, 3)
    scalars: np.ndarray  # (m, len(SCALARS))


SCALARS = (
    "energy",
    "twist",
    "peak_curvature",
    "peak_at",
    "residual",
    "iterations",
    "factorisations",
    "converged",
    "softness",
    "jump",
    "turn",
)
"""Columns of ``Track.scalars``: softness is the lowest eigenvalue over that of a clamped straight hose, jump the place
within the step at which the shape jumped (0 where it did not), turn the largest angle between neighbouring edges."""
(ENERGY, TWIST, PEAK, PEAK_AT, RESIDUAL, ITERATIONS, FACTORISATIONS, CONVERGED, SOFTNESS, JUMPED, TURN) = range(11)


@entry
def make_track(poses: int, elements: int) -> Track:
    """Room for the results of a walk."""
    n = elements
    return Track(np.empty((poses, n + 1, 3)), np.empty((poses, n + 1)), np.empty((poses, 4, 3)), np.zeros((poses, 11)))


@kernel
def hold(work: Work, ends: np.ndarray) -> None:
    """Set the held directions and references of both ends."""
    last = len(work.unit) - 1
    for k in range(3):
        work.unit[0, k], work.unit[last, k] = ends[A_DIRECTION, k], ends[B_DIRECTION, k]
        work.references[0, k], work.references[1, k] = ends[A_REFERENCE, k], ends[B_REFERENCE, k]


@entry
def settle(
    path: Path,
    stretch: float,
    poses: np.ndarray,
    x: np.ndarray,
    near: np.ndarray,
    wrapped: bool,
    springs: Springs,
    work: Work,
    out: np.ndarray,
) -> None:
    """Relax k separate shapes in place, each in one pose of the path.

    Parameters
    ----------
    path : Path
        Ends, lengths and weights.
    stretch : float
        Axial stiffness to use.
    poses : (k,) int
        Pose of each shape.
    x : (k, n + 1, 3) float
        Nodes, moved in place.
    near : (k,) float
        Twist near which each one's is counted.
    wrapped : bool
        Whether the twist is to end in (-pi, pi].
    springs : Springs
        Added terms.
    work : Work
        For n elements.
    out : (k, 5) float
        Converged, Newton steps, factorisations, energy, twist of each.
    """
    most = PATIENCE if wrapped and len(x) > 1 else MOST_STEPS
    for k in range(len(x)):
        pose = poses[k]
        hold(work, path.ends[pose])
        rod = Rod(path.length[pose], path.twist, stretch, path.weight[pose])
        turn, steps, factorisations, again = near[k], 0, 0, 4
        while again > 0:
            ok, more, spent, value, twist, _ = relax(x[k], rod, springs, work, turn, most)
            steps += more
            factorisations += spent
            turn = twist - 2.0 * np.pi * np.ceil((twist - np.pi) / (2.0 * np.pi))
            again = again - 1 if wrapped and ok and abs(turn - twist) > 1.0 else 0
        out[k, 0] = 1.0 if ok else 0.0
        out[k, 1], out[k, 2], out[k, 3], out[k, 4] = steps, factorisations, value, twist


@kernel
def _follow(x: np.ndarray, before: np.ndarray, trail: np.ndarray, pace: float) -> float:
    # how each node moved into trail[0]; how that bends away from the movement before, where the steps of the ends
    # compare, into trail[1], as a second divided difference. The largest movement of any coordinate
    share = pace / (1.0 + pace) if 0.5 <= pace <= MOST_PACE else 0.0
    moved, bent = 0.0, 0.0
    for i in range(len(x)):
        for k in range(3):
            step = x[i, k] - before[i, k]
            bend = share * (step - pace * trail[0, i, k])
            trail[0, i, k], trail[1, i, k] = step, bend
            moved, bent = max(moved, abs(step)), max(bent, abs(bend))
    part = max(0.0, 1.0 - STRAIGHT * bent / max(moved, 1e-300))
    for i in range(len(x)):
        for k in range(3):
            trail[1, i, k] *= part
    return moved


@kernel
def _movement(a: np.ndarray, b: np.ndarray, length_a: float, length_b: float) -> float:
    # how far the ends move from one pose to the next, turning counted as arc of the hose's length
    far = abs(length_b - length_a)
    for row in range(6):
        square = 0.0
        for k in range(3):
            square += (b[row, k] - a[row, k]) ** 2
        far = max(far, np.sqrt(square) * (1.0 if row in (A, B) else length_b))
    return far


@kernel
def _blend(a: np.ndarray, b: np.ndarray, t: float, out: np.ndarray) -> None:
    # ends between two poses; directions and references stay unit vectors across each other
    for row in range(6):
        for k in range(3):
            out[row, k] = (1.0 - t) * a[row, k] + t * b[row, k]
    for row in (A_DIRECTION, B_DIRECTION):
        _normalise(out, row)
        along = 0.0
        for k in range(3):
            along += out[row, k] * out[row + 1, k]
        for k in range(3):
            out[row + 1, k] -= along * out[row, k]
        _normalise(out, row + 1)


@kernel
def _normalise(vectors: np.ndarray, row: int) -> None:
    size = np.sqrt(vectors[row, 0] ** 2 + vectors[row, 1] ** 2 + vectors[row, 2] ** 2)
    for k in range(3):
        vectors[row, k] /= size


@kernel
def _shift(old: np.ndarray, new: np.ndarray, out: np.ndarray) -> None:
    # nodes that merely follow both ends
    n = len(out) - 1
    for i in range(n + 1):
        s = i / n
        for k in range(3):
            out[i, k] = (1.0 - s) * (new[A, k] - old[A, k]) + s * (new[B, k] - old[B, k])


@kernel
def _pin(x: np.ndarray, ends: np.ndarray) -> None:
    for k in range(3):
        x[0, k], x[-1, k] = ends[A, k], ends[B, k]


@kernel
def _predict(x: np.ndarray, trail: np.ndarray, pace: float, old: np.ndarray, new: np.ndarray) -> None:
    # go on along the parabola through the last three shapes where their steps compare, else follow the ends
    n = len(x) - 1
    if pace == 0.0:
        _shift(old, new, trail[0])
        trail[1] = 0.0
        pace = 1.0
    bend = pace * (pace + 1.0)
    for i in range(n + 1):
        for k in range(3):
            x[i, k] += pace * trail[0, i, k] + bend * trail[1, i, k]
    _pin(x, new)


@kernel
def _pace(older: np.ndarray, old: np.ndarray, new: np.ndarray) -> float:
    # size of the new step of the ends in terms of the last one, 0 where they do not compare
    square, product = 0.0, 0.0
    for row in range(6):
        for k in range(3):
            last = old[row, k] - older[row, k]
            square += last * last
            product += last * (new[row, k] - old[row, k])
    return min(max(product / square, -MOST_PACE), MOST_PACE) if square > 1e-18 else 0.0


@kernel
def _advance(
    path: Path,
    k: int,
    x: np.ndarray,
    trail: np.ndarray,
    near: float,
    pieces: int,
    springs: Springs,
    work: Work,
    counts: np.ndarray,
) -> tuple[bool, float, float]:
    """Walk from pose k - 1 to pose k in so many pieces: whether solved, the twist, and where it jumped (0: nowhere)."""
    jumped, ok, twist = 0.0, True, near
    older = path.ends[k - 2].copy() if k > 1 and pieces == 1 else path.ends[k - 1].copy()
    old, new, before = path.ends[k - 1].copy(), path.ends[k].copy(), x.copy()
    weight = path.weight[k].copy()
    old_length = path.length[k - 1]
    for piece in range(1, pieces + 1):
        t = piece / pieces
        if piece < pieces:
            _blend(path.ends[k - 1], path.ends[k], t, new)
        else:
            copy_rows(new, path.ends[k])
        length = (1.0 - t) * path.length[k - 1] + t * path.length[k]
        for i in range(3):
            weight[i] = (1.0 - t) * path.weight[k - 1, i] + t * path.weight[k, i]
        copy_rows(before, x)
        pace = _pace(older, old, new)
        _predict(x, trail, pace, old, new)
        hold(work, new)
        rod = Rod(length, path.twist, path.stretch, weight)
        ok, steps, factorisations, _, twist, shifted = relax(x, rod, springs, work, twist, MOST_STEPS)
        counts[0] += steps
        counts[1] += factorisations
        moved = _follow(x, before, trail, pace)
        if moved > JUMP_FLOOR * length and moved > JUMP * _movement(old, new, old_length, length):
            jumped = t
        if not ok or (pieces == 1 and (shifted or steps > 12)):
            jumped = t
            if pieces == 1:
                break
        copy_rows(older, old)
        copy_rows(old, new)
        old_length = length
    return ok, twist, jumped


@kernel
def _keep(x: np.ndarray, trail: np.ndarray, other: np.ndarray, other_trail: np.ndarray) -> None:
    copy_rows(x, other)
    copy_rows(trail[0], other_trail[0])
    copy_rows(trail[1], other_trail[1])


@entry
def walk(path: Path, springs: Springs, work: Work, x: np.ndarray, twist: float, track: Track, levels: int) -> None:
    """Follow the shape ``x`` of the first pose through all poses, filling ``track``.

    The first pose is solved again from ``x``, so that ``x`` may come from elsewhere (another length, another motion).
    A step on which the shape jumps is cut into 4, 16, ... pieces, up to so many ``levels``; one level never cuts.
    """
    poses = len(path.length)
    saved, trail = np.empty_like(x), np.zeros((2, *x.shape))
    saved_trail = np.empty_like(trail)
    mode = scattered_mode(3 * (len(x) - 2))
    counts = np.zeros(2, dtype=np.int64)
    for k in range(poses):
        jumped = 0.0
        counts[0], counts[1] = 0, 0
        if k == 0:
            _pin(x, path.ends[0])
            hold(work, path.ends[0])
            rod = Rod(path.length[0], path.twist, path.stretch, path.weight[0])
            ok, counts[0], counts[1], _, twist, _ = relax(x, rod, springs, work, twist, MOST_STEPS)
        else:
            _keep(saved, saved_trail, x, trail)
            before = twist
            for level in range(levels):
                pieces = 4**level
                _keep(x, trail, saved, saved_trail)
                ok, twist, jumped = _advance(path, k, x, trail, before, pieces, springs, work, counts)
                if ok and jumped == 0.0:
                    break
            if jumped > 0.0:
                _shift(path.ends[k - 1], path.ends[k], trail[0])
                trail[1] = 0.0
            elif level > 0:
                _follow(x, saved, trail, 0.0)
        _record(path, k, x, twist, ok, jumped, springs, work, counts, mode, track)


@kernel
def _largest_turn(cosines: np.ndarray) -> float:
    least = 1.0
    for cosine in cosines:
        least = min(least, cosine)
    return np.arccos(max(-1.0, least))


@kernel
def _record(
    path: Path,
    k: int,
    x: np.ndarray,
    twist: float,
    ok: bool,
    jumped: float,
    springs: Springs,
    work: Work,
    counts: np.ndarray,
    mode: np.ndarray,
    track: Track,
) -> None:
    n = len(x) - 1
    rod = Rod(path.length[k], path.twist, path.stretch, path.weight[k])
    row = track.scalars[k]
    borders = 1 if rod.twist > 0.0 else 0
    if ok:  # the factors of the last Newton step belong to this shape but for that step's size
        softness = lowest_mode(work, borders, 0.0, mode, 2 if k > 0 else 8)
        row[SOFTNESS] = softness / (500.56 * rod.length**-3 / n)
    copy_rows(track.position[k], x)
    row[ENERGY], row[TWIST] = total_energy(x, rod, springs, work, twist)
    slopes(rod, work, row[TWIST])
    add_springs(x, springs, work, borders)
    row[RESIDUAL] = largest(work.gradient)
    end_loads(rod, work, row[TWIST], track.loads[k])
    row[PEAK], row[PEAK_AT] = curvatures(x, rod, row[TWIST], track.loads[k], track.curvature[k])
    row[ITERATIONS], row[FACTORISATIONS] = counts[0], counts[1]
    row[CONVERGED] = 1.0 if ok and np.isfinite(row[ENERGY]) else 0.0
    row[JUMPED] = jumped
    row[TURN] = _largest_turn(work.cosine)
