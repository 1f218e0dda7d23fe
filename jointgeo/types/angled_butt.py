"""A rail's end cut plain at both angles against the side of a post, for dowels or a loose tenon.

Knows the plug-in contract only; no fixture, no solver, no other joint type.

World: the cut end is Z = 0, Z into the rail; X along the cut's line on the rail's face side; the
rail's centre line passes through the origin. The post lies below, its face side in the cut, its
grain along X turned back by ``post_turn_deg`` about Z. With n = Z and f the rail's face side, of
bars that stand in a room,

    X = n ^ f        turn = atan2(h·X, g·X)        offset = (rail's centre - post's centre line)·h

where g is the post's grain (g·X ≥ 0) and h = n ^ g. The end is trimmed in one clamping that
follows the face side, so no angle needs packing, and neither turn nor offset changes a setting.
"""

from __future__ import annotations

from functools import cached_property
from math import atan2, cos, degrees, radians, sin, sqrt, tan
from typing import Any, ClassVar

import attrs

from jointgeo.plugin import (
    Bar,
    Check,
    Cross,
    Drawing,
    JointType,
    Length,
    Meet,
    Middle,
    Notch,
    Plane,
    Remedy,
    Turn,
    Vec,
    Verify,
    X,
    Z,
    angle_between,
    at_least,
    deg,
    mm,
    thickness_of,
    width_of,
)

__all__ = ["AngledButt"]

FACE = "post.face_side"
LINE = Cross("rail.face_side", FACE)
SQUARE = 1e-9  # cosine of two directions that are square to each other; rounding is 1e-15


