"""The frame of a side chair: tapered seat, plumb front legs, back legs raked as one straight bar.

Knows the contract of piece types, and the joint type it uses by its name. Seat rails join the four
legs, a crest rail the tops of the back ones; side stretchers if asked for. The back legs lean back
as seen from the side, and stand plumb as seen from the front.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property
from math import cos, radians, tan
from typing import Any, ClassVar

import attrs

from jointgeo.errors import InputError
from jointgeo.geometry.vectors import Plane, Vec, X, Y, Z
from jointgeo.joints.registry import joint_type
from jointgeo.pieces.between import crossing, flat, leg, rail_between
from jointgeo.pieces.model import Piece, PieceJoint, RoomBar
from jointgeo.pieces.piece_type import PieceType
from jointgeo.pieces.room import placed_bars
from jointgeo.pieces.taped import tape_of
from jointgeo.schema.fields import angle, choice, length

__all__ = ["SideChair"]

SIDES = (("left", -1.0), ("right", 1.0))
ROWS = ("front", "back")


@attrs.frozen(slots=False)
class SideChair(PieceType):
    name: ClassVar[str] = "side_chair"
    summary: ClassVar[str] = "A side chair's frame with a tapered seat and raked back legs"
    symmetry: ClassVar[tuple[str, ...]] = ("left_right",)

    seat_height_mm: float = length("Floor to the tops of the front legs", above=0, high=1500)
    back_height_mm: float = length("Floor to the tops of the back legs", above=0, high=2500)
    seat_width_front_mm: float = length("Seat's width at the front legs", above=0, high=2000)
    seat_width_back_mm: float = length("Seat's width at the back legs", above=0, high=2000)
    seat_depth_mm: float = length(
        "Seat's depth from front to back, at the height of the seat rails", above=0, high=2000
    )
    drawn_to: str = choice(
        "Whether the seat's widths and depth are over the outsides of the legs or to their middles",
        ("outsides", "middles"),
        default="outsides",
    )
    rake_deg: float = angle(
        "Lean of the back legs off plumb as seen from the side, tops to the back",
        low=-5,
        high=30,
        default=8.0,
    )
    rail_height_mm: float = length(
        "Floor to the middle of the seat rails at the front legs", above=0, high=1500
    )
    rail_height_back_mm: float = length(
        "Floor to the middle of the seat rails at the back legs; 0: as at the front legs",
        low=0,
        high=1500,
        default=0.0,
    )
    crest_height_mm: float = length(
        "Floor to the middle of the crest rail, on the back legs; 0 for none",
        low=0,
        high=2500,
        default=0.0,
    )
    stretcher_height_mm: float = length(
        "Floor to the middle of the side stretchers; 0 for none", low=0, high=1500, default=0.0
    )
    front_leg_width_mm: float = length(
        "Width of the front legs, seen from the front", above=0, high=300
    )
    front_leg_thickness_mm: float = length(
        "Thickness of the front legs, front to back", above=0, high=300
    )
    back_leg_width_mm: float = length(
        "Width of the back legs, seen from the front", above=0, high=300
    )
    back_leg_thickness_mm: float = length(
        "Thickness of the back legs, front to back, square to their length", above=0, high=300
    )
    rail_width_mm: float = length("Width of the rails, top to lower edge", above=0, high=300)
    rail_thickness_mm: float = length("Thickness of the rails", above=0, high=200)
    stretcher_width_mm: float = length(
        "Width of the side stretchers, top to lower edge", above=0, high=300, default=32.0
    )
    back_rails_stand: str = choice(
        "How the rails between the back legs stand: leaning with the legs, or upright",
        ("leaning", "upright"),
        default="leaning",
    )
    aimed_at: str = choice(
        "Where the rails run to: the middles of the legs, or the middles of the mortised sides",
        ("leg_middles", "side_middles"),
        default="leg_middles",
    )
    tenon_length_mm: float = length("Length of the tenons", above=0, high=200, default=14.0)
    tenon_width_mm: float = length("Width of the rails' mortises", above=0, high=300, default=40.0)
    stretcher_tenon_width_mm: float = length(
        "Width of the stretchers' mortises", above=0, high=300, default=20.0
    )
    tenon_thickness_mm: float = length("Thickness of all mortises", above=0, high=100, default=8.0)
    fit_mm: float = length(
        "Clearance of all joints; negative: interference", low=-1, high=2, default=0.1
    )

    def __attrs_post_init__(self) -> None:
        half = self.rail_width_mm / 2
        for name in ("seat_height_mm", "back_height_mm"):
            if (height := getattr(self, name)) <= self.rail_width_mm:
                allowed = f"more than rail_width_mm = {self.rail_width_mm:g} mm"
                raise InputError.of(name, "is too small", height, allowed, "mm")
        front, back = "under the tops of the front legs", "under the tops of the back legs"
        rails = "rail_height_back_mm" if self.rail_height_back_mm else "rail_height_mm"
        for name, other, height, what in (
            ("rail_height_mm", "seat_height_mm", self.seat_height_mm, front),
            ("rail_height_back_mm", "back_height_mm", self.back_height_mm, back),
            ("crest_height_mm", "back_height_mm", self.back_height_mm, back),
            ("stretcher_height_mm", rails, self._back_at, "under the seat rails"),
        ):
            most = height - half
            if (given := getattr(self, name)) and given > most:
                less = f"{other} less half of rail_width_mm"
                allowed = f"at most {most:g} mm, {less}, so that it stays {what}"
                raise InputError.of(name, "is too large", given, allowed, "mm")

    @property
    def _back_at(self) -> float:
        return self.rail_height_back_mm or self.rail_height_mm

    # Drawn ----------------------------------------------------------------------------

    def piece(self) -> Piece:
        return self._drawn

    @cached_property
    def _drawn(self) -> Piece:
        seat, stretcher = self._joints
        joints = self._joints if self.stretcher_height_mm else (seat,)
        legs = {bar.name: bar for bar in self._legs()}
        bars = [*legs.values(), *self._rails(seat, legs)]
        if self.stretcher_height_mm:
            bars += self._stretchers(stretcher, legs)
        return Piece("Side chair", joints, tuple(bars))

    @property
    def _joints(self) -> tuple[PieceJoint, PieceJoint]:
        def tenon(name: str, width: float) -> PieceJoint:
            sizes: dict[str, Any] = {
                "tenon_length_mm": self.tenon_length_mm,
                "tenon_width_mm": width,
                "tenon_thickness_mm": self.tenon_thickness_mm,
                "fit_mm": self.fit_mm,
            }
            return PieceJoint(name, joint_type("angled_tenon"), sizes)

        stretcher = tenon("stretcher tenon", self.stretcher_tenon_width_mm)
        return tenon("rail tenon", self.tenon_width_mm), stretcher

    @property
    def _plan(self) -> tuple[float, float, float, float]:
        """Middles of the legs at the height of the seat rails: out at the front and at the back,
        to the front and to the back."""
        front, back = self.seat_width_front_mm / 2, self.seat_width_back_mm / 2
        half = self.seat_depth_mm / 2
        if self.drawn_to == "middles":
            return front, back, half, half
        level = self.back_leg_thickness_mm / cos(radians(self.rake_deg))
        return (
            front - self.front_leg_width_mm / 2,
            back - self.back_leg_width_mm / 2,
            half - self.front_leg_thickness_mm / 2,
            half - level / 2,
        )

    def _legs(self) -> Iterator[RoomBar]:
        front, back, fore, aft = self._plan
        rake, at, top = tan(radians(self.rake_deg)), self._back_at, self.back_height_mm
        size = self.front_leg_width_mm, self.front_leg_thickness_mm
        for side, x in SIDES:
            foot = Vec(x * front, -fore, 0.0)
            yield leg(f"front leg, {side}", size, foot + Z * self.seat_height_mm, foot, -Y)
        size = self.back_leg_width_mm, self.back_leg_thickness_mm
        for side, x in SIDES:
            foot, upper = (Vec(x * back, aft + (z - at) * rake, z) for z in (0.0, top))
            yield leg(f"back leg, {side}", size, upper, foot, -Y)

    @property
    def _seat(self) -> Plane:
        """Level or falling; the middle lines of all seat rails lie in it."""
        _, _, fore, aft = self._plan
        fall = (self._back_at - self.rail_height_mm) / (fore + aft)
        return Plane.through(Vec(0.0, -fore, self.rail_height_mm), Vec(0.0, -fall, 1.0).unit)

    def _rails(self, joint: PieceJoint, legs: Mapping[str, RoomBar]) -> Iterator[RoomBar]:
        size = self.rail_width_mm, self.rail_thickness_mm
        front, back = ((legs[f"{row} leg, left"], legs[f"{row} leg, right"]) for row in ROWS)
        leaning = self.back_rails_stand == "leaning"
        yield rail_between("front rail", size, joint, front, self._seat, -Y)
        yield rail_between("back rail", size, joint, back, self._seat, Y, leaning=leaning)
        yield from self._sides("side rail", size, joint, legs, self._seat)
        if self.crest_height_mm:
            at = flat(self.crest_height_mm)
            yield rail_between("crest rail", size, joint, back, at, -Y, leaning=leaning)

    def _stretchers(self, joint: PieceJoint, legs: Mapping[str, RoomBar]) -> Iterator[RoomBar]:
        size = self.stretcher_width_mm, self.rail_thickness_mm
        yield from self._sides("side stretcher", size, joint, legs, flat(self.stretcher_height_mm))

    def _sides(
        self,
        name: str,
        size: tuple[float, float],
        joint: PieceJoint,
        legs: Mapping[str, RoomBar],
        level: Plane,
    ) -> Iterator[RoomBar]:
        for side, x in SIDES:
            ends = legs[f"front leg, {side}"], legs[f"back leg, {side}"]
            title = f"{name}, {side}"
            if self.aimed_at == "side_middles":
                yield rail_between(title, size, joint, ends, level, X * x, aim="sides")
            else:
                yield rail_between(title, size, joint, ends, level, X * x)

    # Echoed ---------------------------------------------------------------------------

    def measured(self) -> Mapping[str, float]:
        placed = placed_bars(self.piece())
        out = dict(tape_of(placed.values()))
        at = {}
        for row in ROWS:
            bar = placed[f"{row} leg, right"].near
            level = flat(crossing(self._drawn.bar(bar.name), self._seat).z)
            at[row] = bar.arrises(level)
            out[f"seat at the {row}, over the legs"] = 2 * max(p.x for p in at[row])
        depth = max(p.y for p in at["back"]) - min(p.y for p in at["front"])
        out["seat, front to back over the legs"] = depth
        return out

    @classmethod
    def examples(cls) -> tuple[SideChair, ...]:
        base = cls(
            seat_height_mm=440,
            back_height_mm=850,
            seat_width_front_mm=440,
            seat_width_back_mm=360,
            seat_depth_mm=380,
            drawn_to="middles",
            rake_deg=8,
            rail_height_mm=400,
            crest_height_mm=800,
            front_leg_width_mm=42,
            front_leg_thickness_mm=42,
            back_leg_width_mm=42,
            back_leg_thickness_mm=36,
            rail_width_mm=60,
            rail_thickness_mm=22,
        )
        falling = attrs.evolve(
            base,
            drawn_to="outsides",
            seat_width_front_mm=470,
            seat_width_back_mm=390,
            seat_depth_mm=420,
            rail_height_back_mm=385,
            stretcher_height_mm=180,
            aimed_at="side_middles",
        )
        return base, falling
