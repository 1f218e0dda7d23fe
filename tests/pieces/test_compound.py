"""Compound splays and closed polygons as pieces, against closed forms, and mortises that meet.

Closed forms of the shoulder's two angles w and t and of the mortise's turn ρ, for legs square to
the room's directions that lean a along and c across, tan σ = cos a · tan c: a rail that leans with
its legs has tan w = tan a · cos c, tan t = tan a · sin c and ρ = 0; an upright one ρ = σ.
"""

from __future__ import annotations

import tomllib
from math import atan, cos, degrees, pi, radians, sin, tan
from pathlib import Path
from typing import Any

import pytest

from jointgeo.errors import InputError
from jointgeo.fixtures.file import load_fixture
from jointgeo.geometry.vectors import Plane, Vec, Z
from jointgeo.pieces.file import read_piece_data
from jointgeo.pieces.model import Joined, Piece, Plain, RoomBar
from jointgeo.pieces.solve import PieceAnswer, solve_piece
from jointgeo.proof import fit_piece

from .rooms import FLOOR, tenon

DATA = Path(__file__).parent / "data"
FOUR = 0.00005 + 1e-9  # degree: printed to four places
EXACT = 1e-9

PORCH = load_fixture("porch")


def data(name: str) -> dict[str, Any]:
    found = tomllib.loads((DATA / f"{name}.toml").read_text("utf-8"))
    found.pop("measured_mm", None)
    return found


def solved(piece: dict[str, Any]) -> PieceAnswer:
    made = read_piece_data(piece, DATA)
    return solve_piece(made.piece, made.fixture, "as_drawn")


def angles(answer: PieceAnswer, bar: str, end: str = "near") -> tuple[float, float, float]:
    joint = next(j for j in answer.joints if (j.bar, j.end) == (bar, end)).joint.to_dict()
    names = "width_angle_deg", "thickness_angle_deg", "mortise_turn_deg"
    w, t, turn = (float(joint[n]) for n in names)
    return w, t, turn


def test_aprons_that_lean_with_legs_splayed_both_ways() -> None:
    answer = solved(data("table"))
    a, c = radians(8), radians(5)
    long = degrees(atan(tan(a) * cos(c))), -degrees(atan(tan(a) * sin(c))), 0.0
    assert long[:2] == (pytest.approx(7.9699, abs=FOUR), pytest.approx(-0.7018, abs=FOUR))
    assert angles(answer, "long apron, front") == pytest.approx(long, abs=EXACT)
    sigma = degrees(atan(cos(a) * tan(c)))
    assert sigma == pytest.approx(4.9516, abs=FOUR)
    assert angles(answer, "short apron, right") == pytest.approx((-sigma, 0, 0), abs=EXACT)


def test_aprons_that_stand_upright() -> None:
    """Long: w = a, ρ = σ, whichever side is followed; short: as a bench's upright stretcher, tan w
    = cos² a tan c, tan t = sin a cos a tan c, tan ρ = tan a cos σ."""
    piece = data("table")
    for bar in piece["bar"][1:]:
        bar["leans"] = "upright"
    for follows, turns in (("face_side", (4.9516, 7.9705)), ("face_edge", (4.9516, 8.0296))):
        piece["joint"][0]["parameters"]["parallel_to"] = follows
        answer = solved(piece)
        long = [abs(v) for v in angles(answer, "long apron, front")]
        short = [abs(v) for v in angles(answer, "short apron, right")]
        assert long == pytest.approx([8.0, 0.0, turns[0]], abs=FOUR)
        assert short == pytest.approx([4.9036, 0.6908, turns[1]], abs=FOUR)
        fit = fit_piece(answer.bars_dict())
        assert fit.faults == ()


def test_a_chairs_upright_back_rail_turns_its_mortise_by_the_rake() -> None:
    piece = data("chair")
    piece["bar"][3]["leans"] = "upright"
    w, t, turn = angles(solved(piece), "back rail")
    assert (w, t) == pytest.approx((0, 0), abs=EXACT)
    assert abs(turn) == pytest.approx(8, abs=EXACT)
    piece["bar"][3]["leans"] = "with mates"
    assert angles(solved(piece), "back rail") == pytest.approx((0, 0, 0), abs=EXACT)


@pytest.mark.parametrize(("follows", "turn"), [("face_side", 6.1918), ("face_edge", 8.5476)])
def test_a_three_legged_stool_arris_in(follows: str, turn: float) -> None:
    """Radial splay 12°. In the rail's frame the leg's side looks along n = √½ (sin s, cos 30° -
    cos s · sin 30°, cos s · cos 30° + sin 30°); the leg is trimmed at atan(tan s/√2) both ways."""
    piece = data("stand")
    leg = piece["bar"][0]
    leg["near"] = {"level": "top", "cut": "level"}
    leg["far"] = {"level": "floor", "cut": "level"}
    leg["through"] = {"level": "top", "right_mm": 0, "front_mm": 120}
    leg["foot_goes"] = {"front_deg": 12}
    piece["joint"][0]["parameters"]["parallel_to"] = follows
    answer = solved(piece)
    s, half = radians(12), radians(30)
    n = sin(s), cos(half) - cos(s) * sin(half), cos(s) * cos(half) + sin(half)
    w, t = degrees(atan(n[0] / n[2])), degrees(atan(n[1] / n[2]))
    assert (w, t) == pytest.approx((8.7738, 15.6329), abs=FOUR)
    for end in ("near", "far"):
        found = [abs(v) for v in angles(answer, "upper rail", end)]
        assert found == pytest.approx([w, t, turn], abs=FOUR)
    trims = [x.setups[0].swivel_deg for x in answer.settings if x.part.name.startswith("leg")]
    assert [abs(x) for x in trims] == pytest.approx([degrees(atan(tan(s) / 2**0.5))] * 2, abs=EXACT)


