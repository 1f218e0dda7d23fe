"""What a joint type is: the class a plug-in writes.

Knows drawings, parameter fields and checks; no fixture, no solver, no other joint type.
``jointgeo.plugin`` has all that is needed to write one; DEVELOPERS.md walks through a first.

A joint type draws its bars in a world of its own, and says what is cut from them. Frames, channels
in stock coordinates, poses, the mirror image and the layout marks are derived from that. What was
drawn is then measured again, by ``measure`` from the two bars and by ``sizes`` from the cuts, and
held against what was asked for: a **claim** for every parameter. ``measure`` is therefore written
against the bars as anybody finds them in a room, and serves ``between`` too.

The rejected alternative, a numeric inverse of ``draw``, would spare those lines and the claims
with them: what is found by asking ``draw`` can only agree with it.
"""

from __future__ import annotations

import math
import re
from abc import ABC, abstractmethod
from functools import cached_property
from typing import Any, ClassVar, Self

import attrs

from jointgeo.errors import InputError, PluginError
from jointgeo.geometry.vectors import Vec
from jointgeo.joints.check import Check
from jointgeo.joints.drawing import Bar, Drawing
from jointgeo.joints.faults import origin
from jointgeo.joints.placement import Placement, placement_of
from jointgeo.schema.fields import describe, plain
from jointgeo.schema.tables import read

__all__ = ["NAME_FORM", "Claim", "JointType"]

NAME_FORM = re.compile(r"[a-z][a-z0-9]*(_[a-z0-9]+)*")


@attrs.frozen
class Claim:
    """A parameter, or an equality the type states beside them: as drawn and as asked for."""

    name: str
    drawn: Any
    asked: Any

    @property
    def off(self) -> float:
        """How far apart they are; inf where they are not both numbers and differ."""
        if isinstance(self.asked, int | float) and isinstance(self.drawn, int | float):
            return abs(self.drawn - self.asked) if math.isfinite(self.drawn) else math.inf
        return 0.0 if self.drawn == self.asked else math.inf


class JointType(ABC):
    """One joint with its parameters: a frozen attrs class of fields (``mm``, ``deg``, …).

    name: lower snake case, the same as the entry point's name. summary: one sentence for lists and
    the API page. edition: of this contract, for which the class was written.

    Units are millimetres and degrees. Ranges stand on the fields; rules between fields
    are held in ``__attrs_post_init__``, which raises InputError naming the field.
    """

    name: ClassVar[str]
    summary: ClassVar[str]
    edition: ClassVar[int] = 2

    @abstractmethod
    def draw(self) -> Drawing:
        """The bars, the one that the joint is about first, then its mate, and what is cut."""

    @classmethod
    @abstractmethod
    def measure(cls, bar: Bar, mate: Bar) -> dict[str, Any]:
        """Every parameter that two bars show by their sizes and how they stand, however turned."""

    @classmethod
    @abstractmethod
    def examples(cls) -> tuple[Self, ...]:
        """At least one worked example that solves."""

    def sizes(self) -> dict[str, Any]:
        """The parameters that only the cuts show, measured on ``self.drawing``."""
        return {}

    def also(self) -> dict[str, tuple[float, float]]:
        """What must be equal besides, {what: (drawn, asked)}: centred, level, alike."""
        return {}

    def checks(self) -> tuple[Check, ...]:
        """Feasibility checks of the joint itself, whatever the fixture."""
        return ()

    def notes(self) -> tuple[str, ...]:
        """Sentences a person should read before cutting."""
        return ()

    @classmethod
    def forced_face(cls, grain: Vec, mate: Bar) -> Vec | None:  # noqa: ARG003 - for those that do
        """The way, or the opposite of it, in which the bar's face side must look for this joint to
        be possible; None where any way will do. grain: into the bar; mate: as ``draw`` marks it."""
        return None

    # What the library makes of it -------------------------------------------------------

    @cached_property
    def drawing(self) -> Drawing:
        """What ``draw`` gives, drawn once; PluginError where that is no drawing."""
        drawn: object = self.draw()
        if isinstance(drawn, Drawing):
            return drawn
        reason = f"draw must give a Drawing, not {type(drawn).__name__}"
        raise PluginError(reason).named(self.name, origin(type(self)))

    @cached_property
    def measured(self) -> dict[str, Any]:
        """Every parameter read back from the drawing."""
        bar, mate = self.drawing.bars[:2]
        try:
            shown = self.measure(bar, mate)
        except (ZeroDivisionError, ValueError, OverflowError) as error:
            # Of bars in a room that is the caller's, see ``between``; of its own it is the type's.
            raise PluginError(
                f"{self.name}.measure cannot measure its own drawing: {error}"
            ) from error
        return {**shown, **self.sizes()}

    def claims(self) -> tuple[Claim, ...]:
        """What was drawn against what was asked for, parameter by parameter."""
        asked = plain(self)
        known = [Claim(n, v, asked[n]) for n, v in self.measured.items() if n in asked]
        return (*known, *(Claim(n, *pair) for n, pair in self.also().items()))

    def unclaimed(self) -> list[str]:
        """Parameters that nothing reads back, and names read back that are no parameters."""
        names = [info.name for info in describe(type(self))]
        return sorted(set(names) ^ set(self.measured))

    @classmethod
    def between(cls, bar: Bar, mate: Bar, **sizes: Any) -> tuple[Self, Placement]:
        """The joint between two bars that stand in a room, and the way from its world to there.

        sizes: the parameters that the bars do not show. Raises InputError naming the bar, and how
        far it is off, where these bars cannot be joined so.
        """
        try:
            found = cls.measure(bar, mate)
        except (ZeroDivisionError, ValueError, OverflowError):
            raise InputError.of(
                bar.name, "cannot be measured against its mate", mate.name, "bars that cross"
            ) from None
        joint = cls.from_dict({**found, **sizes})
        return joint, placement_of(joint.drawing, bar, mate)

    @classmethod
    def from_dict(cls, data: object) -> Self:
        """A joint from plain data in the JSON contract's names; InputError names each field."""
        return read(cls, data, InputError)

    def to_dict(self) -> dict[str, Any]:
        """The parameters as plain data that ``from_dict`` takes back unchanged."""
        return plain(self)
