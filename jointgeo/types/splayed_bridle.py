"""A splayed leg whose slotted end straddles a rail.

Knows the plug-in contract only; no fixture, no solver, no other joint type.

World: X across the rail, Y along it, Z down from its top edge; the leg's face side looks to -Y.
Seen square on to the rail the leg leans by ``splay_along``, seen along it by ``splay_across``, so
its axis runs along (tan across, tan along, 1). The slot's cheeks are upright, its floor level.
Where the leg's faces follow the rail (its thickness has no part across the rail) the slot needs no
packing:

    tilt = along        tan swivel = cos(tilt) · tan(across)
    tan² resultant = tan² along + tan² across

A leg turned by ψ about its own length from there needs packing of ψ. A housing's walls are square
to the rail's side and a turned leg's faces are not, so such a leg is not let in.

A housed leg comes out along its housings, (0, tan along, 1), and not straight down.
"""

from __future__ import annotations

import math
from functools import cached_property
from math import atan2, cos, degrees, hypot, radians, sin, tan
from typing import Any, ClassVar

import attrs

from jointgeo.plugin import (
    Bar,
    Check,
    Drawing,
    InputError,
    JointType,
    Length,
    Meet,
    Middle,
    Notch,
    Plane,
    Problem,
    Remedy,
    Turn,
    Vec,
    Verify,
    X,
    Y,
    Z,
    at_least,
    at_most,
    deg,
    greatest,
    housing,
    mm,
    thickness_of,
    tight_fit,
    width_of,
)

__all__ = ["SplayedBridle"]

TONGUE = "rail.face_side.floor", "rail.back.floor"
STRAIGHT_DEG = 1e-9  # rounding of bars that stand in a room is 1e-13


