"""The stock as clamped, seen as you stand facing the plate: X to the right, Z up.

Knows scenes, canvases and dimensions; no joint type.
"""

from __future__ import annotations

import numpy as np

from jointgeo.joints.sides import in_words
from jointgeo.sheet.canvas import Canvas, Room, fitted, scale_words
from jointgeo.sheet.clamped import FULL, OWN, inside, levels, stock_and_waste
from jointgeo.sheet.dimension import Callouts, arc, down
from jointgeo.sheet.plane import Array, hull
from jointgeo.sheet.scene import FACING, Scene, corners_between
from jointgeo.sheet.svg import Drawing
from jointgeo.sheet.words import broken, mm, picture_figure
from jointgeo.solution.axis import axis_setting

__all__ = ["facing"]

_TO_YOU = np.array([0.0, -1.0, 0.0])
#: Rank of the labels of the fixture's bodies, which are left out before others.
BODY = 3


def facing(scene: Scene, nearest_edge: str, room: Room = FULL) -> Drawing:
    """The view along +Y, at the largest scale that goes into ``room``.

    nearest_edge: the long edge at the touch-off corner, as the settings name it.
    """
    low, high = _window(scene)
    return fitted(
        lambda scale: _drawn(
            scene, nearest_edge, Canvas(_titled(scene, scale, room), scale, low, high)
        ),
        room,
        (float(high[0] - low[0]), float(high[1] - low[1])),
    )


def _titled(scene: Scene, scale: float, room: Room) -> Drawing:
    bench = scene.bench
    return Drawing(
        f"Facing the plate, {scale_words(scale)}",
        f"The stock as you face the plate, {in_words(bench.sides['you'])} towards you, "
        f"{in_words(bench.sides['plate'])} on the plate, "
        f"{in_words(bench.sides[scene.fixture.fence.side])} against the fence; "
        f"{_swivel_words(scene, ' ')}.",
        room.measure,
    )


def _drawn(scene: Scene, nearest_edge: str, canvas: Canvas) -> Drawing:
    d, scale, gap = canvas.drawing, canvas.scale, canvas.drawing.measure.of
    labels = Callouts(d.measure)
    _behind(canvas, scene, labels)
    stock_and_waste(canvas, scene, FACING, _TO_YOU)
    _cuts(canvas, scene)
    _in_front(canvas, scene, labels)
    _axes(canvas, scene, labels)
    _swivel(canvas, scene, labels)
    _stock_labels(canvas, scene, labels, nearest_edge)
    datum = _datum(canvas, scene, labels)
    # Labels stand on the plate beside the stock; where there is no room, outside the picture.
    busy = np.concatenate([scene.fence[:, 0], scene.pieces["stock"].corners[:, 0]]) * scale
    left = min(canvas.left + gap(3) + labels.width("left"), float(busy.min()) - gap(6))
    right = max(canvas.right - gap(3) - labels.width("right"), float(busy.max()) + gap(6))
    if datum is not None:
        _heights(canvas, scene, datum, max(canvas.right, right + labels.width("right")) + gap(8))
    labels.draw(d, left, right, canvas.top + gap(6), canvas.bottom - gap(4))
    return d


def _swivel_words(scene: Scene, break_: str) -> str:
    chosen = scene.bench.setup.chosen
    swivel = axis_setting(scene.fixture, "swivel", chosen.swivel_deg, scene.held)
    if swivel.differs:
        return picture_figure(swivel, break_)
    if not swivel.way:
        return "swivel at zero"
    comma = "" if break_ == "\n" else ","
    return f"swivel {swivel.angle_deg:.3f}°{comma}{break_}{swivel.way}"


def _window(scene: Scene) -> tuple[Array, Array]:
    low, high = levels(scene)
    sides = [scene.pieces[name].corners[:, 0] for name in ("plate", "stock")]
    sides.append(scene.fence[:, 0])
    left = min(float(s.min()) for s in sides)
    right = max(float(s.max()) for s in sides)
    return np.array([left - 8.0, low]), np.array([right + 8.0, high])


def _column(canvas: Canvas, outline: Array) -> str:
    """The side of the picture an outline lies on."""
    return "left" if outline[:, 0].mean() < (canvas.low[0] + canvas.high[0]) / 2 else "right"


