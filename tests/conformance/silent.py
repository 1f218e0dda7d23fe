"""Faults of a joint type that look like geometry and raise nothing, with every check they fail.

Each is the sound corner half lap with one slip in it that an author might make.
"""

from __future__ import annotations

from typing import Any

import attrs

from jointgeo.errors import InputError
from jointgeo.joints.placement import Placement
from jointgeo.plugin import Drawing, Length, Vec, X, Y, Z, deg, mm, turned_deg

from .sound import HalfLap

__all__ = ["SILENT"]

#: What is wrong → the type, and the checks that it fails.
SILENT: dict[str, tuple[Any, set[str]]] = {}


def silent(what: str, *checks: str) -> Any:
    def keep(cls: Any) -> Any:
        SILENT[what] = attrs.frozen(cls), set(checks)
        return SILENT[what][0]

    return keep


def first_notch(drawing: Drawing, **changes: Any) -> Drawing:
    """The drawing with the first notch's first channel changed."""
    notch, *rest = drawing.notches
    first, *others = notch.channels
    changed = attrs.evolve(notch, channels=(attrs.evolve(first, **changes), *others))
    return attrs.evolve(drawing, notches=(changed, *rest))


@silent("a measure that trips over bars which cannot be joined", "between")
class Trips(HalfLap):
    @classmethod
    def measure(cls, bar: Any, mate: Any) -> dict[str, Any]:
        square = [way for way in bar.axes if abs((bar.grain ^ mate.grain) @ way) > 1e-6]
        corner = turned_deg(bar.grain, mate.grain, square[0], mate.grain)
        return {**HalfLap.measure(bar, mate), "corner_deg": corner}


@silent("a length that depends on where a bar begins", "between")
class TakesTheWholeBar(HalfLap):
    """Right as drawn, where rail a begins at the corner."""

    @classmethod
    def measure(cls, bar: Any, mate: Any) -> dict[str, Any]:
        return {**HalfLap.measure(bar, mate), "length_a_mm": bar.length}


@silent("a refusal that names neither bar nor parameter", "between")
class NamesNobody(HalfLap):
    @classmethod
    def measure(cls, bar: Any, mate: Any) -> dict[str, Any]:
        if abs(bar.face @ mate.face - 1.0) > 1e-9:
            raise InputError.of("the frame", "is not flat")
        return HalfLap.measure(bar, mate)


@silent("a joint put where its bars are not", "between")
class PutsItAnywhere(HalfLap):
    @classmethod
    def between(cls, *_: Any, **sizes: Any) -> Any:
        del sizes
        return cls.examples()[0], Placement((X, Y, Z), Vec(0.0, 0.0, 0.0))


@silent("something measured that is no parameter", "claims")
class MeasuresMore(HalfLap):
    def sizes(self) -> dict[str, Any]:
        return {**HalfLap.sizes(self), "lap_mm": self.drawing.notches[0].channels[0].depth}


@silent("a joint that nothing is drawn out of", "laws")
class NeverComesApart(HalfLap):
    def draw(self) -> Drawing:
        return attrs.evolve(HalfLap.draw(self), slides={})


@silent("a slide that is right at acute corners only", "laws")
class SlidesAcross(HalfLap):
    """Straight out over the other rail's back edge; at a wide corner its shoulder is in the way."""

    def draw(self) -> Drawing:
        drawn = HalfLap.draw(self)
        across = drawn.bar("rail b").side("back_edge").normal
        return attrs.evolve(drawn, slides={"rail a": across})

    @classmethod
    def examples(cls) -> tuple[Any, ...]:
        return (cls(**HalfLap.examples()[0].to_dict() | {"corner_deg": 100.0}),)


@silent("a parameter that draw forgets", "claims", "dimensions")
class ForgetsItsFit(HalfLap):
    def draw(self) -> Drawing:
        return HalfLap.draw(attrs.evolve(self, fit_mm=0.0))


@silent("a parameter that draw and sizes forget", "claims", "dimensions")
class NeverHeardOfIt(HalfLap):
    def draw(self) -> Drawing:
        return HalfLap.draw(attrs.evolve(self, fit_mm=0.0))

    def sizes(self) -> dict[str, Any]:
        return {}


class SaysLess(HalfLap):
    """Says nothing besides its parameters, so that the wood alone can show a fault."""

    def also(self) -> dict[str, tuple[float, float]]:
        return {}


@silent("a channel 2 mm too deep", "laws")
class TooDeep(SaysLess):
    def draw(self) -> Drawing:
        drawn = HalfLap.draw(self)
        return first_notch(drawn, depth=drawn.notches[0].channels[0].depth + 2)


@silent("a channel 2 mm too wide", "claims", "dimensions", "laws")
class TooWide(SaysLess):
    def draw(self) -> Drawing:
        drawn = HalfLap.draw(self)
        return first_notch(drawn, high=drawn.notches[0].channels[0].high + 2)


@silent("a pair of cheeks 2 mm off the middle, which the author states", "claims")
class OffTheMiddle(HalfLap):
    def draw(self) -> Drawing:
        drawn = HalfLap.draw(self)
        a, b = drawn.notches
        (on_a,), (on_b,) = a.channels, b.channels
        a = attrs.evolve(a, channels=(attrs.evolve(on_a, high=on_a.high + 2),))
        b = attrs.evolve(b, channels=(attrs.evolve(on_b, low=on_b.low + 2),))
        return attrs.evolve(drawn, notches=(a, b))


@silent("a length without a declaration", "dimensions")
class NoDeclaration(HalfLap):
    fit_mm: float = mm("Gap between the two cheeks", -1, 2, default=0.0)


@silent("a length declared between the wrong places", "dimensions")
class DeclaredElsewhere(HalfLap):
    width_a_mm: float = mm(
        "Width of rail a", 0.1, 300, Length("rail b.face_edge", "rail b.back_edge")
    )


@silent("a formula that divides by a parameter which may be 0", "range_ends", "whole_range")
class DividesByTheFit(HalfLap):
    def notes(self) -> tuple[str, ...]:
        return (f"{self.thickness_mm / self.fit_mm:.0f} times the fit",)


@silent("checks that say pass where the joint cannot be put together", "laws")
class LetsTheLapThrough(SaysLess):
    """Right for stock such as its example's; in longer or thicker the lap is cut too shallow."""

    def draw(self) -> Drawing:
        drawn = HalfLap.draw(self)
        deep = drawn.notches[0].channels[0].depth
        large = self.length_a_mm > 600 or self.thickness_mm > 30
        return first_notch(drawn, depth=0.98 * deep) if large else drawn


@silent("an angle without a declaration", "dimensions")
class NoTurn(HalfLap):
    corner_deg: float = deg("Inside angle between the rails", 30, 150)
