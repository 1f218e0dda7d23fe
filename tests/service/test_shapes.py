"""The shapes a spreadsheet takes: one bare value, a CSV table, and errors that a cell shows."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient

import jointgeo
from jointgeo.joints.joint_type import JointType

TYPES = sorted(jointgeo.joint_types())
SETTINGS = (
    "part,setup,swivel_deg,scale_swivel_deg,swivel_needed_deg,tilt_deg,scale_tilt_deg,"
    "tilt_needed_deg,packing_deg,overhang_mm,trim_mm,trim_height_mm,cut,left_mm,right_mm,depth_mm,"
    "height_mm,pass,travel_mm,turns,divisions,fixture,edition"
)
FEASIBILITY = "part,setup,check,value,limit,margin,unit,status,fixture,edition"


@pytest.fixture(params=TYPES)
def asked(
    request: pytest.FixtureRequest, client: FlaskClient, examples: dict[str, dict[str, Any]]
) -> Callable[..., Any]:
    """Asks one joint type's example by GET, with further arguments."""
    name = request.param

    def ask(want: str, **more: Any) -> Any:
        flat = {**examples[name], "fixture": "porch", **more}
        return client.get(f"/v1/joint-types/{name}/{want}", query_string=flat)

    return ask


@pytest.mark.parametrize("argument", [{"part": "a"}, {"setup": "1"}, {"heading": "words"}])
def test_arguments_of_tables_are_refused_for_json(
    asked: Callable[..., Any], argument: dict[str, str]
) -> None:
    answer = asked("settings", **argument)
    assert answer.status_code == 422
    assert [e["field"] for e in answer.json["errors"]] == list(argument)


def test_settings_as_csv_has_a_row_for_each_pass(asked: Callable[..., Any]) -> None:
    answer = asked("settings", shape="csv")
    assert answer.content_type == "text/csv; charset=utf-8; header=present"
    head, *rows = answer.text.split("\r\n")
    assert head == SETTINGS
    assert rows[-1] == ""
    assert "\n" not in answer.text.replace("\r\n", "")
    read = list(csv.DictReader(io.StringIO(answer.text, newline="")))
    expected = [
        (p["part"], n, setup["swivel_deg"], c, cut["left_mm"], i, one["travel_mm"], one["turns"])
        for p in asked("settings").json["parts"]
        for n, setup in enumerate(p["setups"], 1)
        for c, cut in enumerate(setup["cuts"], 1)
        for i, one in enumerate(cut["passes"], 1)
    ]
    columns = ("part", "setup", "swivel_deg", "cut", "left_mm", "pass", "travel_mm", "turns")
    # A setup that only trims has one row, without a cut.
    trims = [row for row in read if not row["cut"]]
    bare = [s for p in asked("settings").json["parts"] for s in p["setups"] if not s["cuts"]]
    assert [float(row["swivel_deg"]) for row in trims] == [s["swivel_deg"] for s in bare]
    read = [row for row in read if row["cut"]]
    assert len(read) == len(expected)
    assert len(expected) > 1 or trims
    for row, values in zip(read, expected, strict=True):
        assert [row[c] for c in columns] == [values[0], *(repr(v) for v in values[1:])]


def test_feasibility_as_csv_has_a_row_for_each_check(asked: Callable[..., Any]) -> None:
    text = asked("feasibility", shape="csv").text
    assert text.split("\r\n")[0] == FEASIBILITY
    read = list(csv.DictReader(io.StringIO(text, newline="")))
    checks = asked("feasibility").json["checks"]
    assert [(r["part"], r["check"], r["status"]) for r in read] == [
        (c["part"], c["name"], c["status"]) for c in checks
    ]
    assert [float(r["margin"]) for r in read] == [c["margin"] for c in checks]
    assert [r["setup"] for r in read] == [str(c.get("setup", "")) for c in checks]


