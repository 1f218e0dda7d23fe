"""The parts of the demo fixture: figures by hand, checks, and where each figure comes from."""

from __future__ import annotations

import json
import random
from math import cos, hypot, radians, sin, tan

import attrs
import numpy as np
import pytest

import jointgeo
from jointgeo.errors import InputError
from jointgeo.fixture_parts import (
    PARTS,
    Drilled,
    Wanted,
    fixture_part,
    fixture_parts,
)
from jointgeo.fixture_parts.beam import room_in_front_mm
from jointgeo.fixture_parts.hinge import lean_deg, room_behind_mm
from jointgeo.fixture_parts.spacer import drift_mm, spacer_mm
from jointgeo.fixtures.file import read_fixture
from jointgeo.fixtures.model import no_swivel, no_tilt
from jointgeo.fixtures.text import fixture_toml
from jointgeo.fixtures.wedging import fence_deg, stands_off_deg
from jointgeo.schema.tables import read

PORCH = jointgeo.load_fixture("porch")
SOURCES = ("from the fixture file", "asked", "assumed", "worked out")


def check(part, name):
    return [c for c in part.checks if c.name == name]


def test_every_part_is_plain_data_with_its_sources():
    wanted = Wanted(tilt_deg=33, swivel_deg=11, lean_mm=0.2, lean_over_mm=300)
    found = fixture_parts(PORCH, wanted)
    assert {p.kind for p in found.parts} == set(PARTS)
    assert not found.left_out
    told = json.loads(json.dumps(found.to_dict(), allow_nan=False))
    for part in told["parts"]:
        assert part["figures"]
        assert part["checks"]
        assert part["cautions"]
        for figure in part["figures"]:
            assert figure["source"] in SOURCES
            # What nobody said says where it is from.
            assert figure["because"] or figure["source"] != "assumed"


def test_what_is_wanted_reads_from_plain_data():
    hole = {"across_mm": 1, "up_mm": 2, "diameter_in": "1/4"}
    wanted = read(Wanted, {"screw_mm": 10, "slot_in": "moving", "hole": [hole]})
    assert wanted.hole[0].diameter_mm == pytest.approx(6.35)
    assert wanted.hole[0].keep == "clear"
    with pytest.raises(InputError, match="hole"):
        read(Wanted, {"hole": [{"across_mm": 1}]})


def test_what_a_part_lacks_is_said():
    left = fixture_parts(PORCH).left_out
    assert set(left) == {"traverse_spacer", "wedges"}
    assert "lean_mm" in left["traverse_spacer"]
    with pytest.raises(InputError, match="is no part of a fixture"):
        fixture_part(PORCH, "lid")


def test_parts_of_an_axis_that_is_not_there_are_left_out():
    for axis, kinds in (
        ("tilt", {"tilt_quadrant", "hinge_gap", "beam_cut_away", "swept"}),
        ("swivel", {"swivel_slots"}),
    ):
        none = {"swivel": no_swivel(), "tilt": no_tilt()}[axis]
        found = fixture_parts(
            attrs.evolve(PORCH, **{axis: none}), Wanted(tilt_deg=-5, swivel_deg=3)
        )
        told = {k for k, why in found.left_out.items() if f"belongs to the {axis}" in why}
        assert told == kinds
        assert "wedges" in {p.kind for p in found.parts}


def test_where_a_figure_comes_from():
    def source(fixture, **wanted):
        figure = fixture_part(fixture, "tilt_quadrant", Wanted(**wanted)).figure("wall_mm")
        return figure.value, figure.source

    stated = attrs.evolve(PORCH, practice=attrs.evolve(PORCH.practice, slot_wall_mm=12.0))
    assert source(PORCH) == (10.0, "assumed")
    assert source(stated) == (12.0, "from the fixture file")
    assert source(stated, wall_mm=9.0) == (9.0, "asked")
    wedge = fixture_part(PORCH, "wedges", Wanted(tilt_deg=33)).figure("thin_end_mm")
    assert wedge.because == "practice.wedge_thin_mm, 3 mm where the file does not state it"
    import tomllib

    assert read_fixture(tomllib.loads(fixture_toml(stated))) == stated


