"""A splayed leg whose slotted end straddles a rail.

Knows the plug-in contract only; no fixture, no solver, no other joint type.

Theory. World: X across the rail, Y along it, Z down from its top edge; the leg's face
side looks to -Y. Seen square on to the rail the leg leans by ``splay_along``, seen along
it by ``splay_across``, so its axis runs along (tan across, tan along, 1). The slot's
cheeks are upright, its floor level. Where the leg's faces follow the rail (its thickness
direction has no part across the rail) the slot needs no packing:

    tilt = along        tan swivel = cos(tilt) · tan(across)
    tan² resultant = tan² along + tan² across
"""

from __future__ import annotations

import math
from functools import cached_property
from typing import ClassVar

import attrs
from numpy.typing import ArrayLike

from jointgeo.errors import InputError, Problem
from jointgeo.geometry.arith import (
    Number,
    arctan,
    column,
    cos,
    degrees,
    hypot,
    least,
    number,
    radians,
    tan,
)
from jointgeo.geometry.rotations import (
    UNIT_ROWS,
    Array,
    Rows,
    Vector,
    apply,
    cross,
    direction,
    moved,
    pose_rows,
    scaled,
    stacked,
    turn_x,
    turn_y,
)
from jointgeo.geometry.search import greatest
from jointgeo.joints.check import Check, Remedy, at_least, at_most
from jointgeo.joints.contract import (
    Channel,
    Contact,
    Expectation,
    Face,
    Flush,
    LayoutBox,
    Notch,
    Part,
    Placement,
    Verify,
)
from jointgeo.joints.joint_type import JointType
from jointgeo.schema.fields import angle, length

__all__ = ["SplayedBridle", "leg_frame", "leg_rows", "resultant_deg"]

_RAIL = ((0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0))  # world from rail


def leg_rows(splay_along_deg: Number, splay_across_deg: Number) -> Rows:
    """World axes in the leg's stock coordinates."""
    along, across = radians(splay_along_deg), radians(splay_across_deg)
    return turn_x(turn_y(UNIT_ROWS, arctan(cos(along) * tan(across))), -along)


def leg_frame(splay_along_deg: ArrayLike, splay_across_deg: ArrayLike) -> Array:
    """The same as arrays (..., 3, 3)."""
    return stacked(leg_rows(column(splay_along_deg), column(splay_across_deg)))


def resultant_deg(splay_along_deg: ArrayLike, splay_across_deg: ArrayLike) -> Number:
    """The leg's true lean from upright, degrees."""
    along, across = (tan(radians(column(a))) for a in (splay_along_deg, splay_across_deg))
    return degrees(arctan(hypot(along, across)))


