"""``jointgeo dry-fit`` of a piece file: the whole piece cut and put in the room.

Knows piece files and their solver, which the dry fit itself must not: it hands their answer over as
plain data. Imports without the boolean kernel.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import attrs

from jointgeo.proof.chain import LastJoint, chain_piece
from jointgeo.proof.finding import Finding
from jointgeo.proof.piece import PieceFit, fit_piece
from jointgeo.proof.sweep import sweep_piece

if TYPE_CHECKING:
    from jointgeo.pieces.file import PieceFile
    from jointgeo.pieces.solve import PieceAnswer

__all__ = ["PieceProof", "piece_lines", "piece_proof"]

ROUNDING_MM3 = 1e-6  # the kernel's own, over metres


@attrs.frozen(eq=False)
class PieceProof:
    """A piece and its dry fit. last: joints that close a frame, glued one after the other, each
    with the gap (mm) and the turn (deg) that the sums of first order foretell; of angles that are
    set as they should be there are none. swept: what is in the way as it is taken apart."""

    title: str
    bars: int
    fit: PieceFit
    last: tuple[tuple[LastJoint, float, float], ...] = ()
    swept: tuple[Finding, ...] = ()

    @property
    def goes_together(self) -> bool:
        return self.fit.goes_together and all(f.ok for f in self.swept)

    @property
    def faults(self) -> tuple[Finding, ...]:
        return (*self.fit.faults, *(f for f in self.swept if not f.ok))

    def to_dict(self) -> dict[str, Any]:
        last = [
            {
                "bar": j.bar,
                "mate": j.mate,
                "gap_mm": j.gap_mm,
                "turn_deg": j.turn_deg,
                "foretold_gap_mm": gap,
                "foretold_turn_deg": turn,
            }
            for j, gap, turn in self.last
        ]
        return {
            "piece": self.title,
            "bars": self.bars,
            "fit": self.fit.to_dict(),
            "last": last,
            "swept": [f.to_dict() for f in self.swept],
        }


def piece_proof(file: PieceFile, errors: dict[str, float], *, apart: bool = False) -> PieceProof:
    """The dry fit of one piece.

    apart: sweep it along its steps of assembly, cut as it should be; MissingExtraError without
    the extra ``assembly``.
    """
    from jointgeo.pieces.answerfile import solve_piece_file

    answer = solve_piece_file(file).answer
    data = answer.bars_dict()
    fit = fit_piece(data, errors)
    last = _last(answer, data, errors)
    swept = sweep_piece(data, answer.assembly.to_dict()) if apart else ()
    return PieceProof(answer.piece.title, len(answer.bars), fit, last, swept)


def _last(
    answer: PieceAnswer, data: dict[str, Any], errors: dict[str, float]
) -> tuple[tuple[LastJoint, float, float], ...]:
    axes = {n: errors[n] for n in ("swivel_deg", "tilt_deg") if errors.get(n)}
    if not axes:
        return ()
    return tuple(
        (j, *answer.closing.around(j.loop, axes, j.points.tolist()))
        for j in chain_piece(data, errors)
    )


def piece_lines(piece: PieceProof) -> Iterator[str]:
    """Overlap, gaps, and what a tape shows on the solids."""
    fit = piece.fit
    low, high = fit.extents_mm.tolist()
    yield piece.title
    yield "=" * len(piece.title)
    verdict = "goes together" if fit.goes_together else "DOES NOT GO TOGETHER"
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
    if piece.swept:
        free = all(f.ok for f in piece.swept)
        found = "nothing is in the way" if free else "SOMETHING IS IN THE WAY"
        yield f"  taken apart in {len(piece.swept) - 1} steps, each swept to 70 mm: {found}"
    if piece.last:
        yield "  glued one joint after the other, each closed tight, the last one is off:"
    for j, gap, turn in piece.last:
        yield (
            f"    {j.bar} into {j.mate}: by {j.gap_mm:.4f} mm at most, and turned "
            f"{j.turn_deg:.4f}° (turns added up to first order: {gap:.4f} mm, {turn:.4f}°)"
        )
