"""What only the whole piece shows, whatever the fixture.

Knows bars that stand, their layouts and joints; no fixture. What mortises leave of one bar is
``mortise_checks``, how bars stand to each other and to the floor is ``room_checks``.
"""

from __future__ import annotations

from collections.abc import Sequence

from jointgeo.joints.check import Check
from jointgeo.joints.stock import Part
from jointgeo.pieces.joining import PlacedJoint
from jointgeo.pieces.model import Piece
from jointgeo.pieces.mortise_checks import mortise_checks
from jointgeo.pieces.room import PlacedBar
from jointgeo.pieces.room_checks import room_checks

__all__ = ["piece_checks"]


def piece_checks(
    piece: Piece, bars: Sequence[tuple[PlacedBar, Part]], joints: Sequence[PlacedJoint]
) -> tuple[Check, ...]:
    """Checks of all bars; each with the name of its bar, or of both, as its part."""
    own = [c for placed, near in bars for c in mortise_checks(placed, near)]
    return (*own, *room_checks(piece, [placed for placed, _ in bars], joints))
