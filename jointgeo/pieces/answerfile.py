"""A piece file answered: solved on its fixture, and held against what its tape must show.

Knows files, answers and the tape. A figure under ``[measured_mm]`` is compared and never used.
"""

from __future__ import annotations

from typing import Any

import attrs

from jointgeo.errors import InputError, PieceError, Problem, one_line
from jointgeo.joints.check import Check, Verdict
from jointgeo.pieces.file import PieceFile
from jointgeo.pieces.solve import Marks, PieceAnswer, solve_piece
from jointgeo.pieces.tape import tape
from jointgeo.schema.units import fixed

__all__ = ["SHOWN_MM", "AnsweredPiece", "solve_piece_file"]

SHOWN_MM = 0.05  # a tape shows no less; half of a tenth of a millimetre


@attrs.frozen(eq=False)
class AnsweredPiece:
    """tape: what one shows on the finished piece, mm, by what it is laid on."""

    file: PieceFile
    answer: PieceAnswer
    tape: dict[str, float]

    @property
    def title(self) -> str:
        return self.file.title

    @property
    def status(self) -> Verdict:
        return self.answer.status

    @property
    def checks(self) -> tuple[Check, ...]:
        """Of joints, the piece and ends."""
        return self.answer.every_check

    @property
    def not_stated(self) -> int:
        """How many questions the fixture file does not answer."""
        return self.answer.not_stated

    @property
    def feasible(self) -> bool:
        return self.answer.feasible

    def to_dict(self, *also: str) -> dict[str, Any]:
        """The answer's plain data, with what ``PieceAnswer.to_dict`` gives only when asked."""
        return self.answer.to_dict(*also)


def solve_piece_file(file: PieceFile, marks: Marks = "alike") -> AnsweredPiece:
    """PieceError, with both figures, where the piece is not as its file says that it measures."""
    try:
        answer = solve_piece(file.piece, file.fixture, marks)
    except InputError as error:
        raise PieceError(*error.problems, source=file.source) from None
    found = tape((b.placed for b in answer.bars), answer.members, answer.planed)
    problems = []
    for name, asked in file.measured.items():
        field = f"measured_mm.{one_line(name)}"
        if name not in found:
            allowed = f"one of {', '.join(found)}"
            problems.append(Problem(field, "is nothing that is measured", None, allowed))
        elif abs(found[name] - asked) > SHOWN_MM:
            says = f"the drawing makes it {fixed(found[name], 3)} mm"
            problems.append(Problem(field, says, f"{asked:g}", "the same within 0.05 mm", "mm"))
    if problems:
        raise PieceError(*problems, source=file.source)
    return AnsweredPiece(file, answer, found)
