"""The Apps Script under Node, its fetch replaced by a real request to the real service.

What this cannot show: Google's own machines and their way of handing over cells. Ranges
are given as lists of rows and empty cells as "", as their documentation says.
"""

from __future__ import annotations

import json
import subprocess
from pathlib import Path
from typing import Any

import attrs
import pytest

import jointgeo
from jointgeo.pieces import piece_type, piece_types, solve_piece

from .support import Service, answers, need, start_service

SCRIPT = Path(__file__).parents[2] / "clients" / "google_sheets" / "jointgeo.gs"
HOST = Path(__file__).with_name("apps_script_host.js")
LEG = jointgeo.joint_type("splayed_bridle").examples()[0].to_dict()
RANGE = [["fixture", "porch"], ["hand", ""], ["", ""], *([k, v] for k, v in LEG.items())]
SWIVEL = "leg.1.swivel_deg"


def run(*calls: tuple[str, list[Any]], **properties: str) -> tuple[list[Any], list[Any]]:
    """Results of the calls, and the requests that were made."""
    node = need("node", "nodejs")
    need("curl", "curl")
    job = {
        "script": str(SCRIPT),
        "properties": properties,
        "calls": [{"name": name, "args": args} for name, args in calls],
    }
    told = subprocess.run(
        [node, str(HOST)], input=json.dumps(job), capture_output=True, text=True, timeout=60,
        check=False,
    )  # fmt: skip
    assert told.returncode == 0, told.stderr
    out = json.loads(told.stdout)
    return out["results"], out["asked"]


def value(url: str, path: Any, *pairs: Any) -> tuple[str, list[Any]]:
    return "JG_VALUE", [url, "splayed_bridle", path, *pairs]


def test_values_are_the_librarys(service: Service) -> None:
    expected = answers("splayed_bridle", LEG)
    setup = expected["settings"]["parts"][0]["setups"][0]
    flat = [x for pair in LEG.items() for x in pair]
    other = answers("splayed_bridle", {**LEG, "splay_across_deg": 0.5, "fit_mm": -0.25})
    odd = [row if row[0] not in ("splay_across_deg", "fit_mm") else ["", ""] for row in RANGE]
    results, _ = run(
        value(service.url, SWIVEL, RANGE),
        value(service.url + "/", SWIVEL, *flat, "fixture", "porch"),
        value(service.url, "leg.1.against_plate", RANGE),
        value(service.url, "feasible", RANGE),
        value(service.url, SWIVEL, "fit_mm", -0.25, odd, "splay_across_deg", 0.5),
        value(service.url, "leg.1.cuts.1.right_mm", "fit_in", "-1/64", odd,
              "splay_across_deg", 0.5),
    )  # fmt: skip
    assert results[:2] == [setup["swivel_deg"]] * 2
    # atan(cos 12° · tan 8°) by hand, to half the last of four places of a degree.
    assert results[0] == pytest.approx(7.8274, abs=5e-5)
    assert results[2:4] == [setup["against_plate"], "true"]
    changed = other["settings"]["parts"][0]["setups"][0]
    assert results[4] == changed["swivel_deg"] != setup["swivel_deg"]
    inches = answers("splayed_bridle", {**LEG, "splay_across_deg": 0.5, "fit_mm": -25.4 / 64})
    cut = inches["settings"]["parts"][0]["setups"][0]["cuts"][0]
    assert results[5] == cut["right_mm"]


def test_tables_are_the_librarys(service: Service) -> None:
    expected = answers("splayed_bridle", LEG)
    checks = [
        [c["part"], c.get("setup", ""), c["name"], c["value"], c["limit"], c["margin"], c["unit"]]
        for c in expected["feasibility"]["checks"]
    ]

    def table(want: str, rows: Any) -> tuple[str, list[Any]]:
        return "JG_TABLE", [service.url, "splayed_bridle", want, rows, RANGE]

    (all_checks, cuts, few, many), _ = run(
        table("feasibility", 0), table("settings", 0), table("settings", 3), table("settings", 9)
    )
    assert [row[:7] for row in all_checks[1:]] == checks
    assert all_checks[0][:3] == ["part", "setup", "check"]
    # Four passes: 22.1 mm of slot at 6 mm a cut.
    at = cuts[0].index("pass")
    assert [row[at] for row in cuts] == ["pass", 1, 2, 3, 4]
    assert few == [*cuts[:2], ["# 3 more rows", *[""] * 24]]
    assert many == [*cuts, *[[""] * 25] * 4]


