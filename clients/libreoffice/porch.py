"""The porch set: the joints of the workbook's sheets and their dimensions, all invented.

Knows nothing else. A parameter that is not given here stands empty on its sheet, so that
its default holds.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

__all__ = ["SET", "Piece"]


@dataclass(frozen=True)
class Piece:
    """One joint of the set. setups: how many of each part's are shown beside the inputs.

    cuts, checks: rows of the two tables without their headings, a few to spare.
    """

    title: str
    joint_type: str
    setups: dict[str, int]
    values: Mapping[str, float | str]
    cuts: int = 40
    checks: int = 60


_BOARDS = {
    "board_width_mm": 150.0,
    "thickness_a_mm": 18.0,
    "thickness_b_mm": 18.0,
    "length_a_mm": 320.0,
    "length_b_mm": 320.0,
    "fit_mm": 0.1,
}
SET: dict[str, tuple[Piece, ...]] = {
    "Bench": (
        Piece(
            "Bench: a splayed leg over the rail",
            "splayed_bridle",
            {"leg": 1},
            {
                "leg_width_mm": 66.0,
                "leg_thickness_mm": 44.0,
                "leg_length_mm": 430.0,
                "rail_thickness_mm": 30.0,
                "tongue_thickness_mm": 22.0,
                "rail_depth_mm": 60.0,
                "rail_length_mm": 900.0,
                "splay_along_deg": 12.0,
                "splay_across_deg": 8.0,
                "fit_mm": 0.1,
            },
            cuts=8,
            checks=36,
        ),
    ),
    "Planter": (
        Piece(
            "Planter with four sloping sides",
            "angled_box_joint",
            {"a": 1, "b": 1},
            _BOARDS | {"plan_corner_deg": 90.0, "slope_deg": 15.0},
        ),
        Piece(
            "Planter with six sloping sides, too steep for this fixture",
            "angled_box_joint",
            {"a": 1, "b": 1},
            _BOARDS | {"plan_corner_deg": 120.0, "slope_deg": 20.0},
        ),
    ),
    "Chair": (
        Piece(
            "Side chair with a tapered seat: the side rail",
            "angled_tenon",
            {"rail": 2},
            {
                "rail_width_mm": 60.0,
                "rail_thickness_mm": 22.0,
                "rail_length_mm": 380.0,
                "width_angle_deg": 5.0,
                "thickness_angle_deg": 0.0,
                "tenon_length_mm": 25.0,
                "tenon_width_mm": 40.0,
                "tenon_thickness_mm": 8.0,
                "mortised_thickness_mm": 42.0,
                "mortised_width_mm": 42.0,
                "fit_mm": 0.1,
            },
            cuts=12,
            checks=56,
        ),
    ),
}
