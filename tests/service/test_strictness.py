"""Doubtful input is refused by name: each trap of JSON, of query strings and of HTTP."""

from __future__ import annotations

import json
from typing import Any

import pytest
from flask.testing import FlaskClient

import jointgeo

NAME = "splayed_bridle"
URL = f"/v1/joint-types/{NAME}/settings"
FIELD = "leg_width_mm"


@pytest.fixture
def joint(examples: dict[str, dict[str, Any]]) -> dict[str, Any]:
    return dict(examples[NAME])


def _post(client: FlaskClient, joint: dict[str, Any], written: str) -> Any:
    """Posts the joint with ``written``, as it stands, for the value of FIELD."""
    body = json.dumps({"joint": {**joint, FIELD: "@"}, "fixture": "porch"}).replace('"@"', written)
    return client.post(URL, data=body, content_type="application/json")


def _refused(answer: Any, status: int = 422) -> list[dict[str, Any]]:
    assert answer.status_code == status, answer.text
    assert answer.mimetype == "application/problem+json"
    problem = answer.json
    assert problem["status"] == status
    assert problem["type"]
    assert problem["title"]
    assert problem["detail"]
    errors: list[dict[str, Any]] = problem["errors"]
    return errors


@pytest.mark.parametrize(
    "written",
    [
        "true", "false", "null", '"66"', '"1.5"', '" 1_0 "', '"٦٦"', "[]", "[66]", "{}",
        "NaN", "Infinity", "-Infinity", "1e999", "-1e999", "9" * 5000, "-" + "9" * 5000,
        "1" * 401, "0." + "1" * 5000, "1e" + "9" * 5000, "[" * 500 + "]" * 500, '"\\ud800"',
        "0", "-1", "500.0000001", "1e300", '"' + "x" * 10_000 + '"',
    ],
    ids=lambda text: text[:12],
)  # fmt: skip
def test_no_number_is_made_of_what_is_none(
    client: FlaskClient, joint: dict[str, Any], written: str
) -> None:
    (error,) = _refused(_post(client, joint, written))
    assert error["field"] == f"joint.{FIELD}"
    # What was given is shown, and shortened, since it may be a megabyte.
    assert error["given"]
    assert len(error["given"]) <= 60
    assert error["allowed"] == "a number at least 0.1 mm and at most 500 mm"
    assert error["unit"] == "mm"


@pytest.mark.parametrize("written", ["66", "66.0", "6.6e1", "660E-1", "66." + "0" * 390])
def test_a_number_may_be_written_in_every_way_of_json(
    client: FlaskClient, joint: dict[str, Any], written: str
) -> None:
    answer = _post(client, joint, written)
    assert answer.status_code == 200
    assert answer.json["parts"][0]["stock"]["width_mm"] == 66.0


@pytest.mark.parametrize("written", ["true", "7.5", '"7"', "NaN", "9" * 5000, "1e400", "-1"])
def test_no_count_is_made_of_what_is_none(
    client: FlaskClient, examples: dict[str, dict[str, Any]], written: str
) -> None:
    """The range of finger_count stands on its field; 2 to some hundred is the sense of it."""
    joint = {**examples["angled_box_joint"], "finger_count": "@"}
    body = json.dumps({"joint": joint, "fixture": "porch"}).replace('"@"', written)
    url = "/v1/joint-types/angled_box_joint/settings"
    answer = client.post(url, data=body, content_type="application/json")
    (error,) = _refused(answer)
    assert error["field"] == "joint.finger_count"


def test_the_number_of_fingers_is_limited_by_its_own_field(
    client: FlaskClient, examples: dict[str, dict[str, Any]]
) -> None:
    from jointgeo.schema.fields import describe

    cls = jointgeo.joint_type("angled_box_joint")
    most = next(i.high for i in describe(cls) if i.name == "finger_count")
    assert most is not None
    for count, status in ((int(most), 200), (int(most) + 1, 422), (10**9, 422)):
        joint = {**examples["angled_box_joint"], "finger_count": count, "fit_mm": 0.0}
        url = "/v1/joint-types/angled_box_joint/settings"
        answer = client.post(url, json={"joint": joint, "fixture": "porch"})
        assert answer.status_code == status, count


