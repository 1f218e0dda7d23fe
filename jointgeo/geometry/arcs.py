"""Which part of a circle is left when stretches of it are taken away.

Knows ``math`` only; nothing of wood or fixtures. Angles in degrees, one way round, whichever the
caller counts; an arc runs from its start to its end, the end being the greater.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import acos, cos, degrees, radians, sqrt

import attrs

__all__ = ["Arc", "edge_keeps_off", "free_arcs", "hole_keeps_off", "slots_apart"]

TURN = 360.0


@attrs.frozen
class Arc:
    """start_deg ≤ end_deg ≤ start_deg + 360; anything more would be the whole circle."""

    start_deg: float
    end_deg: float

    @property
    def span_deg(self) -> float:
        return self.end_deg - self.start_deg

    @property
    def whole(self) -> bool:
        return self.span_deg >= TURN

    def holds(self, at_deg: float) -> bool:
        """Whether an angle lies in it, ends included to 1e-9°."""
        return self.whole or (at_deg - self.start_deg + 1e-9) % TURN <= self.span_deg + 2e-9


def hole_keeps_off(radius: float, hole_radius: float, apart: float) -> float:
    """Half the arc (degrees, 0 to 180) about a hole's own angle that stays free of a circle.

    radius: of the circle. hole_radius: how far the hole's middle lies from the circle's centre.
    apart: least distance of the hole's middle from the circle.
    """
    if abs(hole_radius - radius) >= apart:
        return 0.0
    if hole_radius + radius <= apart or radius == 0 or hole_radius == 0:
        return 180.0
    cosine = (radius * radius + hole_radius * hole_radius - apart * apart) / (
        2 * radius * hole_radius
    )
    return degrees(acos(max(-1.0, min(1.0, cosine))))


def edge_keeps_off(radius: float, edge: float, apart: float) -> float:
    """The same about the direction in which a straight edge lies.

    edge: its distance from the circle's centre, negative where the centre lies beyond it. apart:
    least distance of the circle from it.
    """
    room = edge - apart
    if radius <= room:
        return 0.0
    if radius <= -room or radius == 0:
        return 180.0
    return degrees(acos(room / radius))


def free_arcs(taken: Iterable[tuple[float, float]]) -> tuple[Arc, ...]:
    """What is left of a circle, in rising order of the start, which lies in [0°, 360°).

    taken: (middle, half width) of each stretch, degrees. A stretch of no width takes nothing.
    """
    spans = sorted(((mid - half) % TURN, 2 * half) for mid, half in taken if half > 0)
    if not spans:
        return (Arc(0.0, TURN),)
    first, width = spans[0]
    reached, out = first + width, []
    for start, wide in [*spans[1:], (first + TURN, 0.0)]:
        if start > reached:
            out.append((reached, start))
        reached = max(reached, start + wide)
    # What runs on past the first start takes from the free arcs there.
    over = reached - TURN
    cut = [(max(a, over), b) for a, b in out if b > over]
    return tuple(
        sorted((Arc(a % TURN, a % TURN + b - a) for a, b in cut), key=lambda arc: arc.start_deg)
    )


def slots_apart(
    radii: Sequence[float], starts_deg: Sequence[float], spans_deg: Sequence[float]
) -> float:
    """Distance between the centre lines of two arcs about one centre."""
    (r, s), (a, b), (m, n) = radii, starts_deg, spans_deg
    if (b - a) % TURN <= m or (a - b) % TURN <= n:
        return abs(r - s)
    gap = min((b - a) % TURN - m, (a - b) % TURN - n)
    return sqrt(max(0.0, r * r + s * s - 2 * r * s * cos(radians(gap))))
