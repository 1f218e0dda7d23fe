"""Where stock lies that leans on wedges, for want of an axis.

Knows the fixture, wedges and rotations; no blank's length, no notch.

In the plate's own frame (X right, Y away, Z up from its lower edge; its face is Y = 0) the stock is
turned by Rx(-behind)·Ry(swivel)·on_plate. Its long edges are four parallel lines. A stack of wedges
is as high as its thin ends where it is least, and those lie level with an end of what it leans on.
So neither the backing, which lies between wedge and stock, comes nearer to the plate over its
height, nor any edge nearer to the fence over the fence's: that and the overhang say where it lies.
Without a wedge beside it one edge, the arris that touches, lies in the fence's plane.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, radians, sin

from jointgeo.fixtures.model import Fixture
from jointgeo.fixtures.wedging import Held, wedge
from jointgeo.geometry.rotations import Rows, Vector, apply

__all__ = ["leaning_backing", "wedged_at"]


def wedged_at(
    fixture: Fixture,
    held_at: Held,
    rows: Rows,
    edges: Sequence[tuple[float, float]],
    backing_mm: float,
    overhang_mm: float,
    length_mm: float,
) -> Vector:
    """The stock frame's origin in the plate's frame.

    rows: the stock's turn there. edges: (x, y) of its long edges in the stock frame.
    """
    corners = [apply(rows, (x, y, 0.0)) for x, y in edges]
    gx, gy, gz = apply(rows, (0.0, 0.0, 1.0))
    down = -overhang_mm - min(z for _, _, z in corners)
    far = length_mm * gz - overhang_mm
    fence, swivel = fixture.fence, fixture.swivel
    bottom = 0.0 if fence.z_min_mm is None else max(0.0, fence.z_min_mm)
    top = fixture.plate.height_mm if fence.z_max_mm is None else fence.z_max_mm

    def lines(height: float) -> list[tuple[float, float]]:
        """X and Y of each long edge at a height, before it is pushed back and sideways."""
        ups = [(height - z - down) / gz for _, _, z in corners]
        return [(x + up * gx, y + up * gy) for (x, y, _), up in zip(corners, ups, strict=True)]

    thin = wedge(fixture, held_at.behind_deg).thin_ends_mm if held_at.behind_deg else 0.0
    on_plate = (0.0, min(fixture.plate.height_mm, far))
    rear = -backing_mm / cos(radians(held_at.behind_deg)) - thin
    back = rear - max(y for h in on_plate for _, y in lines(h))
    beside = wedge(fixture, held_at.beside_deg).thin_ends_mm if held_at.beside_deg else 0.0
    turn = radians(held_at.fence_deg)
    c, s = cos(turn), sin(turn)
    # Distance to the right of the fence's plane, which turns about the pivot.
    face = fence.x_mm - swivel.pivot_x_mm
    off = [
        c * (x - swivel.pivot_x_mm) - s * (h - swivel.pivot_z_mm) - face
        for h in (bottom, max(bottom, min(top, far)))
        for x, _ in lines(h)
    ]
    sideways = beside - min(off) if fence.side == "left" else -beside - max(off)
    return sideways / c, back, down


def leaning_backing(
    fixture: Fixture,
    wedge_deg: float,
    corners: Sequence[Vector],
    backing_mm: float,
) -> tuple[tuple[float, float], tuple[float, float]]:
    """Y and Z of the backing in axes that lean with the wedge about the plate's lower edge.

    corners: those of the stock's square end in the plate's frame.
    """
    c, s = cos(radians(wedge_deg)), sin(radians(wedge_deg))
    rear = max(c * y - s * z for _, y, z in corners)
    depth = rear, rear + backing_mm
    if fixture.backing.sacrificial:  # it hangs down to the end of the stock
        low = min(s * y + c * z for _, y, z in corners)
    else:  # its lower corner is level with the plate's edge
        low = max(s * y / c for y in depth)
    return depth, (low, low + fixture.plate.height_mm)
