"""Which joint types there are: found through entry points, loaded when first asked for.

Knows the class every joint type must be; knows no type by name. The types that ship
enter by the same door as everybody else's (group ``jointgeo.joint_types``).

A plug-in that cannot be used stops nobody: it is kept as a ``Failure`` with its
distribution and the reason, and is listed as such. Two plug-ins with one name are
both refused, since picking either would depend on the order of a directory listing. One
that was written for another edition of the contract, or whose module gives another
version than its distribution, is refused too: nobody could say what computed a setting.
"""

from __future__ import annotations

import importlib.metadata
import re
import sys
from collections import defaultdict
from collections.abc import Callable, Iterable
from functools import lru_cache
from typing import TypeVar, cast

import attrs

from jointgeo.errors import PluginError, Problem, UnknownNameError, shown
from jointgeo.joints.joint_type import NAME_FORM, JointType
from jointgeo.schema.fields import describe

T = TypeVar("T")

__all__ = [
    "EDITIONS",
    "GROUP",
    "Failure",
    "Registry",
    "admitted",
    "failures",
    "joint_type",
    "joint_types",
    "loaded",
]

GROUP = "jointgeo.joint_types"
#: Editions of the joint types' contract that this library understands.
EDITIONS = (2,)


@attrs.frozen
class Failure:
    """A plug-in that cannot be used, with what its author needs to know."""

    name: str
    distribution: str
    version: str
    reason: str

    def __str__(self) -> str:
        return f"{self.name} (from {self.distribution} {self.version}): {self.reason}"


def _origin(entry: importlib.metadata.EntryPoint) -> tuple[str, str]:
    dist = entry.dist
    if dist is None:
        return "an unknown distribution", "?"
    try:
        name, version = dist.metadata["Name"], dist.version
    except (KeyError, TypeError):
        return "an unreadable distribution", "?"
    return str(name or "an unnamed distribution"), str(version or "?")


@attrs.define
class Registry:
    """The joint types of one set of entry points."""

    types: dict[str, type[JointType]]
    failures: tuple[Failure, ...]

    @classmethod
    def of(cls, entries: Iterable[importlib.metadata.EntryPoint]) -> Registry:
        """Load every entry; what fails is recorded and does not raise."""
        return cls(*loaded(entries, admitted))

    def get(self, name: str) -> type[JointType]:
        if name in self.types:
            return self.types[name]
        for failure in self.failures:
            if failure.name == name:
                raise PluginError(f"the joint type {failure}")
        known = ", ".join(self.types)
        raise UnknownNameError(
            Problem("joint_type", "is not a known joint type", shown(name), f"one of {known}")
        )


def loaded(
    entries: Iterable[importlib.metadata.EntryPoint], admit: Callable[[object, str], type[T]]
) -> tuple[dict[str, type[T]], tuple[Failure, ...]]:
    """Every usable plug-in by name, and those that are not, which raise nothing.

    admit: gives what was loaded as a class of its name, or raises PluginError saying why not.
    """
    by_name: dict[str, list[importlib.metadata.EntryPoint]] = defaultdict(list)
    for entry in entries:
        # One distribution found twice on the path is one claim; two are two, even where
        # they name the very same class.
        if not any(_same(entry, known) for known in by_name[entry.name]):
            by_name[entry.name].append(entry)
    types: dict[str, type[T]] = {}
    failed: list[Failure] = []
    for name in sorted(by_name):
        claims = by_name[name]
        if len(claims) > 1:
            who = " and ".join(sorted(" ".join(_origin(e)) for e in claims))
            reason = f"the name is claimed by {who}; all are refused"
            failed.extend(Failure(name, *_origin(e), reason) for e in claims)
            continue
        try:
            types[name] = _load(claims[0], admit)
        # A stranger's module may raise anything at all on import; that is the very
        # case this guards, and KeyboardInterrupt still passes.
        except (Exception, SystemExit) as error:
            reason = f"{type(error).__name__}: {_told(error)}"
            failed.append(Failure(name, *_origin(claims[0]), reason))
    return types, tuple(failed)


def _load(entry: importlib.metadata.EntryPoint, admit: Callable[[object, str], type[T]]) -> type[T]:
    cls = admit(entry.load(), entry.name)
    package = entry.module.partition(".")[0]
    claimed = getattr(sys.modules.get(package), "__version__", None)
    _, installed = _origin(entry)
    if _release(claimed) and _release(installed) and _release(claimed) != _release(installed):
        raise PluginError(
            f"its distribution says version {installed} and its module {package} says {claimed}; "
            "install it again, or mend the one that is wrong"
        )
    return cls


def _same(a: importlib.metadata.EntryPoint, b: importlib.metadata.EntryPoint) -> bool:
    return a.value == b.value and _origin(a) == _origin(b)


def _told(error: BaseException) -> str:
    """What an exception says; a stranger's may fail even at that."""
    try:
        return str(error)
    except Exception:
        return "(its message cannot be printed)"


def _release(version: object) -> tuple[int, ...]:
    """The numbers of a version, without what only spells it (2.0 is 2); () for no version."""
    found = re.match(r"v?(\d{1,9}(?:\.\d{1,9})*)", version) if isinstance(version, str) else None
    numbers = [int(n) for n in found[1].split(".")] if found else []
    while len(numbers) > 1 and numbers[-1] == 0:
        numbers.pop()
    return tuple(numbers)


def admitted(cls: object, name: str) -> type[JointType]:
    """``cls`` if it may stand as the joint type ``name``; PluginError saying why not."""
    if not (isinstance(cls, type) and issubclass(cls, JointType) and attrs.has(cls)):
        raise PluginError("the entry point must name an attrs class derived from JointType")
    edition: object = getattr(cls, "edition", None)
    if hasattr(cls, "parts") and "draw" in getattr(cls, "__abstractmethods__", ()):
        edition = 1  # which had no draw(), and did not ask a class to say
    if type(edition) is not int or edition not in EDITIONS:  # True == 1, and is no edition
        known = " and ".join(str(c) for c in EDITIONS)
        raise PluginError(
            f"the class was written for edition {shown(edition)} of the contract; this library "
            f"understands {known}"
        )
    left = sorted(getattr(cls, "__abstractmethods__", ()))
    if left:
        raise PluginError(f"methods are missing: {', '.join(left)}")
    if not NAME_FORM.fullmatch(name) or getattr(cls, "name", None) != name:
        raise PluginError(
            f"the class's name {getattr(cls, 'name', None)!r} and the entry point's "
            f"{name!r} must be the same and lower snake case"
        )
    if not getattr(cls, "summary", ""):
        raise PluginError("the class needs a one-sentence summary")
    if not describe(cls):
        raise PluginError("the class has no parameters made by jointgeo.schema.fields")
    return cast(type[JointType], cls)


@lru_cache(maxsize=1)
def _installed() -> Registry:
    return Registry.of(importlib.metadata.entry_points(group=GROUP))


def joint_types() -> dict[str, type[JointType]]:
    """Every usable joint type by name, in alphabetical order."""
    return dict(_installed().types)


def joint_type(name: str) -> type[JointType]:
    """The joint type of that name.

    Raises UnknownNameError where there is none, and PluginError, naming the
    distribution, where there is one that cannot be used.
    """
    return _installed().get(name)


def failures() -> tuple[Failure, ...]:
    """The plug-ins that are installed and cannot be used."""
    return _installed().failures
