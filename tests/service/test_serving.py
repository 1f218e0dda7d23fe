"""The service as a user meets it: another process, real sockets, and a stop that loses nothing."""

from __future__ import annotations

import contextlib
import json
import os
import signal
import socket
import subprocess
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import requests

import jointgeo
from jointgeo_service.server import StartError, answered_hosts

Start = Callable[..., Any]
Run = Callable[..., subprocess.CompletedProcess[str]]
TYPES = sorted(jointgeo.joint_types())
TOKEN = "correct-horse-battery"  # noqa: S105  # a test's own


def _raw(url: str, sent: bytes) -> bytes:
    """What comes back for these bytes, up to the end of the connection."""
    host, port = url.removeprefix("http://").split(":")
    with socket.create_connection((host, int(port)), timeout=30) as connection:
        connection.sendall(sent)
        got = b""
        while chunk := connection.recv(65536):
            got += chunk
        return got


def test_numbers_over_the_wire_are_the_librarys(
    start: Start, examples: dict[str, dict[str, Any]], edition: str
) -> None:
    service = start()
    fixture = jointgeo.load_fixture("porch")
    for name, joint in examples.items():
        made = jointgeo.joint_type(name).from_dict(joint)
        found = jointgeo.solve(made, fixture).settings_dict() | {"edition": edition}
        settings = json.loads(json.dumps(found))
        url = f"{service.url}/v1/joint-types/{name}/settings"
        posted = service.session.post(url, json={"joint": joint, "fixture": "porch"})
        got = service.session.get(url, params={**joint, "fixture": "porch"})
        assert posted.status_code == got.status_code == 200
        assert posted.json() == got.json() == settings
        flat = {**joint, "fixture": "porch", "pick": f"{settings['parts'][0]['part']}.1.tilt_deg"}
        text = service.session.get(url.replace("settings", "values"), params=flat).text
        assert text == repr(settings["parts"][0]["setups"][0]["tilt_deg"])
        item = {"joint_type": name, "want": "both", "joint": joint, "fixture": "porch"}
        batch = service.session.post(f"{service.url}/v1/batch", json={"items": [item, item]})
        assert [i["settings"] for i in batch.json()["items"]] == [settings, settings]
    assert service.stop() == 0


def test_head_and_options_over_the_wire(shared: Any, examples: dict[str, Any]) -> None:
    service = shared
    url = f"{service.url}/v1/joint-types/{TYPES[0]}/feasibility"
    flat = {**examples[TYPES[0]], "fixture": "porch", "shape": "csv"}
    got = service.session.get(url, params=flat)
    head = service.session.head(url, params=flat)
    options = service.session.options(url, params=flat)
    assert got.status_code == head.status_code == options.status_code == 200
    assert head.content == b""
    assert head.headers["Content-Length"] == str(len(got.content))
    assert set(options.headers["Allow"].split(", ")) == {"GET", "HEAD", "POST", "OPTIONS"}


def test_bodies_beyond_the_limits_are_refused_and_their_senders_told(shared: Any) -> None:
    service = shared
    kind = {"Content-Type": "application/json"}
    for path, size in (
        (f"/v1/joint-types/{TYPES[0]}/settings", 1_048_577),
        ("/v1/batch", 4_194_305),
        ("/v1/batch", 12_000_000),
    ):
        answer = service.session.post(service.url + path, data=b" " * size, headers=kind)
        assert answer.status_code == 413
        assert answer.headers["Content-Type"] == "application/problem+json"
        assert answer.json()["errors"][0]["field"] == "body"

    def chunks() -> Any:
        yield from [b" " * 65536] * 17

    url = f"{service.url}/v1/joint-types/{TYPES[0]}/settings"
    answer = service.session.post(url, data=chunks(), headers=kind)
    assert answer.status_code == 413


