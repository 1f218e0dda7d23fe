"""The piece file's tables, as they are written.

Knows parameter fields and errors; places nothing. There are no expressions, no signs and no
negative numbers: a place is so far to the right or left, to the front or back.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import radians, tan
from typing import Any

import attrs

from jointgeo.errors import PieceError, Problem, shown
from jointgeo.geometry.vectors import Vec
from jointgeo.pieces.boardentries import BoardEntry
from jointgeo.schema.fields import angle, choice, count, length, text

__all__ = ["BarEntry", "FallEntry", "JointEntry", "Lean", "PieceEntry", "Spot", "TypedEntry"]

FACES = ("front", "back", "right", "left", "up", "down", "out", "in")


def _far(what: str) -> Any:
    return length(f"How far to the {what} of the middle", low=0, default=None)


def _one_of(field: str, a: float | None, b: float | None) -> None:
    if a is not None and b is not None:
        raise PieceError(Problem(field, "is given together with its opposite", None, "one of them"))


@attrs.frozen
class Lean:
    """An angle off plumb as the front view and the side view show it."""

    right_deg: float | None = angle("To the right", low=0, high=80, default=None)
    left_deg: float | None = angle("To the left", low=0, high=80, default=None)
    front_deg: float | None = angle("To the front", low=0, high=80, default=None)
    back_deg: float | None = angle("To the back", low=0, high=80, default=None)

    def __attrs_post_init__(self) -> None:
        _one_of("right_deg", self.right_deg, self.left_deg)
        _one_of("front_deg", self.front_deg, self.back_deg)
        if (self.right_deg, self.left_deg, self.front_deg, self.back_deg) == (None,) * 4:
            raise PieceError(Problem("", "says no angle", "{}", "right_deg, left_deg, …"))

    @property
    def sideways(self) -> tuple[float, float]:
        """To the right and to the back for each 1 that it climbs or falls."""
        right = tan(radians((self.right_deg or 0.0) - (self.left_deg or 0.0)))
        return right, tan(radians((self.back_deg or 0.0) - (self.front_deg or 0.0)))


@attrs.frozen
class Spot:
    """A place on a bar's middle line, and what is cut there."""

    level: str | None = text("A named level", most=60, default=None)
    right_mm: float | None = _far("right")
    left_mm: float | None = _far("left")
    front_mm: float | None = _far("front")
    back_mm: float | None = _far("back")
    to: str | None = choice(
        "Whether distances are to the outermost or the innermost point of the cut at that level",
        ("outside", "inside"),
        default=None,
    )
    edge: str | None = choice(
        "Whether the level is the highest or the lowest corner of the section",
        ("top", "lower"),
        default=None,
    )
    into: str | None = text("The bar that it is joined to", most=60, default=None)
    joint: str | None = text("The joint that is cut", most=60, default=None)
    side: str | None = choice(
        "The marked side of that bar; the one that looks at this bar most if not given",
        ("face_side", "back", "face_edge", "back_edge"),
        default=None,
    )
    aim: str | None = choice(
        "Whether the bar runs to the middle line of that bar, or to the middle of the side it "
        "comes to, so that the mortise is in the middle of that side",
        ("middle", "side"),
        default=None,
    )
    cut: str | None = choice(
        "How a plain end is cut: to its level, square, or to the side of the bar that it goes into",
        ("level", "square", "side"),
        default=None,
    )

    def __attrs_post_init__(self) -> None:
        _one_of("right_mm", self.right_mm, self.left_mm)
        _one_of("front_mm", self.front_mm, self.back_mm)
        for name, needs in (
            ("to", self.plan),
            ("edge", self.level),
            ("side", self.into),
            ("aim", self.into),
        ):
            if getattr(self, name) is not None and not needs:
                what = {"to": "a plan place", "edge": "a level"}.get(name, "into")
                says = f"goes with {what} only"
                raise PieceError(Problem(name, says, shown(getattr(self, name)), what))

    @property
    def plan(self) -> dict[str, float]:
        """Signed places along "x" and "y", of those that are given."""
        out = {}
        for axis, low, high in (
            ("x", self.left_mm, self.right_mm),
            ("y", self.front_mm, self.back_mm),
        ):
            if low is not None:
                out[axis] = -low
            elif high is not None:
                out[axis] = high
        return out

    @property
    def outside(self) -> tuple[tuple[Vec, float], ...]:
        """Directions and how far the cut reaches along each; none for what is to the middle."""
        if self.to is None:
            return ()
        ways = []
        for axis, at in self.plan.items():
            if at == 0.0:
                continue  # the middle, and not an outside
            sign = 1.0 if at > 0 else -1.0
            way = Vec(sign, 0.0, 0.0) if axis == "x" else Vec(0.0, sign, 0.0)
            ways.append((way, abs(at)) if self.to == "outside" else (-way, -abs(at)))
        return tuple(ways)


