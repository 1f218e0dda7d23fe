"""The porch fixture without an axis: as its file would be written, and read."""

from __future__ import annotations

import tomllib
from importlib.resources import files
from typing import Any

from jointgeo.fixtures.file import read_fixture
from jointgeo.fixtures.model import Fixture

__all__ = ["LACKS", "plain", "plain_data"]

LACKS = (("tilt",), ("swivel",), ("swivel", "tilt"))


def plain_data(*lacks: str) -> dict[str, Any]:
    """Its tables; what is uncertain of an axis that is not there is not stated."""
    text = (files("jointgeo") / "data" / "fixtures" / "porch.toml").read_text("utf-8")
    data = tomllib.loads(text)
    for axis in lacks:
        del data[axis]
        stems = (axis, "hinge_play") if axis == "tilt" else (axis,)
        for name in [n for n in data["uncertainty"] if n.startswith(stems)]:
            del data["uncertainty"][name]
    return data


def plain(*lacks: str) -> Fixture:
    return read_fixture(plain_data(*lacks))
