"""The four sides of one end unrolled flat, with every line a person marks on them.

Knows an end's plan and plane geometry; draws nothing (``layout_drawing`` and ``dxf`` do). It
follows from notches and frames alone, so a new joint type is laid out with no code of its
own.

Theory. Seen from outside with the end down, x runs to the right on the face side. Going on
to the right round the stock come the side at x = width, the back, and the side at x = 0;
u counts along that way from the corner where x = 0 and y = 0, v is z from the blank's square
end. A plane of a notch meets each side in a straight line; a channel covers, of each side,
what lies between its two cheeks and under its floor: a rectangle cut by half-planes.
"""

from __future__ import annotations

import attrs
import numpy as np

from jointgeo.geometry.vectors import Vec, X, Y
from jointgeo.joints.sides import edge_names, opposite
from jointgeo.planning.end_plan import EndPlan, SetupPlan
from jointgeo.sheet.plane import Array, between

__all__ = ["Development", "Line", "Panel", "develop"]

#: Shown beyond the highest line, so that it does not lie on the paper's edge.
MARGIN_MM = 12.0


@attrs.frozen(eq=False)
class Panel:
    """One side: ``u`` where it begins, and how its points are found in the stock.

    p_stock = corner + (u - self.u)·along + v·z
    """

    side: str
    u: float
    width: float
    corner: Vec
    along: Vec


@attrs.frozen(eq=False)
class Line:
    """One plane's trace round the stock: points (5, 2) at the long edges, the first again."""

    name: str
    depth_mm: float
    points: Array


@attrs.frozen(eq=False)
class Development:
    """edges: (u, name) of the long edges. waste: convex polygons for each side, by cut number;
    trimmed: what the trim takes, one polygon a side. height: how much of the length is shown."""

    panels: tuple[Panel, ...]
    edges: tuple[tuple[float, str], ...]
    lines: tuple[Line, ...]
    waste: tuple[Array, ...]
    trimmed: tuple[Array, ...]
    height: float

    @property
    def width(self) -> float:
        return self.panels[-1].u + self.panels[-1].width


def develop(plan: EndPlan) -> Development:
    """Unroll one end that has at least one setup."""
    part = plan.part
    w, t = part.width_mm, part.thickness_mm
    panels = _panels(w, t, (part.x_from, opposite(part.x_from)))
    lines = _lines(plan, [p.u for p in panels] + [2 * (w + t)])
    height = min(max(float(line.points[:, 1].max()) for line in lines) + MARGIN_MM, plan.blank_mm)
    waste, trimmed = [], []
    for panel in panels:
        u0, u1 = panel.u, panel.u + panel.width
        whole = np.array([[u0, 0.0], [u1, 0.0], [u1, height], [u0, height]])
        trimmed.append(_below(panel, plan.setups[0], whole))
        for setup in plan.setups:
            waste += [p for p in _channels(panel, setup, whole) if len(p) > 2]
    names = edge_names(part.x_from)
    edges = tuple(zip([p.u for p in panels], names, strict=True))
    found = tuple(p for p in trimmed if len(p) > 2)
    return Development(panels, edges, lines, tuple(waste), found, height)


def _panels(w: float, t: float, edges: tuple[str, str]) -> tuple[Panel, ...]:
    at_zero, at_width = edges
    return (
        Panel("face_side", 0.0, w, Vec(0.0, 0.0, 0.0), X),
        Panel(at_width, w, t, X * w, Y),
        Panel("back", w + t, w, X * w + Y * t, -X),
        Panel(at_zero, 2 * w + t, t, Y * t, -Y),
    )


def _lines(plan: EndPlan, us: list[float]) -> tuple[Line, ...]:
    """Trim, shoulders and floors, each different plane once, as the settings' marks name them."""
    return tuple(
        Line(name, depth, np.stack([us, [*z, z[0]]], -1))
        for name, planes in plan.lines().items()
        for depth, z in planes
    )


def _across(panel: Panel, normal: Vec, origin: Vec) -> tuple[Array, float]:
    """normal·(p - origin) on a panel, as (n, c) with n·(u, v) + c."""
    n = np.array([normal @ panel.along, normal.z])
    return n, normal @ (panel.corner - panel.along * panel.u - origin)


def _below(panel: Panel, setup: SetupPlan, whole: Array) -> Array:
    n, c = _across(panel, setup.notch.rows[2], setup.notch.at)
    return between(whole, n, -np.inf, -c)


def _channels(panel: Panel, setup: SetupPlan, whole: Array) -> list[Array]:
    notch = setup.notch
    across, a = _across(panel, notch.rows[0], notch.at)
    into, b = _across(panel, notch.rows[2], notch.at)
    return [
        between(
            between(whole, into, -b, channel.depth - b),
            across,
            channel.low - a,
            channel.high - a,
        )
        for channel in notch.channels
    ]