def test_the_tilt_quadrant_of_the_demo():
    part = fixture_part(PORCH, "tilt_quadrant")
    assert part["slot_chord_mm"] == pytest.approx(99.5622, abs=0.00005)
    assert part["outline_inner_radius_mm"] == pytest.approx(215.75, abs=1e-9)
    assert part["outline_outer_radius_mm"] == pytest.approx(244.25, abs=1e-9)
    assert part["slot_start_y_mm"] == pytest.approx(14.007, abs=0.0005)
    assert part["slot_end_z_mm"] == pytest.approx(40.709, abs=0.0005)
    assert part.measure == "slot_chord_mm"
    assert part.figure("radius_mm").source == "from the fixture file"
    # Its lowest point is below the hinge by the outer radius, 250 - 244.25; the cutter comes up to
    # 330 - 260, and under the right quadrant, whose X is 210 to 228, but not the left.
    (over,) = check(part, "quadrant_over_cutter")
    assert (over.value, over.limit, over.status) == (pytest.approx(5.75), 72.0, "caution")
    assert over.remedies[0].amounts["x_mm"] == pytest.approx(208.0)
    (wood,) = check(part, "screw_in_plate_edge")
    assert wood.value == pytest.approx(12 - 4)


def test_a_quadrant_on_the_plate_has_the_other_hand_and_needs_the_side_cut_away():
    fixture = attrs.evolve(PORCH, tilt=attrs.evolve(PORCH.tilt, min_deg=-5.0, max_deg=25.0))
    still, moving = (
        fixture_part(fixture, "tilt_quadrant", Wanted(slot_in=where))
        for where in ("fixed", "moving")
    )
    assert (still["slot_start_angle_deg"], still["slot_end_angle_deg"]) == (-5.5, 25.5)
    assert (moving["slot_start_angle_deg"], moving["slot_end_angle_deg"]) == (-25.5, 5.5)
    # Over its swing of -5 to 25 it reaches from -30.5 to 30.5, wall and 2 mm of room beside.
    assert (moving["cut_away_start_angle_deg"], moving["cut_away_end_angle_deg"]) == (-30.5, 30.5)
    assert moving["cut_away_outer_radius_mm"] == pytest.approx(230 + 4.25 + 10 + 2)
    assert check(moving, "quadrant_swings_clear")
    assert not check(moving, "quadrant_stands_clear")


def test_a_body_in_the_quadrant_s_way_ends_the_swing():
    """A bar on the plate, 40 in front of it at the quadrant's own height and beyond the plate's
    end: it swings into a quadrant that stands."""
    bar = attrs.evolve(
        PORCH.body[3],
        name="long clamp bar",
        x_min_mm=-260.0,
        x_max_mm=260.0,
        y_min_mm=-60.0,
        y_max_mm=-40.0,
        z_min_mm=100.0,
        z_max_mm=140.0,
    )
    fixture = attrs.evolve(PORCH, body=(*PORCH.body, bar))
    (found,) = check(fixture_part(fixture, "tilt_quadrant"), "quadrant_swings_clear")
    assert found.status == "pass"  # it is nearer the hinge than the quadrant's inside
    low = attrs.evolve(bar, z_min_mm=0.0, z_max_mm=20.0, y_min_mm=60.0, y_max_mm=80.0)
    fixture = attrs.evolve(PORCH, body=(*PORCH.body, low))
    (found,) = check(fixture_part(fixture, "tilt_quadrant"), "quadrant_swings_clear")
    # Behind the quadrant: its near corners are some 60 - 28 mm away at 240, that is 8 to 9°.
    assert found.status == "fail"
    assert 6 < found.value < 10
    assert found.remedies[0].amounts["max_deg"] == found.value


