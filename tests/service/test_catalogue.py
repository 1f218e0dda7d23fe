"""Joint types and fixtures as they are listed, and names that are none."""

from __future__ import annotations

import threading

import pytest
from flask.testing import FlaskClient
from jsonschema import Draft202012Validator

import jointgeo
from jointgeo.schema.fields import describe
from jointgeo_service.app import create_app

TYPES = sorted(jointgeo.joint_types())
# What a file server would take for a path, raw and percent-encoded, once and twice.
PATHS = [
    "..", "../porch", "../../etc/passwd", "/etc/passwd", "porch/../porch", "./porch", "porch.toml",
    "..%2Fporch", "%2e%2e%2fporch", "%252e%252e%252fporch", "..\\porch", "C:\\porch.toml",
    "file:///etc/passwd", "porch%00", "porch%00.toml", "%2Fetc%2Fpasswd", "porch ", "PORCH", "~",
]  # fmt: skip


def test_health(client: FlaskClient) -> None:
    answer = client.get("/healthz")
    assert answer.status_code == 200
    assert answer.json == {"status": "ok", "version": "0.1.0"}


def test_every_type_is_listed_as_its_fields_say(client: FlaskClient) -> None:
    answer = client.get("/v1/joint-types").json
    assert answer is not None
    assert [t["name"] for t in answer["joint_types"]] == TYPES
    assert answer["refused"] == []
    for listed in answer["joint_types"]:
        infos = describe(jointgeo.joint_type(listed["name"]))
        assert [p["name"] for p in listed["parameters"]] == [i.name for i in infos]
        for given, info in zip(listed["parameters"], infos, strict=True):
            assert given["description"] == info.help
            assert given["required"] == info.required
            assert given.get("default") == info.default
            assert given.get("x-unit", "") == ("" if info.unit == "1" else info.unit)
            assert given.get("enum", []) == list(info.choices)
            assert given.get("inches", {}).get("name") == info.inches_name
            low = given.get("exclusiveMinimum" if info.above else "minimum")
            if info.kind in ("number", "integer"):
                assert (low, given.get("maximum")) == (info.low, info.high)


def test_a_parameter_is_a_json_schema_that_another_validator_takes(client: FlaskClient) -> None:
    """Reference: jsonschema, a general validator of draft 2020-12. An inch is 25.4 mm
    by definition."""
    answer = client.get("/v1/joint-types/splayed_bridle").json
    assert answer is not None
    every = {p["name"]: p for p in answer["parameters"]}
    for given in every.values():
        # Its own name and whether it must be given are the table's business, not the value's.
        schema = {k: v for k, v in given.items() if k not in ("name", "required", "inches")}
        Draft202012Validator.check_schema(schema)
        check = Draft202012Validator(schema)
        if "maximum" in schema:
            assert check.is_valid(schema["maximum"])
            assert not check.is_valid(schema["maximum"] + 1e-6)
            assert not check.is_valid("1")
    splay = every["splay_along_deg"]
    assert (splay["minimum"], splay["maximum"], splay["x-unit"]) == (-60.0, 60.0, "deg")
    inches = Draft202012Validator({k: v for k, v in every["leg_width_mm"]["inches"].items()
                                   if k != "name"})  # fmt: skip
    assert inches.is_valid("2 1/2")
    assert inches.is_valid(2.5)
    most = every["leg_width_mm"]["maximum"] / 25.4
    assert not inches.is_valid(most + 0.001)


@pytest.mark.parametrize("name", TYPES)
def test_one_type_shows_examples_that_can_be_sent_back(client: FlaskClient, name: str) -> None:
    answer = client.get(f"/v1/joint-types/{name}").json
    assert answer is not None
    assert answer["name"] == name
    assert answer["examples"]
    for example in answer["examples"]:
        question = {"joint": example, "fixture": "porch"}
        assert client.post(f"/v1/joint-types/{name}/settings", json=question).status_code == 200


def test_an_unknown_type_is_not_found(client: FlaskClient) -> None:
    for url in ("", "/settings", "/feasibility"):
        answer = client.get(f"/v1/joint-types/mortise_and_wish{url}")
        assert answer.status_code == 404
        assert answer.mimetype == "application/problem+json"
        assert answer.json is not None
        assert answer.json["errors"][0]["field"] == "joint_type"
    assert client.post("/v1/joint-types/mortise_and_wish/settings", json={}).status_code == 404


def test_a_fixture_is_given_in_the_form_a_question_takes(
    client: FlaskClient, examples: dict[str, dict[str, object]]
) -> None:
    listed = client.get("/v1/fixtures").json
    assert listed is not None
    assert "porch" in [f["name"] for f in listed["fixtures"]]
    assert all(f["title"] for f in listed["fixtures"])
    whole = client.get("/v1/fixtures/porch").json
    url = f"/v1/joint-types/{TYPES[0]}/settings"
    by_name = client.post(url, json={"joint": examples[TYPES[0]], "fixture": "porch"})
    by_value = client.post(url, json={"joint": examples[TYPES[0]], "fixture": whole})
    assert by_name.status_code == by_value.status_code == 200
    # A whole fixture has no file, and so no edition.
    assert by_name.json == by_value.json | {"edition": by_name.json["edition"]}
    assert by_value.json["edition"] is None


@pytest.mark.parametrize("path", PATHS)
def test_a_fixture_is_never_a_path(
    client: FlaskClient, examples: dict[str, dict[str, object]], path: str
) -> None:
    """Nothing that looks like one is opened, wherever a fixture's name may stand."""
    assert 400 <= client.get(f"/v1/fixtures/{path}").status_code < 500
    name = TYPES[0]
    url, joint = f"/v1/joint-types/{name}/settings", examples[name]
    problems = [
        client.post(url, json={"joint": joint, "fixture": path}),
        client.get(url, query_string={**joint, "fixture": path}),
    ]
    item = {"joint_type": name, "want": "settings", "joint": joint, "fixture": path}
    batch = client.post("/v1/batch", json={"items": [item]}).json
    assert batch is not None
    for answer in [*(p.json for p in problems), batch["items"][0]["problem"]]:
        assert answer["status"] == 422
        assert [e["field"] for e in answer["errors"]] == ["fixture"]


@pytest.mark.parametrize(
    "url",
    [
        "/healthz", "/v1/joint-types", f"/v1/joint-types/{TYPES[0]}", "/v1/fixtures",
        "/v1/fixtures/porch", "/openapi.json", "/docs", "/docs/swagger-ui.css",
    ],
)  # fmt: skip
def test_head_and_options_work_where_get_does(client: FlaskClient, url: str) -> None:
    got, head, options = client.get(url), client.head(url), client.options(url)
    assert got.status_code == head.status_code == options.status_code == 200
    assert head.data == b""
    assert head.headers["Content-Length"] == str(len(got.data))
    assert head.mimetype == got.mimetype
    assert {"GET", "HEAD", "OPTIONS"} <= set(options.headers["Allow"].split(", "))


def test_readiness_is_told_apart_from_health() -> None:
    """A service that stops is alive until its last answer, and wants no more questions."""
    stopping = threading.Event()
    client = create_app(stopping=stopping).test_client()
    ready, health = client.get("/readyz").json, client.get("/healthz").json
    assert ready is not None
    assert health is not None
    assert (ready, health["status"]) == ({**health, "status": "ready"}, "ok")
    stopping.set()
    refused = client.get("/readyz")
    assert (refused.status_code, refused.headers["Retry-After"]) == (503, "5")
    assert refused.json is not None
    assert "the service is stopping" in refused.json["detail"]
    assert client.get("/healthz").status_code == 200
