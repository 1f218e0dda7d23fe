"""One wrong thing at a time in a good joint: in its drawing, or in its finished settings.

Each is a name, the type it is tried on, what is changed, and which laws must notice: "claims" (a
parameter measured on the drawing is not what was asked for), "settings" (they do not cut what is
drawn, or not with wood in every cut's way), "twice", "lost", "bears", "apart" or "cone".
"""

from __future__ import annotations

from collections.abc import Callable
from math import cos, radians, sin
from typing import Any

import attrs

from jointgeo import JointType
from jointgeo.geometry.vectors import Plane, Vec, X, Y, Z
from jointgeo.joints.drawing import Bar, Drawing
from jointgeo.joints.pockets import bevel, housing, mortise
from jointgeo.proof import DryFit, dry_fit

from .samples import BOX, BRIDLE, TENON, Settings, solved

__all__ = ["CASES", "Case", "by_law", "claimed", "noticed", "redrawn"]

CLAIMS_OFF = 1e-9  # mm or degree: rounding of the drawing is a thousandth of it

Change = Callable[[Drawing], Drawing]
#: Words of a finding, and the law that it belongs to.
LAWS = {
    "settings leave": "settings",
    "settings take": "settings",
    "clamping ": "settings",
    "layout ": "settings",
    "overlap of": "twice",
    "wood of": "twice",
    "open space": "lost",
    "gap at": "bears",
    "faces that bear": "bears",
    "as it is drawn out": "apart",
    "bars with a slide": "apart",
    "its slide, against": "cone",
}


@attrs.frozen
class Case:
    """change of the drawing, or of the settings; laws: that must notice."""

    joint: JointType
    what: str
    laws: str
    drawn: Change | None = None
    settled: Callable[[Settings], None] | None = None

    @property
    def id(self) -> str:
        return f"{self.joint.name}: {self.what}".replace("_", " ")


def noticed(case: Case) -> set[str]:
    """The laws that notice it."""
    joint = case.joint if case.drawn is None else redrawn(case.joint, case.drawn)
    out = claimed(joint)
    settings = solved(joint)
    if case.settled is not None:
        case.settled(settings)
    return out | by_law(dry_fit(settings))


def claimed(joint: JointType) -> set[str]:
    """ "claims" where a parameter is not as drawn, or nothing reads it back any more."""
    wrong = [claim for claim in joint.claims() if not claim.off <= CLAIMS_OFF]
    return {"claims"} if wrong or joint.unclaimed() else set()


def by_law(fit: DryFit) -> set[str]:
    """The laws of which a dry fit has a fault; every fault belongs to one."""
    out = set()
    for fault in fit.faults:
        out.add(next(law for words, law in LAWS.items() if words in fault.what))
    return out


def redrawn(joint: JointType, change: Change) -> JointType:
    """The same joint by the same type, but for what ``draw`` gives."""

    class Wrong(type(joint)):  # type: ignore[misc]
        def draw(self) -> Drawing:
            return change(super().draw())

    return Wrong(**attrs.asdict(joint, recurse=False))


# Changes of a drawing --------------------------------------------------------------------


def as_if(joint: JointType, **other: Any) -> Change:
    """Drawn rightly, but for other parameters than were asked for."""
    return lambda _: attrs.evolve(joint, **other).draw()


def bar(name: str, change: Callable[[Bar], Bar]) -> Change:
    return lambda d: attrs.evolve(d, bars=tuple(change(b) if b.name == name else b for b in d.bars))


def channels(notch: int, change: Callable[[int, Any], Any]) -> Change:
    """change: of a channel by its number from 0."""

    def draw(d: Drawing) -> Drawing:
        notches = list(d.notches)
        cut = notches[notch]
        notches[notch] = attrs.evolve(
            cut, channels=tuple(change(i, c) for i, c in enumerate(cut.channels))
        )
        return attrs.evolve(d, notches=tuple(notches))

    return draw


def deeper(notch: int, which: int | None, by: float) -> Change:
    return channels(
        notch,
        lambda i, c: attrs.evolve(c, depth=c.depth + by) if which in (None, i) else c,
    )


def slide(**ways: Vec) -> Change:
    return lambda d: attrs.evolve(d, slides={**d.slides, **ways})


def both(*changes: Change) -> Change:
    def draw(d: Drawing) -> Drawing:
        for change in changes:
            d = change(d)
        return d

    return draw


def twisted(leg: Bar, deg: float) -> Bar:
    c, s = cos(radians(deg)), sin(radians(deg))
    return attrs.evolve(leg, face=leg.face * c + leg.edge * s, edge=leg.edge * c - leg.face * s)


def housings(wider: float = 0.0, deep: float = 0.0, lean: float = 1.0) -> Change:
    """Both made again."""

    def draw(d: Drawing) -> Drawing:
        rail, way = d.bar("rail"), d.slides["leg"]
        out = []
        for pocket in d.pockets:
            at = X * (-15.0 if pocket.side == "face_side" else 15.0)
            along = Vec(way.x, lean * way.y, way.z)
            out.append(housing(rail, pocket.side, at, along, 44 + wider, 4 + deep))
        return attrs.evolve(d, pockets=tuple(out))

    return draw


