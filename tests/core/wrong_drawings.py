"""One wrong thing at a time in the drawing of a good joint: a claim sees it. Test helper.

The parameters stay; only what ``draw`` gives is changed. What claims leave to the laws of cut
solids (a wrong slide, a bar moved with its cuts) is not tried so. Knows no joint type.
"""

from __future__ import annotations

from collections.abc import Callable
from math import cos, radians, sin
from typing import Any

import attrs

from jointgeo.geometry.vectors import Vec
from jointgeo.joints.drawing import Bar, Drawing, Notch, Pocket
from jointgeo.joints.joint_type import JointType

__all__ = [
    "Change",
    "bars",
    "both",
    "channel",
    "deeper",
    "drawn_as",
    "notch",
    "pocket",
    "turned",
    "wrong",
]

SEEN = 1e-3  # mm or degree; the mutations are 0.05 and more, what is sound is off by 1e-12

Change = Callable[[Drawing], Drawing]


def wrong(joint: JointType, drawing: Drawing) -> list[str]:
    """The claims that fail where ``joint`` draws that."""
    cls = type(joint)
    twin = type(cls.__name__, (cls,), {"draw": lambda _: drawing})
    made = twin(**joint.to_dict())
    off = [c.name for c in made.claims() if not c.off <= SEEN]
    return off + [f"{name} unclaimed" for name in made.unclaimed()]


def bars(change: Callable[[Bar], Bar], *names: str) -> Change:
    return lambda d: attrs.evolve(
        d, bars=tuple(change(b) if not names or b.name in names else b for b in d.bars)
    )


def notch(number: int, change: Callable[[Notch], Notch]) -> Change:
    return lambda d: attrs.evolve(
        d, notches=tuple(change(n) if i == number else n for i, n in enumerate(d.notches))
    )


def channel(number: int, place: int, **by: float) -> Change:
    """One channel's numbers moved."""

    def moved(n: Notch) -> Notch:
        out = list(n.channels)
        c = out[place]
        out[place] = attrs.evolve(c, **{k: getattr(c, k) + v for k, v in by.items()})
        return attrs.evolve(n, channels=out)

    return notch(number, moved)


def pocket(number: int, change: Callable[[Drawing, Pocket], Pocket]) -> Change:
    return lambda d: attrs.evolve(
        d, pockets=tuple(change(d, p) if i == number else p for i, p in enumerate(d.pockets))
    )


def turned(about: Vec, degrees: float, *names: str) -> Change:
    """Bars turned about the world's origin."""
    c, s = cos(radians(degrees)), sin(radians(degrees))

    def turn(v: Vec) -> Vec:
        along = about * (v @ about)
        return along + (v - along) * c + (about ^ v) * s

    def bar(b: Bar) -> Bar:
        return attrs.evolve(
            b, grain=turn(b.grain), face=turn(b.face), edge=turn(b.edge), middle=turn(b.middle)
        )

    return bars(bar, *names)


def drawn_as(joint: JointType, **changes: Any) -> Change:
    """What other parameters draw."""
    other: Drawing = attrs.evolve(joint, **changes).drawing  # type: ignore[misc]
    return lambda _: other


def both(*changes: Change) -> Change:
    def all_of(d: Drawing) -> Drawing:
        for change in changes:
            d = change(d)
        return d

    return all_of


def deeper(by: float, *numbers: int) -> Change:
    def all_of(n: Notch) -> Notch:
        return attrs.evolve(n, channels=[attrs.evolve(c, depth=c.depth + by) for c in n.channels])

    return both(*(notch(i, all_of) for i in numbers))