def test_a_name_given_twice_is_refused_wherever_it_lies(
    client: FlaskClient, joint: dict[str, Any]
) -> None:
    """The usual reader lets the last one win."""
    written = json.dumps(joint)
    doubled = written[:-1] + f', "{FIELD}": 70}}'
    for body, field in (
        (f'{{"joint": {doubled}, "fixture": "porch"}}', f"joint.{FIELD}"),
        (f'{{"joint": {written}, "fixture": "porch", "fixture": "porch"}}', "fixture"),
        (f'{{"joint": {written}, "fixture": {{"tilt": {{"a": 1, "a": 1}}}}}}', "fixture.tilt.a"),
        (
            f'{{"joint": {written}, "fixture": {{"body": [{{"a": 1, "a": 1}}]}}}}',
            "fixture.body[0].a",
        ),
        (f'{{"joint": {written}, "fixture": "porch", "x": [[{{"a": 1, "a": 1}}]]}}', "x[0][0].a"),
    ):
        errors = _refused(client.post(URL, data=body, content_type="application/json"))
        assert [e["field"] for e in errors] == [field]
        assert "more than once" in errors[0]["message"]


@pytest.mark.parametrize(
    ("body", "says"),
    [
        (b"", "is not JSON"),
        (b"{", "is not JSON"),
        (b'{"joint": }', "line 1, column 11"),
        (b"{} {}", "is not JSON"),
        (b"{'joint': 1}", "is not JSON"),
        (b'{"joint": 1,}', "is not JSON"),
        (b'{"joint": 01}', "is not JSON"),
        (b'{"joint": +1}', "is not JSON"),
        (b'{"joint": .5}', "is not JSON"),
        (b'{"joint": "\xff"}', "is not UTF-8 at byte 11"),
        ('{"joint": 1}'.encode("utf-16"), "is not UTF-8"),
        (b"[" * 100_000, "nested too deeply"),
        (b'{"a":' * 100_000, "nested too deeply"),
        (b"[" * 100_000 + b"]" * 100_000, "nested too deeply"),
    ],
    ids=lambda value: str(value)[:20],
)
def test_what_is_no_json_is_a_bad_request(client: FlaskClient, body: bytes, says: str) -> None:
    answer = client.post(URL, data=body, content_type="application/json")
    (error,) = _refused(answer, 400)
    assert error["field"] == "body"
    assert says in error["message"]


@pytest.mark.parametrize("body", ["[]", "1", '"x"', "null", "true", "NaN", "9" * 5000])
def test_a_body_that_is_no_table_is_refused(client: FlaskClient, body: str) -> None:
    (error,) = _refused(client.post(URL, data=body, content_type="application/json"))
    assert error["field"] == "body"


def test_a_mark_of_byte_order_is_no_error(client: FlaskClient, joint: dict[str, Any]) -> None:
    """Office macros put one in front of UTF-8; RFC 8259, section 8.1, lets a reader skip it."""
    body = b"\xef\xbb\xbf" + json.dumps({"joint": joint, "fixture": "porch"}).encode()
    assert client.post(URL, data=body, content_type="application/json").status_code == 200


@pytest.mark.parametrize(
    "kind",
    [
        None, "text/plain", "application/x-www-form-urlencoded", "multipart/form-data",
        "text/json", "application/xml", "application/problem+json", "json", "*/*",
    ],
)  # fmt: skip
def test_another_content_type_is_named(
    client: FlaskClient, joint: dict[str, Any], kind: str | None
) -> None:
    body = json.dumps({"joint": joint, "fixture": "porch"})
    (error,) = _refused(client.post(URL, data=body, content_type=kind), 415)
    assert error["field"] == "Content-Type"
    assert error["allowed"] == "application/json"
    right = client.post(URL, data=body, content_type="application/json; charset=utf-8")
    assert right.status_code == 200


