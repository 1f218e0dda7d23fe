"""The workbook's sheet of each whole piece in the real LibreOffice, asking the real service.

The document is opened once: as it is shipped, with other inputs, and with a bad one. Expected
answers are the library's own, to the last bit; beside them stand lengths worked out by hand from
the first examples' heights and leans.
"""

from __future__ import annotations

import json
import subprocess
from collections import Counter
from importlib.metadata import entry_points
from math import cos, hypot, radians, tan
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import attrs
import pytest

import jointgeo
from jointgeo.pieces import PieceAnswer, piece_type, solve_piece
from jointgeo.schema.fields import describe

from .office import WORKBOOK, Office, build
from .support import Service, need, start_service
from .workbook import NAMES, VALUES, Rows, opened, used

TABLES = 5
#: Of those that ship: name and sheet. The workbook that ships has no others.
SHIPPED = sorted(e.name for e in entry_points(group="jointgeo.piece_types")
                 if e.value.startswith("jointgeo."))  # fmt: skip
SHEETS = {name: name.replace("_", " ").capitalize() for name in SHIPPED}
TRUE = "=TRUE()"
#: Inputs by name: choices in words, a capital letter, cells left empty, a text, yes and no.
CHANGES: dict[str, dict[str, Any]] = {
    "side_chair": {"seat_height_mm": 455.5, "aimed_at": "Side middles", "drawn_to": "",
                   "marks": "as drawn"},
    "sloping_box": {"plan": "0 0, 400 0, 360 220, 40 220", "lower_edge_mm": "", "sides": "",
                    "finger_count": 5.0, "slope_deg": 6.5, "alternate": TRUE},
    "splayed_bench": {"seat_height_mm": 410.5, "long_stretcher": "no", "footprint_length_mm": "",
                      "splay_along_deg": 9.25},
    "splayed_table": {"aprons_stand": "upright", "tenon_width_mm": "", "marks": ""},
    "three_legged_stool": {"stretchers": "Tee", "rails_stand": "leaning",
                           "rail_thickness_mm": 15.0},
}  # fmt: skip


@attrs.frozen
class Read:
    """Rows of each type's sheet as shipped, with ``CHANGES``, with a bad number, and the bench's
    with an empty cell where the default is yes; printed pages; and the requests of the first
    reading."""

    shipped: dict[str, Rows]
    changed: dict[str, Rows]
    bad: dict[str, Rows]
    emptied: Rows
    pages: list[str]
    asked: list[dict[str, Any]]


def _cells(rows: Rows, given: dict[str, Any]) -> dict[str, Any]:
    """By addresses, what goes into the inputs of those names."""
    at = {row[NAMES]: i for i, row in enumerate(rows, 1)}
    return {f"C{at[name]}": value for name, value in given.items()}


@pytest.fixture(scope="module")
def read(english: Office, service: Service, tmp_path_factory: pytest.TempPathFactory) -> Read:
    place = tmp_path_factory.mktemp("pieces")
    log, pdf = place / "log", place / "workbook.pdf"
    pdftotext = need("pdftotext", "poppler-utils")
    rows = _inputs_in_file()
    sheets = [used(sheet) for sheet in SHEETS.values()]
    good = {SHEETS[kind]: _cells(rows[kind], given) for kind, given in CHANGES.items()}
    bad = {SHEETS[k]: _cells(rows[k], {"fit_mm": -3.0}) for k in SHEETS}
    emptied = {"fit_mm": 0.1, "long_stretcher": ""}
    empty = {SHEETS["splayed_bench"]: _cells(rows["splayed_bench"], emptied)}
    counted = start_service(log=log)
    try:
        told = english.do(
            *opened(english, counted.url), *sheets, {"do": "print_to", "url": pdf.as_uri()},
            *_written(good | {"Start": {"B3": service.url}}), *sheets, *_written(bad), *sheets,
            *_written(empty), used(SHEETS["splayed_bench"]),
        )  # fmt: skip
    finally:
        counted.kill()
    told = [one for one in told if one is not None]
    first, second, third = (
        dict(zip(SHEETS, told[i : i + len(SHEETS)], strict=True))
        for i in range(0, 3 * len(SHEETS), len(SHEETS))
    )
    command = [pdftotext, "-layout", str(pdf), "-"]
    text = subprocess.run(command, capture_output=True, text=True, check=True, timeout=60).stdout
    asked = [json.loads(line) for line in log.read_text().splitlines()]
    return Read(first, second, third, told[-1], text.split("\f")[:-1], asked)


