"""All that the author of a piece type imports.

    from jointgeo.pieces.plugin import Piece, PieceType, length, placed_bars, rail_between, tape_of

Re-exports only. Rails between legs stand in ``between``; a bar drawn by its outside in ``outside``.
"""

from jointgeo.errors import InputError
from jointgeo.geometry.vectors import Plane, Vec, X, Y, Z
from jointgeo.joints.registry import joint_type
from jointgeo.pieces.between import (
    FLOOR,
    Aim,
    Corner,
    corners,
    crossing,
    flat,
    half_height,
    leg,
    rail_between,
)
from jointgeo.pieces.model import Against, End, Joined, Piece, PieceJoint, Plain, RoomBar
from jointgeo.pieces.outside import Want, fitted
from jointgeo.pieces.piece_type import PieceType
from jointgeo.pieces.room import PlacedBar, placed_bars
from jointgeo.pieces.taped import tape_of
from jointgeo.schema.fields import angle, choice, count, flag, length, number

__all__ = [
    "FLOOR",
    "Against",
    "Aim",
    "Corner",
    "End",
    "InputError",
    "Joined",
    "Piece",
    "PieceJoint",
    "PieceType",
    "PlacedBar",
    "Plain",
    "Plane",
    "RoomBar",
    "Vec",
    "Want",
    "X",
    "Y",
    "Z",
    "angle",
    "choice",
    "corners",
    "count",
    "crossing",
    "fitted",
    "flag",
    "flat",
    "half_height",
    "joint_type",
    "leg",
    "length",
    "number",
    "placed_bars",
    "rail_between",
    "tape_of",
]
