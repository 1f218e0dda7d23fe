"""A stool, or a plant stand, on three legs that splay outwards from the middle.

Knows the contract of piece types, and the joint type it uses by its name. The legs are square and
stand on a circle, one of them in front, each with an arris towards the middle; upper rails join
them. Stretchers lower down make a triangle like the rails, or a T: one between the two back legs,
and one from its middle to the front leg, which for that stands with a side towards the middle.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property
from math import cos, radians, sin, tan
from typing import Any, ClassVar

import attrs

from jointgeo.errors import InputError
from jointgeo.geometry.vectors import Plane, Vec, X, Z
from jointgeo.joints.registry import joint_type
from jointgeo.pieces.between import FLOOR, crossing, flat, leg, rail_between
from jointgeo.pieces.model import Joined, Piece, PieceJoint, RoomBar
from jointgeo.pieces.outside import Want, fitted
from jointgeo.pieces.piece_type import PieceType
from jointgeo.pieces.room import placed_bars
from jointgeo.pieces.taped import tape_of
from jointgeo.schema.fields import angle, choice, length

__all__ = ["ThreeLeggedStool"]

FOOT = "feet"
NOTHING = Vec(0.0, 0.0, 0.0)
#: Of the leg's size. Two rails that come to one side at 30° each touch where they are half as thick
#: as it is wide; what they lean and the leg splays takes some of it.
THICKEST = 0.45
#: The legs, each with the way from the middle to it, degrees anticlockwise from above.
LEGS = (("front", -90.0), ("back right", 30.0), ("back left", 150.0))
DRAWN = "back right"  # whose foot is brought to where it is asked for
SIDES = (
    ("right", "front", "back right"),
    ("back", "back right", "back left"),
    ("left", "back left", "front"),
)


@attrs.frozen(slots=False)
class ThreeLeggedStool(PieceType):
    name: ClassVar[str] = "three_legged_stool"
    summary: ClassVar[str] = "A stool on three splayed legs, with rails and stretchers"
    symmetry: ClassVar[tuple[str, ...]] = ("left_right",)

    height_mm: float = length("Floor to the tops of the legs", above=0, high=2000)
    tops_circle_mm: float = length(
        "Diameter of the circle through the middles of the legs' tops", above=0, high=3000
    )
    feet_circle_mm: float = length(
        "Diameter of the circle that the feet reach out to; 0: as splay_deg says",
        low=0,
        high=4000,
        default=0.0,
    )
    splay_deg: float = angle(
        "Lean of the legs off plumb, feet straight out; with no feet_circle_mm",
        low=-30,
        high=40,
        default=0.0,
    )
    leg_size_mm: float = length("Width and thickness of the square legs", above=0, high=200)
    rails_below_mm: float = length(
        "Tops of the legs down to the highest corner of the upper rails", low=0
    )
    rail_width_mm: float = length("Width of rails and stretchers", above=0, high=300)
    rail_thickness_mm: float = length("Thickness of rails and stretchers", above=0, high=100)
    rails_stand: str = choice(
        "How rails and stretchers between two legs stand: leaning in their plane, or upright",
        ("leaning", "upright"),
        default="upright",
    )
    stretchers: str = choice(
        "Stretchers: none, a triangle like the rails, or a T from the back legs to the front one",
        ("none", "triangle", "tee"),
        default="none",
    )
    stretcher_height_mm: float = length(
        "Floor to the middle of the stretchers; with none, 0", low=0, high=2000, default=0.0
    )
    aimed_at: str = choice(
        "Where the rails run to: the middles of the legs, or the middles of the mortised sides; "
        "at the front leg of a T always its middle",
        ("leg_middles", "side_middles"),
        default="leg_middles",
    )
    tenon_length_mm: float = length("Length of the tenons", above=0, high=200, default=7.0)
    tenon_width_mm: float = length("Width of their mortises", above=0, high=300, default=28.0)
    tenon_thickness_mm: float = length(
        "Thickness of their mortises", above=0, high=100, default=6.0
    )
    fit_mm: float = length(
        "Clearance of all joints; negative: interference", low=-1, high=2, default=0.1
    )

    def __attrs_post_init__(self) -> None:
        if self.splay_deg and self.feet_circle_mm:
            says = "is given together with feet_circle_mm"
            allowed = "one of the two, the other 0"
            raise InputError.of("splay_deg", says, self.splay_deg, allowed, "deg")
        if bool(self.stretcher_height_mm) != (self.stretchers != "none"):
            says = f'does not go with stretchers = "{self.stretchers}"'
            allowed = "0 for none, above 0 otherwise"
            given = self.stretcher_height_mm
            raise InputError.of("stretcher_height_mm", says, given, allowed, "mm")
        if (height := self.height_mm) <= self.rail_width_mm:
            allowed = f"more than rail_width_mm = {self.rail_width_mm:g} mm"
            raise InputError.of("height_mm", "is too small", height, allowed, "mm")
        room, what = height - self.rail_width_mm, "height_mm less rail_width_mm"
        for name, most, less in (
            ("rails_below_mm", room, what),
            ("stretcher_height_mm", room - self.rails_below_mm, f"{what} and rails_below_mm"),
        ):
            if (given := getattr(self, name)) and given >= most:
                allowed = f"less than {most:g} mm, {less}"
                raise InputError.of(name, "is too large", given, allowed, "mm")
        thickest = THICKEST * self.leg_size_mm
        if self.stretchers == "tee" and self.rail_thickness_mm > thickest:
            name, given = "rail_thickness_mm", self.rail_thickness_mm
            allowed = f"at most {thickest:g} mm, so that two rails have room at a T's front leg"
            raise InputError.of(name, "is too large", given, allowed, "mm")

    # Drawn ----------------------------------------------------------------------------

    def piece(self) -> Piece:
        return self._drawn

    @cached_property
    def _drawn(self) -> Piece:
        wants = {}
        if self.feet_circle_mm:
            way = _way(dict(LEGS)[DRAWN])
            wants[FOOT] = Want(f"leg, {DRAWN}", FLOOR, ((way, self.feet_circle_mm / 2),))
        return fitted(self._moved, wants)

    def _moved(self, moves: Mapping[str, Vec]) -> Piece:
        """moves: of one foot from where the splay puts it; the others go out as far."""
        out = self.height_mm * tan(radians(self.splay_deg))
        out += moves.get(FOOT, NOTHING) @ _way(dict(LEGS)[DRAWN])
        legs = {bar.name: bar for bar in self._legs(out)}
        level = flat(self.height_mm - self.rails_below_mm)
        bars = [*legs.values(), *self._ring("upper rail", legs, level, SIDES, top=True)]
        lower = flat(self.stretcher_height_mm)
        if self.stretchers == "triangle":
            bars += self._ring("stretcher", legs, lower, SIDES)
        elif self.stretchers == "tee":
            (cross,) = self._ring("cross stretcher", legs, lower, SIDES[1:2])
            bars += [cross, self._stem(legs["leg, front"], cross)]
        return Piece("Three-legged stool", (self._joint,), tuple(bars))

    @property
    def _joint(self) -> PieceJoint:
        sizes: dict[str, Any] = {
            "tenon_length_mm": self.tenon_length_mm,
            "tenon_width_mm": self.tenon_width_mm,
            "tenon_thickness_mm": self.tenon_thickness_mm,
            "fit_mm": self.fit_mm,
        }
        return PieceJoint("rail tenon", joint_type("angled_tenon"), sizes)

    def _legs(self, out: float) -> Iterator[RoomBar]:
        size, radius = (self.leg_size_mm, self.leg_size_mm), self.tops_circle_mm / 2
        for name, degrees in LEGS:
            way = _way(degrees)
            top, foot = way * radius + Z * self.height_mm, way * (radius + out)
            grain = (foot - top).unit
            side = way.across(grain).unit
            if not (self.stretchers == "tee" and name == "front"):
                side = side + (side ^ grain)  # its arris comes to where the side was
            yield leg(f"leg, {name}", size, top, foot, side)

    def _ring(
        self,
        name: str,
        legs: Mapping[str, RoomBar],
        level: Plane,
        sides: tuple[tuple[str, str, str], ...],
        *,
        top: bool = False,
    ) -> Iterator[RoomBar]:
        for side, one, other in sides:
            ends = legs[f"leg, {one}"], legs[f"leg, {other}"]
            out = ends[0].start + ends[1].start
            title = name if len(sides) == 1 else f"{name}, {side}"
            size = self.rail_width_mm, self.rail_thickness_mm
            yield rail_between(
                title,
                size,
                self._joint,
                ends,
                level,
                Vec(out.x, out.y, 0.0),
                leaning=self.rails_stand == "leaning",
                aim="sides" if self._aimed_at_sides(one, other) else "middles",
                top=top,
            )

    def _aimed_at_sides(self, one: str, other: str) -> bool:
        # Two rails come to one side of a T's front leg, and would meet in its middle.
        ours = self.stretchers == "tee" and "front" in (one, other)
        return self.aimed_at == "side_middles" and not ours

    def _stem(self, front: RoomBar, cross: RoomBar) -> RoomBar:
        """From the middle of the cross stretcher to the front leg."""
        back, at = (cross.start + cross.end) / 2, crossing(front, flat(self.stretcher_height_mm))
        into = [Joined(self._joint.name, name) for name in (cross.name, front.name)]
        size = self.rail_width_mm, self.rail_thickness_mm
        return RoomBar("stretcher", *size, back, at, into[0], into[1], X)

    # Echoed ---------------------------------------------------------------------------

    def measured(self) -> Mapping[str, float]:
        placed = placed_bars(self.piece())
        reach = max(
            _way(dict(LEGS)[DRAWN]) @ p for p in placed[f"leg, {DRAWN}"].near.arrises(FLOOR)
        )
        return {**tape_of(placed.values()), "circle round the feet": 2 * reach}

    @classmethod
    def examples(cls) -> tuple[ThreeLeggedStool, ...]:
        base = cls(
            height_mm=700,
            tops_circle_mm=240,
            feet_circle_mm=460,
            leg_size_mm=36,
            rails_below_mm=60,
            rail_width_mm=40,
            rail_thickness_mm=18,
            stretchers="triangle",
            stretcher_height_mm=220,
        )
        tee = attrs.evolve(
            base,
            height_mm=450,
            tops_circle_mm=260,
            feet_circle_mm=420,
            leg_size_mm=50,
            rails_below_mm=20,
            stretchers="tee",
            stretcher_height_mm=150,
        )
        return base, tee


def _way(degrees: float) -> Vec:
    """Level, so many degrees anticlockwise from the right."""
    return Vec(cos(radians(degrees)), sin(radians(degrees)), 0.0)