def _written(changes: dict[str, dict[str, Any]]) -> list[dict[str, Any]]:
    return [{"do": "write", "sheet": sheet, "cells": cells} for sheet, cells in changes.items()]


def _inputs_in_file() -> dict[str, Rows]:
    """Of each type's sheet, rows in which the names of the inputs stand where they do."""
    out = {}
    for kind, cls in ((kind, piece_type(kind)) for kind in SHEETS):
        names = ["", "", kind, "", "fixture", "marks", *(info.name for info in describe(cls))]
        out[kind] = [["", name] for name in names]
    return out


def _meant(kind: str, name: str, written: Any) -> Any:
    """What the words in a cell mean to the library."""
    of = {info.name: info.kind for info in describe(piece_type(kind))}.get(name, "choice")
    if of == "flag":
        return {"yes": True, "no": False, 1.0: True, TRUE: True}[written]
    return written.lower().replace(" ", "_") if of == "choice" else written


def _inputs(kind: str, rows: Rows) -> dict[str, Any]:
    """Parameters, fixture and marks as the cells say; without those that stand empty."""
    pairs = {r[NAMES]: r[VALUES] for r in rows[3:] if r[NAMES] and r[VALUES] != ""}
    return {name: _meant(kind, name, written) for name, written in pairs.items()}


def _table(rows: Rows, first: str) -> list[dict[str, Any]]:
    """The table whose heading begins with that word, up to the first empty row."""
    top = next(i for i, row in enumerate(rows) if row[TABLES] == first)
    head = [name for name in rows[top][TABLES:] if name]
    body = [row[TABLES:] for row in rows[top + 1 :]]
    end = next(i for i, row in enumerate(body) if row[0] == "")
    return [dict(zip(head, row, strict=False)) for row in body[:end]]


def _holds(kind: str, rows: Rows) -> PieceAnswer:
    """Assert that both tables say what the library says of the inputs in the cells."""
    given = _inputs(kind, rows)
    assert given.pop("fixture") == "porch"
    marks = given.pop("marks", "alike")
    piece = piece_type(kind).from_dict(given).piece()
    answer = solve_piece(piece, jointgeo.load_fixture("porch"), marks)
    plain = answer.to_dict()
    cut_list = _table(rows, "member")
    assert [
        (r["member"], r["how many"], r["of them mirrored"], r["width (mm)"],
         r["finished length (mm)"], r["cut the blank to (mm)"], r["its longest edge (mm)"])
        for r in cut_list
    ] == [
        (m["name"], m["count"], m["mirrored"], m["width_mm"], m["length_mm"], m["blank_mm"],
         max(m["long_edges_mm"])) for m in plain["members"]
    ]  # fmt: skip
    shown = [
        (r["operation"], r["clamping"], r["cut"], r["pass"], r["true swivel (deg)"],
         r["true tilt (deg)"], r["trim (mm)"], r["carriage at (mm)"], r["side against the plate"])
        for r in _table(rows, "operation")
    ]  # fmt: skip
    expected: list[tuple[Any, ...]] = []
    for e, end in enumerate(plain["settings"], 1):
        for n, setup in enumerate(end["setups"], 1):
            angles, side = (setup["swivel_deg"], setup["tilt_deg"]), setup["against_plate"]
            trim = setup["trim_mm"]
            if not setup["cuts"]:  # trimmed only
                expected.append((e, n, "", "", *angles, trim, "", side))
            expected += [
                (e, n, c, p, *angles, trim, one["travel_mm"], side)
                for c, cut in enumerate(setup["cuts"], 1)
                for p, one in enumerate(cut["passes"], 1)
            ]
    assert shown == expected
    return answer


