"""The joint types this service offers, each with the distribution that answers for it.

Knows jointgeo's registry; knows no type by name, no HTTP.

A joint type is third-party code. Whatever it raises that is not the caller's mistake is turned
into a ``PluginError`` that names its distribution, so that the person at the other end writes to
the right author.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import attrs

from jointgeo.errors import InputError, PluginError, Problem, UnknownNameError, shown
from jointgeo.fixtures.file import fixture_names, named_fixture
from jointgeo.fixtures.model import Fixture
from jointgeo.joints.faults import answers, origin
from jointgeo.joints.joint_type import JointType
from jointgeo.joints.registry import Failure
from jointgeo.schema.fields import FieldInfo, describe
from jointgeo.sheet import Book, page, sheet_of_joint
from jointgeo.sheet.screen import joint_screen, meaning_screen
from jointgeo.solution.paths import Scalar, listed, value
from jointgeo.solution.setup import Hand
from jointgeo.solution.solution import Solution, solve
from jointgeo_service.budgets import of_joint
from jointgeo_service.properties import inches_of, property_of
from jointgeo_service.strict_json import encode

__all__ = ["Catalogue", "Known", "form", "parameter", "values_of"]


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

    def values(
        self, joint: Any, fixture: Fixture, hand: Hand, asked: Sequence[str]
    ) -> list[Scalar | Problem]:
        """What stands at each path, or why nothing does; no more is worked out than that takes."""
        self.passes(joint, fixture)
        with self.answers():
            return values_of(solve(joint, fixture, hand), asked)

    def paths(self, joint: Any, fixture: Fixture, hand: Hand) -> list[tuple[str, Scalar, str]]:
        """Every path that can be asked, its value and its meaning."""
        self.passes(joint, fixture)
        with self.answers():
            solution = solve(joint, fixture, hand)
            return [(p.path, _plain(p.value), p.meaning) for p in listed(solution)]

    def page(
        self, joint: Any, fixture: Fixture, hand: Hand, paper: str | None, names: tuple[str, str]
    ) -> str:
        """The operation sheet; a type that gives what is no plain data is at fault. names: of the
        fixture's file, "" for one that ships, and its edition."""
        self.passes(joint, fixture)
        with self.answers():
            made = sheet_of_joint(joint, fixture, hand)
            encode([end.data for end in made.ends] + [joint.data for joint in made.joints])
        source, edition = names
        named = attrs.evolve(made, fixture_source=source, fixture_edition=edition)
        return page(named, Book(), paper=paper)

    def screen(
        self, joint: Any, fixture: Fixture, hand: Hand, asked: Mapping[str, str], inches: bool
    ) -> str:
        """The answer as a piece of a page, as of ``joint_screen``."""
        self.passes(joint, fixture)
        with self.answers():
            return joint_screen(joint, fixture, hand, asked, inches)

    def meaning(self) -> str:
        """What its numbers mean, drawn on its first example."""
        with self.answers():
            return meaning_screen(self.cls.examples()[0])

    def summary(self) -> dict[str, Any]:
        """Name, summary and parameters, for lists."""
        parameters = [parameter(info) for info in describe(self.cls)]
        return {"name": self.name, "summary": self.cls.summary, "parameters": parameters}

    def examples(self) -> list[dict[str, Any]]:
        """The parameters of the worked examples."""
        with self.answers():
            return [example.to_dict() for example in self.cls.examples()]


def parameter(info: FieldInfo) -> dict[str, Any]:
    """One field under JSON Schema's names (draft 2020-12), with its own name, whether it must be
    given, its unit, and the other name of a length. Only what the field has is there."""
    out = {"name": info.name, "required": info.required, **property_of(info)}
    if info.inches_name is not None:
        out["inches"] = {"name": info.inches_name, **inches_of(info)}
    return out


def values_of(solution: Solution, asked: Sequence[str]) -> list[Scalar | Problem]:
    """What stands at each path, or why nothing does."""
    out: list[Scalar | Problem] = []
    for path in asked:
        try:
            out.append(_plain(value(solution, path)))
        except InputError as error:
            out.append(error.problems[0])
    return out


def _plain(found: Scalar) -> Scalar:
    if isinstance(found, float):
        if not math.isfinite(found):
            raise PluginError(f"{found} is no number that an answer can hold")
        return float(found)  # numpy's own number reads otherwise
    return found


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
