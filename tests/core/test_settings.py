"""The settings' JSON: its names, the sides a person reads, heights, marks; and own solvers."""

from __future__ import annotations

import json
from typing import Any, ClassVar

import attrs
import numpy as np
import pytest

from jointgeo.errors import PluginError
from jointgeo.fixtures.model import Fixture
from jointgeo.geometry.rotations import pose
from jointgeo.joints.contract import Channel, LayoutBox, Notch, Part, Placement
from jointgeo.joints.sides import clamped_sides, edge_names, opposite, other_edge
from jointgeo.solution.feasibility import Feasibility, check_feasibility
from jointgeo.solution.settings import Settings, Use, part_settings, solve_settings

from .rebuild import agree_on_the_wood, quarter_turns
from .samples import Sample, fixture_with, part_at, turn

EXACT = 1e-9
USE = (Use("piece", "near", "as_drawn", 1),)


def told(part: Part, fixture: Fixture | None = None) -> dict[str, Any]:
    return part_settings(part, fixture or fixture_with(), USE).to_dict()


def outward(side: str, x_from: str) -> np.ndarray:
    """A marked side's outward normal in stock coordinates: x runs from ``x_from``."""
    if side in ("face_side", "back"):
        return np.array([0, -1.0 if side == "face_side" else 1.0, 0])
    return np.array([-1.0 if side == x_from else 1.0, 0, 0])


@pytest.mark.parametrize("side", [0, 1, 2, 3])
@pytest.mark.parametrize("x_from", ["face_edge", "back_edge"])
def test_sides_are_where_the_rotation_puts_them(side, x_from) -> None:
    sides = clamped_sides(side, x_from)
    ways = {"plate": [0, 1, 0], "you": [0, -1, 0], "left": [-1, 0, 0], "right": [1, 0, 0]}
    for where, way in ways.items():
        lies = turn(0, 0, 0, side) @ outward(sides[where], x_from)
        np.testing.assert_allclose(lies, way, rtol=0, atol=1e-12)
    assert opposite(sides["plate"]) == sides["you"]
    assert quarter_turns(sides["plate"], x_from) == side


def test_the_other_end_and_the_mirror_image_count_from_the_other_edge() -> None:
    assert other_edge("face_edge") == "back_edge"
    assert other_edge("back_edge") == "face_edge"


@pytest.mark.parametrize("side", [0, 1, 2, 3])
@pytest.mark.parametrize("x_from", ["face_edge", "back_edge"])
@pytest.mark.parametrize("fence", ["left", "right"])
@pytest.mark.parametrize("sense", ["towards_plate", "away_from_plate"])
def test_a_setup_names_plate_fence_and_exit_by_marked_sides(side, x_from, fence, sense) -> None:
    fixture = fixture_with({"fence.side": fence, "feed.sense": sense})
    (setup,) = told(part_at(7, 11, side=side, x_from=x_from), fixture)["setups"]
    rotation = turn(7, 11, 0, side)
    assert (rotation @ outward(setup["against_plate"], x_from))[1] > 0.9
    to_fence = (rotation @ outward(setup["against_fence"], x_from))[0]
    assert to_fence * (-1 if fence == "left" else 1) > 0.9
    leaves = (rotation @ outward(setup["exit_side"], x_from))[1]
    assert leaves * (1 if sense == "towards_plate" else -1) > 0.9


def test_a_setup_by_hand() -> None:
    """60 × 30 mm stock, 400 mm finished, upright, a slot of 10 mm, 20 mm deep, in its middle."""
    found = told(part_at())
    assert found["stock"] == {
        "width_mm": 60,
        "thickness_mm": 30,
        "length_mm": 401,
        "x_from": "face_edge",
    }
    (setup,) = found["setups"]
    assert setup["for"] == [{"member": "piece", "end": "near", "hand": "as_drawn", "count": 1}]
    assert (setup["swivel_deg"], setup["tilt_deg"], setup["packing_deg"]) == (0, 0, 0)
    assert setup["packing"] is None
    assert setup["trim_mm"] == 1
    # 1 mm of trim, 20 mm of slot, 3 mm of clearance below the plate's edge.
    assert setup["overhang_mm"] == pytest.approx(24, abs=EXACT)
    # The datum stands at -400: the trimmed end at -23 is 377 above it, the floor 397.
    heights = setup["cutter_height_mm"]
    assert heights["datum"] == "the rails"
    assert heights["trim"] == pytest.approx(377, abs=EXACT)
    assert heights["cuts"] == [{"depth_mm": 20, "height": pytest.approx(397, abs=EXACT)}]
    assert setup["touch_off"]["machine_x_mm"] == pytest.approx(-20, abs=EXACT)
    assert setup["touch_off"]["cut_away_mm"] == pytest.approx(0, abs=EXACT)
    assert (setup["cutter"], setup["kerf_mm"]) == ("disc", 6)
    (cut,) = setup["cuts"]
    assert (cut["left_mm"], cut["right_mm"], cut["depth_mm"]) == (25, 35, 20)
    assert [p["travel_mm"] for p in cut["passes"]] == [31, 35]
    # 31 mm on a screw of 4 mm: 7 turns and 3 mm, 60 of its 80 divisions.
    assert [(p["turns"], p["divisions"]) for p in cut["passes"]] == [(7, 60), (8, 60)]
    assert [c["chosen"] for c in setup["candidates"]] == [True, False]


