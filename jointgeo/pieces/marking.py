"""Marks for a whole piece, so that alike ends are cut in one operation.

Knows a piece and the shapes of its bars. Face side and face edge may be put on any bar in several
ways without changing the wood; every member of a class is given its first member's marks, on a
mirror image the image of them. With marks as drawn, four alike legs name other sides on each.
"""

from __future__ import annotations

import attrs

from jointgeo.geometry.vectors import Vec
from jointgeo.joints.drawing import Bar
from jointgeo.pieces.alike import Shape, Turn, turns
from jointgeo.pieces.model import End, Piece, Plain, RoomBar
from jointgeo.pieces.room import PlacedBar
from jointgeo.pieces.sides import side_towards

__all__ = ["Likeness", "likenesses", "marked_alike"]


@attrs.frozen
class Likeness:
    """A bar and the first one like it. hand: 1 where they are the same piece, -1 where it is the
    mirror image. turn: how the bar is laid on the first. has_hand: whether the class has one."""

    bar: str
    first: str
    hand: int
    turn: Turn
    has_hand: bool


def likenesses(shapes: dict[str, Shape]) -> tuple[Likeness, ...]:
    """Every bar with the first one that it is like, in order."""
    firsts: dict[str, bool] = {}
    out = []
    for name, shape in shapes.items():
        for first, has_hand in firsts.items():
            found = turns(shapes[first], shape)
            if found:
                turn, hand = found[0]
                out.append(Likeness(name, first, hand, turn, has_hand))
                break
        else:
            own = turns(shape, shape)
            firsts[name] = all(hand > 0 for _, hand in own)
            out.append(Likeness(name, name, 1, own[0][0], firsts[name]))
    return tuple(out)


def marked_alike(piece: Piece, placed: dict[str, PlacedBar], likes: tuple[Likeness, ...]) -> Piece:
    """The same wood with every bar marked as the first one of its class."""
    new = {like.bar: _marked(piece, placed, like) for like in likes}
    frames = {name: _frame(bar) for name, bar in new.items()}
    return attrs.evolve(piece, bars=tuple(_sided(b, placed, frames) for b in new.values()))


def _marked(piece: Piece, placed: dict[str, PlacedBar], like: Likeness) -> RoomBar:
    bar, first = piece.bar(like.bar), placed[like.first].near
    axes = placed[like.bar].near.axes
    _, y, z = (
        sum((axis * part for axis, part in zip(axes, row, strict=True)), Vec(0.0, 0.0, 0.0))
        for row in like.turn
    )
    turned = bar if z @ bar.grain > 0 else bar.turned_round
    edge = first.x_from
    if like.hand < 0:
        edge = "back_edge" if edge == "face_edge" else "face_edge"
    return attrs.evolve(turned, faces=-y, forced=False, x_from=edge)


def _frame(bar: RoomBar) -> Bar:
    """The bar's marked sides; its length and its place along itself say nothing here."""
    face = Vec(0.0, 0.0, 0.0) if bar.faces is None else bar.faces
    out = Bar.leaning(bar.name, (bar.width, bar.thickness, 1.0), bar.grain, face, bar.start)
    return out if bar.x_from == out.x_from else attrs.evolve(out, edge=-out.edge)


def _sided(bar: RoomBar, placed: dict[str, PlacedBar], frames: dict[str, Bar]) -> RoomBar:
    """The sides that its ends come to, by their new names."""

    def renamed(end: End) -> End:
        if isinstance(end, Plain) or end.side is None:
            return end
        looks = placed[end.mate].near.side(end.side).normal
        return attrs.evolve(end, side=side_towards(frames[end.mate], looks))

    return attrs.evolve(bar, near=renamed(bar.near), far=renamed(bar.far))
