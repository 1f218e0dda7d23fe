"""One view of a joint with its parameters on it.

Knows views, dimension lines and drawings on paper; no joint type. Every dimension lies on the wood
that it measures, moved aside where another lies already, and is named in a column beside the view,
so that no words run over the drawing or each other. Where a parameter has a sign a small arrow with
+ beside its line shows which way is positive.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import attrs
import numpy as np

from jointgeo.geometry.vectors import Vec
from jointgeo.joints.dimension_lines import Arc, Line
from jointgeo.sheet.dimension import (
    Callouts,
    arc,
    arc_points,
    arrow,
    outside_mm,
    sloping,
    tail_mm,
)
from jointgeo.sheet.edge_drawing import Shown, draw_edges, named_at
from jointgeo.sheet.lettering import READ, Measure
from jointgeo.sheet.outline import View
from jointgeo.sheet.parameter_views import ParameterView
from jointgeo.sheet.plane import Array
from jointgeo.sheet.svg import Drawing
from jointgeo.sheet.words import broken

__all__ = ["Label", "view_drawing"]

#: On paper, for letters of 4.9 mm.
OFFSETS = (0.0, 5.0, -5.0, 10.0, -10.0, 15.0, -15.0, 20.0, -20.0, 25.0, -25.0)
RADII = (20.0, 27.0, 34.0, 14.0, 41.0)
ALONG_MM = 1.5  # nearer than this, and longer than this, to an edge of the wood
CLEAR = 3.8  # between one dimension and another
PLUS_MM = 7.0  # the arrow that shows the positive way
PLUS_ARM_MM = 1.3
STILL_DEG = 0.05  # less than this is drawn as nothing
NAMED = 30  # letters in a line over a view


@attrs.frozen
class Label:
    """lines: the parameter's name, and its value as it is written. less: what is said at the
    length that is taken off, if one is."""

    lines: tuple[str, ...]
    less: str = ""


@attrs.define(eq=False)
class _Paper:
    """A view as it is drawn: where points of the world lie, and what is taken already."""

    drawing: Drawing
    view: View
    scale: float
    edges: Array  # (n, 2, 2), seen ones
    targets: list[tuple[Array, str, bool]] = attrs.field(factory=list)
    taken: list[Array] = attrs.field(factory=list)

    def gap(self, at_full_mm: float) -> float:
        """As ``Measure.of``."""
        return self.drawing.measure.of(at_full_mm)

    def at(self, point: Vec) -> Array:
        return np.array(self.view.flat(point)) * [self.scale, -self.scale]

    def way(self, way: Vec) -> Array:
        """A direction, of length 1 on paper."""
        flat = np.array(self.view.flat(way)) * [1.0, -1.0]
        return np.asarray(flat / np.hypot(*flat))

    def free(self, chain: Array) -> bool:
        """Whether a chain of points keeps clear of all that is drawn."""
        if not self.taken:
            return True
        return _apart(_dense(chain), np.concatenate(self.taken)) >= self.gap(CLEAR)

    def on_an_edge(self, a: Array, b: Array) -> bool:
        """Whether a line runs along an edge of the wood and would be lost in it."""
        start, way = self.edges[:, 0], self.edges[:, 1] - self.edges[:, 0]
        long = np.hypot(way[:, 0], way[:, 1])
        shown = long >= ALONG_MM
        start, long = start[shown], long[shown]
        way = way[shown] / long[:, None]
        ends = np.array([a, b])[:, None] - start  # (2, n, 2)
        off = np.abs(ends[..., 1] * way[:, 0] - ends[..., 0] * way[:, 1]).max(axis=0)
        along = np.sort((ends * way).sum(axis=-1), axis=0)
        common = np.minimum(along[1], long) - np.maximum(along[0], 0.0)
        return bool(np.any((off < ALONG_MM) & (common > ALONG_MM)))

    def take(self, chain: Array) -> None:
        self.taken.append(_dense(chain))


def _dense(chain: Array) -> Array:
    """Points of a chain no more than a millimetre and a half apart."""
    ways = np.diff(chain, axis=0)
    steps = np.ceil(np.hypot(ways[:, 0], ways[:, 1]) / 1.5).astype(int).clip(1)
    which = np.repeat(np.arange(len(ways)), steps)
    before = np.cumsum(steps) - steps
    parts = (np.arange(1, len(which) + 1) - before[which]) / steps[which]
    return np.concatenate([chain[:1], chain[which] + ways[which] * parts[:, None]])


def _apart(a: Array, b: Array) -> float:
    x, y = (a[:, None, i] - b[None, :, i] for i in (0, 1))
    return float(np.sqrt((x * x + y * y).min()))


def view_drawing(
    view: ParameterView,
    bars: Sequence[Shown],
    labels: Mapping[str, Label],
    scale: float,
    measure: Measure = READ,
) -> Drawing:
    """A view with the parameters shown in it."""
    d = Drawing(view.says, "", measure)
    draw_edges(d, bars, scale)
    seen = [e.between(s) for bar in bars for e in bar.edges for s in e.seen]
    paper = _Paper(d, view.view, scale, np.array(seen) * [scale, -scale])
    lines = [(name, s) for name, s in view.shown.items() if isinstance(s, Line)]
    for name, shape in view.shown.items():
        if isinstance(shape, Arc):
            _angle(paper, shape, labels[name])
    # The shorter ones first: a long one has more room to go aside.
    for name, line in sorted(lines, key=lambda item: (item[1].end - item[1].start).length):
        _length(paper, line, labels[name])
    _named(paper, bars)
    _over(paper, view.says)
    return d


# Lengths -------------------------------------------------------------------------------------


def _length(paper: _Paper, line: Line, label: Label) -> None:
    middle = _between(paper, line.start, line.end, line.way, signed=line.signed)
    paper.targets.append((middle, "\n".join(label.lines), False))
    if line.minus is not None:
        middle = _between(paper, *line.minus, line.way, signed=False)
        paper.targets.append((middle, label.less, False))


def _between(paper: _Paper, start: Vec, end: Vec, way: Vec, *, signed: bool) -> Array:
    """The dimension line, moved aside to where there is room for it; its middle."""
    a, b, along = paper.at(start), paper.at(end), paper.way(way)
    beside = np.array([-along[1], along[0]])
    aways = [paper.gap(k) for k in OFFSETS]
    room = [(_taking(paper, a + beside * k, b + beside * k, along, signed), k) for k in aways]
    clear = (
        (chain, k)
        for chain, k in room
        if paper.free(chain) and not paper.on_an_edge(a + beside * k, b + beside * k)
    )
    chain, offset = next(clear, room[0])
    paper.take(chain)
    off = beside * offset
    middle = sloping(paper.drawing, a, b, off, "length", along)
    if signed:
        _plus(
            paper, a + off + beside * paper.gap(3) + along * np.array([[0.0], [paper.gap(PLUS_MM)]])
        )
    return middle


def _taking(paper: _Paper, a: Array, b: Array, along: Array, signed: bool) -> Array:
    """What a dimension line takes of the paper, with its tails and the arrow of its sign."""
    run = float((b - a) @ along)
    low, high = min(0.0, run), max(0.0, run)
    tail = tail_mm(paper.drawing.measure)
    if abs(run) < outside_mm(paper.drawing.measure):
        low, high = low - tail, high + tail
    ends: Array = a + along * np.array([[low], [high]])
    if not signed:
        return ends
    beside = np.array([-along[1], along[0]])
    arrow_mm = paper.gap(PLUS_MM + 4)
    return np.concatenate([ends, (a + beside * paper.gap(3)) + along * [[arrow_mm], [0.0]]])


def _plus(paper: _Paper, chain: Array) -> None:
    """An arrow along a chain of points, and a plus beyond its tip."""
    d, way = paper.drawing, chain[-1] - chain[-2]
    d.lines(chain, "thin", mark="positive")
    arrow(d, chain[-1], way)
    middle = chain[-1] + way / np.hypot(*way) * paper.gap(3)
    # Drawn, since letters would blot out what lies under them.
    long = paper.gap(PLUS_ARM_MM)
    for arm in ([long, 0.0], [0.0, long]):
        d.line(middle - arm, middle + arm, "outline", mark="plus")


# Angles --------------------------------------------------------------------------------------


def _angle(paper: _Paper, shape: Arc, label: Label) -> None:
    d, at = paper.drawing, paper.at(shape.at)
    start, turn, sign = _turning(paper, shape)
    still = abs(turn) < STILL_DEG
    radii = [paper.gap(r) for r in RADII]
    sweeps = ((r, at + _sweep(paper, r, start, turn, sign)) for r in radii)
    radius = next((r for r, sweep in sweeps if paper.free(sweep)), radii[0])
    for angle in (start,) if still else (start, start + turn):
        arm = _arm(angle) * (radius + paper.gap(9))
        d.line(at, at + arm, "centre", mark="arm")
        paper.take(np.array([at + arm * 0.5, at + arm]))
    paper.take(at + _sweep(paper, radius, start, turn, sign))
    _plus(paper, at + _positive(paper, radius, start, sign))
    middle = at + _arm(start) * radius
    if not still:
        middle = arc(d, at, radius, start, start + turn, mark="angle")
        _outside(paper, at, radius, start, turn)
    paper.targets.append((middle, "\n".join(label.lines), False))


def _turning(paper: _Paper, shape: Arc) -> tuple[float, float, float]:
    """On paper, positive towards its top: where the angle begins, how far it goes, and the sign of
    its positive way."""
    start, end = (np.array(paper.view.flat(w)) for w in (shape.start, shape.end))
    towards = np.array(paper.view.flat(shape.towards))
    sign = float(np.sign(start[0] * towards[1] - start[1] * towards[0]))
    turn = np.arctan2(start[0] * end[1] - start[1] * end[0], start @ end)
    return float(np.degrees(np.arctan2(start[1], start[0]))), float(np.degrees(turn)), sign


def _arm(angle_deg: float) -> Array:
    return np.array([np.cos(np.radians(angle_deg)), -np.sin(np.radians(angle_deg))])


def _positive(paper: _Paper, radius: float, start: float, sign: float) -> Array:
    """From the first arm, beyond the arc, the way that is positive."""
    beyond = radius + paper.gap(5)
    return arc_points(beyond, start, start + sign * np.degrees(paper.gap(PLUS_MM) / beyond))


def _sweep(paper: _Paper, radius: float, start: float, turn: float, sign: float) -> Array:
    positive = _positive(paper, radius, start, sign)
    return np.concatenate([arc_points(radius, start, start + turn), positive])


def _outside(paper: _Paper, at: Array, radius: float, start: float, turn: float) -> None:
    """Heads from outside where the arc is too short to hold them."""
    if radius * np.radians(abs(turn)) > outside_mm(paper.drawing.measure) * 0.75:
        return
    tail = np.copysign(np.degrees(tail_mm(paper.drawing.measure) / radius), turn)
    for tip, away in ((start, start - tail), (start + turn, start + turn + tail)):
        chain = at + arc_points(radius, away, tip)
        paper.drawing.lines(chain, "thin")
        arrow(paper.drawing, chain[-1], chain[-1] - chain[-2])


# Names ---------------------------------------------------------------------------------------


def _named(paper: _Paper, bars: Iterable[Shown]) -> None:
    """Bars and dimensions in the two columns, as many in one as in the other."""
    d, labels = paper.drawing, Callouts(paper.drawing.measure)
    left, top, right, bottom = d.box
    middle = (left + right) / 2
    names = [(named_at(bar, paper.scale, middle), bar.name, True) for bar in bars]
    wanted = [*paper.targets, *names]
    wanted.sort(key=lambda item: float(item[0][0]))
    lines = [item[1].count("\n") + 1 for item in wanted]
    for i, (at, words, bold) in enumerate(wanted):
        column = "left" if sum(lines[: i + 1]) <= (sum(lines) + 1) / 2 else "right"
        labels.add(column, at, words, bold)
    room = max(bottom - top - d.measure.line_mm, labels.height("left"), labels.height("right"))
    middle = (top + bottom) / 2
    labels.draw(d, left - paper.gap(3), right + paper.gap(3), middle - room / 2, middle + room / 2)


def _over(paper: _Paper, says: str) -> None:
    """The view in words, over it."""
    d = paper.drawing
    left, top, right, _ = d.box
    lines = broken(says, NAMED).split("\n")
    for i, line in enumerate(reversed(lines)):
        at = [(left + right) / 2, top - d.measure.line_mm * (i + 0.8)]
        d.text(at, line, anchor="middle", bold=True)
