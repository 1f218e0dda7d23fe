"""Which piece types there are: found through entry points, as joint types are.

Knows the class every piece type must be; knows no type by name. Group ``jointgeo.piece_types``.
"""

from __future__ import annotations

import importlib.metadata
from collections.abc import Iterable
from functools import lru_cache

from jointgeo.errors import PluginError, Problem, UnknownNameError, shown
from jointgeo.joints import trial
from jointgeo.joints.admission import admitted_as
from jointgeo.joints.registry import Failure, loaded, ships, third_party
from jointgeo.pieces.piece_type import PieceType

__all__ = ["EDITIONS", "GROUP", "admitted", "piece_failures", "piece_type", "piece_types"]

GROUP = "jointgeo.piece_types"
#: Editions of the piece types' contract that this library understands.
EDITIONS = (1,)
#: Of the methods that a type may write, those that the library calls.
METHODS = ("__attrs_post_init__", "examples", "from_dict", "measured", "piece", "to_dict")


def admitted(cls: object, name: str) -> type[PieceType]:
    """``cls`` if it may stand as the piece type ``name``; PluginError saying why not."""
    # mypy: an abstract class is as good as any to derive from.
    return admitted_as(cls, name, PieceType, EDITIONS)  # type: ignore[type-abstract]


def of(
    entries: Iterable[importlib.metadata.EntryPoint], *, tried: bool = False
) -> tuple[dict[str, type[PieceType]], tuple[Failure, ...]]:
    """The usable piece types of these entries, and those that are not."""
    return loaded(entries, admitted, "piece type", METHODS, tried=tried)


@lru_cache(maxsize=1)
def _installed() -> tuple[dict[str, type[PieceType]], tuple[Failure, ...]]:
    entries = _entries()
    trial.tried(third_party(entries))
    return of(entries, tried=True)


@lru_cache(maxsize=1)
def _entries() -> tuple[importlib.metadata.EntryPoint, ...]:
    return tuple(importlib.metadata.entry_points(group=GROUP))


@lru_cache(maxsize=1)
def _shipped() -> dict[str, type[PieceType]]:
    """Those that ship, which wait for nobody else's import."""
    return of(entry for entry in _entries() if ships(entry))[0]


def piece_types() -> dict[str, type[PieceType]]:
    """Every usable piece type by name, in alphabetical order."""
    return dict(_installed()[0])


def piece_failures() -> tuple[Failure, ...]:
    """The plug-ins that are installed and cannot be used."""
    return _installed()[1]


def piece_type(name: str) -> type[PieceType]:
    """The piece type of that name; UnknownNameError, or PluginError for one that cannot be used."""
    if name in _shipped():
        return _shipped()[name]
    types, failures = _installed()
    if name in types:
        return types[name]
    for failure in failures:
        if failure.name == name:
            raise PluginError(f"the piece type {failure}")
    known = f"one of {', '.join(types)}"
    raise UnknownNameError(Problem("piece_type", "is not a known piece type", shown(name), known))
