"""Readings as TOML files, and those that ship by name.

Knows TOML reading and field declarations; knows no kind of reading.
"""

from __future__ import annotations

import tomllib
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import TypeVar

from jointgeo.errors import InputError, Problem, UnknownNameError, shown
from jointgeo.fixtures.file import read_toml
from jointgeo.schema.filekinds import refuse_others
from jointgeo.schema.tables import read

__all__ = ["load_readings", "reading_names"]

T = TypeVar("T")


def _shipped() -> Traversable:
    return files("jointgeo") / "data" / "readings"


def reading_names() -> tuple[str, ...]:
    """Names of the readings that ship, all of them invented."""
    names = (f.name for f in _shipped().iterdir() if f.name.endswith(".toml"))
    return tuple(sorted(n.removesuffix(".toml") for n in names))


def load_readings(cls: type[T], name_or_path: str | Path) -> T:
    """Readings of kind ``cls`` that ship, by name, or any others by the path of a TOML file.

    A plain word is a name; text with a path separator or ending in ``.toml``, and every
    Path, is a path. InputError names file, key, value and what is allowed.
    """
    path = Path(name_or_path)
    if isinstance(name_or_path, str) and path.name == name_or_path and path.suffix != ".toml":
        if name_or_path not in reading_names():
            allowed = f"one of {', '.join(reading_names())}, or the path of a .toml file"
            problem = Problem(
                "readings", "is not the name of readings that ship", shown(name_or_path), allowed
            )
            raise UnknownNameError(problem)
        text_ = (_shipped() / f"{name_or_path}.toml").read_text("utf-8")
        data: object = tomllib.loads(text_)
    else:
        data = read_toml(path, InputError)
        refuse_others(data, "readings", InputError, str(path))
    try:
        return read(cls, data, InputError)
    except InputError as error:
        raise InputError(*error.problems, source=str(name_or_path)) from None
