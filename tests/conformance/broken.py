"""Joint types that are broken on purpose, each in the one way an author might break it.

One for each check of the kit, which fails that check and no other.
"""

from __future__ import annotations

import itertools
from math import atan2, degrees
from typing import Any, ClassVar

import attrs
import numpy as np

from jointgeo.plugin import (
    Channel,
    Check,
    Drawing,
    Length,
    Verify,
    choice,
    mm,
)
from jointgeo.types.splayed_bridle import SplayedBridle

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
    width_a_mm: float = mm("Width", 0.1, 300, Length("rail a.face_edge", "rail a.back_edge"))


@fails("schema")
class OneChoiceTwice(HalfLap):
    grain: str = choice("Grain that shows on the face", ("plain", "plain"), default="plain")

    def sizes(self) -> dict[str, Any]:
        return {**HalfLap.sizes(self), "grain": self.grain}


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
class TakesUnknownNames(HalfLap):
    @classmethod
    def from_dict(cls, data: Any) -> Any:
        if isinstance(data, dict):
            data = {k: v for k, v in data.items() if not k.startswith("not_")}
        return HalfLap.from_dict.__func__(cls, data)


@fails("whole_range")
class NotSoWide(HalfLap):
    def checks(self) -> Any:
        if 105 < self.corner_deg < 149:
            raise ValueError("too wide a corner")
        return HalfLap.checks(self)


@fails("range_ends")
class TripsAtTwoEnds(HalfLap):
    """Right anywhere but where two parameters are both at the end of their ranges."""

    def notes(self) -> tuple[str, ...]:
        slender = 1 / (600 - self.width_a_mm - self.width_b_mm)
        return (f"its rails are {slender:.3g} apart",)


@fails("remembers_nothing")
class RemembersByWidth(HalfLap):
    kept: ClassVar[dict[float, tuple[Check, ...]]] = {}

    def checks(self) -> tuple[Check, ...]:
        return self.kept.setdefault(self.width_a_mm, HalfLap.checks(self))


@fails("quiet")
class Prints(HalfLap):
    def notes(self) -> tuple[str, ...]:
        print("half of", self.thickness_mm)
        return ()


@fails("pace")
class TakesItsTime(HalfLap):
    @classmethod
    def examples(cls) -> tuple[Any, ...]:
        usual = HalfLap.examples()[0].to_dict()
        return cls(**usual), cls(**usual | {"corner_deg": 83.0})

    def notes(self) -> tuple[str, ...]:
        if self.corner_deg == 83.0:  # with both hands some forty times the slowest that ships
            for _ in range(6000):
                HalfLap.draw(self)
        return ()


@fails("same_output")
class Counts(HalfLap):
    count: ClassVar[Any] = itertools.count(1)

    def notes(self) -> tuple[str, ...]:
        return (f"asked for {next(self.count)} times",)


@fails("nothing_mutated")
class TidiesUp(HalfLap):
    def draw(self) -> Drawing:
        object.__setattr__(self, "length_a_mm", max(1.0, float(round(self.length_a_mm))))
        return HalfLap.draw(self)


@fails("plain_output")
class SinglePrecision(HalfLap):
    def draw(self) -> Drawing:
        half = Verify(
            "rail a, thickness of the half", np.float32(self.thickness_mm / 2), "calipers"
        )
        return attrs.evolve(HalfLap.draw(self), verify={"rail a": (half,)})


@fails("claims")
class Unmeasured(HalfLap):
    """Two bars do not show the fit, and nobody looks at the cuts."""

    def sizes(self) -> dict[str, Any]:
        return {}


@fails("between")
class LooksAtItsOwnAxes(HalfLap):
    """Right as long as the rails lie as they were drawn."""

    @classmethod
    def measure(cls, bar: Any, mate: Any) -> dict[str, Any]:
        corner = degrees(atan2(mate.grain.y, mate.grain.x))
        return {**HalfLap.measure(bar, mate), "corner_deg": corner}


@fails("notches_in_stock")
class CutsAir(HalfLap):
    def draw(self) -> Drawing:
        drawn = HalfLap.draw(self)
        lap, *rest = drawn.notches
        air = Channel(self.thickness_mm + 30, self.thickness_mm + 40, 20)
        lap = attrs.evolve(lap, channels=(*lap.channels, air))
        return attrs.evolve(drawn, notches=(lap, *rest))

    def sizes(self) -> dict[str, Any]:
        a, b = (notch.channels[0] for notch in self.drawing.notches)
        return {"fit_mm": a.high - b.low}

    def also(self) -> dict[str, tuple[float, float]]:
        return {}


@fails("marks")
class MarksByHand(SplayedBridle):
    """A housing's marks written down and not left to be worked out."""

    def draw(self) -> Drawing:
        drawn = SplayedBridle.draw(self)
        pockets = [attrs.evolve(p, marks=p.marks | {"depth_mm": 4.0}) for p in drawn.pockets]
        return attrs.evolve(drawn, pockets=tuple(pockets))

    def also(self) -> dict[str, tuple[float, float]]:
        return {}

    def sizes(self) -> dict[str, Any]:
        fit = self.fit_mm, self.tongue_thickness_mm
        return dict(zip(("fit_mm", "tongue_thickness_mm"), fit, strict=True))


class SameOnEitherHand(Drawing):
    """For an author who takes the joint for symmetric."""

    @property
    def mirrored(self) -> Drawing:
        return self


@fails("mirrored")
class OneHanded(HalfLap):
    def draw(self) -> Drawing:
        drawn = HalfLap.draw(self)
        return SameOnEitherHand(drawn.bars, drawn.notches, slides=drawn.slides)


@fails("margins")
class OtherWayRound(HalfLap):
    """A check made by hand, its margin counted from the wrong side."""

    def checks(self) -> tuple[Check, ...]:
        (check,) = HalfLap.checks(self)
        return (attrs.evolve(check, margin=check.limit - check.value),)


@fails("dimensions")
class MirrorsThroughout(SplayedBridle):
    """The lean across negated in draw and in measure alike: they agree with each other."""

    def draw(self) -> Drawing:
        return SplayedBridle.draw(attrs.evolve(self, splay_across_deg=-self.splay_across_deg))

    @classmethod
    def measure(cls, bar: Any, mate: Any) -> dict[str, Any]:
        found = SplayedBridle.measure(bar, mate)
        return found | {"splay_across_deg": -found["splay_across_deg"]}


@fails("laws")
class SlidesIn(HalfLap):
    """Its way out leads into the other rail."""

    def draw(self) -> Drawing:
        drawn = HalfLap.draw(self)
        return attrs.evolve(drawn, slides={name: -way for name, way in drawn.slides.items()})