@pytest.mark.parametrize("x_from", ["face_edge", "back_edge"])
def test_a_second_setup_counts_from_the_corner_that_the_first_one_left(x_from, rng) -> None:
    """Two pairs of cuts askew to each other: each has wood of the end's own corner to take."""
    moved = []
    for _ in range(10):
        frame = turn(*rng.uniform(-25, 25, size=2))
        second = turn(0, 0, rng.choice([70.0, 110.0, -70.0])) @ frame
        pair = (Channel(-np.inf, -9, 20), Channel(9, np.inf, 20))
        notches = tuple(Notch(q, [30, 15, 0], pair) for q in (frame, second))
        part = attrs.evolve(part_at(x_from=x_from), notches=notches)
        made = told(part)
        agree_on_the_wood(part, made, rng)
        moved.append(made["setups"][1]["touch_off"]["cut_away_mm"])
    # The corner has moved to the right, and never to the left.
    assert min(moved) >= -EXACT
    assert max(moved) > 1.0


@pytest.mark.parametrize("x_from", ["face_edge", "back_edge"])
def test_marks_are_where_the_planes_meet_the_long_edges(x_from, rng) -> None:
    """On the machine every mark of a line stands at one height: the trim's, or the floor's."""
    for _ in range(20):
        angles = [*rng.uniform(-40, 40, size=2), rng.uniform(-15, 15)]
        part = part_at(*angles, x_from=x_from, channels=[(-5, 5, 20), (10, np.inf, 12)])
        found = told(part)
        (setup,) = found["setups"]
        side = quarter_turns(setup["against_plate"], x_from)
        rotation = turn(setup["swivel_deg"], setup["tilt_deg"], setup["packing_deg"], side)
        square = np.array([[x, y, 0] for x in (0, 60) for y in (0, 30)], dtype=float)
        trimmed = float((square @ rotation[2]).min()) + setup["trim_mm"]
        depth = {"trim": 0.0, "floor": 20.0, "shoulder": 12.0}
        assert {m["line"] for m in found["marks"]} == set(depth)
        for mark in found["marks"]:
            for edge, z in mark["at_mm"].items():
                at_zero = edge.endswith(x_from)
                point = [0.0 if at_zero else 60.0, 0.0 if edge.startswith("face_side") else 30.0, z]
                height = float(rotation[2] @ point)
                assert height == pytest.approx(trimmed + depth[mark["line"]], abs=EXACT)


def test_edge_names_go_round_with_the_corners() -> None:
    assert edge_names("face_edge") == (
        "face_side_face_edge",
        "face_side_back_edge",
        "back_back_edge",
        "back_face_edge",
    )
    assert edge_names("back_edge")[0] == "face_side_back_edge"


def test_what_is_measured_with_calipers() -> None:
    """Two slots of 10 and 8 mm with 12 mm of wood between them, 20 and 15 mm deep."""
    part = part_at(channels=[(-20, -10, 20), (2, 10, 15)])
    told_of = [(v["what"].partition(": ")[2], v["expected_mm"]) for v in told(part)["verify"]]
    found = dict(told_of)
    expected = {
        "wood left between cut 1 and cut 2, square across": 12,
        "width of cut 1, square across": 10,
        "width of cut 2, square across": 8,
    }
    assert {k: found[k] for k in expected} == pytest.approx(expected, abs=EXACT)
    assert sorted(v for what, v in told_of if "depth" in what) == [15, 20]


