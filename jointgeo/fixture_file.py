"""Fixtures as TOML files, and those that ship by name.

Knows the fixture's classes and the file system; no joint, no solver.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import lru_cache
from importlib.resources import files
from pathlib import Path

from jointgeo.errors import FixtureError, InputError, Problem, UnknownNameError, shown
from jointgeo.fixture import Fixture
from jointgeo.tables import read

__all__ = ["fixture_names", "load_fixture", "named_fixture", "read_fixture", "read_toml"]

#: A fixture or job file is a page of text; what is larger is something else.
MOST_BYTES = 1_000_000


@lru_cache(maxsize=1)
def _shipped() -> dict[str, Fixture]:
    found = {}
    for item in sorted((files("jointgeo") / "data" / "fixtures").iterdir(), key=str):
        if item.name.endswith(".toml"):
            fixture = read_fixture(tomllib.loads(item.read_text("utf-8")), item.name)
            found[fixture.name] = fixture
    return found


def fixture_names() -> tuple[str, ...]:
    """Names of the fixtures that ship in the package."""
    return tuple(_shipped())


def named_fixture(name: object) -> Fixture:
    """A fixture that ships, by its name and by nothing else: no path is ever opened.

    Raises UnknownNameError for every other text, path-like ones included.
    """
    found = _shipped().get(name) if isinstance(name, str) else None
    if found is None:
        allowed = "one of " + ", ".join(f'"{n}"' for n in _shipped())
        problem = Problem("fixture", "is not the name of a known fixture", shown(name), allowed)
        raise UnknownNameError(problem)
    return found


def load_fixture(name_or_path: str | Path) -> Fixture:
    """A fixture that ships, by name, or any other by the path of its TOML file.

    A plain word is a name; text with a path separator or ending in ``.toml``, and every
    Path, is a path. Raises UnknownNameError, or FixtureError naming file, key, value
    and what is allowed.
    """
    path = Path(name_or_path)
    if isinstance(name_or_path, str) and path.name == name_or_path and path.suffix != ".toml":
        return named_fixture(name_or_path)
    return read_fixture(read_toml(path, FixtureError), str(path))


def read_fixture(data: object, source: str = "") -> Fixture:
    """A fixture from plain data (parsed TOML or JSON); FixtureError names every key at fault."""
    try:
        return read(Fixture, data, FixtureError)
    except FixtureError as error:
        raise FixtureError(*error.problems, source=source) from None


def read_toml(path: Path, error: type[InputError]) -> Mapping[str, object]:
    """The tables of a TOML file; ``error`` says why it cannot be read."""
    try:
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
        if len(data) <= MOST_BYTES:
            return tomllib.loads(data.decode("utf-8"))
        reason = f"it is larger than {MOST_BYTES} bytes"
    except (OSError, ValueError, RecursionError) as why:
        # ValueError: no UTF-8, no TOML, or a NUL in the path; OSError: no such file and the like.
        reason = getattr(why, "strerror", None) or str(why)
    message = f"cannot be read as a TOML file: {reason}"
    raise error(Problem("file", message, None, "the path of a TOML file"), source=shown_path(path))


def shown_path(path: Path) -> str:
    """A path as it may stand in a message."""
    return str(path) if str(path).isprintable() else repr(str(path))
