"""A rail's tenon whose shoulder is off square in one or both directions.

Knows the plug-in contract only; no fixture, no solver, no other joint type.

World: the shoulder plane is Z = 0, Z into the rail; X along the tenon's width, Y along its
thickness; the rail's centre line passes through the origin. The mortised piece lies below, its
grain along X, its face side in the shoulder plane.

The tenon stands square to the shoulder plane, so the mortise is square into its face. Layout
angle w is between grain and shoulder line on the face side, t on the edge; both lines are the
rail's slopes over X and Y, so the grain has a part of 1/√(1 + tan² w + tan² t) along Z. A mortise
that follows the rail's face side has its long way along the shoulder line there; one that follows
the face edge has its short way along the line on the edge. With both angles at work the two lines
are not square to each other, so one of the two clampings needs packing.
"""

from __future__ import annotations

from functools import cached_property
from math import atan2, cos, degrees, radians, sin, sqrt, tan
from typing import Any, ClassVar

import attrs

from jointgeo.plugin import (
    INF,
    Bar,
    Block,
    Channel,
    Check,
    Cross,
    Drawing,
    InputError,
    JointType,
    Length,
    Meet,
    Middle,
    Notch,
    Plane,
    Remedy,
    Turn,
    Vec,
    X,
    Y,
    Z,
    at_least,
    at_most,
    choice,
    deg,
    greatest,
    mm,
    mortise,
    thickness_of,
    tight_fit,
    width_of,
)

__all__ = ["AngledTenon"]

GLUE_ROOM_MM = 2.0  # beyond a blind tenon's end; common practice, no published source
HAUNCH_ROOM_MM = 1.0  # beyond a haunch's end; common practice, no published source
LEAST_SHOULDER_MM = 3.0  # common practice, no published source
SQUARE = 1e-9  # cosine of two directions that are square to each other; rounding is 1e-15
PIECE, FACE = "mortised piece", "mortised piece.face_side"
LONG = f"{PIECE}/mortise.z1", f"{PIECE}/mortise.z2"
WIDE = f"{PIECE}/mortise.x1", f"{PIECE}/mortise.x2"
CENTRE = Meet("rail.centre", FACE)


