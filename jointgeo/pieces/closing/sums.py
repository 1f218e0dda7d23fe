"""Errors added up: round a frame, and over a whole piece that is drawn up at once.

Knows ties and frames; no uncertainty and no text. Radians and millimetres inside.

Theory. One by one: going round a frame, each joint turns what follows by ω, with its sign, about
its own middle P; the last joint is off by Ω = Σ ω and by G = Σ ω × (P₀ - P) at a point P₀. Drawn up
all at once nothing piles up: small poses (θ, u) of all bars, shoulders seated at their middles,

    u_bar + θ_bar × P = u_mate + θ_mate × P + δ,      least Σ |θ_bar - θ_mate - ω|²

and what is left of each bracket is what that joint must give. δ: what the bar is too long at that
end, along its grain; round a frame lengths add up to Σ δ, with its sign. That is one linear least
squares for any graph of bars, with no frames to find; its operators are worked out once for all
errors.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from jointgeo.geometry.arrays import Array
from jointgeo.geometry.vectors import Vec
from jointgeo.pieces.closing.frames import Step
from jointgeo.pieces.closing.ties import Tie

__all__ = ["DrawnUp", "crossed", "last_gap", "last_turn", "turns_of"]

RANK = 1e-9  # of the greatest singular value


def crossed(v: Vec) -> Array:
    """The matrix of v ×, (3, 3)."""
    return np.array([[0.0, -v.z, v.y], [v.z, 0.0, -v.x], [-v.y, v.x, 0.0]])


def turns_of(ties: Sequence[Tie], turned_over: frozenset[tuple[str, str]] = frozenset()) -> Array:
    """ω of all joints for a unit of every error of every cut end, (3 T, 5 E), radians.

    turned_over: ends that are clamped the other way.
    """
    ends = sum(len(t.ends) for t in ties)
    out, number = np.zeros((3 * len(ties), 5 * ends)), 0
    for row, tie in enumerate(ties):
        for end in tie.ends:
            turns = end.sense * np.array(end.way(turned_over).turns).T
            if tie.both is not None:  # two floors, two opinions
                e = np.array(tie.both)
                turns = turns - np.outer(e, e @ turns) / 2
            out[3 * row : 3 * row + 3, 5 * number : 5 * number + 5] = turns
            number += 1
    return out


def last_turn(count: int, frame: Sequence[Step]) -> Array:
    """Ω of a frame from ω of all joints, (3, 3 T)."""
    out = np.zeros((3, 3 * count))
    for number, sense in frame:
        out[:, 3 * number : 3 * number + 3] = sense * np.eye(3)
    return out


def last_gap(ties: Sequence[Tie], frame: Sequence[Step], at: Vec) -> Array:
    """G of a frame at a point from ω of all joints, (3, 3 T), mm a radian."""
    out = np.zeros((3, 3 * len(ties)))
    for number, sense in frame:
        out[:, 3 * number : 3 * number + 3] = -sense * crossed(at - ties[number].middle)
    return out


class DrawnUp:
    """What each joint must give, as a linear function of all errors.

    of_turns: (3 T, 3 T), of ω; of_lengths: (3 T, 3 T), radians a millimetre, of δ.
    """

    def __init__(self, ties: Sequence[Tie]) -> None:
        bars = list(dict.fromkeys(name for t in ties for name in (t.bar, t.mate)))
        place = {name: i for i, name in enumerate(bars)}
        centre = sum((t.middle for t in ties), Vec(0.0, 0.0, 0.0)) / max(len(ties), 1)
        scale = max([1.0, *((t.middle - centre).length for t in ties)])
        turn = np.zeros((3 * len(ties), 6 * len(bars)))
        seat = np.zeros_like(turn)
        for row, tie in enumerate(ties):
            rows = slice(3 * row, 3 * row + 3)
            arm = crossed((tie.middle - centre) / scale)
            for name, sign in ((tie.bar, 1.0), (tie.mate, -1.0)):
                at = 6 * place[name]
                turn[rows, at : at + 3] = sign * np.eye(3)
                seat[rows, at : at + 3] = -sign * arm
                seat[rows, at + 3 : at + 6] = sign * np.eye(3)
        free = _null(seat)
        moved = turn @ free
        kept = np.eye(len(turn)) - moved @ np.linalg.pinv(moved, rcond=RANK)
        self.of_turns = -kept
        self.of_lengths = kept @ turn @ np.linalg.pinv(seat, rcond=RANK) / scale


def _null(matrix: Array) -> Array:
    """What it maps to nothing, as columns."""
    _, s, rows = np.linalg.svd(matrix)
    rank = int((s > RANK * s.max(initial=0.0)).sum())
    return np.asarray(rows[rank:].T)
