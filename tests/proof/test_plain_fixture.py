"""Fixtures that lack an axis: wedges hold the stock, and the same dry fit tells whether rightly.

Reference: the virtual shop stands the stock on the planes of plate, fence and wedges alone, and
shares no arithmetic with the solver; places are measured on corners. Expected fences are from
planes, by hand.
"""

from __future__ import annotations

import copy
import tomllib
from math import cos, radians, tan
from typing import Any

import attrs
import numpy as np
import pytest

import jointgeo
from jointgeo.errors import FixtureError, InputError
from jointgeo.fixtures.file import read_fixture
from jointgeo.fixtures.text import fixture_toml
from jointgeo.fixtures.wedging import held
from jointgeo.proof import dry_fit
from jointgeo.solution.paths import value

from .plain import LACKS, plain, plain_data
from .random_joints import DRAWS, joints

NUMBER = 15  # of each type on each fixture

LEG = jointgeo.joint_type("splayed_bridle").examples()[0]


@pytest.mark.parametrize("lacks", LACKS)
def test_the_file_may_leave_an_axis_out(lacks: tuple[str, ...]) -> None:
    fixture = plain(*lacks)
    assert fixture.swivel.lacking == ("swivel" in lacks)
    assert fixture.tilt.lacking == ("tilt" in lacks)
    written = tomllib.loads(fixture_toml(fixture))
    assert not set(lacks) & set(written)
    assert read_fixture(written) == fixture


def test_an_axis_that_is_there_must_say_how_well_it_is_known() -> None:
    data = plain_data("swivel")
    del data["uncertainty"]["tilt_deg"]
    with pytest.raises(FixtureError, match=r"uncertainty\.tilt_deg: is missing"):
        read_fixture(data)


@pytest.mark.parametrize("name", DRAWS)
@pytest.mark.parametrize("lacks", LACKS)
def test_random_joints_fit_on_wedges(lacks: tuple[str, ...], name: str) -> None:
    """Limits are the laws' own, 0.05 mm³ and 0.001 mm."""
    fixture, porch, wedged = plain(*lacks), jointgeo.load_fixture("porch"), 0
    for index, joint in enumerate(joints(name, NUMBER, seed=31)):
        hand = ("as_drawn", "mirrored")[index % 2]
        settings = jointgeo.solve(joint, fixture, hand).settings_dict()
        fit = dry_fit(settings)
        assert fit.faults == (), joint
        angles = {
            (round(s["swivel_deg"], 9), round(s["tilt_deg"], 9))
            for p in jointgeo.solve(joint, porch, hand).settings_dict()["parts"]
            for setup in p["setups"]
            for s in setup["candidates"]
        }
        for setup in (s for part in settings["parts"] for s in part["setups"]):
            # The angles at which the stock stands are the joint's, whatever the fixture.
            assert (round(setup["swivel_deg"], 9), round(setup["tilt_deg"], 9)) in angles
            wedged += setup["wedges"] is not None
    assert wedged > NUMBER / 2


def _changed(settings: dict[str, Any], change: Any) -> Any:
    other = copy.deepcopy(settings)
    for part in other["parts"]:
        for setup in part["setups"]:
            if setup["wedges"] is not None:
                change(setup)
    return dry_fit(other)


def test_the_dry_fit_believes_the_wedges_and_nothing_else() -> None:
    settings = jointgeo.solve(LEG, plain("tilt")).settings_dict()

    def lie(setup: dict[str, Any]) -> None:
        setup["swivel_deg"], setup["tilt_deg"] = 1.0, 2.0

    def fence_at_the_swivel(setup: dict[str, Any]) -> None:
        setup["wedges"]["fence_swivel_deg"] = setup["swivel_deg"]

    def other_way(setup: dict[str, Any]) -> None:
        setup["wedges"]["tilt_wedge"]["wedge_deg"] *= -1

    def thinner(setup: dict[str, Any]) -> None:
        setup["wedges"]["tilt_wedge"]["wedge_deg"] -= 0.1

    assert _changed(settings, lie).faults == ()
    for wrong in (fence_at_the_swivel, other_way, thinner):
        assert _changed(settings, wrong).faults, wrong.__name__


#: swivel, tilt: where the fence stands; from planes, by hand.
FENCES = [(7.827, 12, 7.9996), (-15, 20, -15.9153), (20, 30, 22.7959)]


@pytest.mark.parametrize(("swivel", "tilt", "fence"), FENCES)
def test_where_plate_fence_and_wedges_stand(swivel: float, tilt: float, fence: float) -> None:
    found = held(plain("tilt"), swivel, tilt)
    assert (found.plate_deg, found.behind_deg, found.beside_deg) == (0, tilt, 0)
    assert found.fence_deg == pytest.approx(fence, abs=0.00006)
    both = held(plain("swivel", "tilt"), swivel, tilt)
    assert (both.fence_deg, both.behind_deg) == (0, tilt)
    assert both.beside_deg == pytest.approx(fence, abs=0.00006)
    alone = held(plain("swivel"), swivel, tilt)
    assert (alone.plate_deg, alone.fence_deg, alone.behind_deg, alone.beside_deg) == (
        *(tilt, 0, 0),
        swivel,
    )
    assert not held(jointgeo.load_fixture("porch"), swivel, tilt).wedged


