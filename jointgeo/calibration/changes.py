"""What calibration found, written into the fixture: new values in, old values kept.

Knows the fixture, its text and the file system; computes nothing.

Two ways of keeping old values, because two things can be lost. The *numbers* go into the
file's own ``[[history]]``, one record for each value replaced: so a chain of check-ups
travels with the file wherever it is written. The *file* that is replaced (its comments,
its layout) is kept beside the new one under the next free number, ``porch.toml.1`` and so
on. And no file is replaced unless that is asked for.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import attrs

from jointgeo.calibration.rows import Rows
from jointgeo.calibration.taking import take
from jointgeo.errors import FixtureError, Problem, shown
from jointgeo.fixtures.calibrated import refreshed
from jointgeo.fixtures.corrections import Past
from jointgeo.fixtures.file import load_fixture
from jointgeo.fixtures.model import Fixture
from jointgeo.fixtures.text import fixture_toml
from jointgeo.output.asked import alone_at, write_or_keep
from jointgeo.schema.fields import plain

__all__ = [
    "Changes",
    "apply_changes",
    "changed_numbers",
    "holds",
    "write_fixture",
]


@attrs.frozen
class Changes:
    """values: {"uncertainty.hinge_play_mm": 0.12, …}, by table and key. rows: settings that were
    measured; corrections are worked out from them. again: they were, though they equal earlier
    ones. moved: axes whose zero is moved after these readings. date, source: for the record."""

    values: Mapping[str, float]
    date: str
    source: str
    rows: Rows = attrs.field(factory=Rows)
    again: bool = False
    moved: tuple[str, ...] = ()

    @property
    def calibrates(self) -> bool:
        """Whether anything was measured for good, beyond an uncertainty."""
        return bool(self.rows.all)


def apply_changes(fixture: Fixture, changes: Changes) -> Fixture:
    """The fixture with the new values and rows, old numbers in its history; what is known already
    leaves no record. InputError as ``taking.take``."""
    tables: dict[str, Any] = {}
    for name, value in changes.values.items():
        table, key = name.split(".")
        current = tables.get(table, getattr(fixture, table))
        tables[table] = attrs.evolve(current, **{key: value})
    taken = take(attrs.evolve(fixture, **tables), changes.rows, again=changes.again)
    after = taken.fixture
    if taken.changed:
        zeros = {f"{a}_zero": getattr(after.correction, f"{a}_zero") + 1 for a in changes.moved}
        after = attrs.evolve(after, correction=attrs.evolve(after.correction, **zeros))
    after = refreshed(after)
    old = _numbers(fixture)
    records = tuple(
        Past(date=changes.date, name=name, was=old.get(name, 0.0), now=now, source=changes.source)
        for name, now in changed_numbers(fixture, after).items()
    )
    if any(r.name.startswith("correction") for r in records):
        told = attrs.evolve(after.correction, date=changes.date, source=changes.source)
        after = attrs.evolve(after, correction=told)
    return attrs.evolve(after, history=(*fixture.history, *records))


def changed_numbers(before: Fixture, after: Fixture) -> dict[str, float]:
    """{"correction.tilt_zero_deg": its new value, …} of all that differs, by table and key."""
    old = _numbers(before)
    return {name: now for name, now in _numbers(after).items() if old.get(name, 0.0) != now}


def _numbers(fixture: Fixture) -> dict[str, float]:
    """What is kept in the history, by table and key."""
    out: dict[str, float] = {}
    for table in ("uncertainty", "correction"):
        for key, value in plain(getattr(fixture, table)).items():
            if isinstance(value, int | float):
                out[f"{table}.{key}"] = value
    for kerf in fixture.correction.kerf:
        out[f"correction.kerf.{kerf.cutter}.kerf_mm"] = kerf.kerf_mm
        out[f"correction.kerf.{kerf.cutter}.kerf_u_mm"] = kerf.kerf_u_mm
    return out


def write_fixture(
    fixture: Fixture, path: Path, *, overwrite: bool = False, was: Fixture | None = None
) -> Path | None:
    """Write the fixture's TOML file; returns where a replaced file was kept, else None.

    A file that holds this very text already is left as it is. FixtureError where ``path`` exists
    and ``overwrite`` is not given, or no longer holds the fixture ``was`` that this one was made
    from; InputError where it cannot be written, and OSError where the disk has no room. The file is
    whole or what it was (``jointgeo.output``).
    """
    with alone_at(path):
        return _replaced(fixture, path, overwrite=overwrite, was=was)


def _replaced(fixture: Fixture, path: Path, *, overwrite: bool, was: Fixture | None) -> Path | None:
    if holds(path, fixture):
        return None
    if was is not None and path.exists() and load_fixture(path) != was:
        message = "was changed by another program meanwhile"
        raise FixtureError(Problem("--output", message, shown(str(path)), "run the command again"))
    text = fixture_toml(fixture).encode()
    return write_or_keep(path, text, overwrite=overwrite, error=FixtureError)


def holds(path: Path, fixture: Fixture) -> bool:
    """Whether the file is there and is this fixture's text."""
    try:
        return path.read_text("utf-8") == fixture_toml(fixture)
    except (OSError, ValueError):  # no such file, or none of text
        return False
