"""A box, planter or tray with sloping sides, finger-jointed at its corners.

Knows the contract of piece types, and the joint type it uses by its name. The plan is a regular
polygon, a rectangle, or any convex polygon by its corners; all of it is the outside of the level
lower rim, as a tape shows it on the finished box. Sides are counted anticlockwise from above, the
first in front; the corner between a side and the next is at the first's right-hand end as seen from
outside.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property
from math import cos, pi, radians, sin, tan
from typing import ClassVar

import attrs

from jointgeo.errors import InputError, shown
from jointgeo.geometry.vectors import Vec
from jointgeo.joints.registry import joint_type
from jointgeo.pieces.boards import Outside, placed_boards
from jointgeo.pieces.joining import joints_of
from jointgeo.pieces.model import Joined, Piece, PieceJoint, RoomBar
from jointgeo.pieces.piece_type import PieceType
from jointgeo.pieces.rims import planed
from jointgeo.pieces.room import placed_bars
from jointgeo.pieces.tape import board_figures, tape
from jointgeo.schema.fields import angle, count, flag, length, text

__all__ = ["SlopingBox"]

MOST_SIDES = 8
LEAST_TURN = 0.05  # sine of the angle between one side of the plan and the next
CORNER = "corner"
STEEPEST_DEG = 80.0
NUMBERS = 'numbers apart by blanks, such as "10 20 10 20"'
PLACES = 'places apart by commas, such as "0 0, 400 0, 360 220, 40 220"'


@attrs.frozen(slots=False)
class SlopingBox(PieceType):
    name: ClassVar[str] = "sloping_box"
    summary: ClassVar[str] = "A box, planter or tray with three to eight sloping sides"

    sides: int = count(
        "Sides of a regular plan, with lower_edge_mm", low=3, high=MOST_SIDES, default=4
    )
    lower_edge_mm: float = length(
        "Outside of each side at the lower rim, corner to corner; for a regular plan",
        low=0,
        default=0.0,
    )
    length_mm: float = length(
        "Outside of the lower rim left to right; for a rectangular plan", low=0, default=0.0
    )
    depth_mm: float = length(
        "Outside of the lower rim front to back; for a rectangular plan", low=0, default=0.0
    )
    plan: str | None = text(
        "Corners of the lower rim's outside, anticlockwise from above from the first side's left "
        'end: so far to the right and so far to the back (mm), as "0 0, 400 0, 360 220, 40 220"',
        most=200,
        default=None,
    )
    height_mm: float = length("Lower rim to upper rim, both level", above=0, high=2000)
    thickness_mm: float = length("Thickness of the boards", above=0, high=200)
    slope_deg: float = angle(
        "How far all sides lean out from upright; negative leans in",
        low=-STEEPEST_DEG,
        high=STEEPEST_DEG,
        default=0.0,
    )
    slopes_deg: str | None = text(
        'The same for each side by itself, the first in front, then anticlockwise: "10 20 10 20"',
        default=None,
    )
    upper_edge_mm: float = length(
        "Outside of each side at the upper rim, in place of slope_deg; for a regular plan",
        low=0,
        default=0.0,
    )
    upper_length_mm: float = length(
        "Outside of the upper rim left to right, in place of slope_deg; for a rectangular plan",
        low=0,
        default=0.0,
    )
    upper_depth_mm: float = length(
        "Outside of the upper rim front to back, with upper_length_mm", low=0, default=0.0
    )
    finger_count: int = count(
        "Number of equal fingers at a corner, on both boards together; 0: as finger_width_mm says, "
        "or about as wide as the boards are thick",
        low=0,
        high=99,
        default=0,
    )
    finger_width_mm: float = length(
        "Width of the fingers between the two end ones; 0: equal fingers",
        low=0,
        high=500,
        default=0.0,
    )
    alternate: bool = flag(
        "Whether the lowest finger goes to either board in turn, so that opposite ends of a board "
        "are alike; for an even number of sides",
        default=False,
    )
    fit_mm: float = length(
        "Clearance, socket minus finger; negative: interference", low=-1, high=2, default=0.1
    )

    def __attrs_post_init__(self) -> None:
        ways = {
            "lower_edge_mm": bool(self.lower_edge_mm),
            "length_mm": bool(self.length_mm or self.depth_mm),
            "plan": self.plan is not None,
        }
        said = [name for name, there in ways.items() if there]
        if len(said) != 1:
            says = "is one of several plans" if said else "is missing, and so is any other plan"
            allowed = "lower_edge_mm, length_mm and depth_mm, or plan"
            raise InputError.of(said[0] if said else "lower_edge_mm", says, None, allowed)
        if said[0] == "length_mm" and not (self.length_mm and self.depth_mm):
            short = "depth_mm" if self.length_mm else "length_mm"
            raise InputError.of(short, "is missing", None, "a length above 0 mm", "mm")
        leans = {
            "slope_deg": bool(self.slope_deg),
            "slopes_deg": self.slopes_deg is not None,
            "upper_edge_mm": bool(self.upper_edge_mm),
            "upper_length_mm": bool(self.upper_length_mm or self.upper_depth_mm),
        }
        told = [name for name, there in leans.items() if there]
        if len(told) > 1:
            says = f"is given together with {told[0]}"
            raise InputError.of(told[1], says, shown(getattr(self, told[1])), "one of the two")
        for upper, needs in (("upper_edge_mm", "lower_edge_mm"), ("upper_length_mm", "length_mm")):
            if leans[upper] and not ways[needs]:
                raise InputError.of(upper, f"goes with {needs}", getattr(self, upper), needs, "mm")
        if leans["upper_length_mm"] and not (self.upper_length_mm and self.upper_depth_mm):
            short = "upper_depth_mm" if self.upper_length_mm else "upper_length_mm"
            raise InputError.of(short, "is missing", None, "a length above 0 mm", "mm")
        if self.alternate and len(self._plan) % 2:
            says = "needs an even number of sides"
            raise InputError.of("alternate", says, f"{len(self._plan)} sides", "false")
        if len(self._outs) != len(self._plan):
            says = f"says {len(self._outs)} slopes for {len(self._plan)} sides"
            raise InputError.of("slopes_deg", says, shown(self.slopes_deg), NUMBERS, "deg")

    # Drawn ----------------------------------------------------------------------------

    @cached_property
    def _plan(self) -> tuple[Vec, ...]:
        """Corners of the lower rim's outside, the middle of the piece at 0, 0."""
        if self.lower_edge_mm:
            half, turn = self.lower_edge_mm / 2, 2 * pi / self.sides
            first = Vec(-half, -half / tan(turn / 2), 0.0)
            return tuple(_turned(first, i * turn) for i in range(self.sides))
        if self.plan is None:
            x, y = self.length_mm / 2, self.depth_mm / 2
            return Vec(-x, -y, 0.0), Vec(x, -y, 0.0), Vec(x, y, 0.0), Vec(-x, y, 0.0)
        corners = [Vec(x, y, 0.0) for x, y in _places(self.plan)]
        middle = sum(corners, Vec(0.0, 0.0, 0.0)) / len(corners)
        around = tuple(c - middle for c in corners)
        for i, here in enumerate(around):
            before, after = around[i - 1], around[(i + 1) % len(around)]
            a, b = here - before, after - here
            if (a ^ b).z <= LEAST_TURN * a.length * b.length:
                says = f"turns the wrong way, or hardly at all, at its corner {i + 1}"
                allowed = "corners of a convex plan, anticlockwise from above"
                raise InputError.of("plan", says, shown(self.plan), allowed)
        return around

    @cached_property
    def _outs(self) -> tuple[float, ...]:
        """How far each side goes out for each 1 that it climbs."""
        number = len(self._plan)
        if self.upper_edge_mm:
            more = (self.upper_edge_mm - self.lower_edge_mm) / 2 / tan(pi / number)
            return (more / self.height_mm,) * number
        if self.upper_length_mm:
            front = (self.upper_depth_mm - self.depth_mm) / 2 / self.height_mm
            end = (self.upper_length_mm - self.length_mm) / 2 / self.height_mm
            return front, end, front, end
        if self.slopes_deg is None:
            return (tan(radians(self.slope_deg)),) * number
        slopes = _numbers(self.slopes_deg, "slopes_deg")
        for slope in slopes:
            if abs(slope) > STEEPEST_DEG:
                allowed = f"each from -{STEEPEST_DEG:g} to {STEEPEST_DEG:g}"
                raise InputError.of("slopes_deg", "is too flat", shown(slope), allowed, "deg")
        return tuple(tan(radians(slope)) for slope in slopes)

    @property
    def _names(self) -> tuple[str, ...]:
        if self.plan is not None:
            return tuple(f"{w} side" for w in _ORDINALS[: len(self._plan)])
        if self.lower_edge_mm:
            return tuple(f"side {i + 1}" for i in range(self.sides))
        return "side, front", "end, right", "side, back", "end, left"

    def piece(self) -> Piece:
        return self._drawn

    @cached_property
    def _drawn(self) -> Piece:
        box = joint_type("angled_box_joint")
        own = {
            "finger_count": self.finger_count,
            "finger_width_mm": self.finger_width_mm,
            "fit_mm": self.fit_mm,
        }
        joint = PieceJoint(CORNER, box, own)
        return Piece("Box with sloping sides", (joint,), tuple(self._boards()))

    def _boards(self) -> Iterator[RoomBar]:
        plan, names = self._plan, self._names
        number = len(plan)
        outsides = [
            Outside(plan[(i + 1) % number], plan[i], out, self.thickness_mm)
            for i, out in enumerate(self._outs)
        ]
        for i, board in enumerate(placed_boards(outsides, self.height_mm)):
            after = (i + 1) % number
            # By turns: the first board of both its corners, or of neither.
            first = i % 2 == 0 if self.alternate else None
            yield RoomBar(
                names[i],
                board.width,
                board.thickness,
                board.start,
                board.end,
                Joined(CORNER, names[after], first=first),
                Joined(CORNER, names[i - 1], first=first),
                board.face,
            )

    # Echoed ---------------------------------------------------------------------------

    def measured(self) -> Mapping[str, float]:
        placed = placed_bars(self.piece())
        edges = planed(placed, joints_of(self.piece(), placed))
        out = tape(placed.values(), (), edges)
        for name, bar in placed.items():
            out |= {f"{name}, {w}": v for w, v in board_figures(bar, edges[name]).items()}
            out[f"{name}, width before its rims are planed"] = bar.near.width
        return out

    @classmethod
    def examples(cls) -> tuple[SlopingBox, ...]:
        planter = cls(
            lower_edge_mm=320, height_mm=150, thickness_mm=18, slope_deg=10, finger_count=7
        )
        tray = cls(
            length_mm=400,
            depth_mm=250,
            height_mm=80,
            thickness_mm=12,
            slopes_deg="10 15 10 15",
            finger_count=5,
        )
        return planter, tray


_ORDINALS = ("1st", "2nd", "3rd", "4th", "5th", "6th", "7th", "8th")


def _turned(point: Vec, by: float) -> Vec:
    """About the upright middle, anticlockwise from above."""
    c, s = cos(by), sin(by)
    return Vec(point.x * c - point.y * s, point.x * s + point.y * c, point.z)


def _numbers(words: str, field: str) -> tuple[float, ...]:
    out = []
    for word in words.split():
        try:
            number = float(word)
        except ValueError:
            number = float("nan")
        if not abs(number) < 1e5:
            raise InputError.of(field, "holds what is no number", shown(word), NUMBERS)
        out.append(number)
    return tuple(out)


def _places(plan: str) -> tuple[tuple[float, float], ...]:
    out = []
    for place in plan.split(","):
        numbers = _numbers(place, "plan")
        if len(numbers) != 2:
            raise InputError.of("plan", "holds what is no place", shown(place.strip()), PLACES)
        out.append((numbers[0], numbers[1]))
    if not 3 <= len(out) <= MOST_SIDES:
        allowed = f"3 to {MOST_SIDES}"
        raise InputError.of("plan", f"has {len(out)} corners", shown(plan), allowed)
    return tuple(out)
