"""Single values by paths that count as paper does, against the JSON of the same joint."""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any
from urllib.parse import parse_qsl

import pytest
from flask.testing import FlaskClient

import jointgeo
from jointgeo.joints.check import at_least, not_stated
from jointgeo.joints.joint_type import JointType
from jointgeo_service.cell_views import query_pairs
from jointgeo_service.shapes import cell_text

TYPES = sorted(jointgeo.joint_types())
Ask = Callable[..., Any]


@pytest.fixture(params=TYPES)
def asked(
    request: pytest.FixtureRequest, client: FlaskClient, examples: dict[str, dict[str, Any]]
) -> Ask:
    """Asks one joint type's example by GET, with further arguments."""
    name = request.param

    def ask(below: str, **more: Any) -> Any:
        flat = {**examples[name], "fixture": "porch", **more}
        return client.get(f"/v1/joint-types/{name}/{below}", query_string=flat)

    return ask


def test_a_value_is_the_number_in_the_json_and_nothing_else(asked: Ask) -> None:
    for part in asked("settings").json["parts"]:
        for number, setup in enumerate(part["setups"], 1):
            for name in ("swivel_deg", "tilt_deg", "packing_deg", "trim_mm"):
                answer = asked("values", pick=f"{part['part']}.{number}.{name}")
                assert answer.status_code == 200
                assert answer.mimetype == "text/plain"
                assert answer.text == repr(setup[name])


def test_several_values_come_in_the_order_they_were_asked_for(asked: Ask) -> None:
    settings, checks = asked("settings").json, asked("feasibility").json
    part = next(p for p in settings["parts"] if p["setups"])
    name, box = part["part"], part["setups"][0]["cutter_height_mm"]
    picks = ["status", f"{name}.1.cutter_height_mm.trim_steps.1", f"{name}.stock.length_mm",
             "feasible", f"{name}.1.against_plate", f"{name}.1.packing", "fixture"]  # fmt: skip
    packing = "" if part["setups"][0]["packing"] is None else None
    given = asked("values", pick=picks)
    if packing is None:  # this one needs a wedge, which is no single value
        assert given.status_code == 422
        picks.remove(f"{name}.1.packing")
        given = asked("values", pick=picks)
    expected = [
        checks["status"],
        repr(box["trim_steps"][0]),
        repr(part["stock"]["length_mm"]),
        "true" if checks["feasible"] else "false",
        part["setups"][0]["against_plate"],
        *([""] if packing is not None else []),
        "porch",
    ]
    assert given.text.split("\t") == expected


def test_every_path_that_is_listed_can_be_asked_and_means_something(asked: Ask) -> None:
    listed = asked("paths").json
    told = listed["paths"]
    assert len(told) > 200
    assert (listed["fixture"], told[0]["path"], told[0]["value"]) == ("porch", "fixture", "porch")
    assert [one["path"] for one in told if not one["meaning"]] == []
    for at in range(0, len(told), 20):
        some = told[at : at + 20]
        given = asked("values", pick=[one["path"] for one in some])
        assert given.text.split("\t") == [cell_text(one["value"]) for one in some]
    rows = [line.split("\t") for line in asked("paths", shape="tsv").text.split("\n")]
    assert rows[0] == ["path", "value", "meaning"]
    assert [row[0] for row in rows[1:]] == [one["path"] for one in told]


def test_a_check_of_which_there_are_several_answers_with_the_worst(asked: Ask) -> None:
    checks = asked("feasibility").json["checks"]
    for check in checks:
        alike = [
            c
            for c in checks
            if (c["name"], c["part"], c.get("setup"))
            == (check["name"], check["part"], check.get("setup"))
        ]
        where = [check["part"]] if check["part"] else []
        where += [str(check["setup"])] if "setup" in check else []
        pick = ".".join([*where, "checks", check["name"], "margin"])
        if not check["part"]:
            assert where == []
        given = asked("values", pick=pick)
        assert float(given.text) == min(c["margin"] for c in alike), pick


def test_of_two_checks_alike_the_one_with_less_room_answers(
    slotted: Callable[..., type[JointType]], serving: Callable[..., FlaskClient]
) -> None:
    """As of two beams: the first need not be the nearer, and one not stated is no pass."""
    room = [at_least("room", v, 0, "mm", "because") for v in (5, 1, 3)]
    open_one = not_stated("feed", 1.0, "mm", ["feed.sense"], "which way")
    own = (*room, at_least("feed", 9, 0, "mm", "because"), open_one)
    client = serving(slotted(checks=lambda _: own))
    picks = ["checks.room.margin", "checks.feed.status"]
    flat = {"fixture": "porch", "pick": picks}
    given = client.get("/v1/joint-types/slotted/values", query_string=flat)
    assert given.text == "1.0\tnot_stated"


def test_what_to_look_at_first_is_the_first_of_the_worst(asked: Ask) -> None:
    answer = asked("feasibility").json
    wanted = [c for c in answer["checks"] if c["status"] == answer["status"]]
    given = asked("values", pick=["trouble.name", "trouble.because", "trouble.remedy"]).text
    name, because, remedy = given.split("\t")
    if answer["status"] == "pass":
        assert (name, because, remedy) == ("", "", "")
    else:
        assert name == wanted[0]["name"]
        assert because == cell_text(wanted[0]["because"])
        assert remedy == cell_text(wanted[0]["remedies"][0]["says"]) or not wanted[0]["remedies"]


