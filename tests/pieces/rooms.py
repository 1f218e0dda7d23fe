"""Pieces whose numbers are known from elsewhere, drawn bar by bar. Test helper.

The bench: seat 430 mm, rails 60 × 30 × 1000 at 130 mm to front and back, legs 66 × 44 whose tops
come 110 mm from the rails' ends; end stretchers 50 × 22 at 150 mm between the legs, and a long one
between those.
"""

from __future__ import annotations

from math import cos, radians, sin, tan
from typing import Any

from jointgeo.geometry.vectors import Plane, Vec, Z
from jointgeo.joints.registry import joint_type
from jointgeo.pieces.model import Joined, Piece, PieceJoint, Plain, RoomBar

__all__ = ["FLOOR", "bench", "between", "frame", "tenon"]

FLOOR = Plain(Plane(-Z, 0.0))
H, STRETCHER, OUT, ACROSS = 430.0, 150.0, 390.0, 130.0


def tenon(name: str, **sizes: float) -> PieceJoint:
    """A tenon of 15 × 36 × 9 mm with 0.1 mm of clearance."""
    own: dict[str, Any] = {"tenon_length_mm": 15, "tenon_width_mm": 36, "tenon_thickness_mm": 9}
    return PieceJoint(name, joint_type("angled_tenon"), {**own, "fit_mm": 0.1, **sizes})


def bench(
    along: float = 12.0,
    across: float = 8.0,
    *,
    leaning: bool = True,
    housed: bool = True,
    long_width: float = 50.0,
) -> Piece:
    """leaning: whether the end stretchers lie in the plane of their legs, or stand upright."""
    a, c = tan(radians(along)), tan(radians(across))
    tongue = {"tongue_thickness_mm": 22 if housed else 30, "fit_mm": 0.1}
    bridle = PieceJoint("leg over rail", joint_type("splayed_bridle"), tongue)
    joints = bridle, tenon("end tenon"), tenon("long tenon", tenon_thickness_mm=7)
    ends = Plain(Plane(Vec(-1.0, 0.0, 0.0), 500.0)), Plain(Plane(Vec(1.0, 0.0, 0.0), 500.0))
    bars = []
    for name, y in (("front", -1.0), ("back", 1.0)):
        run = Vec(-500.0, ACROSS * y, H - 30), Vec(500.0, ACROSS * y, H - 30)
        bars.append(RoomBar(f"rail, {name}", 60, 30, *run, *ends, faces=Vec(0.0, y, 0.0)))
    for side, x in (("left", -1.0), ("right", 1.0)):
        for name, y in (("front", -1.0), ("back", 1.0)):
            run = Vec(OUT * x, ACROSS * y, H), Vec((OUT + H * a) * x, (ACROSS + H * c) * y, 0.0)
            top, looks = Joined("leg over rail", f"rail, {name}"), Vec(x, 0.0, 0.0)
            bar = RoomBar(f"leg, {name} {side}", 66, 44, *run, top, FLOOR, looks, forced=True)
            bars.append(bar)
    more = H - STRETCHER
    for side, x in (("left", -1.0), ("right", 1.0)):
        at = (OUT + more * a) * x
        run = Vec(at, -ACROSS - more * c, STRETCHER), Vec(at, ACROSS + more * c, STRETCHER)
        legs = (Joined("end tenon", f"leg, {y} {side}") for y in ("front", "back"))
        lean = radians(along) if leaning else 0.0
        looks = Vec(x * cos(lean), 0.0, sin(lean))
        bars.append(RoomBar(f"end stretcher, {side}", 50, 22, *run, *legs, looks))
    at = OUT + more * a
    run = Vec(-at, 0.0, STRETCHER), Vec(at, 0.0, STRETCHER)
    into = (Joined("long tenon", f"end stretcher, {s}") for s in ("left", "right"))
    bars.append(RoomBar("long stretcher", long_width, 22, *run, *into, Vec(0.0, -1.0, 0.0)))
    return Piece("Bench", joints, tuple(bars))


def between(
    one: RoomBar, other: RoomBar, height: float, looks: Vec, size: tuple[float, float], **more: Any
) -> RoomBar:
    """A level rail from one bar's middle line to another's at a height."""
    at = [b.start + b.grain * ((height - b.start.z) / b.grain.z) for b in (one, other)]
    return RoomBar(
        more.get("name", "rail"),
        *size,
        *at,
        Joined("tenon", one.name),
        Joined("tenon", other.name),
        looks,
    )


def frame(height: float = 400.0, rake: float = 8.0) -> Piece:
    """One side of a chair: a plumb front leg 42 × 42, a raked back leg 42 × 36, an upright side
    rail 60 × 22 between them; centres 440 and 360 apart left to right, 380 deep at the rail."""
    r = tan(radians(rake))
    top = Plain(Plane(Z, 850.0))
    run = Vec(220.0, -190.0, height), Vec(220.0, -190.0, 0.0)
    front = RoomBar("front leg", 42, 42, *run, Plain(Plane(Z, height + 40)), FLOOR, Vec(0, -1.0, 0))
    foot = Vec(180.0, 190.0 - height * r, 0.0)
    upper = Vec(180.0, 190.0 + (850 - height) * r, 850.0)
    back = RoomBar("back leg", 42, 36, upper, foot, top, FLOOR, Vec(0.0, -1.0, 0.0))
    out = Vec(cos(radians(6.0)), sin(radians(6.0)), 0.0)
    rail = between(front, back, height, out, (60, 22), name="side rail")
    return Piece("Chair side", (tenon("tenon"),), (front, back, rail))
