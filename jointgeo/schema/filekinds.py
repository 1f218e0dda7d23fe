"""Which kind of file some tables are: a fixture, a job, a piece or readings.

Knows the names of tables that stand in one kind of file only; reads nothing else of them.

A file that is plainly of another kind than was asked for is told so in one line, in place of a line
for each of its names. Where nothing tells, or names of two kinds stand together, it is taken for
what was asked for, and whoever reads it says what is wrong.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from jointgeo.errors import InputError, Problem

__all__ = ["OWN", "FileKind", "kind_of", "refuse_others"]

FileKind = Literal["fixture", "job", "piece", "readings"]

#: Names that only one kind of file has.
OWN: dict[FileKind, frozenset[str]] = {
    "fixture": frozenset(
        {"swivel", "tilt", "traverse", "cutter", "cutter_height", "feed", "plate", "fence"}
        | {"backing", "clamp", "front_beam", "body", "uncertainty", "practice", "correction"}
    ),
    "job": frozenset({"member"}),
    "piece": frozenset({"piece", "bar", "board", "symmetry", "height_mm", "measured_mm"}),
    "readings": frozenset(
        {"fixed_plate", "tilt_at_stop", "play", "rails", "spacers", "turned_over"}
        | {"angle", "groove", "spacing", "coupon", "limit"}
    ),
}
#: A job need have nothing of its own beside its joints, which a piece has too.
JOINTS = "joint"

_GIVE: dict[FileKind, str] = {
    "fixture": "give it with --fixture",
    "job": "give it to solve, sheet or draw",
    "piece": "give it to solve, sheet or draw",
    "readings": "give it to check-up, calibrate or estimate-fixture",
}
_CALLED: dict[FileKind, str] = {
    "fixture": "a fixture file",
    "job": "a job file",
    "piece": "a piece file",
    "readings": "a file of readings",
}


def kind_of(data: object) -> FileKind | None:
    """The one kind of file that these tables can be; None where they can be none or several."""
    if not isinstance(data, Mapping):
        return None
    found = [kind for kind, names in OWN.items() if not names.isdisjoint(data)]
    if not found and JOINTS in data:
        return "job"
    return found[0] if len(found) == 1 else None


def refuse_others(data: object, wanted: FileKind, error: type[InputError], source: str) -> None:
    """Raises ``error``, of one problem, where the tables are plainly of another kind of file."""
    kind = kind_of(data)
    if kind is not None and kind != wanted:
        raise error(Problem("", f"this is {_CALLED[kind]}; {_GIVE[kind]}"), source=source)
