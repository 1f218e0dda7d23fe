"""How the mortise of an angled tenon lies in its piece: turned, off the middle, and what it leaves.

Knows the plug-in contract only; the second file of the joint type it is named after, which draws.

A rail between bars that stand in a room comes to its mate turned about the shoulder plane's normal
n and off the mate's centre line. With g the mate's grain, h = n ^ g, the tenon's width axis x and
the mortise's middle c: turn = atan2(h·x, g·x), offset = (c - centre line)·h. Across the grain a
mortise ℓ long and b thick then takes ℓ·|sin turn| + b·cos turn.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import atan2, cos, degrees, radians, sin
from typing import Any

import attrs

from jointgeo.plugin import (
    LEAST_BEHIND_MM,
    Bar,
    Check,
    Drawing,
    Remedy,
    angle_between,
    at_least,
    at_most,
    behind_blind,
)

__all__ = [
    "equalities",
    "floor_check",
    "lie_of_mortise",
    "read_back",
    "third_check",
    "through_words",
    "wall_beside",
    "wall_checks",
]

SQUARE = 1e-9  # cosine of two directions that are square to each other; rounding is 1e-15
LEAST_WALL_MM = 6.0  # beside a mortise; common practice, no published source
ACROSS_DEG = 45.0  # a mortise turned further is more across the grain than along it; our choice


def lie_of_mortise(bar: Bar, mate: Bar, said: Mapping[str, Any]) -> dict[str, Any]:
    """What is said with the side that is followed, the turn and the two offsets that go with it,
    where they are not said; all as said for bars that do not cross."""
    sizes = dict(said)
    try:
        return _lie(bar, mate, sizes)
    except ZeroDivisionError:
        return sizes


def _lie(bar: Bar, mate: Bar, sizes: dict[str, Any]) -> dict[str, Any]:
    face = mate.side("face_side")
    if "parallel_to" not in sizes:
        follows = _follows(bar, mate)
        sizes["parallel_to"] = follows[0] if follows else "face_side"
    side = bar.face if sizes["parallel_to"] == "face_side" else bar.edge
    long = (face.normal ^ side).unit  # the shoulder line on that side
    if side is bar.edge:
        long = long ^ face.normal
    long = -long if long @ bar.edge > 0 else long
    grain = mate.grain if mate.grain @ long > 0 else -mate.grain
    if abs(grain @ long) <= SQUARE and (face.normal ^ grain) @ long < 0:
        grain = -grain  # square across the grain is a turn of 90, never of -90
    sideways = face.normal ^ grain
    sizes.setdefault("mortise_turn_deg", degrees(atan2(sideways @ long, grain @ long)))
    centre = bar.middle + bar.grain * face.hit(bar.middle, bar.grain)
    try:
        centre = centre + long * float(sizes.get("tenon_offset_width_mm", 0.0))
        off, wide = sideways @ (centre - mate.middle), sideways @ (face.normal ^ long)
        if "mortise_offset_mm" not in sizes:
            at = float(sizes.get("tenon_offset_thickness_mm", 0.0))
            sizes["mortise_offset_mm"] = off + wide * at
        elif "tenon_offset_thickness_mm" not in sizes and abs(wide) > SQUARE:
            at = float(sizes["mortise_offset_mm"])
            sizes["tenon_offset_thickness_mm"] = (at - off) / wide
    except (TypeError, ValueError):
        pass  # no number: the class says so, and names the field
    return sizes


def _follows(bar: Bar, mate: Bar) -> list[str]:
    """The sides of the rail that a mortise along ``mate`` follows: both, where one of the two
    angles is 0."""
    sides = ("face_side", bar.face @ mate.grain), ("face_edge", bar.edge @ mate.edge)
    return [side for side, off in sides if abs(off) <= SQUARE]


def read_back(drawing: Drawing, follows: str) -> dict[str, Any]:
    """The parameters that the cuts show; follows: the side that the mortise should follow.

    Without "haunch_at" where there is no haunch, and "parallel_to" where it follows another side.
    """
    (rail, piece), (edges, cheeks) = drawing.bars, drawing.notches
    mark, block, face = drawing.pockets[0].marks, drawing.pockets[0].block, piece.side("face_side")
    middle, along = block.middle, block.axes[2]
    centre = rail.middle + rail.grain * face.hit(rail.middle, rail.grain)
    long, shallow = edges.end.at + face.at, min(edges.channels, key=lambda c: c.depth)
    out: dict[str, Any] = {
        "tenon_length_mm": long,
        "tenon_width_mm": mark["length_mm"],
        "tenon_thickness_mm": mark["width_mm"],
        "tenon_offset_width_mm": edges.across @ (middle - centre),
        "tenon_offset_thickness_mm": cheeks.across @ (middle - centre),
        "mortise_turn_deg": degrees(atan2(piece.edge @ along, piece.grain @ along)),
        "mortise_offset_mm": piece.edge @ (middle - piece.middle),
        "haunch_depth_mm": long - shallow.depth,
        "fit_mm": mark["width_mm"] - (cheeks.channels[1].low - cheeks.channels[0].high),
    }
    if len(edges.channels) > 2:
        sideways = edges.across * (shallow.low + shallow.high - 2 * edges.across @ middle)
        out["haunch_at"] = "back_edge" if sideways @ rail.edge < 0 else "face_edge"
    # The shoulder line lies in the face side, or that of the thickness in the edges.
    off = {"face_side": edges.across @ rail.face, "face_edge": cheeks.across @ rail.edge}
    if abs(off[follows]) <= SQUARE:
        out["parallel_to"] = follows
    return out


def equalities(
    drawing: Drawing, fit: float, depth: float, haunch: tuple[float, float, float]
) -> dict[str, tuple[float, float]]:
    """What must be equal besides, {what: (drawn, asked)}, mm.

    depth: of the mortise. haunch: its length, the room beyond its end, and 1 where it lies towards
    the back edge, else -1.
    """
    piece, (edges, cheeks) = drawing.bars[1], drawing.notches
    box, *more = drawing.pockets
    long, middle = edges.end.at + piece.side("face_side").at, box.block.middle
    out = {
        "mortise along the tenon": (angle_between(edges.across, box.block.axes[2]), 0.0),
        "depth of the mortise": (box.marks["depth_mm"], depth),
        "haunch sockets": (len(more), len(edges.channels) - 2),
    }
    first, *_, last = edges.channels
    low, high = first.high, last.low
    for socket in more:
        way, channel, mark = haunch[2], edges.channels[1], socket.marks
        end, half = channel.high if way > 0 else channel.low, mark["length_mm"] / 2
        low, high = (low, channel.low) if way > 0 else (channel.high, high)
        off, deep = socket.block.middle - middle, haunch[0] + haunch[1]
        sideways, wall = way * edges.across @ off, edges.across @ socket.block.middle + way * half
        out["haunch socket beside the mortise"] = sideways, half + box.marks["length_mm"] / 2
        out["clearance at the haunch's edge"] = way * (wall - end), max(0.0, fit) / 2
        out["width of the haunch socket"] = mark["width_mm"], box.marks["width_mm"]
        out["depth of the haunch socket"] = mark["depth_mm"], deep
    out["clearance at the edges"] = box.marks["length_mm"] - (high - low), fit
    out["edges about the mortise's middle"] = (low + high) / 2, edges.across @ middle
    low, high = cheeks.channels[0].high, cheeks.channels[1].low
    out["cheeks about the mortise's middle"] = (low + high) / 2, cheeks.across @ middle
    for number, c in enumerate((first, last, *cheeks.channels), 1):
        out[f"shoulder {number} on the face side"] = c.depth, long
    return out


def wall_beside(
    piece: float, turn_deg: float, offset: float, length: float, thickness: float
) -> float:
    """Least wood beside a mortise, square to its piece's grain, mm; negative outside of it."""
    turn = radians(abs(turn_deg))
    return piece / 2 - abs(offset) - (length * sin(turn) + thickness * cos(turn)) / 2


