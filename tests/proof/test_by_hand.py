"""The dry fit against joints worked out on paper: volumes, places, directions.

Expected numbers are plain geometry, written out beside each; tolerance 1e-6 mm³ or mm,
a thousand times the kernel's rounding and far below any of the numbers.
"""

from __future__ import annotations

import copy
import math

import numpy as np
import pytest

from jointgeo.proof import Mesh, dry_fit

from .handmade import (
    Settings,
    alone,
    altered,
    bar,
    box,
    cut,
    notch,
    part,
    placed,
    setup,
    square_bridle,
    square_fingers,
    square_tenon,
)

EXACT = 1e-6
LET_OUT = 1e-3  # mm³: what is planned to be open is let out by 1e-6 mm, over 400 mm² here


def one(blank: Settings) -> Mesh:
    """One part as cut, whatever it should fit."""
    return dry_fit(alone(blank)).parts[blank["part"]]


def near_end(mesh: Mesh, below: float) -> np.ndarray:
    return mesh.vertices[mesh.vertices[:, 2] < below]


def test_square_tenon() -> None:
    fit = dry_fit(square_tenon())
    assert fit.faults == ()
    # 60·20·(200 + 25) less all round a tenon of 40 × 10 over 25: (1200 - 400)·25.
    assert fit.parts["rail"].volume_mm3 == pytest.approx(270_000 - 20_000, abs=EXACT)
    # 40·50·200 less a mortise of 10 × 27 × 40.
    assert fit.parts["post"].volume_mm3 == pytest.approx(400_000 - 10_800, abs=EXACT)
    # The trimmed rail reaches 25 deep into the post over its whole section of 60 × 20.
    assert fit.joint_mm3 == pytest.approx(30_000, abs=EXACT)
    assert fit.overlap_mm3 == pytest.approx(0, abs=EXACT)


def test_square_tenon_without_its_mortise() -> None:
    fit = dry_fit(altered(square_tenon(), "parts[1].layout", []))
    assert fit.verdict == "does not go together"
    assert fit.overlap_mm3 == pytest.approx(40 * 10 * 25, abs=EXACT)
    assert fit.overlap_fraction == pytest.approx(1 / 3, abs=EXACT)


def test_square_tenon_too_thin_by_a_millimetre() -> None:
    """Taken off the back cheek by the settings, 1 mm more than is drawn."""
    fit = dry_fit(altered(square_tenon(), "parts[0].setups[1].cuts[1]", cut(14, 21, 25)))
    assert fit.gap_mm == pytest.approx(1.0, abs=EXACT)
    assert fit.press_mm == pytest.approx(0, abs=EXACT)
    # Counted from the back, the second cut lies at the face side: 1 mm over the tenon's 40 × 25.
    said = {f.what: f.measured for f in fit.faults}
    assert said["rail: wood that is drawn and the settings take"] == pytest.approx(1000, abs=EXACT)
    # What opens in the post's mortise.
    assert said["post: open space where it was cut"] == pytest.approx(1000, abs=LET_OUT)
    assert said["greatest gap at rail, cheeks, channel 1, high cheek"] == pytest.approx(
        1, abs=EXACT
    )
    assert fit.open_mm3 == pytest.approx(1000, abs=LET_OUT)


def test_a_hole_outside_the_block_that_both_blanks_share() -> None:
    """A mortise 3 mm too deep is cut as drawn: it lies beyond the rail's end."""
    deep = altered(
        square_tenon(), "parts[1].layout[0]", box("mortise", (15, -1, 80), (25, 30, 120))
    )
    drawn = box("mortise", (10, 5, -30), (50, 15, 1)) | {"bar": "post", "side": "face_side"}
    fit = dry_fit(altered(deep, "drawing.pockets[0]", drawn))
    assert [f.what for f in fit.faults] == ["post: open space where it was cut"]
    assert fit.open_mm3 == pytest.approx(3 * 40 * 10, abs=LET_OUT)


