"""Piece types that are installed, and the splayed bench against its numbers."""

from __future__ import annotations

import json
from collections.abc import Mapping
from math import atan, degrees, radians, tan
from typing import Any, ClassVar

import attrs
import numpy as np
import pytest

from jointgeo.errors import InputError, PluginError, UnknownNameError
from jointgeo.fixtures.file import load_fixture
from jointgeo.pieces.model import Piece
from jointgeo.pieces.piece_type import PieceType
from jointgeo.pieces.registry import admitted, piece_failures, piece_type, piece_types
from jointgeo.pieces.room import placed_bars
from jointgeo.pieces.solve import solve_piece
from jointgeo.proof import fit_piece
from jointgeo.schema.fields import length

from .rooms import bench

FOUR = 0.00005 + 1e-9
EXACT = 1e-9

PORCH = load_fixture("porch")
BENCH = piece_type("splayed_bench")
#: What of the stool with a T is not feasible: two of its rails come to the front leg at 30° and are
#: too short for the clamp.
TEE = {"tilt_range", "swivel_range", "front_beam", "cutter_clearance", "clamp_contact"}
EXAMPLES = [
    pytest.param(piece, id=f"{name}-{number}")
    for name, cls in piece_types().items()
    for number, piece in enumerate(cls.examples(), 1)
]


def drawn(**changes: Any) -> Any:
    return attrs.evolve(BENCH.examples()[0], **changes)


def test_there_are_types_and_none_of_them_fails() -> None:
    assert piece_types()
    assert piece_failures() == ()


@pytest.mark.parametrize("piece", EXAMPLES)
def test_parameters_survive_a_round_trip(piece: PieceType) -> None:
    as_text = json.dumps(piece.to_dict(), allow_nan=False)
    assert type(piece).from_dict(json.loads(as_text)) == piece


@pytest.mark.parametrize("piece", EXAMPLES)
def test_an_example_is_cut_and_goes_together(piece: PieceType) -> None:
    answer = solve_piece(piece.piece(), PORCH)
    failed = {c.name for c in answer.every_check if c.status == "fail"}
    assert failed == (TEE if getattr(piece, "stretchers", "") == "tee" else set())
    json.dumps(answer.to_dict(), allow_nan=False)
    fit = fit_piece(answer.to_dict())
    assert fit.faults == ()


def test_a_bench_from_its_footprint() -> None:
    """Repeating tan a = (520 - 390 - 22/cos a)/430 and its like gives 14.0143 and 9.9698; the leg
    449.5910, the leaning stretcher 291.4858 with edges 282.9583 and 300.0134."""
    piece = BENCH.examples()[0]
    found = placed_bars(piece.piece())
    leg, stretcher = found["leg, back right"], found["end stretcher, right"]
    run = leg.near.grain
    assert degrees(atan(run.x / -run.z)) == pytest.approx(14.0143, abs=FOUR)
    assert degrees(atan(run.y / -run.z)) == pytest.approx(9.9698, abs=FOUR)
    assert leg.near.length == pytest.approx(449.5910, abs=FOUR)
    assert stretcher.near.length == pytest.approx(291.4858, abs=FOUR)
    assert sorted(stretcher.long_edges)[::3] == pytest.approx([282.9583, 300.0134], abs=FOUR)
    told = piece.measured()
    assert told["seat height"] == pytest.approx(430, abs=EXACT)
    assert told["feet, left to right"] == pytest.approx(1040, abs=1e-9)
    assert told["feet, front to back"] == pytest.approx(480, abs=1e-9)
    assert told["end stretcher, long edge"] == pytest.approx(300.0134, abs=FOUR)
    fit = fit_piece(solve_piece(piece.piece(), PORCH).bars_dict())
    np.testing.assert_allclose(
        fit.extents_at_mm(0.0), [[-520, -240], [520, 240]], rtol=0, atol=1e-6
    )


@pytest.mark.parametrize("stand_", ["leaning", "upright"])
def test_a_bench_from_its_splays_is_the_one_drawn_bar_by_bar(stand_: str) -> None:
    piece = drawn(
        footprint_length_mm=0,
        footprint_depth_mm=0,
        splay_along_deg=12,
        splay_across_deg=8,
        stretchers_stand=stand_,
    )
    found, other = placed_bars(piece.piece()), placed_bars(bench(leaning=stand_ == "leaning"))
    assert found.keys() == other.keys()
    for name, bar in found.items():
        assert bar.near.length == pytest.approx(other[name].near.length, abs=EXACT)
        assert (bar.near.middle - other[name].near.middle).length == pytest.approx(0, abs=EXACT)
        assert bar.near.face @ other[name].near.face == pytest.approx(1, abs=EXACT)


