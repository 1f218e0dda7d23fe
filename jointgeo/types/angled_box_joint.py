"""Finger-jointed corner of a box whose sides lean, at any plan angle.

Knows the plug-in contract only; no fixture, no solver, no other joint type.

World: Z up, the outer corner's lower end at the origin, board a facing -Y; seen from outside a
stands on the left and its right-hand end is cut, b on the right and its left-hand end. Both lean
out by the slope s from upright. With the half exterior angle φ = (180° - plan corner)/2 the corner
edge lies in a's face, turned from the way up its slope by the swivel, and

    tan swivel = tan φ · sin s        sin(bevel) = sin φ · cos s        dihedral = 180° - 2·bevel

Each board is cut square to the corner edge and ends in the plane of the other's outside face, so no
packing is ever needed and the tilt is the dihedral's distance from 90°.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from itertools import pairwise
from math import acos, atan2, cos, degrees, floor, radians, sin, sqrt
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

__all__ = ["AngledBoxJoint"]

MOST_FINGERS = 99
LEAST_END = 0.051  # sine; a notch may lie no flatter than 0.05 to the grain
UP = Cross("a.grain", "b.grain")
FIRST, SECOND = ("a/fingers.cheek1", "b/fingers.cheek1"), ("a/fingers.cheek2", "b/fingers.cheek2")


@attrs.frozen
class AngledBoxJoint(JointType):
    name: ClassVar[str] = "angled_box_joint"
    summary: ClassVar[str] = "Finger-jointed corner of a box with sloping sides, at any plan angle"

    board_width_mm: float = mm(
        "Width of both boards up the slope, before the rims are bevelled", 0.1, 2000, width_of("a")
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
        if plan * self._slope[0] < LEAST_END:
            flat = degrees(acos(LEAST_END / plan))
            allowed = f"-{flat:.2f} to {flat:.2f} deg at this plan corner"
            raise InputError.of("slope_deg", "lays the ends flat", self.slope_deg, allowed, "deg")
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
    def _slope(self) -> tuple[float, float]:
        """Cosine and sine."""
        return cos(radians(self.slope_deg)), sin(radians(self.slope_deg))

    @cached_property
    def _boards(self) -> tuple[Bar, Bar]:
        plan, (cs, ss) = radians(self.plan_corner_deg), self._slope
        out = []
        for name, grain, outside, thick, long in (
            ("a", -X, Vec(0.0, -1.0, 0.0), self.thickness_a_mm, self.length_a_mm),
            (
                "b",
                Vec(-cos(plan), sin(plan), 0.0),
                Vec(sin(plan), cos(plan), 0.0),
                self.thickness_b_mm,
                self.length_b_mm,
            ),
        ):
            face, edge = outside * cs - Z * ss, -(outside * ss + Z * cs)
            size, corner = (self.board_width_mm, thick, long), Vec(0.0, 0.0, 0.0)
            out.append(Bar.cornered(name, size, grain, face, edge, corner, handed=True))
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
    def _levels(self) -> tuple[float, float]:
        """Heights of the level lower and upper rim."""
        cs, ss = self._slope
        lift = max(self.thickness_a_mm, self.thickness_b_mm) * ss
        return max(0.0, lift), self.board_width_mm * cs + min(0.0, lift)

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
        rims: list[Pocket] = []
        if self.slope_deg:
            low, high = self._levels
            for board in (a, b):
                rims.append(bevel(board, "face_edge", "lower rim bevel", Plane(-Z, -low)))
                rims.append(bevel(board, "back_edge", "upper rim bevel", Plane(Z, high)))
        return Drawing((a, b), (self._sockets(a, b), self._sockets(b, a)), tuple(rims), slides)

    # Read back ------------------------------------------------------------------------

    @classmethod
    def measure(cls, bar: Bar, mate: Bar) -> dict[str, Any]:
        up = (mate.grain ^ bar.grain).unit
        return {
            "board_width_mm": bar.width,
            "thickness_a_mm": bar.thickness,
            "thickness_b_mm": mate.thickness,
            "length_a_mm": _long(bar, mate),
            "length_b_mm": _long(mate, bar),
            "plan_corner_deg": angle_between(bar.grain, mate.grain),
            "slope_deg": _lean(bar, up),
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
        lowest = self.drawing.notches[0].channels[0].low
        return {
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
            "width of board b": (b.width, a.width),
            "slope of board b": (_lean(b, up), self.slope_deg),
            "lower rims in one corner": (
                _rims(a, "face_edge", up)[0],
                _rims(b, "face_edge", up)[0],
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
        for box in self.drawing.pockets:
            where, of = f"{box.name} of {box.bar}", 1 if box.side == "back_edge" else -1
            z = box.block.axes[2]
            height = of * (box.block.middle @ z - box.block.size[2] / 2)
            rims = [_rims(board, box.side, up) for board in (a, b)]
            kept = min(min(r) for r in rims) if of > 0 else max(max(r) for r in rims)
            out[f"{where} level"] = z @ up, of
            out[f"height of the {where}"] = height, kept
            out[f"angle of the {where}"] = box.marks["bevel_deg"], self.slope_deg
        return out

    # Judged ---------------------------------------------------------------------------

    @property
    def _root_shift(self) -> float:
        """How far along the corner edge a rim runs between a finger's end and its root."""
        a, b = self._boards
        c = a.face @ b.face
        deepest = max(
            other.thickness - y * c for own, other in ((a, b), (b, a)) for y in (0.0, own.thickness)
        )
        lean = (self._edge @ a.grain) / (self._edge @ a.edge)
        return abs(lean) * deepest / sqrt(1.0 - c * c)

    def checks(self) -> tuple[Check, ...]:
        edges, thin = self._edges, min(self._widths)
        why = "a finger narrower than this breaks off easily (common practice, no published source)"
        least = at_least(
            "least_finger", thin - abs(self.fit_mm) / 2, 3.0, "mm", why, short="caution"
        )
        why = "an end finger no wider than its rim slants over its length is cut off at its root"
        end = min(edges[1], edges[-1] - edges[-2]) - self._root_shift
        root = at_least("finger_root", end, 0.0, "mm", why)
        (low, high), (cs, _) = self._levels, self._slope
        why = "level rims must leave some of the board between them"
        rim = at_least("rim_height", high - low, 0.0, "mm", why)
        if rim.status == "fail":
            wide = (low - min(0.0, high - self.board_width_mm * cs)) / cs
            says = f"boards at least {wide:.1f} mm wide"
            widen = Remedy("widen_boards", says, {"board_width_mm": wide})
            rim = attrs.evolve(rim, remedies=(widen,))
        return least, root, rim, tight_fit(self.fit_mm, thin)

    def notes(self) -> tuple[str, ...]:
        a, b = self._boards
        inside = 180.0 - angle_between(a.face, b.face)
        out = [f"the boards meet at {inside:.4f}°, measured square to the corner edge"]
        cs, ss = self._slope
        if ss != 0:
            extra = max(a.thickness, b.thickness) * abs(ss / cs)
            out.append(
                f"for level rims bevel both at {abs(self.slope_deg):g}° after assembly; it takes "
                f"{extra:.1f} mm of the width; left square to the face, the outermost finger "
                "shows a gap"
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
        return base, attrs.evolve(base, plan_corner_deg=120, slope_deg=8, finger_count=0)


def _long(board: Bar, other: Bar) -> float:
    """Along the edge where face side and face edge meet, from the other's face side."""
    arris = board.middle + board.face * (board.thickness / 2) + board.edge * (board.width / 2)
    return board.length - other.side("face_side").hit(arris, board.grain)


def _lean(board: Bar, up: Vec) -> float:
    return degrees(atan2(-(board.face @ up), -(board.edge @ up)))


def _rims(board: Bar, edge: str, up: Vec) -> Sequence[float]:
    """Heights of an edge's two arrises, the face side's first."""
    side = board.side(edge).normal
    half = board.middle + side * (board.width / 2)
    return [(half + board.face * (k * board.thickness / 2)) @ up for k in (1, -1)]
