"""Which joint types there are: found through entry points, loaded when first asked for.

Knows the class every joint type must be; knows no type by name. The types that ship
enter by the same door as everybody else's (group ``jointgeo.joint_types``).

A plug-in that cannot be used stops nobody: it is kept as a ``Failure`` with its
distribution and the reason, and is listed as such. A name that ships is reserved: whoever else
claims it is refused and told to rename. Two plug-ins with one name are both refused, since
picking either would depend on the order of a directory listing. One that was written for another
edition of the contract, or whose module gives another version than its distribution, is refused
too: nobody could say what computed a setting. What is taken in answers for itself (``faults``).
"""

from __future__ import annotations

import importlib.metadata
import re
import sys
from collections import defaultdict
from collections.abc import Callable, Iterable
from functools import cache, lru_cache
from typing import TypeVar

import attrs

from jointgeo.errors import PluginError, Problem, UnknownNameError, shown
from jointgeo.joints import trial
from jointgeo.joints.admission import EDITIONS, admitted, sound_fields
from jointgeo.joints.faults import JOINT_METHODS, answers, came_from, guard
from jointgeo.joints.joint_type import JointType

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
    "ships",
    "third_party",
]

GROUP = "jointgeo.joint_types"
#: Whose names are reserved, and whose types are not guarded.
SHIPPED = "jointgeo"


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
    def of(
        cls, entries: Iterable[importlib.metadata.EntryPoint], *, tried: bool = False
    ) -> Registry:
        """Load every entry; what fails is recorded and does not raise. tried: as ``loaded``."""
        types, failed = loaded(entries, admitted, "joint type", JOINT_METHODS, tried=tried)
        return cls(types, failed)

    def get(self, name: str) -> type[JointType]:
        if name in self.types:
            return self.types[name]
        for failure in self.failures:
            if failure.name == name:
                who = f"{failure.distribution} {failure.version}"
                raise PluginError(failure.reason, name, who)
        known = ", ".join(self.types)
        raise UnknownNameError(
            Problem("joint_type", "is not a known joint type", shown(name), f"one of {known}")
        )


def loaded(
    entries: Iterable[importlib.metadata.EntryPoint],
    admit: Callable[[object, str], type[T]],
    kind: str,
    methods: Iterable[str],
    *,
    tried: bool = False,
) -> tuple[dict[str, type[T]], tuple[Failure, ...]]:
    """Every usable plug-in by name, and those that are not, which raise nothing.

    admit: gives what was loaded as a class of its name, or raises PluginError saying why not.
    kind: what such a class is called. methods: those that answer for themselves where the class
    does not ship. tried: whether a third-party module is first imported in a process of its own.
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
        own = [e for e in claims if ships(e)]
        if len(own) == 1:
            failed.extend(_refused(e, _reserved(e, kind)) for e in claims if e is not own[0])
            claims = own
        if len(claims) > 1:
            who = " and ".join(sorted(" ".join(_origin(e)) for e in claims))
            reason = f"the name is claimed by {who}; all are refused"
            failed.extend(_refused(e, reason) for e in claims)
            continue
        who = " ".join(_origin(claims[0]))
        if tried and not ships(claims[0]) and (reason := trial.refusal(claims[0].module)):
            failed.append(_refused(claims[0], reason))
            continue
        try:
            with answers(name, who, claims[0].module):
                types[name] = _load(claims[0], admit)
        except PluginError as error:
            where = f" ({error.where})" if error.where else ""
            failed.append(_refused(claims[0], error.reason + where))
            continue
        came_from(types[name], who)
        if not ships(claims[0]):
            guard(types[name], who, methods, kind)
    return types, tuple(failed)


def ships(entry: importlib.metadata.EntryPoint) -> bool:
    """Whether an entry point is one of this library's own."""
    return _origin(entry)[0].lower() == SHIPPED and entry.module.startswith("jointgeo.")


def _refused(entry: importlib.metadata.EntryPoint, reason: str) -> Failure:
    return Failure(entry.name, *_origin(entry), reason)


def _reserved(entry: importlib.metadata.EntryPoint, kind: str) -> str:
    return (
        f"the name {entry.name} is that of a {kind} that ships with jointgeo; "
        f"{_origin(entry)[0]} must give its own another name, in the class and in the entry point"
    )


def _load(entry: importlib.metadata.EntryPoint, admit: Callable[[object, str], type[T]]) -> type[T]:
    cls = admit(entry.load(), entry.name)
    sound_fields(cls)
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


def _release(version: object) -> tuple[int, ...]:
    """The numbers of a version, without what only spells it (2.0 is 2); () for no version."""
    found = re.match(r"v?(\d{1,9}(?:\.\d{1,9})*)", version) if isinstance(version, str) else None
    numbers = [int(n) for n in found[1].split(".")] if found else []
    while len(numbers) > 1 and numbers[-1] == 0:
        numbers.pop()
    return tuple(numbers)


@lru_cache(maxsize=1)
def _entries() -> dict[str, list[importlib.metadata.EntryPoint]]:
    """Every claim of every name, in alphabetical order."""
    out: dict[str, list[importlib.metadata.EntryPoint]] = defaultdict(list)
    for entry in sorted(importlib.metadata.entry_points(group=GROUP), key=lambda e: e.name):
        out[entry.name].append(entry)
    return dict(out)


@cache
def _of(name: str) -> Registry:
    """What comes of one name: a type that is asked for waits for nobody else's import."""
    return Registry.of(_entries()[name], tried=True)


@lru_cache(maxsize=1)
def _installed() -> Registry:
    trial.tried(third_party(e for claims in _entries().values() for e in claims))
    each = [_of(name) for name in _entries()]
    types = {name: cls for found in each for name, cls in found.types.items()}
    return Registry(types, tuple(f for found in each for f in found.failures))


def third_party(entries: Iterable[importlib.metadata.EntryPoint]) -> list[str]:
    """The modules of those that do not ship."""
    return [e.module for e in entries if not ships(e)]


def joint_types() -> dict[str, type[JointType]]:
    """Every usable joint type by name, in alphabetical order."""
    return dict(_installed().types)


def joint_type(name: str) -> type[JointType]:
    """The joint type of that name.

    Raises UnknownNameError where there is none, and PluginError, naming the
    distribution, where there is one that cannot be used.
    """
    return (_of(name) if name in _entries() else _installed()).get(name)


def failures() -> tuple[Failure, ...]:
    """The plug-ins that are installed and cannot be used."""
    return _installed().failures
