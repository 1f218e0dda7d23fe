"""What both views of the clamped stock have in common.

Knows scenes and canvases; no joint type. Both views are projections of the solids that
the feasibility checks measure, to scale; only what has no measure in the fixture file
(how deep a beam is, how wide the fence) is left open.
"""

from __future__ import annotations

import numpy as np

from jointgeo.sheet.canvas import Canvas, Room
from jointgeo.sheet.plane import Array, clipped
from jointgeo.sheet.scene import Piece, Scene

__all__ = ["FULL", "OWN", "box_lines", "inside", "levels", "stock_and_waste"]

#: Pieces that every clamping has; the rest are bodies of the fixture file.
OWN = ("plate", "backing", "stock", "packing")

#: For a picture that stands alone.
FULL = Room(178.0, 150.0)
#: A scale's datum further below everything than this is not worth its room on the paper.
NEAR_MM = 300.0


def levels(scene: Scene) -> tuple[float, float]:
    """Lower and upper edge of the window, machine Z."""
    fixture = scene.fixture
    stock = scene.pieces["stock"].corners[:, 2]
    low = [float(stock.min()), *(b.z_min_mm for b in fixture.front_beam)]
    datum = fixture.cutter_height.datum_z_mm
    if 0 < min(low) - datum < NEAR_MM:
        low.append(datum)
    top = max(float(scene.hinge[2]), scene.trim_z + scene.bench.setup.depth_mm + 100.0)
    return min(low) - 10.0, top + 30.0


def _faces(i: int, j: int) -> list[tuple[int, int]]:
    """(axis, sign) of the two faces of a box that meet in the edge from corner i to corner j."""
    bits = ((0, 4), (1, 2), (2, 1))  # the order of ``clearance.box_corners``
    return [(axis, 1 if i & bit else -1) for axis, bit in bits if (i & bit) == (j & bit)]


def box_lines(canvas: Canvas, box: Piece, view: tuple[int, int], towards_you: Array) -> None:
    """The edges of a box inside its outline: full where you see them, dashed behind it."""
    c = box.corners
    looks = [float((c[k] - c[0]) @ towards_you) for k in (4, 2, 1)]
    for i, j in box.edges:
        seen = [sign * looks[axis] for axis, sign in _faces(int(i), int(j))]
        if min(seen) > 1e-6:
            canvas.segment(c[i, view], c[j, view], "outline")
        elif max(seen) < -1e-6:
            canvas.segment(c[i, view], c[j, view], "hidden")


def stock_and_waste(
    canvas: Canvas, scene: Scene, view: tuple[int, int], towards_you: Array
) -> None:
    """The blank, what the trim takes of it hatched, and the trimmed end as a heavy line."""
    stock = scene.pieces["stock"]
    outline = stock.outline(view)
    canvas.area(outline, fill="white", mark="stock")
    below = clipped(outline, [0.0, 1.0], scene.trim_z)
    canvas.area(below, "thin", hatch=canvas.drawing.measure.of(1.5))
    box_lines(canvas, stock, view, towards_you)
    ends = [p for p in below if abs(p[1] - scene.trim_z) < 1e-6]
    if len(ends) > 1:
        low, high = min(ends, key=lambda p: p[0]), max(ends, key=lambda p: p[0])
        canvas.segment(low, high, "heavy", mark="trim")


def inside(outline: Array, z: float, share: float) -> Array:
    """The point at height ``z`` that far from the left (0) to the right (1) of an outline."""
    xs = [
        a[0] + (b[0] - a[0]) * (z - a[1]) / (b[1] - a[1])
        for a, b in zip(outline, np.roll(outline, -1, axis=0), strict=True)
        if (a[1] <= z) != (b[1] <= z)
    ]
    low, high = (min(xs), max(xs)) if xs else (outline[:, 0].mean(),) * 2
    return np.array([low + share * (high - low), z])
