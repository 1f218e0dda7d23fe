"""One end as it is cut: from above, and seen along the feed; what is taken away is hatched.

Knows scenes, canvases and dimensions; no joint type. Both views lie in the machine's
frame, one above the other and to one scale: X to the right; above, Y towards the plate;
below, the height over the trimmed end. Channels run square to the paper in the lower view,
so their widths and depths show true there. Figures under it are counted from the touch-off
corner, which is 0.
"""

from __future__ import annotations

import itertools

import attrs
import numpy as np

from jointgeo.joints.sides import in_words
from jointgeo.sheet.canvas import SCALES, Canvas, Room, fitted, scale_words
from jointgeo.sheet.clamped import box_lines
from jointgeo.sheet.dimension import down, ordinates
from jointgeo.sheet.plane import Array, between, spread
from jointgeo.sheet.scene import FACING, Scene
from jointgeo.sheet.svg import Drawing
from jointgeo.sheet.words import mm

__all__ = ["cut_end"]

FULL = Room(178.0, 180.0)
#: On paper, for letters of 4.9 mm: from the end of one view to the other's labels, and wood shown
#: above the cuts.
_APART, _ABOVE = 4.0, 14.0


def cut_end(scene: Scene, nearest_edge: str, room: Room = FULL) -> Drawing:
    """Both views at the largest scale that goes into ``room``; cuts numbered from the left.

    nearest_edge: the long edge at the touch-off corner, as the settings name it.
    """
    scales = SCALES if scene.bench.setup.cuts else SCALES[1:]
    high = float(np.ptp(scene.end[:, 1])) + scene.bench.setup.depth_mm
    model = float(np.ptp(scene.end[:, 0])), high
    return fitted(lambda scale: _drawn(scene, nearest_edge, scale, room), room, model, scales)


def _drawn(scene: Scene, nearest_edge: str, scale: float, room: Room) -> Drawing:
    cuts, sides = scene.bench.setup.cuts, scene.bench.sides
    fence = scene.fixture.fence.side
    number = f"{len(cuts)} cuts, numbered from the left" if len(cuts) != 1 else "one cut"
    d = Drawing(
        f"The end as cut, {scale_words(scale)}",
        f"Above: the trimmed end from above, {in_words(sides['plate'])} on the plate, "
        f"{in_words(sides[fence])} on the fence at the {fence}. Below: the same end facing the "
        f"plate, with {number}. Hatched wood is taken away"
        + ("; what is dashed is gone already" if scene.gone else "")
        + ". Figures in millimetres, "
        f"from the touch-off corner, nearest the edge {in_words(nearest_edge)}.",
        room.measure,
    )
    _profile(d, scene, scale, room.wide_mm)
    _from_above(d, scene, scale)
    return d


# Seen along the feed ------------------------------------------------------------------------


def _profile(d: Drawing, scene: Scene, scale: float, wide: float) -> None:
    """The trimmed end at page height 0, cuts above it, their numbers and places below."""
    setup, stock = scene.bench.setup, scene.pieces["stock"]
    lowered = attrs.evolve(stock, corners=stock.corners - [0.0, 0.0, scene.trim_z])
    up = np.array([0.0, 1.0])
    top = setup.depth_mm + d.measure.of(_ABOVE) / scale
    outline = between(lowered.outline(FACING), up, 0.0, top)
    low, high = outline.min(axis=0), outline.max(axis=0)
    canvas = Canvas(d, scale, [low[0] - 5, -1.0], [high[0] + 5, top])
    canvas.area(outline, mark="stock")
    above = attrs.evolve(canvas, low=[low[0] - 5, 0.0])
    box_lines(above, lowered, FACING, np.array([0.0, -1.0, 0.0]))
    x = setup.corner_x_mm
    for cut in setup.cuts:
        band = between(outline, [1.0, 0.0], x + cut.left_mm, x + cut.right_mm)
        band = between(band, up, 0.0, cut.depth_mm)
        if len(band) > 2:
            _waste(canvas, band)
    end = scene.end[:, 0]
    for a, b in _kept(float(end.min()), float(end.max()), scene):
        d.line([a * scale, 0.0], [b * scale, 0.0], "heavy", mark="end")
    if setup.cuts:
        _numbers(d, scene, scale, wide)
        _depths(d, scene, scale, float(high[0]))


def _waste(canvas: Canvas, band: Array) -> None:
    """Hatched; walls and floor as full lines, the mouth as a thin one."""
    d = canvas.drawing
    d.lines(canvas.at(band), "none", closed=True, fill="white", mark="cut")
    d.hatch(canvas.at(band), d.measure.of(1.6))
    for a, b in zip(band, np.roll(band, -1, axis=0), strict=True):
        mouth = max(abs(a[1]), abs(b[1])) < 1e-6
        d.line(canvas.at(a), canvas.at(b), "thin" if mouth else "outline")


def _kept(low: float, high: float, scene: Scene) -> list[tuple[float, float]]:
    """What the cuts leave of the end, left to right, machine X."""
    x = scene.bench.setup.corner_x_mm
    out, at = [], low
    for cut in scene.bench.setup.cuts:
        if x + cut.left_mm > at:
            out.append((at, min(x + cut.left_mm, high)))
        at = max(at, x + cut.right_mm)
    return [*out, (at, high)] if at < high else out