@pytest.mark.parametrize(
    ("pick", "says"),
    [
        ("{0}", "single value"), ("{0}.1", "single value"), ("{0}.1.cuts", "single value"),
        ("{0}.0.swivel_deg", "leads nowhere"), ("{0}.99.swivel_deg", "leads nowhere"),
        ("{0}.-1.swivel_deg", "leads nowhere"), ("{0}.1.cuts.0.left_mm", "leads nowhere"),
        ("{0}.01.swivel_deg", "leads nowhere"), ("nobody.1.swivel_deg", "leads nowhere"),
        ("{0}..x", "leads nowhere"), ("{0}.1.cutter.x", "leads nowhere"),
        ("__class__", "leads nowhere"), ("{0}.٠.part", "leads nowhere"),
        ("parts.0.setups.0.swivel_deg", "leads nowhere"), ("x" * 201, "short line"),
    ],
)  # fmt: skip
def test_a_path_that_leads_nowhere_says_where(asked: Ask, pick: str, says: str) -> None:
    part = asked("settings").json["parts"][0]["part"]
    answer = asked("values", pick=pick.format(part))
    assert answer.status_code == 422
    (error,) = answer.json["errors"]
    assert error["field"] == "pick"
    assert says in error["message"]


def test_a_value_without_a_path_or_with_too_many_is_refused(asked: Ask) -> None:
    assert asked("values").json["errors"][0]["field"] == "pick"
    many = asked("values", pick=["status"] * 101)
    assert many.json["errors"][0]["message"] == "is given too often"
    assert asked("values", pick=["status"] * 100).text == "\t".join(
        [asked("feasibility").json["status"]] * 100
    )


def test_a_text_that_begins_like_a_number_is_marked_as_text() -> None:
    """One look must tell them apart: Val() of a macro reads 1 out of the first of these."""
    assert cell_text("1 5/8 in") == "'1 5/8 in"
    assert cell_text("-x") == "'-x"
    assert cell_text("'a") == "''a"
    assert cell_text("a\tb\r\nc") == "a b c"
    assert (cell_text(-1.5), cell_text(None), cell_text(False)) == ("-1.5", "", "false")


def test_one_number_works_out_no_more_than_it_takes(
    client: FlaskClient, examples: dict[str, dict[str, Any]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Neither the aids, which take the longest, nor checks that nobody asks for."""

    def refuse(*_: object) -> None:
        raise AssertionError("worked out though nobody asked")

    monkeypatch.setattr("jointgeo.solution.setup.setting_aids", refuse)
    monkeypatch.setattr("jointgeo.solution.end.accuracy_checks", refuse)
    flat = {**examples["splayed_bridle"], "fixture": "porch", "splay_along_deg": 11.875}
    url = "/v1/joint-types/splayed_bridle/values"
    got = client.get(url, query_string=flat | {"pick": "leg.1.tilt_deg"})
    # The tilt is the lean along the rail, by hand; 1e-9° is rounding.
    assert float(got.text) == pytest.approx(11.875, abs=1e-9)
    assert client.get(url, query_string=flat | {"pick": "status"}).status_code == 500


def test_head_and_options_work_nothing_out_in_cell_mode(
    client: FlaskClient, examples: dict[str, dict[str, Any]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A cell sends them before each GET."""

    def refuse(*_: object) -> None:
        raise AssertionError("worked out for a HEAD")

    flat = {**examples["splayed_bridle"], "fixture": "porch", "pick": "leg.1.tilt_deg"}
    url = "/v1/joint-types/splayed_bridle/values"
    full = client.head(url, query_string=flat)
    got = client.get(url, query_string=flat)
    assert full.headers["Content-Length"] == str(len(got.data))
    monkeypatch.setattr("jointgeo_service.cell_views.picked", refuse)
    for cells in (client.head, client.options):
        answer = cells(url, query_string={**flat, "cells": "1"})
        assert answer.status_code == 200
        assert answer.data == b""
    head = client.head(url, query_string={**flat, "cells": "1"})
    assert head.content_type == got.content_type
    # Its length is known to nobody yet, and so is not told (RFC 9110, 9.3.2).
    assert "Content-Length" not in head.headers


def test_a_query_string_is_read_as_the_standard_library_reads_it() -> None:
    """4,000 random ones of all that matters: signs, codes whole and broken, nothing at all."""
    source = random.Random(5)  # noqa: S311  # it picks letters, no secret
    parts = [
        "a",
        "bc_mm",
        "=",
        "=",
        "&",
        "&",
        "%",
        "%2",
        "%41",
        "%C3%A9",
        "%ff",
        "+",
        ";",
        "1.5",
        "é",
    ]
    for _ in range(4000):
        text = "".join(source.choices(parts, k=source.randrange(12)))
        expected = parse_qsl(text, keep_blank_values=True, errors="replace")
        assert list(query_pairs(text)) == expected, text
