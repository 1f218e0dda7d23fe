"""The joint put together, and drawn apart the way it slides, in an axonometric view.

Knows joint sheets, the dry fit (extra ``proof``) and hidden lines; no joint type. The solids
are those the dry fit rebuilds from the settings alone, so what is drawn is what a person
would get who cut by the sheet. Long parts are shortened near the joint first: in the settings
a part is its box, its cuts and its pose, so a shorter box with its pose moved along is the
same joint.

The first part that is cut on end stands upright, its end at the top and its face side
towards the viewer: a joint type's own world may lie anyhow.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping
from typing import Any

import attrs
import numpy as np

from jointgeo.errors import JointgeoError
from jointgeo.proof import DryFit, dry_fit
from jointgeo.sheet.canvas import fitted, scale_words
from jointgeo.sheet.dimension import Callouts
from jointgeo.sheet.gluing import way_out
from jointgeo.sheet.model import JointSheet
from jointgeo.sheet.outline import Edge, View, edges_of, hidden_points, split
from jointgeo.sheet.svg import Drawing
from jointgeo.sheet.plane import Array
from jointgeo.sheet.words import listed

__all__ = ["joint_pictures", "shortened"]

PAGE_WIDE, PAGE_HIGH = 176.0, 120.0
_FROM_LEFT_DEG, _FROM_ABOVE_DEG = 35.0, 25.0


@attrs.frozen(eq=False)
class _Body:
    """One instance: its triangles (m, 3, 3) and sharp edges (n, 2, 3) in the world.

    sides: marked sides as (name, point, outward normal).
    """

    name: str
    triangles: Array
    edges: Array
    sides: tuple[tuple[str, Array, Array], ...]

    def moved(self, by: Array) -> _Body:
        sides = tuple((name, at + by, normal) for name, at, normal in self.sides)
        return _Body(self.name, self.triangles + by, self.edges + by, sides)


def joint_pictures(joint: JointSheet) -> tuple[Drawing, Drawing]:
    """Assembled and apart.

    MissingExtraError without the boolean kernel; another JointgeoError where the settings
    place no part or cannot be rebuilt.
    """
    data = shortened(joint.data)
    data["expect"] = []  # nothing is measured here
    fit = dry_fit(data)
    if not fit.assembly:
        raise JointgeoError(f"{joint.name}: no part has a place in the joint")
    view = _view(data)
    bodies = [_body(fit, i, data) for i in range(len(fit.assembly))]
    names = listed([b.name for b in bodies])
    scenes = (
        (bodies, "put together", "in place"),
        (_apart(joint, bodies), "apart", "drawn out of each other the way they slide"),
    )
    first, second = (
        _picture(view, shown, f"{joint.name}: {what}", f"{names} {where}")
        for shown, what, where in scenes
    )
    return first, second


def _picture(view: View, bodies: list[_Body], title: str, says: str) -> Drawing:
    says = f"{says}. Edges behind wood are dashed, and long parts are shown short."
    triangles = np.concatenate([b.triangles for b in bodies])
    shown = [_shown(body, triangles, view) for body in bodies]
    outline = view.flat(triangles.reshape(-1, 3))[:, :2]
    return fitted(
        lambda scale: _drawn(shown, outline, scale, f"{title}, {scale_words(scale)}", says),
        PAGE_WIDE,
        PAGE_HIGH,
    )


@attrs.frozen(eq=False)
class _Shown:
    """A body as it is seen, at full size: divided edges, and its marked sides in view."""

    name: str
    edges: list[Edge]
    sides: list[tuple[str, Array]]


def _shown(body: _Body, triangles: Array, view: View) -> _Shown:
    facing = [(n, at) for n, at, normal in body.sides if float(normal @ view.axes[2]) > 0.1]
    hidden = hidden_points(np.array([at for _, at in facing]).reshape(-1, 3), triangles, view)
    sides = [(n, view.flat(at)[:2]) for (n, at), h in zip(facing, hidden, strict=True) if not h]
    return _Shown(body.name, split(body.edges, triangles, view), sides)


def shortened(settings: Mapping[str, Any]) -> dict[str, Any]:
    """The same settings with every part cut short around its joint."""
    data: dict[str, Any] = copy.deepcopy(dict(settings))
    for part in data["parts"]:
        stock = part["stock"]
        low, high = _worked(part)
        room = 0.9 * max(stock["width_mm"], stock["thickness_mm"])
        start = 0.0 if part["setups"] else max(0.0, low - room)
        stock["length_mm"] = min(stock["length_mm"], high + room) - start
        for box in part["layout"]:
            box["frame"][2][3] -= start
        for placed in data["assembly"]:
            if placed["part"] == part["part"]:
                for row in placed["pose"][:3]:
                    row[3] += start * row[2]
    return data


def _worked(part: Mapping[str, Any]) -> tuple[float, float]:
    """Where along the grain a part is worked, from its blank's square end."""
    long = float(part["stock"]["length_mm"])
    if part["setups"]:
        return 0.0, max(max(m["at_mm"].values()) for m in part["marks"])
    heights = []
    for box in part["layout"]:
        frame, half = np.array(box["frame"]), np.array(box["size_mm"]) / 2
        reach = float(np.abs(frame[2, :3]) @ half)
        heights += [frame[2, 3] - reach, frame[2, 3] + reach]
    return (max(0.0, min(heights)), min(long, max(heights))) if heights else (0.0, long)


