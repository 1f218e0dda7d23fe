"""The stock as clamped, seen from the side: you look along -X and would stand at the left.

Knows scenes, canvases and dimensions; no joint type. Y runs to the right, away from you,
and Z up; the plate is at the right.
"""

from __future__ import annotations

import numpy as np

from jointgeo.fixtures.model import FrontBeam
from jointgeo.joints.sides import in_words
from jointgeo.sheet.canvas import Canvas, Room, fitted, scale_words
from jointgeo.sheet.clamped import FULL, OWN, inside, levels, stock_and_waste
from jointgeo.sheet.dimension import Callouts, across, arc, arrow, sloping
from jointgeo.sheet.plane import Array
from jointgeo.sheet.scene import FROM_SIDE, Scene
from jointgeo.sheet.svg import Drawing
from jointgeo.sheet.words import mm, picture_figure
from jointgeo.solution.axis import AxisSetting, axis_setting

__all__ = ["from_the_side"]

_TO_YOU = np.array([1.0, 0.0, 0.0])
#: How much of a beam is shown behind its face; its depth is not in the fixture file.
_BEAM_SHOWN = 30.0


def from_the_side(scene: Scene, room: Room = FULL) -> Drawing:
    """The view along -X, at the largest scale that goes into ``room``."""
    low, high = _window(scene)
    return fitted(
        lambda scale: _drawn(scene, Canvas(_titled(scene, scale, room), scale, low, high)),
        room,
        (float(high[0] - low[0]), float(high[1] - low[1])),
    )


def _titled(scene: Scene, scale: float, room: Room) -> Drawing:
    sides = scene.bench.sides
    return Drawing(
        f"From the side, {scale_words(scale)}",
        f"The stock from the side, {in_words(sides['you'])} towards you at the left, "
        f"{in_words(sides['plate'])} on the plate at the right; {_tilt_words(scene)}. "
        + " ".join(_beam_sentence(scene, b) for b in scene.fixture.fitted_beams),
        room.measure,
    )


def _drawn(scene: Scene, canvas: Canvas) -> Drawing:
    d, gap = canvas.drawing, canvas.drawing.measure.of
    labels = Callouts(d.measure)
    _plate(canvas, scene, labels)
    stock_and_waste(canvas, scene, FROM_SIDE, _TO_YOU)
    _packing(canvas, scene, labels)
    _floors(canvas, scene, labels)
    for beam in scene.fixture.front_beam:
        _beam(canvas, scene, beam, labels)
    feed = _cutter(canvas, scene, labels)
    _tilt(canvas, scene, labels)
    _overhang(canvas, scene, labels)
    front = inside(scene.pieces["stock"].outline(FROM_SIDE), _middle(canvas, scene), 0.0)
    labels.add("left", canvas.at(front), f"{in_words(scene.bench.sides['you'])}\ntowards you")
    sides = min(canvas.left, feed) - gap(2), canvas.right + gap(2)
    labels.draw(d, *sides, canvas.top + gap(4), canvas.bottom - gap(4))
    return d


def _middle(canvas: Canvas, scene: Scene) -> float:
    """A height well up the stock and the plate, clear of what happens at the end."""
    return 0.5 * (scene.trim_z + scene.bench.setup.depth_mm) + 0.5 * float(canvas.high[1])


def _tilt_words(scene: Scene) -> str:
    tilt = _axis(scene)
    if tilt.differs:
        return picture_figure(tilt, " ")
    return f"tilt {tilt.angle_deg:.3f}°, {tilt.way}" if tilt.way else "tilt at zero"


def _axis(scene: Scene) -> AxisSetting:
    return axis_setting(scene.fixture, "tilt", scene.bench.setup.chosen.tilt_deg, scene.held)


def _beam_sentence(scene: Scene, beam: FrontBeam) -> str:
    found = scene.foremost(beam)
    if found is None:
        return f"Nothing stands at the height of the {beam.name}."
    gap = float(found[1][0]) + beam.face_distance_mm
    if gap < 0:
        return f"The {found[0]} fouls the {beam.name} by {mm(-gap)} mm."
    return f"The gap between {found[0]} and {beam.name} is {mm(gap)} mm."


def _window(scene: Scene) -> tuple[Array, Array]:
    low, high = levels(scene)
    shown = [scene.pieces[n].outline(FROM_SIDE) for n in ("stock", "plate")]
    ys = np.concatenate([p[p[:, 1] <= high + 40.0][:, 0] for p in shown])
    faces = [-b.face_distance_mm - _BEAM_SHOWN for b in scene.fixture.front_beam]
    left = min([float(ys.min()) - 20.0, *faces])
    right = max(float(ys.max()), float(scene.hinge[1])) + 25.0
    return np.array([left, low]), np.array([right, high])


