"""What was learnt, written into the fixture: new values in, old values kept.

Knows the fixture, its text and the file system; computes nothing.

Two ways of keeping old values, because two things can be lost. The *numbers* go into the
file's own ``[[history]]``, one record for each value replaced: so a chain of check-ups
travels with the file wherever it is written. The *file* that is replaced (its comments,
its layout) is kept beside the new one under the next free number, ``porch.toml.1`` and so
on. And no file is replaced unless that is asked for.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import attrs

from jointgeo.errors import FixtureError, InputError, Problem, shown
from jointgeo.fixtures.corrections import KerfCorrection, Past
from jointgeo.fixtures.model import Fixture
from jointgeo.fixtures.text import fixture_toml

__all__ = ["Changes", "apply_changes", "write_fixture"]


@attrs.frozen
class Changes:
    """values: {"correction.tilt_zero_deg": 0.12, …}, by table and key. A kerf is named
    ``correction.kerf.<cutter>.kerf_mm`` (and ``kerf_u_mm``). date, source: for the record."""

    values: Mapping[str, float]
    date: str
    source: str


def apply_changes(fixture: Fixture, changes: Changes) -> Fixture:
    """The fixture with the new values, the old ones in its history; same values leave no record."""
    records = []
    tables: dict[str, Any] = {}
    kerfs = {k.cutter: k for k in fixture.correction.kerf}
    for name, value in changes.values.items():
        parts = name.split(".")
        if parts[:2] == ["correction", "kerf"]:
            cutter, key = ".".join(parts[2:-1]), parts[-1]
            known = kerfs.get(cutter, KerfCorrection(cutter=cutter, kerf_mm=0.0, kerf_u_mm=0.0))
            was = getattr(known, key)
            kerfs[cutter] = attrs.evolve(known, **{key: value})  # type: ignore[arg-type]  # only numbers are named
        else:
            table, key = parts
            current = tables.get(table, getattr(fixture, table))
            was = getattr(current, key)
            tables[table] = attrs.evolve(current, **{key: value})
        if was != value:
            records.append(
                Past(date=changes.date, name=name, was=was, now=value, source=changes.source)
            )
    correction = tables.get("correction", fixture.correction)
    if records:
        correction = attrs.evolve(
            correction, kerf=tuple(kerfs.values()), date=changes.date, source=changes.source
        )
    tables["correction"] = correction
    return attrs.evolve(fixture, **tables, history=(*fixture.history, *records))


def write_fixture(fixture: Fixture, path: Path, *, replace: bool = False) -> Path | None:
    """Write the fixture's TOML file; returns where a replaced file was kept, else None.

    FixtureError where ``path`` exists and ``replace`` is not given, or cannot be written.
    The new text is complete on disk before it takes the name, so that a full disk or a
    broken run never leaves half a fixture.
    """
    if path.exists() and not replace:
        allowed = "a new name, or --replace (the old file is kept under a number)"
        problem = Problem("write", "names a file that exists", shown(str(path)), allowed)
        raise FixtureError(problem)
    kept: Path | None = None
    try:
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
            file.write(fixture_toml(fixture))
        Path(temporary).chmod(0o644)
        if path.exists():
            kept = _kept(path)
        Path(temporary).replace(path)
    except OSError as error:
        reason = error.strerror or str(error)
        raise InputError(
            Problem("write", f"cannot be written: {reason}", shown(str(path)))
        ) from None
    return kept


def _kept(path: Path) -> Path:
    """A copy of ``path`` under the next free number."""
    number = 1
    while (copy := path.with_name(f"{path.name}.{number}")).exists():
        number += 1
    copy.write_bytes(path.read_bytes())
    return copy
