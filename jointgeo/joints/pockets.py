"""What is taken from a bar by other means than this fixture: mortises, grooves, housings, bevels.

Knows bars and vectors. Every function makes a ``Pocket`` and works out, from where it lies on its
bar, what a person marks out; so a mark and the cut cannot disagree. Millimetres and degrees. Points
and directions are the world's.

A box's own y runs through the bar's thickness the way the stock's does, or into the side where it
lies on an edge; its z is the long way of a mortise and the narrow one of a housing, as they run
along the grain there.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import atan2, cos, degrees

from jointgeo.errors import PluginError
from jointgeo.geometry.vectors import Plane, Vec
from jointgeo.joints.drawing import Bar, Block, Pocket

__all__ = ["bevel", "groove", "housing", "mortise"]

STRAIGHT_DEG = 1e-9  # rounding of a mortise along the grain is 1e-14
RUN_ON_MM = 1.0  # past the wood at either end, so that no skin is left


def mortise(
    bar: Bar,
    side: str,
    name: str,
    middle: Vec,
    length: float,
    width: float,
    depth: float,
    *,
    along: Vec | None = None,
) -> Pocket:
    """A mortise square into ``side``; middle: of its outline, on that side.

    along: its long way, in that side; the grain where none is given. A mortise that is turned is
    marked by its middle and the turn, positive from the grain towards the marked side beside it.
    """
    face = bar.side(side)
    into, way = -face.normal, bar.grain if along is None else along
    beside = bar.side("face_edge" if side in ("face_side", "back") else "face_side")
    block = Block(
        name,
        middle + into * (face.out(middle) + depth / 2),
        (into ^ way, into, way),
        (width, depth, length),
    )
    marks = {"length_mm": length, "width_mm": width, "depth_mm": depth}
    gauge = "face_edge" if side in ("face_side", "back") else "face_side"
    turn = degrees(atan2(way @ beside.normal, way @ bar.grain))
    if abs(turn) <= STRAIGHT_DEG:  # the nearest wall's distance from the marked side beside it
        marks[f"from_{gauge}_mm"] = -beside.out(middle) - width / 2
    else:
        marks |= {f"middle_from_{gauge}_mm": -beside.out(middle), "turned_deg": turn}
    return Pocket(name, bar, side, block, marks)


def groove(
    bar: Bar,
    side: str,
    name: str,
    middle: Vec,
    width: float,
    depth: float,
    ends: Iterable[Plane] = (),
) -> Pocket:
    """A groove along the whole bar; middle: a point of its centre line.

    ends: the planes that the bar is cut to; the box reaches past all wood within them, and past
    the bar's length.
    """
    face = bar.side(side)
    into, across = -face.normal, -face.normal ^ bar.grain
    on_line = middle + bar.grain * ((_halfway(bar) - middle) @ bar.grain)
    block = Block(
        name,
        on_line + into * (face.out(on_line) + depth / 2),
        (across, into, bar.grain),
        (width, depth, max(bar.length + 2 * RUN_ON_MM, _past_the_tips(bar, ends))),
    )
    return Pocket(name, bar, side, block, {"width_mm": width, "depth_mm": depth})


def housing(bar: Bar, side: str, middle: Vec, along: Vec, width: float, depth: float) -> Pocket:
    """A housing right across face side or back; middle: a point of its centre line.

    along: its way from the face edge to the back edge, in the side's plane.
    """
    face = bar.side(side)
    through, down = -bar.face, -bar.edge
    if side not in ("face_side", "back"):
        raise PluginError(f"a housing lies on face side or back, not on {side}")
    if along @ down <= 0:
        raise PluginError("a housing runs from the face edge to the back edge")
    lean = atan2(along @ bar.grain, along @ down)
    centre = middle + along * (((bar.middle - middle) @ down) / (along @ down))
    long = (bar.width + width * abs(along @ bar.grain) / along.length) / cos(lean) + 2 * RUN_ON_MM
    way = along.unit
    block = Block(
        "housing",
        centre - face.normal * (face.out(centre) + depth / 2),
        (way, through, way ^ through),
        (long, depth, width),
    )
    top = centre + along * bar.side("face_edge").hit(centre, along)
    marks = {
        "from_square_deg": degrees(lean),
        "width_mm": width,
        "width_along_the_edge_mm": width / cos(lean),
        "depth_mm": depth,
        "middle_at_top_edge_mm": (top - bar.middle) @ bar.grain,
    }
    return Pocket("housing", bar, side, block, marks)


def bevel(bar: Bar, edge: str, name: str, plane: Plane, ends: Iterable[Plane] = ()) -> Pocket:
    """All wood outside a plane along the grain, planed off at an edge after assembly.

    ends: the planes that the bar is cut to. The box reaches a bar's length past either end, and
    past all wood within these.

    marks: the angle of the bevel off square, positive where the way from the face edge to the back
    edge leans away from the face side (alike for two parallel bevels), and the width it takes.
    """
    up = 1.0 if edge == "back_edge" else -1.0
    square, sideways = -up * (plane.normal @ bar.edge), up * (plane.normal @ bar.face)
    if square <= 0.0:
        raise PluginError(f"{name}: its plane does not look out of the {edge}")
    lean = atan2(-sideways, square)
    reach = bar.width + bar.thickness + 2 * RUN_ON_MM
    centre = _halfway(bar)
    long = max(3 * bar.length, _past_the_tips(bar, ends))
    middle = centre + plane.normal * (reach / 2 - plane.out(centre))
    block = Block(
        name,
        middle,
        (bar.grain ^ plane.normal, bar.grain, plane.normal),
        (4 * reach, long, reach),
    )
    marks = {
        "bevel_deg": degrees(lean),
        "extra_width_mm": bar.thickness * abs(sideways / square),
    }
    return Pocket(name, bar, edge, block, marks, plane)


def _halfway(bar: Bar) -> Vec:
    return bar.middle + bar.grain * (bar.length / 2)


def _past_the_tips(bar: Bar, ends: Iterable[Plane]) -> float:
    """How long a box about the bar's half length is that leaves no wood within ``ends`` beyond it:
    the tip of an end that leans far on a wide, short board lies further out than its length says.
    """
    middle = _halfway(bar)
    tips = (abs((tip - middle) @ bar.grain) for end in ends for tip in bar.arrises(end))
    return max((2 * (tip + RUN_ON_MM) for tip in tips), default=0.0)
