"""A whole piece taken apart step by step: every bar swept along the way that the assembly says.

Knows a solved piece and its assembly as plain data, and cut bars. The steps are undone, the last
first. In each the groups move along their ways, and no bar may take more room of one of another
group than at rest, whether a joint joins the two or not.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import attrs
import numpy as np

from jointgeo.proof.finding import TOLERANCE_MM3, Finding
from jointgeo.proof.form import read_errors
from jointgeo.proof.kernel import Solid
from jointgeo.proof.mesh import Array
from jointgeo.proof.piece import cut_bar
from jointgeo.proof.pieceform import read_piece
from jointgeo.proof.reader import Reader

__all__ = ["PLACES_MM", "sweep_piece"]

#: How far the group that goes furthest has gone, mm: thirteen places up to 70.
PLACES_MM = tuple(float(v) for v in np.geomspace(0.02, 70.0, 13))
#: What leans takes most wood just before it leaves: so much of every joint's depth.
LEAVING = (0.8, 0.92)


@attrs.frozen(eq=False)
class _Step:
    """groups: of bars that move together; ways: how each is drawn out, the furthest by 1."""

    groups: tuple[tuple[str, ...], ...]
    ways: tuple[Array, ...]
    joints: int


def sweep_piece(piece: object, assembly: object) -> tuple[Finding, ...]:
    """What every step takes of other bars, most of all its places, and that all bars come apart.

    piece: plain data in the form of ``PieceAnswer.to_dict()``; assembly: of its ``assembly``.
    InputError, naming paths, where they cannot be read.
    """
    form = read_piece(piece)
    steps = _read(assembly, [b.name for b in form.bars])
    solids = {b.name: cut_bar(b, read_errors(None)).solid.moved(b.pose) for b in form.bars}
    deep = {c.depth_mm for j in form.joints for n in j.drawing.notches for c in n.channels}
    places = sorted({*PLACES_MM, *(d * share for d in deep for share in LEAVING)})
    rest: dict[frozenset[str], float] = {}
    out = []
    for number, step in reversed(list(enumerate(steps, 1))):
        worst = 0.0
        for place in places:
            for taken in _taken(step, solids, place, rest):
                worst = max(worst, taken)
        bars = tuple(itertools.chain.from_iterable(step.groups))
        what = f"step {number}, {step.joints} joints: wood in the way as it is taken apart"
        because = "no bar may take more room of another than at rest"
        out.append(Finding.zero(what, bars, worst, TOLERANCE_MM3, "mm3", because))
    joined = [frozenset(j.bars.values()) for j in form.joints]
    left = _together(steps, joined)
    because = "a step parts every joint between its groups, and all of them part them all"
    out.append(Finding.zero("joints that no step parts", (), float(left), 0.5, "1", because))
    return tuple(out)


def _taken(
    step: _Step, solids: Mapping[str, Solid], place: float, rest: dict[frozenset[str], float]
) -> Iterator[float]:
    groups = list(zip(step.groups, step.ways, strict=True))
    for (one, way), (other, there) in itertools.combinations(groups, 2):
        pose = np.eye(4)
        pose[:3, 3] = (way - there) * place
        if not np.abs(pose[:3, 3]).max() > 0:
            continue
        for a, b in itertools.product(one, other):
            pair = frozenset((a, b))
            if pair not in rest:
                rest[pair] = solids[a].room_taken(solids[b], TOLERANCE_MM3)
            moved = solids[a].moved(pose)
            yield moved.room_taken(solids[b], rest[pair] + TOLERANCE_MM3) - rest[pair]


def _together(steps: Sequence[_Step], joined: Sequence[frozenset[str]]) -> int:
    """How many joints have their two bars in one group of every step."""
    parted = {
        frozenset((a, b))
        for step in steps
        for one, other in itertools.combinations(step.groups, 2)
        for a, b in itertools.product(one, other)
    }
    return sum(pair not in parted for pair in joined)


# Read -------------------------------------------------------------------------------------


def _read(assembly: object, bars: Sequence[str]) -> tuple[_Step, ...]:
    reader = Reader()
    table = reader.table(assembly, "assembly")
    out = tuple(_step(reader, t, p, bars) for t, p in reader.tables(table, "steps", "assembly"))
    reader.done()
    return out


def _step(reader: Reader, table: Mapping[str, Any], path: str, bars: Sequence[str]) -> _Step:
    groups = [_names(reader, table, "still", path, bars)]
    ways = [np.zeros(3)]
    for move, at in reader.tables(table, "moves", path):
        groups.append(_names(reader, move, "bars", at, bars))
        length = reader.number(move, "length_mm", at, "mm", above=0.0)
        ways.append(-reader.array(move, "way", at, (3,)) * length)
    furthest = max(float(np.linalg.norm(w)) for w in ways)
    joints = table.get("joints")
    return _Step(
        tuple(groups),
        tuple(w / furthest if furthest > 0 else w for w in ways),
        len(joints) if isinstance(joints, list) else 0,
    )


def _names(
    reader: Reader, table: Mapping[str, Any], key: str, path: str, bars: Sequence[str]
) -> tuple[str, ...]:
    given = table.get(key)
    if isinstance(given, list) and all(isinstance(n, str) and n in bars for n in given):
        return tuple(given)
    reader.fault(f"{path}.{key}", "is no list of bars of this piece", given, "a list of bars", "")
    return ()
