"""Files written whole or not at all: a full disk or a broken run leaves what was there before.

Knows the file system; knows nothing of the rest of the library.

Theory of operation. The data goes to a new file in the same folder, is forced to the disk, and only
then takes the name, in one step of the system's own; the folder is forced to the disk too. A file
that takes another's place keeps its permissions, and one that is reached through a symbolic link is
replaced where it lies. Whatever fails, the new file is taken away again.

Two programs that write one file at once take turns, by a lock on its folder that goes with the
program that holds it and leaves nothing behind. Windows has no such lock: there the names alone
hold, so that two still never mix, overwrite a kept file, or leave half of one.
"""

from __future__ import annotations

import contextlib
import errno
import os
import shutil
import stat
import tempfile
from collections.abc import Iterator
from pathlib import Path

__all__ = ["NO_ROOM", "keep_under_a_number", "one_at_a_time", "write_whole"]

#: Errors of a disk that is full, over its quota or failing: nobody's input is at fault.
NO_ROOM = frozenset({errno.ENOSPC, errno.EFBIG, errno.EIO, getattr(errno, "EDQUOT", errno.ENOSPC)})


def write_whole(path: Path, data: bytes, *, new: bool = False) -> None:
    """Let ``path`` hold ``data``, whole and on the disk, or leave it as it was.

    new: FileExistsError where the name is taken, and nobody else's file is replaced. OSError, with
    the path as its file name, where it cannot be written.
    """
    target = Path(os.path.realpath(path))
    try:
        temporary = _temporary(target, data)
        try:
            _take(temporary, target, new=new)
        finally:
            temporary.unlink(missing_ok=True)
        _sync_folder(target.parent)
    except OSError as error:
        raise type(error)(error.errno, error.strerror or str(error), str(path)) from None


def keep_under_a_number(path: Path) -> Path:
    """The file at ``path`` under a second name as well, the next free of ``path.1``, ``path.2``…"""
    target = Path(os.path.realpath(path))
    number = 1
    while True:
        copy = target.with_name(f"{target.name}.{number}")
        try:
            try:
                os.link(target, copy)
            except FileExistsError:
                raise
            except (OSError, NotImplementedError):  # a file system without second names
                write_whole(copy, target.read_bytes(), new=True)
                shutil.copymode(target, copy)
        except FileExistsError:
            number += 1
        else:
            return copy


@contextlib.contextmanager
def one_at_a_time(path: Path) -> Iterator[None]:
    """Of all programs that write files beside ``path``, one runs this at a time."""
    folder = Path(os.path.realpath(path)).parent
    try:
        import fcntl
    except ImportError:  # Windows
        yield
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        with contextlib.suppress(OSError):  # a file system that knows no locks
            fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


def _temporary(target: Path, data: bytes) -> Path:
    """A new file beside ``target`` that holds the data, on the disk, with its permissions."""
    handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name[:80]}.")
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        temporary.chmod(_permissions(target))
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise
    return temporary


def _permissions(target: Path) -> int:
    """Those of the file that is replaced, else what this program gives to a new file."""
    try:
        return stat.S_IMODE(target.stat().st_mode)
    except FileNotFoundError:
        mask = os.umask(0)
        os.umask(mask)
        return 0o666 & ~mask


def _take(temporary: Path, target: Path, *, new: bool) -> None:
    if not new:
        temporary.replace(target)
        return
    try:
        os.link(temporary, target)  # refused where the name is taken, unlike a renaming
    except FileExistsError:
        raise
    except (OSError, NotImplementedError):
        if target.exists():
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST)) from None
        temporary.rename(target)


def _sync_folder(folder: Path) -> None:
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        with contextlib.suppress(OSError):  # a file system that does not force folders
            os.fsync(handle)
    finally:
        os.close(handle)