def test_the_cuts_name_scale_figures_tolerances_and_heights(asked: Callable[..., Any]) -> None:
    text = asked("settings", shape="csv").text
    read = list(csv.DictReader(io.StringIO(text, newline="")))
    answer = asked("settings").json
    setups = {(p["part"], str(n)): s for p in answer["parts"] for n, s in enumerate(p["setups"], 1)}
    for row in read:
        setup = setups[row["part"], row["setup"]]
        heights = setup["cutter_height_mm"]
        assert float(row["scale_tilt_deg"]) == setup["scale_tilt_deg"]
        assert float(row["swivel_needed_deg"]) == setup["closing"]["swivel_needed_deg"]
        assert float(row["trim_height_mm"]) == heights["trim"]
        if row["cut"]:
            assert float(row["height_mm"]) == heights["trim"] + float(row["depth_mm"])
        assert row["edition"] == f"sha256 {answer['edition']}"


def test_the_table_with_tabs_has_the_best_aids_and_headings_in_words(
    asked: Callable[..., Any],
) -> None:
    answer = asked("settings", shape="tsv", heading="words")
    kind = "text/tab-separated-values; charset=utf-8; header=present"
    assert answer.content_type == kind
    head, *rows = [line.split("\t") for line in answer.text.split("\n")]
    assert "_" not in "".join(head)
    assert {"how to set the tilt", "cutter height for the cut (mm)", "turns"} <= set(head)
    (*_,), plain = rows, asked("settings").json
    aids = [a for a in plain["parts"][0]["setups"][0]["aids"] if a["axis"] == "tilt"]
    # Listed best first, as the aids' own tests hold.
    assert rows[0][head.index("how to set the tilt")] == aids[0]["says"]
    checks = asked("feasibility", shape="tsv").text.split("\n")
    assert checks[0].split("\t")[8:10] == ["because", "remedy"]


def test_csv_of_one_part_and_setup(asked: Callable[..., Any]) -> None:
    rows = asked("settings", shape="csv").text.split("\r\n")[1:-1]
    part, setup = rows[-1].split(",")[:2]
    some = asked("settings", shape="csv", part=part, setup=setup).text.split("\r\n")[1:-1]
    assert some == [r for r in rows if r.startswith(f"{part},{setup},")]
    for name, value in (("part", "nobody"), ("setup", "99")):
        answer = asked("settings", shape="csv", **{name: value})
        assert answer.status_code == 422
        assert [e["field"] for e in answer.json["errors"]] == [name]


def test_a_cell_of_csv_is_a_number_or_a_harmless_word(asked: Callable[..., Any]) -> None:
    number = r"-?[0-9]+(\.[0-9]+)?(e[+-]?[0-9]+)?"
    for want in ("settings", "feasibility"):
        for row in asked(want, shape="csv").text.split("\r\n")[1:-1]:
            for cell in row.split(","):
                assert re.fullmatch(rf"{number}|[A-Za-z%][A-Za-z0-9_% ]*|", cell), cell


def test_csv_cannot_be_made_to_hold_a_formula(
    slotted: Callable[..., type[JointType]], serving: Callable[..., FlaskClient], edition: str
) -> None:
    """A spreadsheet evaluates a cell that begins with =, quoted or not."""
    from jointgeo.joints.check import at_least

    name = '=HYPERLINK("http://x","y")\r\n3/4'
    cls = slotted(checks=lambda _: (at_least(name, 1, 0, "mm", "because"),))
    client = serving(cls)
    text = client.get("/v1/joint-types/slotted/feasibility?fixture=porch&shape=csv").text
    last = text.split("\r\n")[-2]
    assert last == f",,_HYPERLINK_http_x_y_3_4,1.0,0.0,1.0,mm,pass,porch,sha256 {edition}"


def test_no_text_of_the_callers_is_in_a_table(
    client: FlaskClient, examples: dict[str, dict[str, Any]]
) -> None:
    name = TYPES[0]
    flat = {**examples[name], "fixture": "porch", "shape": "csv", "nocache": "=1+1"}
    text = client.get(f"/v1/joint-types/{name}/settings", query_string=flat).text
    assert "=1+1" not in text


