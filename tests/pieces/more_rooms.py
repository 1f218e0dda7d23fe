"""Closed pieces drawn bar by bar: table, chair, three-legged stools, boxes. Test helper.

The table: 720 mm high, 1000 × 600 between leg tops, legs 50 × 50 splayed 8° and 5°, aprons 90 × 22
whose middles lie 60 mm below the top. The chair: leg centres 440 and 360 apart, 380 deep at height
400, back legs raked 8°, rails 60 × 22. The stool: three legs 40 × 40, an arris looking in, splayed
12° along the radius, on radius 110 at 420 mm; rails at 360 mm and stretchers at 150 mm.
"""

from __future__ import annotations

from math import atan, cos, pi, radians, sin, tan
from typing import Any

import attrs

from jointgeo.fixtures.model import Fixture
from jointgeo.geometry.vectors import Plane, Vec, Z
from jointgeo.joints.drawing import Drawing
from jointgeo.joints.placement import Placement
from jointgeo.joints.registry import joint_type
from jointgeo.joints.stock import parts
from jointgeo.pieces.closing.ties import Tie, tie
from jointgeo.pieces.model import Joined, Piece, Plain, RoomBar
from jointgeo.pieces.room import PlacedBar
from jointgeo.pieces.solvedbar import SolvedBar
from jointgeo.solution.drawing_form import drawing_form
from jointgeo.solution.end import EndSolution, Use, solve_end
from jointgeo.solution.serialise import end_settings
from jointgeo.solution.solution import solve

from .rooms import FLOOR, between, tenon

__all__ = ["box", "box_form", "box_ties", "chair", "stool", "table"]

Corner = tuple[Drawing, Placement, dict[str, tuple[str, str]], dict[str, EndSolution]]


def turned(way: Vec, axis: Vec, angle_deg: float) -> Vec:
    """A direction turned right-handed about a unit axis."""
    c, s = cos(radians(angle_deg)), sin(radians(angle_deg))
    return way * c + (axis ^ way) * s + axis * ((axis @ way) * (1.0 - c))


def table(
    *, leaning: bool = False, turned_deg: float = 0.0, tenon_mm: float = 12.0, fit: float = 0.1
) -> Piece:
    """turned_deg: every leg about its own length, the same way round its corner."""
    a, c, top = tan(radians(8)), tan(radians(5)), 720.0
    bars: list[RoomBar] = []
    legs: dict[tuple[float, float], RoomBar] = {}
    for x in (-1.0, 1.0):
        for y in (-1.0, 1.0):
            run = Vec(500 * x, 300 * y, top), Vec((500 + top * a) * x, (300 + top * c) * y, 0.0)
            grain = (run[1] - run[0]).unit
            # Square to Y, so that its sides towards the long aprons have no part along Y.
            looks = turned((Vec(0.0, y, 0.0) ^ grain).unit, grain, turned_deg * x * y)
            name = f"leg {'left' if x < 0 else 'right'} {'front' if y < 0 else 'back'}"
            legs[x, y] = RoomBar(name, 50, 50, *run, Plain(Plane(Z, top)), FLOOR, looks)
    bars += legs.values()
    for name, y in (("front", -1.0), ("back", 1.0)):
        lean = radians(5) if leaning else 0.0
        looks = Vec(0.0, y * cos(lean), sin(lean))
        pair = legs[-1.0, y], legs[1.0, y]
        bars.append(between(*pair, 660.0, looks, (90, 22), name=f"long apron, {name}"))
    for name, x in (("left", -1.0), ("right", 1.0)):
        lean = radians(8) if leaning else 0.0
        looks = Vec(x * cos(lean), 0.0, sin(lean))
        pair = legs[x, -1.0], legs[x, 1.0]
        bars.append(between(*pair, 660.0, looks, (90, 22), name=f"short apron, {name}"))
    sizes = {"tenon_length_mm": tenon_mm, "tenon_width_mm": 60.0, "tenon_thickness_mm": 8.0}
    return Piece("Table", (tenon("tenon", **sizes, fit_mm=fit),), tuple(bars))


def chair(*, front_turned: bool = False, back_turned: bool = False, leaning: bool = True) -> Piece:
    """front_turned, back_turned: legs turned to the side rails. leaning: the back rail, with the
    legs."""
    r, gamma, height = tan(radians(8)), 0.0, 400.0
    gamma = atan(40.0 / 380.0)
    legs: dict[tuple[float, float], RoomBar] = {}
    for x in (-1.0, 1.0):
        side = Vec(x * sin(gamma), -cos(gamma), 0.0)
        looks = side if front_turned else Vec(0.0, -1.0, 0.0)
        run = Vec(220.0 * x, -190.0, height + 40), Vec(220.0 * x, -190.0, 0.0)
        hand = "left" if x < 0 else "right"
        tops = Plain(Plane(Z, height + 40)), FLOOR
        legs[x, -1.0] = RoomBar(f"front leg, {hand}", 42, 42, *run, *tops, looks)
        foot = Vec(180.0 * x, 190.0 - height * r, 0.0)
        upper = Vec(180.0 * x, 190.0 + (850 - height) * r, 850.0)
        looks = side if back_turned else Vec(0.0, -1.0, 0.0)
        ends = Plain(Plane(Z, 850.0)), FLOOR
        legs[x, 1.0] = RoomBar(f"back leg, {hand}", 42, 36, upper, foot, *ends, looks)
    rails = []
    for x, hand in ((-1.0, "left"), (1.0, "right")):
        out = Vec(x * cos(gamma), sin(gamma), 0.0)
        pair = legs[x, -1.0], legs[x, 1.0]
        rails.append(between(*pair, height, out, (60, 22), name=f"side rail, {hand}"))
    for y, name in ((-1.0, "front"), (1.0, "back")):
        lean = radians(8) if leaning and y > 0 else 0.0
        looks = Vec(0.0, -cos(lean), sin(lean))
        pair = legs[-1.0, y], legs[1.0, y]
        rails.append(between(*pair, height, looks, (60, 22), name=f"{name} rail"))
    return Piece("Chair", (tenon("tenon"),), (*legs.values(), *rails))


