"""Piece types that are broken on purpose, each in a way an author might break it.

All are the footstool of the distribution under tests/plugin, loaded from its file so that nothing
needs to be installed, with its first example only.
"""

from __future__ import annotations

import importlib.util
import itertools
import sys
from collections.abc import Mapping
from math import radians, tan
from pathlib import Path
from types import ModuleType
from typing import Any, ClassVar

import attrs

from jointgeo.errors import InputError
from jointgeo.pieces.plugin import (
    Joined,
    Piece,
    Plain,
    Plane,
    RoomBar,
    Vec,
    X,
    Y,
    Z,
    angle,
    choice,
    flat,
    length,
    placed_bars,
    rail_between,
)

__all__ = ["BROKEN", "MORE", "Footstool", "Stool"]

_FILE = Path(__file__).parent.parent / "plugin" / "porch-footstool" / "porch_footstool.py"


def _load() -> ModuleType:
    spec = importlib.util.spec_from_file_location("porch_footstool", _FILE)
    if spec is None or spec.loader is None:
        raise ImportError(str(_FILE))
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module  # attrs looks annotations up there
    spec.loader.exec_module(module)
    return module


Footstool: Any = _load().Footstool


@attrs.frozen
class Stool(Footstool):
    @classmethod
    def examples(cls) -> tuple[Any, ...]:
        return (cls(**Footstool.examples()[0].to_dict()),)


#: Check → the type that fails it, and what its author is told.
BROKEN: dict[str, tuple[Any, str]] = {}
#: Further faults: what is wrong → the check, the type, and what its author is told.
MORE: dict[str, tuple[str, Any, str]] = {}


def fails(check: str, tells: str) -> Any:
    def keep(cls: Any) -> Any:
        BROKEN[check] = attrs.frozen(cls), tells
        return BROKEN[check][0]

    return keep


def also(what: str, check: str, tells: str) -> Any:
    def keep(cls: Any) -> Any:
        MORE[what] = check, attrs.frozen(cls), tells
        return MORE[what][1]

    return keep


def changed(piece: Piece, name: str, **changes: Any) -> Piece:
    """The piece with one bar changed."""
    bars = (attrs.evolve(b, **changes) if b.name == name else b for b in piece.bars)
    return attrs.evolve(piece, bars=tuple(bars))


@fails("declaration", "summary must be one printable line of 3 words or more")
class TwoLines(Stool):
    summary: ClassVar[str] = "A footstool on four\nsplayed legs"


@fails("fields", "leg_mm: help must be a line of 3 words or more, not 'Legs'")
class NoHelp(Stool):
    leg_mm: float = length("Legs", above=0, high=150)


@fails("schema", "rails_stand: choices must be two or more different texts")
class OneChoiceTwice(Stool):
    rails_stand: str = choice("How the rails stand", ("leaning", "leaning"), default="leaning")


@fails("examples", "choose examples with more room")
class OneFootstoolOnly(Stool):
    def __attrs_post_init__(self) -> None:
        if abs(self.length_mm - 340) > 0.25:  # a sixty-fourth of an inch is taken
            raise InputError.of("length_mm", "is not to my liking", self.length_mm)


@fails("json_round_trip", "after to_dict and from_dict")
class Rounds(Stool):
    def to_dict(self) -> dict[str, Any]:
        return super().to_dict() | {"depth_mm": round(self.depth_mm)}


@fails("inches", "depth_mm: ")
class ShortInches(Stool):
    @classmethod
    def from_dict(cls, data: Any) -> Any:
        if isinstance(data, Mapping) and isinstance(data.get("depth_in"), float):
            data = {**data, "depth_in": data["depth_in"] * 25 / 25.4}
        return super().from_dict(data)


@fails("bad_input", "is taken")
class TakesText(Stool):
    @classmethod
    def from_dict(cls, data: Any) -> Any:
        if isinstance(data, dict) and data.get("depth_mm") == "1.5":
            data = data | {"depth_mm": 1.5}
        return super().from_dict(data)


@fails(
    "limits", "splay_deg = 0: ZeroDivisionError: 'float division by zero'; narrow the field's range"
)
class ByItsSplay(Stool):
    def piece(self) -> Piece:
        run = self.height_mm / tan(radians(self.splay_deg))  # from where the legs would meet
        return attrs.evolve(super().piece(), title=f"Footstool, legs that meet {run:.0f} mm up")


COUNT = itertools.count()


@fails("nothing_changed", "piece() gives another piece the second time")
class Numbered(Stool):
    def piece(self) -> Piece:
        return attrs.evolve(super().piece(), title=f"Footstool {next(COUNT)}")


@fails("bars", "joint peg: no end of a bar has it; use it, or leave it out of the piece")
class UnusedJoint(Stool):
    def piece(self) -> Piece:
        drawn = super().piece()
        peg = attrs.evolve(drawn.joints[0], name="peg")
        return attrs.evolve(drawn, joints=(*drawn.joints, peg))


@fails("twins", "short rail, right has no image where the symmetry (left_right, front_back) asks")
class OneRailHigher(Stool):
    def piece(self) -> Piece:
        drawn = super().piece()
        rail = drawn.bar("short rail, right")
        up = Z * -20.0
        return changed(drawn, rail.name, start=rail.start + up, end=rail.end + up)


