"""Random joints of the shipped types: whole ranges of angles, both signs, odd sizes.

Lengths that only have to be long enough (a leg, a rail, a board) are drawn after the
angles, so that steep joints stay joints. What the joint type itself calls impossible (a
slot that breaks out of its leg, a tenon outside its rail, fingers that leave no rim) is
drawn again: a dry fit of those is a question without a right answer.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from jointgeo import JointType, joint_type
from jointgeo.errors import InputError

__all__ = ["DRAWS", "interference", "joints"]

NARROWEST_CUTTER_MM = 3.2  # of the porch fixture, jointgeo/data/fixtures/porch.toml

Fit = Callable[[np.random.Generator], float]
Draw = Callable[[np.random.Generator, Fit], JointType]


def clearance(rng: np.random.Generator) -> float:
    """Zero for one in three, else a clearance."""
    return 0.0 if rng.random() < 1 / 3 else float(rng.uniform(0.02, 0.6))


def interference(rng: np.random.Generator) -> float:
    return float(rng.uniform(-0.6, -0.02))


def _angle(rng: np.random.Generator, most: float) -> float:
    """Zero for one in eight; else either sign, over the whole range."""
    return 0.0 if rng.random() < 1 / 8 else float(rng.uniform(-most, most))


def bridle(rng: np.random.Generator, fit: Fit) -> JointType:
    along, across = _angle(rng, 60.0), _angle(rng, 60.0)
    depth, tongue = float(rng.uniform(15, 90)), float(rng.uniform(8, 40))
    housing = 0.0 if rng.random() < 1 / 3 else float(rng.uniform(0.5, 8))
    turn = 0.0 if housing or rng.random() < 1 / 2 else float(rng.uniform(-30, 30))
    offset = 0.0 if rng.random() < 1 / 2 else float(rng.uniform(-5, 5))
    thickness = float(rng.uniform(12, 90))
    # The slot leans across the leg by depth · tan(across): the leg must be wider by that.
    least = tongue + 2 * depth * math.tan(math.radians(abs(across))) + thickness
    width = float(least * rng.uniform(1.1, 2.0) + 10)
    if width > 500:
        raise InputError
    steep = 1 / math.cos(math.radians(along)) / math.cos(math.radians(across))
    return joint_type("splayed_bridle")(
        leg_width_mm=width,
        leg_thickness_mm=thickness,
        leg_length_mm=float((depth + width + thickness) * steep * rng.uniform(4, 8)),
        rail_thickness_mm=tongue + 2 * housing,
        tongue_thickness_mm=tongue,
        rail_depth_mm=depth,
        rail_length_mm=float((depth + thickness) * steep * rng.uniform(5, 9)),
        splay_along_deg=along,
        splay_across_deg=across,
        leg_turn_deg=turn,
        leg_offset_mm=offset,
        fit_mm=fit(rng),
    )


def tenon(rng: np.random.Generator, fit: Fit) -> JointType:
    w, t = _angle(rng, 60.0), _angle(rng, 60.0)
    width, thick = float(rng.uniform(30, 160)), float(rng.uniform(12, 90))
    long = float(rng.uniform(5, 50))
    # Room that a leaning tenon needs beside it, in a plane: 2·length·sin, and the rail/cos.
    room_w = width / math.cos(math.radians(w)) - 2 * long * math.tan(math.radians(abs(w)))
    room_t = thick / math.cos(math.radians(t)) - 2 * long * math.tan(math.radians(abs(t)))
    if min(room_w, room_t) < 6:
        raise InputError
    tenon_w, tenon_t = (float(r * rng.uniform(0.3, 0.9)) for r in (room_w, room_t))
    steep = 1 / math.cos(math.radians(w)) / math.cos(math.radians(t))
    through = rng.random() < 1 / 3
    haunch = 0.0 if rng.random() < 1 / 2 else long * float(rng.uniform(0.15, 0.6))
    return joint_type("angled_tenon")(
        rail_width_mm=width,
        rail_thickness_mm=thick,
        rail_length_mm=float((width + thick + long) * steep * rng.uniform(4, 7)),
        width_angle_deg=w,
        thickness_angle_deg=t,
        tenon_length_mm=long,
        tenon_width_mm=tenon_w,
        tenon_thickness_mm=tenon_t,
        tenon_offset_width_mm=float(rng.uniform(-0.4, 0.4) * (room_w - tenon_w)),
        tenon_offset_thickness_mm=float(rng.uniform(-0.4, 0.4) * (room_t - tenon_t)),
        parallel_to=str(rng.choice(["face_side", "face_edge"])),
        mortised_thickness_mm=long * float(rng.uniform(0.7, 1))
        if through
        else long + float(rng.uniform(3, 30)),
        mortised_width_mm=tenon_t + float(rng.uniform(8, 80)),
        haunch_depth_mm=haunch,
        haunch_at=str(rng.choice(["back_edge", "face_edge"])),
        fit_mm=fit(rng),
    )


def _root_shift(a: float, b: float, half: float, slope: float) -> float:
    """How far along the corner edge the boards' rims run between finger ends and roots.

    In a board's face the edge leans by the swivel off the square line, and a finger's
    root lies (t - y·c)/√(1 - c²) from its end, y the depth behind the face, t the other
    board's thickness and c the cosine between the outside normals. An end finger narrower
    than this is cut off the board at its root: plane geometry, worked out by hand.
    """
    c = math.cos(2 * math.asin(math.sin(half) * math.cos(slope)))
    deepest = max((t - y * c) / math.sqrt(1 - c * c) for t, o in ((a, b), (b, a)) for y in (0, o))
    return deepest * abs(math.tan(half) * math.sin(slope))


def box(rng: np.random.Generator, fit: Fit) -> JointType:
    plan = float(rng.uniform(20, 170)) if rng.random() < 3 / 4 else 180 - 360 / rng.integers(3, 13)
    slope = _angle(rng, 85.0)
    a, b = (float(rng.uniform(6, 60)) for _ in range(2))
    width = float(rng.uniform(60, 400))
    if rng.random() < 1 / 4:
        return _two_slopes(rng, fit, float(plan), (a, b), width)
    half = math.radians((180 - plan) / 2)
    s = math.radians(slope)
    swivel = math.atan(math.tan(half) * math.sin(s))
    bevel = math.asin(math.sin(half) * math.cos(s))
    # Boards that lie nearly in one plane, or on each other, have no end to cut.
    if math.sin(2 * bevel) * math.cos(swivel) < 0.06:
        raise InputError
    # A blunt or sharp dihedral makes the slanting ends reach far along the boards.
    reach = (a + b) / math.sin(2 * bevel) + width * abs(math.tan(swivel))
    edge = width / math.cos(swivel)
    count = int(rng.integers(2, 12))
    widths = {"finger_count": count}
    end = edge / count
    if rng.random() < 1 / 3:
        wide = float(rng.uniform(0.08, 0.3) * edge)
        widths, end = {"finger_width_mm": wide}, wide / 2
    if _root_shift(a, b, half, s) > 0.8 * end:
        raise InputError
    return joint_type("angled_box_joint")(
        board_width_mm=width,
        thickness_a_mm=a,
        thickness_b_mm=b,
        length_a_mm=float(reach * rng.uniform(4, 7)),
        length_b_mm=float(reach * rng.uniform(4, 7)),
        plan_corner_deg=float(plan),
        slope_deg=slope,
        first_finger=str(rng.choice(["a", "b"])),
        fit_mm=fit(rng),
        **widths,
    )


def butt(rng: np.random.Generator, _: Fit) -> JointType:
    w, t, turn = _angle(rng, 60.0), _angle(rng, 60.0), _angle(rng, 89.0)
    width, thick = float(rng.uniform(30, 160)), float(rng.uniform(12, 90))
    steep = 1 / math.cos(math.radians(w)) / math.cos(math.radians(t))
    return joint_type("angled_butt")(
        rail_width_mm=width,
        rail_thickness_mm=thick,
        rail_length_mm=float((width + thick) * steep * rng.uniform(4, 7)),
        width_angle_deg=w,
        thickness_angle_deg=t,
        post_width_mm=float((width + thick) * rng.uniform(0.3, 3)),
        post_thickness_mm=float(rng.uniform(20, 90)),
        post_turn_deg=turn,
        post_offset_mm=0.0 if rng.random() < 1 / 2 else float(rng.uniform(-20, 20)),
    )


def _two_slopes(
    rng: np.random.Generator, fit: Fit, plan: float, thick: tuple[float, float], width: float
) -> JointType:
    """A corner whose boards lean unlike each other; what has no room is drawn again by its checks.

    How far the ends reach along the boards is by the dihedral of the two normals and by e.
    """
    slopes = float(rng.uniform(-50, 50)), float(rng.uniform(-50, 50))
    p = math.radians(plan)
    (ca, sa), (cb, sb) = ((math.cos(math.radians(s)), math.sin(math.radians(s))) for s in slopes)
    cosine = -math.cos(p) * ca * cb + sa * sb
    blunt = math.sqrt(1 - cosine * cosine)
    if blunt < 0.1 or math.sin(p) * min(ca, cb) < 0.06:
        raise InputError
    high = width * ca
    # e = n_a × n_b runs so far along either board for each 1 that it climbs.
    ta, tb = sa / ca, sb / cb
    along = max(abs(tb + ta * math.cos(p)), abs(ta + tb * math.cos(p))) / math.sin(p)
    reach = sum(thick) / blunt + high * along + width
    return joint_type("angled_box_joint")(
        board_width_mm=width,
        thickness_a_mm=thick[0],
        thickness_b_mm=thick[1],
        length_a_mm=float(reach * rng.uniform(4, 7)),
        length_b_mm=float(reach * rng.uniform(4, 7)),
        plan_corner_deg=plan,
        slope_deg=slopes[0],
        slope_b_deg=slopes[1],
        finger_count=int(rng.integers(2, 9)),
        first_finger=str(rng.choice(["a", "b"])),
        fit_mm=fit(rng),
    )


DRAWS: dict[str, Draw] = {
    "splayed_bridle": bridle,
    "angled_tenon": tenon,
    "angled_box_joint": box,
    "angled_butt": butt,
}


def _narrowest(joint: JointType) -> float:
    """Least width of a channel that is closed on both sides."""
    channels = [c for notch in joint.drawing.notches for c in notch.channels]
    return min((c.high - c.low for c in channels), default=math.inf)


def joints(name: str, count: int, seed: int, fit: Fit = clearance) -> list[JointType]:
    """``count`` joints of the type, the same ones for the same seed."""
    rng = np.random.default_rng(seed)
    out: list[JointType] = []
    while len(out) < count:
        try:
            joint = DRAWS[name](rng, fit)
        except InputError:
            continue
        possible = all(check.status != "fail" for check in joint.checks())
        if possible and _narrowest(joint) >= NARROWEST_CUTTER_MM:
            out.append(joint)
    return out