@pytest.mark.parametrize("kind", SHEETS)
def test_the_first_example_gives_cut_list_and_settings(kind: str, read: Read) -> None:
    rows = read.shipped[kind]
    given = _inputs(kind, rows)
    del given["fixture"], given["marks"]
    example = piece_type(kind).examples()[0].to_dict()
    assert given == {name: value for name, value in example.items() if value is not None}
    _holds(kind, rows)


def test_lengths_by_hand(read: Read) -> None:
    """mm, to half the last of four places. Each leg's axis leans by both angles at once."""

    def shown(kind: str, member: str, what: str) -> Any:
        return next(r for r in _table(read.shipped[kind], "member") if r["member"] == member)[what]

    tenth = 5e-5
    lean = hypot(1, tan(radians(8)), tan(radians(5)))
    table = shown("splayed_table", "leg", "finished length (mm)")
    assert table == pytest.approx(720 * lean, abs=tenth)
    back = shown("side_chair", "back leg", "finished length (mm)")
    assert back == pytest.approx(850 / cos(radians(8)), abs=tenth)
    # A level rim on a board that leans is the board's height and what its thickness adds.
    side = 150 / cos(radians(10)) + 18 * tan(radians(10))
    assert shown("sloping_box", "side", "width (mm)") == pytest.approx(side, abs=tenth)
    counts = [(r["how many"], r["member"]) for r in _table(read.shipped["splayed_bench"], "member")]
    assert counts == [(2, "rail"), (4, "leg"), (2, "end stretcher"), (1, "long stretcher")]


@pytest.mark.parametrize("kind", CHANGES)
def test_other_inputs_give_other_answers(kind: str, read: Read) -> None:
    rows = read.changed[kind]
    given = _inputs(kind, rows)
    written = {n: _meant(kind, n, v) for n, v in CHANGES[kind].items() if v != ""}
    assert {n: v for n, v in given.items() if n in CHANGES[kind]} == written
    was, now = _holds(kind, read.shipped[kind]).to_dict(), _holds(kind, rows).to_dict()
    assert was["settings"] != now["settings"]


def test_where_a_choice_of_yes_and_no_stands_empty_its_default_holds(read: Read) -> None:
    assert "long_stretcher" not in _inputs("splayed_bench", read.emptied)
    told = [_holds("splayed_bench", rows) for rows in (read.emptied, read.changed["splayed_bench"])]
    assert ["long stretcher" in {m.name for m in one.members} for one in told] == [True, False]


@pytest.mark.parametrize("kind", SHEETS)
def test_a_bad_number_shows_its_reason(kind: str, read: Read) -> None:
    told = [r[TABLES] for r in read.bad[kind] if str(r[TABLES]).startswith("#")]
    assert len(told) >= 2
    assert all("fit_mm" in text and "-3" in text for text in told)


def test_each_sheet_asks_twice(read: Read) -> None:
    """Counted in the service's own log; the office sends other methods before a GET."""
    gets = [one["route"] for one in read.asked if one["method"] == "GET"]
    pieces = Counter(route for route in gets if "/piece-types/" in route)
    assert pieces == {
        f"/v1/piece-types/{kind}/{want}": 1 for kind in SHEETS for want in ("cut-list", "settings")
    }
    assert {one["status"] for one in read.asked} == {200}