def test_a_shoulder_that_runs_out_beside_a_narrow_post_is_no_hole() -> None:
    """The post 16 mm across where the rail is 20: the shoulders stand out by 2 mm on each side."""
    narrow = square_tenon()
    narrow["parts"][1]["stock"]["width_mm"] = 16.0
    narrow["parts"][1]["layout"][0]["frame"][0][3] -= 12.0  # the mortise in its middle again
    narrow["assembly"][1]["pose"][1][3] += 12.0
    narrow["drawing"]["bars"][1]["size_mm"][0] = 16.0
    narrow["drawing"]["bars"][1]["pose"][1][3] += 12.0
    assert dry_fit(narrow).faults == ()


def test_square_bridle() -> None:
    fit = dry_fit(square_bridle())
    assert fit.faults == ()
    # 60·40·400 less a slot of 20 × 50 through the thickness of 40.
    assert fit.parts["leg"].volume_mm3 == pytest.approx(960_000 - 40_000, abs=EXACT)
    assert fit.joint_mm3 == pytest.approx(20 * 50 * 40, abs=EXACT)


def test_square_bridle_with_a_shallow_slot() -> None:
    shallow = altered(square_bridle(), "parts[0].setups[0].cuts[0].depth_mm", 47.0)
    fit = dry_fit(shallow)
    assert fit.overlap_mm3 == pytest.approx(3 * 20 * 40, abs=EXACT)
    assert fit.press_mm == pytest.approx(3.0, abs=EXACT)


def test_square_fingers() -> None:
    fit = dry_fit(square_fingers())
    assert fit.faults == ()
    assert fit.parts["a"].volume_mm3 == pytest.approx(90 * 12 * 200 - 30 * 12 * 10, abs=EXACT)
    assert fit.parts["b"].volume_mm3 == pytest.approx(90 * 10 * 150 - 60 * 10 * 12, abs=EXACT)
    assert fit.joint_mm3 == pytest.approx(90 * 12 * 10, abs=EXACT)


def test_square_fingers_of_one_board_moved_along() -> None:
    """Travel 2 mm too far right on board b: it overlaps on one cheek and gapes on the other,
    and its first pass, begun 1 mm outside the wood, leaves 1 mm standing at the rim."""
    moved = square_fingers()
    for cutting in moved["parts"][1]["setups"][0]["cuts"]:
        for one_pass in cutting["passes"]:
            one_pass["travel_mm"] += 2.0
    fit = dry_fit(moved)
    # b's finger now lies from 28 to 58 in the world: 2 mm × 12 × 10 into a's finger.
    assert fit.overlap_mm3 == pytest.approx((2 + 1) * 12 * 10, abs=EXACT)
    assert fit.open_mm3 == pytest.approx(2 * 12 * 10, abs=EXACT)


def test_two_legs_on_one_rail() -> None:
    """Three bars: the second leg is the first one, further along by -100 and so clear of it."""
    three = square_bridle()
    for where in (three["parts"], three["assembly"], three["drawing"]["bars"]):
        which = next(i for i, x in enumerate(where) if "leg" in (x.get("part"), x.get("name")))
        other = copy.deepcopy(where[which])
        other["part" if "part" in other else "name"] = "second"
        if "pose" in other:
            other["pose"][2][3] -= 100.0
        where.append(other)
    three["drawing"]["notches"] += [three["drawing"]["notches"][0] | {"bar": "second"}]
    three["drawing"]["slides"] |= {"second": [1.0, 0.0, 0.0]}
    fit = dry_fit(three)
    assert fit.faults == ()
    assert [p.parts for p in fit.pairs] == [("rail", "leg"), ("rail", "second"), ("leg", "second")]
    for where in (three["assembly"], three["drawing"]["bars"]):
        where[2]["pose"][2][3] += 80.0
    # 20 mm of the legs' thickness of 40 overlap, in all of a leg but its slot.
    assert dry_fit(three).pairs[2].overlap_mm3 == pytest.approx(
        20 * (60 * 400 - 20 * 50), abs=EXACT
    )


