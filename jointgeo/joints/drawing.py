"""A joint as drawn: bars in the world, and what is cut from them.

Knows vectors and errors; no fixture, no joint type, no number of a person's. Millimetres;
right-handed.

*World*: whatever a joint type likes, one for all of its bars. *Stock frame* of a bar, one for the
end that is looked at: z along the grain from that end into the bar, 0 at its length datum; y
through the thickness, from the face side in; x across the width, x = grain ^ face. At one end of
a board x runs from the face edge to the back edge, at its other end from the back edge to the
face edge: ``Bar.x_from`` says which, and follows from the marked sides.

A joint type writes no stock coordinates. A bar knows its marked sides as planes, a notch is an end
plane, a direction across, and intervals along it; ``joints.stock`` turns that into the stock's
own coordinates. The rejected alternative, notch frames given in each bar's own coordinates, made
every type do that turning, and a sign lost in it looks like geometry.

Planes look out of the wood. Intervals along ``across`` are counted from the world's origin.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from math import isfinite
from typing import Any, Literal, TypeAlias

import attrs

from jointgeo.errors import PluginError
from jointgeo.geometry.vectors import INF, Plane, Vec

__all__ = [
    "Bar",
    "Block",
    "Channel",
    "Drawing",
    "Notch",
    "Pocket",
    "Pose",
    "Side",
    "Verify",
    "XFrom",
]

Side = Literal["face_side", "back", "face_edge", "back_edge"]
XFrom = Literal["face_edge", "back_edge"]
Size: TypeAlias = tuple[float, float, float]
Pose: TypeAlias = tuple[tuple[float, float, float, float], ...]  # three rows and 0, 0, 0, 1

TOLERANCE = 1e-9  # of lengths 1 and right angles; rounding of three turns is 1e-15


def _square(what: str, *ways: Vec) -> None:
    """PluginError unless they are unit vectors, each square to the others."""
    off = [abs(a @ a - 1.0) for a in ways]
    off += [abs(a @ b) for i, a in enumerate(ways) for b in ways[:i]]
    # What is no number is not within it either, and no sum of it is finite.
    if not (isfinite(sum(off)) and max(off) <= TOLERANCE):
        worst = next((o for o in off if o != o), max(off))
        raise PluginError(
            f"{what}: unit vectors square to each other are needed; off by {worst:.3g}"
        )


def _placed(what: str, middle: Vec) -> None:
    """PluginError unless it is a point."""
    if not all(map(isfinite, middle)):
        raise PluginError(f"{what}: its middle must be finite, not {tuple(middle)}")


@attrs.frozen(slots=False)
class Bar:
    """A straight piece of wood of rectangular section, as it stands in the world.

    width, thickness, length: finished; the length runs from the datum to the far end (square, or
    the far end's own datum). grain: into the bar from the end in question. face, edge: out of the
    marked sides. middle: of the section at the length datum. handed: a marked edge must lie on a
    certain side at this end, so that a board's other end cannot carry it unless it is mirrored.
    show: the marked sides that are seen on the finished piece.
    """

    name: str
    width: float
    thickness: float
    length: float
    grain: Vec
    face: Vec
    edge: Vec
    middle: Vec
    handed: bool = False
    show: tuple[str, ...] = ("face_side", "face_edge")

    def __attrs_post_init__(self) -> None:
        _square(f"bar {self.name}", self.grain, self.face, self.edge)
        _placed(f"bar {self.name}", self.middle)
        for size in (self.width, self.thickness, self.length):
            if not 0.0 < size < INF:
                raise PluginError(f"bar {self.name}: a size must be finite and above 0, not {size}")

    @classmethod
    def leaning(
        cls, name: str, size: Size, grain: Vec, face: Vec, middle: Vec, *, handed: bool = False
    ) -> Bar:
        """A bar along ``grain`` whose face side looks as nearly towards ``face`` as it can.

        size: width, thickness, length. The face edge lies where x is 0.
        """
        grain = grain.unit
        face = face.across(grain).unit
        return cls(name, *size, grain, face, face ^ grain, middle, handed)

    @classmethod
    def cornered(
        cls,
        name: str,
        size: Size,
        grain: Vec,
        face: Vec,
        edge: Vec,
        corner: Vec,
        *,
        handed: bool = False,
    ) -> Bar:
        """A bar by the corner of face side and face edge at its length datum."""
        middle = corner - face * (size[1] / 2) - edge * (size[0] / 2)
        return cls(name, *size, grain, face, edge, middle, handed)

    @cached_property
    def axes(self) -> tuple[Vec, Vec, Vec]:
        """The stock frame's x, y and z in the world."""
        return self.grain ^ self.face, -self.face, self.grain

    @property
    def x_from(self) -> XFrom:
        """The marked edge at x = 0."""
        return "face_edge" if self.axes[0] @ self.edge < 0 else "back_edge"

    @cached_property
    def origin(self) -> Vec:
        """The stock frame's origin in the world."""
        return self.middle + self.face * (self.thickness / 2) - self.axes[0] * (self.width / 2)

    @property
    def pose(self) -> Pose:
        """World from stock, rows of a 4×4 matrix."""
        x, y, z = self.axes
        rows = zip(x, y, z, self.origin, strict=True)
        return (*rows, (0.0, 0.0, 0.0, 1.0))

    def stock(self, way: Vec) -> Vec:
        """A direction of the world in the stock frame."""
        x, y, z = self.axes
        return Vec(x @ way, y @ way, z @ way)

    def place(self, point: Vec) -> Vec:
        """A point of the world in the stock frame."""
        return self.stock(point - self.origin)

    def side(self, name: str) -> Plane:
        """The plane of a marked side; KeyError for a name that is none."""
        if name in ("face_side", "back"):
            normal, half = self.face, self.thickness / 2
        elif name in ("face_edge", "back_edge"):
            normal, half = self.edge, self.width / 2
        else:
            raise KeyError(name)
        if name in ("back", "back_edge"):
            normal = -normal
        return Plane(normal, normal @ self.middle + half)

    @property
    def near(self) -> Plane:
        """The square plane through the length datum."""
        return Plane(-self.grain, -(self.grain @ self.middle))

    @property
    def far(self) -> Plane:
        """The far end, square, where the finished length ends."""
        return Plane(self.grain, self.grain @ self.middle + self.length)

    def arrises(self, plane: Plane) -> tuple[Vec, Vec, Vec, Vec]:
        """Where a plane meets the four long edges: at x and y of 0 0, width 0, width thickness,
        0 thickness."""
        x, y, z = self.axes
        out = []
        for i, k in ((-1, -1), (1, -1), (1, 1), (-1, 1)):
            edge = self.middle + x * (i * self.width / 2) + y * (k * self.thickness / 2)
            out.append(edge + z * plane.hit(edge, z))
        return out[0], out[1], out[2], out[3]

    def room(self, *points: Vec) -> float:
        """How far (mm) the points lie inside the four sides, the outermost of them."""
        x, y, _ = self.axes
        wide, thick = self.width / 2, self.thickness / 2
        least = INF
        for p in points:
            off = p - self.middle
            least = min(least, wide - abs(x @ off), thick - abs(y @ off))
        return least

    def reach(self, point: Vec, way: Vec) -> float:
        """How many times ``way`` leads from a point inside to the first of the four sides."""
        off, (x, y, _) = point - self.middle, self.axes
        least = INF
        for axis, half in ((x, self.width / 2), (y, self.thickness / 2)):
            step, at = axis @ way, axis @ off
            if abs(step) > 1e-12:
                least = min(least, (half - at if step > 0 else half + at) / abs(step))
        return least

    @property
    def mirrored(self) -> Bar:
        """The bar's image in the plane x = 0; its marks keep their places on the wood."""
        return attrs.evolve(
            self,
            grain=self.grain.mirrored,
            face=self.face.mirrored,
            edge=self.edge.mirrored,
            middle=self.middle.mirrored,
        )


@attrs.frozen
class Channel:
    """One straight channel of a notch.

    low, high: where it begins and ends along the notch's ``across``, from the world's origin; ±INF
    runs out of the wood on that side. depth: below the notch's end plane. gap: clearance wanted at
    its cheeks, where it is not the notch's.
    """

    low: float
    high: float
    depth: float
    gap: float | None = None

    def __attrs_post_init__(self) -> None:
        if not (self.low < self.high and 0 < self.depth < INF):
            raise PluginError(f"a channel needs low < high and a finite depth above 0: {self}")

    @property
    def closed(self) -> bool:
        """Bounded by wood on both sides."""
        return self.low > -INF and self.high < INF


def _name(bar: Bar | str) -> str:
    return bar if isinstance(bar, str) else bar.name


def _channels(given: Any) -> tuple[Channel, ...]:
    return tuple(c if isinstance(c, Channel) else Channel(*c) for c in given)


@attrs.frozen
class Notch:
    """All channels that one clamping cuts from one end of a bar.

    end: the plane the end is trimmed to; all notches of one end share it. across: unit vector
    square to ``end.normal``. channels: ``Channel`` or (low, high, depth). gap: clearance wanted at
    their cheeks; negative is interference. turned: whether ``across`` looks the other way than it
    was drawn, so that a cheek keeps its number on either hand.
    """

    name: str
    bar: str = attrs.field(converter=_name)
    end: Plane
    across: Vec
    channels: tuple[Channel, ...] = attrs.field(converter=_channels)
    gap: float = 0.0
    turned: bool = False

    def __attrs_post_init__(self) -> None:
        _square(f"notch {self.name}", self.end.normal, self.across)

    @property
    def floor(self) -> Plane:
        """The floor of the first channel."""
        return self.end.moved(-self.channels[0].depth)

    @property
    def cheeks(self) -> tuple[Plane, ...]:
        """The cheeks there are, channel by channel, the one drawn low before the one drawn high."""
        out = []
        for c in self.channels:
            pair = Plane(self.across, c.low), Plane(-self.across, -c.high)
            out += [p for p in (pair[::-1] if self.turned else pair) if p.at > -INF]
        return tuple(out)

    @property
    def mirrored(self) -> Notch:
        # Turned to look the other way, so that q_y keeps its sense in the wood; see ``stock``.
        channels = [attrs.evolve(c, low=-c.high, high=-c.low) for c in self.channels]
        return attrs.evolve(
            self,
            end=self.end.mirrored,
            across=-self.across.mirrored,
            channels=channels,
            turned=not self.turned,
        )


@attrs.frozen
class Block:
    """A box in the world, centred on ``middle``; size: whole edges along its axes, right-handed."""

    name: str
    middle: Vec
    axes: tuple[Vec, Vec, Vec]
    size: tuple[float, float, float]

    def __attrs_post_init__(self) -> None:
        _square(f"block {self.name}", *self.axes)
        _placed(f"block {self.name}", self.middle)
        if not all(0.0 < s < INF for s in self.size):
            raise PluginError(f"block {self.name}: its edges must be finite and above 0")

    @property
    def mirrored(self) -> Block:
        x, y, z = self.axes
        axes = -x.mirrored, y.mirrored, z.mirrored  # one turned, so that it stays right-handed
        return attrs.evolve(self, middle=self.middle.mirrored, axes=axes)


@attrs.frozen
class Pocket:
    """What is taken from a bar by other means than this fixture; made by ``joints.pockets``.

    side: the marked side it is laid out on. marks: what a person marks out, {name: number}, names
    ending in the unit; worked out from the geometry, so that they are the same on either hand.
    planed: the plane that all wood of a bar is taken away to, along its whole length, looking out
    of the wood; None for what ends within the bar.
    """

    name: str
    bar: str = attrs.field(converter=_name)
    side: str
    block: Block
    marks: dict[str, float]
    planed: Plane | None = None

    @property
    def mirrored(self) -> Pocket:
        planed = None if self.planed is None else self.planed.mirrored
        return attrs.evolve(self, block=self.block.mirrored, planed=planed)


@attrs.frozen
class Verify:
    """What to measure on the finished part."""

    what: str
    expected_mm: float
    instrument: str


@attrs.frozen
class Drawing:
    """Bars in the world, and everything that is cut from them.

    bars: the one that the joint is about first, then its mate; names unlike each other. slides:
    {bar: the direction in the world in which it is drawn out of the joint}. empty: space between
    the bars that is left open on purpose. verify: {bar: what to measure on it}.
    """

    bars: tuple[Bar, ...]
    notches: tuple[Notch, ...] = ()
    pockets: tuple[Pocket, ...] = ()
    slides: Mapping[str, Vec] = attrs.field(factory=dict)
    empty: tuple[Block, ...] = ()
    verify: Mapping[str, tuple[Verify, ...]] = attrs.field(factory=dict)

    def __attrs_post_init__(self) -> None:
        names = [b.name for b in self.bars]
        if len(names) < 2 or len(set(names)) != len(names):
            raise PluginError(f"a drawing needs two bars or more of different names, not {names}")
        named = [n.bar for n in self.notches] + [p.bar for p in self.pockets]
        for name in (*named, *self.slides, *self.verify):
            if name not in names:
                raise PluginError(f"{name!r} is no bar of this drawing; there are {names}")
        for name, way in self.slides.items():
            if not TOLERANCE < way @ way < INF:
                raise PluginError(f"the slide of {name} is no direction: {way}")

    def bar(self, name: str) -> Bar:
        """The bar of that name; KeyError for none."""
        return {b.name: b for b in self.bars}[name]

    @property
    def mirrored(self) -> Drawing:
        """The image in the plane x = 0. The one place where a hand is turned."""
        return Drawing(
            tuple(b.mirrored for b in self.bars),
            tuple(n.mirrored for n in self.notches),
            tuple(p.mirrored for p in self.pockets),
            {name: way.mirrored for name, way in self.slides.items()},
            tuple(b.mirrored for b in self.empty),
            self.verify,
        )
