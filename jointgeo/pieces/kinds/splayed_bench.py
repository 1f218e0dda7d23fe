"""A bench on four splayed legs, with stretchers, from its seat height and its footprint.

Knows the contract of piece types, and the joint types it uses by their names. Facing the bench the
rails run left to right under the seat, one in front and one behind; each leg straddles its rail,
and leans out both ways. Two end stretchers join the legs of either end, a long one joins those.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property
from math import radians, tan
from typing import Any, ClassVar

import attrs

from jointgeo.errors import InputError
from jointgeo.geometry.vectors import Plane, Vec, X, Z
from jointgeo.joints.registry import joint_type
from jointgeo.pieces.model import Joined, Piece, PieceJoint, Plain, RoomBar
from jointgeo.pieces.outside import Want, fitted
from jointgeo.pieces.piece_type import PieceType
from jointgeo.pieces.room import placed_bars
from jointgeo.pieces.sides import side_towards
from jointgeo.pieces.taped import tape_of
from jointgeo.schema.fields import angle, choice, flag, length

__all__ = ["SplayedBench"]

SIDES = (("left", -1.0), ("right", 1.0))
ROWS = (("front", -1.0), ("back", 1.0))
FOOT = "feet"
FLOOR = Plane(-Z, 0.0)


@attrs.frozen(slots=False)
class SplayedBench(PieceType):
    name: ClassVar[str] = "splayed_bench"
    summary: ClassVar[str] = "A bench on four legs splayed both ways, with stretchers"
    symmetry: ClassVar[tuple[str, ...]] = ("left_right", "front_back")

    seat_height_mm: float = length("Floor to the top of the rails", above=0, high=2000)
    footprint_length_mm: float = length(
        "Over the feet, left to right; 0: as splay_along_deg says", low=0, default=0.0
    )
    footprint_depth_mm: float = length(
        "Over the feet, front to back; 0: as splay_across_deg says", low=0, default=0.0
    )
    splay_along_deg: float = angle(
        "Lean of the legs off plumb as seen from the front, feet out; with no footprint_length_mm",
        low=-45,
        high=45,
        default=0.0,
    )
    splay_across_deg: float = angle(
        "Lean of the legs off plumb as seen from the end, feet out; with no footprint_depth_mm",
        low=-45,
        high=45,
        default=0.0,
    )
    rail_length_mm: float = length("Length of the rails", above=0)
    rail_depth_mm: float = length("Depth of the rails, top to lower edge", above=0, high=500)
    rail_thickness_mm: float = length("Thickness of the rails", above=0, high=500)
    rails_apart_mm: float = length("Front rail's middle to the back rail's", above=0)
    leg_from_end_mm: float = length(
        "Rail's end to the middle of the leg at the rail's top", above=0
    )
    leg_width_mm: float = length("Width of the legs, across the rail", above=0, high=500)
    leg_thickness_mm: float = length("Thickness of the legs, along the rail", above=0, high=500)
    tongue_thickness_mm: float = length(
        "Thickness of the rail where a leg straddles it", above=0, high=500
    )
    stretcher_height_mm: float = length(
        "Floor to the middle of the stretchers; 0 for none", low=0, high=2000, default=0.0
    )
    stretcher_width_mm: float = length("Width of the stretchers", above=0, high=500, default=50.0)
    stretcher_thickness_mm: float = length(
        "Thickness of the stretchers", above=0, high=500, default=22.0
    )
    stretchers_stand: str = choice(
        "How the end stretchers stand: leaning in the plane of their legs, or upright",
        ("leaning", "upright"),
        default="leaning",
    )
    long_stretcher: bool = flag("Whether a long stretcher joins the end ones", default=True)
    tenon_length_mm: float = length("Length of the stretchers' tenons", above=0, default=15.0)
    tenon_width_mm: float = length("Width of their mortises", above=0, default=36.0)
    tenon_thickness_mm: float = length("Thickness of their mortises", above=0, default=7.0)
    fit_mm: float = length(
        "Clearance of all joints; negative: interference", low=-1, high=2, default=0.1
    )

    def __attrs_post_init__(self) -> None:
        for foot, splay in (
            ("footprint_length_mm", "splay_along_deg"),
            ("footprint_depth_mm", "splay_across_deg"),
        ):
            if getattr(self, foot) and getattr(self, splay):
                given = getattr(self, splay)
                says = f"is given together with {foot}"
                raise InputError.of(splay, says, given, "one of the two, the other 0", "deg")
        if (seat := self.seat_height_mm) <= self.rail_depth_mm:
            allowed = f"more than rail_depth_mm = {self.rail_depth_mm:g} mm"
            raise InputError.of("seat_height_mm", "is too small", seat, allowed, "mm")
        for name, most, what in (
            ("leg_from_end_mm", self.rail_length_mm / 2, "half of rail_length_mm"),
            (
                "stretcher_height_mm",
                self.seat_height_mm - self.rail_depth_mm,
                "seat_height_mm less rail_depth_mm",
            ),
        ):
            if (given := getattr(self, name)) and given >= most:
                allowed = f"less than {most:g} mm, {what}"
                raise InputError.of(name, "is too large", given, allowed, "mm")

    # Drawn ----------------------------------------------------------------------------

    def piece(self) -> Piece:
        return self._drawn

    @cached_property
    def _drawn(self) -> Piece:
        ways = [
            (way, asked / 2)
            for way, asked in (
                (X, self.footprint_length_mm),
                (Vec(0.0, 1.0, 0.0), self.footprint_depth_mm),
            )
            if asked
        ]
        want = {FOOT: Want("leg, back right", FLOOR, tuple(ways))} if ways else {}
        return fitted(self._with_feet, want)

    def _with_feet(self, moves: Mapping[str, Vec]) -> Piece:
        """moves: of the right back foot from where the splays put it; the others follow."""
        height, top = self.seat_height_mm, self._top
        out = Vec(
            height * tan(radians(self.splay_along_deg)),
            height * tan(radians(self.splay_across_deg)),
            -height,
        )
        foot = top + out + moves.get(FOOT, Vec(0.0, 0.0, 0.0))
        bars = [*self._rails(), *_legs(self, top, foot)]
        if self.stretcher_height_mm:
            bars += self._stretchers(top, foot)
        return Piece("Splayed bench", self._joints, tuple(bars))

    @property
    def _top(self) -> Vec:
        """Middle of the right back leg where it meets the rail's top."""
        along = self.rail_length_mm / 2 - self.leg_from_end_mm
        return Vec(along, self.rails_apart_mm / 2, self.seat_height_mm)

    @property
    def _joints(self) -> tuple[PieceJoint, ...]:
        bridle = {"tongue_thickness_mm": self.tongue_thickness_mm, "fit_mm": self.fit_mm}
        tenon: dict[str, Any] = {
            "tenon_length_mm": self.tenon_length_mm,
            "tenon_width_mm": self.tenon_width_mm,
            "tenon_thickness_mm": self.tenon_thickness_mm,
            "fit_mm": self.fit_mm,
        }
        return (
            PieceJoint("leg over rail", joint_type("splayed_bridle"), bridle),
            PieceJoint("stretcher tenon", joint_type("angled_tenon"), tenon),
        )

    def _rails(self) -> Iterator[RoomBar]:
        half, middle = self.rail_length_mm / 2, self.seat_height_mm - self.rail_depth_mm / 2
        for row, y in ROWS:
            at = y * self.rails_apart_mm / 2
            yield RoomBar(
                f"rail, {row}",
                self.rail_depth_mm,
                self.rail_thickness_mm,
                Vec(-half, at, middle),
                Vec(half, at, middle),
                Plain(Plane(-X, half)),
                Plain(Plane(X, half)),
                faces=Vec(0.0, y, 0.0),
            )

    def _stretchers(self, top: Vec, foot: Vec) -> Iterator[RoomBar]:
        size = self.stretcher_width_mm, self.stretcher_thickness_mm
        down = (self.seat_height_mm - self.stretcher_height_mm) / self.seat_height_mm
        at = top + (foot - top) * down
        for side, x in SIDES:
            front, back = (_placed(at, x, y) for _, y in ROWS)
            legs = [Joined("stretcher tenon", f"leg, {row} {side}") for row, _ in ROWS]
            # Square to the plane of its two legs, or plumb.
            lean = _placed(foot - top, x, 1.0) if self.stretchers_stand == "leaning" else Z
            looks = Vec(0.0, 1.0, 0.0) ^ lean
            looks = looks if looks.x * x > 0 else -looks
            yield RoomBar(f"end stretcher, {side}", *size, front, back, legs[0], legs[1], looks)
        if self.long_stretcher:
            left, right = (Vec(x * at.x, 0.0, at.z) for _, x in SIDES)
            into = [Joined("stretcher tenon", f"end stretcher, {side}") for side, _ in SIDES]
            looks = Vec(0.0, -1.0, 0.0)
            yield RoomBar("long stretcher", *size, left, right, into[0], into[1], looks)

    # Echoed ---------------------------------------------------------------------------

    def measured(self) -> Mapping[str, float]:
        placed = placed_bars(self.piece())
        rail = placed["rail, back"].near
        seat = rail.side(side_towards(rail, Z)).at
        return {**tape_of(placed.values()), "seat height": seat}

    @classmethod
    def examples(cls) -> tuple[SplayedBench, ...]:
        base = cls(
            seat_height_mm=430,
            footprint_length_mm=1040,
            footprint_depth_mm=480,
            rail_length_mm=1000,
            rail_depth_mm=60,
            rail_thickness_mm=30,
            rails_apart_mm=260,
            leg_from_end_mm=110,
            leg_width_mm=66,
            leg_thickness_mm=44,
            tongue_thickness_mm=22,
            stretcher_height_mm=150,
        )
        splayed = attrs.evolve(
            base,
            footprint_length_mm=0,
            footprint_depth_mm=0,
            splay_along_deg=12,
            splay_across_deg=8,
            stretchers_stand="upright",
        )
        return base, splayed


def _placed(point: Vec, x: float, y: float) -> Vec:
    """The point's image at another corner; x and y: 1 or -1."""
    return Vec(point.x * x, point.y * y, point.z)


def _legs(bench: SplayedBench, top: Vec, foot: Vec) -> Iterator[RoomBar]:
    for side, x in SIDES:
        for row, y in ROWS:
            yield RoomBar(
                f"leg, {row} {side}",
                bench.leg_width_mm,
                bench.leg_thickness_mm,
                _placed(top, x, y),
                _placed(foot, x, y),
                Joined("leg over rail", f"rail, {row}"),
                Plain(FLOOR),
                faces=Vec(x, 0.0, 0.0),
                forced=True,
            )
