"""A piece file's entries made into bars that stand: placed, rolled, copied by the symmetry.

Knows entries, lines, rolls and symmetry; reads no file. A bar is placed once the bars that it goes
into are; a ring of bars that are placed by each other is named.
"""

from __future__ import annotations

from collections.abc import Mapping

import attrs

from jointgeo.errors import PieceError, shown
from jointgeo.geometry.vectors import Plane, Vec, Z
from jointgeo.joints.drawing import Bar, XFrom
from jointgeo.joints.joint_type import JointType
from jointgeo.joints.sides import other_edge
from jointgeo.pieces.corners import mirrored_corners
from jointgeo.pieces.drawnboards import DrawnBoard
from jointgeo.pieces.entries import BarEntry, Spot
from jointgeo.pieces.lines import Line, Mate, place_line
from jointgeo.pieces.model import Against, End, Joined, Piece, PieceJoint, Plain, RoomBar
from jointgeo.pieces.outside import Want
from jointgeo.pieces.rolls import face_of, looks
from jointgeo.pieces.sides import meeting, met_side
from jointgeo.pieces.symmetry import IDENTITY, Image, mirror, titles

__all__ = ["DrawnPiece"]

SAME_MM = 1e-6


@attrs.frozen
class _Placed:
    """A drawn bar: its line and how it stands, its mates' names as the ends give them."""

    entry: BarEntry
    line: Line
    faces: Vec | None
    forced: bool
    ends: tuple[End, End]
    x_from: XFrom = "face_edge"


