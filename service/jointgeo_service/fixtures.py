"""The fixtures this service answers for: those that ship, single files, and a folder of files.

Knows jointgeo's fixtures and the file system; knows no HTTP and no joint. Files are read, never
written and never run. A name in a question is looked up here and never made part of a path.

Names. A fixture that ships is asked by its name. A file in the folder is asked by its file name,
``bench-corrected.toml``, since a corrected copy keeps the name of what it corrects. A single file
is asked by the ``name`` in it and takes the place of a shipped fixture of that name. Jobs, pieces
and readings that lie in the folder are not listed; who asks for one is told what it is.

Theory of operation. A file half written may read as a whole one: cut off before its practice
it says that the shop works as most do. So a file is looked at each time it is asked for, and read
again where it is another than before; it is taken only when it has been as it is for
``QUIET_SECONDS`` and stands the same before and after it was read. Until then its name answers
that it is being changed, and one that cannot be read answers why: never its last good numbers. A
``Chosen`` is a value, so no answer mixes two editions.
"""

from __future__ import annotations

import os
import stat
import threading
import time
from collections.abc import Iterable, Iterator
from http import HTTPStatus
from pathlib import Path

import attrs

from jointgeo.errors import FixtureError, InputError, Problem, UnknownNameError, shown
from jointgeo.fixtures.file import (
    digest_of,
    fixture_names,
    named_digest,
    named_fixture,
    parse_toml,
    read_fixture,
)
from jointgeo.fixtures.model import Fixture
from jointgeo.schema.filekinds import kind_of, refuse_others
from jointgeo_service.budgets import of_fixture
from jointgeo_service.limits import (
    EDITION_SIGNS,
    FIXTURE_BYTES,
    FIXTURE_FILES,
    QUIET_SECONDS,
    SCAN_SECONDS,
)
from jointgeo_service.problems import RefusedError

__all__ = ["Chosen", "Entry", "Fixtures", "Once"]

#: Elsewhere than on POSIX there are none; the look before and after reading holds there too.
_FLAGS = os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)


CANNOT = "cannot be used: "


@attrs.frozen
class Chosen:
    """A fixture as one question asked for it; two are equal that have one name and one digest.

    name: what it is asked by. digest: of its file; "" where it came with the question. file:
    whether it is no shipped one, but a file of the person's own.
    """

    name: str
    fixture: Fixture = attrs.field(eq=False)
    digest: str
    file: bool = False

    @property
    def edition(self) -> str | None:
        """First signs of the digest; None where there is no file."""
        return self.digest[:EDITION_SIGNS] or None

    @property
    def names(self) -> dict[str, str | None]:
        """What every answer says of it."""
        return {"fixture": self.name, "edition": self.edition}


@attrs.frozen
class Entry:
    """A line of the list of fixtures: what it is asked by, and itself or why it cannot be asked."""

    name: str
    chosen: Chosen | None
    reason: str = ""


@attrs.frozen
class _Sight:
    """What tells one state of a file from another."""

    file: tuple[int, int]
    size: int
    changed_ns: int
    regular: bool

    @classmethod
    def of(cls, found: os.stat_result) -> _Sight:
        changed = max(found.st_mtime_ns, found.st_ctime_ns)
        same = (found.st_dev, found.st_ino)
        return cls(same, found.st_size, changed, stat.S_ISREG(found.st_mode))

    def dated_after(self, last: _Sight | None) -> bool:
        """Whether its time can be that of its last change.

        A system may show that a file was emptied for saving before it shows when: such a file
        looks as if it had been empty for years.
        """
        return self.size > 0 and (last is None or self.changed_ns != last.changed_ns)

    def quiet(self) -> bool:
        """Whether its own clock says that it has been left alone for long enough."""
        return time.time() - self.changed_ns / 1e9 >= QUIET_SECONDS