def mortised(
    along: float = 0.0, across: float = 0.0, deep: float = 0.0, wide: float = 0.0
) -> Change:
    """The mortise made again; along and across the piece, deeper and wider by so much."""

    def draw(d: Drawing) -> Drawing:
        piece, old = d.bars[1], d.pockets[0]
        mouth = old.block.middle + Z * (old.block.size[1] / 2) + X * along + Y * across
        width, depth, long = old.block.size
        new = mortise(piece, "face_side", old.name, mouth, long, width + wide, depth + deep)
        return attrs.evolve(d, pockets=(new, *d.pockets[1:]))

    return draw


def rims(change: Callable[[Bar, str, Plane], tuple[Bar, str, Plane]]) -> Change:
    """The bevels made again from bar, edge and plane."""

    def draw(d: Drawing) -> Drawing:
        out = []
        for old in d.pockets:
            plane = old.planed or Plane(Z, 0.0)
            board, side, plane = change(d.bar(old.bar), old.side, plane)
            out.append(bevel(board, side, old.name, plane))
        return attrs.evolve(d, pockets=tuple(out))

    return draw


def _higher(board: Bar, side: str, plane: Plane) -> tuple[Bar, str, Plane]:
    return board, side, plane.moved(-1.0) if side == "face_edge" else plane


def _leant(board: Bar, side: str, plane: Plane) -> tuple[Bar, str, Plane]:
    if board.name == "a":
        return board, side, plane
    out = board.edge if side == "face_edge" else -board.edge
    # Mirrored in the edge: the same angle off square, the other way.
    normal = out * (2 * (out @ plane.normal)) - plane.normal
    point = board.middle + out * (board.width / 2 - 5.0)
    return board, side, Plane.through(point, normal)


def shifted(both_boards: bool) -> Change:
    """The second finger boundary 0.2 mm up, on a or on both."""

    def on(notch: int, low: int, high: int) -> Change:
        def change(i: int, c: Any) -> Any:
            c = attrs.evolve(c, low=c.low + 0.2) if i == low else c
            return attrs.evolve(c, high=c.high + 0.2) if i == high else c

        return channels(notch, change)

    # a has the lowest finger: its first socket ends at boundary 2, where b's second one begins.
    first = on(0, -1, 0)
    return both(first, on(1, 1, -1)) if both_boards else first


def of_setup(part: int, number: int, **by: float) -> Callable[[Settings], None]:
    def settle(settings: Settings) -> None:
        setup = settings["parts"][part]["setups"][number]
        for name, amount in by.items():
            setup[name] += amount

    return settle


def set_to(part: int, number: int, change: Callable[[Settings], Any]) -> Callable[[Settings], None]:
    return lambda settings: change(settings["parts"][part]["setups"][number])


def _unpacked(setup: Settings) -> None:
    assert abs(setup["packing_deg"]) > 0.1  # else nothing is left out
    setup["packing_deg"] = 0.0


def _shallow(setup: Settings) -> None:
    setup["cuts"][0]["depth_mm"] -= 0.2


def _to_the_left(setup: Settings) -> None:
    setup["cuts"][1]["passes"][0]["travel_mm"] -= 0.2


def _turned(setup: Settings) -> None:
    turned = {"back": "face_edge", "face_side": "back_edge"}
    setup["against_plate"] = turned[setup["against_plate"]]


_LEG = BRIDLE.drawing.bar("leg")
_RAIL = TENON.drawing.bar("rail")

