"""The beam's exact need against the gap itself, on a grid and at random; and known moves.

Expected values of the three legs were worked out apart from this code, by a grid search over the
solids' corners (our own computation, kept as literals); the grid here is made anew.
"""

from __future__ import annotations

import math

import attrs
import pytest

from jointgeo.fixture_changes.beam import least_move, least_rise, out_needed
from jointgeo.fixture_changes.demands import demands, spots
from jointgeo.fixture_changes.needs import beam_needed
from jointgeo.planning.clamped_stock import front_gap

from .samples import PORCH, random_legs, three_legs

GAP_MM = 1e-9  # rounding of places some hundred mm from the hinge
LOW = PORCH.fitted_beams[0]


def needed(room_mm: float = 0.0):
    return beam_needed(spots(demands(three_legs()), PORCH), LOW, room_mm, frozenset())


def test_what_is_needed_is_the_gap_on_a_grid() -> None:
    """The gap's own way looks at edges that cross the beam's window, never at an outline."""
    tried = 0
    for spot in spots(demands(random_legs(12, 1)), PORCH):
        for clamped in spot.clampings:
            function = out_needed(clamped.context, LOW)
            for up in (
                -180.0,
                -95.0,
                -40.0,
                -7.3,
                0.0,
                0.01,
                12.5,
                33.0,
                61.0,
                120.0,
                190.0,
                260.0,
            ):
                beam = attrs.evolve(LOW, z_min_mm=LOW.z_min_mm + up, z_max_mm=LOW.z_max_mm + up)
                context = clamped.context
                gap = front_gap(beam, context.setup.chosen.clamped, context.thin_ends_mm)
                for body in context.carried.values():
                    gap = min(gap, _gap_to(body, beam))
                assert function.at(up) == pytest.approx(-gap, abs=GAP_MM)
                tried += 1
    assert tried == 288


def _gap_to(body, beam) -> float:
    from jointgeo.geometry.boxes import box_corners
    from jointgeo.geometry.clearance import BOX_EDGES, beam_gap

    solid = (box_corners(body), BOX_EDGES)
    return beam_gap(solid, beam.face_distance_mm, beam.z_min_mm, beam.z_max_mm)


def test_three_legs_alone_and_together() -> None:
    function = needed()
    assert function.at(0.0) == pytest.approx(20.2097, abs=5e-5)  # printed to four digits
    each = sorted(
        out_needed(s.clampings[0].context, LOW).at(0.0) for s in spots(demands(three_legs()), PORCH)
    )
    assert each == pytest.approx([17.53, 18.15, 20.21], abs=5e-3)


def test_the_shortest_move_of_the_beam() -> None:
    move = least_move(needed(), -100, 100, 0, 0)
    assert (move.up_mm, move.out_mm, move.length_mm) == pytest.approx(
        (6.4953, 17.8457, 18.9910), abs=5e-5
    )


def test_no_move_of_a_fine_grid_is_shorter_or_free_where_the_function_says_it_is_not() -> None:
    function, best = needed(), least_move(needed(), -100, 100, 0, 0)
    for step in range(-400, 401):
        up = step / 4
        assert (max(0.0, function.at(up)) ** 2 + up**2) ** 0.5 >= best.length_mm - 1e-9


def test_the_least_rise_lies_beyond_all_that_swings() -> None:
    rise = least_rise(needed(), -250, 250)
    assert rise is not None
    assert needed().at(rise) <= 0
    assert needed().at(rise - 0.01) > 0
    assert rise == pytest.approx(199.66, abs=0.005)
    assert least_rise(needed(), -100, 100) is None


def test_room_in_height_counts_as_the_check_counts_it() -> None:
    """Where nothing is beside the beam and something less than the room above or below, no move
    out is enough; where nothing is within the room, nothing is needed."""
    context = spots(demands(three_legs()), PORCH)[0].clampings[0].context
    plain, roomy = out_needed(context, LOW), out_needed(context, LOW, 2.0)
    end = plain.steps[-1].end  # the last rise at which something is beside it
    assert plain.at(end + 0.5) == -math.inf
    assert roomy.at(end + 0.5) > 1e5
    assert roomy.at(end + 2.01) == -math.inf
    assert roomy.at(0.0) == pytest.approx(plain.at(0.0) + 2.0, abs=GAP_MM)