@pytest.mark.parametrize(
    ("sent", "status"),
    [
        (b"NONSENSE\r\n\r\n", 400),
        (b"GET / HTTP/1.1\r\nHost: localhost\r\nContent-Length: x\r\n\r\n", 400),
        (b"POST /v1/batch HTTP/1.1\r\nHost: localhost\r\nContent-Length: 99999999\r\n\r\n", 413),
        # As long as the server reads, and not a byte more: what it left unread would reset the
        # connection before the answer is read.
        (b"GET / HTTP/1.1\r\nHost: localhost\r\nX: ".ljust(262_144, b"x"), 431),
        (b"GET / HTTP/1.1\r\nHost: localhost\r\nTransfer-Encoding: odd\r\n\r\n", 501),
        (b"GET /healthz HTTP/1.0\r\n\r\n", 400),
        (b"GET /%00/../../etc/passwd HTTP/1.0\r\nHost: localhost\r\n\r\n", 404),
        (b"GET /v1/fixtures/..%2f..%2fetc%2fpasswd HTTP/1.0\r\nHost: localhost\r\n\r\n", 404),
        (b"GET http://example.org/ HTTP/1.0\r\nHost: example.org\r\n\r\n", 400),
    ],
    ids=range(9),
)
def test_what_is_no_http_or_no_url_is_refused_in_the_same_form(
    shared: Any, sent: bytes, status: int
) -> None:
    head, _, body = _raw(shared.url, sent).partition(b"\r\n\r\n")
    assert head.split()[1] == str(status).encode()
    assert b"content-type: application/problem+json" in head.lower()
    assert json.loads(body)["status"] == status


def test_a_host_that_is_not_this_machine_is_refused(shared: Any) -> None:
    service = shared
    answer = service.session.get(f"{service.url}/healthz", headers={"Host": "example.org"})
    assert answer.status_code == 400
    port = service.url.rpartition(":")[2]
    assert service.session.get(f"http://localhost:{port}/healthz").status_code == 200


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "192.0.2.1"])  # noqa: S104  # none is opened
def test_elsewhere_it_does_not_start_without_a_token(run: Run, host: str) -> None:
    """It is refused before a socket is opened; 192.0.2.1 is nobody's (RFC 5737)."""
    refused = run("--host", host, "--port", "0", JOINTGEO_TOKEN="")
    assert refused.returncode == 2
    assert "can be reached from other machines: set JOINTGEO_TOKEN" in refused.stderr
    assert len(refused.stderr.splitlines()) == 1


def test_elsewhere_every_name_is_answered_to_bearers_of_the_token() -> None:
    for address in ("0.0.0.0", "::", "192.0.2.1", "2001:db8::1"):  # noqa: S104  # none is opened
        assert answered_hosts(address, TOKEN) is None
        with pytest.raises(StartError):
            answered_hosts(address, None)
    for address, name in (("127.0.0.1", "127.0.0.1"), ("127.0.0.2", "127.0.0.2"), ("::1", "[::1]")):
        for token in (None, TOKEN):
            assert {name, "localhost"} <= set(answered_hosts(address, token) or ())


def test_a_token_that_is_set_counts_on_the_loopback_too(start: Start) -> None:
    service = start(JOINTGEO_TOKEN=TOKEN)
    get, url = service.session.get, f"{service.url}/v1/fixtures"
    assert get(f"{service.url}/healthz").status_code == 200
    assert get(url).status_code == 401
    assert get(url, headers={"Authorization": f"Bearer {TOKEN}"}).status_code == 200
    assert service.stop() == 0
    assert TOKEN not in json.dumps(service.log)


def _has_ip_version_6() -> bool:
    try:
        socket.create_server(("::1", 0), family=socket.AF_INET6).close()
    except OSError:
        return False
    return True


@pytest.mark.skipif(not _has_ip_version_6(), reason="this machine has no loopback of IPv6")
def test_it_listens_at_the_loopback_of_ip_version_6_too(start: Start) -> None:
    service = start("--host", "::1")
    assert service.url.startswith("http://[::1]:")
    assert service.session.get(f"{service.url}/healthz").status_code == 200