def test_tables_of_a_whole_piece_are_the_librarys(service: Service) -> None:
    """Each type's first example; on one of them rows cut off and filled up, inches, and words."""
    fixture = jointgeo.load_fixture("porch")
    calls, expected = [], []
    for name, cls in piece_types().items():
        example = cls.examples()[0]
        table = [[k, "" if v is None else v] for k, v in example.to_dict().items()]
        pairs = ["fixture", "porch", table]
        calls += [("JG_PIECE", [service.url, name, want, 0, *pairs])
                  for want in ("cut-list", "settings", "feasibility")]  # fmt: skip
        answer = solve_piece(example.piece(), fixture).to_dict()
        members = [
            [m["name"], m["count"], m["mirrored"], m["width_mm"], m["thickness_mm"],
             m["length_mm"], m["blank_mm"], max(m["long_edges_mm"]), min(m["long_edges_mm"]),
             m["shape"]] for m in answer["members"]
        ]  # fmt: skip
        passes = [
            [number, setup["swivel_deg"], setup["tilt_deg"], setup["trim_mm"],
             one.get("travel_mm", ""), one.get("turns", "")]
            for number, end in enumerate(answer["settings"], 1)
            for setup in end["setups"]
            for one in ([p for cut in setup["cuts"] for p in cut["passes"]] or [{}])
        ]  # fmt: skip
        checks = [[c["name"], c["margin"], c["status"]] for c in answer["checks"]]
        expected += [members, passes, checks]
    results, asked = run(*calls)
    assert len(asked) == len(calls) == 3 * len(piece_types())
    columns = [
        results[0][0],
        ["setting", "swivel_deg", "tilt_deg", "trim_mm", "travel_mm", "turns"],
        ["name", "margin", "status"],
    ]
    for at, (table, rows) in enumerate(zip(results, expected, strict=True)):
        places = [table[0].index(name) for name in columns[at % 3]]
        assert [[row[c] for c in places] for row in table[1:]] == rows

    bench = piece_type("splayed_bench").examples()[0]
    pairs = [[k, v] for k, v in bench.to_dict().items() if k != "seat_height_mm"]
    inches = attrs.evolve(bench, seat_height_mm=431.8)  # 17 in
    blanks = [m.blank_mm for m in solve_piece(inches.piece(), fixture).members]

    def piece(want: str, rows: Any, *more: Any, kind: str = "splayed_bench") -> Any:
        return "JG_PIECE", [service.url + "/", kind, want, rows, pairs, "fixture", "porch", *more]

    seat = ["seat_height_in", 17]
    (few, many, worded, missing, bad, unknown, astray, odd), _ = run(
        piece("cut-list", 3, *seat),
        piece("cut-list", 7, *seat),
        piece("settings", 0, *seat, "heading", "words", "marks", "as_drawn"),
        piece("cut-list", 0),
        piece("cut-list", 0, "seat_height_mm", -3),
        piece("cut-list", 0, *seat, kind="no_such_thing"),
        piece("nothing", 0, *seat),
        piece("cut-list", 0, "seat_height_mm"),
    )
    assert [row[6] for row in many[1:5]] == blanks
    assert many[5:] == [[""] * 10] * 2
    assert few == [*many[:2], ["# 3 more rows", *[""] * 9]]
    assert worded[0][:2] == ["operation", "member and end"]
    drawn = solve_piece(inches.piece(), fixture, "as_drawn").to_dict()["settings"]
    assert worded[-1][0] == len(drawn)
    for reason, word in ((missing, "seat_height_mm"), (bad, "-3"), (unknown, "no_such_thing")):
        assert reason.startswith("#")
        assert word in reason
    assert astray == "# the service answered with status 404"
    assert odd == "# names and values must come in pairs; the last name has no value"


