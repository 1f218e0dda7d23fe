"""A piece of furniture as a TOML file: a drawing of the room in words.

Knows the file's form, the registry of joint types and fixtures; solves nothing (``solve`` does).

    piece = 1
    title = "Bench"
    fixture = "porch"                  # a name, or a path beside this file
    symmetry = ["left_right", "front_back"]
    height_mm = { seat = 430 }         # floor is always 0

    [[joint]]                          # its own sizes; what the drawing decides is refused
    name = "leg over rail"
    type = "splayed_bridle"
    parameters = { tongue_thickness_mm = 22, fit_mm = 0.1 }

    [[bar]]
    name = "leg"
    count = 4                          # compared with what the symmetry makes
    width_mm = 66
    thickness_mm = 44
    near = { into = "rail", right_mm = 390, joint = "leg over rail" }
    far = { level = "floor", right_mm = 520, front_mm = 240, to = "outside", cut = "level" }

    [measured_mm]
    "feet, left to right" = 1040       # compared, never used

A plain end has a ``cut`` in place of a joint: "level", "square", or, with ``into``, "side": to the
side of that bar. Or by an installed piece type: ``type = "…"`` and ``parameters`` in place of
symmetry, heights, joints and bars. Exactly two facts place a bar (see ``lines``); any ``x_mm`` may
be ``x_in``, as in ``height_in = { seat = "15 1/2" }``. The sides of a sloping box are ``[[board]]``
(see ``boardentries``).
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import attrs

from jointgeo.errors import (
    InputError,
    PieceError,
    PluginError,
    Problem,
    UnknownNameError,
    shown,
)
from jointgeo.fixtures.file import fixture_path, load_fixture, read_toml
from jointgeo.fixtures.model import Fixture
from jointgeo.geometry.vectors import Plane, Vec, Z
from jointgeo.joints.registry import joint_type
from jointgeo.pieces.boardentries import BoardEntry
from jointgeo.pieces.boardnames import names_of, wrong_kinds, wrong_names
from jointgeo.pieces.drawn import DrawnPiece
from jointgeo.pieces.drawnboards import drawn_boards
from jointgeo.pieces.entries import BarEntry, FallEntry, JointEntry, PieceEntry, Spot, TypedEntry
from jointgeo.pieces.itemnames import by_name
from jointgeo.pieces.joining import decided
from jointgeo.pieces.model import Piece, PieceJoint
from jointgeo.pieces.namedlengths import named_lengths
from jointgeo.pieces.outside import fitted
from jointgeo.pieces.registry import piece_type
from jointgeo.pieces.shipped import shipped_piece
from jointgeo.pieces.symmetry import group, mirror
from jointgeo.schema.filekinds import kind_of, refuse_others
from jointgeo.schema.tables import read
from jointgeo.schema.units import INCH_FORMS, read_inches

__all__ = ["FLOOR", "PieceFile", "is_piece", "load_piece", "read_piece_data"]

FLOOR = "floor"
#: A table of one of the file's lists, as the reader of tables counts it.
STAND_IN = "given"  # where the name of a fixture would stand


@attrs.frozen
class PieceFile:
    """A piece ready to be solved. measured: what a tape must show, mm; source: the file's name;
    fixture_source: the fixture's, "" for one that ships."""

    title: str
    fixture: Fixture
    piece: Piece
    measured: Mapping[str, float]
    source: str = ""
    fixture_source: str = ""

    def on(self, fixture: str | Path) -> PieceFile:
        """The same piece on another fixture: its name, or the path of its file.

        Raises UnknownNameError or FixtureError as ``load_fixture`` does.
        """
        path = fixture_path(fixture)
        source = "" if path is None else str(path)
        return attrs.evolve(self, fixture=load_fixture(fixture), fixture_source=source)


def is_piece(path: str | Path) -> bool:
    """Whether the file of that path is a piece; False where it cannot be read."""
    try:
        data = read_toml(Path(path), PieceError)
    except InputError:
        return False
    return "piece" in data or kind_of(data) == "piece"