def test_everything_wrong_is_told_at_once(client: FlaskClient, joint: dict[str, Any]) -> None:
    del joint["rail_depth_mm"]
    wrong = {**joint, FIELD: True, "colour": "red", "rail_length_in": 4}
    question = {"joint": wrong, "fixture": "none", "hand": "left", "colour": "red"}
    errors = _refused(client.post(URL, json=question))
    assert {e["field"] for e in errors} == {
        "joint.leg_width_mm", "joint.colour", "joint.rail_depth_mm", "joint.rail_length_mm",
        "fixture", "hand", "colour",
    }  # fmt: skip
    flat = {**wrong, "fixture": "none", "hand": "left", "shape": "xml"}
    errors = _refused(client.get(URL, query_string=flat))
    assert {e["field"] for e in errors} == {
        "leg_width_mm", "colour", "rail_depth_mm", "rail_length_mm", "fixture", "hand", "shape",
    }  # fmt: skip


def test_what_is_missing_is_named(client: FlaskClient) -> None:
    assert {e["field"] for e in _refused(client.post(URL, json={}))} == {"joint", "fixture"}
    nulls = {"joint": None, "fixture": None, "hand": None}
    assert {e["field"] for e in _refused(client.post(URL, json=nulls))} == set(nulls)
    missing = {e["field"] for e in _refused(client.get(URL))}
    assert {"fixture", "leg_width_mm", "splay_along_deg"} <= missing


@pytest.mark.parametrize("fixture", [1, True, [], ["porch"], 1.5])
def test_a_fixture_is_a_name_or_a_table(
    client: FlaskClient, joint: dict[str, Any], fixture: object
) -> None:
    (error,) = _refused(client.post(URL, json={"joint": joint, "fixture": fixture}))
    assert error["field"] == "fixture"


def test_a_whole_fixture_is_read_strictly_too(client: FlaskClient, joint: dict[str, Any]) -> None:
    whole = client.get("/v1/fixtures/porch").json
    assert whole is not None
    whole["tilt"]["max_deg"] = True
    whole["cutter"][1]["kerf_mm"] = "3.2"
    whole["swivel"]["colour"] = "red"
    del whole["plate"]
    errors = _refused(client.post(URL, json={"joint": joint, "fixture": whole}))
    assert {e["field"] for e in errors} == {
        "fixture.tilt.max_deg", "fixture.cutter[1].kerf_mm", "fixture.swivel.colour",
        "fixture.plate",
    }  # fmt: skip


@pytest.mark.parametrize(
    "text",
    [
        "", " ", " 66", "66 ", "+66", "6_6", " 1_0 ", "٦٦", "６６", "0x42", "66,5", "66.", ".66",
        "066", "nan", "NaN", "inf", "Infinity", "1e999", "true", "66mm", "2 1/2", "6e", "--66",
        "9" * 5000, "[66]", "66\n", "6\x006",
    ],
    ids=lambda text: repr(text)[:14],
)  # fmt: skip
def test_no_number_is_made_of_a_text_in_a_query(
    client: FlaskClient, joint: dict[str, Any], text: str
) -> None:
    """float() takes " 1_0 ", Arabic digits and nan."""
    flat = {**joint, "fixture": "porch", FIELD: text}
    (error,) = _refused(client.get(URL, query_string=flat))
    assert error["field"] == FIELD


@pytest.mark.parametrize("text", ["66", "66.0", "6.6e1", "660E-1", "6.6e+1"])
def test_a_number_in_a_query_is_written_as_in_json(
    client: FlaskClient, joint: dict[str, Any], text: str
) -> None:
    flat = {**joint, "fixture": "porch", FIELD: text}
    answer = client.get(
        URL.replace("settings", "values"), query_string={**flat, "pick": "leg.stock.width_mm"}
    )
    assert answer.text == "66.0"