@attrs.frozen
class AngledButt(JointType):
    name: ClassVar[str] = "angled_butt"
    summary: ClassVar[str] = (
        "A rail's end cut plain at both angles against a post, for dowels or a loose tenon"
    )

    rail_width_mm: float = mm(
        "Width of the rail, across its face side", 0.1, 1000, width_of("rail")
    )
    rail_thickness_mm: float = mm(
        "Thickness of the rail, face side to back", 0.1, 500, thickness_of("rail")
    )
    rail_length_mm: float = mm(
        "Length of the rail along its centre line, from this end to the other",
        0.1,
        shows=Length(FACE, "rail.far", along="rail.centre"),
    )
    width_angle_deg: float = deg(
        "End off square on the face side; positive rises to the right, cut end down",
        -60,
        60,
        Turn("rail.back_edge", LINE, "rail.face_side", "rail.grain"),
        default=0.0,
    )
    thickness_angle_deg: float = deg(
        "End off square on the edge; positive rises from face side to back, cut end down",
        -60,
        60,
        Turn("rail.back", Cross("rail.face_edge", FACE), "rail.face_edge", "rail.grain"),
        default=0.0,
    )
    post_width_mm: float = mm(
        "Width of the post's side that the end comes to", 0.1, 1000, width_of("post")
    )
    post_thickness_mm: float = mm(
        "Thickness of the post, away from the rail", 0.1, 1000, thickness_of("post")
    )
    post_turn_deg: float = deg(
        "Rail's end turned on the post's side, from the post's grain to the line on the rail's "
        "face side; positive towards the rail's back",
        -89.9999,
        90,
        Turn("post.grain", LINE, FACE, "post.face_edge"),
        default=0.0,
    )
    post_offset_mm: float = mm(
        "Rail's centre line off the middle of the post's side, square to the post's grain; "
        "positive towards the rail's back",
        -500,
        500,
        Length(
            Meet("rail.centre", FACE),
            Middle("post.face_edge", "post.back_edge"),
            towards="post.back_edge",
        ),
        default=0.0,
    )

    # Drawn ----------------------------------------------------------------------------

    @cached_property
    def _rail(self) -> Bar:
        w, t = radians(self.width_angle_deg), radians(self.thickness_angle_deg)
        up = 1.0 / sqrt(1.0 + tan(w) ** 2 + tan(t) ** 2)
        grain = Vec(sin(w), cos(w) * tan(t) * up, up)
        face = (X ^ grain).unit
        size = self.rail_width_mm, self.rail_thickness_mm, self.rail_length_mm
        return Bar("rail", *size, grain, face, face ^ grain, Vec(0.0, 0.0, 0.0))

    @property
    def _post(self) -> Bar:
        turn = radians(self.post_turn_deg)
        grain, edge = Vec(cos(turn), -sin(turn), 0.0), Vec(sin(turn), cos(turn), 0.0)
        # As much of the post as shows the joint.
        long = 3.0 * (self.rail_width_mm + self.rail_thickness_mm)
        size = self.post_width_mm, self.post_thickness_mm, long
        corner = edge * (self.post_width_mm / 2 - self.post_offset_mm) - grain * (long / 2)
        return Bar.cornered("post", size, grain, Z, edge, corner)

    def draw(self) -> Drawing:
        rail, end = self._rail, Plane(-Z, 0.0)
        corners = [(p - rail.middle) @ rail.grain for p in rail.arrises(end)]
        longest = self.rail_length_mm - min(corners)
        what = "rail, long point of the cut end to the far end along the longest edge"
        verify = {"rail": (Verify(what, longest, "steel rule"),)}
        cut = Notch("cut end", rail, end, X, ())
        return Drawing((rail, self._post), (cut,), slides={"rail": Z}, verify=verify)

    # Read back ------------------------------------------------------------------------

    @classmethod
    def measure(cls, bar: Bar, mate: Bar) -> dict[str, Any]:
        face = mate.side("face_side")
        to_face, inward = face.hit(bar.middle, bar.grain), bar.stock(face.normal)
        line = (face.normal ^ bar.face).unit
        grain = mate.grain if mate.grain @ line > 0 else -mate.grain
        if abs(grain @ line) <= SQUARE and (face.normal ^ grain) @ line < 0:
            grain = -grain  # square across the grain is a turn of 90, never of -90
        sideways = face.normal ^ grain
        centre = bar.middle + bar.grain * to_face
        return {
            "rail_width_mm": bar.width,
            "rail_thickness_mm": bar.thickness,
            "rail_length_mm": bar.length - to_face,
            "width_angle_deg": degrees(atan2(-inward.x, inward.z)),
            "thickness_angle_deg": degrees(atan2(-inward.y, inward.z)),
            "post_width_mm": mate.width,
            "post_thickness_mm": mate.thickness,
            "post_turn_deg": degrees(atan2(sideways @ line, grain @ line)),
            "post_offset_mm": sideways @ (centre - mate.middle),
        }

    def also(self) -> dict[str, tuple[float, float]]:
        (rail, post), (cut,) = self.drawing.bars, self.drawing.notches
        return {
            "cut end on the post's face side": (cut.end.at, -post.side("face_side").at),
            "cut end along the post's face side": (angle_between(-cut.end.normal, post.face), 0.0),
            "cut follows the rail's face side": (cut.across @ rail.face, 0.0),
            "channels in the cut end": (len(cut.channels), 0),
        }

    # Judged ---------------------------------------------------------------------------

    def _over(self) -> float:
        """Least distance of the cut end's corners inside the post's two edges."""
        (rail, post), (cut,) = self.drawing.bars, self.drawing.notches
        sides = post.side("face_edge"), post.side("back_edge")
        return min(-side.out(p) for side in sides for p in rail.arrises(cut.end))

    def checks(self) -> tuple[Check, ...]:
        why = "where the end stands over the post's edge it bears on nothing"
        check = at_least("end_on_post", self._over(), 0.0, "mm", why, short="caution")
        if check.status != "pass":
            wide = self.post_width_mm - 2 * check.margin
            says = f"a post {wide:.1f} mm wide there carries the whole end"
            remedies = [Remedy("wider_post", says, {"post_width_mm": wide})]
            centred = attrs.evolve(self, post_offset_mm=0.0)
            if self.post_offset_mm and centred._over() >= 0:
                says = f"the rail moved by {abs(self.post_offset_mm):.1f} mm to the post's middle"
                remedies.insert(0, Remedy("centre_rail", says, {"post_offset_mm": 0.0}))
            check = attrs.evolve(check, remedies=tuple(remedies))
        return (attrs.evolve(check, part="rail"),)

    def notes(self) -> tuple[str, ...]:
        return (
            "glue holds little on end grain: dowels or a loose tenon carry this joint; set them "
            "out from the middle of the cut end, and bore square to it, not along the rail",
        )

    @classmethod
    def examples(cls) -> tuple[AngledButt, ...]:
        base = cls(
            rail_width_mm=60,
            rail_thickness_mm=22,
            rail_length_mm=380,
            width_angle_deg=8,
            thickness_angle_deg=6,
            post_width_mm=42,
            post_thickness_mm=42,
        )
        turned = attrs.evolve(base, width_angle_deg=-5, post_turn_deg=12, post_offset_mm=3)
        return base, turned