def _body(fit: DryFit, index: int, data: Mapping[str, Any]) -> _Body:
    placed = fit.assembly[index]
    mesh = placed.mesh
    alike = sum(p.part == placed.part for p in fit.assembly)
    name = f"{placed.part} {placed.instance + 1}" if alike > 1 else placed.part
    stock = next(p["stock"] for p in data["parts"] if p["part"] == placed.part)
    pose = next(
        np.array(a["pose"])
        for a in data["assembly"]
        if (a["part"], a["instance"]) == (placed.part, placed.instance)
    )
    # Two thirds of the way from the joint, where the side is still whole.
    w, t, z = stock["width_mm"], stock["thickness_mm"], 0.7 * stock["length_mm"]
    edge = (0.0, -1.0) if stock["x_from"] == "face_edge" else (w, 1.0)
    sides = (
        ("face side", [w / 2, 0.0, z], [0.0, -1.0, 0.0]),
        ("face edge", [edge[0], t / 2, z], [edge[1], 0.0, 0.0]),
    )
    world = tuple((n, pose[:3, :3] @ at + pose[:3, 3], pose[:3, :3] @ out) for n, at, out in sides)
    return _Body(name, mesh.corners, edges_of(mesh.vertices, mesh.triangles), world)


def _view(data: Mapping[str, Any]) -> View:
    """Face side and face edge of the first part cut on end towards the viewer."""
    placed = {a["part"] for a in data["assembly"]}
    parts = [p for p in data["parts"] if p["part"] in placed]
    cut = [p for p in parts if p["setups"]] or parts
    name, x_from = cut[0]["part"], cut[0]["stock"]["x_from"]
    pose = next(np.array(a["pose"]) for a in data["assembly"] if a["part"] == name)
    x, y, z = pose[:3, 0], pose[:3, 1], pose[:3, 2]
    aside = -x if x_from == "face_edge" else x
    turn, rise = np.radians([_FROM_LEFT_DEG, _FROM_ABOVE_DEG])
    level = np.cos(turn) * -y + np.sin(turn) * aside
    return View.along(np.cos(rise) * level - np.sin(rise) * z, -z)


def _apart(joint: JointSheet, bodies: list[_Body]) -> list[_Body]:
    """Every part that slides, drawn out by as far as the joint is deep and half again."""
    settings = {p.part.name: p for p in joint.settings.parts}
    known = [a for a in joint.settings.assembly if a.part in settings]
    poses, names = [a.pose[:3, :3] for a in known], [a.part for a in known]
    moving = {n for n in names if settings[n].part.slide is not None}
    if moving == set(names) and len(moving) > 1:
        moving.discard(names[-1])  # each can move out of the other; one of them stays
    out = []
    for body, pose, name in zip(bodies, poses, names, strict=True):
        way = way_out(joint.settings, name) if name in moving else None
        deep = max((s.depth_mm for s in settings[name].plan.setups), default=0.0)
        size = max(settings[name].part.width_mm, settings[name].part.thickness_mm)
        by = np.zeros(3) if way is None else pose @ way * (1.5 * deep + 0.3 * size)
        out.append(body.moved(by))
    return out


def _drawn(shown: list[_Shown], outline: Array, scale: float, title: str, says: str) -> Drawing:
    d, labels = Drawing(title, says), Callouts()
    page = np.array([scale, -scale])
    flat = outline * page
    left, right = float(flat[:, 0].min()), float(flat[:, 0].max())
    middle = (left + right) / 2
    for seen in (False, True):
        for body in shown:
            _lines(d, body.edges, scale, seen=seen)
    for body in shown:
        at = _named(body.edges, scale, middle)
        labels.add("left" if at[0] < middle else "right", at, body.name, bold=True)
        for name, point in body.sides:
            at = point * page
            labels.add("left" if at[0] < middle else "right", at, name)
    labels.draw(d, left - 4, right + 4, float(flat[:, 1].min()), float(flat[:, 1].max()))
    return d


def _lines(d: Drawing, edges: list[Edge], scale: float, *, seen: bool) -> None:
    for edge in edges:
        for stretch in edge.seen if seen else edge.hidden:
            a, b = edge.between(stretch)[:, :2] * [scale, -scale]
            if np.hypot(*(b - a)) > 0.15:
                style = "outline" if seen else "hidden"
                d.line(a, b, style, mark="seen" if seen else "behind")


def _named(edges: list[Edge], scale: float, middle: float) -> Array:
    """A point on a seen edge far from the picture's middle, where a label reaches it."""
    points = [e.between(s).mean(axis=0)[:2] for e in edges for s in e.seen]
    if not points:
        points = [e.ends.mean(axis=0)[:2] for e in edges]
    page = np.array(points) * [scale, -scale]
    return np.asarray(page[int(np.argmax(np.abs(page[:, 0] - middle)))])