@attrs.frozen
class SplayedBridle(JointType):
    name: ClassVar[str] = "splayed_bridle"
    summary: ClassVar[str] = "A splayed leg whose slotted end straddles a rail"

    leg_width_mm: float = length("Width of the leg, across the rail", low=0.1, high=500)
    leg_thickness_mm: float = length("Thickness of the leg, along the rail", low=0.1, high=500)
    leg_length_mm: float = length(
        "Length of the leg along its centre line, from the rail's top edge", low=0.1
    )
    rail_thickness_mm: float = length("Thickness of the rail", low=0.1, high=500)
    tongue_thickness_mm: float = length(
        "Thickness of the rail where the leg straddles it; less than the rail's where the rail "
        "is housed on both sides",
        low=0.1,
        high=500,
    )
    rail_depth_mm: float = length("Depth of the rail, top edge to lower edge", low=0.1, high=500)
    rail_length_mm: float = length("Length of the rail", low=0.1)
    splay_along_deg: float = angle(
        "Lean seen square on to the rail; positive leans the foot the way the back looks",
        low=-60,
        high=60,
    )
    splay_across_deg: float = angle(
        "Lean seen along the rail; positive leans the foot towards the back edge", low=-60, high=60
    )
    fit_mm: float = length(
        "Clearance, slot minus tongue; negative: interference", low=-1, high=2, default=0.0
    )

    def __attrs_post_init__(self) -> None:
        if self.tongue_thickness_mm > self.rail_thickness_mm:
            raise InputError(
                Problem(
                    "tongue_thickness_mm",
                    "is more than the rail has",
                    f"{self.tongue_thickness_mm:g}",
                    f"at most rail_thickness_mm = {self.rail_thickness_mm:g} mm",
                    "mm",
                )
            )
        if self.tongue_thickness_mm + self.fit_mm <= 0:
            raise InputError(
                Problem(
                    "fit_mm",
                    "leaves no slot",
                    f"{self.fit_mm:g}",
                    f"more than -{self.tongue_thickness_mm:g} mm",
                    "mm",
                )
            )

    @cached_property
    def _frame(self) -> Rows:
        return leg_rows(self.splay_along_deg, self.splay_across_deg)

    @property
    def _slot(self) -> float:
        return self.tongue_thickness_mm + self.fit_mm

    @property
    def _housing(self) -> float:
        return (self.rail_thickness_mm - self.tongue_thickness_mm) / 2

    @property
    def _centre(self) -> Vector:
        return self.leg_width_mm / 2, self.leg_thickness_mm / 2, 0.0

    def parts(self) -> tuple[Part, ...]:
        q = self._frame
        half = self._slot / 2
        leg = Part(
            "leg",
            self.leg_width_mm,
            self.leg_thickness_mm,
            self.leg_length_mm,
            notches=(Notch(q, self._centre, (Channel(-half, half, self.rail_depth_mm),)),),
            slide=q[2],
            verify=(
                Verify(
                    "leg, long point to foot along the longest edge",
                    self.leg_length_mm - least(self._end_heights()),
                    "steel rule",
                ),
            ),
        )
        return leg, self._rail()

    def _end_heights(self) -> list[float]:
        """z of the trimmed end on the four long edges, from the centre line's end."""
        a, b, c = self._frame[2]
        x, y, _ = self._centre
        return [-(a * i * x + b * j * y) / c for i, j in ((-1, -1), (1, -1), (1, 1), (-1, 1))]

    def _rail(self) -> Part:
        """The rail, its marks put so that its face edge is the top and its back looks to +X."""
        boxes = []
        deep = self._housing
        if deep > 0:
            a = radians(self.splay_along_deg)
            long = self.rail_depth_mm / cos(a) + self.leg_thickness_mm * abs(tan(a)) + 2.0
            # Rail axes: x down, y across, z along. The housing runs down along the leg.
            turn = turn_y(UNIT_ROWS, -a)  # about y, x turns towards -z
            mid_x = self.rail_depth_mm / 2
            mid_z = self.rail_length_mm / 2 + mid_x * tan(a)
            for side, y in (
                ("face_side", deep / 2),
                ("back", self.rail_thickness_mm - deep / 2),
            ):
                marks = {
                    "from_square_deg": self.splay_along_deg,
                    "width_mm": self.leg_thickness_mm,
                    "width_along_the_edge_mm": self.leg_thickness_mm / cos(a),
                    "depth_mm": deep,
                    "middle_at_top_edge_mm": self.rail_length_mm / 2,
                }
                frame = pose_rows(turn, (mid_x, y, mid_z))
                size = (long, deep, self.leg_thickness_mm)
                boxes.append(LayoutBox("housing", frame, size, side, marks))
        return Part(
            "rail",
            self.rail_depth_mm,
            self.rail_thickness_mm,
            self.rail_length_mm,
            layout=tuple(boxes),
        )

    def placements(self) -> tuple[Placement, ...]:
        q = self._frame
        at = (-self.rail_thickness_mm / 2, -self.rail_length_mm / 2, 0.0)
        return (
            Placement("leg", 0, pose_rows(q, scaled(apply(q, self._centre), -1.0))),
            Placement("rail", 0, pose_rows(_RAIL, at)),
        )

    def expectations(self) -> tuple[Expectation, ...]:
        lean_x, lean_y = tan(radians(self.splay_across_deg)), tan(radians(self.splay_along_deg))
        up, down = (0.0, 0.0, -1.0), (0.0, 0.0, 1.0)
        deep = self.rail_depth_mm
        out: list[Expectation] = []
        for sign, name in ((-1.0, "face side"), (1.0, "back")):
            outwards, inwards = (sign, 0.0, 0.0), (-sign, 0.0, 0.0)
            on_rail = (sign * self.tongue_thickness_mm / 2, lean_y * deep / 2, deep / 2)
            on_leg = moved(on_rail, outwards, self.fit_mm / 2)
            out.append(
                Contact(
                    Face("rail", 0, f"tongue, {name}", on_rail, outwards),
                    Face("leg", 0, "slot cheek", on_leg, inwards),
                    self.fit_mm / 2,
                )
            )
        floor = (0.0, lean_y * deep, deep)
        out.append(
            Contact(
                Face("leg", 0, "slot floor", floor, up), Face("rail", 0, "lower edge", floor, down)
            )
        )
        beside = ((self._slot / 2 + self.leg_width_mm / 2) / 2, 0.0, 0.0)
        out.append(
            Flush(
                Face("leg", 0, "trimmed end", beside, up),
                Face("rail", 0, "top edge", (0.0, 0.0, 0.0), up),
            )
        )
        axis = direction((lean_x, lean_y, 1.0))
        front = direction(cross((1.0, 0.0, 0.0), axis))
        for name, normal, half in (
            ("face side", front, self.leg_thickness_mm / 2),
            ("face edge", cross(front, axis), self.leg_width_mm / 2),
        ):
            point = moved(scaled(axis, 0.6 * self.leg_length_mm), normal, half)
            out.append(Flush(Face("leg", 0, name, point, normal), Face("", 0, name, point, normal)))
        return tuple(out)

    def _wall(self) -> float:
        """Least wood beside the slot over its whole depth, across the rail."""
        (a, b, c), _, (d, e, f) = self._frame
        half_x, half_y, _ = self._centre
        room = []
        for depth in (0.0, self.rail_depth_mm):
            for sign in (-1, 1):
                for y in (-half_y, half_y):
                    x = sign * half_x
                    room.append(sign * (a * x + b * y + c * (depth - d * x - e * y) / f))
        return number(least(room) - self._slot / 2)

    def checks(self) -> tuple[Check, ...]:
        wall = self._wall()
        check = at_least(
            "slot_wall",
            wall,
            self.leg_width_mm / 6,
            "mm",
            "wood beside the slot where it is least; a bridle is gauged in thirds, and a wall "
            "under half a third splits easily (common practice, no published source)",
            short="fail" if wall <= 1e-9 else "caution",
        )
        sign = math.copysign(1.0, self.splay_across_deg)
        steepest = greatest(
            lambda a: attrs.evolve(self, splay_across_deg=sign * a)._wall() - check.limit,
            0.0,
            abs(self.splay_across_deg),
        )
        if check.status != "pass" and steepest is not None:
            says = f"lean across the rail no more than {sign * steepest:.2f}°"
            remedy = Remedy("lean_less_across", says, {"splay_across_deg": sign * steepest})
            check = attrs.evolve(check, remedies=(remedy,))
        third = at_most(
            "slot_third",
            self.tongue_thickness_mm,
            self.leg_width_mm / 3,
            "mm",
            "a bridle's slot is usually a third of the leg (stock gauged in thirds)",
            short="caution",
        )
        return attrs.evolve(check, part="leg"), attrs.evolve(third, part="leg")

    def notes(self) -> tuple[str, ...]:
        lean = resultant_deg(self.splay_along_deg, self.splay_across_deg)
        slot = self.rail_depth_mm / self._frame[2][2]
        return (
            f"the leg leans {lean:.4f}° in all; along its own axis the slot is {slot:.3f} mm deep",
            "turned half round on its length the same leg serves the opposite corner: "
            "(+, +) and (-, -) are one shape, (+, -) and (-, +) the other",
        )

    @classmethod
    def examples(cls) -> tuple[SplayedBridle, ...]:
        base = cls(
            leg_width_mm=66,
            leg_thickness_mm=44,
            leg_length_mm=430,
            rail_thickness_mm=30,
            tongue_thickness_mm=22,
            rail_depth_mm=60,
            rail_length_mm=900,
            splay_along_deg=12,
            splay_across_deg=8,
            fit_mm=0.1,
        )
        return base, attrs.evolve(base, splay_along_deg=-12, splay_across_deg=5)
