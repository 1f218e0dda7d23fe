"""Corner half lap: two rails of a frame, each halved across the other's end, at any angle.

World: X along rail a from the outer corner, Y into the frame, Z out of the face sides, which
are flush. Each rail ends in the plane of the other's outer edge, its face edge, and is lapped
as deep as the other is wide. Rail a keeps its back half, rail b its face half. Rail a comes out
along its own grain at any corner; across a wide one it would run into b's shoulder.
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
    Turn,
    Vec,
    X,
    Y,
    Z,
    angle_between,
    at_least,
    deg,
    mm,
    thickness_of,
    width_of,
)

__version__ = "1.0.0"
ARRIS_A, ARRIS_B = (
    ("rail a.face_side", "rail a.face_edge"),
    ("rail b.face_side", "rail b.face_edge"),
)


@attrs.frozen
class CornerHalfLap(JointType):
    name: ClassVar[str] = "corner_half_lap"
    summary: ClassVar[str] = "Two rails of a frame halved across each other's ends, at any angle"
    edition: ClassVar[int] = 2

    width_a_mm: float = mm("Width of rail a", 0.1, 300, width_of("rail a"))
    width_b_mm: float = mm("Width of rail b", 0.1, 300, width_of("rail b"))
    thickness_mm: float = mm("Thickness of both rails", 6, 200, thickness_of("rail a"))
    length_a_mm: float = mm(
        "Length of rail a along its outer edge",
        0.1,
        shows=Length("rail b.face_edge", "rail a.far", along=ARRIS_A),
    )
    length_b_mm: float = mm(
        "Length of rail b along its outer edge",
        0.1,
        shows=Length("rail a.face_edge", "rail b.far", along=ARRIS_B),
    )
    corner_deg: float = deg(
        "Inside angle between the rails",
        30,
        150,
        Turn("rail a.grain", "rail b.grain", seen="rail a.back", towards="rail a.back_edge"),
    )
    fit_mm: float = mm(
        "Clearance between the two cheeks; negative: interference",
        -1,
        2,
        Length("rail a/lap.cheek1", "rail b/lap.cheek1", towards="rail a.face_side"),
        default=0.0,
    )

    def draw(self) -> Drawing:
        c, s = cos(radians(self.corner_deg)), sin(radians(self.corner_deg))
        outer, thick = Vec(0.0, 0.0, 0.0), self.thickness_mm
        size = self.width_a_mm, thick, self.length_a_mm
        a = Bar.cornered("rail a", size, X, Z, -Y, outer, handed=True)
        size = self.width_b_mm, thick, self.length_b_mm
        b = Bar.cornered("rail b", size, X * c + Y * s, Z, Y * c - X * s, outer, handed=True)
        high, low = (thick + self.fit_mm) / 2, (thick - self.fit_mm) / 2  # below the face sides
        laps = (
            Notch("lap", a, b.side("face_edge"), -Z, [(-INF, high, b.width)], self.fit_mm),
            Notch("lap", b, a.side("face_edge"), -Z, [(low, INF, a.width)], self.fit_mm),
        )
        return Drawing((a, b), laps, slides={"rail a": X})

    @classmethod
    def measure(cls, bar: Bar, mate: Bar) -> dict[str, Any]:
        def along(one: Bar, other: Bar) -> float:
            """From the other's outer edge, along its own."""
            outer = one.middle + one.edge * (one.width / 2)
            return one.length - other.side("face_edge").hit(outer, one.grain)

        return {
            "width_a_mm": bar.width,
            "width_b_mm": mate.width,
            "thickness_mm": bar.thickness,
            "length_a_mm": along(bar, mate),
            "length_b_mm": along(mate, bar),
            "corner_deg": angle_between(bar.grain, mate.grain),
        }

    def sizes(self) -> dict[str, Any]:
        (cheek_a,), (cheek_b,) = (lap.cheeks for lap in self.drawing.notches)
        return {"fit_mm": -cheek_a.at - cheek_b.at}

    def also(self) -> dict[str, tuple[float, float]]:
        (a, b), (lap_a, lap_b) = self.drawing.bars, self.drawing.notches
        (cut_a,), (cut_b,) = lap_a.channels, lap_b.channels
        return {
            "rails alike in thickness": (b.thickness, a.thickness),
            "face sides flush": (a.side("face_side").at, b.side("face_side").at),
            "rail a lapped as deep as b is wide": (cut_a.depth, b.width),
            "rail b lapped as deep as a is wide": (cut_b.depth, a.width),
            "halves alike": (a.thickness - cut_a.high, cut_b.low),
        }

    def checks(self) -> tuple[Check, ...]:
        half, why = (self.thickness_mm - self.fit_mm) / 2, "a thinner half breaks off in the lap"
        return (at_least("lapped_half", half, 5.0, "mm", why, short="caution"),)

    @classmethod
    def examples(cls) -> tuple["CornerHalfLap", ...]:
        size = {"width_a_mm": 60, "width_b_mm": 50, "thickness_mm": 22}
        size |= {"length_a_mm": 420, "length_b_mm": 380}
        return cls(**size, corner_deg=84, fit_mm=0.1), cls(**size, corner_deg=100)
