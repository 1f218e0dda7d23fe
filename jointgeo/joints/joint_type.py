"""What a joint type is: the class a plug-in writes.

Knows the contract's values and the parameter fields; no fixture, no solver, no other
joint type. DEVELOPERS.md walks through a first one.
"""

from __future__ import annotations

import re
from abc import ABC, abstractmethod
from typing import Any, ClassVar, Self

from jointgeo.errors import InputError
from jointgeo.joints.check import Check
from jointgeo.joints.contract import Expectation, Part, Placement
from jointgeo.schema.fields import plain
from jointgeo.schema.tables import read

__all__ = ["NAME_FORM", "JointType"]

NAME_FORM = re.compile(r"[a-z][a-z0-9]*(_[a-z0-9]+)*")


class JointType(ABC):
    """One joint with its parameters: a frozen attrs class of ``jointgeo.schema.fields``.

    name: lower snake case, the same as the entry point's name.
    summary: one sentence for lists and the API page.
    contract: edition of this contract the class was written for; a class that does not
    say was written for edition 1.
    Units are millimetres and degrees. Ranges stand on the fields; rules between fields
    are held in ``__attrs_post_init__``, which raises InputError naming the field.
    """

    name: ClassVar[str]
    summary: ClassVar[str]
    contract: ClassVar[int] = 1

    @abstractmethod
    def parts(self) -> tuple[Part, ...]:
        """The parts as drawn, each in its own stock frame (see ``jointgeo.joints.contract``)."""

    @abstractmethod
    def placements(self) -> tuple[Placement, ...]:
        """Where each part stands in the assembled joint."""

    @abstractmethod
    def expectations(self) -> tuple[Expectation, ...]:
        """What must be true of the assembled joint, from the parameters, not the notches."""

    @classmethod
    @abstractmethod
    def examples(cls) -> tuple[Self, ...]:
        """At least one worked example that solves."""

    def checks(self) -> tuple[Check, ...]:
        """Feasibility checks of the joint itself, whatever the fixture."""
        return ()

    def notes(self) -> tuple[str, ...]:
        """Sentences a person should read before cutting."""
        return ()

    def own_settings(self, fixture: Any, hand: str) -> Any:
        """A ``Settings`` of the type's own making, or None to use the library's solver."""
        return None

    def own_feasibility(self, fixture: Any, hand: str) -> Any:
        """A ``Feasibility`` of the type's own making, or None to use the library's solver."""
        return None

    @classmethod
    def from_dict(cls, data: object) -> Self:
        """A joint from plain data in the JSON contract's names; InputError names each field."""
        return read(cls, data, InputError)

    def to_dict(self) -> dict[str, Any]:
        """The parameters as plain data that ``from_dict`` takes back unchanged."""
        return plain(self)