def count(angle: float) -> int:
    """Wedges in a stack: each rises by 29 at most, over 200."""
    return max(1, int(np.ceil(200 * tan(radians(abs(angle))) / 29 - 1e-9)))


@pytest.mark.parametrize("lacks", LACKS)
@pytest.mark.parametrize("side", ["left", "right"])
def test_nothing_stands_in_plate_or_fence_and_all_touches(
    lacks: tuple[str, ...], side: str
) -> None:
    """Corners of the stock, taken back to the plate's own axes: the backing's rear comes to the
    wedges' thin ends over the plate's height, the stock to the fence or to the thin ends there, and
    the cut's floor clears the plate by what is wanted."""
    fixture = plain(*lacks)
    x = -60.0 if side == "left" else 60.0
    fixture = attrs.evolve(fixture, fence=attrs.evolve(fixture.fence, side=side, x_mm=x))
    for joint in joints("splayed_bridle", 12, seed=5):
        for setup in jointgeo.solve(joint, fixture).setups:
            placed, clamped = setup.held, setup.plan.chosen.clamped
            corners = np.array([clamped.untilted(c) for c in clamped.stock_corners])
            near, far = corners[::2], corners[1::2]  # the square end, and the other one
            way = (far - near)[0] / np.linalg.norm((far - near)[0])
            long = float(np.linalg.norm((far - near)[0]))
            top = min(380.0, long * way[2] - setup.overhang_mm)

            def at(height: float, near: Any = near, way: Any = way) -> Any:
                return near + way * ((height - near[:, 2]) / way[2])[:, None]

            lean = radians(placed.behind_deg)
            rear = max(at(h)[:, 1].max() for h in (0.0, top)) + 18 / cos(lean)
            thin = -3.0 * count(placed.behind_deg) if placed.behind_deg else 0.0
            assert rear == pytest.approx(thin, abs=1e-6)
            turn = radians(placed.fence_deg)
            pivot = np.array([fixture.swivel.pivot_x_mm, fixture.swivel.pivot_z_mm])
            normal = np.array([cos(turn), -np.sin(turn)])
            sign = 1.0 if side == "left" else -1.0
            high = max(15.0, min(260.0, top))
            off = min(
                float((sign * ((at(h)[:, [0, 2]] - pivot) @ normal - (x - pivot[0]))).min())
                for h in (15.0, high)
            )
            gap = 3.0 * count(placed.beside_deg) if placed.beside_deg else 0.0
            assert off == pytest.approx(gap, abs=1e-6)
            assert -near[:, 2].min() == pytest.approx(setup.overhang_mm, abs=1e-6)
            if placed.plate_deg == 0:
                floor = setup.overhang_mm - setup.trim_mm - max(setup.depths_mm)
                assert floor == pytest.approx(3.0, abs=1e-6)  # practice.clearance_mm


def test_checks_of_a_fixture_without_a_tilt() -> None:
    fixture = plain("tilt")
    answer = jointgeo.solve(LEG, fixture)
    checks = {c.name: c for c in answer.checks if c.part == "leg"}
    # Four wedges of 32 on thin ends of 3, 200 long: atan(116/200).
    assert checks["tilt_range"].limit == pytest.approx(30.114, abs=0.0005)
    assert abs(checks["swivel_range"].value) == pytest.approx(8.0, abs=0.0001)  # the fence's
    # Two wedges of 3 to 3 + 200·tan 12°/2, 18 of backing and 44 of stock aslant.
    behind = radians(12)
    opening = 4 * 3 + 200 * tan(behind) + 62 / cos(behind)
    assert checks["clamp_opening"].value == pytest.approx(opening, abs=1e-6)
    steep = attrs.evolve(LEG, splay_along_deg=35.0)
    (tilt,) = [c for c in jointgeo.solve(steep, fixture).checks if c.name == "tilt_range"]
    assert tilt.status == "fail"
    assert "no tilt" in tilt.because
    assert {r.do for r in tilt.remedies} == {"lessen_angle", "other_fixture"}


def test_what_a_person_is_told() -> None:
    setup = jointgeo.solve(LEG, plain("tilt")).setups[0]
    swivel, tilt = setup.axes
    assert abs(swivel.figure_deg) == pytest.approx(8.0, abs=0.0001)
    assert "no tilt: 2 wedges alike, stacked" in tilt.scale_words
    assert "upright on the plate behind the backing" in tilt.scale_words
    assert {a.aid for a in setup.aids if a.axis == "tilt"} <= {"wedge", "paper"}
    rule = next(a for a in setup.aids if a.aid == "mark_to_mark")
    assert abs(rule.angle_deg) == pytest.approx(8.0, abs=0.02)
    both = jointgeo.solve(LEG, plain("swivel", "tilt")).setups[0]
    assert {a.aid for a in both.aids} == {"wedge"}
    assert both.budget["shoulder_gap"].largest[0] in ("swivel_wedge", "tilt_wedge")


def test_a_cell_is_told_of_the_wedge_in_place_of_a_scales_figure() -> None:
    solution = jointgeo.solve(LEG, plain("tilt"))
    assert isinstance(value(solution, "leg.1.scale_swivel_deg"), float)
    with pytest.raises(InputError, match="is not to be set: no tilt: 2 wedges alike"):
        value(solution, "leg.1.scale_tilt_deg")