def test_layout_and_poses_are_told_from_the_blank() -> None:
    """A joint type counts from its datum; the sheet from the blank's end, 1 mm further out."""
    box = LayoutBox("pocket", pose(np.eye(3), [30, 15, 100]), [10, 10, 10])
    found = told(attrs.evolve(part_at(), layout=(box,)))
    assert np.array(found["layout"][0]["frame"])[:3, 3] == pytest.approx([30, 15, 101], abs=EXACT)
    settings = solve_settings(Sample(swivel_deg=0, tilt_deg=0), fixture_with()).to_dict()
    (placed,) = settings["assembly"]
    assert np.array(placed["pose"])[:3, 3] == pytest.approx([0, 0, -1], abs=EXACT)


def test_settings_of_a_strangers_joint_are_whole() -> None:
    settings = solve_settings(Sample(), fixture_with()).to_dict()
    assert set(settings) >= {"joint_type", "fixture", "parts", "expect", "assembly", "notes"}
    assert (settings["joint_type"], settings["fixture"]) == ("sample", "sample")
    (setup,) = settings["parts"][0]["setups"]
    assert setup["swivel_deg"] == pytest.approx(10, abs=EXACT)
    assert setup["tilt_deg"] == pytest.approx(5, abs=EXACT)
    image = solve_settings(Sample(), fixture_with(), "mirrored").to_dict()
    (setup,) = image["parts"][0]["setups"]
    assert setup["swivel_deg"] == pytest.approx(-10, abs=EXACT)
    assert setup["tilt_deg"] == pytest.approx(5, abs=EXACT)
    assert setup["for"][0]["hand"] == "mirrored"
    json.dumps(image, allow_nan=False)


# Solvers of a type's own, and contracts that are broken ------------------------------------


@attrs.frozen
class Own(Sample):
    """Brings its own answers, or what is none."""

    name: ClassVar[str] = "own"
    answer: ClassVar[Any] = None
    verdict: ClassVar[Any] = None

    def own_settings(self, fixture: Any, hand: str) -> Any:
        return type(self).answer

    def own_feasibility(self, fixture: Any, hand: str) -> Any:
        return type(self).verdict


def test_a_type_may_bring_its_own_solvers(monkeypatch) -> None:
    settings = Settings("own", "sample", (), (), (), ("by hand",))
    verdict = Feasibility("own", "sample", ())
    monkeypatch.setattr(Own, "answer", settings)
    monkeypatch.setattr(Own, "verdict", verdict)
    assert solve_settings(Own(), fixture_with()) is settings
    assert check_feasibility(Own(), fixture_with()) is verdict
    assert verdict.feasible
    assert verdict.status == "pass"


@pytest.mark.parametrize("answer", [{}, 5, "settings", [], True])
def test_an_own_solver_that_gives_something_else_broke_its_contract(monkeypatch, answer) -> None:
    monkeypatch.setattr(Own, "answer", answer)
    monkeypatch.setattr(Own, "verdict", answer)
    with pytest.raises(PluginError, match=r"own\.own_settings"):
        solve_settings(Own(), fixture_with())
    with pytest.raises(PluginError, match=r"own\.own_feasibility"):
        check_feasibility(Own(), fixture_with())


@attrs.frozen
class Broken(Sample):
    """Hands over parts and placements that do not belong together."""

    name: ClassVar[str] = "broken"
    given: ClassVar[tuple[Part, ...]] = ()
    placed: ClassVar[tuple[Placement, ...]] = ()

    def parts(self) -> tuple[Part, ...]:
        return type(self).given

    def placements(self) -> tuple[Placement, ...]:
        return type(self).placed


HERE = Placement("piece", 0, np.eye(4))
OTHER = Placement("other", 0, np.eye(4))


@pytest.mark.parametrize(
    ("names", "placed", "said"),
    [
        (["piece", "piece"], (HERE,), "two parts have one name"),
        (["piece"], (), "piece"),
        (["piece"], (HERE, OTHER), "other"),
        (["piece", "other"], (HERE,), "other"),
    ],
)
@pytest.mark.parametrize("hand", ["as_drawn", "mirrored"])
def test_parts_and_placements_must_agree(monkeypatch, names, placed, said, hand) -> None:
    given = tuple(attrs.evolve(part_at(), name=n) for n in names)
    monkeypatch.setattr(Broken, "given", given)
    monkeypatch.setattr(Broken, "placed", placed)
    with pytest.raises(PluginError, match=said):
        solve_settings(Broken(), fixture_with(), hand)
