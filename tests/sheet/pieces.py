"""Whole pieces that the tests of the sheet draw: the piece files of ``tests/pieces/data``."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from jointgeo.pieces.answerfile import solve_piece_file
from jointgeo.pieces.file import load_piece
from jointgeo.sheet import Book, PieceSheet, page, sheet_of_piece

__all__ = ["DATA", "NAMES", "piece_book", "piece_sheet"]

DATA = Path(__file__).parents[1] / "pieces" / "data"
NAMES = ("bench", "chair", "stand", "table", "plain_table", "trapezoid")


@cache
def piece_sheet(name: str) -> PieceSheet:
    return sheet_of_piece(solve_piece_file(load_piece(DATA / f"{name}.toml")))


@cache
def piece_book(name: str) -> tuple[str, Book]:
    """Page and drawings."""
    book = Book()
    return page(piece_sheet(name), book), book
