"""What a person names to be worked on: a file, a job or piece that ships, or a whole set.

Knows job and piece files; solves nothing.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TypeAlias

from jointgeo.errors import Problem, UnknownNameError, shown
from jointgeo.jobs.file import Job, demo_jobs, load_job
from jointgeo.pieces.file import PieceFile, is_piece, load_piece
from jointgeo.pieces.shipped import demo_pieces

__all__ = ["Named", "demo_sets", "load_named", "named_loaders", "tell_of_file_here"]

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
    For commands: where a file of a name that ships lies here, stderr is told which is meant.
    """
    what = _shipped(name)
    if what is not None:
        tell_of_file_here(name, what)
    return {one: partial(_load, one) for one in demo_sets().get(name, (name,))}


def tell_of_file_here(name: str, what: str) -> None:
    """Say on stderr that ``name`` is the ``what`` that ships, where a file of that name lies in the
    current folder and may have been meant."""
    file = f"{name}.toml"
    if Path(file).is_file():
        note = f"{name} is the {what} that ships; for the file here write ./{file}"
        print(f"jointgeo: {note}", file=sys.stderr)


def _shipped(name: str) -> str | None:
    """What of that name ships; None for a path and for an unknown name."""
    if name in demo_sets():
        return "set"
    kinds = (("piece", demo_pieces()), ("job", demo_jobs()))
    return next((kind for kind, sets in kinds if any(name in s for s in sets.values())), None)


def _load(name: str) -> Named:
    path = Path(name)
    if path.name == name and path.suffix != ".toml":
        shipped = _shipped(name)
        if shipped == "piece":
            return load_piece(name)
        if shipped == "job":
            return load_job(name)
        known = [n for group, names in demo_sets().items() for n in (group, *names)]
        says = "is not the name of a job or piece that ships"
        allowed = f"one of {', '.join(known)}, or the path of a .toml file"
        raise UnknownNameError(Problem("job", says, shown(name), allowed))
    return load_piece(name) if is_piece(name) else load_job(name)
