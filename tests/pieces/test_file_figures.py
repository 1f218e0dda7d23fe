"""Piece files beside the piece types: the same furniture drawn both ways, and what more a file must
refuse."""

from __future__ import annotations

from math import atan, degrees
from typing import Any

import attrs
import pytest

from jointgeo.errors import InputError
from jointgeo.pieces.answerfile import solve_piece_file
from jointgeo.pieces.file import load_piece
from jointgeo.pieces.piece_type import PieceType
from jointgeo.pieces.registry import piece_type
from jointgeo.pieces.room import placed_bars

from .test_file import DATA, FALL, bar, changed, data, made, solved

EXACT = 1e-9
FOUR = 0.00005 + 1e-6  # figures to four places
CHAIR, BENCH, TABLE, STOOL = (
    piece_type(name).examples()[0]
    for name in ("side_chair", "splayed_bench", "splayed_table", "three_legged_stool")
)

#: File → the same by its piece type, and the members that both have.
SAME: dict[str, tuple[PieceType, dict[str, str]]] = {
    "bench": (
        BENCH,
        {n: n for n in ("rail", "leg", "end stretcher", "long stretcher")},
    ),
    "chair": (CHAIR, {n: n for n in ("front leg", "back leg", "side rail")}),
    "table": (
        attrs.evolve(TABLE, apron_width_mm=90, tenon_width_mm=60),
        {n: n for n in ("leg", "long apron", "short apron")},
    ),
    "stand": (STOOL, {"leg": "leg", "upper rail": "upper rail", "lower rail": "stretcher"}),
}


@pytest.mark.parametrize("name", SAME)
def test_a_file_and_a_type_draw_the_same_piece(name: str) -> None:
    """Every bar of one lies where one of the other does, and is as long on all four edges."""
    piece, members = SAME[name]
    file = placed_bars(load_piece(DATA / f"{name}.toml").piece)
    theirs = placed_bars(piece.piece())
    for drawn, typed in members.items():
        ours = [b for n, b in file.items() if n.split(",")[0].rstrip(" 23") == drawn]
        others = [b for n, b in theirs.items() if n.split(",")[0] == typed]
        assert len(ours) == len(others) > 0
        for one in ours:
            middle = (one.near.middle + one.far.middle) / 2
            apart = [(middle - (b.near.middle + b.far.middle) / 2).length for b in others]
            assert min(apart) == pytest.approx(0, abs=1e-8), drawn
            other = others[apart.index(min(apart))]
            assert sorted(one.long_edges) == pytest.approx(sorted(other.long_edges), abs=1e-8)


def test_a_bench_by_its_footprint_leans() -> None:
    leg = load_piece(DATA / "bench.toml").piece.bar("leg, back right").grain
    leans = [degrees(atan(abs(v / leg.z))) for v in (leg.x, leg.y)]
    assert leans == pytest.approx([14.0143, 9.9698], abs=FOUR)


def test_a_falling_seat_by_its_file_and_by_its_type() -> None:
    """From 410 to 390.085: 5.0601 and 5.9734 at the far end."""
    piece = data("chair")
    del piece["height_mm"]["seat rails"]
    piece["fall"] = [
        {
            "name": "seat rails",
            "high": {"front_mm": 190, "height_mm": 410},
            "low": {"back_mm": 190, "height_mm": 390.085},
        }
    ]
    del piece["measured_mm"]
    typed = attrs.evolve(CHAIR, rail_height_mm=410, rail_height_back_mm=390.085)
    for drawn in (made(piece), attrs.evolve(made(piece), piece=typed.piece())):
        found = next(
            j for j in solved(drawn).joints if (j.bar, j.end) == ("side rail, right", "far")
        ).joint.to_dict()
        assert abs(found["width_angle_deg"]) == pytest.approx(5.0601, abs=FALL)
        assert abs(found["thickness_angle_deg"]) == pytest.approx(5.9734, abs=FALL)