def test_retrofit_on_holes_that_are_there():
    """Two old holes are the screws' zero places about a new pivot."""
    old = [Drilled(across_mm=-75, up_mm=z, diameter_mm=8, keep="screw") for z in (90, 200)]

    def at(x, z, *holes):
        swivel = attrs.evolve(PORCH.swivel, pivot_x_mm=x, pivot_z_mm=z)
        return fixture_part(
            attrs.evolve(PORCH, swivel=swivel), "swivel_slots", Wanted(hole=tuple(holes))
        )

    part = at(-75, 90, old[1])  # the pivot on one, the other the slot's screw
    assert part["slot_1_radius_mm"] == pytest.approx(110, abs=1e-9)
    assert part["slot_1_screw_at_zero_deg"] == pytest.approx(0, abs=1e-9)
    part = at(-75, 145, *old)  # midway
    assert [part[f"slot_{i}_radius_mm"] for i in (1, 2)] == pytest.approx([55, 55], abs=1e-9)
    assert [abs(part[f"slot_{i}_screw_at_zero_deg"]) for i in (1, 2)] == pytest.approx([180, 0])
    part = at(0, 145, *old)  # elsewhere: one radius for both, whose slots part by 180° - 2·36.25°
    assert [part[f"slot_{i}_radius_mm"] for i in (1, 2)] == pytest.approx(
        [hypot(75, 55)] * 2, abs=1e-9
    )
    part = at(-75, 80, *old)  # 10 and 120 in one direction: too near the pivot for any web
    assert "fail" in {c.status for c in part.checks if c.name == "web_to_hole"}


def test_slots_that_run_into_each_other_fail():
    holes = [Drilled(across_mm=0, up_mm=z, diameter_mm=8, keep="screw") for z in (160, 172)]
    (apart,) = check(fixture_part(PORCH, "swivel_slots", Wanted(hole=tuple(holes))), "slots_apart")
    # 12 apart, 8.5 wide: 3.5 of wood where 8 is wanted.
    assert (apart.value, apart.margin, apart.status) == (
        pytest.approx(3.5),
        pytest.approx(-4.5),
        "fail",
    )


def test_screws_lie_within_the_fence_s_own_foot_where_its_size_is_stated():
    unknown = fixture_part(PORCH, "swivel_slots")
    assert check(unknown, "fence_holds_screws")[0].status == "not_stated"
    fence = attrs.evolve(PORCH.fence, x_mm=-60.0, width_mm=110.0)
    part = fixture_part(attrs.evolve(PORCH, fence=fence), "swivel_slots")
    assert not check(part, "fence_holds_screws")
    for number in (1, 2):
        r, mark = part[f"slot_{number}_radius_mm"], part[f"slot_{number}_screw_at_zero_deg"]
        x, z = r * sin(radians(mark)), 60 + r * cos(radians(mark))
        assert -170 + 12 - 1e-6 <= x <= -60 - 12 + 1e-6  # half the screw and 8 of wood
        assert 15 + 12 - 1e-6 <= z <= 260 - 12 + 1e-6
    with pytest.raises(InputError, match=r"fence\.width_mm"):
        fixture_part(PORCH, "swivel_slots", Wanted(slot_in="moving"))
    inside = fixture_part(
        attrs.evolve(PORCH, fence=fence), "swivel_slots", Wanted(slot_in="moving", max_deg=10)
    )
    assert inside["slot_1_radius_mm"] > 0


def test_a_power_that_is_not_stated_makes_no_lock_pass():
    cutters = tuple(attrs.evolve(c, power_w=None) for c in PORCH.cutter)
    part = fixture_part(attrs.evolve(PORCH, cutter=cutters), "tilt_quadrant")
    assert check(part, "tilt_lock_holds")[0].status == "not_stated"


