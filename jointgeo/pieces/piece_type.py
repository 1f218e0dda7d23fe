"""What a piece type is: the class a plug-in writes.

Knows pieces and parameter fields; no piece type. A piece type takes what a person draws (heights, a
footprint, sections) and gives bars in the room and joints between them. It holds no angle of a
joint; everything else follows from the bars.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Mapping
from typing import Any, ClassVar, Self

from jointgeo.errors import InputError
from jointgeo.pieces.model import Piece
from jointgeo.schema.fields import plain
from jointgeo.schema.tables import read

__all__ = ["PieceType"]


class PieceType(ABC):
    """One piece of furniture with its parameters: a frozen attrs class of fields (``length``, …).

    name: lower snake case, the same as the entry point's name. summary: one sentence for lists.
    edition: of this contract, for which the class was written. symmetry: what every piece of this
    type is carried into itself by, in the words of a piece file ("left_right", "front_back",
    "turned N"); the conformance kit holds every bar against it.
    """

    name: ClassVar[str]
    summary: ClassVar[str]
    edition: ClassVar[int] = 1
    symmetry: ClassVar[tuple[str, ...]] = ()

    @abstractmethod
    def piece(self) -> Piece:
        """Bars in the room and joints between them; InputError where there is no such piece."""

    @abstractmethod
    def measured(self) -> Mapping[str, float]:
        """What a tape shows on the finished piece, mm, by what it is laid on; worked out from the
        bars and not from what was asked. Among them "height", "feet, left to right" and "feet,
        front to back"; ``tape_of`` of the standing bars gives these and every member."""

    @classmethod
    @abstractmethod
    def examples(cls) -> tuple[Self, ...]:
        """At least one worked example that solves."""

    @classmethod
    def from_dict(cls, data: object) -> Self:
        """A piece from plain data; InputError names each field."""
        return read(cls, data, InputError)

    def to_dict(self) -> dict[str, Any]:
        """The parameters as plain data that ``from_dict`` takes back unchanged."""
        return plain(self)
