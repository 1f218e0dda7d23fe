"""Who is answered: hosts by name, bearers of the token; and how much is read of a request."""

from __future__ import annotations

import base64
import json
from typing import Any

import flask
import pytest
from flask.testing import FlaskClient

from jointgeo_service import limits
from jointgeo_service.app import create_app

TOKEN = "correct-horse-battery"  # noqa: S105  # a test's own
URL = "/v1/joint-types/splayed_bridle/settings"


def base64_of(text: str) -> str:
    return base64.b64encode(text.encode()).decode()


@pytest.fixture(scope="module")
def locked() -> flask.Flask:
    return create_app(token=TOKEN, hosts=None)


@pytest.mark.parametrize(
    ("host", "status"),
    [
        ("localhost", 200), ("LOCALHOST", 200), ("localhost:8765", 200), ("127.0.0.1:1", 200),
        ("[::1]", 200), ("[::1]:8765", 200), ("example.org", 400), ("localhost.example.org", 400),
        ("127.0.0.1.example.org", 400), ("127.0.0.2", 400), ("", 400), ("[::1", 400),
        ("localhost, example.org", 400), ("localhost:8765:1", 400), ("user@localhost", 400),
        ("localhost/", 400), ("١٢٧.0.0.1", 400),
    ],
)  # fmt: skip
def test_only_names_of_the_loopback_are_answered(
    client: FlaskClient, host: str, status: int
) -> None:
    """A page elsewhere can point a name of its own at 127.0.0.1 and have a browser ask."""
    environ = {"HTTP_HOST": host.encode().decode("latin-1")}
    answer = client.get("/healthz", environ_overrides=environ)
    assert answer.status_code == status
    if status == 400:
        assert answer.mimetype == "application/problem+json"
        assert answer.json is not None
        assert [e["field"] for e in answer.json["errors"]] == ["Host"]


def test_with_a_token_every_name_is_answered(locked: flask.Flask) -> None:
    bearer = {"Authorization": f"Bearer {TOKEN}", "Host": "bench.example.org"}
    assert locked.test_client().get("/v1/fixtures", headers=bearer).status_code == 200


@pytest.mark.parametrize(
    "given",
    [
        None, "", "Bearer", "Bearer ", TOKEN, f"Basic {TOKEN}", f"Bearer {TOKEN}x",
        f"Bearer {TOKEN[:-1]}", f"Bearer {TOKEN} {TOKEN}", "Bearer \xff\xfe", f"Bearer{TOKEN}",
        f"Bearer {TOKEN.upper()}", f"Basic {base64_of(TOKEN)}",
        f"Basic {base64_of(f'me:{TOKEN}x')}", f"Basic {base64_of(f'{TOKEN}:')}",
        f"Bearer {base64_of(f'me:{TOKEN}')}", "Basic é!", f"Digest {base64_of(f'me:{TOKEN}')}",
    ],
)  # fmt: skip
def test_without_the_token_nothing_is_told(locked: flask.Flask, given: str | None) -> None:
    client = locked.test_client()
    environ = {} if given is None else {"HTTP_AUTHORIZATION": given}
    for url in ("/v1/fixtures", "/v1/joint-types", "/openapi.json", "/docs", "/v1/nowhere", URL):
        for method in ("GET", "HEAD", "POST", "OPTIONS", "DELETE"):
            answer = client.open(url, method=method, environ_overrides=environ)
            assert answer.status_code == 401
            assert answer.headers["WWW-Authenticate"].startswith("Bearer")
            assert answer.mimetype == "application/problem+json"
    assert client.get("/healthz", environ_overrides=environ).status_code == 200


def test_with_the_token_all_is_answered(locked: flask.Flask) -> None:
    client = locked.test_client()
    for scheme in ("Bearer", "bearer"):
        bearer = {"Authorization": f"{scheme} {TOKEN}"}
        for url in ("/v1/fixtures", "/openapi.json", "/docs", "/healthz"):
            assert client.get(url, headers=bearer).status_code == 200
    document = client.get("/openapi.json", headers={"Authorization": f"Bearer {TOKEN}"}).json
    assert document is not None
    assert document["security"] == [{"token": []}, {"password": []}]
    assert document["paths"]["/healthz"]["get"]["security"] == []


def test_a_browser_asks_its_user_for_the_token_and_a_workbook_does_not(locked: flask.Flask) -> None:
    """RFC 7617, section 2: the worked example's user and password make the credentials
    QWxhZGRpbjpvcGVuIHNlc2FtZQ==; a password may hold a colon, a name may not."""
    client = locked.test_client()
    for accept, scheme in (("text/html,*/*;q=0.8", "Basic"), ("*/*", "Bearer"), ("", "Bearer")):
        answer = client.get("/", headers={"Accept": accept})
        assert answer.status_code == 401
        assert answer.headers["WWW-Authenticate"] == f'{scheme} realm="jointgeo"'
        assert answer.headers["Vary"] == "Accept"
    for name in ("", "anybody"):
        basic = {"Authorization": f"Basic {base64_of(f'{name}:{TOKEN}')}"}
        for url in ("/", "/v1/fixtures", "/docs"):
            assert client.get(url, headers=basic).status_code == 200
    known = create_app(token="open sesame", hosts=None).test_client()  # noqa: S106  # as published
    for key, status in (
        ("QWxhZGRpbjpvcGVuIHNlc2FtZQ==", 200),
        ("QWxhZGRpbjpvcGVuIHNlc2FtZT8=", 401),
    ):
        answer = known.get("/v1/fixtures", headers={"Authorization": f"Basic {key}"})
        assert answer.status_code == status
    colon = create_app(token="a:b", hosts=None).test_client()  # noqa: S106  # a test's own
    basic = {"Authorization": f"Basic {base64_of('me:a:b')}"}
    assert colon.get("/v1/fixtures", headers=basic).status_code == 200


