"""The symmetry of a piece: its images, and what copies are called.

Knows vectors and planes. "left_right" mirrors in the plane X = 0, "front_back" in Y = 0, "turned N"
turns about the upright middle by 360°/N, anticlockwise from above.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from math import atan2, cos, pi, sin

import attrs

from jointgeo.errors import PieceError, shown
from jointgeo.geometry.vectors import Plane, Vec, X, Y, Z

__all__ = ["IDENTITY", "Image", "group", "mirror", "titles"]

SAME = 1e-9
MOST_TURNS = 36
TURNED = re.compile(r"turned (\d{1,2})")
WORDS = '"left_right", "front_back" or "turned N"'
MIDDLE_MM = 1e-6


@attrs.frozen
class Image:
    """A turn or a mirroring of the room about its upright middle; rows of its matrix."""

    rows: tuple[Vec, Vec, Vec]

    def way(self, v: Vec) -> Vec:
        """Where it carries a point or a direction."""
        return Vec(*(row @ v for row in self.rows))

    def plane(self, plane: Plane) -> Plane:
        return Plane(self.way(plane.normal), plane.at)

    @property
    def mirrors(self) -> bool:
        a, b, c = self.rows
        return (a ^ b) @ c < 0

    def after(self, first: Image) -> Image:
        """This one, after ``first``."""
        columns = [self.way(Vec(*column)) for column in zip(*first.rows, strict=True)]
        a, b, c = (Vec(*row) for row in zip(*columns, strict=True))
        return Image((a, b, c))

    def same(self, other: Image) -> bool:
        return all((a - b).length < SAME for a, b in zip(self.rows, other.rows, strict=True))


IDENTITY = Image((X, Y, Z))
_MIRRORS = {"left_right": Image((-X, Y, Z)), "front_back": Image((X, -Y, Z))}


def mirror(word: str) -> Image | None:
    """The mirroring of that name; None for no name of one."""
    return _MIRRORS.get(word)


def group(words: Sequence[str]) -> tuple[Image, ...]:
    """Every image of a symmetry, the piece itself first; PieceError for a word that is none."""
    found = [IDENTITY]
    makers = [_image(word) for word in words]
    grown = True
    while grown:
        grown = False
        for maker in makers:
            for known in list(found):
                new = maker.after(known)
                if not any(new.same(f) for f in found):
                    found.append(new)
                    grown = True
    return tuple(found)


def _image(word: str) -> Image:
    if word in _MIRRORS:
        return _MIRRORS[word]
    turned = TURNED.fullmatch(word)
    if turned is None or not 2 <= int(turned[1]) <= MOST_TURNS:
        allowed = f"{WORDS} with N from 2 to {MOST_TURNS}"
        raise PieceError.of("symmetry", "is no symmetry", shown(word), allowed)
    by = 2 * pi / int(turned[1])
    return Image((Vec(cos(by), -sin(by), 0.0), Vec(sin(by), cos(by), 0.0), Z))


def titles(name: str, middles: Sequence[Vec], turned: bool) -> list[str]:
    """What copies of a bar are called; middles: of their runs, the drawn one first.

    By where they stand, as "leg, back left"; of a turned symmetry by number, anticlockwise from
    above, the drawn one bare.
    """
    if len(middles) == 1:
        return [name]
    if not turned:
        words = [
            " ".join(
                word
                for at, low, high, differs in (
                    (m.y, "front", "back", _differ([p.y for p in middles])),
                    (m.x, "left", "right", _differ([p.x for p in middles])),
                )
                if differs and (word := low if at < 0 else high)
            )
            for m in middles
        ]
        if len(set(words)) == len(words):
            return [f"{name}, {w}" for w in words]
    start = atan2(middles[0].y, middles[0].x)
    at = [(atan2(m.y, m.x) - start) % (2 * pi) for m in middles]
    at = [0.0 if 2 * pi - a < SAME else a for a in at]
    order = sorted(range(len(at)), key=lambda i: (round(at[i], 9), i))
    return [name if order.index(i) == 0 else f"{name} {order.index(i) + 1}" for i in range(len(at))]


def _differ(values: Sequence[float]) -> bool:
    return max(values) - min(values) > MIDDLE_MM
