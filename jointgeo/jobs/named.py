"""What a person names to be worked on: a file, a job or piece that ships, or a whole set.

Knows job and piece files; solves nothing.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TypeAlias

from jointgeo.errors import Problem, UnknownNameError, shown
from jointgeo.jobs.file import Job, demo_jobs, load_job
from jointgeo.pieces.file import PieceFile, is_piece, load_piece
from jointgeo.pieces.shipped import demo_pieces

__all__ = ["Named", "demo_sets", "load_named", "named_loaders"]

Named: TypeAlias = Job | PieceFile


def demo_sets() -> dict[str, tuple[str, ...]]:
    """Names of the pieces and jobs that ship, by the name of their set; pieces first."""
    return demo_pieces() | demo_jobs()


def load_named(name: str) -> tuple[Named, ...]:
    """Every job and piece of that name; see ``named_loaders``."""
    return tuple(load() for load in named_loaders(name).values())


def named_loaders(name: str) -> dict[str, Callable[[], Named]]:
    """How to load what a name stands for, each by its own name: of a set everything in it, else the
    one of that name or at that path. One at fault then keeps nobody from the others.

    A plain word is a name; text with a path separator or ending in ``.toml`` is a path. Loading
    raises UnknownNameError for an unknown name, JobError, PieceError or FixtureError for a file.
    """
    return {one: partial(_load, one) for one in demo_sets().get(name, (name,))}


def _load(name: str) -> Named:
    path = Path(name)
    if path.name == name and path.suffix != ".toml":
        if any(name in names for names in demo_pieces().values()):
            return load_piece(name)
        if any(name in names for names in demo_jobs().values()):
            return load_job(name)
        known = [n for group, names in demo_sets().items() for n in (group, *names)]
        says = "is not the name of a job or piece that ships"
        allowed = f"one of {', '.join(known)}, or the path of a .toml file"
        raise UnknownNameError(Problem("job", says, shown(name), allowed))
    return load_piece(name) if is_piece(name) else load_job(name)
