"""Which views show the parameters of a joint, and which parameter stands in which.

Knows dimensions' lines and drawings of joints; draws nothing, and knows no joint type. A length is
seen true in a view square to it, an angle along the direction that it is seen in. Angles choose the
first views, lengths go where there is a view already; one view holds so many that none is crowded.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import attrs

from jointgeo.geometry.vectors import Vec
from jointgeo.joints.dimension_lines import Arc, Drawn, Line
from jointgeo.joints.drawing import Drawing
from jointgeo.joints.sides import in_words
from jointgeo.sheet.outline import View
from jointgeo.sheet.words import listed

__all__ = ["MOST", "ParameterView", "views"]

MOST = 6  # dimensions in one view
TRUE = 1e-6  # sine; what is shown no more askew than this is shown true
END_ON = 0.95  # cosine, nearer to which a bar shows little more than its end
NEARLY = 0.7  # cosine of 45°
SIDES = ("face_side", "face_edge", "back", "back_edge")


@attrs.frozen(eq=False)
class ParameterView:
    """A view, in words too, and what is shown in it by the parameters' names."""

    view: View
    says: str
    shown: Mapping[str, Drawn]


@attrs.define(eq=False)
class _Open:
    towards: Vec
    shown: dict[str, Drawn] = attrs.field(factory=dict)

    def shows(self, found: Drawn) -> bool:
        return len(self.shown) < MOST and _true(found, self.towards)


def views(drawing: Drawing, found: Mapping[str, Drawn]) -> tuple[ParameterView, ...]:
    """Views that together show everything found once."""
    opened: list[_Open] = []
    angles_first = sorted(found.items(), key=lambda item: isinstance(item[1], Line))
    for i, (name, shape) in enumerate(angles_first):
        there = next((v for v in opened if v.shows(shape)), None)
        if there is None:
            rest = [s for _, s in angles_first[i:]]
            there = _Open(_best(drawing, shape, rest))
            opened.append(there)
        there.shown[name] = shape
    # Each view lists its parameters as the joint type does.
    return tuple(
        ParameterView(
            View.along(v.towards, _up(drawing, v)),
            _says(drawing, v.towards),
            {name: v.shown[name] for name in found if name in v.shown},
        )
        for v in opened
    )


def _true(shape: Drawn, towards: Vec) -> bool:
    """Whether a view from there shows it as large as it is."""
    if isinstance(shape, Arc):
        return (shape.seen ^ towards).length < TRUE
    lengths = [(shape.start, shape.end), *([shape.minus] if shape.minus else [])]
    ways = [shape.way, *((b - a).unit for a, b in lengths if (b - a).length > TRUE)]
    return all(abs(way @ towards) < TRUE for way in ways)


def _best(drawing: Drawing, shape: Drawn, rest: Sequence[Drawn]) -> Vec:
    """The direction that shows it, and of those the one that shows most of what is left."""
    if isinstance(shape, Arc):
        return shape.seen
    square = [way for way in _directions(drawing) if _true(shape, way)]
    if not square:
        least = min(_directions(drawing), key=lambda way: abs(way @ shape.way))
        return least.across(shape.way).unit
    return max(square, key=lambda way: sum(_true(s, way) for s in rest))


def _directions(drawing: Drawing) -> Iterator[Vec]:
    """Square to the bars' sides, along them, and along the feed of every cut."""
    for bar in drawing.bars:
        yield from (bar.face, bar.edge, bar.grain)
    for notch in drawing.notches:
        yield notch.end.normal ^ notch.across


def _up(drawing: Drawing, opened: _Open) -> Vec:
    """Up on paper: with the first bar's cut end at the top, or its face edge at the bottom.

    Upright is what an angle is counted from, if that is nearly so; else a bar's side or length.
    """
    cut = {notch.bar for notch in drawing.notches}
    first = next((bar for bar in drawing.bars if bar.name in cut), drawing.bars[0])
    end = -first.grain
    if abs(end @ opened.towards) > END_ON:
        end = -first.edge
    angles = [shape.start for shape in opened.shown.values() if isinstance(shape, Arc)]
    near = [way for way in angles if abs(way @ end) > NEARLY]
    ways = near or [way for way in _directions(drawing) if abs(way @ opened.towards) < TRUE]
    return max((w for way in ways for w in (way, -way)), key=lambda way: way @ end, default=end)


def _says(drawing: Drawing, towards: Vec) -> str:
    """The view in words."""
    for bar in drawing.bars:
        for side in SIDES:
            if (bar.side(side).normal - towards).length < TRUE:
                return f"{bar.name}: {in_words(side)} towards you"
    for bar in drawing.bars:
        if (bar.grain ^ towards).length < TRUE:
            return f"{bar.name}: seen along its length"
    for notch in drawing.notches:
        if ((notch.end.normal ^ notch.across) ^ towards).length < TRUE:
            return f"{notch.bar}: seen along its {notch.name}"
    square = [bar.name for bar in drawing.bars if abs(bar.grain @ towards) < TRUE]
    return f"seen square to {listed(square)}" if square else "seen at an angle"
