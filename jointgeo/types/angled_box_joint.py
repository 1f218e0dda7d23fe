"""Finger-jointed corner of a box whose sides lean, at any plan angle.

Knows the plug-in contract only; no fixture, no solver, no other joint type.

World: Z up, the outer corner's lower end at the origin, board a facing -Y; seen from outside a
stands on the left and its right-hand end is cut, b on the right and its left-hand end. Each leans
out by its slope from upright, and both are as high: each is its height / cos slope wide. The corner
edge e runs up along a's face × b's face. It lies in either face, turned from the way up that
board's slope by the swivel, whether the slopes are alike or not. Where both are s, with the half
exterior angle φ = (180° - plan corner)/2,

    tan swivel = tan φ · sin s        sin(bevel) = sin φ · cos s        dihedral = 180° - 2·bevel

Each board is cut square to the corner edge and ends in the plane of the other's outside face, so no
packing is ever needed and the tilt is the dihedral's distance from 90°.
"""

from __future__ import annotations

from functools import cached_property
from itertools import pairwise
from math import acos, cos, degrees, floor, radians, sin
from typing import Any, ClassVar

import attrs

from jointgeo.plugin import (
    INF,
    Bar,
    Channel,
    Check,
    Cross,
    Drawing,
    InputError,
    JointType,
    Length,
    Middle,
    Notch,
    Plane,
    Pocket,
    Remedy,
    Turn,
    Vec,
    X,
    Z,
    angle_between,
    at_least,
    bevel,
    choice,
    count,
    deg,
    line,
    meet,
    mm,
    thickness_of,
    tight_fit,
    width_of,
)
from jointgeo.types.angled_box_joint_rims import (
    NOTHING_MM,
    Rims,
    lean_deg,
    long_edge,
    rims,
    rims_as_drawn,
    root_shift,
)

__all__ = ["AngledBoxJoint"]

MOST_FINGERS = 99
ALIKE_DEG = 1e-9  # slopes of two boards found in a room; rounding there is 1e-13
LEAST_END = 0.051  # sine; a notch may lie no flatter than 0.05 to the grain
UP = Cross("a.grain", "b.grain")
FIRST, SECOND = ("a/fingers.cheek1", "b/fingers.cheek1"), ("a/fingers.cheek2", "b/fingers.cheek2")


