"""A rail's tenon whose shoulder is off square in one or both directions.

Knows the plug-in contract only; no fixture, no solver, no other joint type.

Theory. With the cut end down, the shoulder line on the face side runs along
d₁ = (cos w, 0, sin w) and on the edge along d₂ = (0, cos t, sin t), w and t the two
layout angles. The tenon stands square to the shoulder plane, so the mortise is square
into its face. A mortise that follows the rail's face side has its long direction along
d₁; one that follows the face edge has its short direction along d₂. With both angles at
work d₁ and d₂ are not square to each other, so one of the two setups needs packing.

World: the shoulder plane is Z = 0, Z into the rail; X along the tenon's width, Y along
its thickness; the rail's centre line passes through the origin.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import cached_property
from typing import ClassVar

import attrs
from numpy.typing import ArrayLike

from jointgeo.errors import InputError, Problem
from jointgeo.geometry.arith import (
    Number,
    column,
    copysign,
    cos,
    least,
    most,
    number,
    radians,
    sin,
    sqrt,
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
    unapply,
)
from jointgeo.geometry.search import greatest
from jointgeo.joints.check import Check, Remedy, at_least, at_most
from jointgeo.joints.contract import (
    Channel,
    Contact,
    Empty,
    Expectation,
    Face,
    Flush,
    LayoutBox,
    Notch,
    Part,
    Placement,
)
from jointgeo.joints.joint_type import JointType
from jointgeo.schema.fields import angle, choice, length

__all__ = ["AngledTenon", "shoulder_frame", "shoulder_rows"]

GLUE_ROOM_MM = 2.0  # beyond a blind tenon's end; common practice, no published source
HAUNCH_ROOM_MM = 1.0  # beyond a haunch's end; common practice, no published source
LEAST_SEEN_MM = 0.1  # a face narrower than this is expected of nobody
LEAST_SHOULDER_MM = 3.0  # common practice, no published source
_POST = ((0.0, 0.0, 1.0), (-1.0, 0.0, 0.0), (0.0, -1.0, 0.0))  # world from post


def shoulder_rows(
    width_angle_deg: Number, thickness_angle_deg: Number, follows: str = "face_side"
) -> Rows:
    """World axes in stock coordinates: along the tenon's width, its thickness, and q_z."""
    w, t = radians(width_angle_deg), radians(thickness_angle_deg)
    on_face, on_edge = (cos(w), 0.0, sin(w)), (0.0, cos(t), sin(t))
    inward = direction(cross(on_face, on_edge))
    if follows == "face_side":
        return on_face, cross(inward, on_face), inward
    return cross(on_edge, inward), on_edge, inward


def shoulder_frame(
    width_angle_deg: ArrayLike, thickness_angle_deg: ArrayLike, follows: str = "face_side"
) -> Array:
    """The same as arrays (..., 3, 3)."""
    return stacked(shoulder_rows(column(width_angle_deg), column(thickness_angle_deg), follows))


