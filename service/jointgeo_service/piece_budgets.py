"""How much work a piece may ask for, found out before it is done.

Knows the limits, a piece file's plain data, pieces and how passes are counted; knows no type by
name, no HTTP. A piece grows faster than its text: by its symmetry, by the pairs of its bars, and by
the passes of its ends.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from math import lcm
from typing import Any

from jointgeo.errors import InputError, Problem
from jointgeo.fixtures.model import Fixture
from jointgeo.joints.stock import Part
from jointgeo.pieces.model import Joined, Piece
from jointgeo.planning.amount import most_passes
from jointgeo_service.limits import ASSEMBLY_JOINTS, PASSES, PIECE_BARS, PIECE_IMAGES, PIECE_JOINTS

__all__ = ["for_assembly", "of_ends", "of_job", "of_piece", "of_piece_data", "under"]

FIXTURE_FIELD = "fixture.cutter"
_TURNED = re.compile(r"turned ([0-9]{1,2})")


def of_piece_data(data: Mapping[Any, Any]) -> None:
    """InputError, at the field, where a piece file's plain data, as yet unread, draw too much."""
    problems = []
    for name, most in (("bar", PIECE_BARS), ("board", PIECE_BARS), ("joint", PIECE_JOINTS)):
        count = _length(data, name)
        if count > most:
            problems.append(_too_many(name, count, f"at most {most} of them"))
    images = _images(data.get("symmetry"))
    drawn = images * (_length(data, "bar") + _length(data, "board"))
    if drawn > PIECE_IMAGES and not problems:
        allowed = f"at most {PIECE_IMAGES} images of bars and boards"
        problems.append(_too_many("symmetry", drawn, allowed))
    if problems:
        raise InputError(*problems)


def of_piece(piece: Piece) -> None:
    """InputError where a piece has too many bars or joints to be solved."""
    ends = [e for b in piece.bars for e in (b.near, b.far)]
    joints = sum(isinstance(e, Joined) for e in ends)
    for name, count, most in (
        ("bar", len(piece.bars), PIECE_BARS),
        ("joint", joints, PIECE_JOINTS),
    ):
        if count > most:
            raise InputError(_too_many(name, count, f"at most {most} of them in the piece"))


def under(error: InputError, prefix: str) -> InputError:
    """The same error with every path put below ``prefix``, but for what the fixture makes too much:
    that is told where the fixture is given."""
    rest = [p for p in error.problems if p.field != FIXTURE_FIELD]
    kept = [p for p in error.problems if p.field == FIXTURE_FIELD]
    moved = InputError(*rest).under(prefix).problems if prefix else rest
    return InputError(*moved, *kept)


def of_ends(parts: Iterable[Part], fixture: Fixture) -> None:
    """InputError where all ends together take more passes than one question may ask for."""
    count = most_passes(parts, fixture)
    if count > PASSES:
        allowed = f"at most {PASSES:,} passes, reckoned with the narrowest cutter"
        problem = Problem(FIXTURE_FIELD, "makes too many passes", f"{count:,}", allowed)
        raise InputError(problem)


def of_job(joints: int) -> None:
    """InputError where a job has too many joints."""
    if joints > PIECE_JOINTS:
        raise InputError(_too_many("joint", joints, f"at most {PIECE_JOINTS} of them"))


def for_assembly(joints: int) -> None:
    """InputError where a piece has more joints than the steps of its assembly are looked for."""
    if joints > ASSEMBLY_JOINTS:
        allowed = f"at most {ASSEMBLY_JOINTS} joints where the assembly is asked for"
        raise InputError(_too_many("joint", joints, allowed))


def _too_many(field: str, count: int, allowed: str) -> Problem:
    return Problem(field, "makes too much work", str(count), allowed)


def _length(data: Mapping[Any, Any], name: str) -> int:
    value = data.get(name)
    return len(value) if isinstance(value, list | tuple) else 0


def _images(symmetry: object) -> int:
    """How many images a symmetry has, at most; 1 for what will be refused when it is read."""
    words = [w for w in symmetry if isinstance(w, str)] if isinstance(symmetry, list) else []
    turns = [int(m[1]) for w in words if (m := _TURNED.fullmatch(w)) and int(m[1])]
    mirrors = sum(w in ("left_right", "front_back") for w in set(words))
    turned = lcm(1, *turns, *([2] if mirrors == 2 else []))
    return 2 * turned if mirrors else turned