def test_a_list_is_one_request_for_a_thousand_rows(service: Service) -> None:
    """Two requests for 1,200 rows; the values are the library's; rows at fault and empty ones."""
    common = [[k, v] for k, v in LEG.items() if not k.startswith("splay")]
    names = ["splay_along_deg", "", "splay_across_deg"]
    rows = [[12, "note", 0.5], [75, "", 8], ["", "note", ""], [7.25, "", -3]]
    many = [[12, "", 8]] * 1200
    paths = [["leg.1.swivel_deg", "status", "edition"]]
    more = ["joint_type", "splayed_bridle", "fixture", "porch"]
    results, asked = run(
        ("JG_LIST", [service.url, paths, [names, *rows, ["", "", ""]], common, *more]),
        ("JG_LIST", [service.url, "status", [names, *many], common, *more]),
        ("JG_LIST", [service.url, "status", [names, rows[0]], common, "joint_type"]),
        ("JG_LIST", [service.url, "", [names, rows[0]], common]),
        ("JG_LIST", ["ftp://x", "status", [names, rows[0]], common]),
        ("JG_LIST", [service.url, paths, [["a", "a"], [1, 2]], common]),
    )
    few, lots, odd, empty, scheme, twice = results
    told = answers("splayed_bridle", {**LEG, "splay_across_deg": 0.5})
    setup = told["settings"]["parts"][0]["setups"][0]
    status, edition = told["feasibility"]["status"], told["settings"]["edition"]
    assert few[0] == [setup["swivel_deg"], status, edition]
    assert all(text.startswith("# splay_along_deg is too large; given 75") for text in few[1])
    assert few[2] == few[4] == ["", "", ""]
    assert len(few) == 5
    assert len(lots) == 1200
    assert {tuple(row) for row in lots} == {(lots[0][0],)}
    assert odd == "# names and values must come in pairs; the last name has no value"
    assert empty == "# a path must be given, or a range of paths without empty cells"
    assert scheme == "# the address of the service must begin with http:// or https://"
    assert twice.startswith("# names holds a name twice; given 'a'")
    assert [bool(one["body"]) for one in asked] == [True] * 4


def test_several_values_have_the_form_of_their_paths(service: Service) -> None:
    paths = [["status"], ["leg.1.swivel_deg"], ["leg.7.x"]]
    ((status, swivel, astray),), asked = run(value(service.url, paths, RANGE))
    assert (status, swivel) == (["caution"], [pytest.approx(7.8274, abs=5e-5)])
    assert astray[0].startswith("# pick leads nowhere at '7'")
    assert len(asked) == 1


def test_whatever_goes_wrong_says_why(service: Service, mortal: Service) -> None:
    steep = [row if row[0] != "splay_along_deg" else [row[0], 75] for row in RANGE]
    mortal.kill()
    results, asked = run(
        value(service.url, SWIVEL, steep),
        ("JG_TABLE", [service.url, "splayed_bridle", "settings", 0, steep]),
        value(mortal.url, SWIVEL, RANGE),
        value(service.url + "/elsewhere", SWIVEL, RANGE),
        value(service.url, SWIVEL, RANGE, "näme", "a&b #½"),
        value("file:///etc/hosts", SWIVEL, RANGE),
        value(service.url, SWIVEL, "fixture"),
        value(service.url, SWIVEL, [["a", 1, 2]]),
        value(service.url, SWIVEL, RANGE, "x", "y" * 2082),
    )
    bad, bad_table, gone, elsewhere, unknown, scheme, odd, wide, long = results
    for text in (bad, bad_table):
        assert text.startswith("#")
        assert all(word in text for word in ("splay_along_deg", "75", "60"))
    assert gone.startswith(f"# no answer from {mortal.url}: ")
    assert elsewhere == "# the service answered with status 404"
    assert unknown.startswith("#")
    assert "näme" in unknown
    assert scheme == "# the address of the service must begin with http:// or https://"
    assert odd == "# names and values must come in pairs; the last name has no value"
    assert wide == "# names and values must come in pairs; a range needs two columns"
    assert "at most 2082" in long
    # The last four were refused before anything was sent.
    assert len(asked) == 5


def test_the_token_goes_to_the_address_it_is_meant_for_and_nowhere_else(service: Service) -> None:
    guarded = start_service("porch-swing")
    try:
        results, asked = run(
            value(guarded.url, SWIVEL, RANGE),
            value(service.url, SWIVEL, RANGE),
            JG_SERVICE=guarded.url,
            JG_TOKEN="porch-swing",  # noqa: S106 # a test's own
        )
        assert results[0] == results[1] == pytest.approx(7.8274, abs=5e-5)
        assert [one["headers"] for one in asked] == [{"Authorization": "Bearer porch-swing"}, {}]
        (refused,), _ = run(value(guarded.url, SWIVEL, RANGE))
        assert refused.startswith("#")
    finally:
        guarded.kill()


def test_fetch_is_called_in_one_routine_only() -> None:
    assert SCRIPT.read_text("utf-8").count("UrlFetchApp.") == 1