@pytest.mark.parametrize("swivel", [12.0, -12.0])
def test_leaning_by_swivel(swivel: float) -> None:
    """Positive swivel is clockwise: the end swings left, its right-hand corner hangs lowest."""
    mesh = one(part("p", (60, 20, 300), [setup([cut(20, 30, 15)], swivel_deg=swivel, trim_mm=14)]))
    sine, cosine = math.sin(math.radians(12)), math.cos(math.radians(12))
    low, high = (14 - 60 * sine) / cosine, 14 / cosine  # where the plane meets the two edges
    at_zero, at_width = (low, high) if swivel > 0 else (high, low)
    end = near_end(mesh, 30)
    assert end[end[:, 0] < EXACT][:, 2].min() == pytest.approx(at_zero, abs=EXACT)
    assert end[end[:, 0] > 60 - EXACT][:, 2].min() == pytest.approx(at_width, abs=EXACT)
    # Trimmed: the section times the length of its middle line. The channel: 10 × 15 × 20.
    whole = 60 * 20 * (300 - (low + high) / 2)
    assert mesh.volume_mm3 == pytest.approx(whole - 10 * 15 * 20, abs=EXACT)


@pytest.mark.parametrize("tilt", [9.0, -9.0])
def test_leaning_by_tilt(tilt: float) -> None:
    """Positive tilt brings the end towards you: what lies at the plate hangs lowest."""
    mesh = one(part("p", (60, 20, 300), [setup([cut(20, 30, 15)], tilt_deg=tilt, trim_mm=5)]))
    sine, cosine = math.sin(math.radians(9)), math.cos(math.radians(9))
    low, high = (5 - 20 * sine) / cosine, 5 / cosine
    face_side, back = (low, high) if tilt > 0 else (high, low)
    end = near_end(mesh, 10)
    assert end[end[:, 1] < EXACT][:, 2].min() == pytest.approx(face_side, abs=EXACT)
    assert end[end[:, 1] > 20 - EXACT][:, 2].min() == pytest.approx(back, abs=EXACT)
    # The feed runs through the stock at the tilt: the channel is longer by 1/cos.
    whole = 60 * 20 * (300 - (low + high) / 2)
    assert mesh.volume_mm3 == pytest.approx(whole - 10 * 15 * 20 / cosine, abs=EXACT)


def test_leaning_by_both_and_packing() -> None:
    """A channel inside the stock takes width · depth · thickness / |q_y · y|, whatever the
    angles: the region between three pairs of planes is their distances' product over the
    determinant of their normals. The feed's row of Rx(-t)·Ry(s) is (-sin t·sin s, cos t,
    sin t·cos s); Rz(k) carries the stock's y to (-sin k, cos k, 0)."""
    swivel, tilt, packing = 7.0, 11.0, 2.5
    plain = part(
        "p",
        (80, 24, 300),
        [setup([], swivel_deg=swivel, tilt_deg=tilt, packing_deg=packing, trim_mm=20)],
    )
    slotted = altered(plain, "setups[0].cuts", [cut(30, 42, 18)])
    s, t, k = map(math.radians, (swivel, tilt, packing))
    along = math.cos(t) * math.cos(k) + math.sin(t) * math.sin(s) * math.sin(k)
    taken = one(plain).volume_mm3 - one(slotted).volume_mm3
    assert taken == pytest.approx(12 * 18 * 24 / along, abs=EXACT)


