"""One deliberately broken joint type for each check of the kit, and nothing else wrong with it.

Each is the sound corner half lap with one method or field spoilt in the way an author
might spoil it.
"""

from __future__ import annotations

import itertools
from typing import Any, ClassVar

import attrs
import numpy as np

from jointgeo.joints.check import at_most
from jointgeo.joints.contract import Channel, Contact, Verify
from jointgeo.planning.setups import plan_end
from jointgeo.schema.fields import choice, length
from jointgeo.solution.feasibility import Feasibility, check_end
from jointgeo.solution.settings import Settings, Use, part_settings

from .sound import HalfLap

__all__ = ["BROKEN"]

#: Check → the type that fails it.
BROKEN: dict[str, Any] = {}


def fails(check: str) -> Any:
    def keep(cls: Any) -> Any:
        if check in BROKEN:
            raise ValueError(f"two types are broken for {check}")
        BROKEN[check] = attrs.frozen(cls)
        return BROKEN[check]

    return keep


@fails("declaration")
class TwoLines(HalfLap):
    summary: ClassVar[str] = "Two rails of a frame\nhalved across each other's ends"


@fails("fields")
class NoHelp(HalfLap):
    width_a_mm: float = length("Width", above=0, high=300)


@fails("schema")
class OneChoiceTwice(HalfLap):
    grain: str = choice("Grain that shows on the face", ("plain", "plain"), default="plain")


@fails("examples")
class StrangeExample(HalfLap):
    @classmethod
    def examples(cls) -> tuple[Any, ...]:
        return (cls(**HalfLap.examples()[0].to_dict()), *HalfLap.examples())


@fails("json_round_trip")
class Rounds(HalfLap):
    def to_dict(self) -> dict[str, Any]:
        return {name: round(value, 2) for name, value in super().to_dict().items()}


@fails("inches")
class ShortInch(HalfLap):
    @classmethod
    def from_dict(cls, data: Any) -> Any:
        joint = HalfLap.from_dict.__func__(cls, data)
        short = {n.removesuffix("_in") + "_mm" for n in data if n.endswith("_in")}
        return attrs.evolve(joint, **{n: getattr(joint, n) * 25 / 25.4 for n in short})


@fails("bad_input")
class TakesStrangers(HalfLap):
    @classmethod
    def from_dict(cls, data: Any) -> Any:
        if isinstance(data, dict):
            data = {k: v for k, v in data.items() if not k.startswith("not_")}
        return HalfLap.from_dict.__func__(cls, data)


@fails("whole_range")
class NotSoSharp(HalfLap):
    def parts(self) -> Any:
        if not 40 < self.corner_deg < 140:
            raise ValueError("too sharp a corner")
        return HalfLap.parts(self)


@fails("same_output")
class Counts(HalfLap):
    count: ClassVar[Any] = itertools.count(1)

    def notes(self) -> tuple[str, ...]:
        return (f"asked for {next(self.count)} times",)


@fails("nothing_mutated")
class TidiesUp(HalfLap):
    def parts(self) -> Any:
        object.__setattr__(self, "length_a_mm", float(round(self.length_a_mm)))
        return HalfLap.parts(self)


@fails("plain_output")
class SinglePrecision(HalfLap):
    def parts(self) -> Any:
        a, b = HalfLap.parts(self)
        half = Verify(
            "rail a, thickness of the half", np.float32(self.thickness_mm / 2), "calipers"
        )
        return attrs.evolve(a, verify=(half,)), b


@fails("notches_in_stock")
class CutsAir(HalfLap):
    def parts(self) -> Any:
        a, b = HalfLap.parts(self)
        notch = a.notches[0]
        air = Channel(self.thickness_mm + 30, self.thickness_mm + 40, 20)
        return attrs.evolve(a, notches=(attrs.evolve(notch, channels=(*notch.channels, air)),)), b


@fails("mirrored")
class OneHanded(HalfLap):
    def own_settings(self, fixture: Any, hand: str) -> Any:
        solved = tuple(
            part_settings(p, fixture, (Use(p.name, "near", "as_drawn", 1),)) for p in self.parts()
        )
        rest = self.expectations(), self.placements(), self.notes()
        return Settings(self.name, fixture.name, solved, *rest)


@fails("margins")
class KnowsBest(HalfLap):
    def own_feasibility(self, fixture: Any, hand: str) -> Any:
        checks = []
        for part in self.parts():
            shaped = part.mirrored() if hand == "mirrored" else part
            for check in check_end(plan_end(shaped, fixture), fixture):
                if check.name == "tilt_range":
                    mine = at_most(check.name, check.value, 85.0, "deg", "every plate tilts so far")
                    check = attrs.evolve(mine, part=check.part, setup=check.setup)
                checks.append(check)
        return Feasibility(self.name, fixture.name, (*checks, *self.checks()))


@fails("dry_fit")
class TooDeep(HalfLap):
    def parts(self) -> Any:
        a, b = HalfLap.parts(self)
        notch = a.notches[0]
        deeper = [attrs.evolve(c, depth_mm=c.depth_mm + 0.5) for c in notch.channels]
        return attrs.evolve(a, notches=(attrs.evolve(notch, channels=deeper),)), b


@fails("expectations")
class MeansItsGap(HalfLap):
    """Cut half a millimetre slack, and said to be meant."""

    def parts(self) -> Any:
        a, b = HalfLap.parts(self)
        notch = a.notches[0]
        wider = [attrs.evolve(c, high_mm=c.high_mm + 0.5) for c in notch.channels]
        return attrs.evolve(a, notches=(attrs.evolve(notch, channels=wider),)), b

    def expectations(self) -> Any:
        cheeks, *rest = HalfLap.expectations(self)
        lower = attrs.evolve(cheeks.a, point_mm=cheeks.a.point_mm - [0.0, 0.0, 0.5])
        return Contact(lower, cheeks.b, cheeks.gap_mm + 0.5), *rest