RADIUS = 300.0
ENDS = "near", "far"


def ring(count: int, turn: float = 0.0) -> Piece:
    """Upright posts of 40 × 40 on a circle, faces out or turned by so much, with rails between."""
    posts, rails = [], []
    at = [
        Vec(RADIUS * cos(2 * pi * i / count), RADIUS * sin(2 * pi * i / count), 0.0)
        for i in range(count)
    ]
    for i, foot in enumerate(at):
        way = 2 * pi * i / count + turn
        looks = Vec(cos(way), sin(way), 0.0)
        top = Plain(Plane(Z, 500.0))
        posts.append(RoomBar(f"post {i}", 40, 40, foot, foot + Z * 500, FLOOR, top, looks))
        other = (i + 1) % count
        up = Z * 250
        ends = (Joined("tenon", f"post {k}") for k in (i, other))
        looks = (at[other] - foot) ^ Z
        rails.append(RoomBar(f"rail {i}", 60, 18, foot + up, at[other] + up, *ends, looks))
    return Piece("ring", (tenon("tenon", tenon_length_mm=8),), (*posts, *rails))


@pytest.mark.parametrize("count", [3, 5, 6, 8])
def test_a_closed_ring_of_rails_between_posts(count: int) -> None:
    """Half of the outside angle, 180°/N, is between a rail and its posts' sides; where that is more
    than 45° the rail meets the inner sides, at 90° - 180°/N. Round the ring all shoulders make up
    the whole turn, and each rail is the chord less half a post over the cosine at each end."""
    answer = solve_piece(ring(count), PORCH)
    half = 180.0 / count
    off = min(half, 90.0 - half)
    for end in ("near", "far"):
        w, t, turn = angles(answer, "rail 0", end)
        assert abs(t) == pytest.approx(off, abs=EXACT)
        assert (w, turn) == pytest.approx((0, 0), abs=EXACT)
    chord = 2 * RADIUS * sin(pi / count) - 2 * 20 / cos(radians(off))
    members = {m.name: m for m in answer.members}
    assert members["rail"].length_mm == pytest.approx(chord, abs=EXACT)
    assert (members["post"].count, members["rail"].count) == (count, count)
    # Two rails that meet opposite sides of a post turn by their shoulders, 360° in all; two that
    # meet one side of it make what is left of 180° at each post.
    shoulders = sum(abs(angles(answer, f"rail {i}", e)[1]) for i in range(count) for e in ENDS)
    whole = shoulders if half <= 45 else count * 180 - shoulders
    assert whole == pytest.approx(360, abs=1e-6)
    fit = fit_piece(answer.bars_dict())
    assert fit.faults == ()


def test_four_posts_with_their_faces_out_meet_the_rails_with_an_arris() -> None:
    with pytest.raises(InputError, match="meets an arris of post"):
        solve_piece(ring(4), PORCH)
    answer = solve_piece(ring(4, pi / 4), PORCH)
    assert angles(answer, "rail 0") == pytest.approx((0, 0, 0), abs=EXACT)


@pytest.mark.parametrize(("long", "gap"), [(15.0, 0.0), (14.0, 2**0.5), (16.0, -1.0)])
def test_two_square_mortises_that_meet_in_a_leg(long: float, gap: float) -> None:
    """In the middle of a leg 42 × 42, 8 thick: depth and 2 mm of glue room to half of the leg less
    half of the other, 21 - 4 - 2 = 15. Too long by 1 mm they run 1 mm into each other; shorter by 1
    they are apart corner to corner."""
    leg = RoomBar(
        "leg", 42, 42, Vec(0, 0, 0), Vec(0, 0, 400), FLOOR, Plain(Plane(Z, 400.0)), Vec(0, -1.0, 0)
    )
    rails = [
        RoomBar(
            f"rail {n}",
            60,
            22,
            Vec(0, 0, 300),
            way * 300 + Z * 300,
            Joined("tenon", "leg"),
            Plain(Plane(way, 300.0)),
            looks,
        )
        for n, way, looks in (
            ("right", Vec(1.0, 0, 0), Vec(0, -1.0, 0)),
            ("back", Vec(0, 1.0, 0), Vec(1.0, 0, 0)),
        )
    ]
    joint = tenon("tenon", tenon_length_mm=long, tenon_thickness_mm=8)
    answer = solve_piece(Piece("corner", (joint,), (leg, *rails)), PORCH)
    (check,) = [c for c in answer.checks if c.name == "mortises_apart"]
    assert check.part == "leg"
    assert check.value == pytest.approx(gap, abs=EXACT)
    # One in the other cannot be, and two that touch have no wood between them: our choice.
    assert check.status == ("pass" if gap > 0 else "fail")


def test_a_mortise_at_the_very_end_of_its_bar_fails() -> None:
    piece = data("chair")
    piece["height_mm"]["back rail"] = 835
    failed = [c for c in solved(piece).checks if c.name == "end_wood" and c.status == "fail"]
    assert {c.part for c in failed} == {"back leg, left", "back leg, right"}