def test_tokens_are_compared_in_constant_time(
    locked: flask.Flask, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A time cannot be tested reliably; that the comparison made for it decides, can be."""
    seen: list[tuple[bytes, bytes]] = []

    def compare(given: bytes, token: bytes) -> bool:
        seen.append((given, token))
        return True

    monkeypatch.setattr("jointgeo_service.access.hmac.compare_digest", compare)
    bearer = {"Authorization": "Bearer wrong"}
    assert locked.test_client().get("/v1/fixtures", headers=bearer).status_code == 200
    assert seen == [(b"wrong", TOKEN.encode())]


def _question(examples: dict[str, dict[str, Any]], size: int) -> bytes:
    """A right question of exactly ``size`` bytes."""
    body = json.dumps({"joint": examples["splayed_bridle"], "fixture": "porch"}).encode()
    return body + b" " * (size - len(body))


def test_a_body_of_a_mebibyte_is_read_and_one_byte_more_is_not(
    client: FlaskClient, examples: dict[str, dict[str, Any]]
) -> None:
    assert limits.BODY_BYTES == 1_048_576
    for more, status in ((0, 200), (1, 413)):
        body = _question(examples, 1_048_576 + more)
        answer = client.post(URL, data=body, content_type="application/json")
        assert answer.status_code == status
    assert answer.mimetype == "application/problem+json"
    assert answer.json is not None
    (error,) = answer.json["errors"]
    assert error == {
        "field": "body", "message": "is too large", "allowed": "at most 1048576 bytes",
        "unit": "byte",
    }  # fmt: skip


def test_a_batch_of_four_mebibytes_is_read_and_one_byte_more_is_not(client: FlaskClient) -> None:
    assert limits.BATCH_BYTES == 4_194_304
    for more, status in ((0, 200), (1, 413)):
        body = b'{"items": []}'.ljust(4_194_304 + more)
        answer = client.post("/v1/batch", data=body, content_type="application/json")
        assert answer.status_code == status


def test_a_url_of_8000_characters_is_read_and_one_more_is_not(
    client: FlaskClient, examples: dict[str, dict[str, Any]]
) -> None:
    from urllib.parse import urlencode

    assert limits.URL_CHARACTERS == 8000
    url = f"{URL}?{urlencode({**examples['splayed_bridle'], 'fixture': 'porch'})}&nocache="
    assert client.get(url.ljust(8000, "x")).status_code == 200
    answer = client.get(url.ljust(8001, "x"))
    assert answer.status_code == 414
    assert answer.json is not None
    assert answer.json["errors"][0]["given"] == "8001 characters"
    assert client.get("/" + "x" * 8000).status_code == 414


def test_the_limits_are_told_on_the_api_page(client: FlaskClient) -> None:
    document = client.get("/openapi.json").json
    assert document is not None
    says = document["info"]["description"]
    for number in ("1,048,576", "4,194,304", "1,000", "200", "8,000", "400", "80", "100"):
        assert f" {number}" in says.replace("(", " ")


def test_more_names_than_any_table_has_are_refused_at_once(client: FlaskClient) -> None:
    """A mebibyte of unknown names is one mistake, not seventy thousand."""
    assert limits.TABLE_NAMES == 200
    for count, field in ((200, "a0"), (201, "joint"), (70_000, "joint")):
        joint = {f"a{i}": 1 for i in range(count)}
        answer = client.post(URL, json={"joint": joint, "fixture": "porch"})
        assert answer.status_code == 422
        assert answer.json is not None
        fields = [e["field"] for e in answer.json["errors"]]
        assert (f"joint.{field}" in fields) if count == 200 else (fields == [field])
    answer = client.post(URL, json={f"a{i}": 1 for i in range(201)})
    assert answer.json is not None
    assert [e["field"] for e in answer.json["errors"]] == ["body"]


def test_longer_lists_than_any_fixture_has_are_refused_at_once(
    client: FlaskClient, examples: dict[str, dict[str, Any]]
) -> None:
    assert limits.LIST_ITEMS == 1000
    for count, field in ((1000, "fixture.cutter[0].name"), (1001, "fixture.cutter")):
        fixture: dict[str, Any] = {"cutter": [{}] * count}
        question = {"joint": examples["splayed_bridle"], "fixture": fixture}
        answer = client.post(URL, json=question)
        assert answer.status_code == 422
        assert answer.json is not None
        assert field in [e["field"] for e in answer.json["errors"]]


def test_of_very_many_errors_a_hundred_are_told_and_all_are_counted(client: FlaskClient) -> None:
    assert limits.ERRORS == 100
    answer = client.post(URL, json={f"a{i}": 1 for i in range(150)})
    assert answer.json is not None
    assert len(answer.json["errors"]) == 100
    # 150 unknown names, joint and fixture missing; three of them stand in the sentence.
    assert answer.json["detail"].endswith("; and 149 more")
