"""A bar and what is cut from it, in the bar's own stock frame: what planning works on.

Knows drawings and vectors; no fixture, no joint type. ``parts`` turns a drawing into these values;
nobody else writes them but for the plain ends of a member.

Frames. *Stock frame*: see ``joints.drawing``. A notch's frame Q has the rows q_x across the
channels, q_y along the feed, q_z from the end into the stock, right-handed.

Where z is 0. A joint type knows where its shoulder is, not how much a shop trims off. So z = 0 is
the **length datum**, the point that the finished length is measured from; the blank's square end
lies at some negative z that planning works out. The rejected alternative, z = 0 at the blank's
end, would make every joint type repeat the trim arithmetic.
"""

from __future__ import annotations

import math
from typing import TypeAlias

import attrs

from jointgeo.errors import PluginError
from jointgeo.geometry.vectors import Vec, Y
from jointgeo.joints.drawing import Bar, Channel, Drawing, Notch, Pocket, Pose, Verify, XFrom

__all__ = [
    "FLATTEST",
    "LayoutBox",
    "Part",
    "Rows",
    "StockNotch",
    "layout_box",
    "part_of",
    "parts",
    "trimmed",
]

Rows: TypeAlias = tuple[Vec, Vec, Vec]

FLATTEST = 0.05  # cosine between grain and q_z: within 3° of a cut along the grain


@attrs.frozen(slots=False)
class StockNotch:
    """All channels that one clamping cuts.

    rows: Q in stock coordinates. at: a point of the trim plane, which is the plane through it
    square to q_z; channels are measured from it along q_x, their depth along q_z; each has the gap
    that is wanted at its own cheeks.
    """

    rows: Rows
    at: Vec
    channels: tuple[Channel, ...]

    def __attrs_post_init__(self) -> None:
        if not self.rows[2].z > FLATTEST:
            raise PluginError(
                f"a notch's end plane must lie across the grain: q_z·z is {self.rows[2].z:.3g} and "
                f"must be above {FLATTEST:g}"
            )


@attrs.frozen
class LayoutBox:
    """What is removed by other means than this fixture, with what a person marks out.

    rows: stock from box, a 4×4 matrix; the box is **centred** on it. size: whole edges along its
    own x, y and z, mm. side: the marked side it is laid out on. marks: what a person marks out.
    """

    name: str
    rows: Pose
    size: tuple[float, float, float]
    side: str
    marks: dict[str, float]


@attrs.frozen
class Part:
    """One end of a bar in its stock frame.

    length_mm: finished length from the length datum z = 0 to the other end. notches: in the order
    they are cut; empty for a bar that is only laid out. slide: the way it is drawn out of the
    joint; None for the bar that stands still. turns_over: whether ``x_from`` is free, so that a
    left-hand and a right-hand end may carry this end alike. show: the sides that are seen. meets:
    whether another bar comes to this end, so that there is a shoulder to close; not at a foot on
    the floor.
    """

    name: str
    width_mm: float
    thickness_mm: float
    length_mm: float
    x_from: XFrom = "face_edge"
    notches: tuple[StockNotch, ...] = ()
    layout: tuple[LayoutBox, ...] = ()
    verify: tuple[Verify, ...] = ()
    slide: Vec | None = None
    turns_over: bool = True
    show: tuple[str, ...] = ("face_side", "face_edge")
    meets: bool = True


def parts(drawing: Drawing) -> tuple[Part, ...]:
    """Every bar of a drawing in its own stock frame, in the drawing's order."""
    return tuple(part_of(drawing, bar) for bar in drawing.bars)


def trimmed(width_mm: float, thickness_mm: float, inward: Vec) -> StockNotch:
    """A plain end through the datum on the centre line; inward: the plane's normal, into the wood,
    in stock coordinates."""
    # Following the face side: the feed runs square to its trim line, and no packing is needed.
    across = (Y ^ inward).unit
    at = Vec(width_mm / 2, thickness_mm / 2, 0.0)
    return StockNotch((across, inward ^ across, inward), at, ())


def part_of(drawing: Drawing, bar: Bar) -> Part:
    """One bar of a drawing in its own stock frame."""
    slide = drawing.slides.get(bar.name)
    return Part(
        bar.name,
        bar.width,
        bar.thickness,
        bar.length,
        bar.x_from,
        tuple(_notch(bar, n) for n in drawing.notches if n.bar == bar.name),
        tuple(layout_box(bar, p) for p in drawing.pockets if p.bar == bar.name),
        drawing.verify.get(bar.name, ()),
        None if slide is None else bar.stock(slide),
        not bar.handed,
        bar.show,
    )


def _notch(bar: Bar, notch: Notch) -> StockNotch:
    q_z, q_x = bar.stock(-notch.end.normal), bar.stock(notch.across)
    if not math.isfinite(notch.end.at) or abs(q_z.z) < 1e-9:
        raise PluginError(f"notch {notch.name}: its end plane does not cross the bar {bar.name}")
    # Where the bar's centre line meets the end plane.
    middle = bar.middle + bar.grain * notch.end.hit(bar.middle, bar.grain)
    from_middle = notch.across @ middle
    channels = tuple(
        Channel(
            c.low - from_middle,
            c.high - from_middle,
            c.depth,
            notch.gap if c.gap is None else c.gap,
        )
        for c in notch.channels
    )
    return StockNotch((q_x, q_z ^ q_x, q_z), bar.place(middle), channels)


def layout_box(bar: Bar, pocket: Pocket) -> LayoutBox:
    """A pocket of a bar in that bar's stock frame."""
    block = pocket.block
    columns = [bar.stock(axis) for axis in block.axes]
    rows = zip(*columns, bar.place(block.middle), strict=True)
    return LayoutBox(
        pocket.name, (*rows, (0.0, 0.0, 0.0, 1.0)), block.size, pocket.side, dict(pocket.marks)
    )
