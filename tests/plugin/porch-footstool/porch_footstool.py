"""A footstool: four square legs that splay alike both ways, four rails between them.

Room: the middle of the floor is the origin, X to the right, Y to the back, Z up.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import radians, tan
from typing import ClassVar

import attrs

from jointgeo.pieces.plugin import (
    InputError,
    Piece,
    PieceJoint,
    PieceType,
    Vec,
    X,
    Y,
    angle,
    choice,
    corners,
    flat,
    joint_type,
    leg,
    length,
    placed_bars,
    rail_between,
    tape_of,
)

RAILS = (
    ("long rail, front", "front left", "front right", -Y),
    ("long rail, back", "back left", "back right", Y),
    ("short rail, left", "front left", "back left", -X),
    ("short rail, right", "front right", "back right", X),
)


@attrs.frozen
class Footstool(PieceType):
    name: ClassVar[str] = "footstool"
    summary: ClassVar[str] = "A footstool on four splayed legs with rails"
    symmetry: ClassVar[tuple[str, ...]] = ("left_right", "front_back")

    height_mm: float = length("Floor to the tops of the legs", above=0, high=1000)
    length_mm: float = length("Middles of the legs' tops, left to right", above=0, high=1500)
    depth_mm: float = length("Middles of the legs' tops, front to back", above=0, high=1500)
    splay_deg: float = angle("Lean of the legs off plumb in both views", low=0, high=30)
    leg_mm: float = length("Width and thickness of the legs", above=0, high=150)
    rail_width_mm: float = length("Width of the rails, top to lower edge", above=0, high=200)
    rail_thickness_mm: float = length("Thickness of the rails", above=0, high=80)
    rails_below_mm: float = length("Tops of the legs down to the rails", low=0, high=900)
    rails_stand: str = choice(
        "How the rails stand: leaning with their legs, or upright",
        ("leaning", "upright"),
        default="leaning",
    )

    def __attrs_post_init__(self) -> None:
        most = self.height_mm - self.rail_width_mm
        if self.rails_below_mm >= most:
            given, allowed = self.rails_below_mm, f"less than {most:g} mm"
            raise InputError.of("rails_below_mm", "is too large", given, allowed, "mm")

    def piece(self) -> Piece:
        sizes = {"tenon_length_mm": 8, "tenon_width_mm": 0.6 * self.rail_width_mm, "fit_mm": 0.1}
        thick = {"tenon_thickness_mm": self.rail_thickness_mm / 3}
        tenon = PieceJoint("rail tenon", joint_type("angled_tenon"), sizes | thick)
        out = self.height_mm * tan(radians(self.splay_deg))
        legs = {}
        for name, x, y in corners():
            top = Vec(x * self.length_mm / 2, y * self.depth_mm / 2, self.height_mm)
            foot = Vec(top.x + x * out, top.y + y * out, 0.0)
            looks = Y ^ (foot - top)  # its sides are square to the front view
            faces = looks if looks.x * x > 0 else -looks
            legs[name] = leg(f"leg, {name}", (self.leg_mm, self.leg_mm), top, foot, faces)
        level = flat(self.height_mm - self.rails_below_mm)
        rails = [
            rail_between(
                name,
                (self.rail_width_mm, self.rail_thickness_mm),
                tenon,
                (legs[one], legs[other]),
                level,
                faces,
                leaning=self.rails_stand == "leaning",
                top=True,
            )
            for name, one, other, faces in RAILS
        ]
        return Piece("Footstool", (tenon,), (*legs.values(), *rails))

    def measured(self) -> Mapping[str, float]:
        return tape_of(placed_bars(self.piece()).values())

    @classmethod
    def examples(cls) -> tuple[Footstool, ...]:
        base = cls(
            height_mm=300,
            length_mm=340,
            depth_mm=240,
            splay_deg=8,
            leg_mm=36,
            rail_width_mm=50,
            rail_thickness_mm=18,
            rails_below_mm=12,
        )
        return base, attrs.evolve(base, rails_stand="upright", splay_deg=6)