def third_check(thick: float, piece: float, wall: float) -> Check:
    """Of the tenon's thickness against the piece's width; wall: what is left of it, mm."""
    why = (
        "a tenon is usually no more than a third of the mortised piece "
        f"(here {wall:.1f} mm is left on either side)"
    )
    # A third: common practice, no published source.
    return at_most("mortise_third", thick, piece / 3, "mm", why, short="caution")


def wall_checks(wall: float, turn_deg: float) -> tuple[Check, Check]:
    """Of a mortise that is turned or off the middle."""
    why = "wood beside the mortise where it is least (common practice, no published source)"
    least = at_least("mortise_wall", wall, LEAST_WALL_MM, "mm", why, short="caution")
    why = "a mortise across the grain has end grain on its cheeks, where glue holds little"
    turn = at_most("mortise_turn", abs(turn_deg), ACROSS_DEG, "deg", why, short="caution")
    return attrs.evolve(least, status="fail") if wall <= 0 else least, turn


def floor_check(thick: float, deep: float, glue_room: float) -> Check:
    """Of the wood behind a blind mortise that deep, its glue room included, in a piece that thick;
    all in mm."""
    why = (
        f"wood behind the blind mortise, which is {glue_room:g} mm deeper than its tenon; with "
        f"none left it breaks through; a tenon of {thick:g} mm or more goes right through"
    )
    left = thick - deep
    check = at_least("mortise_floor", left, LEAST_BEHIND_MM, "mm", why, short="caution")
    if check.status == "pass":
        return check
    by = LEAST_BEHIND_MM - left
    says = f"a tenon {by:.2f} mm shorter, or one of {thick:g} mm, which goes right through"
    remedy = Remedy("shorten_tenon", says, {"shorter_by_mm": by})
    return behind_blind(attrs.evolve(check, remedies=(remedy,)))


def through_words(proud: float) -> str:
    """Of a mortise that goes through; proud: by how much its tenon is longer than it, mm."""
    says = "the mortise goes right through: mark it on the face side and on the back"
    return f"{says}; the tenon stands {proud:.2f} mm proud of the back" if proud > 0 else says
