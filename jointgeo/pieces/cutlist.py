"""The cut list: every member of a piece, how often, its blank and its long edges; and the totals.

Knows solved bars and their likeness; solves nothing.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence

import attrs

__all__ = ["Member", "Total", "member_name", "totals"]

MM3_PER_LITRE = 1e6


@attrs.frozen
class Member:
    """Bars that are the same piece, or its mirror image.

    name: what their names have in common. mirrored: how many of ``count`` are mirror images; 0
    where the piece has no hand. length_mm: finished, on the centre line, datum to datum. blank_mm:
    square at both ends, with what both need. long_edges_mm: between the end planes, in the order of
    the section's corners. shape: "straight", "parallelogram" or "trapezoid", of the side that shows
    it most. length_on: the line that ``length_mm`` is measured on.
    """

    name: str
    bars: tuple[str, ...]
    count: int
    mirrored: int
    width_mm: float
    thickness_mm: float
    length_mm: float
    blank_mm: float
    long_edges_mm: tuple[float, float, float, float]
    shape: str
    length_on: str = "middle line"


@attrs.frozen
class Total:
    """Wood of one section: how many pieces, blanks end to end (mm), and litres."""

    width_mm: float
    thickness_mm: float
    pieces: int
    length_mm: float
    litres: float


def member_name(names: Sequence[str]) -> str:
    """What the bars' names have in common: "leg front left" and "leg back left" are "leg"; where
    that is nothing, each kind: "back rail and crest rail"."""
    words = [n.replace(",", " ").split() for n in names]
    alike = itertools.takewhile(lambda w: len(set(w)) == 1, zip(*words, strict=False))
    kinds = dict.fromkeys(n.split(",")[0] for n in names)
    return " ".join(w[0] for w in alike) or " and ".join(kinds)


def totals(members: Iterable[Member]) -> tuple[Total, ...]:
    """Wood by section, the largest first."""
    found: dict[tuple[float, float], tuple[int, float]] = {}
    for m in members:
        key = m.width_mm, m.thickness_mm
        pieces, long = found.get(key, (0, 0.0))
        found[key] = pieces + m.count, long + m.count * m.blank_mm
    return tuple(
        Total(w, t, pieces, long, w * t * long / MM3_PER_LITRE)
        for (w, t), (pieces, long) in sorted(found.items(), key=lambda f: (-f[0][0], -f[0][1]))
    )