@attrs.frozen
class DrawnPiece:
    """levels: planes that look up, by name. images: of the symmetry, the piece itself first.
    turned: whether copies are numbered. boards: placed already."""

    title: str
    joints: tuple[PieceJoint, ...]
    entries: tuple[BarEntry, ...]
    levels: Mapping[str, Plane]
    images: tuple[Image, ...]
    turned: bool
    boards: tuple[DrawnBoard, ...] = ()

    def wants(self) -> dict[str, Want]:
        """What is drawn by its outside, or by the edge of a level bar."""
        out = {}
        for entry in self.entries:
            spots = [s for s in (entry.near, entry.far, entry.through) if s is not None]
            outside = [s for s in spots if s.outside]
            edges = [s for s in spots if s.edge is not None]
            if len(outside) + bool(edges) > 1 or len({(s.level, s.edge) for s in edges}) > 1:
                says = "is drawn by the outside, or by an edge, at more than one place"
                raise PieceError.of(f"bar {entry.name}", says, None, "one of them")
            name = self.drawn_title(entry.name)
            for spot in outside:
                out[entry.name] = Want(name, self.levels[spot.level or ""], spot.outside)
            for spot in edges[:1]:
                level = self.levels[spot.level or ""]
                if abs(level.normal.z - 1.0) > 1e-12:
                    says = "goes with a level that does not fall"
                    raise PieceError.of(f"bar {entry.name}.edge", says, spot.edge, "the middle")
                way = (Z, level.at) if spot.edge == "top" else (-Z, -level.at)
                out[entry.name] = Want(name, None, (way,))
        return out

    def drawn_title(self, name: str) -> str:
        """What the bar that is drawn is called among its copies."""
        return self._names(self._placed({}))[name, 0]

    def copies(self) -> dict[str, int]:
        """How many of each bar the symmetry makes."""
        return {name: len(self._copies(bar)) for name, bar in self._placed({}).items()}

    def piece(self, moves: Mapping[str, Vec]) -> Piece:
        """Every bar and its copies. moves: by the drawn bars' names."""
        placed = self._placed(moves)
        names = self._names(placed)
        bars = []
        for name, bar in placed.items():
            bars += [self._image(bar, name, n, names, placed) for n in self._copies(bar)]
        return Piece(self.title, self.joints, mirrored_corners(bars, self.joints, self.images))

    # Placed ---------------------------------------------------------------------------

    def _placed(self, moves: Mapping[str, Vec]) -> dict[str, _Placed]:
        known = {b.entry.name: _board(b) for b in self.boards}
        waiting = list(self.entries)
        while waiting:
            left = []
            for entry in waiting:
                mates = self._mates(entry, known)
                if mates is None:
                    left.append(entry)
                else:
                    known[entry.name] = self._place(entry, mates, moves, known)
            if len(left) == len(waiting):
                ring = " and ".join(e.name for e in left)
                says = f"they are placed by each other: {ring}"
                raise PieceError.of(f"bar {left[0].name}", says, None, "a place for one of them")
            waiting = left
        return {name: known[name] for name in self._drawn_names}

    @property
    def _drawn_names(self) -> list[str]:
        return [*(e.name for e in self.entries), *(b.entry.name for b in self.boards)]

    def _mates(self, entry: BarEntry, known: Mapping[str, _Placed]) -> dict[str, Mate] | None:
        """The bars that its ends go into, by the names given; None while one is not placed."""
        out = {}
        for where, spot in (("near", entry.near), ("far", entry.far or Spot())):
            if spot.into is None:
                continue
            found = self._found(entry, where, spot.into, known)
            if found is None:
                return None
            name, image = found
            line = known[name].line
            start, end = image.way(line.start), image.way(line.end)
            out[spot.into] = Mate(spot.into, start, (end - start).unit)
        return out

    def _found(
        self, entry: BarEntry, where: str, given: str, known: Mapping[str, _Placed]
    ) -> tuple[str, Image] | None:
        """A drawn bar and its image, by a bare name or a copy's; None while it is not placed."""
        drawn, path = self._drawn_names, f"bar {entry.name}.{where}.into"
        if any(b.entry.name == entry.name for b in self.boards):
            path = f"board {entry.name}.{where}.meets"
        if given == entry.name:
            raise PieceError.of(path, "is the bar itself", shown(given))
        if given in drawn:
            return (given, IDENTITY) if given in known else None
        for (name, number), title in self._names(known).items():
            if title == given:
                return name, self.images[number]
        base = max((d for d in drawn if given.startswith(d)), key=len, default=None)
        if base is not None and base not in known:
            return None
        titles_ = list(self._names(known).values())
        allowed = f"one of {', '.join(dict.fromkeys([*drawn, *titles_]))}"
        raise PieceError.of(path, "is no bar of this piece", shown(given), allowed)

    def _over(
        self,
        entry: BarEntry,
        spots: tuple[Spot, Spot],
        line: Line,
        mates: Mapping[str, Mate],
        known: Mapping[str, _Placed],
    ) -> Mapping[str, Mate]:
        """The mates, by the middle line of the side that is met where the bar straddles it or is
        aimed at it."""
        out = dict(mates)
        grain = (line.end - line.start).unit
        for where, spot, inward in (("near", spots[0], grain), ("far", spots[1], -grain)):
            cls, into = self._type(spot), spot.into
            if into is None or into not in mates:
                continue
            if (cls is None or meeting(cls).into > 0) and spot.aim != "side":
                continue
            found = self._found(entry, where, into, known)
            placed = None if found is None else known[found[0]]
            if found is None or placed is None or placed.faces is None or placed.forced:
                says = "is aimed at a side of a bar whose own joint decides how it stands"
                raise PieceError.of(f"bar {entry.name}.{where}.into", says, shown(into))
            size = placed.entry.width_mm, placed.entry.thickness_mm, 1.0
            way, image = mates[into].way, found[1]
            start = mates[into].point
            bar = Bar.leaning(into, size, way, image.way(placed.faces), start)
            face = bar.side(spot.side or met_side(cls, entry.name, inward, bar))
            out[into] = Mate(into, start - face.normal * face.out(start), way)
        return mates if out == dict(mates) else out

    def _place(
        self,
        entry: BarEntry,
        mates: Mapping[str, Mate],
        moves: Mapping[str, Vec],
        known: Mapping[str, _Placed],
    ) -> _Placed:
        far_image = mirror(entry.far_mirrored) if entry.far_mirrored else None
        move = moves.get(entry.name, Vec(0.0, 0.0, 0.0))
        line = place_line(entry, self.levels, mates, far_image, move)
        spots = entry.near, (entry.near if far_image is not None else entry.far or Spot())
        # Now that it is known from where the bar comes: a slot is measured on the edge that it is
        # let down over, and a bar may be aimed at a side.
        over = self._over(entry, spots, line, mates, known)
        if over is not mates:
            mates = over
            line = place_line(entry, self.levels, mates, far_image, move)
        both = dict(mates)
        if far_image is not None and entry.near.into is not None:
            mate = mates[entry.near.into]
            point, way = far_image.way(mate.point), far_image.way(mate.way)
            both[f"{mate.name}, {entry.far_mirrored}"] = Mate(mate.name, point, way)
        # A joint may leave one roll only, or only one that spares packing; who says another is told
        # by the joint what that takes.
        said = any(getattr(entry, key) is not None for key in ("leans", "true_view", "set"))
        forced = not said and any(self._forces(s) for s in spots)
        if forced:
            middle = (line.start + line.end) / 2
            faces = looks(entry.faces, middle) if entry.faces is not None else None
        else:
            faces = face_of(entry, line.start, line.end, both)
        run = line.end - line.start
        if run.length <= SAME_MM:
            says = "its two ends are at one place"
            raise PieceError.of(f"bar {entry.name}", says, None, "another place for one of them")
        ends = [
            self._end(entry, where, spot, at, way, image)
            for where, spot, at, way, image in (
                ("near", spots[0], line.start, run.unit, IDENTITY),
                ("far", spots[1], line.end, -run.unit, far_image or IDENTITY),
            )
        ]
        return _Placed(entry, line, faces, forced, (ends[0], ends[1]))

    def _forces(self, spot: Spot) -> bool:
        """Whether the end's joint decides the roll."""
        cls = self._type(spot)
        plain = JointType.forced_face.__func__  # type: ignore[attr-defined]  # of a classmethod
        return cls is not None and cls.forced_face.__func__ is not plain  # type: ignore[attr-defined]

    def _type(self, spot: Spot) -> type[JointType] | None:
        return next((j.type for j in self.joints if j.name == spot.joint), None)

    def _end(
        self, entry: BarEntry, where: str, spot: Spot, at: Vec, inward: Vec, image: Image
    ) -> End:
        """mate names as given; resolved once every bar is placed. An image of the near end keeps
        its mate's given name, and ``_image`` finds the copy."""
        if spot.joint is not None and spot.into is not None:
            return Joined(spot.joint, spot.into, spot.side)
        if spot.cut == "side" and spot.into is not None:
            return Against(spot.into, spot.side)
        if spot.cut == "square":
            return Plain(Plane.through(at, -inward))
        level = image.plane(self.levels[spot.level or ""])
        return Plain(level if level.normal @ inward < 0 else Plane(-level.normal, -level.at))

    # Copied ---------------------------------------------------------------------------

    def _copies(self, bar: _Placed) -> list[int]:
        """The images that are bars of their own, by number; a bar that is its own image stays
        one."""
        if bar.entry.copies == "none":
            return [0]
        out: list[int] = []
        for number, image in enumerate(self.images):
            if not any(_same_run(bar.line, image, self.images[n]) for n in out):
                out.append(number)
        return out

    def _names(self, placed: Mapping[str, _Placed]) -> dict[tuple[str, int], str]:
        """What every copy is called, by drawn bar and image."""
        out = {}
        for name, bar in placed.items():
            copies = self._copies(bar)
            middle = (bar.line.start + bar.line.end) / 2
            middles = [self.images[n].way(middle) for n in copies]
            called = titles(name, middles, self.turned)
            out.update({(name, n): title for n, title in zip(copies, called, strict=True)})
        return out

    def _image(
        self,
        bar: _Placed,
        name: str,
        number: int,
        names: Mapping[tuple[str, int], str],
        placed: Mapping[str, _Placed],
    ) -> RoomBar:
        image, entry = self.images[number], bar.entry
        far = mirror(entry.far_mirrored) if entry.far_mirrored else IDENTITY
        ends: list[End] = []
        for where, end, own in (
            ("near", bar.ends[0], IDENTITY),
            ("far", bar.ends[1], far or IDENTITY),
        ):
            if isinstance(end, Plain):
                ends.append(Plain(image.plane(end.plane)))
                continue
            found = self._found(entry, where, end.mate, placed)
            if found is None:
                raise PieceError.of(f"bar {entry.name}.{where}.into", "is not placed", end.mate)
            mate, which = found
            wanted = image.after(own.after(which))
            ends.append(attrs.evolve(end, mate=self._copy_name(placed[mate], wanted, names)))
        run = image.way(bar.line.start), image.way(bar.line.end)
        faces = None if bar.faces is None else image.way(bar.faces)
        size = entry.width_mm, entry.thickness_mm
        edge = other_edge(bar.x_from) if image.mirrors else bar.x_from
        return RoomBar(
            names[name, number],
            *size,
            run[0],
            run[1],
            ends[0],
            ends[1],
            faces,
            bar.forced,
            edge,
        )

    def _copy_name(self, mate: _Placed, wanted: Image, names: Mapping[tuple[str, int], str]) -> str:
        """The copy of a bar that an image carries it to."""
        for number in self._copies(mate):
            if _same_run(mate.line, wanted, self.images[number]):
                return names[mate.entry.name, number]
        says, allowed = "has no copy where the symmetry asks for one", "none kept from being copied"
        if len(self.images) == 1:
            says, allowed = "has no copy: the file says no symmetry", 'symmetry = ["left_right"], …'
        raise PieceError.of(f"bar {mate.entry.name}", says, None, allowed)


def _board(drawn: DrawnBoard) -> _Placed:
    """A board as a bar, its width as it follows, between the boards that it meets."""
    entry, board = drawn.entry, drawn.board
    spots = [Spot(into=end.meets, joint=end.joint) for end in (entry.near, entry.far)]
    bar = BarEntry(
        name=entry.name,
        count=entry.count,
        width_mm=board.width,
        thickness_mm=entry.thickness_mm,
        copies=entry.copies,
        near=spots[0],
        far=spots[1],
    )
    ends = Joined(entry.near.joint, entry.near.meets), Joined(entry.far.joint, entry.far.meets)
    line = Line(board.start, board.end)
    return _Placed(bar, line, board.face, False, ends, drawn.x_from)


def _same_run(line: Line, one: Image, other: Image) -> bool:
    """Whether two images of a line are one, whichever way it runs."""
    a, b = one.way(line.start), one.way(line.end)
    c, d = other.way(line.start), other.way(line.end)
    return min(max((a - c).length, (b - d).length), max((a - d).length, (b - c).length)) <= SAME_MM