@pytest.mark.parametrize("token", ["two words", "müsli", "tab\there"])
def test_a_token_that_no_header_can_carry_is_refused(run: Run, token: str) -> None:
    refused = run("--port", "0", JOINTGEO_TOKEN=token)
    assert refused.returncode == 2
    assert "printable ASCII" in refused.stderr
    assert token not in refused.stderr


@pytest.mark.parametrize(
    ("host", "says"),
    [
        ("no-such-host.invalid", "cannot be resolved"),
        ("300.1.1.1", "cannot be resolved"),
        ("", "cannot be resolved"),
        ("x" * 300, "cannot be resolved"),
        ("192.0.2.1", "cannot be opened"),  # RFC 5737: an address of nobody's
    ],
)
def test_a_bad_host_is_told_plainly(run: Run, host: str, says: str) -> None:
    refused = run("--host", host, "--port", "0", JOINTGEO_TOKEN=TOKEN)
    assert refused.returncode == 2
    assert says in refused.stderr
    assert len(refused.stderr.splitlines()) == 1


@pytest.mark.parametrize("port", ["-1", "65536", "x", "80.5", "٨٠", "", "99999999999"])
def test_a_bad_port_is_told_plainly(run: Run, port: str) -> None:
    refused = run("--port", port)
    assert refused.returncode == 2
    assert "is not a whole number from 0 to 65535" in refused.stderr


def test_a_port_in_use_is_told_plainly(shared: Any, run: Run) -> None:
    port = shared.url.rpartition(":")[2]
    refused = run("--port", port)
    assert refused.returncode == 2
    assert refused.stderr == (
        f"jointgeo serve: port {port} of 127.0.0.1 cannot be opened: address already in use\n"
    )


def test_the_log_has_a_line_for_each_request_and_nothing_of_the_callers(start: Start) -> None:
    service = start()
    secret = "walnut-for-the-sideboard"  # noqa: S105  # a caller's word
    url = f"{service.url}/v1/joint-types/{TYPES[0]}/settings"
    calls = [
        service.session.get(url, params={"fixture": secret, secret: secret}),
        service.session.post(url, json={"joint": {secret: secret}}, headers={"X": secret}),
        service.session.post(url, data=secret.encode()),
        service.session.get(f"{service.url}/{secret}"),
        service.session.get(f"{service.url}/v1/fixtures/{secret}"),
        service.session.request(secret.upper(), service.url),
        service.session.get(f"{service.url}/healthz", headers={"Host": secret}),
        service.session.get(f"{service.url}/healthz"),
    ]
    broken = _raw(service.url, f"{secret}\r\n\r\n".encode())
    assert service.stop() == 0
    lines = [line for line in service.log if line["event"] == "request"]
    assert broken.startswith(b"HTTP/1.0 400")
    assert [line["status"] for line in lines] == [*(c.status_code for c in calls), 400]
    assert all(set(line) >= {"time", "level", "method", "route", "status", "ms"} for line in lines)
    assert [line["route"] for line in lines][:5] == [
        f"/v1/joint-types/{TYPES[0]}/settings",
        f"/v1/joint-types/{TYPES[0]}/settings",
        f"/v1/joint-types/{TYPES[0]}/settings",
        None,
        "/v1/fixtures/<name>",
    ]
    assert secret not in json.dumps(service.log).lower()


def _slow_batch(examples: dict[str, Any], count: int) -> bytes:
    item = {"joint_type": TYPES[0], "want": "both", "joint": examples[TYPES[0]], "fixture": "porch"}
    return json.dumps({"items": [item] * count}).encode()