def _behind(canvas: Canvas, scene: Scene, labels: Callouts) -> None:
    """Plate, backing and fence, and the fixture's bodies that go with them."""
    plate = scene.pieces["plate"].outline(FACING)
    bottom = plate[np.argsort(plate[:, 1])[:2]]
    board = scene.pieces.get("backing")
    if board is None:
        canvas.area(plate, fill="white")
    else:
        outline = board.outline(FACING)
        canvas.area(outline, fill="white")
        canvas.area(plate, "hidden")
        lower = outline[np.argsort(outline[:, 1])[:2]]
        labels.add("right", canvas.at(lower), "backing board", rank=1)
    labels.add("left", canvas.at(bottom), "plate's lower edge", rank=2)
    for name, piece in scene.pieces.items():
        if name not in OWN:
            outline = piece.outline(FACING)
            canvas.area(outline, "thin", fill="white")
            if len(canvas.clip(outline)):
                shown = canvas.at(canvas.clip(outline))
                labels.add(_column(canvas, outline), shown, name, rank=BODY)
    _fence(canvas, scene, labels)


def _fence(canvas: Canvas, scene: Scene, labels: Callouts) -> None:
    """The working face, with short strokes on the side away from the stock."""
    a, b = scene.fence[:, FACING]
    canvas.segment(a, b, "heavy", mark="fence")
    away, gap = -1.0 if scene.fixture.fence.side == "left" else 1.0, canvas.drawing.measure.of
    long = float(np.hypot(*(b - a)))
    along = (b - a) / long
    stroke = (away * np.array([along[1], -along[0]]) - along) * gap(2.5) / canvas.scale
    for k in np.arange(gap(2.0) / canvas.scale, long, gap(4.0) / canvas.scale):
        canvas.segment(a + k * along, a + k * along + stroke, "thin")
    held = in_words(scene.bench.sides[scene.fixture.fence.side])
    labels.add(scene.fixture.fence.side, canvas.at(a + 0.45 * (b - a)), f"fence:\n{held} on it")


def _cuts(canvas: Canvas, scene: Scene) -> None:
    """What the cuts take, hatched, at their places on the machine."""
    setup, z = scene.bench.setup, scene.trim_z
    for cut in setup.cuts:
        x = setup.corner_x_mm
        low = np.maximum([x + cut.left_mm, z], canvas.low)
        high = np.minimum([x + cut.right_mm, z + cut.depth_mm], canvas.high)
        if np.all(low < high):
            window = Canvas(canvas.drawing, canvas.scale, low, high)
            canvas.area(
                window.clip(scene.pieces["stock"].outline(FACING)),
                "thin",
                hatch=canvas.drawing.measure.of(1.2),
            )


def _in_front(canvas: Canvas, scene: Scene, labels: Callouts) -> None:
    """Front beams in long-dashed lines, for you look through them; fixed bodies; the cutter."""
    fixture, setup = scene.fixture, scene.bench.setup
    left, right = float(canvas.low[0]), float(canvas.high[0])
    for beam in fixture.fitted_beams:
        for z in (beam.z_min_mm, beam.z_max_mm):
            canvas.segment([left, z], [right, z], "phantom")
        middle = beam.z_min_mm * 0.35 + min(beam.z_max_mm, scene.trim_z) * 0.65
        labels.add("left", canvas.at([[left, middle], [right, middle]]), f"{beam.name},\nin front")
    for body in fixture.body:
        outline = hull(corners_between(body.low, body.high)[:, FACING])
        if body.fixed_to == "traverse" and canvas.holds(outline.mean(axis=0)):
            canvas.area(outline, "thin")
            labels.add(_column(canvas, outline), canvas.at(outline), body.name, rank=BODY)
    x1 = setup.corner_x_mm if setup.cuts else float(scene.end[:, 0].min())
    x0, z0, z1 = x1 - setup.cutter.kerf_mm, float(canvas.low[1]), scene.trim_z
    cutter = np.array([[x0, z0], [x1, z0], [x1, z1], [x0, z1]])
    canvas.area(cutter, fill="white", mark="cutter")
    where = "\nat travel zero" if setup.cuts else ""
    low_part = np.array([[x0, z0], [x1, z0], [x1, (2 * z0 + z1) / 3], [x0, (2 * z0 + z1) / 3]])
    labels.add("left", canvas.at(low_part), setup.cutter.name + where)


