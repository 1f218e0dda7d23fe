"""A piece file's ``[[board]]``: the side of a box, as it is written.

Knows parameter fields and errors; places nothing. A board has no width: it follows from where its
outside lies at its two levels, which are those of the finished rims.

    [[board]]
    name = "side"
    count = 4
    thickness_mm = 18
    lower = { level = "floor", front_mm = 160 }
    upper = { level = "rim", out_deg = 10 }       # or front_mm, …, out_mm, in_mm, in_deg
    near = { meets = "side 2", joint = "corner" } # at its right-hand end, seen from outside
    far = { meets = "side 4", joint = "corner" }

``lower`` says one plan distance, to a line of the plan that runs square to it; or ``near`` and
``far`` each say the place of their corner, for a board that runs askew, and ``lower`` none. Of a
piece that is turned about its middle, ``lower_edge_mm`` may stand for the distance.
"""

from __future__ import annotations

from typing import Any

import attrs

from jointgeo.errors import PieceError, Problem
from jointgeo.schema.fields import angle, choice, count, length, text

__all__ = ["BoardEnd", "BoardEntry", "LowerRim", "UpperRim", "plan_of"]

SIGNED = (
    ("x", "right_mm", 1.0),
    ("x", "left_mm", -1.0),
    ("y", "back_mm", 1.0),
    ("y", "front_mm", -1.0),
)


def _far(what: str) -> Any:
    return length(f"How far to the {what} of the middle", low=0, default=None)


def plan_of(spot: LowerRim | UpperRim | BoardEnd) -> dict[str, float]:
    """Signed places along "x" and "y", of those that are given."""
    said = [
        (axis, name, sign * at)
        for axis, name, sign in SIGNED
        if (at := getattr(spot, name)) is not None
    ]
    if len({axis for axis, _, _ in said}) < len(said):
        axis = next(a for a, _, _ in said if sum(a == b for b, _, _ in said) > 1)
        name = "right_mm" if axis == "x" else "front_mm"
        raise PieceError(Problem(name, "is given together with its opposite", None, "one of them"))
    return {axis: at for axis, _, at in said}


@attrs.frozen
class LowerRim:
    """Where the outside meets the level of the lower rim."""

    level: str = text("The level of the lower rim", most=60)
    right_mm: float | None = _far("right")
    left_mm: float | None = _far("left")
    front_mm: float | None = _far("front")
    back_mm: float | None = _far("back")

    def __attrs_post_init__(self) -> None:
        plan_of(self)


@attrs.frozen
class UpperRim:
    """Where the outside meets the level of the upper rim: a plan distance, or how far out."""

    level: str = text("The level of the upper rim", most=60)
    right_mm: float | None = _far("right")
    left_mm: float | None = _far("left")
    front_mm: float | None = _far("front")
    back_mm: float | None = _far("back")
    out_mm: float | None = length("How far out over the lower rim", low=0, default=None)
    in_mm: float | None = length("How far in over the lower rim", low=0, default=None)
    out_deg: float | None = angle("Lean off plumb, outwards", low=0, high=80, default=None)
    in_deg: float | None = angle("Lean off plumb, inwards", low=0, high=80, default=None)

    def __attrs_post_init__(self) -> None:
        said = [n for n in ("out_mm", "in_mm", "out_deg", "in_deg") if getattr(self, n) is not None]
        said += list(plan_of(self))
        if len(said) != 1:
            says = f"says {len(said)} times how far out it lies"
            allowed = "one of front_mm, … as lower has it, out_mm, in_mm, out_deg, in_deg"
            raise PieceError(Problem("", says, None, allowed))


@attrs.frozen
class BoardEnd:
    """A corner of the box, and where its outside lies at the lower rim."""

    meets: str = text("The board that it is joined to", most=60)
    joint: str = text("The joint that is cut", most=60)
    right_mm: float | None = _far("right")
    left_mm: float | None = _far("left")
    front_mm: float | None = _far("front")
    back_mm: float | None = _far("back")

    def __attrs_post_init__(self) -> None:
        if len(plan_of(self)) == 1:
            allowed = "one of right_mm and left_mm, and one of front_mm and back_mm"
            raise PieceError(Problem("", "is no whole place", None, allowed))


@attrs.frozen
class BoardEntry:
    """[[board]]."""

    name: str = text("Name of the board", most=40)
    count: int = count("How many of them the piece has", low=1, high=1000)
    thickness_mm: float = length("Thickness of the board", above=0, high=200)
    lower_edge_mm: float | None = length(
        "Outside of the board at the lower rim, corner to corner", above=0, default=None
    )
    copies: str | None = choice("Whether it is copied", ("none",), default=None)
    lower: LowerRim = attrs.field(kw_only=True)
    upper: UpperRim = attrs.field(kw_only=True)
    near: BoardEnd = attrs.field(kw_only=True)
    far: BoardEnd = attrs.field(kw_only=True)
