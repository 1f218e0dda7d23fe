"""Every bar as it stands: its face side, its two length datums, its length, the planes of its ends.

Knows a piece and bars; cuts nothing. A bar whose roll a joint forces waits for its mate; then every
end's plane is known, and the centre line, or the long edge that a corner is measured from, crosses
it in the end's datum.
"""

from __future__ import annotations

import attrs

from jointgeo.errors import InputError, shown
from jointgeo.geometry.vectors import Plane, Vec
from jointgeo.joints.drawing import Bar
from jointgeo.pieces.model import Against, End, Joined, Piece, RoomBar
from jointgeo.pieces.sides import came, meeting, met_side, seen

__all__ = ["PlacedBar", "placed_bars"]

ALONG = 0.0175  # sine of 1°: a face side that looks along its own bar says nothing
HINT = "look at the heights and places given, in mm"
LEAST_CROSSING = 0.05  # cosine; an end plane lies within 3° of the grain


@attrs.frozen
class PlacedBar:
    """A bar in the room, finished.

    near: its stock frame at the near end; far: at the far end, grain the other way. sides: the
    mate's marked side at either end, "" where it is plain. planes: of its ends, looking out of the
    wood; the shoulder or the trimmed end.
    """

    near: Bar
    far: Bar
    sides: tuple[str, str]
    planes: tuple[Plane, Plane]

    @property
    def name(self) -> str:
        return self.near.name

    @property
    def ends(self) -> tuple[Bar, Bar]:
        return self.near, self.far

    @property
    def long_edges(self) -> tuple[float, float, float, float]:
        """Lengths of the four long edges between the end planes, mm; in the order of
        ``Bar.arrises``."""
        at = zip(*(self.near.arrises(p) for p in self.planes), strict=True)
        a, b, c, d = ((far - near) @ self.near.grain for near, far in at)
        return a, b, c, d


def placed_bars(piece: Piece) -> dict[str, PlacedBar]:
    """Every bar by its name. InputError naming the bar where it cannot stand so."""
    rolled = _rolled(piece)
    return {bar.name: _ended(piece, bar, rolled) for bar in piece.bars}


def _rolled(piece: Piece) -> dict[str, Bar]:
    """Bars over their given run, the right way round."""
    out: dict[str, Bar] = {}
    waiting = list(piece.bars)
    while waiting:
        left = []
        for bar in waiting:
            face = _face(piece, bar, out)
            if face is None:
                left.append(bar)
            else:
                out[bar.name] = _bar(bar, face)
        if len(left) == len(waiting):
            names = ", ".join(b.name for b in left)
            says = "how it stands about its own length is not said, and no joint settles it"
            raise InputError.of(left[0].name, says, names, "the way that its face side looks")
        waiting = left
    return out


def _face(piece: Piece, bar: RoomBar, known: dict[str, Bar]) -> Vec | None:
    """Which way its face side looks; None where a mate must be known first."""
    if bar.faces is not None and not bar.forced:
        return bar.faces
    for grain, end in ((bar.grain, bar.near), (-bar.grain, bar.far)):
        if not isinstance(end, Joined) or end.mate not in known:
            continue
        cls, mate = piece.joint(end.joint).type, known[end.mate]
        side = end.side or met_side(cls, bar.name, grain, mate)
        way = cls.forced_face(grain, seen(mate, side, meeting(cls).side))
        if way is not None:
            return -way if bar.faces is not None and way @ bar.faces < 0 else way
    return None


def _bar(bar: RoomBar, face: Vec) -> Bar:
    grain = bar.grain
    across = face.across(grain)
    if across.length <= ALONG * face.length:
        says = "its face side would look along its own length"
        raise InputError.of(bar.name, says, shown(tuple(face)), "a direction across the bar")
    face = across.unit
    edge = face ^ grain if bar.x_from == "face_edge" else grain ^ face
    run = (bar.end - bar.start).length
    return Bar(bar.name, bar.width, bar.thickness, run, grain, face, edge, bar.start)


def _ended(piece: Piece, bar: RoomBar, rolled: dict[str, Bar]) -> PlacedBar:
    own = rolled[bar.name]
    turned = attrs.evolve(own, grain=-own.grain)
    found = [
        _plane(piece, own, bar.near, rolled),
        _plane(piece, turned, bar.far, rolled),
    ]
    at = []
    for where, grain, (_, plane, point) in zip(("near", "far"), (1.0, -1.0), found, strict=True):
        if -grain * (plane.normal @ own.grain) < LEAST_CROSSING:
            if grain * (plane.normal @ own.grain) > LEAST_CROSSING and _at_corners(piece, bar):
                says = "meets a board that stands at its other end"
                allowed = (
                    "near at its right-hand end as seen from outside, far at its left-hand one"
                )
                raise InputError.of(f"{bar.name}.{where}", says, None, allowed)
            says = "does not come to what it is to end at"
            allowed = f"a plane that crosses the bar; {HINT}"
            raise InputError.of(f"{bar.name}.{where}", says, None, allowed)
        at.append(plane.hit(point, own.grain))
    if at[1] - at[0] <= 0.0:
        says = "its far end would lie before its near one"
        raise InputError.of(bar.name, says, at[1] - at[0], f"above 0 mm; {HINT}", "mm")
    near = attrs.evolve(own, middle=own.middle + own.grain * at[0], length=at[1] - at[0])
    far = attrs.evolve(near, grain=-near.grain, middle=own.middle + own.grain * at[1])
    (first, a, _), (second, b, _) = found
    placed = PlacedBar(near, far, (first, second), (a, b))
    if min(placed.long_edges) <= 0.0 and _at_corners(piece, bar):
        says = "has no length along one edge: the boards at its two ends meet there"
        raise InputError.of(bar.name, says, min(placed.long_edges), "above 0 mm", "mm")
    return placed


def _at_corners(piece: Piece, bar: RoomBar) -> bool:
    ends = (e for e in (bar.near, bar.far) if isinstance(e, Joined))
    return any(meeting(piece.joint(e.joint).type).corner for e in ends)


def _plane(piece: Piece, own: Bar, end: End, rolled: dict[str, Bar]) -> tuple[str, Plane, Vec]:
    """The mate's side, the end's plane looking out of the wood, and a point of the line along the
    grain that crosses it in the datum. own: with its grain from that end."""
    if isinstance(end, Against):
        side = end.side or met_side(None, own.name, own.grain, rolled[end.mate])
        face = rolled[end.mate].side(side)
        return side, Plane(-face.normal, -face.at), own.middle
    if not isinstance(end, Joined):
        return "", end.plane, own.middle
    cls, mate = piece.joint(end.joint).type, rolled[end.mate]
    if meeting(cls).corner:
        comes, _ = came(cls, own.name, own.x_from, end.first)
        side = comes.side
    else:
        comes = meeting(cls)
        side = end.side or met_side(cls, own.name, own.grain, mate)
    face = mate.side(side)
    plane = Plane(-face.normal, -face.at) if comes.into > 0 else face
    return side, plane, comes.at(own)
