"""Boxes with sloping sides for tests: one to vary, and plans of known angles. Test helper."""

from __future__ import annotations

from typing import Any

from jointgeo.fixtures.file import load_fixture
from jointgeo.pieces.registry import piece_type
from jointgeo.pieces.solve import PieceAnswer, solve_piece
from jointgeo.proof import PieceFit, fit_piece

__all__ = ["BOX", "PLANS", "PORCH", "TRAPEZOID", "box", "cut", "solved"]

PORCH = load_fixture("porch")
BOX = piece_type("sloping_box")


def box(**values: Any) -> Any:
    """120 mm high, of boards of 14 mm, five fingers at a corner."""
    return BOX(**{"height_mm": 120, "thickness_mm": 14, "finger_count": 5, **values})


def solved(made: Any, marks: Any = "alike") -> PieceAnswer:
    return solve_piece(made.piece(), PORCH, marks)


def cut(made: Any, errors: dict[str, float] | None = None) -> PieceFit:
    return fit_piece(solved(made).bars_dict(), errors)


TRAPEZOID = "0 0, 400 0, 300 150, 100 150"
QUADRILATERAL = "0 0, 300 0, 260 200, 40 150"
PENTAGON = "0 0, 300 0, 380 180, 150 300, -60 160"
# Inside angles at the corners, by the cosine rule from the sides that meet there, and the sides.
PLANS = [
    (TRAPEZOID, [56.3099, 56.3099, 123.6901, 123.6901], [400, 180.2776, 200, 180.2776]),
    (QUADRILATERAL, [75.0686, 78.6901, 88.5057, 117.7357], [300, 203.9608, 225.6103, 155.2417]),
    (
        PENTAGON,
        [110.5560, 113.9625, 93.5903, 118.7571, 103.1340],
        [300, 196.9772, 259.4224, 252.3886, 170.8801],
    ),
]