def stool(stretchers: str = "", *, flat: bool = False) -> Piece:
    """stretchers: "", "triangle" or "T". flat: the leg that a T meets turned by 45°, with a side
    to it; else the T comes to the one of two sides that is said."""
    s = tan(radians(12))
    legs = []
    for i in range(3):
        out = Vec(sin(2 * pi * i / 3), -cos(2 * pi * i / 3), 0.0)
        run = out * 110.0 + Z * 420.0, out * (110.0 + 420.0 * s)
        grain = (run[1] - run[0]).unit
        radial = out.across(grain).unit
        looks = radial if flat and i == 0 else turned(radial, grain, 45.0)
        legs.append(RoomBar(f"leg {i + 1}", 40, 40, *run, Plain(Plane(Z, 420.0)), FLOOR, looks))
    bars = list(legs)
    for name, height in (("rail", 360.0), ("stretcher", 150.0)):
        if name == "stretcher" and stretchers != "triangle":
            continue
        for i in range(3):
            one, other = legs[i], legs[(i + 1) % 3]
            middle = (one.start + other.start) / 2
            looks = Vec(middle.x, middle.y, 0.0).unit
            bars.append(between(one, other, height, looks, (40, 18), name=f"{name} {i + 1}"))
    if stretchers == "T":
        cross = between(
            legs[1], legs[2], 150.0, Vec(0.0, 1.0, 0.0), (40, 18), name="cross stretcher"
        )
        middle = (cross.start + cross.end) / 2
        leg = legs[0]
        at = leg.start + leg.grain * ((150.0 - leg.start.z) / leg.grain.z)
        ends = Joined("tenon", leg.name, "back"), Joined("tenon", cross.name)
        stem = RoomBar("stem", 40, 18, at, middle, *ends, Vec(1.0, 0.0, 0.0))
        bars += [cross, stem]
    sizes = {"tenon_length_mm": 7.0, "tenon_width_mm": 28.0, "tenon_thickness_mm": 6.0}
    return Piece("Stool", (tenon("tenon", **sizes),), tuple(bars))


def box(number: int, slope: float, fixture: Fixture, **more: Any) -> tuple[Corner, ...]:
    """The corners of a regular box: drawing, where it stands, and the boards by name.

    Boards 300 × 150 × 18, from corner to corner round the box, counter-clockwise from above.
    """
    sizes = {"board_width_mm": 150, "thickness_a_mm": 18, "thickness_b_mm": 18}
    plan = 180 - 360 / number
    sizes |= {"length_a_mm": 300, "length_b_mm": 300, "plan_corner_deg": plan, "fit_mm": 0.1}
    joint = joint_type("angled_box_joint").from_dict({**sizes, "slope_deg": slope, **more})
    solution = solve(joint, fixture)
    ends = {p.name: e for p, e in zip(solution.parts, solution.ends, strict=True)}
    radius = 150.0 / sin(pi / number)
    rim = [
        Vec(radius * cos(2 * pi * i / number), radius * sin(2 * pi * i / number), 0.0)
        for i in range(number)
    ]
    out: list[Corner] = []
    for i in range(number):
        right = (rim[i] - rim[i - 1]).unit
        boards = {"a": (f"board {(i - 1) % number + 1}", "near"), "b": (f"board {i + 1}", "far")}
        out.append((solution.drawing, Placement((right, Z ^ right, Z), rim[i]), boards, ends))
    return tuple(out)


def box_ties(number: int, slope: float, fixture: Fixture, **more: Any) -> tuple[Tie, ...]:
    return tuple(tie("corner", *corner) for corner in box(number, slope, fixture, **more))


def box_form(corners: tuple[Corner, ...], fixture: Fixture) -> dict[str, Any]:
    """A box as plain data: every board cut at both ends of one blank, by settings alone."""
    left = {names["b"][0]: (drawing, placement) for drawing, placement, names, _ in corners}
    bars = []
    for drawing, placement, names, ends in corners:
        name, (other, _) = names["a"][0], left[names["a"][0]]
        near, far = parts(drawing)[0], parts(other)[1]
        more = ends["a"].plan.allowance_mm, ends["b"].plan.allowance_mm
        placed = attrs.evolve(placement.bar(drawing.bars[0]), name=name)
        bar = SolvedBar(
            PlacedBar(placed, placed, ("", ""), (placed.near, placed.far)), (near, far), (), more
        )
        solved = [
            solve_end(part, fixture, (Use(name, end, "as_drawn", 1),), other_allowance_mm)
            for part, end, other_allowance_mm in ((near, "near", more[1]), (far, "far", more[0]))
        ]
        form = [end_settings(e, aids=False) for e in solved]
        bars.append(
            {"bar": name, "pose": [list(r) for r in bar.pose], "near": form[0], "far": form[1]}
        )
    joints = []
    for drawing, placement, names, _ in corners:
        rows = zip(*placement.axes, placement.at, strict=True)
        joints.append(
            {
                "joint": "corner",
                "cut": {"bar": names["a"][0], "drawn_as": "a"},
                "mate": {"bar": names["b"][0], "drawn_as": "b"},
                "pose": [*(list(row) for row in rows), [0.0, 0.0, 0.0, 1.0]],
                "drawing": drawing_form(drawing),
            }
        )
    return {"bars": bars, "joints": joints}
