"""The workbook's sheet of a whole piece in the real LibreOffice, asking the real service.

Expected answers are the library's own, to the last bit. Seat 430 over a footprint of 1040 by 480 is
the demo's bench (invented).
"""

from __future__ import annotations

from typing import Any

import jointgeo
from jointgeo.pieces import PieceAnswer, piece_type, solve_piece

from .office import Office
from .support import Service
from .workbook import NAMES, VALUES, Rows, opened, used

SHEET, TABLES = "Bench whole", 5
KIND = piece_type("splayed_bench")


def _inputs(rows: Rows) -> dict[str, Any]:
    pairs = {r[NAMES]: r[VALUES] for r in rows if r[NAMES] and r[VALUES] != ""}
    flags = {"true": True, "false": False}
    return {n: flags.get(v, v) if isinstance(v, str) else v for n, v in pairs.items()}


def _table(rows: Rows, first: str) -> list[dict[str, Any]]:
    """The table whose heading begins with that word, up to the first empty row."""
    top = next(i for i, row in enumerate(rows) if row[TABLES] == first)
    head = [name for name in rows[top][TABLES:] if name]
    body = [row[TABLES:] for row in rows[top + 1 :]]
    end = next(i for i, row in enumerate(body) if row[0] == "")
    return [dict(zip(head, row, strict=False)) for row in body[:end]]


def _holds(rows: Rows) -> PieceAnswer:
    """Assert that both tables say what the library says of the inputs in the cells."""
    given = _inputs(rows)
    assert (given.pop("fixture"), given.pop("marks")) == ("porch", "alike")
    answer = solve_piece(KIND.from_dict(given).piece(), jointgeo.load_fixture("porch"))
    cut_list = _table(rows, "member")
    assert [(r["member"], r["how many"], r["cut the blank to (mm)"]) for r in cut_list] == [
        (m.name, m.count, m.blank_mm) for m in answer.members
    ]
    assert [r["its longest edge (mm)"] for r in cut_list] == [
        max(m.long_edges_mm) for m in answer.members
    ]
    shown = [
        (r["operation"], r["clamping"], r["cut"], r["pass"], r["true swivel (deg)"], r["trim (mm)"],
         r["carriage at (mm)"], r["side against the plate"]) for r in _table(rows, "operation")
    ]  # fmt: skip
    expected: list[tuple[Any, ...]] = []
    for e, end in enumerate(answer.to_dict()["settings"], 1):
        for n, setup in enumerate(end["setups"], 1):
            angle, trim, side = setup["swivel_deg"], setup["trim_mm"], setup["against_plate"]
            if not setup["cuts"]:  # trimmed only
                expected.append((e, n, "", "", angle, trim, "", side))
            expected += [
                (e, n, c, p, angle, trim, one["travel_mm"], side)
                for c, cut in enumerate(setup["cuts"], 1)
                for p, one in enumerate(cut["passes"], 1)
            ]
    assert shown == expected
    return answer


def test_numbers_of_the_room_give_cut_list_and_settings(english: Office, service: Service) -> None:
    rows = english.do(*opened(english, service.url), used(SHEET))[-1]
    answer = _holds(rows)
    assert [(m.count, m.name) for m in answer.members] == [
        (2, "rail"), (4, "leg"), (2, "end stretcher"), (1, "long stretcher"),
    ]  # fmt: skip
    assert any("Isolate the power" in str(row[0]) for row in rows)


def test_other_numbers_give_other_answers(english: Office, service: Service) -> None:
    first = english.do(*opened(english, service.url), used(SHEET))[-1]
    row = 1 + next(i for i, r in enumerate(first) if r[NAMES] == "seat_height_mm")
    rows = english.do(*opened(english, service.url, **{SHEET: {f"C{row}": 410.5}}), used(SHEET))[-1]
    assert _inputs(rows)["seat_height_mm"] == 410.5
    assert _holds(rows).members[1].blank_mm != _holds(first).members[1].blank_mm


def test_a_bad_number_shows_its_reason(english: Office, service: Service) -> None:
    first = english.do(*opened(english, service.url), used(SHEET))[-1]
    row = 1 + next(i for i, r in enumerate(first) if r[NAMES] == "leg_width_mm")
    rows = english.do(*opened(english, service.url, **{SHEET: {f"C{row}": -3}}), used(SHEET))[-1]
    told = [r[TABLES] for r in rows if str(r[TABLES]).startswith("#")]
    assert len(told) >= 2
    assert all("leg_width_mm" in text and "-3" in text for text in told)