@pytest.mark.parametrize(
    ("against_plate", "x_from", "axis", "at_zero"),
    [
        # Which side of the stock stands on the left, the touch-off side; common sense with a
        # piece of wood in the hand: the plate behind it, the end down, face side named.
        ("back", "face_edge", 0, True),
        ("back", "back_edge", 0, True),
        ("face_side", "face_edge", 0, False),
        ("face_side", "back_edge", 0, False),
        ("back_edge", "face_edge", 1, False),  # the edge at x = width on the plate
        ("face_edge", "face_edge", 1, True),
        ("face_edge", "back_edge", 1, False),  # now the face edge is the one at x = width
        ("back_edge", "back_edge", 1, True),
    ],
)
def test_which_side_is_on_the_left(
    against_plate: str, x_from: str, axis: int, at_zero: bool
) -> None:
    """A cut 6 mm wide at the touch-off corner, 10 mm deep, takes that side's corner off."""
    cutting = setup([cut(-2, 6, 10)], against_plate=against_plate)
    mesh = one(part("p", (60, 20, 100), [cutting], x_from=x_from))
    size = (60, 20)
    assert mesh.volume_mm3 == pytest.approx(60 * 20 * 99 - 6 * 10 * size[1 - axis], abs=EXACT)
    end = near_end(mesh, 1 + EXACT)
    low, high = end[:, axis].min(), end[:, axis].max()
    want = (6, size[axis]) if at_zero else (0, size[axis] - 6)
    assert (low, high) == pytest.approx(want, abs=EXACT)


def test_touch_off_moves_with_what_the_first_setup_took() -> None:
    """The first setup takes 8 mm from the back; the second counts from what is left."""
    first = setup([cut(-1, 8, 10)], against_plate="back_edge")  # the back is on the left
    second = setup([cut(-1, 5, 10)], against_plate="back_edge")
    mesh = one(part("p", (60, 20, 100), [first, second]))
    end = near_end(mesh, 1 + EXACT)
    assert end[:, 1].max() == pytest.approx(20 - 8 - 5, abs=EXACT)


def test_the_pose_places_what_was_cut() -> None:
    fit = dry_fit(square_bridle())
    leg = next(p for p in fit.assembly if p.part == "leg").mesh
    # Stock z from 1 to 401 lies along world x from 0, x across world y from -20, y along z.
    want = [[0, -20, 130], [400, 40, 170]]
    assert leg.extents_mm == pytest.approx(np.array(want, float), abs=EXACT)


def test_interference_as_planned_is_no_overlap() -> None:
    """A slot 0.2 mm too narrow, stated as such: 0.1 mm on each cheek of 50 × 40."""
    tight = altered(square_bridle(), "parts[0].setups[0].cuts[0]", cut(20.1, 39.9, 50))
    drawn = notch("slot", "leg", ((-1, 0, 0), 0.0), (0, 1, 0), [(0.1, 19.9, 50)], gap=-0.1)
    fit = dry_fit(altered(tight, "drawing.notches[0]", drawn))
    assert fit.faults == ()
    assert fit.interference_mm3 == pytest.approx(2 * 0.1 * 50 * 40, abs=EXACT)
    drawn = notch("slot", "leg", ((-1, 0, 0), 0.0), (0, 1, 0), [(0.1, 19.9, 50)])
    unstated = dry_fit(altered(tight, "drawing.notches[0]", drawn))
    assert unstated.overlap_mm3 == pytest.approx(2 * 0.1 * 50 * 40, abs=EXACT)
    assert unstated.press_mm == pytest.approx(0.1, abs=EXACT)


def test_a_slab_of_stated_clearance_ends_where_its_cheek_does() -> None:
    """A groove in the post in line with a loose cheek, as thin as the clearance, is a hole."""
    loose = altered(square_tenon(), "parts[0].setups[1].cuts[1]", cut(14, 21, 25))
    channels = [(None, 6, 25), (15, None, 25)]
    drawn = notch("cheeks", "rail", ((0, 0, -1), 25.0), (0, 1, 0), channels)
    drawn["channels"][0]["gap_mm"] = 1.0
    loose = altered(loose, "drawing.notches[1]", drawn)
    assert dry_fit(loose).faults == ()
    # From the mortise's floor, 27 deep, 4 mm on; in stock x of the post across, y in, z along.
    further = box("slit", (15, 26, 80), (16, 31, 120))
    in_world = box("slit", (10, 5, -31), (50, 6, -26)) | {"bar": "post", "side": "face_side"}
    loose["parts"][1]["layout"].append(further)
    loose["drawing"]["pockets"].append(in_world)
    fit = dry_fit(loose)
    assert [f.what for f in fit.faults] == ["post: open space where it was cut"]
    assert fit.open_mm3 == pytest.approx(4 * 40 * 1, abs=LET_OUT)


