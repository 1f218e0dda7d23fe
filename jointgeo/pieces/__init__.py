"""A whole piece of furniture: bars that stand in the room, joints between them, and what follows.

    >>> import jointgeo
    >>> from jointgeo.pieces import piece_type, solve_piece
    >>> bench = piece_type("splayed_bench").examples()[0]
    >>> answer = solve_piece(bench.piece(), jointgeo.load_fixture("porch"))
    >>> [(m.count, m.name, round(m.length_mm, 2)) for m in answer.members[:2]]
    [(2, 'rail', 1000.0), (4, 'leg', 449.59)]

``answer.closing`` and ``answer.assembly`` say whether it closes and how it is put together; they
are worked out when asked for, and load what solving does without.

Knows joint types by their contract only, and solved ends; no job file, no page, no service.
"""

from jointgeo.pieces.answerfile import AnsweredPiece, solve_piece_file
from jointgeo.pieces.file import PieceFile, load_piece
from jointgeo.pieces.model import Against, Joined, Piece, PieceJoint, Plain, RoomBar
from jointgeo.pieces.piece_type import PieceType
from jointgeo.pieces.registry import piece_failures, piece_type, piece_types
from jointgeo.pieces.solve import PieceAnswer, solve_piece

__all__ = [
    "Against",
    "AnsweredPiece",
    "Joined",
    "Piece",
    "PieceAnswer",
    "PieceFile",
    "PieceJoint",
    "PieceType",
    "Plain",
    "RoomBar",
    "load_piece",
    "piece_failures",
    "piece_type",
    "piece_types",
    "solve_piece",
    "solve_piece_file",
]