def test_a_table_by_its_type_in_a_file(tmp_path: Any) -> None:
    parameters = "\n".join(
        f"{k} = {v}" if not isinstance(v, str) else f'{k} = "{v}"'
        for k, v in SAME["table"][0].to_dict().items()
    )
    path = tmp_path / "table.toml"
    head = 'piece = 1\ntitle = "Table"\nfixture = "porch"\ntype = "splayed_table"\n\n[parameters]\n'
    tail = '\n[measured_mm]\n"feet, left to right" = 1252.8702\n"leg, length" = 729.7995\n'
    path.write_text(head + parameters + "\n" + tail, "utf-8")
    answer = solve_piece_file(load_piece(path))
    assert answer.tape["short apron, length"] == pytest.approx(560.5026, abs=FOUR)
    path.write_text(head + parameters + "\n" + tail.replace("1252.8702", "1252.9210"), "utf-8")
    with pytest.raises(InputError, match=r"the drawing makes it 1252\.870 mm; given 1252\.92"):
        solve_piece_file(load_piece(path))


NAIL = {"name": "nail", "type": "angled_tenon", "parameters": {"tenon_length_mm": 7}}
INWARDS = {
    "name": "spoke",
    "count": 3,
    "width_mm": 40,
    "thickness_mm": 18,
    "leans": "upright",
    "near": {"into": "leg", "level": "lower shelf", "joint": "rail tenon"},
    "far": {"level": "lower shelf", "right_mm": 0, "front_mm": 20, "cut": "square"},
}


def with_more(name: str, table: str, entry: dict[str, Any]) -> dict[str, Any]:
    piece = data(name)
    piece[table].append(entry)
    return piece


def far_end(name: str, which: str, **end: Any) -> dict[str, Any]:
    piece = data(name)
    bar(piece, which)["far"] = end
    return piece


WRONG: dict[str, tuple[dict[str, Any], str]] = {
    "an arris that looks at the rail": (
        with_more("stand", "bar", INWARDS),
        "meets an arris of leg",
    ),
    "a joint that nobody uses": (
        with_more("table", "joint", NAIL),
        "nail: is named and never used",
    ),
    "a copy that is none": (
        far_end("stand", "upper rail", into="leg 4", level="upper shelf", joint="rail tenon"),
        "is no bar of this piece",
    ),
    "no end of a level bar": (
        far_end("chair", "side rail", level="seat rails", cut="level"),
        "1 facts place it (near)",
    ),
    "a symmetry by halves": (
        changed("stand", "symmetry", to=["turned 1"]),
        "is no symmetry",
    ),
    "a count that the symmetry does not make": (
        changed("chair", "bar back rail", "count", to=2),
        "the symmetry makes 1 of it; given 2",
    ),
    "a height that is none": (
        changed("table", "height_mm", "top", to=-720),
        "height_mm.top: is no length",
    ),
    "a lean both ways": (
        changed("chair", "bar back leg", "top_goes", to={"back_deg": 8, "front_deg": 8}),
        "front_deg: is given together with its opposite",
    ),
}


@pytest.mark.parametrize("what", WRONG)
def test_what_cannot_be_is_named(what: str) -> None:
    piece, says = WRONG[what]
    with pytest.raises(InputError) as caught:
        solved(made(piece))
    assert says in str(caught.value)


@pytest.mark.parametrize(("long", "meets"), [(7, False), (8, True)])
def test_the_mortises_of_the_stand(long: float, meets: bool) -> None:
    """With 2 mm of glue room tenons of 7 do not meet and tenons of 8 do."""
    piece = changed("stand", "joint", 0, "parameters", "tenon_length_mm", to=long)
    found = [c for c in solved(made(piece)).checks if c.name == "mortises_apart"]
    assert len(found) == 3
    assert all((c.status == "fail") == meets for c in found)