def load_piece(name_or_path: str | Path) -> PieceFile:
    """A piece that ships, by name, or that of any other TOML file by its path, told apart as a
    job's are. PieceError (FixtureError for the fixture's own file) naming file, field, value and
    what is allowed; UnknownNameError for an unknown name."""
    path = Path(name_or_path)
    if isinstance(name_or_path, str) and path.name == name_or_path and path.suffix != ".toml":
        return read_piece_data(shipped_piece(name_or_path), Path(), name_or_path)
    data = read_toml(path, PieceError)
    refuse_others(data, "piece", PieceError, str(path))
    return read_piece_data(data, path.parent, str(path))


def read_piece_data(
    data: Mapping[str, Any],
    folder: Path | None,
    source: str = "",
    fixture: Fixture | None = None,
) -> PieceFile:
    """A piece from plain data; a fixture's path is taken from ``folder``.

    With a ``fixture`` the one that the data may name is not looked for, so that no path in them is
    ever opened; ``folder`` is then not needed.
    """
    if fixture is not None:
        data = {**data, "fixture": STAND_IN}
    if "type" in data:
        return _typed(data, folder, source, fixture)
    try:
        entry, symmetry = _entry(data)
        drawn = _drawn(entry, symmetry)
        measured = named_lengths("measured", entry.measured_mm, entry.measured_in)
        piece = fitted(drawn.piece, drawn.wants())
        _counted(drawn)
    except InputError as error:
        told = error.problems
        if source:  # a person reads it beside the file; a program that posted the data counts
            told = tuple(by_name(p, data) for p in told)
        raise PieceError(*told, source=source) from None
    found, file = _fixture(entry.fixture, folder, source, fixture)
    return PieceFile(entry.title, found, piece, measured, source, file)


def _typed(
    data: Mapping[str, Any], folder: Path | None, source: str, given: Fixture | None
) -> PieceFile:
    """A piece of an installed type, by its parameters."""
    try:
        entry = read(TypedEntry, data, PieceError)
        cls = piece_type(entry.type)
        try:
            piece = cls.from_dict(entry.parameters).piece()
        except InputError as error:
            raise error.under("parameters") from None
        measured = named_lengths("measured", entry.measured_mm, entry.measured_in)
    except InputError as error:
        raise PieceError(*error.problems, source=source) from None
    piece = attrs.evolve(piece, title=entry.title)
    fixture, file = _fixture(entry.fixture, folder, source, given)
    return PieceFile(entry.title, fixture, piece, measured, source, file)


def _entry(data: Mapping[str, Any]) -> tuple[PieceEntry, tuple[str, ...]]:
    """The file as its tables; ``symmetry`` and mirrored far ends are words where tables stand."""
    table = dict(data)
    symmetry = table.pop("symmetry", [])
    problems = []
    if not isinstance(symmetry, list) or not all(isinstance(w, str) for w in symmetry):
        allowed = 'a list of "left_right", "front_back", "turned N"'
        problems.append(Problem("symmetry", "is not a list of words", shown(symmetry), allowed))
        symmetry = []
    bars = table.get("bar")
    if isinstance(bars, list):
        table["bar"] = [_bar(b, f"bar[{i}]", problems) for i, b in enumerate(bars)]
    try:
        entry = read(PieceEntry, table, PieceError)
    except PieceError as error:
        problems += error.problems
        raise PieceError(*problems) from None
    if problems:
        raise PieceError(*problems)
    return entry, tuple(symmetry)


def _bar(bar: object, path: str, problems: list[Problem]) -> object:
    if not isinstance(bar, dict):
        return bar
    out = dict(bar)
    if "far_mirrored" in out:
        allowed = 'far = "mirrored left_right"'
        problems.append(Problem(f"{path}.far_mirrored", "is not a known name", None, allowed))
    far = out.get("far")
    if isinstance(far, str):
        word = far.removeprefix("mirrored ")
        if word == far or mirror(word) is None:
            allowed = 'a table, "mirrored left_right" or "mirrored front_back"'
            problems.append(Problem(f"{path}.far", "is no mirrored end", shown(far), allowed))
        out["far_mirrored"] = word
        del out["far"]
    elif far is None:
        allowed = 'a table, "mirrored left_right" or "mirrored front_back"'
        problems.append(Problem(f"{path}.far", "is missing", None, allowed))
    return out