@fails("goes_together", "overlap of cross rail, long and cross rail, short")
class RailsThroughEachOther(Stool):
    def piece(self) -> Piece:
        drawn = super().piece()
        tenon = drawn.joints[0]
        size = self.rail_width_mm, self.rail_thickness_mm
        level = flat(drawn.bar("long rail, front").start.z)
        bars = list(drawn.bars)
        for name, way, (one, other), faces in (
            ("cross rail, long", X, ("short rail, left", "short rail, right"), Y),
            ("cross rail, short", Y, ("long rail, front", "long rail, back"), X),
        ):
            run = drawn.bar(other).start @ way
            ends = [Joined(tenon.name, n) for n in (one, other)]
            start, end = (way * k + Z * level.at for k in (-run, run))
            bars.append(RoomBar(name, *size, start, end, *ends, faces=faces))
        return attrs.evolve(drawn, bars=tuple(bars))


@fails("stands", "its lowest point is 5 mm above the floor; the floor is Z = 0")
class FeetInTheAir(Stool):
    def piece(self) -> Piece:
        drawn = super().piece()
        bars = (
            attrs.evolve(b, far=Plain(Plane(-Z, -5.0))) if b.name.startswith("leg") else b
            for b in drawn.bars
        )
        return attrs.evolve(drawn, bars=tuple(bars))

    def measured(self) -> Mapping[str, float]:
        leg = placed_bars(self.piece())["leg, back right"]
        feet = leg.near.arrises(leg.planes[1])
        return {
            "height": self.height_mm - 5.0,
            "feet, left to right": 2 * max(p.x for p in feet),
            "feet, front to back": 2 * max(p.y for p in feet),
        }


@fails("measured", "work it out from the bars as they stand, not from what was asked")
class SaysWhatWasAsked(Stool):
    def measured(self) -> Mapping[str, float]:
        out = 2 * self.height_mm * tan(radians(self.splay_deg)) + self.leg_mm
        return {
            **super().measured(),
            "feet, left to right": self.length_mm + out,
            "feet, front to back": self.depth_mm + out,
        }


@also("an example that cannot be made", "examples", "tenon_in_rail of rail tenon fails though")
class WideTenons(Stool):
    def piece(self) -> Piece:
        drawn = super().piece()
        tenon = drawn.joints[0]
        wide = {**tenon.sizes, "tenon_width_mm": self.rail_width_mm + 1.0}
        return attrs.evolve(drawn, joints=(attrs.evolve(tenon, sizes=wide),))


@also("no example", "examples", "examples() must give a tuple of at least one piece")
class NoExample(Stool):
    @classmethod
    def examples(cls) -> tuple[Any, ...]:
        return ()


@also("a bar that no joint joins", "bars", "shelf is joined to nothing else; give an end a Joined")
class LooseShelf(Stool):
    def piece(self) -> Piece:
        drawn = super().piece()
        square = Plain(Plane(-X, 40.0)), Plain(Plane(X, 40.0))
        run = Vec(-40.0, 0.0, 5.0), Vec(40.0, 0.0, 5.0)
        shelf = RoomBar("shelf", 60, 10, *run, *square, Z)
        return attrs.evolve(drawn, bars=(*drawn.bars, shelf))


@also(
    "a rail that passes its leg",
    "bars",
    "long rail, front, near end: passes 21.97 mm beside leg, front left",
)
class PassesItsLeg(Stool):
    def piece(self) -> Piece:
        drawn = super().piece()
        rail = drawn.bar("long rail, front")
        by = Y * -40.0
        return changed(drawn, rail.name, start=rail.start + by, end=rail.end + by)


@also("a rail above its legs", "bars", "beyond the end of leg, front left; draw its line to where")
class AboveItsLegs(Stool):
    def piece(self) -> Piece:
        drawn = super().piece()
        rail = drawn.bar("long rail, front")
        up = Z * 60.0
        return changed(drawn, rail.name, start=rail.start + up, end=rail.end + up)


@also("a joint's angle said", "bars", "its sizes say width_angle_deg, which the bars decide")
class SaysAnAngle(Stool):
    def piece(self) -> Piece:
        drawn = super().piece()
        tenon = drawn.joints[0]
        said = attrs.evolve(tenon, sizes={**tenon.sizes, "width_angle_deg": 8.0})
        return attrs.evolve(drawn, joints=(said,))


@also("nothing measured of the feet", "measured", 'measured() must say "feet, left to right"')
class NoFeet(Stool):
    def measured(self) -> Mapping[str, float]:
        return {"height": self.height_mm}


@also("a symmetry that is none", "declaration", "symmetry: is no symmetry")
class UpsideDown(Stool):
    symmetry: ClassVar[tuple[str, ...]] = ("up_down",)


@also("an angle of a field out of all reason", "limits", "RecursionError")
class Recurses(Stool):
    splay_deg: float = angle("Lean of the legs off plumb in both views", low=0, high=30)

    def piece(self) -> Piece:
        if self.splay_deg >= 30:
            return self.piece()
        return super().piece()


@also("a rail of its own at one end", "twins", "are not cut alike")
class OneRailUpright(Stool):
    """Drawn where its image is, and turned with it, but let into other sides of its legs."""

    def piece(self) -> Piece:
        drawn = super().piece()
        tenon = attrs.evolve(drawn.joints[0], name="thinner tenon")
        thin = attrs.evolve(tenon, sizes={**tenon.sizes, "tenon_thickness_mm": 4.0})
        legs = drawn.bar("leg, front right"), drawn.bar("leg, back right")
        was = drawn.bar("short rail, right")
        size = self.rail_width_mm, self.rail_thickness_mm
        rail = rail_between(was.name, size, thin, legs, flat(was.start.z), X, leaning=True)
        bars = (rail if b.name == rail.name else b for b in drawn.bars)
        return attrs.evolve(drawn, joints=(*drawn.joints, thin), bars=tuple(bars))