@pytest.mark.parametrize(
    ("way", "into"),
    [((0, 0, 1), 0.0), ((0, 1, 1), math.sqrt(0.5)), ((1, 0, 100), 1 / math.hypot(1, 100))],
)
def test_the_cone_of_a_square_tenon_is_one_way(way: tuple[float, ...], into: float) -> None:
    """All round its tenon walls bear: it comes out along z and no other way."""
    fit = dry_fit(altered(square_tenon(), "drawing.slides.rail", list(way)))
    said = {f.what: f for f in fit.findings}
    found = said["rail: its slide, against the faces it bears on"]
    assert found.measured == pytest.approx(into, abs=1e-9)
    assert found.ok == (into == 0)


def test_the_cone_of_square_fingers_is_a_quarter() -> None:
    """Floors leave the plane square to the corner edge, and of it a quarter: z up, y down."""
    for way, opens in (
        ((0, 0, 1), True),
        ((0, -1, 0), True),
        ((0, -1, 1), True),
        ((0, 1, 1), False),
        ((0, -1, -1), False),
        ((0.001, 0, 1), False),
    ):
        fit = dry_fit(altered(square_fingers(), "drawing.slides.a", list(way)))
        assert (fit.faults == ()) == opens, way


def test_what_is_drawn_out_must_find_its_way_clear() -> None:
    """A pin that stands 4 mm beside the rail: no face bears, and it is in the way all the same."""
    pinned = square_tenon()
    pin = part("pin", (10, 10, 60))
    upright = [[1, 0, 0], [0, 1, 0], [0, 0, 1]]
    # In the rail's way only where the rail is drawn sideways, further than the walls of the mortise
    # would let it; 15 mm along there are two bodies in it, the post and the pin.
    pinned["parts"].append(pin)
    pinned["assembly"].append(placed("pin", upright, (64, 5, 20)))
    pinned["drawing"]["bars"].append(bar("pin", (10, 10, 60), upright, (64, 5, 20)))
    assert dry_fit(pinned).faults == ()
    sideways = dry_fit(altered(pinned, "drawing.slides.rail", [1.0, 0.0, 4.0]))
    moved = {f.what: f for f in sideways.faults}["rail: wood in its way as it is drawn out"]
    assert moved.measured is not None
    assert moved.measured > 1000


def test_a_second_trim_is_not_cut_but_compared() -> None:
    settings = square_tenon()
    fit = dry_fit(altered(settings, "parts[0].setups[1].trim_mm", 1.5))
    said = {f.what: f for f in fit.faults}
    off = said["clamping 2: trim plane against the first clamping's"]
    assert off.measured == pytest.approx(0.5, abs=EXACT)
    # Its cuts follow the plane it states: half a millimetre further in, over two cheeks.
    rail = fit.parts["rail"].volume_mm3
    assert rail == pytest.approx(250_000 - 0.5 * 60 * (5 + 5), abs=EXACT)


def test_a_blank_alone_has_nothing_to_fit() -> None:
    fit = dry_fit(alone(part("p", (60, 20, 100))))
    assert fit.verdict == "does not go together"
    assert {f.what for f in fit.faults} == {
        "p: has a place in the assembly",
        "p: is drawn",
        "parts put together",
        "faces that bear",
        "bars with a slide",
    }
