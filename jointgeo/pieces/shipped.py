"""The piece files that ship, by name and set.

Knows where they lie; reads none as a piece.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Any

from jointgeo.errors import Problem, UnknownNameError, shown

__all__ = ["demo_pieces", "shipped_piece"]


def _folder() -> Traversable:
    return files("jointgeo") / "data" / "pieces"


def demo_pieces() -> dict[str, tuple[str, ...]]:
    """Names of the piece files that ship, by the name of their set."""
    return {
        group.name: tuple(
            sorted(f.name.removesuffix(".toml") for f in group.iterdir() if ".toml" in f.name)
        )
        for group in _folder().iterdir()
        if group.is_dir() and not group.name.startswith("_")
    }


def shipped_piece(name: str) -> Mapping[str, Any]:
    """The tables of the file of that name; UnknownNameError where none ships."""
    for group, names in demo_pieces().items():
        if name in names:
            return tomllib.loads((_folder() / group / f"{name}.toml").read_text("utf-8"))
    known = ", ".join(n for names in demo_pieces().values() for n in names)
    allowed = f"one of {known}, or the path of a .toml file"
    says = "is not the name of a piece that ships"
    raise UnknownNameError(Problem("piece", says, shown(name), allowed))
