"""How well the settings of a piece are known, and how much of that its cut ends share.

Knows ties and the fixture; adds nothing up. What comes of a scale itself is the same for all ends
that are set by it, at different angles as far as it is known to be (``shown_together``); zero, play
and lock are new at every position of the axes and shared by the ends that are cut there.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache

import attrs
import numpy as np

from jointgeo.fixtures.indication import shown_together
from jointgeo.fixtures.model import Fixture
from jointgeo.geometry.arrays import Array
from jointgeo.pieces.closing.ties import KINDS, Clamped, Tie

__all__ = ["Spread", "spread"]

#: Contributors that last, by the error that they act through.
LASTING = {
    "swivel_deg": "swivel_scale",
    "tilt_deg": "tilt_scale",
    "rail_difference_mm": "rail_height_difference",
}


@attrs.frozen(eq=False)
class Spread:
    """Covariances of the errors of all cut ends, (5 E, 5 E), in the units of their names.

    common: what lasts; random: what is new at every position of the axes.
    """

    common: Array
    random: Array


def spread(
    ties: Sequence[Tie],
    fixture: Fixture,
    turned_over: frozenset[tuple[str, str]] = frozenset(),
) -> Spread:
    """turned_over: ends that are clamped the other way."""
    ways = [e.way(turned_over) for t in ties for e in t.ends]
    size = len(KINDS) * len(ways)
    common, random = np.zeros((size, size)), np.zeros((size, size))

    @lru_cache(maxsize=4096)
    def scales(axis: str, one: float, other: float) -> float:
        return shown_together(fixture, axis, one, other)

    for i, one in enumerate(ways):
        for j, other in enumerate(ways[: i + 1]):
            for k, kind in enumerate(KINDS):
                a, b = 5 * i + k, 5 * j + k
                lasts = _lasting(kind, one, other, scales)
                common[a, b] = common[b, a] = lasts
                if one.position == other.position:
                    random[a, b] = random[b, a] = _new(kind, one)
    return Spread(common, random)


def _lasting(
    kind: str, one: Clamped, other: Clamped, scales: Callable[[str, float, float], float]
) -> float:
    if kind == "swivel_deg":
        return scales("swivel", one.position[0], other.position[0])
    if kind == "tilt_deg":
        return scales("tilt", one.position[1], other.position[1])
    return sum(s.u**2 for s in one.sources if s.contributor == LASTING.get(kind))


def _new(kind: str, way: Clamped) -> float:
    """Variance of what is new at every position of the axes."""
    return sum(
        s.u**2 for s in way.sources if s.error == kind and s.contributor != LASTING.get(kind)
    )