@attrs.frozen
class AngledTenon(JointType):
    name: ClassVar[str] = "angled_tenon"
    summary: ClassVar[str] = "A rail's tenon with a shoulder off square in one or both directions"

    rail_width_mm: float = length("Width of the rail, across its face side", low=0.1, high=1000)
    rail_thickness_mm: float = length("Thickness of the rail, face side to back", low=0.1, high=500)
    rail_length_mm: float = length(
        "Length of the rail along its centre line, from this shoulder to the other shoulder, "
        "or to the far end where that is cut square",
        low=0.1,
    )
    width_angle_deg: float = angle(
        "Shoulder line off square on the face side; positive rises to the right, cut end down",
        low=-60,
        high=60,
        default=0.0,
    )
    thickness_angle_deg: float = angle(
        "Shoulder line off square on the edge; positive rises from face side to back, cut end down",
        low=-60,
        high=60,
        default=0.0,
    )
    tenon_length_mm: float = length(
        "Length of the tenon, square to its shoulder", low=0.1, high=500
    )
    tenon_width_mm: float = length(
        "Width of the mortise; the tenon is narrower by the fit", low=0.1
    )
    tenon_thickness_mm: float = length(
        "Thickness of the mortise; the tenon is thinner by the fit", low=0.1
    )
    tenon_offset_width_mm: float = length(
        "Tenon's centre off the rail's centre line at the shoulder, towards the back edge",
        low=-500,
        high=500,
        default=0.0,
    )
    tenon_offset_thickness_mm: float = length(
        "Tenon's centre off the rail's centre line at the shoulder, towards the back",
        low=-500,
        high=500,
        default=0.0,
    )
    parallel_to: str = choice(
        "Side of the rail that the mortise follows", ("face_side", "face_edge"), default="face_side"
    )
    mortised_thickness_mm: float = length(
        "Thickness of the mortised piece, the way the tenon goes in", low=0.1, high=1000
    )
    mortised_width_mm: float = length(
        "Width of the mortised piece, across the tenon's thickness", low=0.1, high=1000
    )
    haunch_depth_mm: float = length(
        "Length of a haunch beside the tenon, from the shoulder; 0 for none",
        low=0,
        high=500,
        default=0.0,
    )
    haunch_at: str = choice(
        "Edge of the rail the haunch lies at", ("back_edge", "face_edge"), default="back_edge"
    )
    fit_mm: float = length(
        "Total clearance, mortise minus tenon, in width and in thickness; negative: interference",
        low=-1,
        high=2,
        default=0.0,
    )

    def __attrs_post_init__(self) -> None:
        for name in ("tenon_width_mm", "tenon_thickness_mm"):
            if getattr(self, name) <= self.fit_mm:
                allowed = f"more than fit_mm = {self.fit_mm:g} mm"
                problem = Problem(
                    name, "leaves no tenon", f"{getattr(self, name):g}", allowed, "mm"
                )
                raise InputError(problem)
        if self.haunch_depth_mm >= self.tenon_length_mm:
            raise InputError(
                Problem(
                    "haunch_depth_mm",
                    "must be shorter than the tenon",
                    f"{self.haunch_depth_mm:g}",
                    f"0 to less than tenon_length_mm = {self.tenon_length_mm:g} mm",
                    "mm",
                )
            )

    # Geometry ------------------------------------------------------------------------

    @cached_property
    def _frame(self) -> Rows:
        return shoulder_rows(self.width_angle_deg, self.thickness_angle_deg, self.parallel_to)

    @property
    def _centre(self) -> Vector:
        """Where the centre line meets the shoulder plane, in stock coordinates."""
        return self.rail_width_mm / 2, self.rail_thickness_mm / 2, 0.0

    @property
    def _offset(self) -> tuple[float, float]:
        """The tenon's centre in the shoulder plane."""
        return self.tenon_offset_width_mm, self.tenon_offset_thickness_mm

    @property
    def _through(self) -> bool:
        return self.tenon_length_mm >= self.mortised_thickness_mm

    @property
    def _mortise_depth(self) -> float:
        return self.mortised_thickness_mm if self._through else self.tenon_length_mm + GLUE_ROOM_MM

    def _tenon_corners(self) -> list[Vector]:
        """The mortise-sized tenon's eight corners in stock coordinates, a long edge's two
        together: at the shoulder, at the end."""
        (u, v), (x, y, _) = self._offset, self._centre
        half_w, half_t = self.tenon_width_mm / 2, self.tenon_thickness_mm / 2
        world = [
            (u + i * half_w, v + j * half_t, -k * self.tenon_length_mm)
            for i in (-1, 1)
            for j in (-1, 1)
            for k in (0, 1)
        ]
        return [moved((x, y, 0.0), unapply(self._frame, p), 1.0) for p in world]

    @property
    def _haunched(self) -> bool:
        """Whether there is a haunch, and room for it."""
        return self.haunch_depth_mm > 0 and self._haunch_width() > max(0.0, -self.fit_mm) / 2

    @property
    def _haunch_side(self) -> float:
        """1 where the haunch lies towards the back edge, -1 towards the face edge, 0 for none."""
        if not self._haunched:
            return 0.0
        return 1.0 if self.haunch_at == "back_edge" else -1.0

    def _haunch_width(self) -> float:
        """From the tenon's edge to the nearest that a side of the rail comes beside the haunch."""
        sign = 1.0 if self.haunch_at == "back_edge" else -1.0
        q = self._frame
        reach = []
        for j in (-1, 1):
            for z in (0.0, -self.haunch_depth_mm):
                b = self._offset[1] + j * self.tenon_thickness_mm / 2
                away = sign * (b * q[1][0] + z * q[2][0])
                reach.append((self.rail_width_mm / 2 - away) / q[0][0])
                # Where the mortise follows the face edge, a haunch leans out of the face side.
                lean, y = sign * q[0][1], b * q[1][1] + z * q[2][1]
                if lean != 0:
                    way = copysign(1.0, lean)
                    reach.append((self.rail_thickness_mm / 2 - way * y) / abs(lean))
        return number(least(reach) - sign * self._offset[0]) - self.tenon_width_mm / 2

    def _room(self) -> float:
        """Least distance of the tenon's corners inside the rail's section."""
        size = (self.rail_width_mm, self.rail_thickness_mm)
        return float(
            min(min(c[i], s - c[i]) for c in self._tenon_corners() for i, s in enumerate(size))
        )

    # Contract ------------------------------------------------------------------------

    def parts(self) -> tuple[Part, ...]:
        q = self._frame
        depth = self.tenon_length_mm
        origin = moved(self._centre, q[2], -depth)
        across = (q[1], scaled(q[0], -1.0), q[2])
        rail = Part(
            "rail",
            self.rail_width_mm,
            self.rail_thickness_mm,
            self.rail_length_mm,
            notches=(
                Notch(q, origin, self._width_channels()),
                Notch(across, origin, self._channels(1, self.tenon_thickness_mm)),
            ),
            slide=q[2],
        )
        return rail, self._post()

    def _channels(self, axis: int, size: float) -> tuple[Channel, ...]:
        half = (size - self.fit_mm) / 2
        at, depth = self._offset[axis], self.tenon_length_mm
        return (Channel(-math.inf, at - half, depth), Channel(at + half, math.inf, depth))

    def _width_channels(self) -> tuple[Channel, ...]:
        low, high = self._channels(0, self.tenon_width_mm)
        if not self._haunched:
            return low, high
        short = self.tenon_length_mm - self.haunch_depth_mm
        # Interference must not push it out of the rail.
        wide = self._haunch_width() + min(0.0, self.fit_mm) / 2
        if self.haunch_at == "back_edge":
            edge = high.low_mm + wide
            return (
                low,
                Channel(high.low_mm, edge, short),
                Channel(edge, math.inf, self.tenon_length_mm),
            )
        edge = low.high_mm - wide
        return (
            Channel(-math.inf, edge, self.tenon_length_mm),
            Channel(edge, low.high_mm, short),
            high,
        )

    @property
    def _post_length(self) -> float:
        """Length of the mortised piece as it is shown: enough to hold the rail with room."""
        return 3.0 * self.rail_width_mm + self.tenon_width_mm

    def _post(self) -> Part:
        middle = self._post_length / 2
        boxes = [
            self._socket("mortise", 0.0, self.tenon_width_mm, self._mortise_depth, middle),
        ]
        if self._haunched:
            wide = self._haunch_width()
            aside = self._haunch_side * (self.tenon_width_mm + wide) / 2
            deep = self.haunch_depth_mm + HAUNCH_ROOM_MM
            boxes.append(self._socket("haunch socket", aside, wide, deep, middle))
        return Part(
            "mortised piece",
            self.mortised_width_mm,
            self.mortised_thickness_mm,
            self._post_length,
            layout=tuple(boxes),
        )

    def _socket(
        self, name: str, aside: float, long: float, deep: float, middle: float
    ) -> LayoutBox:
        frame = pose_rows(UNIT_ROWS, (self.mortised_width_mm / 2, deep / 2, middle + aside))
        marks = {
            "length_mm": long,
            "width_mm": self.tenon_thickness_mm,
            "depth_mm": deep,
            "from_face_edge_mm": (self.mortised_width_mm - self.tenon_thickness_mm) / 2,
        }
        return LayoutBox(name, frame, (self.tenon_thickness_mm, deep, long), "face_side", marks)

    def placements(self) -> tuple[Placement, ...]:
        q = self._frame
        u, v = self._offset
        at = (u - self._post_length / 2, v + self.mortised_width_mm / 2, 0.0)
        return (
            Placement("rail", 0, pose_rows(q, scaled(apply(q, self._centre), -1.0))),
            Placement("mortised piece", 0, pose_rows(_POST, at)),
        )

    def expectations(self) -> tuple[Expectation, ...]:
        u, v = self._offset
        out: list[Expectation] = [*self._shoulders()]
        for axis, size, name in (
            (0, self.tenon_width_mm, "edge"),
            (1, self.tenon_thickness_mm, "cheek"),
        ):
            for sign in (-1.0, 1.0):
                if axis == 0 and self.haunch_depth_mm > 0:
                    deep = -(self.haunch_depth_mm + HAUNCH_ROOM_MM + self._mortise_depth) / 2
                    deep = max(deep, -(self.haunch_depth_mm + self.tenon_length_mm) / 2)
                else:
                    deep = -self.tenon_length_mm / 2
                normal = (0.0, sign, 0.0) if axis else (sign, 0.0, 0.0)
                wall = moved((u, v, deep), normal, size / 2)
                on_tenon = moved(wall, normal, -self.fit_mm / 2)
                out.append(
                    Contact(
                        Face("rail", 0, f"tenon {name}", on_tenon, normal),
                        Face("mortised piece", 0, f"mortise {name}", wall, scaled(normal, -1.0)),
                        self.fit_mm / 2,
                    )
                )
        if not self._through:
            room = (self.tenon_width_mm * 0.9, self.tenon_thickness_mm * 0.9, GLUE_ROOM_MM * 0.9)
            middle = (u, v, -self.tenon_length_mm - GLUE_ROOM_MM / 2)
            out.append(Empty("glue room", pose_rows(UNIT_ROWS, middle), room))
        return (*out, *self._haunch(), *self._datums())

    def _haunch(self) -> tuple[Expectation, ...]:
        """The haunch's outer edge in its socket, and the room left beyond its end."""
        if not self._haunched:
            return ()
        wide, sign = self._haunch_width(), self._haunch_side
        u, v = self._offset
        outwards, inwards = (sign, 0.0, 0.0), (-sign, 0.0, 0.0)
        edge = u + sign * self.tenon_width_mm / 2
        wall = (edge + sign * wide, v, -self.haunch_depth_mm / 2)
        gap = max(0.0, self.fit_mm) / 2
        tight = max(0.0, -self.fit_mm) / 2  # that much of the room the tenon takes
        beyond = (edge + sign * (wide + tight) / 2, v, -self.haunch_depth_mm - HAUNCH_ROOM_MM / 2)
        size = (wide - tight, self.tenon_thickness_mm, HAUNCH_ROOM_MM)
        return (
            Contact(
                Face("rail", 0, "haunch edge", moved(wall, outwards, -gap), outwards),
                Face("mortised piece", 0, "haunch socket edge", wall, inwards),
                gap,
            ),
            Empty("haunch room", pose_rows(UNIT_ROWS, beyond), size),
        )

    def _shoulders(self) -> Iterator[Contact]:
        """Each of the shoulders there are, half way between tenon and rail's side.

        Two setups cut them, so that one may be right and its neighbour undercut.
        """
        q = self._frame
        up, down = (0.0, 0.0, 1.0), (0.0, 0.0, -1.0)
        sizes = (self.tenon_width_mm, self.tenon_thickness_mm)
        half = (self.rail_width_mm / 2, self.rail_thickness_mm / 2)
        for axis in (0, 1):
            for sign in (-1.0, 1.0):
                edge = self._offset[axis] + sign * sizes[axis] / 2
                if axis == 0 and sign == self._haunch_side:  # the haunch has no shoulder there
                    edge += sign * self._haunch_width()
                outer = math.inf
                for k in (0, 1):  # a skewed rail may end at either pair of its sides
                    lean, other = q[axis][k], self._offset[1 - axis] * q[1 - axis][k]
                    if lean != 0:
                        way = copysign(1.0, sign * lean)
                        outer = least([outer, (half[k] - way * other) / abs(lean)])
                outer *= sign
                if axis == 1:  # the mortised piece may be narrower than the rail
                    reach = self._offset[1] + sign * self.mortised_width_mm / 2
                    outer = least([outer, reach]) if sign > 0 else most([outer, reach])
                if sign * (outer - edge) < LEAST_SEEN_MM:
                    continue
                middle, (u, v) = (edge + outer) / 2, self._offset
                point = (u, middle, 0.0) if axis else (middle, v, 0.0)
                yield Contact(
                    Face("rail", 0, "shoulder", point, down),
                    Face("mortised piece", 0, "face side", point, up),
                )

    def _datums(self) -> tuple[Flush, ...]:
        """The rail's face side and face edge where the two layout angles put them.

        From the angles between lines alone: grain against shoulder line is 90° - w on the
        face side and 90° - t on the edge.
        """
        sw, st = sin(radians(self.width_angle_deg)), sin(radians(self.thickness_angle_deg))
        skew = sqrt(1.0 - (sw * st) ** 2)
        if self.parallel_to == "face_side":
            g_x, g_y = sw, st * (1 - sw * sw) / skew
            on_face = (1.0, 0.0, 0.0)
        else:
            g_x, g_y = sw * (1 - st * st) / skew, st
            on_face = (skew, sw * st, 0.0)
        grain = (g_x, g_y, sqrt(1.0 - g_x * g_x - g_y * g_y))
        front = direction(cross(on_face, grain))
        out = []
        for name, normal, half in (
            ("face side", front, self.rail_thickness_mm / 2),
            ("face edge", cross(front, grain), self.rail_width_mm / 2),
        ):
            point = moved(scaled(grain, 0.6 * self.rail_length_mm), normal, half)
            out.append(
                Flush(Face("rail", 0, name, point, normal), Face("", 0, name, point, normal))
            )
        return tuple(out)

    def checks(self) -> tuple[Check, ...]:
        room = at_least(
            "tenon_in_rail",
            self._room(),
            0.0,
            "mm",
            "every corner of the tenon must lie inside the rail's section",
        )
        widest = greatest(
            lambda x: attrs.evolve(self, tenon_width_mm=x)._room(),
            max(self.fit_mm, 0.0) + 0.1,
            self.tenon_width_mm,
        )
        if room.status == "fail" and widest is not None:
            says = f"a tenon no wider than {widest:.1f} mm stays inside the rail"
            room = attrs.evolve(
                room, remedies=(Remedy("narrow_tenon", says, {"tenon_width_mm": widest}),)
            )
        wall = (self.mortised_width_mm - self.tenon_thickness_mm) / 2
        out = [
            attrs.evolve(room, part="rail"),
            at_least(
                "least_shoulder",
                self._least_shoulder(),
                LEAST_SHOULDER_MM,
                "mm",
                "a shoulder narrower than this hides little and bruises easily "
                "(common practice, no published source)",
                short="caution",
            ),
            at_most(
                "mortise_third",
                self.tenon_thickness_mm,
                self.mortised_width_mm / 3,
                "mm",
                "a tenon is usually no more than a third of the mortised piece "
                f"(here {wall:.1f} mm is left on either side)",
                short="caution",
            ),
        ]
        if not self._through:
            out.append(
                at_least(
                    "mortise_floor",
                    self.mortised_thickness_mm - self._mortise_depth,
                    0.0,
                    "mm",
                    f"a blind mortise is {GLUE_ROOM_MM:g} mm deeper than its tenon and must not "
                    "break through",
                )
            )
        if self.haunch_depth_mm > 0:
            out.append(
                at_least(
                    "haunch_width",
                    self._haunch_width(),
                    LEAST_SHOULDER_MM,
                    "mm",
                    "the haunch needs room between tenon and rail's edge",
                    short="fail" if self._haunch_width() <= 0 else "caution",
                )
            )
        return tuple(out)

    def _least_shoulder(self) -> float:
        """Least distance, in the shoulder plane, from the mortise's outline to the rail's sides."""
        q, outline = self._frame, self._tenon_corners()[::2]
        room = []
        for i, size in enumerate((self.rail_width_mm, self.rail_thickness_mm)):
            lean = math.hypot(q[0][i], q[1][i])  # a side meets the shoulder plane at an angle
            room += [min(p[i], size - p[i]) / lean for p in outline]
        return float(min(room))

    def notes(self) -> tuple[str, ...]:
        return (
            f"the mortise is square into its face and follows the rail's "
            f"{self.parallel_to.replace('_', ' ')}",
        )

    @classmethod
    def examples(cls) -> tuple[AngledTenon, ...]:
        base = cls(
            rail_width_mm=70,
            rail_thickness_mm=24,
            rail_length_mm=380,
            width_angle_deg=0,
            thickness_angle_deg=6,
            tenon_length_mm=25,
            tenon_width_mm=50,
            tenon_thickness_mm=9,
            mortised_thickness_mm=42,
            mortised_width_mm=42,
            fit_mm=0.1,
        )
        return base, attrs.evolve(base, width_angle_deg=5, thickness_angle_deg=8, tenon_width_mm=45)
