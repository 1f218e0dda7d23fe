"""One case for each side of each of the library's checks: what makes it, and by how much.

Plain stock, 60 × 30 mm in section, is clamped on the sample fixture: its left edge at
X = -20, its back on 18 mm of backing, so it stands at -48 ≤ Y ≤ -18. The trim is 1 mm deep,
the channel 10 mm wide and 20 mm deep below it. Each case sets one number of the fixture, or
of the part, to the limit worked out by hand plus a margin. Read by ``test_checks``.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from scipy.optimize import brentq

from jointgeo.joints.stock import Part

from .case_changes import against, body, corrected, shank_cutter, slid, tilt_between, with_gap
from .samples import BEAM, FIXTURE, part_at

Case = Callable[[float], tuple[Part, dict[str, Any]]]


def strength(grain_deg: float) -> float:
    """Per cent of bending strength left at that angle between grain and cheek.

    The Wood Handbook's Hankinson-type curve (FPL-GTR-190, 2010, from memory), Q/P = 0.1,
    exponent 1.5.
    """
    a = math.radians(grain_deg)
    return 10 / (math.sin(a) ** 1.5 + 0.1 * math.cos(a) ** 1.5)


def leaving(per_cent: float) -> Part:
    """Stock swivelled so far that this much of its strength is left; solved by scipy."""
    return part_at(brentq(lambda a: strength(a) - per_cent, 1, 30, xtol=1e-13, rtol=1e-14))


# A disc of 300 mm at 20 mm depth reaches √(20·(300 - 20)) = 74.833148 mm beyond its centre.
CHORD = math.sqrt(20 * 280)

# 1100 W over the speed of the disc's rim, 300 mm across at 2800 turns a minute: 25.01 N.
RIM = 1100 / (math.pi * 0.3 * 2800 / 60)
OFF = {"cutter.0.top_moves": "away_from_plate"}
# 0.05 mm of dirt turns the stock by 0.05° over this length, 57.30 mm (our choice).
ON_FENCE = 0.05 / math.tan(math.radians(0.05))


def hanging(length_mm: float) -> Part:
    """Stock with a channel 116 mm deep."""
    return part_at(channels=[(-5, 5, 116)], length_mm=length_mm)


def only(contributor: str, u: float, glue_line_mm: float) -> dict[str, Any]:
    """One standard uncertainty and no other, and the glue line that limits follow from."""
    lengths = ("tilt_lock_spacing_mm", "tilt_lock_arm_mm", "rail_spacing_mm")
    exact = {f"uncertainty.{n}": 0 for n in FIXTURE["uncertainty"] if n not in lengths}
    return {
        **exact,
        f"uncertainty.{contributor}": u,
        "practice": {"glue_line_mm": glue_line_mm},
    }


# At 95 %, 1.9599639845 of a normal: 60 mm swivelled by 0.03°, 30 mm of depth tilted by 0.03°.
SWIVEL_GAP = 1.9599639845400545 * 60 * math.radians(0.03)
TILT_GAP = 1.9599639845400545 * 30 * math.radians(0.03)
# The kerf, and either wall's position read to half a division of 0.05 mm (rectangular).
CHEEK = 2 * math.hypot(0.02, math.sqrt(2) * 0.025 / math.sqrt(3))


def leaning_right_mm() -> float:
    """Machine X where an outer cut ends that follows a side leaning out by 20°, 50 mm deep.

    The fence's face, -20 from a pivot at (0, 60), is met at the height of the trimmed end:
    50 mm of depth and 3 of clearance below the plate. The end is 60 / cos 20° across, the side
    leans out by 50·tan 20°, and 1 mm is run past.
    """
    a = math.radians(20)
    along = (-53 - 60 - 20 * math.sin(a)) / math.cos(a)
    corner = -20 * math.cos(a) + along * math.sin(a)
    return corner + 60 / math.cos(a) + 50 * math.tan(a) + 1


OUTER = part_at(20, channels=[(0, math.inf, 50)])

# name, status on the short side, and what makes a check with that margin.
CASES: list[tuple[str, str, str, Case]] = [
    ("swivel_range", "fail", "max", lambda m: (part_at(12, 5), {"swivel.max_deg": 12 + m})),
    ("swivel_range", "fail", "min", lambda m: (part_at(-12, 5), {"swivel.min_deg": -12 - m})),
    ("tilt_range", "fail", "max", lambda m: (part_at(5, 12), {"tilt.max_deg": 12 + m})),
    ("tilt_range", "fail", "min", lambda m: (part_at(5, -7), tilt_between(-7 - m, 5))),
    # Set 0.5° further than wanted the scale must show 12.5°; set 0.5° less, the angle is the worse.
    # A hair beyond its scale an axis is left at its end, which gaps next to nothing.
    ("swivel_range", "caution", "max by scale", lambda m: corrected("swivel", 12, 12.5 + m, 0.5)),
    (
        "swivel_range",
        "caution",
        "min by scale",
        lambda m: corrected("swivel", -12, -12.5 - m, -0.5),
    ),
    ("tilt_range", "caution", "max by scale", lambda m: corrected("tilt", 12, 12.5 + m, 0.5)),
    ("tilt_range", "fail", "max by angle", lambda m: corrected("tilt", 12, 12 + m, -0.5)),
    ("tilt_range", "caution", "max by a scale against it, from 90°", lambda m: against(12.5 + m)),
    ("clamp_opening", "fail", "upright", lambda m: (part_at(), {"clamp.opening_mm": 48 + m})),
    (
        "clamp_opening",
        "fail",
        "on its edge",
        lambda m: (part_at(0, 5, side=1), {"clamp.opening_mm": 78 + m}),
    ),
    # Packing of 5°: 30·cos 5° + 60·sin 5° of turned stock between two thin ends of 3 mm.
    (
        "clamp_opening",
        "fail",
        "with packing",
        lambda m: (part_at(0, 5, 5), {"clamp.opening_mm": 18 + 6 + turned(30, 60, 5) + m}),
    ),
    # The right-hand edge stands at X = 40, half of an 80 mm plate.
    ("plate_width", "fail", "right", lambda m: (part_at(), {"plate.width_mm": 80 + 2 * m})),
    (
        "plate_width",
        "fail",
        "left",
        lambda m: (
            part_at(),
            {"fence.x_mm": 20, "fence.side": "right", "plate.width_mm": 80 + 2 * m},
        ),
    ),
    # The trim runs 1 mm past the right-hand edge at X = 40; the touch-off is at X = -20.
    ("traverse_travel", "fail", "max", lambda m: (part_at(), {"traverse.max_mm": 41 + m})),
    ("traverse_travel", "fail", "min", lambda m: (part_at(), {"traverse.min_mm": -20 - m})),
    (
        "traverse_travel",
        "fail",
        "outer cut",
        lambda m: (OUTER, {"traverse.max_mm": leaning_right_mm() + m}),
    ),
    # The floor stands 3 mm (clearance) below the plate, 397 mm above a datum at -400.
    ("cutter_height", "fail", "max", lambda m: (part_at(), {"cutter_height.max_mm": 397 + m})),
    ("cutter_height", "fail", "min", lambda m: (part_at(), {"cutter_height.min_mm": 377 - m})),
    ("cutter_reach", "fail", "cut", lambda m: (part_at(), {"cutter.0.reach_mm": 20 + m})),
    # Swivel 30°: the trim is 60·sin 30° + 1 = 31 mm, deeper than the cut.
    ("cutter_reach", "fail", "trim", lambda m: (part_at(30), {"cutter.0.reach_mm": 31 + m})),
    ("socket_width", "fail", "disc", lambda m: (part_at(), {"cutter.0.kerf_mm": 10 - m})),
    ("socket_width", "fail", "pin", lambda m: (part_at(), shank_cutter(10 - m))),
    ("feed_travel", "fail", "max", lambda m: (part_at(), {"feed.max_mm": -18 + CHORD + m})),
    ("feed_travel", "fail", "min", lambda m: (part_at(), {"feed.min_mm": -48 - CHORD - m})),
    # A pin of 8 mm reaches its radius beyond its centre.
    (
        "feed_travel",
        "fail",
        "pin",
        lambda m: (part_at(), {**shank_cutter(8), "feed.max_mm": -18 + 4 + m}),
    ),
    # A blank of 401 mm hangs 24 mm below the plate (1 of trim, 20 of depth, 3 of clearance).
    ("held_length", "fail", "least", lambda m: (part_at(length_mm=83 + m), {})),
    # A channel of 116 mm hangs 120 mm below it, and as much must lie on it.
    ("held_length", "caution", "overhang", lambda m: (hanging(239 + m), {})),
    ("held_length", "fail", "plate", lambda m: (part_at(), {"plate.height_mm": 60 + m})),
    ("fence_contact", "caution", "top", lambda m: (part_at(), {"fence.z_max_mm": ON_FENCE + m})),
    (
        "fence_contact",
        "caution",
        "stock's end",
        lambda m: (part_at(), {"fence.z_min_mm": 377 - ON_FENCE - m}),
    ),
    ("clamp_contact", "fail", "one", lambda m: (part_at(), {"clamp.z_mm": 377 - m})),
    ("clamp_contact", "caution", "two", lambda m: (part_at(), {"clamp.second_z_mm": 377 - m})),
    # Friction 0.25 on both sides of the clamp; about the plate's edge with the clamp 10 mm above
    # it; about the top, 377 mm up, with one clamp 100 mm below it or two 100 and 50 mm below it.
    ("clamp_force", "caution", "drawn", lambda m: (part_at(), {"clamp.force_n": RIM / 0.5 + m})),
    (
        "clamp_force",
        "caution",
        "pushed on",
        lambda m: (part_at(), {"clamp.z_mm": 10, "clamp.force_n": RIM * 24 / 10 + m}),
    ),
    (
        "clamp_force",
        "caution",
        "pulled off",
        lambda m: (part_at(), {**OFF, "clamp.z_mm": 277, "clamp.force_n": RIM * 401 / 100 + m}),
    ),
    (
        "clamp_force",
        "caution",
        "two clamps pushed on",
        lambda m: (
            part_at(),
            {"clamp.z_mm": 5, "clamp.second_z_mm": 10, "clamp.force_n": RIM * 24 / 15 + m},
        ),
    ),
    (
        "clamp_force",
        "caution",
        "two clamps",
        lambda m: (
            part_at(),
            {
                **OFF,
                "clamp.z_mm": 277,
                "clamp.second_z_mm": 327,
                "clamp.force_n": RIM * 401 / 150 + m,
            },
        ),
    ),
    # 60 × 30 mm: I = 60·30³/12 mm⁴, E = 10 000 N/mm².
    (
        "bending",
        "caution",
        "a disc",
        lambda m: (
            hanging(400),
            {"practice.glue_line_mm": 2 * (RIM * 120**3 / (3e4 * 60 * 30**3 / 12) + m)},
        ),
    ),
    (
        "depth_per_pass",
        "caution",
        "cut",
        lambda m: (part_at(), {"cutter.0.depth_per_pass_mm": 20 + m}),
    ),
    (
        "trim_per_pass",
        "caution",
        "trim",
        lambda m: (part_at(30), {"cutter.0.depth_per_pass_mm": 31 + m}),
    ),
    (
        "exit_backing",
        "caution",
        "thin",
        lambda m: (part_at(), {"backing.thickness_mm": 3 + m}),
    ),
    (
        "front_beam",
        "fail",
        "upright",
        lambda m: (part_at(), {"front_beam": [{**BEAM, "face_distance_mm": 48 + m}]}),
    ),
    # Carried by the plate: 25 mm in front of the stock.
    (
        "front_beam",
        "fail",
        "a clamp",
        lambda m: (
            part_at(),
            {
                "front_beam": [{**BEAM, "face_distance_mm": 73 + m}],
                **body("tilt", y_min_mm=-73, y_max_mm=-60, z_min_mm=50, z_max_mm=90),
            },
        ),
    ),
    # Behind the plate, 20 mm thick.
    ("bodies", "fail", "rear wall", lambda m: (part_at(), body(y_min_mm=20 + m))),
    # The blank is 401 mm with its trim and hangs 24 mm down.
    (
        "bodies",
        "fail",
        "ceiling",
        lambda m: (part_at(), body(z_min_mm=377 + m, x_min_mm=-200, y_max_mm=-20)),
    ),
    # A body of the base appears at X + x while the cutter goes from x = -20 to 41.
    (
        "bodies",
        "fail",
        "right",
        lambda m: (part_at(), body(x_min_mm=60 + m, y_max_mm=-20)),
    ),
    (
        "bodies",
        "fail",
        "left",
        lambda m: (part_at(), body(x_max_mm=-61 - m, y_max_mm=-20)),
    ),
    # A body of the traverse goes along with the stock, whose left edge stands at X = -20.
    (
        "bodies",
        "fail",
        "end frame",
        lambda m: (part_at(), body("traverse", x_max_mm=-20 - m, y_max_mm=-20)),
    ),
    (
        "bodies",
        "fail",
        "clamp",
        lambda m: (part_at(), body("tilt", y_max_mm=-48 - m, z_min_mm=50)),
    ),
    (
        "bodies",
        "fail",
        "fence",
        lambda m: (part_at(12, 5), body("fence", x_max_mm=-20 - m, y_max_mm=-1, z_min_mm=50)),
    ),
    # The cutter's top stands 3 mm below the plate, and 3 mm are to be kept.
    (
        "cutter_clearance",
        "fail",
        "clamp",
        lambda m: (part_at(), body("tilt", z_min_mm=m, y_max_mm=-60)),
    ),
    (
        "cutter_clearance",
        "fail",
        "fence",
        lambda m: (part_at(), body("fence", z_min_mm=m, y_max_mm=-60)),
    ),
    # Beside the cutter: its 6 mm lie to the left of the touch-off at X = -20, its face goes on
    # to the trim's end at 41, or to the end of the outermost cut.
    (
        "cutter_clearance",
        "fail",
        "left",
        lambda m: (part_at(), body("tilt", x_max_mm=-29 - m, y_max_mm=-60, z_min_mm=-50)),
    ),
    (
        "cutter_clearance",
        "fail",
        "right",
        lambda m: (part_at(), body("tilt", x_min_mm=44 + m, y_max_mm=-60, z_min_mm=-50)),
    ),
    (
        "cutter_clearance",
        "fail",
        "outer cut",
        lambda m: (
            OUTER,
            body("tilt", x_min_mm=leaning_right_mm() + 3 + m, y_max_mm=-60, z_min_mm=-50),
        ),
    ),
    (
        "joint_closes",
        "caution",
        "swivel",
        lambda m: (part_at(), only("swivel_deg", 0.03, SWIVEL_GAP + m)),
    ),
    (
        "joint_closes",
        "caution",
        "tilt",
        lambda m: (part_at(), only("tilt_deg", 0.03, TILT_GAP + m)),
    ),
    ("cheek_fit", "caution", "kerf", lambda m: (part_at(), only("kerf_mm", 0.02, CHEEK + m))),
    # A depth is the difference of two heights, trim and floor: √2; its limit two glue lines.
    (
        "depth",
        "caution",
        "height",
        lambda m: (part_at(), only("depth_mm", 0.05, (0.1 * math.sqrt(2) + m) / 2)),
    ),
    (
        "short_grain",
        "caution",
        "swivel",
        lambda m: (leaving(60 + m), {}),
    ),
    ("cheek_clearance", "caution", "wide", lambda m: (with_gap(0.15 - m), {})),
    (
        "cheek_clearance",
        "caution",
        "one of two channels",
        lambda m: (with_gap(-0.2, 0.15 - m), {}),
    ),
    (
        "cheek_clearance",
        "caution",
        "another glue line",
        lambda m: (with_gap(0.4 - m), {"practice": {"glue_line_mm": 0.4}}),
    ),
    ("slides_together", "fail", "askew", lambda m: (slid(0.001 - m), {})),
]


def turned(deep: float, wide: float, degrees: float) -> float:
    """Extent of a rectangle turned by that angle."""
    a = math.radians(degrees)
    return deep * math.cos(a) + wide * math.sin(a)