# What belongs together ----------------------------------------------------------------


def _drawn(entry: PieceEntry, symmetry: tuple[str, ...]) -> DrawnPiece:
    """The drawing, if everything in it agrees; PieceError with every problem otherwise."""
    problems: list[Problem] = []
    levels = _levels(entry, problems)
    joints = [j for item in entry.joint if (j := _joint(item, problems)) is not None]
    bars = [b.name for b in entry.bar] + [b.name for b in entry.board]
    for what, names in (("joint", [j.name for j in entry.joint]), ("bar", bars)):
        problems += [
            Problem(f"{what}[{i}].name", "is used twice", shown(n), "a name of its own")
            for i, n in enumerate(names)
            if n in names[:i]
        ]
    names = [j.name for j in entry.joint]
    used: set[str] = set()
    for bar in entry.bar:
        for where, spot in (("near", bar.near), ("far", bar.far), ("through", bar.through)):
            if spot is not None:
                path = f"bar {bar.name}.{where}"
                problems += _spot(path, spot, where, list(levels), names)
                used |= {w for w in (spot.level, spot.joint) if w is not None}
    problems += wrong_names(entry.board, list(levels), names)
    problems += wrong_kinds(entry.bar, entry.board, joints)
    used |= {name for board in entry.board for name in names_of(board).values()}
    unused = [n for n in (*levels, *names) if n not in used and n != FLOOR]
    problems += [Problem(n, "is named and never used", None, "a bar that uses it") for n in unused]
    try:
        images = group(symmetry)
    except PieceError as error:
        problems += error.problems
    if problems:
        raise PieceError(*problems)
    turned = any(w.startswith("turned") for w in symmetry)
    number = len(images) if turned and len(symmetry) == 1 else None
    boards = drawn_boards(entry.board, levels, number)
    return DrawnPiece(entry.title, tuple(joints), entry.bar, levels, images, turned, boards)


def _spot(path: str, spot: Spot, where: str, levels: list[str], joints: list[str]) -> list[Problem]:
    out = []
    if spot.level is not None and spot.level not in levels:
        allowed = f"one of {', '.join(levels)}"
        out.append(Problem(f"{path}.level", "is no named height", shown(spot.level), allowed))
    if spot.joint is not None and spot.joint not in joints:
        allowed = f"one of {', '.join(joints)}"
        out.append(Problem(f"{path}.joint", "is no joint of this file", shown(spot.joint), allowed))
    if where == "through":
        if spot.joint or spot.cut or spot.into:
            says = "is a place on the line and no end"
            out.append(Problem(path, says, None, "no joint, cut or into"))
        return out
    if (spot.joint is None) == (spot.cut is None):
        given = "both" if spot.joint else "neither"
        out.append(Problem(path, "needs one of joint and cut", given, "exactly one"))
    if (spot.joint is None and spot.cut != "side") != (spot.into is None):
        says = 'into goes with a joint, or with cut = "side"'
        out.append(Problem(path, says, None, "both, or neither"))
    if spot.cut == "level" and spot.level is None:
        out.append(Problem(f"{path}.level", "is missing", None, 'a level, where cut = "level"'))
    return out


def _levels(entry: PieceEntry, problems: list[Problem]) -> dict[str, Plane]:
    out = {FLOOR: Plane(Z, 0.0)}
    for table, given in (("height_mm", entry.height_mm), ("height_in", entry.height_in)):
        if FLOOR in given:
            says, allowed = "is always 0", "no height for the floor"
            problems.append(Problem(f"{table}.{FLOOR}", says, None, allowed))
    try:
        heights = named_lengths("height", entry.height_mm, entry.height_in)
    except PieceError as error:
        problems += error.problems
        heights = dict.fromkeys((*entry.height_mm, *entry.height_in), 0.0)
    for name, at in heights.items():
        out.setdefault(name, Plane(Z, at))
    for fall in entry.fall:
        if fall.name in out:
            allowed = "a name of its own"
            problems.append(Problem("fall.name", "is used twice", shown(fall.name), allowed))
        try:
            out[fall.name] = _fall(fall)
        except PieceError as error:
            problems += error.under(f"fall {fall.name}").problems
    return out


