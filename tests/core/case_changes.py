"""What cases of checks change on the sample fixture or the sample part. Read by ``check_cases``."""

from __future__ import annotations

import math
from typing import Any

import attrs

from jointgeo.geometry.vectors import Vec
from jointgeo.joints.stock import Part

from .samples import part_at


def tilt_between(low: float, high: float) -> dict[str, Any]:
    return {"tilt.min_deg": low, "tilt.max_deg": high}


def body(fixed_to: str = "base", **sides: float) -> dict[str, Any]:
    """A body far away but for the sides given."""
    far = {"x_min_mm": -9000, "x_max_mm": 9000, "y_min_mm": -9000, "y_max_mm": 9000}
    far |= {"z_min_mm": -9000, "z_max_mm": 9000}
    return {"body": [{"name": "body", "fixed_to": fixed_to, **far, **sides}]}


def shank_cutter(kerf_mm: float, reach_mm: float = 60.0) -> dict[str, Any]:
    tool = {"kind": "shank", "diameter_mm": kerf_mm, "kerf_mm": kerf_mm, "reach_mm": reach_mm}
    return {"cutter": [{"name": "shank cutter", **tool}]}


def slid(off_deg: float) -> Part:
    """Stock drawn out of the joint at that angle to its cheeks."""
    way = Vec(math.sin(math.radians(off_deg)), 0.0, math.cos(math.radians(off_deg)))
    return part_at(slide=way)


def with_gap(*gaps_mm: float) -> Part:
    """Stock with a channel for each, that clearance wanted at its cheeks."""
    part = part_at(channels=[(-20 + 15 * i, -10 + 15 * i, 20) for i in range(len(gaps_mm))])
    (notch,) = part.notches
    pairs = zip(notch.channels, gaps_mm, strict=True)
    channels = tuple(attrs.evolve(c, gap=gap) for c, gap in pairs)
    return attrs.evolve(part, notches=(attrs.evolve(notch, channels=channels),))


def corrected(
    axis: str, wanted: float, limit: float, by: float, scale_sense: str = "with_axis", **zero: float
) -> tuple[Part, dict[str, Any]]:
    """An angle wanted of one axis, 5° of the other, and one limit of a scale that is to be set so
    much further than wanted."""
    end = "max" if limit > 0 else "min"
    numbered = {f"{axis}.scale_sense": scale_sense}
    numbered |= {f"{axis}.{name}_deg": figure for name, figure in zero.items()}
    changes = {f"{axis}.{end}_deg": limit, f"correction.{axis}_zero_deg": by, **numbered}
    return part_at(*((wanted, 5) if axis == "swivel" else (5, wanted))), changes


def against(most: float) -> tuple[Part, dict[str, Any]]:
    """A scale that is numbered the other way and from 90°."""
    return corrected("tilt", 12, most, 0.5, scale_sense="against_axis", scale_zero=90)