@attrs.frozen
class AngledBoxJoint(JointType):
    name: ClassVar[str] = "angled_box_joint"
    summary: ClassVar[str] = "Finger-jointed corner of a box with sloping sides, at any plan angle"

    board_width_mm: float = mm(
        "Width of board a up its slope, before the rims are bevelled; board b is as high",
        0.1,
        2000,
        width_of("a"),
    )
    thickness_a_mm: float = mm("Thickness of board a", 0.1, 200, thickness_of("a"))
    thickness_b_mm: float = mm("Thickness of board b", 0.1, 200, thickness_of("b"))
    length_a_mm: float = mm(
        "Length of board a along its face edge (lower rim) on the face side, outer corner to "
        "outer corner or square end",
        0.1,
        shows=Length("b.face_side", "a.far", along=("a.face_side", "a.face_edge")),
    )
    length_b_mm: float = mm(
        "Length of board b, measured like that of board a",
        0.1,
        shows=Length("a.face_side", "b.far", along=("b.face_side", "b.face_edge")),
    )
    plan_corner_deg: float = deg(
        "Inside angle between the boards seen from above; 180 - 360/N for a regular N-sided box",
        20,
        170,
        Turn("a.grain", "b.grain", seen=UP, towards="a.back"),
    )
    slope_deg: float = deg(
        "How far the sides lean out from upright; negative leans in",
        -85,
        85,
        Turn(UP, "a.back_edge", seen="a.grain", towards="a.face_side"),
    )
    slope_b_deg: float | None = deg(
        "How far board b leans out, where it leans otherwise than board a; as slope_deg if not "
        "given",
        -85,
        85,
        Turn(UP, "b.back_edge", seen="b.grain", towards="b.face_side"),
        default=None,
    )
    finger_count: int = count(
        "Number of equal fingers on both boards together; 0: as finger_width_mm says, or about "
        "as wide as the thicker board",
        low=0,
        high=MOST_FINGERS,
        default=0,
    )
    finger_width_mm: float = mm(
        "Width of the fingers between the two end ones, which are at least half as wide; 0: equal "
        "fingers",
        0,
        500,
        Length(Middle(*FIRST), Middle(*SECOND), optional=True),
        default=0.0,
    )
    first_finger: str = choice("Board that has the lowest finger", ("a", "b"), default="a")
    fit_mm: float = mm(
        "Clearance, socket minus finger; negative: interference",
        -1,
        2,
        Length(*FIRST, towards=FIRST[0], times=2),
        default=0.0,
    )

    def __attrs_post_init__(self) -> None:
        if self.finger_count and self.finger_width_mm:
            says, allowed = "is given together with finger_count", "one of the two, the other 0"
            raise InputError.of("finger_width_mm", says, self.finger_width_mm, allowed, "mm")
        if self.finger_count == 1:
            says = "leaves nothing to join"
            raise InputError.of("finger_count", says, 1, "0, or at least 2", "1")
        # Into the stock, along the grain: at 3° an end is a cut along the board, no end any more.
        plan = sin(radians(self.plan_corner_deg))
        for name in ("slope_deg", "slope_b_deg"):
            slope = getattr(self, name)
            if slope is not None and plan * cos(radians(slope)) < LEAST_END:
                flat = degrees(acos(LEAST_END / plan))
                allowed = f"-{flat:.2f} to {flat:.2f} deg at this plan corner"
                raise InputError.of(name, "lays the ends flat", slope, allowed, "deg")
        edges = self._edges
        if not 3 <= len(edges) <= MOST_FINGERS + 1:
            says, whole = f"gives {len(edges) - 1} fingers", edges[-1]
            allowed = f"a width that gives 2 to {MOST_FINGERS} fingers on {whole:.1f} mm of edge"
            raise InputError.of("finger_width_mm", says, self.finger_width_mm, allowed, "mm")
        thinnest = min(self._widths)
        if thinnest <= abs(self.fit_mm):
            allowed = f"less than {thinnest:.3f} mm in size"
            raise InputError.of("fit_mm", "is as large as a finger", self.fit_mm, allowed, "mm")

    # Drawing --------------------------------------------------------------------------

    @property
    def _slopes(self) -> tuple[float, float]:
        """Of a and b, degrees."""
        return self.slope_deg, self.slope_deg if self.slope_b_deg is None else self.slope_b_deg

    @property
    def _height(self) -> float:
        """From the outer corner's lower end to its upper one."""
        return self.board_width_mm * cos(radians(self.slope_deg))

    @cached_property
    def _boards(self) -> tuple[Bar, Bar]:
        plan = radians(self.plan_corner_deg)
        grains = -X, Vec(-cos(plan), sin(plan), 0.0)
        outside = Vec(0.0, -1.0, 0.0), Vec(sin(plan), cos(plan), 0.0)
        thick = self.thickness_a_mm, self.thickness_b_mm
        long = self.length_a_mm, self.length_b_mm
        out = []
        for i, name in enumerate("ab"):
            slope = radians(self._slopes[i])
            cs, ss = cos(slope), sin(slope)
            face, edge = outside[i] * cs - Z * ss, -(outside[i] * ss + Z * cs)
            wide = self.board_width_mm if i == 0 else self._height / cs
            size, corner = (wide, thick[i], long[i]), Vec(0.0, 0.0, 0.0)
            out.append(Bar.cornered(name, size, grains[i], face, edge, corner, handed=True))
        return out[0], out[1]

    @cached_property
    def _edge(self) -> Vec:
        """Up the corner edge."""
        a, b = self._boards
        return line(a.side("face_side"), b.side("face_side"), Z)

    @cached_property
    def _edges(self) -> list[float]:
        """Finger boundaries along the corner edge, from the lower rim."""
        whole = self.board_width_mm / -(self._edge @ self._boards[0].edge)
        wide, number = self.finger_width_mm, self.finger_count
        if wide:
            # A width of next to nothing would give more fingers than any number can tell.
            inner = floor(min((whole - wide) / wide, 1e6) + 1e-9)
            if 1 <= inner <= 10 * MOST_FINGERS:
                end = (whole - inner * wide) / 2
                return [0.0, *(end + wide * i for i in range(inner + 1)), whole]
            # Too few or too many: refused by the class with the count that comes out.
            number = 1 if inner < 1 else MOST_FINGERS + 1
        thick = max(self.thickness_a_mm, self.thickness_b_mm)
        number = number or min(2 * max(1, floor(whole / thick / 2)) + 1, MOST_FINGERS)
        return [whole * i / number for i in range(number + 1)]

    @property
    def _widths(self) -> list[float]:
        """Of the fingers, from the lower rim."""
        return [b - a for a, b in pairwise(self._edges)]

    @property
    def _rims(self) -> Rims:
        return rims(self._boards, Z)

    def _sockets(self, board: Bar, other: Bar) -> Notch:
        """The other's fingers, each boundary moved by a quarter of the fit."""
        bounds, more = self._edges, self.fit_mm / 4
        bounds = [-INF, *bounds[1:-1], INF]
        first = 1 if board.name == self.first_finger else 0
        channels = [
            Channel(low - more, high + more, other.thickness)
            for low, high in list(pairwise(bounds))[first::2]
        ]
        end = other.side("face_side")
        return Notch("fingers", board, end, self._edge, channels, gap=self.fit_mm / 2)

    def draw(self) -> Drawing:
        a, b = self._boards
        # Each board leaves its neighbour along its own face, square to the corner edge.
        slides = {"a": a.face ^ self._edge, "b": self._edge ^ b.face}
        return Drawing((a, b), (self._sockets(a, b), self._sockets(b, a)), self._bevels, slides)

    @property
    def _bevels(self) -> tuple[Pocket, ...]:
        """What is planed off for level rims, where there is any."""
        found, out = self._rims, []
        a, b = self._boards
        for board, other, (low, high) in zip((a, b), (b, a), found.boards, strict=True):
            ends = (other.side("face_side"),)
            if low < found.low - NOTHING_MM:
                plane = Plane(-Z, -found.low)
                out.append(bevel(board, "face_edge", "lower rim bevel", plane, ends))
            if high > found.high + NOTHING_MM:
                plane = Plane(Z, found.high)
                out.append(bevel(board, "back_edge", "upper rim bevel", plane, ends))
        return tuple(out)

    # Read back ------------------------------------------------------------------------

    @classmethod
    def measure(cls, bar: Bar, mate: Bar) -> dict[str, Any]:
        up = (mate.grain ^ bar.grain).unit
        slope, other = lean_deg(bar, up), lean_deg(mate, up)
        return {
            "board_width_mm": bar.width,
            "thickness_a_mm": bar.thickness,
            "thickness_b_mm": mate.thickness,
            "length_a_mm": long_edge(bar, mate),
            "length_b_mm": long_edge(mate, bar),
            "plan_corner_deg": angle_between(bar.grain, mate.grain),
            "slope_deg": slope,
            "slope_b_deg": None if abs(other - slope) <= ALIKE_DEG else other,
        }

    @property
    def _drawn(self) -> tuple[list[float], list[float]]:
        """Finger boundaries as drawn, each half way between the two boards' cheeks, from rim to
        rim; and the clearance at the inner ones, socket minus finger."""
        (a, b), notches = self.drawing.bars, self.drawing.notches
        mine, other = ([c.at * (c.normal @ self._edge) for c in n.cheeks] for n in notches)
        corner = [
            meet(a.side("face_side"), b.side("face_side"), a.side(s)) @ self._edge
            for s in ("face_edge", "back_edge")
        ]
        inner = [(x + y) / 2 for x, y in zip(mine, other, strict=True)]
        facing = [c.normal @ self._edge for c in notches[0].cheeks]
        loose = [2 * k * (y - x) for k, x, y in zip(facing, mine, other, strict=True)]
        return [corner[0], *inner, corner[1]], loose

    def sizes(self) -> dict[str, Any]:
        bounds, loose = self._drawn
        lowest, (a, b) = self.drawing.notches[0].channels[0].low, self.drawing.bars
        leans = lean_deg(b, (b.grain ^ a.grain).unit)
        return {
            # What is left to the first slope no drawing shows; that b leans so is said in ``also``.
            "slope_b_deg": None if self.slope_b_deg is None else leans,
            # 0 leaves a number to the others, and nothing drawn shows that.
            "finger_count": len(bounds) - 1 if self.finger_count else 0,
            "finger_width_mm": bounds[2] - bounds[1] if self.finger_width_mm else 0.0,
            "first_finger": "a" if lowest > -INF else "b",
            "fit_mm": loose[0],
        }

    def also(self) -> dict[str, tuple[float, float]]:
        (a, b), (in_a, in_b) = self.drawing.bars, self.drawing.notches
        bounds, loose = self._drawn
        widths = [high - low for low, high in pairwise(bounds)]
        alike = widths[1:-1] if self.finger_width_mm else widths
        up = (b.grain ^ a.grain).unit
        out = {
            "height of board b": (-(b.edge @ up) * b.width, -(a.edge @ up) * a.width),
            "slope of board b": (lean_deg(b, up), self._slopes[1]),
            "lower rims in one corner": (
                up @ (a.middle + a.edge * (a.width / 2) + a.face * (a.thickness / 2)),
                up @ (b.middle + b.edge * (b.width / 2) + b.face * (b.thickness / 2)),
            ),
            "fingers alike": (max(alike, default=0.0), min(alike, default=0.0)),
            "end fingers alike": (widths[0], widths[-1]),
            "clearances alike": (max(loose), min(loose)),
        }
        if not (self.finger_count or self.finger_width_mm):
            thick = max(a.thickness, b.thickness)
            out["odd number of fingers"] = len(widths) % 2, 1
            if 3 < len(widths) < MOST_FINGERS:
                more = sum(widths) / thick - len(widths)
                out["fingers about as wide as the thicker board"] = more, min(max(more, -1.0), 1.0)
        for notch, other in ((in_a, b), (in_b, a)):
            depths = [c.depth for c in notch.channels]
            for which, depth in (("deepest", max(depths)), ("shallowest", min(depths))):
                out[f"{which} socket of {notch.bar}"] = depth, other.thickness
        out |= rims_as_drawn(self.drawing, up, self._slopes)
        return out

    # Judged ---------------------------------------------------------------------------

    def checks(self) -> tuple[Check, ...]:
        edges, thin = self._edges, min(self._widths)
        why = "a finger narrower than this breaks off easily (common practice, no published source)"
        least = at_least(
            "least_finger", thin - abs(self.fit_mm) / 2, 3.0, "mm", why, short="caution"
        )
        why = "an end finger no wider than its rim slants over its length is cut off at its root"
        end = min(edges[1], edges[-1] - edges[-2]) - root_shift(self._boards, self._edge)
        root = at_least("finger_root", end, 0.0, "mm", why)
        why = "level rims must leave some of the board between them"
        found, height = self._rims, self._height
        rim = at_least("rim_height", found.high - found.low, 0.0, "mm", why)
        if rim.status == "fail":
            wide = (found.low + height - found.high) / cos(radians(self.slope_deg))
            says = f"boards at least {wide:.1f} mm wide"
            widen = Remedy("widen_boards", says, {"board_width_mm": wide})
            rim = attrs.evolve(rim, remedies=(widen,))
        return least, root, rim, tight_fit(self.fit_mm, thin)

    def notes(self) -> tuple[str, ...]:
        a, b = self._boards
        inside = 180.0 - angle_between(a.face, b.face)
        out = [f"the boards meet at {inside:.4f}°, measured square to the corner edge"]
        if self._bevels:
            one, two = (abs(slope) for slope in self._slopes)
            both = f"both at {one:g}°" if one == two else f"a at {one:g}° and b at {two:g}°"
            found = self._rims
            most = max(found.low, self._height - found.high)
            extra = max(most / cos(radians(s)) for s in self._slopes)
            out.append(
                f"for level rims bevel {both} after assembly; it takes {extra:.1f} mm of the "
                "width; left square to the face, the outermost finger shows a gap"
            )
        return tuple(out)

    @classmethod
    def examples(cls) -> tuple[AngledBoxJoint, ...]:
        base = cls(
            board_width_mm=150,
            thickness_a_mm=18,
            thickness_b_mm=18,
            length_a_mm=320,
            length_b_mm=320,
            plan_corner_deg=90,
            slope_deg=15,
            finger_count=7,
            fit_mm=0.1,
        )
        six = attrs.evolve(base, plan_corner_deg=120, slope_deg=8, finger_count=0)
        tray = attrs.evolve(base, length_a_mm=900, length_b_mm=600, slope_deg=10, slope_b_deg=20)
        return base, six, tray
