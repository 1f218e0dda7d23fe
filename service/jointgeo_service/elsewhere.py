"""Which process answers: this one for the types that ship, one of its own for each that does not.

Knows the registries, processes and what can be asked; knows no type by name, no HTTP. As of joint
types (``apart``): a process that does not answer in time is ended, and it is told whose fault it
is. Questions that name several such types are asked of the process of the first one.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping
from typing import Any

import attrs

from jointgeo.errors import PluginError, Problem, UnknownNameError, shown
from jointgeo.joints.faults import is_shipped, origin
from jointgeo.joints.registry import Failure, joint_types
from jointgeo.pieces.piece_type import PieceType
from jointgeo.pieces.registry import piece_failures, piece_types
from jointgeo.schema.fields import describe
from jointgeo_service import change_work, piece_pages, piece_work
from jointgeo_service.apart import Apart
from jointgeo_service.plugins import parameter

__all__ = ["WORK", "Elsewhere", "PieceTypes", "types_in"]

#: What can be asked, by name.
WORK: dict[str, Callable[..., Any]] = {
    "examples": piece_work.examples,
    "parameters": piece_work.typed_parameters,
    "piece": piece_work.piece_forms,
    "page checked": piece_pages.checked,
    "page screen": piece_pages.screen,
    "page printed": piece_pages.printed,
    "page views": piece_pages.views,
    "changes": change_work.changes,
    "comparison": change_work.comparison,
    "gained": change_work.gained,
}


@attrs.frozen
class PieceTypes:
    """Every piece type by name, and the plug-ins that cannot be used."""

    known: Mapping[str, type[PieceType]]
    refused: tuple[Failure, ...] = ()

    @classmethod
    def installed(cls) -> PieceTypes:
        return cls(piece_types(), piece_failures())

    def get(self, name: str) -> type[PieceType]:
        """UnknownNameError, or PluginError for one that is installed and cannot be used."""
        if name in self.known:
            return self.known[name]
        for failure in self.refused:
            if failure.name == name:
                who = f"{failure.distribution} {failure.version}"
                raise PluginError(failure.reason, name, who, kind="piece type")
        allowed = "one of " + ", ".join(self.known)
        problem = Problem("piece_type", "is not a known piece type", shown(name), allowed)
        raise UnknownNameError(problem)

    def without(self, name: str, reason: str) -> PieceTypes:
        """The same with one type moved to the refused ones."""
        who, _, version = origin(self.known[name]).rpartition(" ")
        left = {n: cls for n, cls in self.known.items() if n != name}
        return PieceTypes(left, (*self.refused, Failure(name, who, version, reason)))

    def summary(self, name: str) -> dict[str, Any]:
        """Name, summary and parameters, for lists."""
        cls = self.known[name]
        parameters = [parameter(info) for info in describe(cls)]
        return {"name": name, "summary": cls.summary, "parameters": parameters}


def types_in(data: object) -> set[str]:
    """The names of types in the plain data of a piece file or a job file."""
    if not isinstance(data, Mapping):
        return set()
    joints = data.get("joint")
    tables = [data, *(joints if isinstance(joints, list) else ())]
    found = (t.get("type") for t in tables if isinstance(t, Mapping))
    return {name for name in found if isinstance(name, str)}


class Elsewhere:
    """Runs what ``WORK`` names, here or in the process of a type that does not ship."""

    def __init__(self) -> None:
        types: dict[str, type] = {**joint_types(), **piece_types()}
        self._third_party = {n: cls for n, cls in types.items() if not is_shipped(cls)}
        self._processes: dict[str, Apart] = {}
        self._lock = threading.Lock()

    def run(self, named: set[str], what: str, *given: object) -> Any:
        """named: every type that the question names.

        InputError as the work raises it; PluginError where a type is at fault; RefusedError, a
        503, where it has too many questions already.
        """
        third_party = self.third_party(named)
        return self._process(third_party).ask(what, *given) if third_party else WORK[what](*given)

    def third_party(self, named: set[str]) -> str:
        """The one of these types in whose process they are answered; "" where that is here."""
        return min(named & self._third_party.keys(), default="")

    def fault(self, name: str, reason: str) -> PluginError:
        """What a type that does not ship is told."""
        cls = self._third_party[name]
        return PluginError(reason, name, origin(cls), kind=_kind(cls))

    def _process(self, name: str) -> Apart:
        with self._lock:
            if name not in self._processes:
                cls = self._third_party[name]
                self._processes[name] = Apart(
                    name, origin(cls), kind=_kind(cls), worker="jointgeo_service.piece_worker"
                )
            return self._processes[name]


def _kind(cls: type) -> str:
    return "piece type" if issubclass(cls, PieceType) else "joint type"