def _fall(fall: FallEntry) -> Plane:
    (axis, high), (other, low) = fall.high.place, fall.low.place
    if axis != other or high == low:
        raise PieceError(Problem("low", "lies not across from high", None, "the same way of plan"))
    slope = (fall.low.height_mm - fall.high.height_mm) / (low - high)
    normal = Vec(-slope, 0.0, 1.0) if axis == "x" else Vec(0.0, -slope, 1.0)
    point = Vec(*((high, 0.0) if axis == "x" else (0.0, high)), fall.high.height_mm)
    return Plane.through(point, normal.unit)


def _joint(entry: JointEntry, problems: list[Problem]) -> PieceJoint | None:
    path = f"joint {entry.name}"
    try:
        cls = joint_type(entry.type)
    except UnknownNameError as error:
        problems += [attrs.evolve(p, field=f"{path}.type") for p in error.problems]
        return None
    except PluginError as error:
        problems.append(Problem(f"{path}.type", str(error), shown(entry.type)))
        return None
    forced = decided(cls)
    sizes = dict(entry.parameters)
    for name in entry.parameters:
        stem = str(name).removesuffix("_in") + "_mm" if str(name).endswith("_in") else name
        if stem in forced or name in forced:
            says = "is decided by the drawing"
            allowed = "the joint's own sizes only"
            given = shown(entry.parameters[name])
            problems.append(Problem(f"{path}.parameters.{name}", says, given, allowed))
    return PieceJoint(entry.name, cls, _in_mm(sizes, path, problems))


def _in_mm(sizes: dict[str, Any], path: str, problems: list[Problem]) -> dict[str, Any]:
    """Lengths in inches as millimetres, which is what ``between`` reckons in."""
    out = {}
    for name, value in sizes.items():
        if not name.endswith("_in"):
            out[name] = value
            continue
        stem = name.removesuffix("_in") + "_mm"
        allowed, field = f"{INCH_FORMS}, and not {stem} too", f"{path}.parameters.{name}"
        try:
            out[stem] = read_inches(value)
        except ValueError:
            says = "is no length in inches"
            problems.append(Problem(field, says, shown(value), allowed, "in"))
        if stem in sizes:
            problems.append(Problem(field, "is given twice", shown(value), allowed, "in"))
    return out


def _counted(drawn: DrawnPiece) -> None:
    problems = []
    made_of = drawn.copies()
    given: list[tuple[str, BarEntry | BoardEntry]] = [("bar", e) for e in drawn.entries]
    given += [("board", b.entry) for b in drawn.boards]
    for what, entry in given:
        made = made_of[entry.name]
        if made != entry.count:
            says = f"the symmetry makes {made} of it"
            problems.append(
                Problem(f"{what} {entry.name}.count", says, str(entry.count), _why(entry, made))
            )
    if problems:
        raise PieceError(*problems)


def _why(entry: BarEntry | BoardEntry, made: int) -> str:
    if made < entry.count:
        return f"{made}, or a bar that is not drawn on the middle"
    return f'{made}, or copies = "none"'


def _fixture(
    name: str, folder: Path | None, source: str, given: Fixture | None
) -> tuple[Fixture, str]:
    """The fixture, and the path of its file; the one that is given without looking for any."""
    if given is not None:
        return given, ""
    path = Path(name)
    is_path = path.name != name or path.suffix == ".toml"
    try:
        if is_path:
            path = path if folder is None else folder / path
            return load_fixture(path), str(path)
        return load_fixture(name), ""
    except UnknownNameError as error:
        raise PieceError(*error.problems, source=source) from None