def test_printed_pages_have_cautions_and_words_and_none_is_empty(read: Read) -> None:
    names = {i.name for kind in SHEETS for i in describe(piece_type(kind)) if "_" in i.name}
    for kind in SHEETS:
        summary = piece_type(kind).summary.rstrip(".")
        pages = [page for page in read.pages if page.lstrip().startswith(summary)]
        assert pages
        for page in pages:
            words = " ".join(page.split())
            assert "Isolate the power before setting" in words
            assert "cut a test piece first" in words
            # Below what stands on every page.
            assert len(words.partition("same section.")[2].split()) >= 5
            assert [name for name in {*names, kind} if name in words] == []
        assert pages[-1].strip().endswith("Here the print ends; no pass stands below it.")


def test_passes_that_do_not_go_on_paper_are_announced_there(read: Read) -> None:
    """The first example of a box has 35 passes, and one of four unlike sides and corners 122."""
    for rows, passes, says in (
        (read.shipped["sloping_box"], 35, "Here the print ends; no pass stands below it."),
        (read.changed["sloping_box"], 122, "# Here the print ends, and passes go on below: "),
    ):
        assert len(_table(rows, "operation")) == passes
        assert len([row for row in rows if str(row[0]).startswith(says)]) == 1


def test_words_and_nothing_else_stand_in_what_people_read(read: Read) -> None:
    for kind, rows in read.shipped.items():
        assert [row[0] for row in rows if "_" in row[0]] == []
        assert [row[c] for row in rows for c in (VALUES, 3) if "_" in str(row[c])] == []
        assert rows[2][VALUES] == SHEETS[kind]
    bench = {row[NAMES]: row for row in read.shipped["splayed_bench"]}
    assert bench["footprint_length_mm"][0].endswith('0: as "splay along" says')
    assert bench["splay_along_deg"][0].startswith("Splay along: Lean of the legs")
    assert bench["long_stretcher"][3] == "yes or no; yes where empty"


def test_another_piece_type_gets_its_sheet_for_nothing(tmp_path: Path) -> None:
    """One named as a sheet that is there already, with a required choice and an open text."""
    (tmp_path / "chair_of_ours.py").write_text(
        "import attrs\n"
        "from jointgeo.pieces.kinds.three_legged_stool import ThreeLeggedStool\n"
        "from jointgeo.schema.fields import choice, text\n"
        "@attrs.frozen\n"
        "class Chair(ThreeLeggedStool):\n"
        "    name = 'chair'\n"
        "    summary = 'A chair of ours'\n"
        "    seat_is = choice('What the seat is, beside height_mm', ('hard_wood', 'woven'))\n"
        "    says = text('What is written below', default=None)\n"
        "    @classmethod\n"
        "    def examples(cls):\n"
        "        given = [s.to_dict() for s in ThreeLeggedStool.examples()]\n"
        "        return tuple(cls(**s, seat_is='hard_wood') for s in given)\n",
        "utf-8",
    )
    info = tmp_path / "chair_of_ours-1.dist-info"
    info.mkdir()
    (info / "METADATA").write_text("Metadata-Version: 2.1\nName: chair-of-ours\nVersion: 1\n")
    (info / "entry_points.txt").write_text("[jointgeo.piece_types]\nchair = chair_of_ours:Chair\n")
    made = tmp_path / "made.ods"
    build("--output", str(made), PYTHONPATH=str(tmp_path))
    with ZipFile(made) as archive:
        text = archive.read("content.xml").decode("utf-8")
    with ZipFile(WORKBOOK) as archive:
        assert "Chair whole" not in archive.read("content.xml").decode("utf-8")
    sheet = text[text.index('table:name="Chair whole"') :]
    sheet = sheet[: sheet.index("</table:table>")]
    for says in ("A chair of ours: cut list", 'What the seat is, beside "height"', ">hard wood<",
                 ">hard wood or woven<", ">What is written below<", ">seat_is<",
                 "Isolate the power", '"cut-list"', '"settings"'):  # fmt: skip
        assert says in sheet.replace("&quot;", '"'), says