@attrs.frozen
class BarEntry:
    """[[bar]]. far: None where it is the near end's image in ``far_mirrored``."""

    name: str = text("Name of the bar", most=40)
    count: int = count("How many of them the piece has", low=1, high=1000)
    width_mm: float = length("Width of the section", above=0, high=2000)
    thickness_mm: float = length("Thickness of the section", above=0, high=2000)
    faces: str | None = choice("Which of its sides bears the face mark", FACES, default=None)
    leans: str | None = text(
        'How it stands about its length: "upright", "with mates", or with the bar named',
        most=60,
        default=None,
    )
    true_view: str | None = choice(
        "The view in which it is drawn as two lines, edge-on", ("front", "side"), default=None
    )
    set: str | None = choice("Turned on its length", ("arris out",), default=None)
    copies: str | None = choice("Whether it is copied", ("none",), default=None)
    top_goes: Lean | None = None
    foot_goes: Lean | None = None
    through: Spot | None = None
    near: Spot = attrs.field(kw_only=True)
    far: Spot | None = None
    far_mirrored: str | None = text("The mirror of the far end", most=20, default=None)


@attrs.frozen
class FallPoint:
    """A point that a falling level goes through."""

    right_mm: float | None = _far("right")
    left_mm: float | None = _far("left")
    front_mm: float | None = _far("front")
    back_mm: float | None = _far("back")
    height_mm: float = length("Height there", low=0)

    @property
    def place(self) -> tuple[str, float]:
        """The axis and the signed place."""
        plan = Spot(
            right_mm=self.right_mm,
            left_mm=self.left_mm,
            front_mm=self.front_mm,
            back_mm=self.back_mm,
        ).plan
        if len(plan) != 1:
            raise PieceError(Problem("", "needs one plan distance", str(len(plan)), "one"))
        return next(iter(plan.items()))


@attrs.frozen
class FallEntry:
    """[[fall]]: a level that falls from one line to another."""

    name: str = text("Name of the level", most=60)
    high: FallPoint = attrs.field(kw_only=True)
    low: FallPoint = attrs.field(kw_only=True)


@attrs.frozen
class JointEntry:
    """[[joint]]: its own sizes only."""

    name: str = text("Name of the joint", most=60)
    type: str = text("Name of its joint type", most=60)
    parameters: Mapping[str, Any] = attrs.field(kw_only=True, factory=dict)


@attrs.frozen
class PieceEntry:
    """The whole file, but for ``symmetry``."""

    piece: int = count("Version of the format", low=1, high=1)
    title: str = text("What is made")
    fixture: str = text("Name of a fixture that ships, or path of its file", most=400)
    height_mm: Mapping[str, Any] = attrs.field(kw_only=True, factory=dict)
    height_in: Mapping[str, Any] = attrs.field(kw_only=True, factory=dict)
    measured_mm: Mapping[str, Any] = attrs.field(kw_only=True, factory=dict)
    measured_in: Mapping[str, Any] = attrs.field(kw_only=True, factory=dict)
    fall: tuple[FallEntry, ...] = attrs.field(kw_only=True, default=())
    joint: tuple[JointEntry, ...] = attrs.field(kw_only=True, default=())
    bar: tuple[BarEntry, ...] = attrs.field(kw_only=True, default=())
    board: tuple[BoardEntry, ...] = attrs.field(kw_only=True, default=())

    def __attrs_post_init__(self) -> None:
        if not self.bar and not self.board:
            allowed = "a list of tables, of [[bar]] or of [[board]]"
            raise PieceError(Problem("bar", "is missing", None, allowed))


@attrs.frozen
class TypedEntry:
    """A file that names an installed piece type."""

    piece: int = count("Version of the format", low=1, high=1)
    title: str = text("What is made")
    fixture: str = text("Name of a fixture that ships, or path of its file", most=400)
    type: str = text("Name of the piece type", most=60)
    parameters: Mapping[str, Any] = attrs.field(kw_only=True)
    measured_mm: Mapping[str, Any] = attrs.field(kw_only=True, factory=dict)
    measured_in: Mapping[str, Any] = attrs.field(kw_only=True, factory=dict)
