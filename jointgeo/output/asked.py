"""A file that a person named on the command line: whose name is taken is never lost unasked.

Knows ``errors`` and ``files``.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from jointgeo.errors import InputError, Problem, shown
from jointgeo.output.files import NO_ROOM, keep_under_a_number, one_at_a_time, write_whole

__all__ = ["alone_at", "already_there", "write_asked", "write_or_keep"]


def write_asked(path: Path, data: bytes, *, overwrite: bool = False) -> Path | None:
    """Write a file whole or not at all; returns where a replaced one was kept, else None.

    InputError where ``path`` exists and ``overwrite`` is not given, or it cannot be written;
    OSError where the disk has no room.
    """
    with alone_at(path):
        return write_or_keep(path, data, overwrite=overwrite)


@contextmanager
def alone_at(path: Path) -> Iterator[None]:
    """Of all programs that write files beside ``path`` this one alone; what goes wrong is the
    caller's fault, InputError, but for a disk that has no room."""
    try:
        with one_at_a_time(path):
            yield
    except OSError as error:
        if error.errno in NO_ROOM:
            raise
        reason = error.strerror or str(error)
        raise InputError(
            Problem("--output", f"cannot be written: {reason}", shown(str(path)))
        ) from None


def already_there(path: Path) -> Problem:
    """That ``path`` exists and is not written over unasked."""
    allowed = "a new name, or --overwrite (the old file is kept under a number)"
    return Problem("--output", "names a file that exists", shown(str(path)), allowed)


def write_or_keep(
    path: Path, data: bytes, *, overwrite: bool, error: type[InputError] = InputError
) -> Path | None:
    """As ``write_asked``, for whoever is alone there already. error: what is raised where the name
    is taken."""
    if not overwrite:
        try:
            write_whole(path, data, new=True)
        except FileExistsError:
            raise error(already_there(path)) from None
        return None
    kept = keep_under_a_number(path) if path.exists() else None
    try:
        write_whole(path, data)
    except BaseException:
        if kept is not None:
            kept.unlink(missing_ok=True)
        raise
    return kept
