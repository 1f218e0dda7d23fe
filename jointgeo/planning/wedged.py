"""Where stock lies that leans on wedges, for want of an axis.

Knows the fixture, wedges and rotations; no blank's length, no notch.

In the plate's own frame (X right, Y away, Z up from its lower edge; its face is Y = 0) the stock
is turned by Rx(-behind)·Ry(swivel)·on_plate. Its long edges are four parallel lines. A stack of
wedges is as high as its thin ends where it is least, so no edge comes nearer to the backing, or to
the fence with a wedge beside it, anywhere between both ends of the wedges: that and the overhang
say where it lies. Without a wedge beside it one edge, the arris that touches, lies in the fence's
plane.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, radians, sin

from jointgeo.fixtures.model import Fixture
from jointgeo.fixtures.wedging import Held, wedge
from jointgeo.geometry.rotations import Rows, Vector, apply

__all__ = ["wedged_at"]


def wedged_at(
    fixture: Fixture,
    stands: Held,
    rows: Rows,
    edges: Sequence[tuple[float, float]],
    backing_mm: float,
    overhang_mm: float,
) -> Vector:
    """The stock frame's origin in the plate's frame.

    rows: the stock's turn there. edges: (x, y) of its long edges in the stock frame.
    """
    corners = [apply(rows, (x, y, 0.0)) for x, y in edges]
    gx, gy, gz = apply(rows, (0.0, 0.0, 1.0))
    down = -overhang_mm - min(z for _, _, z in corners)
    heights = (0.0, min(fixture.aids.wedge_length_mm, fixture.plate.height_mm))

    def lines(height: float) -> list[tuple[float, float]]:
        """X and Y of each long edge at a height, before it is pushed back and aside."""
        ups = [(height - z - down) / gz for _, _, z in corners]
        return [(x + up * gx, y + up * gy) for (x, y, _), up in zip(corners, ups, strict=True)]

    thin = wedge(fixture, stands.behind_deg).thin_ends_mm if stands.behind_deg else 0.0
    back = -backing_mm - thin - max(y for h in heights for _, y in lines(h))
    beside = wedge(fixture, stands.beside_deg).thin_ends_mm if stands.beside_deg else 0.0
    fence, swivel = fixture.fence, fixture.swivel
    turn = radians(stands.fence_deg)
    c, s = cos(turn), sin(turn)
    # Distance to the right of the fence's plane, which turns about the pivot.
    face = fence.x_mm - swivel.pivot_x_mm
    off = [
        c * (x - swivel.pivot_x_mm) - s * (h - swivel.pivot_z_mm) - face
        for h in heights
        for x, _ in lines(h)
    ]
    aside = beside - min(off) if fence.side == "left" else -beside - max(off)
    return aside / c, back, down
