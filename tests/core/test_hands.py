"""Cautions of one setup: each is there with its number where it applies, and nowhere else."""

from __future__ import annotations

from typing import Any

import pytest

from jointgeo.joints.stock import Part

from .case_changes import shank_cutter
from .check_cases import hanging
from .samples import BEAM, fixture_with, part_at, solved

#: A shank cutter leaves nothing standing out; with its turn stated there is nothing to say of it.
QUIET = {"cutter": [shank_cutter(6)["cutter"][0] | {"turns": "anticlockwise"}]}


def cautions(part: Part, changes: dict[str, Any]) -> tuple[str, ...]:
    (setup,) = solved(part, fixture_with(changes)).setups
    return setup.cautions


def only(part: Part, changes: dict[str, Any]) -> str:
    """The one caution there is beside those of the disc that stands out."""
    (found,) = [c for c in cautions(part, changes) if "stands out" not in c]
    return found


def channels(*bounds: tuple[float, float]) -> Part:
    """Channels from the middle of stock 60 mm wide, 20 mm deep."""
    return part_at(channels=[(low, high, 20.0) for low, high in bounds])


def test_nothing_is_said_where_nothing_applies() -> None:
    assert cautions(part_at(), QUIET) == ()


@pytest.mark.parametrize(
    ("part", "changes", "says"),
    [
        # 124 mm of blank, 24 of them below the plate.
        (
            part_at(length_mm=123),
            {"clamp.z_mm": 150},
            ["the clamp, at 150 mm, does not meet the stock, which lies on the plate up to 100.0"],
        ),
        (
            part_at(length_mm=123),
            {"clamp.z_mm": 90, "clamp.second_z_mm": 150},
            ["the upper clamp, at 150 mm, does not meet the stock"],
        ),
        # 25.01 N at the rim, friction 0.25 on both sides of one clamp.
        (
            part_at(),
            {"clamp.force_n": 30},
            ["the clamp presses with 30 N where 50 N are needed"],
        ),
        # A channel of 116 mm hangs 120 mm below the plate: of 230 + 5 mm 115 lie on it.
        (
            hanging(234),
            {"clamp.z_mm": 20},
            ["only 115.0 mm of the stock's length lie on the plate where 120.0 mm should"],
        ),
    ],
)
def test_what_is_held_less_than_wanted(
    part: Part, changes: dict[str, Any], says: list[str]
) -> None:
    found = [c for c in cautions(part, changes) if "disc" not in c]
    assert [c[: len(s)] for c, s in zip(found, says, strict=True)] == says


def test_how_far_a_disc_stands_out() -> None:
    """At 20 mm depth 300 mm of disc reach √(20·280) = 74.8 mm beyond the centre.

    Its centre ends 74.8 mm behind the stock's back at Y = -18, its rim 150 mm further: 186.8 mm
    behind a plate of 20 mm; before the cut 74.8 + 150 mm before the stock.
    """
    behind, before = cautions(part_at(), {})
    assert behind.startswith("after each pass disc stands out up to 187 mm behind the plate")
    assert before.startswith("before each pass disc stands out up to 225 mm in front of the stock")
    behind, before = cautions(
        part_at(), {"feed.sense": "away_from_plate", "cutter.0.top_moves": "away_from_plate"}
    )[:2]
    assert behind.startswith("before each pass disc stands out up to 187 mm behind the plate")
    assert before.startswith("after each pass disc stands out up to 225 mm in front of the stock")


@pytest.mark.parametrize(
    ("fence", "low", "says"),
    [
        ("left", -26.5, "on the left is 3.5 mm thick and 20 mm tall: broken off it lies between"),
        ("right", -26.5, "on the right is 3.5 mm thick and 20 mm tall: broken off it lies between"),
        ("right", 16.5, "on the left is 3.5 mm thick and 20 mm tall: broken off it lies beside"),
        ("left", 16.5, "on the right is 3.5 mm thick and 20 mm tall: broken off it lies beside"),
    ],
)
def test_thin_wood_beside_the_outermost_cut(fence: str, low: float, says: str) -> None:
    """A channel of 10 mm in 60 mm of stock; the fence holds on one side, the other is loose.

    The face edge, from which x is counted, lies on the fence on whichever side that stands.
    """
    assert says in only(channels((low, low + 10)), {**QUIET, "fence.side": fence})


def test_thin_wood_between_two_cuts() -> None:
    said = only(channels((-14, -4), (0.5, 10.5)), QUIET)
    assert said.startswith("between cut 1 and cut 2 stand 4.5 mm of wood, 20 mm tall")


def test_wood_as_thick_as_the_shop_wants_it_is_no_caution() -> None:
    """6 mm is the usual; a shop that wants 7 hears of it."""
    part = channels((-24, -14))
    assert cautions(part, QUIET) == ()
    assert "6.0 mm thick" in only(part, {**QUIET, "practice.wall_mm": 7})


def test_a_cut_that_runs_out_leaves_no_wall() -> None:
    assert cautions(part_at(channels=[(-99.0, -20.0, 20.0)]), QUIET) == ()


def test_climb_and_pull_of_a_disc() -> None:
    """25 N at the rim of 300 mm at 2800 turns a minute and 1100 W; 25·401/227 = 44 N about the top,
    less than the 50 N that friction of 0.25 asks for.
    """
    said = cautions(part_at(), {"cutter.0.top_moves": "away_from_plate"})[2:]
    assert [c.partition(":")[0] for c in said] == [
        "disc climbs",
        "disc pulls the stock off the plate, at its end with up to 25 N",
    ]
    assert "50 N at least" in said[1]
    # Towards the plate against a feed towards you climbs too, and presses the stock on.
    assert "disc climbs" in only(part_at(), {"feed.sense": "away_from_plate"})


def test_a_pin_that_climbs_says_which_way_to_go() -> None:
    climbing = {"cutter": [shank_cutter(6)["cutter"][0] | {"turns": "clockwise"}]}
    assert "from right to left" in only(part_at(), climbing)
    # In a channel of its own width there is one pass, and nothing to be turned round.
    assert cautions(part_at(channels=[(-3, 3, 20)]), climbing) == ()


def test_what_turns_an_unknown_way_is_to_be_found_out() -> None:
    assert "which way disc turns is not stated" in only(part_at(), {"cutter.0.top_moves": None})


@pytest.mark.parametrize(("tilt", "top", "edge"), [(12, "away", 78), (12, "to", 0), (9, "away", 0)])
def test_a_sharp_edge_where_the_teeth_leave(tilt: float, top: str, edge: int) -> None:
    """The cut end swings towards you: its edge on your side is as sharp as 90° less the tilt."""
    way = "away_from_plate" if top == "away" else "towards_plate"
    said = " ".join(cautions(part_at(0, tilt), {"cutter.0.top_moves": way, "feed.sense": way}))
    assert ("in an edge of" in said) == bool(edge)
    assert f"an edge of {edge}°" in said or not edge


@pytest.mark.parametrize(("distance", "gap"), [(58, "10 mm"), (73.5, ""), (40, "")])
def test_a_gap_that_takes_a_finger(distance: float, gap: str) -> None:
    """The stock stands 48 mm before the plate; 25 mm and more take no finger, nor does no gap."""
    beam = {"front_beam": [{**BEAM, "face_distance_mm": distance}]}
    found = cautions(part_at(), {**QUIET, **beam})
    assert [gap in c for c in found] == ([True] if gap else [])
