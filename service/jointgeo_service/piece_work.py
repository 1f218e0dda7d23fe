"""A whole piece answered from plain data, in whatever process this runs.

Knows jointgeo's pieces and the budgets; knows no piece type by name, no HTTP. What is given and
what is answered is plain but for the fixture, so that a type that does not ship can be asked in a
process of its own by the same functions.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache
from typing import Any

from jointgeo.fixtures.model import Fixture
from jointgeo.pieces.answerfile import solve_piece_file
from jointgeo.pieces.file import PieceFile, read_piece_data
from jointgeo.pieces.model import Piece
from jointgeo.pieces.registry import piece_type
from jointgeo.pieces.serialise import cut_list_form
from jointgeo.pieces.solve import Marks, PieceAnswer, solve_piece
from jointgeo.pieces.tape import tape
from jointgeo.solution.serialise import end_settings, feasibility
from jointgeo_service.limits import KEPT_PIECES
from jointgeo_service.piece_budgets import for_assembly, of_ends, of_piece, of_piece_data
from jointgeo_service.strict_json import encode

__all__ = ["FORMS", "examples", "piece_answer", "piece_forms", "typed_parameters", "typed_piece"]


def typed_parameters(name: str, data: object) -> dict[str, Any]:
    """The parameters of a piece of that type, read; InputError naming each field at fault."""
    return piece_type(name).from_dict(data).to_dict()


def typed_piece(name: str, data: object) -> Piece:
    """The piece that these parameters of a type draw."""
    return piece_type(name).from_dict(data).piece()


def examples(name: str) -> list[dict[str, Any]]:
    """The parameters of a type's worked examples."""
    return [example.to_dict() for example in piece_type(name).examples()]


def piece_answer(name: str, data: Mapping[str, Any], fixture: Fixture, marks: Marks) -> PieceAnswer:
    """A piece solved. name: of the piece type whose parameters ``data`` are; "" where they are a
    piece file's, whose own fixture is not looked at.

    The last few are kept for those who ask for another part of the same answer.
    """
    try:
        key = encode(data)
        hash(fixture)
    except (TypeError, ValueError):  # what cannot be written will be refused when it is read
        return _solved(name, data, fixture, marks)
    return _kept(name, key, fixture, marks, _Given(data))


class _Given:
    """What the key was made of; equal to all others, so that only the key counts."""

    def __init__(self, data: Mapping[str, Any]) -> None:
        self.data = data

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Given)

    def __hash__(self) -> int:
        return 0


@lru_cache(maxsize=KEPT_PIECES)
def _kept(name: str, _key: bytes, fixture: Fixture, marks: Marks, given: _Given) -> PieceAnswer:
    return _solved(name, given.data, fixture, marks)


def _solved(name: str, data: Mapping[str, Any], fixture: Fixture, marks: Marks) -> PieceAnswer:
    if name:
        piece = typed_piece(name, data)
        of_piece(piece)
        answer = solve_piece(piece, fixture, marks)
    else:
        of_piece_data(data)
        file: PieceFile = read_piece_data(data, None, "", fixture)
        of_piece(file.piece)
        answer = solve_piece_file(file, marks).answer
    of_ends((part for bar in answer.bars for part in bar.parts), fixture)
    return answer


def piece_forms(
    name: str, data: Mapping[str, Any], fixture: Fixture, marks: Marks, wants: Sequence[str]
) -> dict[str, dict[str, Any]]:
    """Of one piece, solved once, each form that is wanted, by its name in ``FORMS``."""
    answer = piece_answer(name, data, fixture, marks)
    head = {"title": answer.piece.title, "fixture": fixture.name}
    return {want: head | FORMS[want](answer) for want in wants}


def _whole(answer: PieceAnswer) -> dict[str, Any]:
    return answer.to_dict() | _measured(answer)


def _cut_list(answer: PieceAnswer) -> dict[str, Any]:
    return cut_list_form(answer.members, answer.totals) | _measured(answer)


def _settings(answer: PieceAnswer) -> dict[str, Any]:
    return {"settings": [end_settings(end) for end in answer.settings]}


def _feasibility(answer: PieceAnswer) -> dict[str, Any]:
    return feasibility(answer.every_check)


def _marks(answer: PieceAnswer) -> dict[str, Any]:
    bars = answer.bars_dict()["bars"]
    return {"bars": [{n: bar[n] for n in ("bar", "marks", "planed")} for bar in bars]}


def _closing(answer: PieceAnswer) -> dict[str, Any]:
    return answer.closing.to_dict()


def _assembly(answer: PieceAnswer) -> dict[str, Any]:
    for_assembly(len(answer.joints))
    return answer.assembly.to_dict()


def _measured(answer: PieceAnswer) -> dict[str, Any]:
    found = tape((b.placed for b in answer.bars), answer.members, answer.planed)
    return {"measured_mm": found}


#: What can be asked for of a piece, by the last word of its URL.
FORMS: dict[str, Callable[[PieceAnswer], dict[str, Any]]] = {
    "answer": _whole,
    "cut-list": _cut_list,
    "settings": _settings,
    "feasibility": _feasibility,
    "marks": _marks,
    "closing": _closing,
    "assembly": _assembly,
}
