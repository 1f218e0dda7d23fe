"""A rail's tenon whose shoulder is off square in one or both directions.

Knows the plug-in contract only; no fixture, no solver, no other joint type.

World: the shoulder plane is Z = 0, Z into the rail; X along the tenon's width, Y along its
thickness; the rail's centre line passes through the origin. The mortised piece lies below, its
face side in the shoulder plane, its grain along X turned back by ``mortise_turn_deg`` about Z.

The tenon stands square to the shoulder plane, so the mortise is square into its face. Layout
angle w is between grain and shoulder line on the face side, t on the edge; both lines are the
rail's slopes over X and Y, so the grain has a part of 1/√(1 + tan² w + tan² t) along Z. A mortise
that follows the rail's face side has its long way along the shoulder line there; one that follows
the face edge has its short way along the line on the edge. With both angles at work the two lines
are not square to each other, so one of the two clampings needs packing.

Bars that stand in a room leave the mortise turned in its side and off the middle of its piece. With
g the piece's grain (g·X ≥ 0), h = Z ^ g, and the mortise's middle c,

    turn = atan2(h·X, g·X)      offset = (c - the piece's centre line)·h

and no setting of the tenon depends on either.
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
    Placement,
    Plane,
    Remedy,
    Turn,
    Vec,
    X,
    Y,
    Z,
    at_least,
    choice,
    deg,
    greatest,
    mm,
    mortise,
    thickness_of,
    tight_fit,
    width_of,
)
from jointgeo.types.angled_tenon_mortise import (
    equalities,
    floor_check,
    lie_of_mortise,
    read_back,
    third_check,
    through_words,
    wall_beside,
    wall_checks,
)

__all__ = ["AngledTenon"]

GLUE_ROOM_MM = 2.0  # beyond a blind tenon's end; common practice, no published source
HAUNCH_ROOM_MM = 1.0  # beyond a haunch's end; common practice, no published source
LEAST_SHOULDER_MM = 3.0  # common practice, no published source
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
    mortise_turn_deg: float = deg(
        "Mortise turned in its side, from the piece's grain to the tenon's width; positive "
        "towards the rail's back",
        -89.9999,
        90,
        Turn(f"{PIECE}.grain", LONG[0], FACE, f"{PIECE}.face_edge"),
        default=0.0,
    )
    mortise_offset_mm: float = mm(
        "Mortise's middle off the middle of its piece, square to the piece's grain; positive "
        "towards the rail's back",
        -500,
        500,
        Length(
            Meet(f"{PIECE}/mortise.y", FACE),
            Middle(f"{PIECE}.face_edge", f"{PIECE}.back_edge"),
            towards=f"{PIECE}.back_edge",
        ),
        default=0.0,
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
    def _piece(self) -> Bar:
        turn, long = radians(self.mortise_turn_deg), 3.0 * self.rail_width_mm + self.tenon_width_mm
        grain, edge = Vec(cos(turn), -sin(turn), 0.0), Vec(sin(turn), cos(turn), 0.0)
        # As much of the piece as shows the joint.
        size = self.mortised_width_mm, self.mortised_thickness_mm, long
        wall = self.mortised_width_mm / 2 - self.mortise_offset_mm
        corner = self._centre - grain * (long / 2) + edge * wall
        return Bar.cornered(PIECE, size, grain, Z, edge, corner)

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
        piece = self._piece
        pockets = [mortise(piece, "face_side", "mortise", centre, wide, thick, self._deep, along=X)]
        empty = []
        if not self._through:
            middle = centre - Z * (deep + GLUE_ROOM_MM / 2)
            empty.append(Block("glue room", middle, (X, Y, Z), (wide, thick, GLUE_ROOM_MM)))
        low, high = centre.x - (wide - fit) / 2, centre.x + (wide - fit) / 2
        sides = [Channel(-INF, low, deep), Channel(high, INF, deep)]
        if self._haunched:
            (way, left), room = self._haunch, self.haunch_depth_mm + HAUNCH_ROOM_MM
            middle = centre + X * (way * (wide + left) / 2)
            socket = "haunch socket", middle, left, thick, room
            pockets.append(mortise(piece, "face_side", *socket, along=X))
            # Interference takes room from it, and must not push it out of the rail.
            tight, loose, short = max(0.0, -fit) / 2, max(0.0, fit) / 2, deep - self.haunch_depth_mm
            middle = middle + Vec(way * tight / 2, 0.0, HAUNCH_ROOM_MM / 2 - room)
            size = left - tight, thick, HAUNCH_ROOM_MM
            empty.append(Block("haunch room", middle, (X, Y, Z), size))
            if way > 0:
                edge = high + left - tight
                sides[1:] = [Channel(high, edge, short), Channel(edge, INF, deep, loose)]
            else:
                edge = low - left + tight
                sides[:1] = [Channel(-INF, edge, deep, loose), Channel(edge, low, short)]
        edges = Notch("edges", self._rail, end, X, sides, fit / 2)
        low, high = centre.y - (thick - fit) / 2, centre.y + (thick - fit) / 2
        beside = (-INF, low, deep), (high, INF, deep)
        cheeks = Notch("cheeks", self._rail, end, Y, beside, fit / 2)
        return Drawing(
            (self._rail, piece), (edges, cheeks), tuple(pockets), {"rail": Z}, tuple(empty)
        )

    # Read back ------------------------------------------------------------------------

    @classmethod
    def measure(cls, bar: Bar, mate: Bar) -> dict[str, Any]:
        face = mate.side("face_side")
        to_face, inward = face.hit(bar.middle, bar.grain), bar.stock(face.normal)
        return {
            "rail_width_mm": bar.width,
            "rail_thickness_mm": bar.thickness,
            "rail_length_mm": bar.length - to_face,
            "width_angle_deg": degrees(atan2(-inward.x, inward.z)),
            "thickness_angle_deg": degrees(atan2(-inward.y, inward.z)),
            "mortised_thickness_mm": mate.thickness,
            "mortised_width_mm": mate.width,
        }

    @classmethod
    def between(cls, bar: Bar, mate: Bar, **sizes: Any) -> tuple[AngledTenon, Placement]:
        """As ``JointType.between``; how the mortise lies follows from what is said of the tenon.

        Without ``parallel_to`` the mortise follows the side of the rail that lies along the piece,
        or the face side where neither does. Without ``mortise_offset_mm`` the tenon is where its
        offsets say; with it alone, the tenon goes where the mortise is.
        """
        return super().between(bar, mate, **lie_of_mortise(bar, mate, sizes))

    def sizes(self) -> dict[str, Any]:
        out = read_back(self.drawing, self.parallel_to)
        if "haunch_at" not in out:  # nothing shows it where there is no haunch
            out["haunch_at"] = self.haunch_at
            if not self._haunched:  # one without room is not drawn; ``haunch_width`` says so
                out["haunch_depth_mm"] = self.haunch_depth_mm
        return out

    def also(self) -> dict[str, tuple[float, float]]:
        haunch = self.haunch_depth_mm, HAUNCH_ROOM_MM, self._haunch[0]
        return equalities(self.drawing, self.fit_mm, self._deep, haunch)

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
        turn, off = self.mortise_turn_deg, self.mortise_offset_mm
        size = self.tenon_width_mm, self.tenon_thickness_mm
        wall = wall_beside(self.mortised_width_mm, turn, off, *size)
        third = third_check(self.tenon_thickness_mm, self.mortised_width_mm, wall)
        out = [room, shoulder, third, tight_fit(self.fit_mm, self.tenon_thickness_mm)]
        if turn or off:
            out += wall_checks(wall, turn)
        if not self._through:
            out.append(floor_check(self.mortised_thickness_mm, self._deep, GLUE_ROOM_MM))
        if self.haunch_depth_mm > 0:
            why, wide = "the haunch needs room between tenon and rail's edge", self._haunch[1]
            check = at_least("haunch_width", wide, LEAST_SHOULDER_MM, "mm", why, short="caution")
            out.append(attrs.evolve(check, status="fail") if wide <= 0 else check)
        return tuple(out)

    def notes(self) -> tuple[str, ...]:
        lies = (
            "the mortise is square into its face and follows the rail's "
            f"{self.parallel_to.replace('_', ' ')}"
        )
        if not self._through:
            return (lies,)
        return lies, through_words(self.tenon_length_mm - self.mortised_thickness_mm)

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
