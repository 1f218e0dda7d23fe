"""Finger-jointed corner of a box whose sides lean, at any plan angle.

Knows the plug-in contract only; no fixture, no solver, no other joint type.

Theory. World: Z up, the outer corner's lower end at the origin, board a facing -Y; seen
from outside a stands on the left and its right-hand end is cut, b on the right and its
left-hand end. With the half exterior angle φ = (180° - plan corner)/2 and the slope s
from upright, outside normals are n = cos s · (plan direction) - sin s · Z, and the corner
edge, up the slope of a and turned by the swivel, has

    tan swivel = tan φ · sin s        sin(bevel) = sin φ · cos s        dihedral = 180° - 2·bevel

Each board is cut square to the corner edge (q_x = e) and ends in the plane of the other's
outside face (q_z = -n of the other), so no packing is ever needed and the tilt is the
dihedral's distance from 90°. The edge is taken from its closed form: n_a × n_b vanishes
as the sides lie flat.
"""

from __future__ import annotations

import itertools
import math
from functools import cached_property
from typing import ClassVar

import attrs
import numpy as np
from numpy.typing import ArrayLike

from jointgeo.errors import InputError, Problem
from jointgeo.geometry.arith import (
    Number,
    arcsin,
    arctan,
    column,
    cos,
    degrees,
    least,
    most,
    number,
    place_of_least,
    radians,
    sin,
    snapped,
    tan,
    whole_below,
)
from jointgeo.geometry.columns import fixed
from jointgeo.geometry.rotations import (
    Array,
    Rows,
    Vector,
    apply,
    cross,
    dot,
    moved,
    pose_rows,
    scaled,
    stacked,
    transposed,
    unapply,
)
from jointgeo.joints.check import Check, Remedy, at_least
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
)
from jointgeo.joints.joint_type import JointType
from jointgeo.schema.fields import angle, choice, count, length

__all__ = ["AngledBoxJoint", "board_frames", "corner_axes", "dihedral_deg"]

MOST_FINGERS = 99
LEAST_END = 0.051  # sine; a notch may lie no flatter than 0.05 to the grain
LEAST_SEEN_MM = 0.1  # a face narrower than this is expected of nobody


@attrs.frozen
class _Corner:
    """World vectors: n_a, n_b (outside), r_a, r_b (to the right), up_a, up_b (up the slope) and
    e (the corner edge, upwards)."""

    n_a: Vector
    n_b: Vector
    r_a: Vector
    r_b: Vector
    up_a: Vector
    up_b: Vector
    e: Vector

    @property
    def axes_a(self) -> Rows:
        """Board a's stock axes in the world."""
        return self.up_a, scaled(self.n_a, -1.0), scaled(self.r_a, -1.0)

    @property
    def axes_b(self) -> Rows:
        """Board b's: x runs down."""
        return scaled(self.up_b, -1.0), scaled(self.n_b, -1.0), self.r_b

    def frames(self) -> tuple[Rows, Rows]:
        """Notch frames Q of boards a and b, rows in each board's stock coordinates."""
        out = []
        for axes, outside in ((self.axes_a, self.n_b), (self.axes_b, self.n_a)):
            end = scaled(outside, -1.0)
            across = apply(axes, self.e), apply(axes, cross(end, self.e)), apply(axes, end)
            out.append(across)
        return out[0], out[1]


def _corner(plan_corner_deg: Number, slope_deg: Number) -> _Corner:
    theta, s = radians(plan_corner_deg), radians(slope_deg)
    swivel = arctan(tan((math.pi - theta) / 2) * sin(s))
    x, y, cs, ss = sin(theta), cos(theta), cos(s), sin(s)
    up_a = (0.0, -ss, cs)
    return _Corner(
        n_a=(0.0, -cs, -ss),
        n_b=(x * cs, y * cs, -ss),
        r_a=(1.0, 0.0, 0.0),
        r_b=(-y, x, 0.0),
        up_a=up_a,
        up_b=(x * ss, y * ss, cs),
        e=moved(scaled(up_a, cos(swivel)), (1.0, 0.0, 0.0), sin(swivel)),
    )


def corner_axes(plan_corner_deg: ArrayLike, slope_deg: ArrayLike) -> dict[str, Array]:
    """The vectors of ``_Corner`` by name, as arrays (..., 3)."""
    plan, slope = (np.asarray(a, float) for a in np.broadcast_arrays(plan_corner_deg, slope_deg))
    corner = _corner(plan, slope)
    return {name: stacked(getattr(corner, name)) for name in attrs.fields_dict(_Corner)}


