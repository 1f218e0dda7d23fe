"""Planning one end: which clamping is chosen, which cutter, and how notches become setups."""

from __future__ import annotations

import math

import attrs
import numpy as np
import pytest

from jointgeo.errors import PluginError
from jointgeo.fixtures.model import Fixture
from jointgeo.joints.sides import clamped_sides
from jointgeo.joints.stock import Part, StockNotch
from jointgeo.planning.clampings import Candidate
from jointgeo.planning.end_plan import plan_end

from .samples import BEAM, FIXTURE, fixture_with, notch_at, part_at, turn

EXACT = 1e-9
DISC = FIXTURE["cutter"][0]


def chosen(part: Part, fixture: Fixture) -> Candidate:
    return plan_end(part, fixture).setups[0].chosen


# Which clamping --------------------------------------------------------------------------


@pytest.mark.parametrize("sign", [1, -1])
def test_the_one_inside_both_ranges_is_chosen(sign) -> None:
    """It may have less room to the beam: being able to set it comes first."""
    fixture = fixture_with({"tilt.min_deg": 0, "front_beam": [{**BEAM, "face_distance_mm": 100}]})
    assert chosen(part_at(5, 10 * sign), fixture).tilt_deg == pytest.approx(10, abs=EXACT)


def test_of_two_outside_the_one_less_far_out_is_chosen() -> None:
    fixture = fixture_with({"tilt.min_deg": -4, "tilt.max_deg": 6})
    assert chosen(part_at(5, 10), fixture).tilt_deg == pytest.approx(10, abs=EXACT)
    assert chosen(part_at(5, -10), fixture).tilt_deg == pytest.approx(10, abs=EXACT)


@pytest.mark.parametrize("sign", [1, -1])
def test_of_two_inside_the_one_with_more_room_to_the_beam_is_chosen(sign) -> None:
    """Tilting the cut end away from you takes it away from a straight beam in front."""
    both_ways = {"tilt.min_deg": -60, "tilt.max_deg": 60}
    fixture = fixture_with({**both_ways, "front_beam": [{**BEAM, "face_distance_mm": 300}]})
    part = part_at(5, 10 * sign)
    found = plan_end(part, fixture).setups[0]
    assert found.chosen.tilt_deg == pytest.approx(-10, abs=EXACT)
    gaps = [c.gap_mm for c in found.candidates]
    assert None not in gaps
    assert found.chosen.gap_mm == max(g for g in gaps if g is not None)


# With nothing else to tell them apart, marked sides go on plate and fence.
MARKED = [
    ("left", "face_edge", "back", "face_edge"),  # one marked side either way: the plainer turn
    ("left", "back_edge", "face_side", "face_edge"),
    ("right", "face_edge", "face_side", "face_edge"),
    ("right", "back_edge", "back", "face_edge"),
]


@pytest.mark.parametrize(("fence", "x_from", "plate", "at_fence"), MARKED)
def test_marked_sides_go_on_plate_and_fence(fence, x_from, plate, at_fence) -> None:
    """Upright stock may stand either way round; the face edge reaches the fence every time."""
    fixture = fixture_with({"tilt.min_deg": -60, "fence.side": fence})
    sides = clamped_sides(chosen(part_at(x_from=x_from), fixture).side, x_from)
    assert (sides["plate"], sides[fence]) == (plate, at_fence)


def test_a_beam_nowhere_near_gives_no_gap() -> None:
    assert chosen(part_at(), fixture_with()).gap_mm is None
    low = fixture_with({"front_beam": [{**BEAM, "z_max_mm": -500}]})
    assert chosen(part_at(), low).gap_mm is None
    unfitted = fixture_with({"front_beam": [{**BEAM, "fitted": False}]})
    assert chosen(part_at(), unfitted).gap_mm is None


def test_the_nearest_of_several_beams_counts() -> None:
    """Stock stands 48 mm out; beams at 100 and 70 mm leave 52 and 22."""
    two = [{**BEAM, "face_distance_mm": 100}, {**BEAM, "name": "b", "face_distance_mm": 70}]
    assert chosen(part_at(), fixture_with({"front_beam": two})).gap_mm == pytest.approx(22)


def test_rounding_is_no_packing() -> None:
    """A frame multiplied out three times is off by 1e-16; nobody is asked to plane that wedge."""
    frame = turn(12.3, 4.5) @ turn(0, 0, 33.3) @ turn(0, 0, -33.3)
    part = attrs.evolve(part_at(), notches=(notch_at(frame, np.zeros(3), [(-5, 5, 20)]),))
    assert chosen(part, fixture_with()).packing_deg == 0.0


# Which cutter ----------------------------------------------------------------------------

CUTTERS = [
    {**DISC, "name": "wide", "kerf_mm": 12, "reach_mm": 40},
    {**DISC, "name": "middle", "kerf_mm": 6, "reach_mm": 60},
    {**DISC, "name": "fine", "kerf_mm": 3, "reach_mm": 90},
]


@pytest.mark.parametrize(
    ("width", "depth", "cutter"),
    [
        (20, 30, "wide"),
        (12, 30, "wide"),  # exactly as wide as its kerf
        (11.9, 30, "middle"),
        (20, 40, "wide"),  # exactly as deep as it reaches
        (20, 40.1, "middle"),
        (20, 80, "fine"),
        (5, 30, "fine"),
        (2, 30, "fine"),  # none fits: the narrowest of those that reach
        (2, 50, "fine"),
        (20, 100, "fine"),  # none reaches
    ],
)
def test_the_widest_cutter_that_fits_and_reaches(width, depth, cutter) -> None:
    part = part_at(channels=[(-width / 2, width / 2, depth)])
    assert plan_end(part, fixture_with({"cutter": CUTTERS})).setups[0].cutter.name == cutter


