"""What the pages of pieces ask of a piece type, in whatever process this runs.

Knows jointgeo's pieces and the budgets; knows no piece type by name, no HTTP. As in ``piece_work``,
what is given and what is answered is plain but for the fixture.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from jointgeo.fixtures.model import Fixture
from jointgeo.pieces.registry import piece_type
from jointgeo.sheet.piece_screen import piece_printed, piece_screen, piece_views
from jointgeo_service.piece_budgets import of_piece

__all__ = ["checked", "printed", "screen", "views"]


def checked(name: str, table: Mapping[str, Any]) -> None:
    """InputError where a field is at fault, alone or with others, and where the piece is larger
    than may be asked for."""
    of_piece(piece_type(name).from_dict(table).piece())


def screen(
    name: str, table: Mapping[str, Any], fixture: Fixture, asked: Mapping[str, str], inches: bool
) -> str:
    """The answer as of ``piece_screen``."""
    return str(piece_screen(piece_type(name).from_dict(table), fixture, asked, inches))


def printed(name: str, table: Mapping[str, Any], fixture: Fixture, names: tuple[str, str]) -> str:
    """The pages to print; names: as of ``piece_printed``."""
    return str(piece_printed(piece_type(name).from_dict(table), fixture, names))


def views(name: str, fixture: Fixture) -> str:
    """Pictures of the first example."""
    return str(piece_views(piece_type(name).examples()[0], fixture))
