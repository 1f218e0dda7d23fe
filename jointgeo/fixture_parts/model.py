"""A part of a fixture: its figures, its checks and its shapes, ready to be marked out and routed.

Knows checks and plane geometry; no fixture and no drawing on paper. Shapes are in millimetres at
full size, u to the right and v up as ``seen_from`` says.
"""

from __future__ import annotations

from math import degrees
from typing import Any, Literal

import attrs

from jointgeo.geometry.flat import Point, Polygon
from jointgeo.geometry.swept import Bow, Stroke
from jointgeo.joints.check import Check, Verdict, unanswered, worst
from jointgeo.schema.fields import members

__all__ = [
    "ASSUMED",
    "Figure",
    "FixturePart",
    "Hole",
    "Layer",
    "Note",
    "Path",
    "Source",
    "Span",
    "closed",
]

#: from the fixture file: it stands there, and whether anybody measured it the file does not say.
#: asked: it was asked for. assumed: nobody said it.
Source = Literal["from the fixture file", "asked", "assumed", "worked out"]
ASSUMED = "common practice, no published source"

Layer = Literal["outline", "slot", "cut away", "hole", "trammel centre", "ghost", "measure"]


@attrs.frozen
class Figure:
    """A dimension. because: where an assumed one comes from, or what it means; "" for the rest."""

    name: str
    value: float
    unit: str
    source: Source
    because: str = ""

    @property
    def words(self) -> str:
        """The name without its unit, in words."""
        stem = self.name.removesuffix("_mm").removesuffix("_deg").removesuffix("_nm")
        return stem.replace("_", " ")

    def to_dict(self) -> dict[str, Any]:
        return members(self)


@attrs.frozen
class Path:
    """A chain of pieces, closed or not."""

    layer: Layer
    pieces: tuple[Stroke | Bow, ...]
    name: str = ""

    def to_dict(self) -> dict[str, Any]:
        return {
            "layer": self.layer,
            "name": self.name,
            "pieces": [_piece(p) for p in self.pieces],
        }


@attrs.frozen
class Hole:
    """A round hole, or the mark of a place where its diameter is 0."""

    layer: Layer
    centre: Point
    diameter_mm: float
    name: str = ""

    def to_dict(self) -> dict[str, Any]:
        return members(self) | {"centre": list(self.centre)}


@attrs.frozen
class Note:
    """Words that stand beside a point."""

    at: Point
    words: str

    def to_dict(self) -> dict[str, Any]:
        return {"at": list(self.at), "words": self.words}


@attrs.frozen
class Span:
    """A dimension between two points. aside_mm: how far on paper its line stands to the left of
    the way from start to end."""

    start: Point
    end: Point
    words: str
    aside_mm: float = 9.0

    def to_dict(self) -> dict[str, Any]:
        return {"start": list(self.start), "end": list(self.end), "words": self.words}


@attrs.frozen
class FixturePart:
    """kind: its name among the parts. seen_from: which way a person looks at the drawing. measure:
    the one figure to measure before cutting, by its name among the figures; "" for none. steps:
    what to do, in order. cautions: what can hurt, or spoil the fixture. axes: what u and v are in
    the machine frame at zero; "" where they are the part's own."""

    kind: str
    title: str
    seen_from: str
    figures: tuple[Figure, ...]
    checks: tuple[Check, ...]
    shapes: tuple[Path | Hole, ...]
    notes: tuple[Note, ...] = ()
    spans: tuple[Span, ...] = ()
    measure: str = ""
    steps: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    axes: tuple[str, str] = ("Y", "Z")

    @property
    def status(self) -> Verdict:
        return worst(self.checks)

    def figure(self, name: str) -> Figure:
        """KeyError where there is none of that name."""
        for figure in self.figures:
            if figure.name == name:
                return figure
        raise KeyError(name)

    def __getitem__(self, name: str) -> float:
        """The value of a figure."""
        return self.figure(name).value

    def to_dict(self) -> dict[str, Any]:
        return {
            "kind": self.kind,
            "title": self.title,
            "seen_from": self.seen_from,
            "axes": list(self.axes),
            "status": self.status,
            "not_stated": unanswered(self.checks),
            "figures": [f.to_dict() for f in self.figures],
            "measure_before_cutting": self.measure,
            "checks": [c.as_dict() for c in self.checks],
            "shapes": [s.to_dict() for s in self.shapes],
            "notes": [n.to_dict() for n in self.notes],
            "spans": [s.to_dict() for s in self.spans],
            "steps": list(self.steps),
            "cautions": list(self.cautions),
        }


def closed(points: Polygon) -> tuple[Stroke, ...]:
    """A polygon's sides."""
    return tuple(Stroke(a, b) for a, b in zip(points, [*points[1:], points[0]], strict=True))


def _piece(piece: Stroke | Bow) -> dict[str, Any]:
    if isinstance(piece, Stroke):
        return {"from": list(piece.start), "to": list(piece.end)}
    return {
        "from": list(piece.start),
        "to": list(piece.end),
        "centre": list(piece.centre),
        "radius_mm": piece.radius,
        "turn_deg": degrees(piece.end_rad - piece.start_rad),
    }