def test_an_argument_given_twice_is_refused(client: FlaskClient, joint: dict[str, Any]) -> None:
    """The usual reader lets the first one win."""
    for name in (FIELD, "fixture", "hand", "shape", "nocache"):
        pairs = [*joint.items(), ("fixture", "porch"), (name, "66"), (name, "66")]
        errors = _refused(client.get(URL, query_string=pairs))
        assert name in {e["field"] for e in errors if "more than once" in e["message"]}


def test_an_unknown_argument_is_refused_and_the_known_ones_told(
    client: FlaskClient, joint: dict[str, Any]
) -> None:
    flat = {**joint, "fixture": "porch", "shpae": "csv"}
    (error,) = _refused(client.get(URL, query_string=flat))
    assert error["field"] == "shpae"
    told = {word.strip(",") for word in error["allowed"].split()}
    assert {"shape", "heading", FIELD, "leg_width_in"} <= told
    for url in ("/healthz", "/v1/joint-types", "/v1/fixtures", "/openapi.json", "/docs"):
        (error,) = _refused(client.get(f"{url}?colour=red"))
        assert error["field"] == "colour"
    question = {"joint": joint, "fixture": "porch"}
    (error,) = _refused(client.post(f"{URL}?shape=csv", json=question))
    assert error["field"] == "shape"


def test_another_method_is_told_the_right_ones(client: FlaskClient) -> None:
    for url, allowed in (
        ("/v1/batch", {"POST", "OPTIONS"}),
        ("/v1/fixtures", {"GET", "HEAD", "OPTIONS"}),
        (URL, {"GET", "HEAD", "OPTIONS", "POST"}),
        ("/docs", {"GET", "HEAD", "OPTIONS"}),
    ):
        for method in ("PUT", "DELETE", "PATCH", "TRACE", "PROPFIND"):
            answer = client.open(url, method=method)
            assert answer.status_code == 405
            assert answer.mimetype == "application/problem+json"
            assert set(answer.headers["Allow"].split(", ")) == allowed


@pytest.mark.parametrize(
    "url", ["/no-such-page", "/v1", "/v1/", "/v1/batch/", "/v1//fixtures", "/static/x", "/%ff"]
)
def test_an_unknown_url_is_not_found_and_not_redirected(client: FlaskClient, url: str) -> None:
    answer = client.get(url)
    assert answer.status_code == 404
    assert answer.mimetype == "application/problem+json"


def test_names_that_cannot_be_printed_do_no_harm(
    client: FlaskClient, joint: dict[str, Any]
) -> None:
    for name in ("\ud800", "\x00", "\u202e", "a\r\nSet-Cookie: x", "x" * 10_000):
        body = json.dumps({"joint": {**joint, name: 1}, "fixture": "porch"})
        (error,) = _refused(client.post(URL, data=body, content_type="application/json"))
        assert error["field"].isprintable()
        assert len(error["field"]) < 100


def test_the_answer_may_not_be_guessed_to_be_something_else(client: FlaskClient) -> None:
    for url in ("/healthz", "/docs", "/v1/nowhere"):
        assert client.get(url).headers["X-Content-Type-Options"] == "nosniff"


@pytest.mark.parametrize(
    ("beams", "bodies", "status"), [(20, 20, 200), (21, 20, 422), (400, 2, 422)]
)
def test_work_is_bounded_before_it_is_begun(
    client: FlaskClient, examples: dict[str, dict[str, Any]], beams: int, bodies: int, status: int
) -> None:
    """Each pair of a front beam and a body is looked at: their product is bounded, by name."""
    plain = client.get("/v1/fixtures/porch").json
    assert plain is not None
    name = min(examples)
    for field, count in (("front_beam", beams), ("body", bodies)):
        plain[field] = [{**plain[field][0], "name": f"{field} {i}"} for i in range(count)]
    answer = client.post(
        f"/v1/joint-types/{name}/settings", json={"joint": examples[name], "fixture": plain}
    )
    assert answer.status_code == status
    if status == 422:
        assert answer.json is not None
        (error,) = answer.json["errors"]
        assert error["field"] == "fixture.body"
        assert error["allowed"] == "at most 400 front beams times bodies"
        assert f"{beams} times {bodies}" in error["given"]
