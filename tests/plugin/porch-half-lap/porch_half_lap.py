"""Corner half lap: two rails of a frame, each halved across the other's end, at any angle.

World: X along rail a from the outer corner, Y into the frame, Z out of the face sides, which
are flush. Each rail ends in the plane of the other's outer edge, its face edge, and is lapped
as deep as the other is wide. Rail a keeps its back half, rail b its face half. Along its own
grain rail a comes out at any angle: across the corner it would run into b's shoulder.
"""

from math import cos, radians, sin
from typing import Any, ClassVar

import attrs

from jointgeo.plugin import (
    INF,
    Bar,
    Check,
    Drawing,
    JointType,
    Length,
    Notch,
    Plane,
    Turn,
    Vec,
    X,
    Y,
    Z,
    angle_between,
    at_least,
    deg,
    mm,
)

__version__ = "1.0.0"
ORIGIN = Vec(0.0, 0.0, 0.0)


@attrs.frozen
class CornerHalfLap(JointType):
    name: ClassVar[str] = "corner_half_lap"
    summary: ClassVar[str] = "Two rails of a frame halved across each other's ends, at any angle"
    edition: ClassVar[int] = 2

    width_a_mm: float = mm(
        "Width of rail a", 0.1, 300, Length("rail a.face_edge", "rail a.back_edge")
    )
    width_b_mm: float = mm(
        "Width of rail b", 0.1, 300, Length("rail b.face_edge", "rail b.back_edge")
    )
    thickness_mm: float = mm(
        "Thickness of both rails", 6, 200, Length("rail a.face_side", "rail a.back")
    )
    length_a_mm: float = mm(
        "Length of rail a along its outer edge",
        0.1,
        shows=Length(
            "rail b.face_edge", "rail a.far", along=("rail a.face_side", "rail a.face_edge")
        ),
    )
    length_b_mm: float = mm(
        "Length of rail b along its outer edge",
        0.1,
        shows=Length(
            "rail a.face_edge", "rail b.far", along=("rail b.face_side", "rail b.face_edge")
        ),
    )
    corner_deg: float = deg(
        "Inside angle between the rails",
        30,
        150,
        Turn("rail a.grain", "rail b.grain", seen="rail a.face_side", towards="rail a.back_edge"),
    )
    fit_mm: float = mm(
        "Gap between the two cheeks",
        -1,
        2,
        Length("rail a/lap.cheek1", "rail b/lap.cheek1", towards="rail a.face_side"),
        default=0.0,
    )

    def draw(self) -> Drawing:
        c, s = cos(radians(self.corner_deg)), sin(radians(self.corner_deg))
        size = self.width_a_mm, self.thickness_mm, self.length_a_mm
        a = Bar.cornered("rail a", size, X, Z, -Y, ORIGIN, handed=True)
        size = self.width_b_mm, self.thickness_mm, self.length_b_mm
        b = Bar.cornered("rail b", size, Vec(c, s, 0), Z, Vec(-s, c, 0), ORIGIN, handed=True)
        low, high = ((self.thickness_mm + sign * self.fit_mm) / 2 for sign in (-1, 1))
        laps = (
            Notch("lap", a, Plane(b.edge, 0), -Z, [(-INF, high, b.width)], gap=self.fit_mm),
            Notch("lap", b, Plane(a.edge, 0), -Z, [(low, INF, a.width)], gap=self.fit_mm),
        )
        return Drawing((a, b), laps, slides={"rail a": X})

    @classmethod
    def measure(cls, bar: Bar, mate: Bar) -> dict[str, Any]:
        def outer(rail: Bar, other: Bar) -> float:
            edge = rail.middle + rail.edge * (rail.width / 2)
            return rail.length - other.side("face_edge").hit(edge, rail.grain)

        return {
            "width_a_mm": bar.width,
            "width_b_mm": mate.width,
            "thickness_mm": bar.thickness,
            "length_a_mm": outer(bar, mate),
            "length_b_mm": outer(mate, bar),
            "corner_deg": angle_between(bar.grain, mate.grain),
        }

    def sizes(self) -> dict[str, Any]:
        a, b = (notch.channels[0] for notch in self.drawing.notches)
        return {"fit_mm": a.high - b.low}

    def also(self) -> dict[str, tuple[float, float]]:
        (a, b), (on_a, on_b) = self.drawing.bars, self.drawing.notches
        middle = (on_a.channels[0].high + on_b.channels[0].low) / 2
        return {
            "cheeks in the middle of the thickness": (middle, -Z @ a.middle),
            "lap of rail a as deep as rail b is wide": (on_a.channels[0].depth, b.width),
            "lap of rail b as deep as rail a is wide": (on_b.channels[0].depth, a.width),
        }

    def checks(self) -> tuple[Check, ...]:
        half, why = (self.thickness_mm - self.fit_mm) / 2, "a thinner half breaks off in the lap"
        return (at_least("lapped_half", half, 5.0, "mm", why, short="caution"),)

    @classmethod
    def examples(cls) -> tuple["CornerHalfLap", ...]:
        size = {"width_a_mm": 60, "width_b_mm": 50, "thickness_mm": 22}
        size |= {"length_a_mm": 420, "length_b_mm": 380}
        return cls(**size, corner_deg=84, fit_mm=0.1), cls(**size, corner_deg=100)