def _plate(canvas: Canvas, scene: Scene, labels: Callouts) -> None:
    plate = scene.pieces["plate"].outline(FROM_SIDE)
    canvas.area(plate, fill="white", mark="plate")
    labels.add("right", canvas.at(inside(plate, _middle(canvas, scene), 1.0)), "plate", rank=1)
    if "backing" in scene.pieces:
        board = scene.pieces["backing"].outline(FROM_SIDE)
        canvas.area(board, fill="white", mark="backing")
        labels.add("right", canvas.at(_lower_half(canvas.clip(board))), "backing board", rank=1)
    turning = [b.name for b in scene.fixture.body if b.fixed_to == "fence"]
    for name, piece in scene.pieces.items():
        outline = piece.outline(FROM_SIDE)
        if name not in OWN and len(canvas.clip(outline)):
            canvas.area(outline, "thin")
            if name not in turning:  # those lie beside the stock, behind it or before it
                labels.add("left", canvas.at(canvas.clip(outline)), name, rank=3)


def _lower_half(outline: Array) -> Array:
    order = outline[np.argsort(outline[:, 1], kind="stable")]
    return np.asarray(order[: max(2, len(order) // 2)])


def _packing(canvas: Canvas, scene: Scene, labels: Callouts) -> None:
    if "packing" in scene.pieces:
        wedge = scene.pieces["packing"].outline(FROM_SIDE)
        canvas.area(wedge, "thin", fill="black")
        labels.add("right", canvas.at(canvas.clip(wedge)), "packing\n(wedge)")


def _floors(canvas: Canvas, scene: Scene, labels: Callouts) -> None:
    """How deep the cuts go, dashed: they run right through from side to side."""
    stock = canvas.clip(scene.pieces["stock"].outline(FROM_SIDE))
    for depth in sorted({c.depth_mm for c in scene.bench.setup.cuts}):
        z = scene.trim_z + depth
        low, high = np.array([canvas.low[0], z]), np.array([canvas.high[0], z])
        ys = [
            a[0] + (b[0] - a[0]) * (z - a[1]) / (b[1] - a[1])
            for a, b in zip(stock, np.roll(stock, -1, axis=0), strict=True)
            if (a[1] <= z) != (b[1] <= z)
        ]
        if len(ys) > 1:
            low[0], high[0] = min(ys), max(ys)
            canvas.segment(low, high, "hidden", mark="floor")
            labels.add("right", canvas.at(high), f"cut {mm(depth)} deep")
    ends = scene.end
    far = [float(ends[:, 1].max()), scene.trim_z]
    labels.add("right", canvas.at(far), "trimmed end")


def _beam(canvas: Canvas, scene: Scene, beam: FrontBeam, labels: Callouts) -> None:
    """The beam's face and height, open at the back; the gap to what stands nearest."""
    y, z0, z1 = -beam.face_distance_mm, beam.z_min_mm, beam.z_max_mm
    style = "outline" if beam.fitted else "phantom"
    back = float(canvas.low[0])
    for a, b in (([back, z0], [y, z0]), ([y, z0], [y, z1]), ([y, z1], [back, z1])):
        canvas.segment(a, b, style, mark="beam" if beam.fitted else None)
    area = canvas.clip([[back, z0], [y, z0], [y, z1], [back, z1]])
    if not beam.fitted:
        if len(area):
            labels.add(
                "left", canvas.at([y, z0 + 0.25 * (z1 - z0)]), f"{beam.name},\nnot fitted", rank=2
            )
        return
    if len(area):
        canvas.drawing.hatch(canvas.at(area), canvas.drawing.measure.of(2.5))
    found = scene.foremost(beam)
    if found is None:
        words = f"{beam.name}:\nnothing at\nits height"
        labels.add("left", canvas.at([y, (z0 + z1) / 2]), words)
        return
    labels.add("left", canvas.at([y, z0 + 0.5 * (z1 - z0)]), beam.name)
    point = found[1]
    gap, on_paper = float(point[0]) - y, canvas.drawing.measure.of
    height = float(canvas.at([0.0, point[1]])[1])
    if gap < 0:
        canvas.drawing.circle(canvas.at(point), on_paper(1.6), "heavy")
    ends = canvas.at(np.array([[y, point[1]], point]))
    across(canvas.drawing, ends[0], ends[1], height + on_paper(6), "", mark="gap")
    words = f"gap {mm(gap)}" if gap >= 0 else f"FOULS by\n{mm(-gap)}"
    labels.add("left", [ends[:, 0].mean(), height + on_paper(6)], words, bold=True)


def _cutter(canvas: Canvas, scene: Scene, labels: Callouts) -> float:
    """The cutter at its greatest height under the middle of the stock, and its feed; how far that
    reaches to the left on the page."""
    setup, d = scene.bench.setup, canvas.drawing
    y = float(scene.end[:, 1].mean())
    top, wide = scene.trim_z + setup.depth_mm, setup.cutter.diameter_mm
    if setup.cutter.kind == "disc":
        turns = np.radians(np.arange(0, 360, 3))
        rim = np.stack([np.cos(turns), np.sin(turns)], -1) * wide / 2 + [y, top - wide / 2]
    else:
        low = float(canvas.low[1]) - 10.0
        rim = np.array([[-1, low], [1, low], [1, top], [-1, top]]) * [wide / 2, 1.0] + [y, 0.0]
    canvas.area(rim, "phantom", mark="cutter", breaks=False)
    labels.add(
        "right", canvas.at(_lower_half(canvas.clip(rim))), f"{setup.cutter.name},\nat full height"
    )
    sign = 1.0 if scene.fixture.feed.sense == "towards_plate" else -1.0
    gap = d.measure.of
    half, at = np.array([sign * gap(9), 0.0]), canvas.at([y, canvas.low[1]]) - [0.0, gap(5)]
    tail, tip = at - half, at + half
    d.line(tail, tip, "outline")
    arrow(d, tip, [sign, 0.0])
    d.text(tail - [sign * gap(1.5), 0.0], "feed", anchor="end" if sign > 0 else "start")
    return float(min(tail[0], tip[0])) - (gap(1.5) + d.measure.width("feed") if sign > 0 else 0.0)


def _tilt(canvas: Canvas, scene: Scene, labels: Callouts) -> None:
    """The hinge, and the tilt between upright and the plate."""
    hinge, tilt = scene.hinge[list(FROM_SIDE)], scene.bench.setup.chosen.tilt_deg
    axis = _axis(scene)
    says = picture_figure(axis, "\n") if axis.differs else f"tilt {tilt:.3f}°"
    d, at = canvas.drawing, canvas.at(scene.hinge[list(FROM_SIDE)])
    if scene.fixture.tilt.lacking:
        labels.add("right", at, says if axis.differs else "no tilt")
        return
    gap = d.measure.of
    d.circle(at, gap(1.8), "outline", fill="white", mark="hinge")
    d.dot(at, gap(0.5))
    labels.add("right", at, "hinge", rank=3)
    if abs(tilt) < 5e-4:
        labels.add("right", at - [0.0, -gap(1.8)], says if axis.differs else "tilt at zero")
        return
    long = 0.8 * float(hinge[1] - scene.trim_z)
    swung = np.array([-np.sin(np.radians(tilt)), -np.cos(np.radians(tilt))])
    canvas.segment(hinge, hinge - [0.0, 1.1 * long], "centre")
    canvas.segment(hinge, hinge + 1.1 * long * swung, "centre")
    middle = arc(d, at, long * canvas.scale, -90.0, -90.0 - tilt, mark="tilt")
    labels.add("right", middle, says)


def _overhang(canvas: Canvas, scene: Scene, labels: Callouts) -> None:
    """From the plate's lower edge down to the level of the stock's lowest corner, of the end as it
    stands when this clamping begins: what the page tells beside it is measured to the same."""
    setup = scene.bench.setup
    first = not scene.bench.plan.setups or setup is scene.bench.plan.setups[0]
    overhang = float(setup.chosen.clamped.overhang_mm if first else setup.overhang_trimmed_mm)
    if overhang < 1e-6:
        return
    back = scene.fixture.plate.thickness_mm
    ends = np.array([[0.0, back, 0.0], [0.0, back, -overhang]])
    top, bottom = scene.carried(ends, swivelled=False)[:, FROM_SIDE]
    along = (bottom - top) / overhang
    off = np.array([-along[1], -along[0]]) * canvas.drawing.measure.of(
        6.0
    )  # to the right of the plate, on the page
    middle = sloping(canvas.drawing, canvas.at(top), canvas.at(bottom), off, mark="overhang")
    labels.add("right", middle, f"overhang {mm(overhang)}")