@pytest.mark.parametrize(("above", "room"), [(0, 0.0), (5, 1.0000), (20, 7.0973), (130, 51.8383)])
def test_room_behind_the_hinge(above, room):
    """Hinge line 12 before the plate's rear, tilt to 24°; and the greatest over angles stepped."""
    assert room_behind_mm(12, above, 24) == pytest.approx(room, abs=0.00005)
    t = np.radians(np.linspace(0, 24, 2401))
    stepped = max(0.0, float((12 * np.cos(t) + above * np.sin(t) - 12).max()))
    assert room_behind_mm(12, above, 24) == pytest.approx(stepped, abs=1e-5)


def test_the_hinge_part():
    part = fixture_part(PORCH, "hinge_gap")
    assert part["room_behind_mm"] == pytest.approx(51.8383, abs=0.00005)
    assert part["fixed_part_ends_at_z_mm"] == 250
    assert part.figure("bears_behind_hinge_mm").source == "from the fixture file"
    assert check(part, "room_behind_plate")[0].status == "not_stated"
    unstated = attrs.evolve(PORCH, aids=attrs.evolve(PORCH.aids, stop_offset_mm=None))
    assert (
        fixture_part(unstated, "hinge_gap").figure("bears_behind_hinge_mm").source == "worked out"
    )
    tall = fixture_part(PORCH, "hinge_gap", Wanted(fixed_above_mm=20))
    (room,) = check(tall, "room_behind_plate")
    assert (room.limit, room.status) == (pytest.approx(7.0973, abs=0.00005), "fail")
    assert fixture_part(PORCH, "hinge_gap", Wanted(fixed_above_mm=0)).status == "pass"
    assert lean_deg(0.5, 230) == pytest.approx(0.1246, abs=0.00005)


@pytest.mark.parametrize(("below", "room"), [(120, 134.4305), (165, 154.4658), (210, 174.5011)])
def test_room_in_front_of_the_hinge(below, room):
    """Front 74, drop 345, tilt 24°."""
    assert room_in_front_mm(74, 345, 24, below) == pytest.approx(room, abs=0.00005)


def test_room_in_front_against_tilts_stepped():
    """Foremost wood at a depth over tilts stepped by 0.01°: the bevel, and the corner's arc."""
    rnd = random.Random(2)  # noqa: S311  # it picks bodies, no secret
    for _ in range(60):
        front, drop, most = rnd.uniform(20, 120), rnd.uniform(120, 400), rnd.uniform(5, 35)
        below = rnd.uniform(0, drop * 0.999)
        found = 0.0
        for t in np.radians(np.linspace(0, most, 3501)):
            s, c = np.sin(t), np.cos(t)
            # The front face, from the hinge's height down to the corner; above it nothing nearer.
            if below <= drop * c - front * s:
                found = max(found, (front + below * s) / c)
        assert room_in_front_mm(front, drop, most, below) == pytest.approx(found, abs=0.1)
        assert room_in_front_mm(front, drop, most, below) >= found - 1e-9


def test_the_beam_s_cut_away():
    wanted = Wanted(stock_mm=44, beam_mm=45, room_mm=0)
    part = fixture_part(PORCH, "beam_cut_away", wanted)
    # The beam's face is 140 + 12 before the hinge; 174.5011 at its lower edge.
    assert part["cut_at_lower_edge_mm"] == pytest.approx(174.5011 - 152, abs=0.00005)
    assert part["cut_at_upper_edge_mm"] == 0
    # (152·cos 24° - 74) / sin 24° below the hinge the bevel begins.
    start = 250 - (152 * cos(radians(24)) - 74) / sin(radians(24))
    assert part["bevel_starts_at_z_mm"] == pytest.approx(start, abs=1e-6)
    (left,) = check(part, "beam_left")
    assert (left.value, left.status) == (pytest.approx(45 - 22.5011, abs=0.0001), "caution")
    roomy = fixture_part(PORCH, "beam_cut_away", attrs.evolve(wanted, room_mm=2.0))
    gained = roomy["cut_at_lower_edge_mm"] - part["cut_at_lower_edge_mm"]
    assert gained == pytest.approx(2 / cos(radians(24)), abs=1e-9)
    unknown = fixture_part(PORCH, "beam_cut_away", Wanted(stock_mm=44))
    assert check(unknown, "beam_left")[0].status == "not_stated"
    with pytest.raises(InputError, match="front_beam"):
        fixture_part(attrs.evolve(PORCH, front_beam=()), "beam_cut_away")


