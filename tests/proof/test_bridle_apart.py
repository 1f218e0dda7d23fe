"""The way a splayed bridle comes apart, from its cut solids, against the ways found by hand."""

from __future__ import annotations

import math
from typing import Any

import attrs
import numpy as np
import pytest

from jointgeo.geometry.vectors import Vec, X, Y, Z
from jointgeo.joints.stock import parts
from jointgeo.proof import dry_fit
from jointgeo.proof.apart import cone
from jointgeo.proof.form import read_errors, read_settings
from jointgeo.proof.rebuild import rebuild
from jointgeo.proof.shop import Shop
from jointgeo.types.splayed_bridle import SplayedBridle

from .samples import solved

FOUR = 0.00005 + 1e-9  # printed to four places
CONE = 1e-7  # of a direction: a solid's corners are off by 1e-6 mm over 44 mm and less


def leg(**changes: Any) -> SplayedBridle:
    base = attrs.evolve(SplayedBridle.examples()[0], rail_thickness_mm=22, fit_mm=0)
    return attrs.evolve(base, **changes)


@pytest.mark.parametrize("turn", [0.0, 5.0, -20.0])
@pytest.mark.parametrize("offset", [0.0, 6.0])
def test_its_settings_cut_it(turn: float, offset: float) -> None:
    joint = leg(leg_turn_deg=turn, leg_offset_mm=offset)
    assert dry_fit(solved(joint)).faults == ()


def cone_of(joint: SplayedBridle) -> np.ndarray[Any, np.dtype[np.float64]]:
    """Normals of the rail's faces that the leg bears on, from the cut solids."""
    form = read_settings(solved(joint))
    shop = Shop(form, {part.name: rebuild(part, read_errors(None)) for part in form.parts})
    return cone(shop.placed["leg"], shop.placed["rail"], 0.0)


def free(normals: Any, way: Vec) -> bool:
    return bool((normals @ np.array(tuple(way.unit)) >= -CONE).all())


def test_the_way_out_of_a_plain_bridle_by_hand() -> None:
    """v·X = 0 and v·Z ≥ 0: anywhere along the rail, and off it."""
    normals = cone_of(leg())
    for way in (Z, Y, -Y, Vec(0, 3, 1)):
        assert free(normals, way), way
    for way in (-Z, Z + X * 0.01, Z - X * 0.01, Vec(0, 3, -0.01)):
        assert not free(normals, way), way


@pytest.mark.parametrize("along", [12.0, -12.0, 0.0])
def test_the_way_out_of_a_housed_bridle_by_hand(along: float) -> None:
    """Also v·(leg's thickness) = 0: along the line (0, tan along, 1) and no other way. In the leg's
    own frame that line is (-sin σ, 0, cos σ) = (-0.1362, 0, 0.9907) at 12° and 8°."""
    joint = attrs.evolve(SplayedBridle.examples()[0], splay_along_deg=along, fit_mm=0)
    normals, way = cone_of(joint), Vec(0, math.tan(math.radians(along)), 1)
    assert free(normals, way)
    for off in (Vec(0, 0.01, 0), Vec(0, -0.01, 0), Vec(0.01, 0, 0), Vec(-0.01, 0, 0)):
        assert not free(normals, way + off), off
    assert not free(normals, -way)
    slide = parts(joint.drawing)[0].slide
    assert slide is not None
    if along == 12.0:
        assert tuple(slide.unit) == pytest.approx((-0.1362, 0, 0.9907), abs=FOUR)
