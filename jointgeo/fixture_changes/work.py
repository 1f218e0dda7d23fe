"""What a shop cuts, by the names a person gives: job and piece files, sets, joint types.

Knows files and the registry; solves each on any fixture.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterable
from functools import partial
from pathlib import Path
from typing import Any

import attrs

from jointgeo.errors import InputError, shown
from jointgeo.fixtures.model import Fixture
from jointgeo.jobs.file import Job
from jointgeo.jobs.named import load_named, tell_of_file_here
from jointgeo.jobs.solve import JobAnswer, solve_job
from jointgeo.joints.registry import joint_types
from jointgeo.pieces.answerfile import solve_piece_file
from jointgeo.pieces.file import PieceFile
from jointgeo.pieces.solve import PieceAnswer
from jointgeo.schema.filekinds import FileKind, kind_of
from jointgeo.solution.solution import solve

__all__ = ["Work", "folder_work", "work_named"]


@attrs.frozen(eq=False)
class Work:
    """One thing to cut. fixture: the one its file names. on: its answer on a fixture."""

    name: str
    fixture: Fixture | None
    on: Callable[[Fixture], Any]


def work_named(names: Iterable[str]) -> tuple[Work, ...]:
    """Everything of these names: a joint type's first example, a job or set that ships, or the path
    of a job or piece file. Raises InputError for a name of none of them. Where a file of a name
    that ships lies here, stderr is told which is meant."""
    out: list[Work] = []
    for name in names:
        types = joint_types()
        if name in types:
            tell_of_file_here(name, "joint type")
            out.append(Work(name, None, partial(solve, types[name].examples()[0])))
            continue
        for named in load_named(name):
            on = partial(_job, named) if isinstance(named, Job) else partial(_piece, named)
            out.append(Work(named.title, named.fixture, on))
    return tuple(out)


def _piece(piece: PieceFile, fixture: Fixture) -> PieceAnswer:
    return solve_piece_file(attrs.evolve(piece, fixture=fixture)).answer


def _job(job: Job, fixture: Fixture) -> JobAnswer:
    return solve_job(attrs.evolve(job, fixture=fixture))


def folder_work(folder: Path) -> tuple[Work, ...]:
    """Every job and piece file of a folder, by file name, those of its folders too; files of
    fixtures and readings are none. Raises InputError where there is no such folder, or nothing in
    it to cut."""
    if not folder.is_dir():
        raise InputError.of("folder", "is no folder", shown(str(folder)))
    found = []
    for path in sorted(folder.rglob("*.toml")):
        if _kind(path) in ("fixture", "readings"):
            continue
        (work,) = work_named([str(path)])
        found.append(attrs.evolve(work, name=str(path.relative_to(folder))))
    if not found:
        raise InputError.of("folder", "holds no job and no piece", shown(str(folder)))
    return tuple(found)


def _kind(path: Path) -> FileKind | None:
    try:
        return kind_of(tomllib.loads(path.read_text("utf-8-sig")))
    except (OSError, ValueError):
        return None  # whoever reads it as a job will say what is wrong with it
