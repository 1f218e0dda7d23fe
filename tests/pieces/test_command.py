"""Piece files at the command line: solved to text and JSON, and dry-fitted whole."""

from __future__ import annotations

import json
from importlib.resources import files
from pathlib import Path

import pytest

from jointgeo.command import main
from jointgeo.errors import PieceError
from jointgeo.jobs.report import READING
from jointgeo.pieces.answerfile import solve_piece_file
from jointgeo.pieces.file import load_piece
from jointgeo.proof import fit_piece
from jointgeo.proof.sweep import sweep_piece

DATA = Path(__file__).parent / "data"
BENCH = str(DATA / "bench.toml")


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    code = main(list(arguments))
    out = capsys.readouterr()
    return code, out.out, out.err


def test_a_piece_is_solved_from_its_room_numbers(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(capsys, "solve", BENCH)
    assert (code, err) == (0, "")
    for words in (
        "feet, left to right: 1040.00 mm",
        "4 × leg, 2 of them mirrored, parallelogram",
        "finished 449.59 mm on the middle line",
        "swivel 9.679° (9°40.7′), clockwise   tilt 14.014° (14°00.9′), cut end towards you",
        "for 2 × leg, near end, mirrored",
        "mortise for stretcher tenon, on the back edge: 281.37 mm to 317.37 mm, its middle line "
        "22.00 mm from the face side; 7.00 mm wide, 17.00 mm deep",
        "Checks of leg over rail",
    ):
        assert words in out
    assert out.count("Operation ") == 8


def test_the_text_says_whether_it_closes_and_how_it_is_put_together(
    capsys: pytest.CaptureFixture[str],
) -> None:
    _, out, _ = run(capsys, "solve", BENCH)
    for words in (
        "Does it close? (95 %)",
        "The worst of its 2 closed frames: leg, front ",
        "Glued one joint after the other, each closed tight, the last one (",
        "within what glue fills, if each joint's own operation is (glue line 0.15 mm)",
        "How it is put together (as you stand before it; directions, for each 1 mm of travel)",
        "At most 5 joints must be closed together.",
        "6. 5 joints together: leg, ",
    ):
        assert words in out, words
    _, inches, _ = run(capsys, "solve", BENCH, "--inches")
    closing = inches.partition("Does it close?")[2].partition("How it is put")[0]
    assert "mm (" in closing


def test_a_mortise_that_goes_through_is_marked_on_both_sides(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """A tenon of 67 mm in a leg 66 mm wide."""
    path = tmp_path / "bench.toml"
    text = Path(BENCH).read_text("utf-8")
    path.write_text(text.replace("tenon_length_mm = 15", "tenon_length_mm = 67"), "utf-8")
    _, out, _ = run(capsys, "solve", str(path))
    assert (
        "7.00 mm wide, right through: mark it on the back edge and on the face edge; what goes "
        "through stands 1.00 mm proud there"
    ) in out


def test_json_has_closing_and_assembly_when_asked(capsys: pytest.CaptureFixture[str]) -> None:
    table = str(DATA / "table.toml")
    _, out, _ = run(capsys, "solve", table, "--json", "--also", "closing", "--also", "assembly")
    (answer,) = json.loads(out)
    assert answer["assembly"]["most_at_once"] == 2
    assert answer["closing"]["closes"] is True
    findings = sweep_piece(answer, answer["assembly"])
    assert all(f.ok for f in findings)
    _, out, _ = run(capsys, "solve", table, "--json")
    assert not {"closing", "assembly"} & set(json.loads(out)[0])


def test_a_mis_set_angle_is_followed_round_the_piece(capsys: pytest.CaptureFixture[str]) -> None:
    table = str(DATA / "table.toml")
    code, out, _ = run(capsys, "dry-fit", table, "--error", "tilt_deg=0.1", "--json")
    (last,) = json.loads(out)["pieces"][0]["last"]
    assert code == 1
    assert last["gap_mm"] == pytest.approx(last["foretold_gap_mm"], rel=0.01)
    assert last["turn_deg"] == pytest.approx(last["foretold_turn_deg"], rel=0.001)
    _, out, _ = run(capsys, "dry-fit", table, "--error", "tilt_deg=0.1")
    assert "glued one joint after the other, each closed tight, the last one is off:" in out
    _, out, _ = run(capsys, "dry-fit", table)
    assert "the last one is off" not in out


def test_a_piece_is_taken_apart_when_asked(capsys: pytest.CaptureFixture[str]) -> None:
    table = str(DATA / "table.toml")
    code, out, _ = run(capsys, "dry-fit", table, "--apart")
    assert code == 0
    assert "taken apart in 7 steps, each swept to 70 mm: nothing is in the way" in out


def test_json_rebuilds_the_piece(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "solve", BENCH, "--json")
    (answer,) = json.loads(out)
    assert code == 0
    assert answer == json.loads(json.dumps(solve_piece_file(load_piece(BENCH)).answer.to_dict()))
    assert fit_piece(answer).goes_together
    assert {m["name"]: m["count"] for m in answer["members"]} == {
        "rail": 2,
        "leg": 4,
        "end stretcher": 2,
        "long stretcher": 1,
    }


def test_a_piece_by_its_type_is_the_same_piece() -> None:
    one, other = (solve_piece_file(load_piece(DATA / f"{n}.toml")) for n in ("bench", "typed"))
    for name, length in one.tape.items():
        assert other.tape[name] == pytest.approx(length, abs=1e-9), name
    assert len(one.answer.settings) == len(other.answer.settings)


def test_a_parameter_at_fault_is_named_by_its_path(tmp_path: Path) -> None:
    path = tmp_path / "bad.toml"
    text = (DATA / "typed.toml").read_text("utf-8")
    path.write_text(text.replace("leg_width_mm = 66", "leg_width_mm = -66"), "utf-8")
    with pytest.raises(PieceError, match=r"bad\.toml: parameters\.leg_width_mm: is too small"):
        load_piece(path)
    path.write_text(text.replace('"splayed_bench"', '"bunk"'), "utf-8")
    with pytest.raises(PieceError, match="is not a known piece type"):
        load_piece(path)


def test_what_a_tape_must_show_is_compared(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = Path(BENCH).read_text("utf-8")
    path = tmp_path / "bench.toml"
    path.write_text(text.replace('"leg, length" = 449.5910', '"leg, length" = 449.53'), "utf-8")
    code, _, err = run(capsys, "solve", str(path))
    assert code == 2
    assert "measured_mm.leg, length: the drawing makes it 449.591 mm; given 449.53" in err
    path.write_text(text.replace('"leg, length" = 449.5910', '"leg, length" = 449.55'), "utf-8")
    assert run(capsys, "solve", str(path))[0] == 0
    path.write_text(text.replace('"leg, length"', '"legs, length"'), "utf-8")
    assert "is nothing that is measured" in run(capsys, "solve", str(path))[2]


def test_a_piece_is_dry_fitted_whole(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "dry-fit", BENCH, "--output", str(tmp_path))
    assert code == 0
    assert "9 bars, each cut by the settings of its two ends alone: goes together" in out
    assert "height 430.0000, over the feet 1040.0000 × 480.0000 mm" in out
    (folder,) = tmp_path.iterdir()
    assert {"assembly.glb", "assembly.stl", "long-stretcher.stl"} <= {
        p.name for p in folder.iterdir()
    }
    code, out, _ = run(capsys, "dry-fit", BENCH, "--error", "tilt_deg=0.2")
    assert code == 1
    assert "DOES NOT GO TOGETHER" in out
    assert "not right:" in out
    code, out, _ = run(capsys, "dry-fit", BENCH, "--json")
    (piece,) = json.loads(out)["pieces"]
    assert piece["fit"]["footprint_mm"] == pytest.approx([1040, 480], abs=1e-6)


def test_piece_types_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "pieces")
    assert code == 0
    assert "splayed_bench        A bench on four legs splayed both ways, with stretchers" in out
    code, out, _ = run(capsys, "pieces", "splayed_bench")
    assert "  seat_height_mm (or seat_height_in): a number greater than 0 mm and at most" in out
    code, out, _ = run(capsys, "pieces", "--json")
    listed = {t["name"]: t for t in json.loads(out)["piece_types"]}["splayed_bench"]
    assert listed["parameters"][0]["name"] == "seat_height_mm"
    code, out, _ = run(capsys, "pieces", "splayed_bench", "--json")
    assert json.loads(out) == listed
    code, _, err = run(capsys, "pieces", "bunk")
    assert code == 2
    assert "is not a known piece type" in err


def test_another_fixture_may_be_asked_for(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "solve", BENCH, "--fixture", "porch", "--inches")
    assert code == 0
    assert "1040.00 mm (40 15/16 in)" in out


def test_a_fixture_of_ones_own_is_named_by_its_file(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "mine.toml"
    text = (files("jointgeo") / "data" / "fixtures" / "porch.toml").read_text("utf-8")
    path.write_text(text, "utf-8")
    code, out, _ = run(capsys, "solve", BENCH, "--fixture", str(path))
    assert code == 0
    assert "mine.toml, porch, Porch fixture" in out


def test_jobs_and_pieces_share_one_table(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "solve", BENCH, "planter-six")
    assert code == 1
    rows = out.rpartition("All jobs\n--------\n")[2].splitlines()
    assert len(rows) == 2
    assert rows[0].split() == ["Bench", "from", "its", "footprint", "feasible", "with", "cautions"]
    assert "NOT FEASIBLE: front_beam" in rows[1]
    assert out.count(READING[0]) == 1
    code, out, _ = run(capsys, "solve", BENCH, "planter-six", "--json")
    assert [len(a["settings"]) > 0 for a in json.loads(out)] == [True, True]


def test_a_piece_that_does_not_fit_is_not_to_be_cut(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The legs need 14.014° of tilt, and this plate stops at 12°."""
    path = tmp_path / "low.toml"
    text = (files("jointgeo") / "data" / "fixtures" / "porch.toml").read_text("utf-8")
    path.write_text(text.replace("max_deg = 24.0", "max_deg = 12.0"), "utf-8")
    code, out, _ = run(capsys, "solve", BENCH, "--fixture", str(path))
    assert code == 1
    short = "is not feasible; tilt_range is short by 2.014°"
    warnings = {f"DO NOT CUT: this {what} {short}" for what in ("piece", "operation")}
    lines = out.splitlines()
    starts = [n for n, line in enumerate(lines) if line.startswith("Operation ")]
    assert len(starts) == 8
    assert {lines[n - 1] for n in starts} == warnings