def test_the_trim_counts_as_a_depth() -> None:
    """Swivel 45° over 60 mm: the trim is 43.4 mm deep, more than the widest cutter reaches."""
    found = plan_end(part_at(45), fixture_with({"cutter": CUTTERS})).setups[0]
    assert found.trim_mm == pytest.approx(60 * math.sin(math.radians(45)) + 1, abs=EXACT)
    assert found.cutter.name == "middle"


# Notches and setups ----------------------------------------------------------------------


def two_notches(second: StockNotch) -> Part:
    return attrs.evolve(part_at(), notches=(*part_at().notches, second))


def test_notches_of_one_frame_are_one_setup() -> None:
    """The second notch's channel, from its own origin 12 mm to the right, ends up at 37 to 45."""
    second = notch_at(np.eye(3), [42, 99, 0], [(-5, 3, 15)])
    (setup,) = plan_end(two_notches(second), fixture_with()).setups
    spans = [(c.left_mm, c.right_mm, c.depth_mm) for c in setup.cuts]
    np.testing.assert_allclose(spans, [(25, 35, 20), (37, 45, 15)], rtol=0, atol=EXACT)


def test_notches_of_two_frames_are_two_setups_in_their_order() -> None:
    second = notch_at(turn(0, 0, 90), [30, 15, 0], [(-5, 5, 15)])
    first, then = plan_end(two_notches(second), fixture_with()).setups
    assert (first.chosen.side % 2, then.chosen.side % 2) == (0, 1)
    assert (first.depth_mm, then.depth_mm) == (20, 15)


@pytest.mark.parametrize(
    "second",
    [
        notch_at(np.eye(3), [30, 15, 0.01], [(-5, 5, 15)]),
        notch_at(turn(0.01, 0), [30, 15, 0], [(-5, 5, 15)]),
    ],
    ids=["another height", "another lean"],
)
def test_notches_of_one_end_share_their_trim_plane(second) -> None:
    with pytest.raises(PluginError, match=r"piece.*trim plane"):
        plan_end(two_notches(second), fixture_with())


def test_channels_that_meet_no_wood_are_left_out() -> None:
    part = part_at(channels=[(-5, 5, 20), (31, 40, 20), (-math.inf, -30, 20)])
    cuts = plan_end(part, fixture_with()).setups[0].cuts
    assert [(c.left_mm, c.right_mm) for c in cuts] == [(25, 35)]


def test_an_open_channel_runs_past_the_leaning_side_over_its_whole_depth() -> None:
    """Swivel 20°, 50 mm deep, open to the left.

    The left side leans right as it goes up: at the trimmed end its corner is touched, at the
    floor it has moved 50·tan 20° = 18.199 mm away; on the right the same brings wood out.
    """
    left = plan_end(part_at(20, channels=[(-math.inf, 0, 50)]), fixture_with()).setups[0].cuts[0]
    assert left.left_mm == pytest.approx(-1.0, abs=EXACT)
    right = plan_end(part_at(20, channels=[(0, math.inf, 50)]), fixture_with()).setups[0].cuts[0]
    # The end face is 60 / cos 20° = 63.851 mm across; 1 mm is run past.
    assert right.right_mm == pytest.approx(63.851 + 18.199 + 1, abs=0.001)
    assert right.outer


def test_an_open_channel_on_the_side_that_leans_out_starts_left_of_the_corner() -> None:
    """Swivel -20°: the left side leans out by 18.199 mm at the floor, so left_mm is negative."""
    cut = plan_end(part_at(-20, channels=[(-math.inf, 0, 50)]), fixture_with()).setups[0].cuts[0]
    assert cut.left_mm == pytest.approx(-18.199 - 1, abs=0.001)


def test_the_blank_is_the_finished_length_and_both_allowances() -> None:
    """Upright: 400 mm and 1 mm of trim; 7 mm for the other end."""
    assert plan_end(part_at(), fixture_with()).blank_mm == pytest.approx(401, abs=EXACT)
    longer = plan_end(part_at(), fixture_with(), other_allowance_mm=7.0)
    assert longer.blank_mm == pytest.approx(408, abs=EXACT)
    plain = attrs.evolve(part_at(), notches=())
    assert plan_end(plain, fixture_with()).blank_mm == 400
    assert not plan_end(plain, fixture_with()).setups


@pytest.mark.parametrize("swivel", [0.0, 25.0, -25.0])
def test_the_trim_goes_on_until_the_last_of_the_wood(swivel) -> None:
    """Its last position lies past all wood below the trim plane, in the machine."""
    fixture = fixture_with()
    part = part_at(swivel, 10)
    plan = plan_end(part, fixture)
    setup = plan.setups[0]
    clamped = setup.chosen.clamped
    rotation, offset = np.array(clamped.rows), np.array(clamped.at)
    end = np.column_stack([plan.corners, np.zeros(4)])
    up = rotation[2] @ [0.0, 0.0, 1.0]
    level = clamped.lowest_mm + setup.trim_mm
    on_plane = end.copy()
    on_plane[:, 2] = (level - (end @ rotation.T + offset)[:, 2]) / up
    wood = np.concatenate([end, on_plane]) @ rotation.T + offset
    assert setup.corner_x_mm + setup.trim_travel_mm[1] >= wood[:, 0].max() + 1 - EXACT
    # Its first position clears all wood on the left: the cutter's left face is a kerf further.
    first = setup.corner_x_mm + setup.trim_travel_mm[0] - setup.cutter.kerf_mm
    assert first <= wood[:, 0].min() - 1 + EXACT
    assert setup.travel_x_mm[0] <= setup.corner_x_mm + setup.trim_travel_mm[0]