def test_a_beam_cut_away_lets_the_stock_pass():
    """The library's own check of the beam: as deep as the cut, the beam further out is free."""
    part = fixture_part(PORCH, "beam_cut_away", Wanted(stock_mm=44, room_mm=0, overhang_mm=95))
    swept = fixture_part(PORCH, "swept", Wanted(stock_mm=44, overhang_mm=95))
    (stock,) = [
        c
        for c in swept.checks
        if c.name == "swings_clear" and "stock" in c.because and "straight beam" in c.because
    ]
    assert stock.status == "fail"
    out = part["deepest_cut_mm"]
    beam = attrs.evolve(PORCH.front_beam[0], face_distance_mm=140 + out)
    swept = fixture_part(
        attrs.evolve(PORCH, front_beam=(beam,)), "swept", Wanted(stock_mm=44, overhang_mm=95)
    )
    (stock,) = [c for c in swept.checks if "stock" in c.because and "straight beam" in c.because]
    assert stock.margin == pytest.approx(0, abs=1e-6)


def test_the_spacer():
    assert spacer_mm(0.2, 300, 420) == pytest.approx(0.28, abs=1e-12)
    assert drift_mm(0.3, 420, 120) == pytest.approx(0.0857, abs=0.00005)
    part = fixture_part(PORCH, "traverse_spacer", Wanted(lean_mm=0.2, lean_over_mm=300))
    assert part["thickness_mm"] == pytest.approx(0.28, abs=1e-12)
    assert "right" in part.title  # the left is high
    assert part.status == "caution"


#: swivel, wedge: fence, and how far the stock stands off it; from planes by hand.
FENCES = [
    (7.827, 12, 7.9996, 1.658),
    (-15, 20, -15.9153, 5.382),
    (20, 30, 22.7959, 11.170),
    (11.1702, 9.9514, 11.3364, 1.947),
]


@pytest.mark.parametrize(("swivel", "wedge", "fence", "off"), FENCES)
def test_the_fence_that_goes_with_a_wedge(swivel, wedge, fence, off):
    assert fence_deg(swivel, wedge) == pytest.approx(fence, abs=0.00006)
    assert abs(stands_off_deg(fence_deg(swivel, wedge), wedge)) == pytest.approx(off, abs=0.0006)


def test_wedges_as_parts():
    part = fixture_part(PORCH, "wedges", Wanted(swivel_deg=11.1702, tilt_deg=33.9514, stock_mm=20))
    assert part["plate_set_to_deg"] == 24
    assert part["fence_set_to_deg"] == pytest.approx(11.3364, abs=0.00006)
    # 200·tan 9.9514° is 35.09: two of 17.5 on their thin ends of 3.
    assert part["behind_stock_wedges"] == 2
    thick = 3 + 200 * tan(radians(9.9514)) / 2
    assert part["behind_stock_thick_end_mm"] == pytest.approx(thick, abs=1e-9)
    assert "thick at the cut end" in " ".join(part.steps)
    side = fixture_part(PORCH, "wedges", Wanted(swivel_deg=-30))
    assert side["fence_set_to_deg"] == -25
    assert side["at_fence_angle_deg"] == pytest.approx(5, abs=1e-9)
    with pytest.raises(InputError, match="needs no wedge"):
        fixture_part(PORCH, "wedges", Wanted(swivel_deg=5, tilt_deg=5))
    steep = fixture_part(PORCH, "wedges", Wanted(tilt_deg=80))
    assert steep.status == "fail"
