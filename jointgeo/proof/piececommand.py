"""``jointgeo dry-fit`` of a piece file: the whole piece cut and put in the room.

Knows piece files and their solver, which the dry fit itself must not: it hands their answer over as
plain data. Imports without the boolean kernel.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import attrs

from jointgeo.proof.piece import PieceFit, fit_piece

__all__ = ["PieceProof", "piece_lines", "pieces_of"]

ROUNDING_MM3 = 1e-6  # the kernel's own, over metres


@attrs.frozen(eq=False)
class PieceProof:
    """A piece and its dry fit."""

    title: str
    bars: int
    fit: PieceFit

    def to_dict(self) -> dict[str, Any]:
        return {"piece": self.title, "bars": self.bars, "fit": self.fit.to_dict()}


def pieces_of(names: Sequence[str], errors: dict[str, float]) -> tuple[list[PieceProof], list[str]]:
    """The dry fits of those that are piece files, and the other names."""
    from jointgeo.pieces.answerfile import solve_piece_file
    from jointgeo.pieces.file import is_piece, load_piece

    proofs, others = [], []
    for name in names:
        if not (name.endswith(".toml") and is_piece(name)):
            others.append(name)
            continue
        answer = solve_piece_file(load_piece(name)).answer
        fit = fit_piece(answer.bars_dict(), errors)
        proofs.append(PieceProof(answer.piece.title, len(answer.bars), fit))
    return proofs, others


def piece_lines(piece: PieceProof) -> Iterator[str]:
    """Overlap, gaps, and what a tape shows on the solids."""
    fit = piece.fit
    low, high = fit.extents_mm.tolist()
    yield piece.title
    yield "=" * len(piece.title)
    verdict = "goes together" if fit.fits else "DOES NOT GO TOGETHER"
    yield f"{piece.bars} bars, each cut by the settings of its two ends alone: {verdict}"
    overlap = fit.overlap_mm3 if fit.overlap_mm3 > ROUNDING_MM3 else 0.0
    yield f"  overlap {overlap:.3f} mm3 over all pairs of bars"
    if fit.interference_mm3 > 0:
        yield f"  interference as planned {fit.interference_mm3:.3f} mm3"
    yield (
        f"  beyond the stated gaps: open by {fit.gap_mm:.4f} mm at most, "
        f"tight by {fit.press_mm:.4f} mm at most"
    )
    feet = fit.extents_at_mm(low[2])
    wide, deep = (feet[1] - feet[0]).tolist()
    yield (
        f"  measured on the solids: height {high[2] - low[2]:.4f}, over the feet {wide:.4f} × "
        f"{deep:.4f} mm, over all {high[0] - low[0]:.4f} × {high[1] - low[1]:.4f} mm"
    )
