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
    "part,setup,swivel_deg,tilt_deg,packing_deg,trim_mm,overhang_mm,cut,left_mm,right_mm,"
    "depth_mm,pass,travel_mm,turns,divisions"
)
FEASIBILITY = "part,setup,check,value,limit,margin,unit,status"


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


def test_a_value_is_the_number_in_the_json_and_nothing_else(asked: Callable[..., Any]) -> None:
    setup = asked("settings").json["parts"][0]["setups"][0]
    for name in ("swivel_deg", "tilt_deg", "packing_deg", "trim_mm"):
        answer = asked("settings", shape="value", pick=f"parts.0.setups.0.{name}")
        assert answer.status_code == 200
        assert answer.mimetype == "text/plain"
        assert answer.text == repr(setup[name])


def test_every_scalar_of_an_answer_can_be_picked(asked: Callable[..., Any]) -> None:
    answer = asked("feasibility").json
    assert asked("feasibility", shape="value", pick="status").text == answer["status"]
    assert asked("feasibility", shape="value", pick="feasible").text in ("true", "false")
    last = len(answer["checks"]) - 1
    text = asked("feasibility", shape="value", pick=f"checks.{last}.margin").text
    assert float(text) == answer["checks"][last]["margin"]


def test_an_item_is_entered_by_its_name_where_that_is_plain(asked: Callable[..., Any]) -> None:
    checks = asked("feasibility").json["checks"]
    names = [c["name"] for c in checks]
    for check in checks:
        name = check["name"]
        more = {"part": check["part"]} if check["part"] else {}
        more |= {"setup": check["setup"]} if "setup" in check else {}
        answer = asked("feasibility", shape="value", pick=f"checks.{name}.margin", **more)
        if check["part"] or names.count(name) == 1:
            assert answer.text == repr(check["margin"]), name
        if names.count(name) > 1:
            vague = asked("feasibility", shape="value", pick=f"checks.{name}.margin")
            assert vague.status_code == 422
            assert "ambiguous" in vague.json["errors"][0]["message"]


def test_a_part_is_entered_by_its_name(asked: Callable[..., Any]) -> None:
    part = asked("settings").json["parts"][0]
    text = asked("settings", shape="value", pick=f"parts.{part['part']}.stock.width_mm").text
    assert text == repr(part["stock"]["width_mm"])


def test_null_is_an_empty_text(client: FlaskClient, examples: dict[str, dict[str, Any]]) -> None:
    """A setup that needs no wedge has ``packing`` null."""
    flat = {**examples["splayed_bridle"], "fixture": "porch", "shape": "value"}
    url = "/v1/joint-types/splayed_bridle/settings"
    answer = client.get(url, query_string={**flat, "pick": "parts.leg.setups.0.packing"})
    assert answer.status_code == 200
    assert answer.data == b""


@pytest.mark.parametrize(
    ("pick", "says"),
    [
        ("parts", "single value"),
        ("parts.0", "single value"),
        ("parts.99.part", "leads nowhere"),
        ("parts.-1.part", "leads nowhere"),
        ("parts.nobody.part", "leads nowhere"),
        ("parts..part", "leads nowhere"),
        ("parts.0.part.x", "leads nowhere"),
        ("__class__", "leads nowhere"),
        ("parts.٠.part", "leads nowhere"),
        ("x" * 201, "short line"),
    ],
)
def test_a_path_that_leads_nowhere_says_where(
    asked: Callable[..., Any], pick: str, says: str
) -> None:
    answer = asked("settings", shape="value", pick=pick)
    assert answer.status_code == 422
    (error,) = answer.json["errors"]
    assert error["field"] == "pick"
    assert says in error["message"]
    assert error["allowed"]


def test_arguments_of_other_shapes_are_refused(asked: Callable[..., Any]) -> None:
    for more, field in (
        ({"shape": "value"}, "pick"),
        ({"pick": "status"}, "pick"),
        ({"shape": "csv", "pick": "status"}, "pick"),
        ({"part": "leg"}, "part"),
        ({"setup": "1"}, "setup"),
        ({"shape": "xml"}, "shape"),
        ({"cells": "yes"}, "cells"),
        ({"hand": "left"}, "hand"),
    ):
        answer = asked("settings", **more)
        assert answer.status_code == 422
        assert [e["field"] for e in answer.json["errors"]] == [field]


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
    assert len(read) == len(expected) > 1
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
    slotted: Callable[..., type[JointType]], serving: Callable[..., FlaskClient]
) -> None:
    """A spreadsheet evaluates a cell that begins with =, quoted or not."""
    from jointgeo.joints.check import at_least

    name = '=HYPERLINK("http://x","y")\r\n3/4'
    cls = slotted(checks=lambda _: (at_least(name, 1, 0, "mm", "because"),))
    client = serving(cls)
    text = client.get("/v1/joint-types/slotted/feasibility?fixture=porch&shape=csv").text
    last = text.split("\r\n")[-2]
    assert last == ",,_HYPERLINK_http_x_y_3_4,1.0,0.0,1.0,mm,pass"


def test_no_text_of_the_callers_is_in_a_table(
    client: FlaskClient, examples: dict[str, dict[str, Any]]
) -> None:
    name = TYPES[0]
    flat = {**examples[name], "fixture": "porch", "shape": "csv", "nocache": "=1+1"}
    text = client.get(f"/v1/joint-types/{name}/settings", query_string=flat).text
    assert "=1+1" not in text
    assert "porch" not in text


def test_cell_mode_tells_every_error_in_the_cell(
    client: FlaskClient, examples: dict[str, dict[str, Any]]
) -> None:
    name = "splayed_bridle"
    flat = {**examples[name], "fixture": "porch", "cells": "1"}
    url = f"/v1/joint-types/{name}/settings"
    for wrong, says in (
        ({**flat, "leg_width_mm": "wide"}, "# leg_width_mm is not a number; given 'wide'"),
        ({**flat, "fixture": "../porch"}, "# fixture is not the name of a known fixture"),
        ({**flat, "colour": "red"}, "# colour is not a known name"),
        ({**flat, "shape": "value", "pick": "parts.9"}, "# pick leads nowhere at '9'"),
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
    unknown = client.get("/v1/joint-types/nothing/settings?cells=1")
    assert (unknown.status_code, unknown.text[:2]) == (200, "# ")
    assert client.get(url, query_string={**flat, "cells": "0", "x": "1"}).status_code == 422
    right = client.get(url, query_string={**flat, "shape": "value", "pick": "fixture"})
    assert right.text == "porch"


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
