"""The joint types this service offers, each with the distribution that answers for it.

Knows jointgeo's registry; knows no type by name, no HTTP.

A joint type is third-party code. Whatever it raises that is not the caller's mistake is turned
into a ``PluginError`` that names its distribution, so that the person at the other end writes to
the right author.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import attrs

from jointgeo.errors import PluginError, Problem, UnknownNameError, shown
from jointgeo.fixtures.file import fixture_names, named_fixture
from jointgeo.fixtures.model import Fixture
from jointgeo.joints.faults import answers, origin
from jointgeo.joints.joint_type import JointType
from jointgeo.joints.registry import Failure
from jointgeo.schema.fields import describe
from jointgeo.sheet import Book, page, sheet_of_joint
from jointgeo.solution.setup import Hand
from jointgeo.solution.solution import Solution, solve
from jointgeo_service.budgets import of_joint
from jointgeo_service.strict_json import encode

__all__ = ["Catalogue", "Known", "form"]


@attrs.frozen
class Known:
    """A joint type that can be used. distribution: name and version."""

    cls: type[JointType]
    distribution: str

    @property
    def name(self) -> str:
        return self.cls.name

    def answers(self) -> answers:
        """Runs the type's own code: InputError passes, all else is the plug-in's fault."""
        return answers(self.name, self.distribution, self.cls.__module__)

    def joint(self, data: object) -> JointType:
        """A joint from plain data; InputError names each field at fault."""
        with self.answers():
            return self.cls.from_dict(data)

    @property
    def keeps(self) -> bool:
        """Whether an answer may be kept for those who ask the same."""
        return True

    def passes(self, joint: Any, fixture: Fixture) -> int:
        """How many passes it makes at most; InputError where they are too many to be asked for.

        On a fixture that ships there are never so many.
        """
        if fixture.name in fixture_names() and fixture is named_fixture(fixture.name):
            return 0
        with self.answers():
            return of_joint(joint, fixture)

    def solved(
        self, joint: Any, fixture: Fixture, hand: Hand, *wants: str
    ) -> dict[str, dict[str, Any]]:
        """``settings``, ``feasibility`` or both, planned once, by name."""
        self.passes(joint, fixture)
        with self.answers():
            solution = solve(joint, fixture, hand)
            return {want: form(solution, want) for want in wants}

    def page(self, joint: Any, fixture: Fixture, hand: Hand, paper: str | None) -> str:
        """The setting sheet; a type that gives what is no plain data is at fault."""
        with self.answers():
            sheet = sheet_of_joint(joint, fixture, hand)
            encode([end.data for end in sheet.ends] + [joint.data for joint in sheet.joints])
        return page(sheet, Book(), paper=paper)

    def summary(self) -> dict[str, Any]:
        """Name, summary and parameters, for lists."""
        parameters = [
            attrs.asdict(info) | {"inches_name": info.inches_name} for info in describe(self.cls)
        ]
        return {"name": self.name, "summary": self.cls.summary, "parameters": parameters}

    def examples(self) -> list[dict[str, Any]]:
        """The parameters of the worked examples."""
        with self.answers():
            return [example.to_dict() for example in self.cls.examples()]


def form(solution: Solution, want: str) -> dict[str, Any]:
    """One of the two forms of an answer."""
    return solution.settings_dict() if want == "settings" else solution.feasibility_dict()


@attrs.frozen
class Catalogue:
    """Every joint type by name, and the plug-ins that cannot be used."""

    known: Mapping[str, Known]
    refused: tuple[Failure, ...]

    @classmethod
    def of(
        cls, types: Mapping[str, type[JointType]], refused: tuple[Failure, ...] = ()
    ) -> Catalogue:
        """A catalogue of given types, each with the distribution that it was loaded from."""
        return cls({name: Known(t, origin(t)) for name, t in types.items()}, refused)

    def get(self, name: str) -> Known:
        """The type of that name.

        Raises UnknownNameError, or PluginError where a plug-in of that name is
        installed and cannot be used.
        """
        if name in self.known:
            return self.known[name]
        for failure in self.refused:
            if failure.name == name:
                who = f"{failure.distribution} {failure.version}"
                raise PluginError(failure.reason, name, who)
        allowed = "one of " + ", ".join(self.known)
        raise UnknownNameError(
            Problem("joint_type", "is not a known joint type", shown(name), allowed)
        )

    def without(self, name: str, reason: str) -> Catalogue:
        """The same catalogue with one type moved to the refused ones."""
        who, _, version = self.known[name].distribution.rpartition(" ")
        left = {n: k for n, k in self.known.items() if n != name}
        return Catalogue(left, (*self.refused, Failure(name, who, version, reason)))