@attrs.frozen
class AngledTenon(JointType):
    name: ClassVar[str] = "angled_tenon"
    summary: ClassVar[str] = "A rail's tenon with a shoulder off square in one or both directions"

    rail_width_mm: float = mm(
        "Width of the rail, across its face side", 0.1, 1000, width_of("rail")
    )
    rail_thickness_mm: float = mm(
        "Thickness of the rail, face side to back", 0.1, 500, thickness_of("rail")
    )
    rail_length_mm: float = mm(
        "Length of the rail along its centre line, from this shoulder to the other shoulder, "
        "or to the far end where that is cut square",
        0.1,
        shows=Length(FACE, "rail.far", along="rail.centre"),
    )
    width_angle_deg: float = deg(
        "Shoulder line off square on the face side; positive rises to the right, cut end down",
        -60,
        60,
        Turn("rail.back_edge", Cross("rail.face_side", FACE), "rail.face_side", "rail.grain"),
        default=0.0,
    )
    thickness_angle_deg: float = deg(
        "Shoulder line off square on the edge; positive rises from face side to back, cut end down",
        -60,
        60,
        Turn("rail.back", Cross("rail.face_edge", FACE), "rail.face_edge", "rail.grain"),
        default=0.0,
    )
    tenon_length_mm: float = mm(
        "Length of the tenon, square to its shoulder", 0.1, 500, Length("rail/cheeks.end", FACE)
    )
    tenon_width_mm: float = mm(
        "Width of the mortise; the tenon is narrower by the fit", 0.1, shows=Length(*LONG)
    )
    tenon_thickness_mm: float = mm(
        "Thickness of the mortise; the tenon is thinner by the fit", 0.1, shows=Length(*WIDE)
    )
    tenon_offset_width_mm: float = mm(
        "Tenon's centre off the rail's centre line at the shoulder, towards the back edge",
        -500,
        500,
        Length(CENTRE, Middle(*LONG), towards="rail.back_edge"),
        default=0.0,
    )
    tenon_offset_thickness_mm: float = mm(
        "Tenon's centre off the rail's centre line at the shoulder, towards the back",
        -500,
        500,
        Length(CENTRE, Middle(*WIDE), towards="rail.back"),
        default=0.0,
    )
    parallel_to: str = choice(
        "Side of the rail that the mortise follows", ("face_side", "face_edge"), default="face_side"
    )
    mortised_thickness_mm: float = mm(
        "Thickness of the mortised piece, the way the tenon goes in", 0.1, 1000, thickness_of(PIECE)
    )
    mortised_width_mm: float = mm(
        "Width of the mortised piece, across the tenon's thickness", 0.1, 1000, width_of(PIECE)
    )
    haunch_depth_mm: float = mm(
        "Length of a haunch beside the tenon, from the shoulder; 0 for none",
        0,
        500,
        Length(FACE, "rail/edges.floor2"),
        default=0.0,
    )
    haunch_at: str = choice(
        "Edge of the rail the haunch lies at", ("back_edge", "face_edge"), default="back_edge"
    )
    fit_mm: float = mm(
        "Total clearance, mortise minus tenon, in width and in thickness; negative: interference",
        -1,
        2,
        Length(*WIDE, minus=("rail/cheeks.cheek1", "rail/cheeks.cheek2")),
        default=0.0,
    )

    def __attrs_post_init__(self) -> None:
        for name in ("tenon_width_mm", "tenon_thickness_mm"):
            if (size := getattr(self, name)) <= self.fit_mm:
                allowed = f"more than fit_mm = {self.fit_mm:g} mm"
                raise InputError.of(name, "leaves no tenon", size, allowed, "mm")
        if self.haunch_depth_mm >= self.tenon_length_mm:
            name, says = "haunch_depth_mm", "must be shorter than the tenon"
            allowed = f"0 to less than tenon_length_mm = {self.tenon_length_mm:g} mm"
            raise InputError.of(name, says, self.haunch_depth_mm, allowed, "mm")

    # Drawn ----------------------------------------------------------------------------

    @cached_property
    def _rail(self) -> Bar:
        w, t = radians(self.width_angle_deg), radians(self.thickness_angle_deg)
        up = 1.0 / sqrt(1.0 + tan(w) ** 2 + tan(t) ** 2)
        if self.parallel_to == "face_side":
            grain = Vec(sin(w), cos(w) * tan(t) * up, up)
            face = (X ^ grain).unit
        else:
            grain = Vec(cos(t) * tan(w) * up, sin(t), up)
            face = grain ^ (grain ^ Y).unit
        size = self.rail_width_mm, self.rail_thickness_mm, self.rail_length_mm
        return Bar("rail", *size, grain, face, face ^ grain, Vec(0.0, 0.0, 0.0))

    @cached_property
    def _centre(self) -> Vec:
        """The tenon's, in the shoulder plane."""
        return Vec(self.tenon_offset_width_mm, self.tenon_offset_thickness_mm, 0.0)

    @property
    def _through(self) -> bool:
        return self.tenon_length_mm >= self.mortised_thickness_mm

    @property
    def _deep(self) -> float:
        """Depth of the mortise."""
        return self.mortised_thickness_mm if self._through else self.tenon_length_mm + GLUE_ROOM_MM

    def _corners(self, *depths: float) -> list[Vec]:
        """The mortise's four long edges, that deep below the shoulder plane."""
        wide, thick = self.tenon_width_mm / 2, self.tenon_thickness_mm / 2
        signs = (-1, -1), (-1, 1), (1, -1), (1, 1)
        return [self._centre + Vec(i * wide, j * thick, -k) for i, j in signs for k in depths]

    @cached_property
    def _haunch(self) -> tuple[float, float]:
        """1 where it lies towards the back edge, else -1; and its width: from the mortise to the
        nearest that a side of the rail comes beside it."""
        way = 1.0 if self.haunch_at == "back_edge" else -1.0
        long = [Vec(0.0, p.y, p.z) for p in self._corners(0.0, self.haunch_depth_mm)]
        reach = min(self._rail.reach(p, X * way) for p in long)
        return way, reach - way * self._centre.x - self.tenon_width_mm / 2

    @property
    def _haunched(self) -> bool:
        """Whether there is a haunch, and room for it."""
        return self.haunch_depth_mm > 0 and self._haunch[1] > max(0.0, -self.fit_mm) / 2

    def draw(self) -> Drawing:
        wide, thick, deep = self.tenon_width_mm, self.tenon_thickness_mm, self.tenon_length_mm
        centre, fit, end = self._centre, self.fit_mm, Plane(-Z, self.tenon_length_mm)
        long = 3.0 * self.rail_width_mm + wide  # as much of the piece as shows the joint
        size = self.mortised_width_mm, self.mortised_thickness_mm, long
        corner = centre + Vec(-long / 2, self.mortised_width_mm / 2, 0.0)
        piece = Bar.cornered(PIECE, size, X, Z, Y, corner)
        pockets = [mortise(piece, "face_side", "mortise", centre, wide, thick, self._deep)]
        empty = []
        if not self._through:
            middle = centre - Z * (deep + GLUE_ROOM_MM / 2)
            empty.append(Block("glue room", middle, (X, Y, Z), (wide, thick, GLUE_ROOM_MM)))
        low, high = centre.x - (wide - fit) / 2, centre.x + (wide - fit) / 2
        beside = [Channel(-INF, low, deep), Channel(high, INF, deep)]
        if self._haunched:
            (way, left), room = self._haunch, self.haunch_depth_mm + HAUNCH_ROOM_MM
            middle = centre + X * (way * (wide + left) / 2)
            pockets.append(mortise(piece, "face_side", "haunch socket", middle, left, thick, room))
            # Interference takes room from it, and must not push it out of the rail.
            tight, loose, short = max(0.0, -fit) / 2, max(0.0, fit) / 2, deep - self.haunch_depth_mm
            middle = middle + Vec(way * tight / 2, 0.0, HAUNCH_ROOM_MM / 2 - room)
            size = left - tight, thick, HAUNCH_ROOM_MM
            empty.append(Block("haunch room", middle, (X, Y, Z), size))
            if way > 0:
                edge = high + left - tight
                beside[1:] = [Channel(high, edge, short), Channel(edge, INF, deep, loose)]
            else:
                edge = low - left + tight
                beside[:1] = [Channel(-INF, edge, deep, loose), Channel(edge, low, short)]
        edges = Notch("edges", self._rail, end, X, beside, fit / 2)
        low, high = centre.y - (thick - fit) / 2, centre.y + (thick - fit) / 2
        cheeks = Notch(
            "cheeks", self._rail, end, Y, [(-INF, low, deep), (high, INF, deep)], fit / 2
        )
        bars = self._rail, piece
        return Drawing(bars, (edges, cheeks), tuple(pockets), {"rail": Z}, tuple(empty))

    # Read back ------------------------------------------------------------------------

    @classmethod
    def measure(cls, bar: Bar, mate: Bar) -> dict[str, Any]:
        face = mate.side("face_side")
        to_face, inward = face.hit(bar.middle, bar.grain), bar.stock(face.normal)
        # The piece may be marked from either edge: the rail says which way its back lies.
        across = mate.edge if mate.edge @ bar.face < 0 else -mate.edge
        out = {
            "rail_width_mm": bar.width,
            "rail_thickness_mm": bar.thickness,
            "rail_length_mm": bar.length - to_face,
            "width_angle_deg": degrees(atan2(-inward.x, inward.z)),
            "thickness_angle_deg": degrees(atan2(-inward.y, inward.z)),
            "tenon_offset_thickness_mm": across @ (mate.middle - bar.middle - bar.grain * to_face),
            "mortised_thickness_mm": mate.thickness,
            "mortised_width_mm": mate.width,
        }
        follows = cls._follows(bar, mate)
        return {**out, "parallel_to": follows[0]} if len(follows) == 1 else out

    @staticmethod
    def _follows(bar: Bar, mate: Bar) -> list[str]:
        """The sides of the rail that a mortise along ``mate`` follows: both, where one of the two
        angles is 0."""
        sides = ("face_side", bar.face @ mate.grain), ("face_edge", bar.edge @ mate.edge)
        return [side for side, off in sides if abs(off) <= SQUARE]

    def sizes(self) -> dict[str, Any]:
        (rail, piece), (edges, cheeks) = self.drawing.bars, self.drawing.notches
        mark, middle = self.drawing.pockets[0].marks, self.drawing.pockets[0].block.middle
        face = piece.side("face_side")
        centre = rail.middle + rail.grain * face.hit(rail.middle, rail.grain)
        long, shallow = edges.end.at + face.at, min(edges.channels, key=lambda c: c.depth)
        out = {
            "tenon_length_mm": long,
            "tenon_width_mm": mark["length_mm"],
            "tenon_thickness_mm": mark["width_mm"],
            "tenon_offset_width_mm": edges.across @ (middle - centre),
            "haunch_depth_mm": long - shallow.depth,
            "haunch_at": self.haunch_at,  # nothing shows it where there is no haunch
            "fit_mm": mark["width_mm"] - (cheeks.channels[1].low - cheeks.channels[0].high),
        }
        if len(edges.channels) > 2:
            aside = edges.across * (shallow.low + shallow.high - 2 * edges.across @ middle)
            out["haunch_at"] = "back_edge" if aside @ rail.edge < 0 else "face_edge"
        elif not self._haunched:  # one without room is not drawn; ``haunch_width`` says so
            out["haunch_depth_mm"] = self.haunch_depth_mm
        if self.parallel_to in self._follows(rail, piece):
            out["parallel_to"] = self.parallel_to
        return out

    def also(self) -> dict[str, tuple[float, float]]:
        (_, piece), (edges, cheeks) = self.drawing.bars, self.drawing.notches
        box, *more = self.drawing.pockets
        long, middle = edges.end.at + piece.side("face_side").at, box.block.middle
        out = {
            "mortise in the middle of its piece": (cheeks.across @ (middle - piece.middle), 0.0),
            "depth of the mortise": (box.marks["depth_mm"], self._deep),
            "haunch sockets": (len(more), len(edges.channels) - 2),
        }
        first, *_, last = edges.channels
        low, high = first.high, last.low
        for socket in more:
            way, haunch, mark = self._haunch[0], edges.channels[1], socket.marks
            end, half = haunch.high if way > 0 else haunch.low, mark["length_mm"] / 2
            low, high = (low, haunch.low) if way > 0 else (haunch.high, high)
            off, deep = socket.block.middle - middle, self.haunch_depth_mm + HAUNCH_ROOM_MM
            aside, wall = way * edges.across @ off, edges.across @ socket.block.middle + way * half
            out["haunch socket beside the mortise"] = aside, half + box.marks["length_mm"] / 2
            out["clearance at the haunch's edge"] = way * (wall - end), max(0.0, self.fit_mm) / 2
            out["width of the haunch socket"] = mark["width_mm"], box.marks["width_mm"]
            out["depth of the haunch socket"] = mark["depth_mm"], deep
        out["clearance at the edges"] = box.marks["length_mm"] - (high - low), self.fit_mm
        out["edges about the mortise's middle"] = (low + high) / 2, edges.across @ middle
        low, high = cheeks.channels[0].high, cheeks.channels[1].low
        out["cheeks about the mortise's middle"] = (low + high) / 2, cheeks.across @ middle
        for number, c in enumerate((first, last, *cheeks.channels), 1):
            out[f"shoulder {number} on the face side"] = c.depth, long
        return out

    # Judged ---------------------------------------------------------------------------

    def _room(self) -> float:
        """Least distance of the tenon's corners inside the rail's section."""
        return self._rail.room(*self._corners(0.0, self.tenon_length_mm))

    def _least_shoulder(self) -> float:
        """Least distance, in the shoulder plane, from the mortise's outline to the rail's sides."""
        sides = [self._rail.side(s) for s in ("face_side", "back", "face_edge", "back_edge")]
        # A side meets the shoulder plane at an angle.
        return min(-s.out(p) / s.normal.across(Z).length for s in sides for p in self._corners(0.0))

    def checks(self) -> tuple[Check, ...]:
        why = "every corner of the tenon must lie inside the rail's section"
        room = attrs.evolve(at_least("tenon_in_rail", self._room(), 0.0, "mm", why), part="rail")
        if room.status == "fail":
            least, most = max(self.fit_mm, 0.0) + 0.1, self.tenon_width_mm
            widest = greatest(lambda x: attrs.evolve(self, tenon_width_mm=x)._room(), least, most)
            if widest is not None:
                says = f"a tenon no wider than {widest:.1f} mm stays inside the rail"
                narrow = Remedy("narrow_tenon", says, {"tenon_width_mm": widest})
                room = attrs.evolve(room, remedies=(narrow,))
        why = (
            "a shoulder narrower than this hides little and bruises easily "
            "(common practice, no published source)"
        )
        least, limit = self._least_shoulder(), LEAST_SHOULDER_MM
        shoulder = at_least("least_shoulder", least, limit, "mm", why, short="caution")
        wall = (self.mortised_width_mm - self.tenon_thickness_mm) / 2
        why = (
            "a tenon is usually no more than a third of the mortised piece "
            f"(here {wall:.1f} mm is left on either side)"
        )
        # A third: common practice, no published source.
        thick, limit = self.tenon_thickness_mm, self.mortised_width_mm / 3
        third = at_most("mortise_third", thick, limit, "mm", why, short="caution")
        out = [room, shoulder, third, tight_fit(self.fit_mm, thick)]
        if not self._through:
            why = (
                f"a blind mortise is {GLUE_ROOM_MM:g} mm deeper than its tenon and must not "
                "break through"
            )
            left = self.mortised_thickness_mm - self._deep
            out.append(at_least("mortise_floor", left, 0.0, "mm", why))
        if self.haunch_depth_mm > 0:
            why, wide = "the haunch needs room between tenon and rail's edge", self._haunch[1]
            check = at_least("haunch_width", wide, LEAST_SHOULDER_MM, "mm", why, short="caution")
            out.append(attrs.evolve(check, status="fail") if wide <= 0 else check)
        return tuple(out)

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