def test_cell_mode_tells_every_error_in_the_cell(
    client: FlaskClient, examples: dict[str, dict[str, Any]]
) -> None:
    name = "splayed_bridle"
    flat = {**examples[name], "fixture": "porch", "cells": "1"}
    url = f"/v1/joint-types/{name}/settings"
    for wrong, says in (
        ({**flat, "leg_width_mm": "wide"}, "# leg_width_mm is not a number; given 'wide'"),
        ({**flat, "fixture": "../porch"}, "# fixture is not the name of a known fixture"),
        ({**flat, "colour": "red"}, "# colour is not a known name; given 'red'; allowed: one of "),
        (
            {**{k: v for k, v in flat.items() if k != "splay_along_deg"}, "splay_along": "12"},
            "# splay_along is not a known name; did you mean splay_along_deg?; given '12'; allowed",
        ),
        (
            {**{k: v for k, v in flat.items() if k != "leg_width_mm"}, "leg_width_cm": "6"},
            "# leg_width_cm is in a unit that is not taken here; given '6'; allowed: leg_width_in "
            "or leg_width_mm",
        ),
        ({"cells": "1", "x": "y" * 9000}, "# URL is too long"),
        ({**flat, "leg_width_mm": "0"}, "# leg_width_mm is too small; given 0; allowed: a number"),
    ):
        for method in (client.get, client.head):
            answer = method(url, query_string=wrong)
            assert answer.status_code == 200
            assert answer.content_type == "text/plain; charset=utf-8"
        answer = client.get(url, query_string=wrong)
        assert answer.text.startswith(says)
        assert len(answer.text) <= 200
        assert "\n" not in answer.text
        assert (
            "more error" not in answer.text
        )  # a slip is one mistake, and what it means not missed
    unknown = client.get("/v1/joint-types/nothing/settings?cells=1")
    assert (unknown.status_code, unknown.text[:2]) == (200, "# ")
    assert client.get(url, query_string={**flat, "cells": "0", "x": "1"}).status_code == 422
    values = f"/v1/joint-types/{name}/values"
    astray = client.get(values, query_string={**flat, "pick": "leg.9.x"})
    assert (astray.status_code, astray.text[:25]) == (200, "# pick leads nowhere at '")
    assert client.get(values, query_string={**flat, "pick": "fixture"}).text == "porch"


def test_cell_mode_is_for_cells_only(client: FlaskClient) -> None:
    """Where no query is read, the argument is unknown, and POST has no cell."""
    assert client.get("/v1/fixtures?cells=1").status_code == 422
    assert client.get("/v1/nowhere?cells=1").status_code == 404
    posted = client.post(f"/v1/joint-types/{TYPES[0]}/settings?cells=1", json={})
    assert posted.status_code == 422
    assert posted.mimetype == "application/problem+json"


def test_nocache_changes_nothing(asked: Callable[..., Any]) -> None:
    assert asked("settings").data == asked("settings", nocache="0.123").data


def test_head_and_options_as_a_spreadsheet_sends_them(
    client: FlaskClient, examples: dict[str, dict[str, Any]]
) -> None:
    """Each formula sends OPTIONS, HEAD and GET with the whole query string."""
    flat = {**examples[TYPES[0]], "fixture": "porch", "shape": "csv"}
    url = f"/v1/joint-types/{TYPES[0]}/settings"
    options = client.options(url, query_string=flat)
    head = client.head(url, query_string=flat)
    got = client.get(url, query_string=flat)
    assert options.status_code == head.status_code == got.status_code == 200
    assert set(options.headers["Allow"].split(", ")) == {"GET", "HEAD", "POST", "OPTIONS"}
    assert head.data == b""
    assert head.headers["Content-Type"] == got.headers["Content-Type"]
    assert head.headers["Content-Length"] == str(len(got.data))
