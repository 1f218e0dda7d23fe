"""A table on four legs splayed both ways, with an apron on every side.

Knows the contract of piece types, and the joint type it uses by its name. The long side is left to
right. Each leg shows edge-on in the front view: its sides towards the ends are square to that view,
so that the long aprons meet it squarely along the room.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property
from math import radians, tan
from typing import Any, ClassVar

import attrs

from jointgeo.errors import InputError
from jointgeo.geometry.vectors import Vec, X, Y
from jointgeo.joints.registry import joint_type
from jointgeo.pieces.between import FLOOR, corners, flat, leg, rail_between
from jointgeo.pieces.model import Piece, PieceJoint, RoomBar
from jointgeo.pieces.outside import Want, fitted
from jointgeo.pieces.piece_type import PieceType
from jointgeo.pieces.room import placed_bars
from jointgeo.pieces.taped import tape_of
from jointgeo.schema.fields import angle, choice, length

__all__ = ["SplayedTable"]

TOP, FOOT = "tops", "feet"
DRAWN = "leg, back right"  # the one that is drawn; the others are its images
NOTHING = Vec(0.0, 0.0, 0.0)


@attrs.frozen(slots=False)
class SplayedTable(PieceType):
    name: ClassVar[str] = "splayed_table"
    summary: ClassVar[str] = "A table on four legs splayed both ways, with aprons"
    symmetry: ClassVar[tuple[str, ...]] = ("left_right", "front_back")

    height_mm: float = length("Floor to the tops of the legs", above=0, high=2000)
    top_length_mm: float = length("Over the tops of the legs, left to right", above=0)
    top_depth_mm: float = length("Over the tops of the legs, front to back", above=0)
    drawn_to: str = choice(
        "Whether the sizes at the tops are over the outsides of the legs or to their middles",
        ("outsides", "middles"),
        default="outsides",
    )
    footprint_length_mm: float = length(
        "Over the feet, left to right; 0: as splay_long_deg says", low=0, default=0.0
    )
    footprint_depth_mm: float = length(
        "Over the feet, front to back; 0: as splay_short_deg says", low=0, default=0.0
    )
    splay_long_deg: float = angle(
        "Lean of the legs off plumb as seen from the front, feet out; with no footprint_length_mm",
        low=-40,
        high=40,
        default=0.0,
    )
    splay_short_deg: float = angle(
        "Lean of the legs off plumb as seen from the end, feet out; with no footprint_depth_mm",
        low=-40,
        high=40,
        default=0.0,
    )
    leg_width_mm: float = length("Width of the legs, seen from the end", above=0, high=300)
    leg_thickness_mm: float = length(
        "Thickness of the legs, seen from the front", above=0, high=300
    )
    apron_width_mm: float = length("Width of the aprons, top to lower edge", above=0, high=500)
    apron_thickness_mm: float = length("Thickness of the aprons", above=0, high=200)
    aprons_below_mm: float = length(
        "Tops of the legs down to the highest corner of the aprons", low=0, default=0.0
    )
    apron_height_mm: float = length(
        "Floor to the middle of the aprons, in place of aprons_below_mm; 0: not said so",
        low=0,
        high=2000,
        default=0.0,
    )
    aprons_stand: str = choice(
        "How the aprons stand: leaning in the plane of their legs, or upright",
        ("leaning", "upright"),
        default="leaning",
    )
    aimed_at: str = choice(
        "Where the aprons run to: the middles of the legs, or the middles of the mortised sides",
        ("leg_middles", "side_middles"),
        default="leg_middles",
    )
    tenon_length_mm: float = length("Length of the aprons' tenons", above=0, default=15.0)
    tenon_width_mm: float = length("Width of their mortises", above=0, default=60.0)
    tenon_thickness_mm: float = length("Thickness of their mortises", above=0, default=8.0)
    fit_mm: float = length(
        "Clearance of all joints; negative: interference", low=-1, high=2, default=0.1
    )

    def __attrs_post_init__(self) -> None:
        for one, other in (
            ("splay_long_deg", "footprint_length_mm"),
            ("splay_short_deg", "footprint_depth_mm"),
            ("aprons_below_mm", "apron_height_mm"),
        ):
            given = getattr(self, one)
            if given and getattr(self, other):
                says, unit = f"is given together with {other}", one.rpartition("_")[2]
                raise InputError.of(one, says, given, "one of the two, the other 0", unit)
        if (height := self.height_mm) <= self.apron_width_mm:
            allowed = f"more than apron_width_mm = {self.apron_width_mm:g} mm"
            raise InputError.of("height_mm", "is too small", height, allowed, "mm")
        half = self.apron_width_mm / 2
        for name, most, what in (
            ("aprons_below_mm", height - self.apron_width_mm, "apron_width_mm"),
            ("apron_height_mm", height - half, "half of apron_width_mm"),
        ):
            if (given := getattr(self, name)) and given >= most:
                allowed = f"less than {most:g} mm, height_mm less {what}"
                raise InputError.of(name, "is too large", given, allowed, "mm")

    # Drawn ----------------------------------------------------------------------------

    def piece(self) -> Piece:
        return self._drawn

    @cached_property
    def _drawn(self) -> Piece:
        wants = {}
        if self.drawn_to == "outsides":
            sizes = (X, self.top_length_mm / 2), (Y, self.top_depth_mm / 2)
            wants[TOP] = Want(DRAWN, flat(self.height_mm), sizes)
        feet = (X, self.footprint_length_mm / 2), (Y, self.footprint_depth_mm / 2)
        if asked := tuple((way, half) for way, half in feet if half):
            wants[FOOT] = Want(DRAWN, FLOOR, asked)
        return fitted(self._moved, wants)

    def _moved(self, moves: Mapping[str, Vec]) -> Piece:
        """moves: of the right back leg's top and foot from where they are drawn first, its foot
        with its top."""
        down = self.height_mm
        half = Vec(self.top_length_mm / 2, self.top_depth_mm / 2, down)
        top = half + moves.get(TOP, NOTHING)
        out = Vec(
            down * tan(radians(self.splay_long_deg)), down * tan(radians(self.splay_short_deg)), 0.0
        )
        foot = Vec(top.x, top.y, 0.0) + out + moves.get(FOOT, NOTHING)
        legs = {bar.name: bar for bar in self._legs(top, foot)}
        bars = [*legs.values(), *self._aprons(legs)]
        return Piece("Splayed table", (self._joint,), tuple(bars))

    @property
    def _joint(self) -> PieceJoint:
        sizes: dict[str, Any] = {
            "tenon_length_mm": self.tenon_length_mm,
            "tenon_width_mm": self.tenon_width_mm,
            "tenon_thickness_mm": self.tenon_thickness_mm,
            "fit_mm": self.fit_mm,
        }
        return PieceJoint("apron tenon", joint_type("angled_tenon"), sizes)

    def _legs(self, top: Vec, foot: Vec) -> Iterator[RoomBar]:
        size = self.leg_width_mm, self.leg_thickness_mm
        for name, x, y in corners():
            ends = Vec(top.x * x, top.y * y, top.z), Vec(foot.x * x, foot.y * y, foot.z)
            looks = Y ^ (ends[1] - ends[0])  # square to the front view
            out = looks if looks.x * x > 0 else -looks
            yield leg(f"leg, {name}", size, *ends, out)

    def _aprons(self, legs: Mapping[str, RoomBar]) -> Iterator[RoomBar]:
        for name, one, other, out in (
            ("long apron, front", "front left", "front right", -Y),
            ("long apron, back", "back left", "back right", Y),
            ("short apron, left", "front left", "back left", -X),
            ("short apron, right", "front right", "back right", X),
        ):
            at = self.apron_height_mm or self.height_mm - self.aprons_below_mm
            yield rail_between(
                name,
                (self.apron_width_mm, self.apron_thickness_mm),
                self._joint,
                (legs[f"leg, {one}"], legs[f"leg, {other}"]),
                flat(at),
                out,
                leaning=self.aprons_stand == "leaning",
                aim="sides" if self.aimed_at == "side_middles" else "middles",
                top=not self.apron_height_mm,
            )

    # Echoed ---------------------------------------------------------------------------

    def measured(self) -> Mapping[str, float]:
        placed = placed_bars(self.piece())
        tops = placed[DRAWN].near.arrises(flat(self.height_mm))
        aprons = [b.near for name, b in placed.items() if "apron" in name]
        highest = max(p.z for b in aprons for p in b.arrises(b.near))
        return {
            **tape_of(placed.values()),
            "tops of the legs, left to right": 2 * max(p.x for p in tops),
            "tops of the legs, front to back": 2 * max(p.y for p in tops),
            "tops of the legs down to the aprons": self.height_mm - highest,
        }

    @classmethod
    def examples(cls) -> tuple[SplayedTable, ...]:
        base = cls(
            height_mm=720,
            top_length_mm=1000,
            top_depth_mm=600,
            drawn_to="middles",
            splay_long_deg=8,
            splay_short_deg=5,
            leg_width_mm=50,
            leg_thickness_mm=50,
            apron_width_mm=80,
            apron_thickness_mm=22,
            aprons_below_mm=15,
            tenon_width_mm=56,
        )
        footprint = attrs.evolve(
            base,
            drawn_to="outsides",
            splay_long_deg=0,
            splay_short_deg=0,
            footprint_length_mm=1200,
            footprint_depth_mm=740,
            aprons_stand="upright",
        )
        return base, footprint