@pytest.mark.parametrize("kind", [signal.SIGTERM, signal.SIGINT])
def test_a_stop_finishes_the_request_under_way(
    start: Start, examples: dict[str, Any], kind: int
) -> None:
    """The first item has arrived, so the request is under way; the signal comes then."""
    service = start()
    idle = requests.Session()
    idle.trust_env = False
    assert idle.get(f"{service.url}/healthz").status_code == 200  # and kept open
    headers = {"Content-Type": "application/json"}
    count = 30
    answer = service.session.post(
        f"{service.url}/v1/batch", data=_slow_batch(examples, count), headers=headers, stream=True
    )
    chunks = answer.iter_content(None)
    first = next(chunks)
    assert first.startswith(b'{"items":[{"status":200')
    service.process.send_signal(kind)
    whole = first + b"".join(chunks)
    assert [i["status"] for i in json.loads(whole)["items"]] == [200] * count
    assert service.process.wait(timeout=60) == 0
    # Nobody listens any more, on a new connection or on the one that was kept.
    for session in (service.session, idle):
        with pytest.raises(requests.ConnectionError):
            session.get(f"{service.url}/healthz")
    idle.close()


def test_while_it_stops_nobody_new_is_let_in(start: Start) -> None:
    """A request that arrives in pieces is under way, and holds the service for as long."""
    service = start()
    host, port = service.url.removeprefix("http://").split(":")
    with socket.create_connection((host, int(port)), timeout=30) as connection:
        connection.sendall(b"GET /healthz HTTP/1.1\r\nHost: local")
        # An answer on another connection shows that the loop has seen the first piece.
        assert service.session.get(f"{service.url}/healthz").status_code == 200
        service.process.send_signal(signal.SIGTERM)
        for _ in range(3000):  # until the signal has come through
            try:
                socket.create_connection((host, int(port)), timeout=5).close()
            except ConnectionRefusedError:
                break
            except ConnectionResetError:
                pass  # it closed its door on one that stood in the queue; the next is refused
            time.sleep(0.01)
        else:
            pytest.fail("it still listens")
        assert service.process.poll() is None
        connection.sendall(b"host\r\nConnection: close\r\n\r\n")
        got = b""
        while chunk := connection.recv(65536):
            got += chunk
    assert got.startswith(b"HTTP/1.1 200 OK")
    assert service.process.wait(timeout=60) == 0


def test_a_second_signal_does_not_wait(start: Start, examples: dict[str, Any]) -> None:
    service = start()
    headers = {"Content-Type": "application/json"}
    answer = service.session.post(
        f"{service.url}/v1/batch", data=_slow_batch(examples, 1000), headers=headers, stream=True
    )
    chunks = answer.iter_content(None)  # kept, or it would close the connection
    next(chunks)
    service.process.send_signal(signal.SIGTERM)
    with contextlib.suppress(subprocess.TimeoutExpired):
        service.process.wait(timeout=0.5)
    assert service.process.poll() is None
    service.process.send_signal(signal.SIGTERM)
    assert service.process.wait(timeout=30) == 1
    answer.close()
    service.reader.join()
    assert "stopped with requests unanswered" in [line["event"] for line in service.log]


def test_the_command_takes_a_folder_and_files_of_fixtures(
    tmp_path: Path, start: Start, run: Run
) -> None:
    porch = (Path(jointgeo.__path__[0]) / "data" / "fixtures" / "porch.toml").read_bytes()
    folder = tmp_path / "folder"
    folder.mkdir()
    own = folder / "own.toml"
    own.write_bytes(porch)
    single = tmp_path / "single.toml"
    single.write_bytes(porch.replace(b'name = "porch"', b'name = "shed"'))
    old = own.stat().st_mtime - 60
    for path in (own, single):
        os.utime(path, (old, old))
    service = start("--fixtures", str(folder), "--fixture", str(single))
    listed = service.session.get(f"{service.url}/v1/fixtures").json()["fixtures"]
    assert [f["name"] for f in listed] == ["porch", "shed", "own.toml"]
    for bad in (["--fixtures", str(tmp_path / "none")], ["--fixture", str(tmp_path / "none.toml")]):
        ended = run(*bad)
        assert ended.returncode == 2
        assert "none" in ended.stderr
        assert "Traceback" not in ended.stderr