CASES = (
    Case(BRIDLE, "sign of splay along", "claims", as_if(BRIDLE, splay_along_deg=-12)),
    Case(BRIDLE, "sign of splay across", "claims", as_if(BRIDLE, splay_across_deg=-8)),
    Case(BRIDLE, "leg twisted 1° about its grain", "lost", bar("leg", lambda b: twisted(b, 1))),
    Case(BRIDLE, "slot 0.3 deeper", "claims lost bears", deeper(0, 0, 0.3)),
    Case(BRIDLE, "slot 0.3 shallower", "claims twice bears", deeper(0, 0, -0.3)),
    Case(
        BRIDLE,
        "one cheek 0.1 off, slot off centre and wider",
        "claims lost bears",
        channels(0, lambda _, c: attrs.evolve(c, high=c.high + 0.1)),
    ),
    Case(BRIDLE, "housing 0.3 too deep", "claims lost bears", housings(deep=0.3)),
    Case(BRIDLE, "housing 0.3 too wide", "claims lost", housings(wider=0.3)),
    Case(BRIDLE, "housing leans the other way", "claims twice lost", housings(lean=-1.0)),
    Case(BRIDLE, "slide straight up", "apart cone", slide(leg=Z)),
    Case(BRIDLE, "slide along the leg", "apart cone", slide(leg=_LEG.grain)),
    Case(BRIDLE, "no slide", "apart", lambda d: attrs.evolve(d, slides={})),
    Case(
        BRIDLE,
        "leg 1 mm off along X, slot stays",
        "claims",
        bar("leg", lambda b: attrs.evolve(b, middle=b.middle + X)),
    ),
    Case(
        BRIDLE,
        "settings: tilt sign",
        "settings",
        settled=set_to(0, 0, lambda s: s.update(tilt_deg=-s["tilt_deg"])),
    ),
    Case(BRIDLE, "settings: swivel 0.05° off", "settings", settled=of_setup(0, 0, swivel_deg=0.05)),
    Case(TENON, "sign of width angle", "claims", as_if(TENON, width_angle_deg=-5)),
    Case(TENON, "sign of thickness angle", "claims", as_if(TENON, thickness_angle_deg=-8)),
    Case(
        TENON,
        "angles exchanged",
        "claims",
        as_if(TENON, width_angle_deg=8, thickness_angle_deg=5),
    ),
    Case(TENON, "follows the wrong side", "claims", as_if(TENON, parallel_to="face_edge")),
    Case(TENON, "one cheek shoulder 0.3 deeper", "claims lost bears", deeper(1, 0, 0.3)),
    Case(
        TENON,
        "all 0.5 deeper, shoulder off the post",
        "claims lost bears",
        both(deeper(0, None, 0.5), deeper(1, None, 0.5)),
    ),
    Case(TENON, "tenon 1 mm long, and its mortise", "claims", as_if(TENON, tenon_length_mm=26)),
    Case(TENON, "mortise 0.3 along the post", "claims twice lost bears", mortised(along=0.3)),
    Case(TENON, "mortise 0.2 across the post", "claims twice lost bears", mortised(across=0.2)),
    Case(TENON, "mortise 3 mm too deep", "claims lost", mortised(deep=3)),
    Case(
        TENON,
        "mortise 1 mm too shallow for its glue room",
        "claims twice",
        mortised(deep=-1),
    ),
    Case(TENON, "mortise 0.3 too wide", "claims lost bears", mortised(wide=0.3)),
    Case(TENON, "sign of offset across width", "claims", as_if(TENON, tenon_offset_width_mm=4)),
    Case(
        TENON, "sign of offset in thickness", "claims", as_if(TENON, tenon_offset_thickness_mm=-1)
    ),
    Case(TENON, "haunch at the wrong edge", "claims", as_if(TENON, haunch_at="face_edge")),
    Case(TENON, "haunch 0.5 longer", "claims twice", deeper(0, 1, -0.5)),
    Case(
        TENON,
        "haunch socket left out",
        "claims twice",
        lambda d: attrs.evolve(d, pockets=d.pockets[:1]),
    ),
    Case(TENON, "slide along the rail", "apart cone", slide(rail=_RAIL.grain)),
    Case(TENON, "slide towards the post", "apart cone", slide(rail=-Z)),
    Case(TENON, "fit halved twice, a quarter each side", "claims", as_if(TENON, fit_mm=0.05)),
    Case(
        TENON,
        "settings: packing of clamping 2 left out",
        "settings",
        settled=set_to(0, 1, _unpacked),
    ),
    Case(
        TENON,
        "settings: trim of clamping 2 0.2 higher",
        "settings",
        settled=of_setup(0, 1, trim_mm=0.2),
    ),
    Case(TENON, "settings: depth 0.2 short, one cut", "settings", settled=set_to(0, 0, _shallow)),
    Case(BOX, "sign of slope", "claims", as_if(BOX, slope_deg=-15)),
    Case(BOX, "plan corner 1° off", "claims", as_if(BOX, plan_corner_deg=101)),
    Case(BOX, "slope 0.1° off", "claims", as_if(BOX, slope_deg=15.1)),
    Case(BOX, "one socket 0.3 deeper", "claims lost bears", deeper(0, 1, 0.3)),
    Case(BOX, "sockets of a as deep as a is thick", "claims lost bears", deeper(0, None, 2)),
    Case(BOX, "one boundary 0.2 off on one board", "claims lost bears", shifted(False)),
    Case(BOX, "one boundary 0.2 off on both boards", "claims", shifted(True)),
    Case(BOX, "first finger on the other board", "claims", as_if(BOX, first_finger="b")),
    Case(BOX, "eight fingers for seven", "claims", as_if(BOX, finger_count=8)),
    Case(BOX, "slide of a along its grain", "apart cone", slide(a=X)),
    Case(BOX, "lower rims 1 mm too high", "claims", rims(_higher)),
    Case(BOX, "rim bevel of b of the other sign", "claims lost", rims(_leant)),
    Case(BOX, "settings: one pass 0.2 to the left", "settings", settled=set_to(0, 0, _to_the_left)),
    Case(
        BOX,
        "settings: one pass left out",
        "settings",
        settled=set_to(0, 0, lambda s: s["cuts"][1]["passes"].pop(1)),
    ),
    Case(BOX, "settings: quarter turn wrong", "settings", settled=set_to(0, 0, _turned)),
)