def _numbers(d: Drawing, scene: Scene, scale: float, wide: float) -> None:
    """Cut numbers in circles, and below them the places, all spread so that none touch."""
    setup, gap, line = scene.bench.setup, d.measure.of, d.measure.line_mm
    x = setup.corner_x_mm
    corner = x * scale
    mouths = [(x + (c.left_mm + c.right_mm) / 2) * scale for c in setup.cuts]
    room = max(mouths[-1] - mouths[0], 0.0) / 2 + gap(20)
    middle = (mouths[0] + mouths[-1]) / 2
    if (len(mouths) - 1) * gap(9) <= wide - gap(4):
        for i, (mouth, at) in enumerate(
            zip(mouths, spread(mouths, gap(9), middle - room, middle + room), strict=True), 1
        ):
            d.lines([[mouth, gap(1)], [mouth, gap(2.5)], [at, gap(5)]], "thin")
            d.circle([at, gap(9)], gap(4), "thin")
            d.text([at, gap(9)], str(i), anchor="middle", mark="number")
    wanted = [(corner, "0")]
    for c in setup.cuts:
        wanted += [(corner + v * scale, mm(v)) for v in (c.left_mm, c.right_mm)]
    if len(wanted) * line > wide - gap(20):
        d.text([middle, gap(18)], "places in the table", anchor="middle")
        return
    places = [at for at, _ in wanted]
    half = max(max(places) - min(places), len(wanted) * line) / 2 + gap(4)
    about = (max(places) + min(places)) / 2
    d.circle([corner, 0.0], gap(1.6), "outline", mark="touch-off")
    ordinates(d, wanted, gap(14), about - half, about + half)


def _depths(d: Drawing, scene: Scene, scale: float, right_mm: float) -> None:
    """Each depth once, at the right."""
    cuts, gap = scene.bench.setup.cuts, d.measure.of
    end = max(float(scene.end[:, 0].max()), right_mm) * scale
    for i, depth in enumerate(sorted({c.depth_mm for c in cuts})):
        right = max(scene.bench.setup.corner_x_mm + c.right_mm for c in cuts if c.depth_mm == depth)
        floor = [min(right, right_mm) * scale, -depth * scale]
        down(
            d, [end + gap(1), 0.0], floor, end + gap(9) * (1 + i), f"deep {mm(depth)}", mark="depth"
        )


# From above ---------------------------------------------------------------------------------


def _from_above(d: Drawing, scene: Scene, scale: float) -> None:
    """The end over the other view, sides named."""
    end, gap = scene.end, d.measure.of
    below = scene.bench.setup.depth_mm * scale + gap(_ABOVE + _APART + 7) + 2 * d.measure.line_mm
    lift = np.array([0.0, below / scale - end[:, 1].min()])
    canvas = Canvas(d, scale, end.min(axis=0) + lift - 5, end.max(axis=0) + lift + 5)
    canvas.area(end + lift, fill="white", mark="end")
    for polygon in scene.waste:
        if len(polygon) > 2:
            canvas.area(polygon + lift, "thin", fill="white", hatch=gap(1.6), mark="waste")
    for polygon in scene.gone:
        canvas.area(polygon + lift, "hidden", fill="white", mark="gone")
    canvas.area(end + lift)
    if scene.gone:
        largest = max(scene.gone, key=lambda p: float(np.ptp(p, axis=0).prod()))
        room = np.ptp(largest, axis=0) * scale
        if room[0] > d.measure.width("gone") and room[1] > d.measure.line_mm:
            d.text(canvas.at(largest.mean(axis=0) + lift), "gone", anchor="middle")
    if scene.bench.setup.cuts:
        d.circle(canvas.at(scene.touch_off[:2] + lift), gap(1.6), "outline", mark="touch-off")
    _sides(d, scene, canvas.at(end + lift), -below)


def _sides(d: Drawing, scene: Scene, end: Array, low: float) -> None:
    """The marked sides: the plate's above the end, the others in a row below it."""
    sides, fence, gap = scene.bench.sides, scene.fixture.fence.side, d.measure.of
    middles = (end + np.roll(end, -1, axis=0)) / 2
    top = middles[int(np.argmin(middles[:, 1]))]
    d.text(
        [top[0], end[:, 1].min() - gap(4.5)],
        f"{in_words(sides['plate'])}, on the plate",
        anchor="middle",
    )
    row = [
        (middles[int(np.argmin(middles[:, 0]))], "left"),
        (middles[int(np.argmax(middles[:, 1]))], "you"),
        (middles[int(np.argmax(middles[:, 0]))], "right"),
    ]
    extra = {"you": "towards you", fence: "on the fence"}
    words = [[in_words(sides[who]), *([extra[who]] if who in extra else [])] for _, who in row]
    wide = [max(map(d.measure.width, lines)) for lines in words]
    steps = [(a + b) / 2 + gap(3) for a, b in itertools.pairwise(wide)]
    middle = float(end[:, 0].mean())
    reach = max(float(np.ptp(end[:, 0])) / 2, sum(steps) / 2 + gap(2))
    places = spread([float(p[0]) for p, _ in row], steps, middle - reach, middle + reach)
    for (target, _), lines, x in zip(row, words, places, strict=True):
        d.lines([[x, low + gap(4.5)], target], "thin")
        d.dot(target, gap(0.6))
        for i, line in enumerate(lines):
            d.text([x, low + gap(8) + i * d.measure.line_mm], line, anchor="middle")