@attrs.frozen
class SplayedBridle(JointType):
    name: ClassVar[str] = "splayed_bridle"
    summary: ClassVar[str] = "A splayed leg whose slotted end straddles a rail"

    leg_width_mm: float = mm("Width of the leg, across the rail", 0.1, 500, width_of("leg"))
    leg_thickness_mm: float = mm(
        "Thickness of the leg, along the rail", 0.1, 500, thickness_of("leg")
    )
    leg_length_mm: float = mm(
        "Length of the leg along its centre line, from the rail's top edge",
        0.1,
        shows=Length("rail.face_edge", "leg.far", along="leg.centre"),
    )
    rail_thickness_mm: float = mm("Thickness of the rail", 0.1, 500, thickness_of("rail"))
    tongue_thickness_mm: float = mm(
        "Thickness of the rail where the leg straddles it; less than the rail's where the rail "
        "is housed on both sides",
        0.1,
        500,
        Length(*TONGUE),
    )
    rail_depth_mm: float = mm(
        "Depth of the rail, top edge to lower edge", 0.1, 500, width_of("rail")
    )
    rail_length_mm: float = mm("Length of the rail", 0.1, shows=Length("rail.near", "rail.far"))
    splay_along_deg: float = deg(
        "Lean seen square on to the rail; positive leans the foot the way the back looks",
        -60,
        60,
        Turn("rail.back_edge", "leg.grain", seen="rail.face_side", towards="leg.back"),
    )
    splay_across_deg: float = deg(
        "Lean seen along the rail; positive leans the foot towards the back edge",
        -60,
        60,
        Turn("rail.back_edge", "leg.grain", seen="rail.grain", towards="leg.back_edge"),
    )
    leg_turn_deg: float = deg(
        "Leg turned about its own length from where its faces follow the rail; positive turns the "
        "face side towards the face edge; 0 where the rail is housed",
        -45,
        45,
        Turn("rail.face_side", "leg.face_edge", seen="leg.grain", towards="leg.back"),
        default=0.0,
    )
    leg_offset_mm: float = mm(
        "Leg's centre line off the rail's middle, at the rail's top edge; positive towards the "
        "rail's back",
        -250,
        250,
        Length(
            Meet("leg.centre", "rail.face_edge"),
            Middle("rail.face_side", "rail.back"),
            towards="rail.face_side",
        ),
        default=0.0,
    )
    fit_mm: float = mm(
        "Clearance, slot minus tongue; negative: interference",
        -1,
        2,
        Length("leg/slot.cheek1", "leg/slot.cheek2", minus=TONGUE),
        default=0.0,
    )

    def __attrs_post_init__(self) -> None:
        for field, wrong, message, allowed in (
            (
                "tongue_thickness_mm",
                self.tongue_thickness_mm > self.rail_thickness_mm,
                "is more than the rail has",
                f"at most rail_thickness_mm = {self.rail_thickness_mm:g} mm",
            ),
            (
                "fit_mm",
                self.tongue_thickness_mm + self.fit_mm <= 0,
                "leaves no slot",
                f"more than -{self.tongue_thickness_mm:g} mm",
            ),
            (
                "leg_turn_deg",
                abs(self.leg_turn_deg) > STRAIGHT_DEG and self._housed,
                "goes with a rail that is not housed: a housing's walls are square to its side",
                "0 (the leg's thickness with no part across the rail), or tongue_thickness_mm = "
                f"rail_thickness_mm = {self.rail_thickness_mm:g} mm",
            ),
        ):
            if wrong:
                given = f"{getattr(self, field):g}"
                raise InputError(Problem(field, message, given, allowed, field.rpartition("_")[2]))

    @property
    def _housed(self) -> bool:
        return self.tongue_thickness_mm < self.rail_thickness_mm

    def draw(self) -> Drawing:
        top, along = Plane(-Z, 0.0), Vec(0.0, tan(radians(self.splay_along_deg)), 1.0)
        grain = (along + X * tan(radians(self.splay_across_deg))).unit
        follows, turn = (X ^ grain).unit, radians(self.leg_turn_deg)
        face = follows * cos(turn) + (follows ^ grain) * sin(turn)
        size = self.leg_width_mm, self.leg_thickness_mm, self.leg_length_mm
        leg = Bar("leg", *size, grain, face, face ^ grain, X * self.leg_offset_mm)
        size = self.rail_depth_mm, self.rail_thickness_mm, self.rail_length_mm
        corner = Vec(-self.rail_thickness_mm / 2, -self.rail_length_mm / 2, 0.0)
        rail = Bar.cornered("rail", size, Y, -X, -Z, corner)

        half = (self.tongue_thickness_mm + self.fit_mm) / 2
        slot = Notch("slot", leg, top, X, [(-half, half, self.rail_depth_mm)], gap=self.fit_mm / 2)
        deep = (self.rail_thickness_mm - self.tongue_thickness_mm) / 2
        housings = [
            housing(rail, side, X * at, along, self.leg_thickness_mm, deep)
            for side, at in (("face_side", corner.x), ("back", -corner.x))
            if deep > 0
        ]
        longest = self.leg_length_mm - min((p - leg.middle) @ grain for p in leg.arrises(top))
        what = "leg, long point to foot along the longest edge"
        verify = {"leg": (Verify(what, longest, "steel rule"),)}
        return Drawing((leg, rail), (slot,), tuple(housings), slides={"leg": along}, verify=verify)

    @classmethod
    def measure(cls, bar: Bar, mate: Bar) -> dict[str, Any]:
        # The leg says which way is down and which way along; a rail may be marked from either.
        down = mate.edge if bar.grain @ mate.edge > 0 else -mate.edge
        along, across = mate.grain, mate.grain ^ down
        if bar.face @ (across ^ bar.grain) < 0:
            along, across = -along, -across
        follows = (across ^ bar.grain).unit
        turn = degrees(atan2(bar.face @ (follows ^ bar.grain), bar.face @ follows))
        top = Plane(-down, mate.width / 2 - down @ mate.middle)
        middle = bar.middle + bar.grain * top.hit(bar.middle, bar.grain)
        return {
            "leg_width_mm": bar.width,
            "leg_thickness_mm": bar.thickness,
            "leg_length_mm": bar.length - top.hit(bar.middle, bar.grain),
            "rail_thickness_mm": mate.thickness,
            "rail_depth_mm": mate.width,
            "rail_length_mm": mate.length,
            "splay_along_deg": degrees(atan2(bar.grain @ along, bar.grain @ down)),
            "splay_across_deg": degrees(atan2(bar.grain @ across, bar.grain @ down)),
            "leg_turn_deg": turn,
            "leg_offset_mm": across @ (middle - mate.middle),
        }

    @classmethod
    def forced_face(cls, grain: Vec, mate: Bar) -> Vec:
        return (mate.face ^ grain).unit  # so that the thickness has no part across the rail

    def sizes(self) -> dict[str, Any]:
        (_, rail), (slot,) = self.drawing.bars, self.drawing.notches
        let_in = {p.side: p.marks["depth_mm"] for p in self.drawing.pockets}
        tongue = rail.thickness - sum(let_in.values())
        low, high = slot.cheeks
        return {"tongue_thickness_mm": tongue, "fit_mm": -high.at - low.at - tongue}

    def also(self) -> dict[str, tuple[float, float]]:
        (leg, rail), (slot,) = self.drawing.bars, self.drawing.notches
        low, high = slot.cheeks
        middle = (low.at - high.at) / 2
        out = {
            "slot on the middle of the rail": (middle, slot.across @ rail.middle),
            "slot as deep as the rail": (slot.channels[0].depth, rail.width),
            "slot across the rail": (slot.across @ rail.face, -1.0),
        }
        for pocket in self.drawing.pockets:
            lean = pocket.marks["from_square_deg"], self.splay_along_deg
            wide = pocket.marks["width_mm"], leg.thickness
            deep = pocket.marks["depth_mm"], (rail.thickness - self.tongue_thickness_mm) / 2
            for what, pair in (("lean", lean), ("width", wide), ("depth", deep)):
                out[f"{what} of the housing in the {pocket.side}"] = pair
        return out

    @cached_property
    def _reach(self) -> float:
        """Least that the leg reaches to either side of the rail's middle over the rail's depth."""
        leg, slot = self.drawing.bars[0], self.drawing.notches[0]
        edges = [a @ X for plane in (slot.end, slot.floor) for a in leg.arrises(plane)]
        signs = (-1, 1, 1, -1) * 2
        return min(sign * x for sign, x in zip(signs, edges, strict=True))

    @property
    def _wall(self) -> float:
        """Least wood beside the slot over its whole depth, across the rail."""
        return self._reach - (self.tongue_thickness_mm + self.fit_mm) / 2

    def checks(self) -> tuple[Check, ...]:
        wall = self._wall
        limit = self.leg_width_mm / 6
        check = at_least(
            "slot_wall",
            wall,
            limit,
            "mm",
            "wood beside the slot where it is least; a bridle is gauged in thirds, and a wall "
            "under half a third splits easily (common practice, no published source)",
            short="fail" if wall <= 1e-9 else "caution",
        )
        if check.status != "pass":
            check = attrs.evolve(check, remedies=self._less_lean(limit))
        # Thirds: common practice, no published source.
        third = at_most(
            "slot_third",
            self.tongue_thickness_mm,
            self.leg_width_mm / 3,
            "mm",
            "a bridle's slot is usually a third of the leg (stock gauged in thirds)",
            short="caution",
        )
        out = [check, third, tight_fit(self.fit_mm, self.tongue_thickness_mm)]
        if self._housed:
            why = (
                "the leg must cover the housings cut for it: how far its sides lie from the middle"
            )
            covered = at_least(
                "housing_covered", self._reach, self.rail_thickness_mm / 2, "mm", why
            )
            if covered.status != "pass":
                covered = attrs.evolve(covered, remedies=self._wider(covered))
            out.append(covered)
        return tuple(attrs.evolve(c, part="leg") for c in out)

    def _less_lean(self, limit: float) -> tuple[Remedy, ...]:
        sign = math.copysign(1.0, self.splay_across_deg)
        steepest = greatest(
            lambda a: attrs.evolve(self, splay_across_deg=sign * a)._wall - limit,
            0.0,
            abs(self.splay_across_deg),
        )
        if steepest is None:
            return ()
        says = f"lean across the rail no further than {sign * steepest:.2f}°"
        return (Remedy("lean_less_across", says, {"splay_across_deg": sign * steepest}),)

    def _wider(self, covered: Check) -> tuple[Remedy, ...]:
        # Half the width reaches across the rail by the secant of the swivel, whose cosine this is.
        leg = self.drawing.bars[0]
        wide = self.leg_width_mm - 2 * covered.margin * leg.axes[0].x
        thin = self.rail_thickness_mm + 2 * covered.margin
        out = [
            Remedy("widen_leg", f"a leg at least {wide:.1f} mm wide", {"leg_width_mm": wide}),
        ]
        if thin >= self.tongue_thickness_mm:
            says = f"a rail no thicker than {thin:.1f} mm, with this tongue"
            out.append(Remedy("thinner_rail", says, {"rail_thickness_mm": thin}))
        return tuple(out)

    def notes(self) -> tuple[str, ...]:
        across, along = (tan(radians(a)) for a in (self.splay_across_deg, self.splay_along_deg))
        leg, slot = self.drawing.bars[0], self.drawing.notches[0]
        deep = slot.floor.hit(leg.middle, leg.grain)
        turned = self.leg_turn_deg
        packed = (
            f"the leg is turned {abs(turned):.4f}° about its own length and needs packing of that; "
            "one whose thickness has no part across the rail needs none",
        )
        return (
            f"the leg leans {degrees(math.atan(hypot(along, across))):.4f}° in all; along its own "
            f"axis the slot is {deep:.3f} mm deep",
            "turned half round on its length the same leg serves the opposite corner: "
            "(+, +) and (-, -) are one shape, (+, -) and (-, +) the other"
            + (", with the offset the other way" if self.leg_offset_mm else ""),
            *(packed if abs(turned) > STRAIGHT_DEG else ()),
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
        other = attrs.evolve(base, splay_along_deg=-12, splay_across_deg=5)
        turned = attrs.evolve(base, rail_thickness_mm=22, leg_turn_deg=3, leg_offset_mm=-2)
        return base, other, turned
