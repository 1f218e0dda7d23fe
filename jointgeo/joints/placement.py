"""A joint's own world laid on bars that stand in a room.

Knows drawings and vectors; no joint type. Millimetres.

The drawing's first bar is laid on the bar given, marked sides and centre line; then the mate must
lie on the mate. Where along its line a bar begins says nothing about the joint, so it is left
out; the lengths are parameters and have been measured. A mate that is only laid out may be
marked from its other edge, or its other end, without being another piece of wood.
"""

from __future__ import annotations

import attrs

from jointgeo.errors import InputError, Problem
from jointgeo.geometry.vectors import Vec
from jointgeo.joints.drawing import Bar, Drawing

__all__ = ["Placement", "placement_of"]

WITHIN_MM = 1e-6  # rounding over some metres is 1e-12; a rule shows 0.1
WITHIN = 1e-9  # of a direction of length 1


@attrs.frozen
class Placement:
    """room = turned · world + at. axes: the world's X, Y and Z in the room; at: its origin, mm."""

    axes: tuple[Vec, Vec, Vec]
    at: Vec

    def way(self, way: Vec) -> Vec:
        """A direction of the joint's world in the room."""
        x, y, z = self.axes
        return x * way.x + y * way.y + z * way.z

    def place(self, point: Vec) -> Vec:
        """A point of the joint's world in the room."""
        return self.way(point) + self.at

    def bar(self, bar: Bar) -> Bar:
        """A bar of the drawing as it stands in the room."""
        return attrs.evolve(
            bar,
            grain=self.way(bar.grain),
            face=self.way(bar.face),
            edge=self.way(bar.edge),
            middle=self.place(bar.middle),
        )


def placement_of(drawing: Drawing, bar: Bar, mate: Bar) -> Placement:
    """Where the drawing stands if its first bar lies on ``bar``; InputError where ``mate`` does
    not then lie on its mate, or a section or a marked edge is another."""
    mine, other = drawing.bars[:2]
    if mine.x_from != bar.x_from:
        raise InputError(
            Problem(
                bar.name,
                "has its face edge on the other side than this joint can have",
                bar.x_from,
                mine.x_from,
            )
        )
    # The turn that carries the drawn bar's axes to those of the bar given.
    ways = tuple(
        sum((b * a[i] for a, b in zip(mine.axes, bar.axes, strict=True)), Vec(0.0, 0.0, 0.0))
        for i in range(3)
    )
    turned = Placement((ways[0], ways[1], ways[2]), Vec(0.0, 0.0, 0.0))
    at = bar.middle - turned.place(mine.middle)
    placement = Placement(turned.axes, at)
    # Along its own grain the bar may begin anywhere: the mate says where the joint is.
    there, grain = placement.bar(other), bar.grain
    gap = mate.middle - there.middle
    lean = grain.across(mate.grain)
    if lean @ lean > WITHIN:
        step = (gap.across(mate.grain) @ lean) / (lean @ lean)
        placement = Placement(turned.axes, at + grain * step)
    cut = any(n.bar == other.name for n in drawing.notches)
    _same(placement.bar(other), mate, marked=cut or other.handed)
    return placement


def _same(drawn: Bar, given: Bar, *, marked: bool) -> None:
    """InputError naming the bar and the amount where the two are not one piece of wood.

    marked: whether it matters from which edge and which end it is marked.
    """
    for what, more in (
        ("width", abs(drawn.width - given.width)),
        ("thickness", abs(drawn.thickness - given.thickness)),
    ):
        if more > WITHIN_MM:
            raise _off(given, f"has another {what}", more, "mm")
    turn = given.grain @ drawn.grain
    ways = [(drawn.face, given.face), (drawn.grain, given.grain), (drawn.edge, given.edge)]
    if not marked:  # from the other edge or the other end it is the same piece
        ways[1:] = [(drawn.grain * (1.0 if turn > 0 else -1.0), given.grain)]
    for a, b in ways:
        if (a - b).length > WITHIN:
            raise _off(
                given, "stands at another angle than this joint can have", (a - b).length, "1"
            )
    sideways = (given.middle - drawn.middle).across(drawn.grain).length
    if sideways > WITHIN_MM:
        raise _off(given, "passes at another distance than this joint can have", sideways, "mm")


def _off(bar: Bar, message: str, amount: float, unit: str) -> InputError:
    given = f"{amount:.4g} mm off" if unit == "mm" else f"{amount:.4g} of its length off"
    return InputError(Problem(bar.name, message, given, "nothing", unit))
