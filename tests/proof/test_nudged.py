"""Every number of three good drawings, moved by 0.2 mm or turned by 0.2°, one at a time.

What no law and no claim notices must be without effect on the wood: it is listed, and why.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from math import cos, radians, sin
from typing import Any

import attrs
import pytest

from jointgeo.geometry.vectors import INF, Vec, X, Y, Z
from jointgeo.joints.drawing import Drawing
from jointgeo.proof import dry_fit

from .mutations import by_law, claimed, redrawn
from .samples import GOOD, solved

MM, DEG = 0.2, 0.2
Nudge = tuple[str, Callable[[Drawing], Drawing]]

#: Not noticed, by type: how many numbers are tried, and which of them change no wood.
WITHOUT_EFFECT = {
    "splayed_bridle": (
        45,
        {
            "rail moved along y",  # along its own grain
            *(f"pocket {i} {what}" for i in (1, 2) for what in ("size x", "moved x")),  # runs out
        },
    ),
    "angled_tenon": (
        77,
        {
            "mortised piece length",
            "mortised piece moved along x",  # along its own grain
            "slide of rail turned about z",  # about itself
        },
    ),
    "angled_box_joint": (
        90,
        {
            # Of a bevel its plane alone counts: its box ends outside the wood on all other sides.
            f"pocket {i} {what}"
            for i in (1, 2, 3, 4)
            for what in ("size x", "size y", "moved x", "moved y", "turned z")
        },
    ),
}


def turned(way: Vec, axis: Vec) -> Vec:
    c, s = cos(radians(DEG)), sin(radians(DEG))
    return way * c + (axis ^ way) * s + axis * ((axis @ way) * (1 - c))


def with_item(items: tuple[Any, ...], index: int, **changed: Any) -> tuple[Any, ...]:
    return (*items[:index], attrs.evolve(items[index], **changed), *items[index + 1 :])


def nudges(drawing: Drawing) -> Iterator[Nudge]:
    yield from _bars(drawing)
    yield from _notches(drawing)
    for kind, what in (("pockets", "pocket"), ("empty", "space")):
        for index, item in enumerate(getattr(drawing, kind)):
            for says, block in _blocks(getattr(item, "block", item)):
                new = {"block": block} if kind == "pockets" else attrs.asdict(block, recurse=False)
                items = with_item(getattr(drawing, kind), index, **new)
                yield f"{what} {index + 1} {says}", _set(**{kind: items})
    for name, way in drawing.slides.items():
        for axis, letter in zip((X, Y, Z), "xyz", strict=True):
            slides = drawing.slides | {name: turned(way, axis)}
            yield f"slide of {name} turned about {letter}", _set(slides=slides)


def _set(**changed: Any) -> Callable[[Drawing], Drawing]:
    return lambda drawing: attrs.evolve(drawing, **changed)


def _bars(drawing: Drawing) -> Iterator[Nudge]:
    for index, bar in enumerate(drawing.bars):
        changes: list[tuple[str, dict[str, Any]]] = [
            (size, {size: getattr(bar, size) + MM}) for size in ("width", "thickness", "length")
        ]
        for axis, letter in zip((X, Y, Z), "xyz", strict=True):
            changes.append((f"moved along {letter}", {"middle": bar.middle + axis * MM}))
            ways = {way: turned(getattr(bar, way), axis) for way in ("grain", "face", "edge")}
            changes.append((f"turned about {letter}", ways))
        for says, changed in changes:
            bars = with_item(drawing.bars, index, **changed)
            yield f"{bar.name} {says}", _set(bars=bars)


def _notches(drawing: Drawing) -> Iterator[Nudge]:
    for index, notch in enumerate(drawing.notches):
        where = f"notch {index + 1} of {notch.bar}"
        moved = tuple(
            attrs.evolve(n, end=n.end.moved(MM)) if n.bar == notch.bar else n
            for n in drawing.notches
        )
        yield f"{where}, end", _set(notches=moved)
        across = turned(notch.across, notch.end.normal)
        yield f"{where}, across", _set(notches=with_item(drawing.notches, index, across=across))
        for number, channel in enumerate(notch.channels):
            numbers = {"low": channel.low, "high": channel.high, "depth": channel.depth}
            numbers["gap"] = notch.gap if channel.gap is None else channel.gap
            for name, value in numbers.items():
                if abs(value) < INF:
                    channels = with_item(notch.channels, number, **{name: value + MM})
                    notches = with_item(drawing.notches, index, channels=channels)
                    yield f"{where}, channel {number + 1} {name}", _set(notches=notches)


def _blocks(block: Any) -> Iterator[tuple[str, Any]]:
    for k, letter in enumerate("xyz"):
        axis, size = block.axes[k], block.size
        longer = (*size[:k], size[k] + MM, *size[k + 1 :])
        yield f"size {letter}", attrs.evolve(block, size=longer)
        yield f"moved {letter}", attrs.evolve(block, middle=block.middle + axis * MM)
        yield (
            f"turned {letter}",
            attrs.evolve(block, axes=tuple(turned(a, axis) for a in block.axes)),
        )


@pytest.mark.parametrize("name", GOOD)
def test_every_number_counts(name: str) -> None:
    joint, (count, without_effect) = GOOD[name], WITHOUT_EFFECT[name]
    tried, unnoticed = 0, set()
    for says, change in nudges(joint.drawing):
        wrong = redrawn(joint, change)
        tried += 1
        if not claimed(wrong) | by_law(dry_fit(solved(wrong))):
            unnoticed.add(says)
    assert unnoticed == without_effect
    assert tried == count