class _File:
    """One file, its last state, and what was read of it."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._lock = threading.Lock()
        self._seen: _Sight | None = None
        self._since = 0.0
        self._dated = False
        self._read: tuple[Fixture, str] | InputError | None = None
        self._other = False

    def is_other(self) -> bool:
        """Whether it is plainly a job, a piece or readings, as it is now."""
        with self._lock:
            return isinstance(self._found(), FixtureError) and self._other

    def get(self) -> tuple[Fixture, str]:
        """Fixture and digest. FixtureError says why there is none, RefusedError, a 503, that the
        file is being changed."""
        with self._lock:
            found = self._found()
        if isinstance(found, InputError):
            raise found
        return found

    def _found(self) -> tuple[Fixture, str] | InputError:
        try:
            sight = _Sight.of(os.lstat(self.path))
        except OSError as error:
            self._seen = None
            return _cannot(f"it cannot be found: {error.strerror}")
        if sight != self._seen:
            self._dated = sight.dated_after(self._seen)
            self._seen, self._since, self._read = sight, time.monotonic(), None
            self._other = False
        if self._read is None:
            if not sight.regular:
                self._read = _cannot("it is no regular file; links and folders are not followed")
            elif sight.size > FIXTURE_BYTES:
                self._read = _cannot(f"it is larger than {FIXTURE_BYTES:,} bytes")
            elif not self._quiet(sight):
                return _changing()
            else:
                self._read = self._taken(sight)
        return self._read if self._read is not None else _changing()

    def _quiet(self, sight: _Sight) -> bool:
        return (self._dated and sight.quiet()) or time.monotonic() - self._since >= QUIET_SECONDS

    def _taken(self, sight: _Sight) -> tuple[Fixture, str] | InputError | None:
        """What stands in the file; None where it is no longer what it was."""
        try:
            number = os.open(self.path, _FLAGS)
            with os.fdopen(number, "rb") as file:
                before = _Sight.of(os.fstat(number))
                data = file.read(FIXTURE_BYTES + 1) if before == sight else b""
                after = _Sight.of(os.fstat(number))
            last = _Sight.of(os.lstat(self.path))
        except OSError as error:
            return _cannot(f"it cannot be read: {error.strerror}")
        if not before == after == last == sight:
            return None
        try:
            told = parse_toml(data, FixtureError, Path(self.path.name))
            self._other = kind_of(told) not in (None, "fixture")
            refuse_others(told, "fixture", FixtureError, "")
            of_fixture(told)  # too much of it is not even read
            return read_fixture(told), digest_of(data)
        except InputError as error:
            return error


def _cannot(reason: str) -> FixtureError:
    return FixtureError(Problem("", reason))


def _changing() -> RefusedError:
    problem = Problem("fixture", "is being changed", None, "ask again in a moment")
    headers = {"Retry-After": "1"}
    return RefusedError(HTTPStatus.SERVICE_UNAVAILABLE, problem, headers=headers)


class Fixtures:
    """Every fixture by the name that it is asked by.

    files: single ones; FixtureError where one cannot be used or two have one name. folder: its
    ``*.toml`` files, as they come and go.
    """

    def __init__(self, folder: Path | None = None, files: Iterable[Path] = ()) -> None:
        self._folder = folder
        self._single: dict[str, _File] = {}
        for path in files:
            file = _File(path)
            name = _first_read(file).name
            if name in self._single:
                problem = Problem("name", "is that of two files", shown(name))
                raise FixtureError(problem, source=str(path))
            self._single[name] = file
        self._lock = threading.Lock()
        self._in_folder: dict[str, _File] = {}
        self._scanned = -1.0

    def get(self, name: object) -> Chosen:
        """The fixture of that name as it is now.

        UnknownNameError where there is none; InputError of ``fixture`` where its file cannot be
        used, with the reason; RefusedError, a 503, while its file is being changed.
        """
        file = self._file(name) if isinstance(name, str) else None
        if file is not None and isinstance(name, str):
            return self._of(name, file)
        if isinstance(name, str) and name in fixture_names():
            return Chosen(name, named_fixture(name), named_digest(name))
        allowed = "one of " + ", ".join(f'"{n}"' for n in self.names())
        problem = Problem("fixture", "is not the name of a known fixture", shown(name), allowed)
        raise UnknownNameError(problem)

    def names(self) -> tuple[str, ...]:
        """What can be asked: shipped ones, single files, and those of the folder but for files that
        are plainly none; a broken one is there."""
        self._scan()
        own = (name for name, file in list(self._in_folder.items()) if not file.is_other())
        return tuple(dict.fromkeys((*fixture_names(), *self._single, *own)))

    def listed(self) -> Iterator[Entry]:
        """Every one as it is now, those that cannot be used with the reason."""
        for name in self.names():
            try:
                yield Entry(name, self.get(name))
            except InputError as error:
                yield Entry(name, None, error.problems[0].message.removeprefix(CANNOT))

    def _file(self, name: str) -> _File | None:
        file = self._single.get(name) or self._in_folder.get(name)
        if file is None and self._folder is not None and name not in fixture_names():
            self._scan()
            file = self._in_folder.get(name)
        return file

    def _of(self, name: str, file: _File) -> Chosen:
        try:
            fixture, digest = file.get()
        except RefusedError:
            raise
        except InputError as error:
            allowed = "a fixture file without faults"
            message = CANNOT + _in_words(error)
            raise InputError(Problem("fixture", message, shown(name), allowed)) from None
        called = f"it is called {fixture.name} now; start the service again"
        if name in self._single and fixture.name != name:
            raise InputError(Problem("fixture", CANNOT + called, shown(name)))
        return Chosen(name, fixture, digest, file=True)

    def _scan(self) -> None:
        """Look what files there are, unless that was done a moment ago."""
        if self._folder is None or time.monotonic() - self._scanned < SCAN_SECONDS:
            return
        with self._lock:
            try:
                with os.scandir(self._folder) as found:
                    there = sorted(e.name for e in found if _is_name(e.name))[:FIXTURE_FILES]
            except OSError:  # a folder that is gone for now; its files say so themselves
                there = list(self._in_folder)
            known = self._in_folder
            self._in_folder = {n: known.get(n) or _File(self._folder / n) for n in there}
            self._scanned = time.monotonic()


class Once:
    """Each fixture as it was when it was first asked for, for questions that belong together."""

    def __init__(self, fixtures: Fixtures) -> None:
        self._fixtures = fixtures
        self._known: dict[object, Chosen] = {}

    def get(self, name: object) -> Chosen:
        """As of ``Fixtures``."""
        if isinstance(name, str) and name in self._known:
            return self._known[name]
        chosen = self._fixtures.get(name)
        self._known[chosen.name] = chosen
        return chosen


def _is_name(name: str) -> bool:
    return name.endswith(".toml") and name.isprintable() and not name.startswith(".")


def _first_read(file: _File) -> Fixture:
    """A single file when the service starts, which waits a moment for one that was just saved."""
    until = time.monotonic() + 3 * QUIET_SECONDS
    while True:
        try:
            return file.get()[0]
        except RefusedError as error:
            if time.monotonic() > until:
                raise FixtureError(*error.problems, source=str(file.path)) from None
            time.sleep(QUIET_SECONDS / 10)
        except InputError as error:
            raise FixtureError(*error.problems, source=str(file.path)) from None


def _in_words(error: InputError) -> str:
    first, more = error.problems[0], len(error.problems) - 1
    says = f"{first.field} {first.message}".strip()
    says += f"; given {first.given}" if first.given is not None else ""
    says += f"; allowed: {first.allowed}" if first.allowed else ""
    return says + (f"; and {more} more" if more else "")