def dihedral_deg(plan_corner_deg: ArrayLike, slope_deg: ArrayLike) -> Number:
    """Inside angle between the boards, measured square to the corner edge."""
    half = radians((180.0 - column(plan_corner_deg)) / 2)
    return 180.0 - 2 * degrees(arcsin(sin(half) * cos(radians(column(slope_deg)))))


def board_frames(plan_corner_deg: ArrayLike, slope_deg: ArrayLike) -> tuple[Array, Array]:
    """Notch frames Q (..., 3, 3) of boards a and b, rows in each board's stock coordinates."""
    frame_a, frame_b = _corner(column(plan_corner_deg), column(slope_deg)).frames()
    return stacked(frame_a), stacked(frame_b)


def _spread(whole: float, number: int) -> list[float]:
    """Boundaries of so many equal fingers."""
    return [whole * i / number for i in range(number + 1)]


@attrs.frozen
class AngledBoxJoint(JointType):
    name: ClassVar[str] = "angled_box_joint"
    summary: ClassVar[str] = "Finger-jointed corner of a box with sloping sides, at any plan angle"

    board_width_mm: float = length(
        "Width of both boards up the slope, before the rims are bevelled", low=0.1, high=2000
    )
    thickness_a_mm: float = length("Thickness of board a", low=0.1, high=200)
    thickness_b_mm: float = length("Thickness of board b", low=0.1, high=200)
    length_a_mm: float = length(
        "Length of board a along its face edge (lower rim) on the face side, outer corner to "
        "outer corner or square end",
        low=0.1,
    )
    length_b_mm: float = length("Length of board b, measured like that of board a", low=0.1)
    plan_corner_deg: float = angle(
        "Inside angle between the boards seen from above; 180 - 360/N for a regular N-sided box",
        low=20,
        high=170,
    )
    slope_deg: float = angle(
        "How far the sides lean out from upright; negative leans in", low=-85, high=85
    )
    finger_count: int = count(
        "Number of equal fingers on both boards together; 0: as finger_width_mm says, or about "
        "as wide as the thicker board",
        low=0,
        high=MOST_FINGERS,
        default=0,
    )
    finger_width_mm: float = length(
        "Width of the fingers between the two end ones, which are at least half as wide; 0: equal "
        "fingers",
        low=0,
        high=500,
        default=0.0,
    )
    first_finger: str = choice("Board that has the lowest finger", ("a", "b"), default="a")
    fit_mm: float = length(
        "Clearance, socket minus finger; negative: interference", low=-1, high=2, default=0.0
    )

    def __attrs_post_init__(self) -> None:
        if self.finger_count and self.finger_width_mm:
            raise InputError(
                Problem(
                    "finger_width_mm",
                    "is given together with finger_count",
                    f"{self.finger_width_mm:g}",
                    "one of the two, the other 0",
                    "mm",
                )
            )
        if self.finger_count == 1:
            raise InputError(
                Problem("finger_count", "leaves nothing to join", "1", "0, or at least 2", "1")
            )
        # Into the stock, along the grain: at 3° an end is a cut along the board, no end any more.
        lie = math.sin(math.radians(self.plan_corner_deg)) * self._slope[0]
        if lie < LEAST_END:
            flat = math.degrees(math.acos(LEAST_END / math.sin(math.radians(self.plan_corner_deg))))
            allowed = f"-{flat:.2f} to {flat:.2f} deg at this plan corner"
            raise InputError.of("slope_deg", "lays the ends flat", self.slope_deg, allowed, "deg")
        edges = self._edges
        if len(edges) - 1 > MOST_FINGERS or len(edges) < 3:
            allowed = (
                f"a width that gives 2 to {MOST_FINGERS} fingers on {edges[-1]:.1f} mm of edge"
            )
            raise InputError(
                Problem(
                    "finger_width_mm",
                    f"gives {len(edges) - 1} fingers",
                    f"{self.finger_width_mm:g}",
                    allowed,
                    "mm",
                )
            )
        thinnest = min(self._widths)
        if thinnest <= abs(self.fit_mm):
            raise InputError(
                Problem(
                    "fit_mm",
                    "is as large as a finger",
                    f"{self.fit_mm:g}",
                    f"less than {thinnest:.3f} mm in size",
                    "mm",
                )
            )

    @cached_property
    def _axes(self) -> _Corner:
        return _corner(self.plan_corner_deg, self.slope_deg)

    @property
    def _edge_length(self) -> float:
        return number(self.board_width_mm / dot(self._axes.e, self._axes.up_a))

    @property
    def _widths(self) -> list[float]:
        """Of the fingers, from the lower rim."""
        return [b - a for a, b in itertools.pairwise(self._edges)]

    @cached_property
    def _edges(self) -> list[float]:
        """Finger boundaries along the corner edge, from the lower rim."""
        whole = self._edge_length
        wide = self.finger_width_mm
        if not wide:
            thick = most([self.thickness_a_mm, self.thickness_b_mm])
            odd = 2 * max(1, fixed(whole_below(whole / thick / 2))) + 1
            number = self.finger_count or min(odd, MOST_FINGERS)
            return _spread(whole, number)
        inner = fixed(whole_below((whole - wide) / wide + 1e-9))
        if inner < 1 or inner > 10 * MOST_FINGERS:
            # Too few or too many: refused by the class with the count that comes out.
            return _spread(whole, 1 if inner < 1 else MOST_FINGERS + 1)
        end = (whole - inner * wide) / 2
        return [0.0, *(end + wide * i for i in range(inner + 1)), whole]

    def _fingers(self, board: str) -> list[tuple[int, float, float]]:
        """(index, low, high) of the fingers that ``board`` keeps."""
        edges = self._edges
        first = 0 if board == self.first_finger else 1
        return [(i, edges[i], edges[i + 1]) for i in range(first, len(edges) - 1, 2)]

    def _sockets(self, board: str) -> tuple[Channel, ...]:
        """A board's sockets: the other's fingers, each boundary moved by a quarter of the fit."""
        last = len(self._edges) - 2
        depth = self.thickness_b_mm if board == "a" else self.thickness_a_mm
        out = []
        for i, low, high in self._fingers("b" if board == "a" else "a"):
            lo = -math.inf if i == 0 else low - self.fit_mm / 4
            hi = math.inf if i == last else high + self.fit_mm / 4
            out.append(Channel(lo, hi, depth))
        return tuple(out)

    def parts(self) -> tuple[Part, ...]:
        v = self._axes
        frame_a, frame_b = v.frames()
        # Each board leaves its neighbour along its own face, square to the corner edge.
        slide_a, slide_b = cross(v.n_a, v.e), cross(v.e, v.n_b)
        board_a = Part(
            "a",
            self.board_width_mm,
            self.thickness_a_mm,
            self.length_a_mm,
            x_from="face_edge",
            notches=(Notch(frame_a, (0.0, 0.0, 0.0), self._sockets("a")),),
            layout=self._rims("a", self.thickness_a_mm, self.length_a_mm),
            slide=apply(v.axes_a, slide_a),
            turns_over=False,
        )
        board_b = Part(
            "b",
            self.board_width_mm,
            self.thickness_b_mm,
            self.length_b_mm,
            x_from="back_edge",
            notches=(Notch(frame_b, (self.board_width_mm, 0.0, 0.0), self._sockets("b")),),
            layout=self._rims("b", self.thickness_b_mm, self.length_b_mm),
            slide=apply(v.axes_b, slide_b),
            turns_over=False,
        )
        return board_a, board_b

    @property
    def _levels(self) -> tuple[float, float]:
        """Heights of the level lower and upper rim."""
        cs, ss = self._slope
        lift = most([self.thickness_a_mm, self.thickness_b_mm]) * ss
        return most([0.0, lift]), self.board_width_mm * cs + least([0.0, lift])

    @property
    def _slope(self) -> tuple[float, float]:
        s = radians(self.slope_deg)
        return cos(s), sin(s)

    @property
    def _beyond(self) -> float:
        """How far either slanting end may reach along the grain, past or short of the corner."""
        joint = sin(radians(dihedral_deg(self.plan_corner_deg, self.slope_deg)))
        thick = self.thickness_a_mm + self.thickness_b_mm
        return number(self._edge_length + thick / joint + 2.0)

    def _rims(self, board: str, thickness: float, length_mm: float) -> tuple[LayoutBox, ...]:
        """The two bevels that make the rims level, as boxes of waste above and below."""
        cs, ss = self._slope
        if ss == 0:
            return ()
        low, high = self._levels
        out = []
        for name, level, sign in (("lower rim bevel", low, -1.0), ("upper rim bevel", high, 1.0)):
            # Horizontal reach of the section beyond the level plane, from the lower outer corner.
            reach = self.board_width_mm + thickness + 2.0
            size = (4 * reach, length_mm + 2 * self._beyond, reach)
            # In the section (x up the slope, y inwards) upwards is (cos s, sin s): the box's z,
            # its x points inwards and its y along the grain.
            height = level + sign * reach / 2
            if board == "a":
                rows = ((-ss, 0.0, cs), (cs, 0.0, ss), (0.0, 1.0, 0.0))
                at = (cs * height, ss * height, length_mm / 2)
            else:  # x runs down: turned half round about y
                rows = ((ss, 0.0, -cs), (cs, 0.0, ss), (0.0, -1.0, 0.0))
                at = (self.board_width_mm - cs * height, ss * height, length_mm / 2)
            marks = {
                "bevel_deg": self.slope_deg,
                "extra_width_mm": thickness * abs(ss / cs),
            }
            side = "face_edge" if sign < 0 else "back_edge"
            out.append(LayoutBox(name, pose_rows(rows, at), size, side, marks))
        return tuple(out)

    def placements(self) -> tuple[Placement, ...]:
        v = self._axes
        turn_a, turn_b = transposed(v.axes_a), transposed(v.axes_b)
        return (
            Placement("a", 0, pose_rows(turn_a, (0.0, 0.0, 0.0))),
            Placement("b", 0, pose_rows(turn_b, scaled(v.up_b, self.board_width_mm))),
        )

    @cached_property
    def _dual(self) -> Rows:
        """Rows that give a point from its heights over the three planes square to e, n_a, n_b."""
        v = self._axes
        across = cross(v.n_a, v.n_b)
        by = 1.0 / dot(v.e, across)
        return scaled(across, by), scaled(cross(v.n_b, v.e), by), scaled(cross(v.e, v.n_a), by)

    def _point(self, along_edge: float, into_a: float, into_b: float) -> Vector:
        """The world point at that place along the corner edge and depth behind both outsides."""
        return unapply(self._dual, (along_edge, -into_a, -into_b))

    def expectations(self) -> tuple[Expectation, ...]:
        v = self._axes
        t_a, t_b, fit = self.thickness_a_mm, self.thickness_b_mm, self.fit_mm
        out: list[Expectation] = []
        thick = {"a": t_a, "b": t_b}
        normals = {"a": v.n_a, "b": v.n_b}
        for mine, other in (("a", "b"), ("b", "a")):
            n, half = normals[other], thick[mine] / 2
            back = scaled(n, -1.0)
            for floor in self._in_fingers(other, mine, half, thick[other]):
                faces = Face(mine, 0, "socket floor", floor, n), Face(other, 0, "back", floor, back)
                out.append(Contact(*faces))
            ends = self._in_fingers(mine, mine, half, 0.0)
            beside = self._in_fingers(other, mine, half, 0.0)
            out += [
                Flush(Face(mine, 0, "finger end", a, n), Face(other, 0, "face side", b, n))
                for a, b in list(zip(ends, beside, strict=False))[:1]
            ]
        edges, down = self._edges, scaled(v.e, -1.0)
        for i in range(1, len(edges) - 1):
            below, above = ("a", "b") if (i % 2 == 1) == (self.first_finger == "a") else ("b", "a")
            middle = self._on_cheek(edges[i])
            if middle is None:
                continue
            lower, upper = moved(middle, v.e, -fit / 4), moved(middle, v.e, fit / 4)
            out.append(
                Contact(
                    Face(below, 0, f"finger {i} cheek", lower, v.e),
                    Face(above, 0, f"finger {i + 1} cheek", upper, down),
                    fit / 2,
                )
            )
        return (*out, *self._datums())

    def _in_fingers(self, board: str, mine: str, own: float, other: float) -> list[Vector]:
        """A point of each of ``board``'s fingers that deep behind the outsides of ``mine`` and
        the other board, in the middle of what the level rims leave of it; longest first."""
        depths = (own, other) if mine == "a" else (other, own)
        low, high = self._levels
        start, climb = self._point(0.0, *depths)[2], self._axes.e[2]
        stretches = [
            (most([a, (low - start) / climb]), least([b, (high - start) / climb]))
            for _, a, b in self._fingers(board)
        ]
        # Rounded, lest rounding choose among fingers that are all alike.
        stretches.sort(key=lambda s: snapped(s[0] - s[1]))
        seen = abs(self.fit_mm) + LEAST_SEEN_MM
        return [self._point((a + b) / 2, *depths) for a, b in stretches if b - a > seen]

    def _on_cheek(self, edge: float) -> Vector | None:
        """A point of the cheek there, its middle if the level rims leave it; None if they leave
        nothing of it."""
        t_a, t_b = self.thickness_a_mm, self.thickness_b_mm
        corners = [self._point(edge, a, b) for a in (0.0, t_a) for b in (0.0, t_b)]
        rise = [snapped(p[2]) for p in corners]
        bottom = corners[fixed(place_of_least(rise))]
        top = corners[fixed(place_of_least([-z for z in rise]))]
        part, (low, high) = 0.5, self._levels
        if not low < (bottom[2] + top[2]) / 2 < high:
            a, b = most([low, bottom[2]]), least([high, top[2]])
            if b - a < LEAST_SEEN_MM:
                return None
            part = ((a + b) / 2 - bottom[2]) / (top[2] - bottom[2])
        return moved(scaled(bottom, 1.0 - part), top, part)

    def _datums(self) -> tuple[Flush, ...]:
        """Outside faces at the slope and plan angle asked for, and level rims."""
        cs, ss = self._slope
        plan = radians(self.plan_corner_deg)
        x, y = sin(plan), cos(plan)
        outwards = {"a": (0.0, -1.0, 0.0), "b": (x, y, 0.0)}
        away = {"a": (-1.0, 0.0, 0.0), "b": (-y, x, 0.0)}
        low, high = self._levels
        out = []
        for board, long, thick in (
            ("a", self.length_a_mm, self.thickness_a_mm),
            ("b", self.length_b_mm, self.thickness_b_mm),
        ):
            flat, far = outwards[board], scaled(away[board], 0.6 * long)

            def at(height: float, out: float, flat: Vector = flat, far: Vector = far) -> Vector:
                """That far outside the outer face, level, at that height."""
                x, y, _ = moved(far, flat, height * ss / cs + out)
                return x, y, height

            # Half way between the level rims, which may take more than half of the side.
            normal = (flat[0] * cs, flat[1] * cs, -ss)
            places: list[tuple[str, Vector, Vector]] = [
                ("face side", at((low + high) / 2, 0.0), normal)
            ]
            for name, level, sign in (("lower rim", low, -1.0), ("upper rim", high, 1.0)):
                if ss != 0:  # half way through the board at that height
                    places.append((name, at(level, -thick / cs / 2), (0.0, 0.0, sign)))
            for name, point, normal in places:
                face = Face(board, 0, name, point, normal)
                out.append(Flush(face, Face("", 0, name, point, normal)))
        return tuple(out)

    @property
    def _root_shift(self) -> float:
        """How far along the corner edge a rim runs between a finger's end and its root."""
        v = self._axes
        c = dot(v.n_a, v.n_b)
        pairs = (
            (self.thickness_a_mm, self.thickness_b_mm),
            (self.thickness_b_mm, self.thickness_a_mm),
        )
        deepest = max((other - y * c) for own, other in pairs for y in (0.0, own))
        lean = dot(v.e, v.r_a) / dot(v.e, v.up_a)
        return float(abs(lean) * deepest / math.sqrt(1.0 - c * c))

    def checks(self) -> tuple[Check, ...]:
        edges = self._edges
        thin = min(self._widths)
        out = [
            at_least(
                "least_finger",
                thin - abs(self.fit_mm) / 2,
                3.0,
                "mm",
                "a finger narrower than this breaks off easily (common practice, no published "
                "source)",
                short="caution",
            )
        ]
        out.append(
            at_least(
                "finger_root",
                min(edges[1], edges[-1] - edges[-2]) - self._root_shift,
                0.0,
                "mm",
                "an end finger no wider than its rim slants over its length is cut off at its root",
            )
        )
        low, high = self._levels
        cs, _ = self._slope
        rim = at_least(
            "rim_height",
            high - low,
            0.0,
            "mm",
            "level rims must leave some of the board between them",
        )
        if rim.status == "fail":
            wide = (low - min(0.0, high - self.board_width_mm * cs)) / cs
            says = f"boards at least {wide:.1f} mm wide"
            rim = attrs.evolve(
                rim, remedies=(Remedy("widen_boards", says, {"board_width_mm": wide}),)
            )
        out.append(rim)
        return tuple(out)

    def notes(self) -> tuple[str, ...]:
        angle_text = f"{dihedral_deg(self.plan_corner_deg, self.slope_deg):.4f}"
        out = [f"the boards meet at {angle_text}°, measured square to the corner edge"]
        cs, ss = self._slope
        if ss != 0:
            extra = most([self.thickness_a_mm, self.thickness_b_mm]) * abs(ss / cs)
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