def _axes(canvas: Canvas, scene: Scene, labels: Callouts) -> None:
    """Swivel pivot and hinge line, of those that are there."""
    if not scene.fixture.swivel.lacking:
        _pivot(canvas, scene, labels)
    if not scene.fixture.tilt.lacking:
        ends = [[canvas.low[0], scene.hinge[2]], [canvas.high[0], scene.hinge[2]]]
        canvas.segment(ends[0], ends[1], "centre", mark="hinge")
        labels.add("right", canvas.at(ends), "hinge line", rank=BODY + 1)


def _pivot(canvas: Canvas, scene: Scene, labels: Callouts) -> None:
    pivot = scene.carried(scene.pivot_at_zero[None, :], swivelled=True)[0][list(FACING)]
    gap = canvas.drawing.measure.of
    size = gap(3.0) / canvas.scale
    for step in ([size, 0.0], [0.0, size]):
        canvas.segment(pivot - step, pivot + step, "outline")
    canvas.drawing.circle(canvas.at(pivot), gap(1.5), "outline", mark="pivot")
    labels.add("right", canvas.at(pivot), "swivel pivot", rank=1)


def _swivel(canvas: Canvas, scene: Scene, labels: Callouts) -> None:
    """The swivel, between upright and the fence's working face."""
    foot, way = scene.fence[0, FACING], scene.fence[1, FACING] - scene.fence[0, FACING]
    long = 0.9 * float(canvas.high[1] - foot[1])
    column = scene.fixture.fence.side
    if abs(scene.bench.setup.chosen.swivel_deg) < 5e-4:
        labels.add(column, canvas.at(foot + way * 0.7), _swivel_words(scene, "\n"))
        return
    canvas.segment(foot, foot + np.array([0.0, long * 1.08]), "centre")
    angle = float(np.degrees(np.arctan2(way[1], way[0])))
    middle = arc(canvas.drawing, canvas.at(foot), long * canvas.scale, 90.0, angle, mark="swivel")
    labels.add(column, middle, _swivel_words(scene, "\n"))


def _stock_labels(canvas: Canvas, scene: Scene, labels: Callouts, nearest_edge: str) -> None:
    sides = scene.bench.sides
    other = "right" if scene.fixture.fence.side == "left" else "left"
    outline = canvas.clip(scene.pieces["stock"].outline(FACING))
    z = 0.5 * (scene.trim_z + scene.bench.setup.depth_mm) + 0.5 * float(outline[:, 1].max())
    labels.add(other, canvas.at(inside(outline, z, 0.5)), f"{in_words(sides['you'])}\ntowards you")
    z -= canvas.drawing.measure.of(14.0) / canvas.scale
    edge_at = inside(outline, z, 1.0 if other == "right" else 0.0)
    labels.add(other, canvas.at(edge_at), in_words(sides[other]))
    if scene.bench.setup.cuts:
        corner = canvas.at(scene.touch_off[list(FACING)])
        canvas.drawing.circle(corner, canvas.drawing.measure.of(1.6), "outline", mark="touch-off")
        labels.add("left", corner, "touch off here:\n" + in_words(nearest_edge))


def _datum(canvas: Canvas, scene: Scene, labels: Callouts) -> float | None:
    """The line cutter heights are counted from; None where it lies too low for the paper."""
    scale = scene.fixture.cutter_height
    if scale.datum_z_mm < canvas.low[1]:
        return None
    ends = np.array([[x, scale.datum_z_mm] for x in (canvas.low[0], canvas.high[0])])
    canvas.segment(ends[0], ends[1], "thin", mark="datum")
    labels.add("right", canvas.at(ends), "height 0:\n" + broken(scale.datum))
    return scale.datum_z_mm


def _heights(canvas: Canvas, scene: Scene, datum: float, x: float) -> None:
    """Cutter heights above their datum, from ``x`` on the page to the right."""
    foot = canvas.at([canvas.high[0], datum])
    right = float(scene.end[:, 0].max())
    depths = sorted({c.depth_mm for c in scene.bench.setup.cuts})[:3]
    tops = [("trim", scene.trim_z), *(("cut", scene.trim_z + v) for v in depths)]
    measure = canvas.drawing.measure
    for word, z in tops:
        words = f"{word} {mm(z - datum)}"
        down(canvas.drawing, foot, canvas.at([right, z]), x, words, mark="height")
        outside = measure.width(words) > (z - datum) * canvas.scale  # words at its right
        x += measure.of(9) + (measure.line_mm if outside else 0.0)