def test_one_way_by_the_footprint_and_the_other_by_the_splay() -> None:
    piece = drawn(footprint_depth_mm=0, splay_across_deg=8)
    assert piece.measured()["feet, left to right"] == pytest.approx(1040, abs=1e-9)
    run = placed_bars(piece.piece())["leg, back right"].near.grain
    assert run.y / -run.z == pytest.approx(tan(radians(8)), abs=EXACT)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"splay_along_deg": 5}, "splay_along_deg"),
        ({"splay_across_deg": 5}, "splay_across_deg"),
        ({"leg_from_end_mm": 500}, "leg_from_end_mm"),
        ({"stretcher_height_mm": 370}, "stretcher_height_mm"),
        ({"seat_height_mm": 0}, "seat_height_mm"),
        ({"stretchers_stand": "lying"}, "stretchers_stand"),
    ],
)
def test_what_cannot_be_is_named(changes: dict[str, Any], field: str) -> None:
    with pytest.raises(InputError) as caught:
        drawn(**changes)
    assert [p.field for p in caught.value.problems] == [field]


@pytest.mark.parametrize("seed", range(4))
def test_random_benches_have_the_footprint_asked_for(seed: int) -> None:
    """Measured on the cut solids, in the floor."""
    rng = np.random.default_rng(seed)
    long, deep = rng.uniform(950, 1150), rng.uniform(380, 520)
    piece = drawn(
        seat_height_mm=rng.uniform(400, 460),
        footprint_length_mm=long,
        footprint_depth_mm=deep,
        stretchers_stand=str(rng.choice(["leaning", "upright"])),
    )
    fit = fit_piece(solve_piece(piece.piece(), PORCH).bars_dict())
    assert fit.faults == ()
    size = fit.extents_at_mm(0.0)
    np.testing.assert_allclose(size[1] - size[0], [long, deep], rtol=0, atol=1e-6)
    assert fit.extents_mm[1, 2] == pytest.approx(piece.seat_height_mm, abs=1e-6)


def test_an_unknown_name_lists_those_there_are() -> None:
    with pytest.raises(UnknownNameError, match="splayed_bench"):
        piece_type("no_such_piece")


@attrs.frozen
class Stool(PieceType):
    name: ClassVar[str] = "stool"
    summary: ClassVar[str] = "A stool"
    height_mm: float = length("Height", above=0)

    def piece(self) -> Piece:
        raise NotImplementedError

    def measured(self) -> Mapping[str, float]:
        return {}

    @classmethod
    def examples(cls) -> tuple[Stool, ...]:
        return ()


@pytest.mark.parametrize(
    ("cls", "name", "says"),
    [
        (Stool, "bench", "must be the same"),
        (object, "stool", "derived from PieceType"),
        (type("Later", (Stool,), {"edition": 2}), "stool", "edition 2"),
        (type("True_", (Stool,), {"edition": True}), "stool", "edition True"),
        (type("Mute", (Stool,), {"summary": ""}), "stool", "summary"),
        (PieceType, "stool", "attrs class"),
    ],
)
def test_a_class_that_is_no_piece_type_is_refused(cls: Any, name: str, says: str) -> None:
    assert admitted(Stool, "stool") is Stool
    with pytest.raises(PluginError, match=says):
        admitted(cls, name)


@pytest.mark.parametrize(
    ("name", "changes", "says"),
    [
        (
            "splayed_bench",
            {"seat_height_mm": 43, "stretcher_height_mm": 0},
            "seat_height_mm: is too small; given 43; allowed: more than rail_depth_mm = 60 mm",
        ),
        (
            "splayed_bench",
            {"seat_height_mm": 430, "stretcher_height_mm": 370},
            "stretcher_height_mm: is too large; given 370; allowed: less than 370 mm, "
            "seat_height_mm less rail_depth_mm",
        ),
        (
            "splayed_table",
            {"height_mm": 72, "apron_width_mm": 90},
            "height_mm: is too small; given 72; allowed: more than apron_width_mm = 90 mm",
        ),
        (
            "three_legged_stool",
            {"height_mm": 45, "rail_width_mm": 45},
            "height_mm: is too small; given 45; allowed: more than rail_width_mm = 45 mm",
        ),
        (
            "side_chair",
            {"seat_height_mm": 43, "rail_width_mm": 60},
            "seat_height_mm: is too small; given 43; allowed: more than rail_width_mm = 60 mm",
        ),
        (
            "side_chair",
            {"seat_height_mm": 440, "rail_width_mm": 60, "rail_height_mm": 411},
            "rail_height_mm: is too large; given 411; allowed: at most 410 mm, seat_height_mm less "
            "half of rail_width_mm, so that it stays under the tops of the front legs",
        ),
    ],
)
def test_the_height_that_is_wrong_is_the_one_named(
    name: str, changes: dict[str, float], says: str
) -> None:
    """43 typed for a seat of 430: the heights that are 0, which is none, are not to blame."""
    given = {**piece_type(name).examples()[0].to_dict(), "rail_depth_mm": 60, **changes}
    if name != "splayed_bench":
        del given["rail_depth_mm"]
    with pytest.raises(InputError) as caught:
        piece_type(name).from_dict(given)
    (problem,) = caught.value.problems
    assert problem.field == says.partition(":")[0]
    assert says in str(caught.value)
