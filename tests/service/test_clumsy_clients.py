"""Clients that read nothing, say nothing or say half: nobody else notices, and a stop is a stop.

Against the real server over loopback; each clumsy client is a bare socket. Times are upper bounds
that a busy machine keeps (common practice, no published source): what they tell apart is seconds
from minutes, since today's faults lasted until the client hung up or 120 s were over.
"""

from __future__ import annotations

import contextlib
import json
import signal
import socket
import threading
import time
import tracemalloc
from collections.abc import Callable, Iterator
from typing import Any

import flask
import pytest

import jointgeo
from jointgeo_service import server
from jointgeo_service.limits import BATCHES, BATCHES_WAITING, THREADS
from jointgeo_service.problems import RefusedError
from jointgeo_service.turns import Turns

Start = Callable[..., Any]
TYPES = sorted(jointgeo.joint_types())
SOON = 5.0  # seconds


def _opened(url: str, sent: bytes = b"") -> socket.socket:
    host, port = url.removeprefix("http://").split(":")
    connection = socket.create_connection((host, int(port)), timeout=30)
    connection.sendall(sent)
    return connection


def _batch(examples: dict[str, Any], count: int) -> bytes:
    name = TYPES[0]
    item = {"joint_type": name, "want": "both", "joint": examples[name], "fixture": "porch"}
    body = json.dumps({"items": [item] * count}).encode()
    head = (
        "POST /v1/batch HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n"
        f"Content-Length: {len(body)}\r\n\r\n"
    )
    return head.encode() + body


@contextlib.contextmanager
def _held(url: str, count: int, sent: bytes) -> Iterator[list[socket.socket]]:
    with contextlib.ExitStack() as stack:
        yield [stack.enter_context(_opened(url, sent)) for _ in range(count)]


def _answers_soon(service: Any, times: int = 3) -> None:
    for _ in range(times):
        began = time.monotonic()
        assert service.session.get(f"{service.url}/healthz", timeout=30).status_code == 200
        assert time.monotonic() - began < SOON
        time.sleep(0.2)


def test_four_that_ask_for_a_thousand_and_read_nothing(
    start: Start, examples: dict[str, Any]
) -> None:
    service = start()
    url = f"{service.url}/v1/joint-types/{TYPES[0]}/settings"
    question = {"joint": examples[TYPES[0]], "fixture": "porch"}
    with _held(service.url, 4, _batch(examples, 1000)) as clients:
        for client in clients:  # the first byte has come: all four are being answered
            assert client.recv(1) == b"H"
        _answers_soon(service)
        began = time.monotonic()
        assert service.session.post(url, json=question, timeout=30).status_code == 200
        assert time.monotonic() - began < SOON
        # A fifth batch waits for its turn, and takes no turn of anybody's short question.
        with _opened(service.url, _batch(examples, 1)) as fifth:
            _answers_soon(service, 1)
            assert fifth.fileno() > 0


@pytest.mark.parametrize(
    ("count", "sent"),
    [(110, b""), (300, b"GET /healthz HTTP/1.1\r\nHost: local")],
    ids=["idle", "half a header"],
)
def test_many_that_say_nothing_or_half(shared: Any, count: int, sent: bytes) -> None:
    with _held(shared.url, count, sent):
        with _opened(shared.url, b"GET /healthz HTTP/1.0\r\nHost: localhost\r\n\r\n") as client:
            client.settimeout(SOON)
            assert client.recv(100).startswith(b"HTTP/1.0 200")
        _answers_soon(shared, 1)


@pytest.mark.parametrize(
    "sent",
    [
        b"GET /healthz HTTP/1.1\r\nHost: local",
        b"POST /v1/batch HTTP/1.1\r\nHost: localhost\r\nContent-Length: 100\r\n\r\n{",
    ],
    ids=["header", "body"],
)
def test_a_stop_does_not_wait_for_the_rest_of_half_a_request(start: Start, sent: bytes) -> None:
    service = start()
    with _opened(service.url, sent):
        assert service.session.get(f"{service.url}/healthz").status_code == 200
        began = time.monotonic()
        assert service.stop(signal.SIGTERM) == 0
        assert time.monotonic() - began < 2 * SOON


def _whole(connection: socket.socket) -> bytes:
    got = b""
    with contextlib.suppress(ConnectionResetError):  # it left unread what came after
        while chunk := connection.recv(65536):
            got += chunk
    return got


@pytest.mark.parametrize(
    "head",
    [
        b"POST /healthz HTTP/1.1\r\nHost: localhost\r\nContent-Length: 4\r\n"
        b"Transfer-Encoding: chunked\r\n\r\n",
        b"POST /healthz HTTP/1.1\r\nTransfer-Encoding: chunked\r\nHost: localhost\r\n"
        b"content-length: 0\r\n\r\n",
        b"POST /healthz HTTP/1.0\r\nHost: localhost\r\nTransfer-Encoding: chunked\r\n\r\n",
        b"POST /healthz HTTP/1.1\r\nHost: localhost\r\nContent-Length: 4\r\n"
        b"Content-Length: 5\r\n\r\n",
    ],
    ids=["both", "the other way round", "HTTP/1.0", "two lengths"],
)
def test_a_length_told_in_two_ways_is_refused_and_the_connection_closed(
    shared: Any, head: bytes
) -> None:
    """RFC 9112, 6.3: what follows might be a second request to whoever reads it otherwise."""
    second = b"0\r\n\r\nGET /healthz HTTP/1.1\r\nHost: localhost\r\n\r\n"
    with _opened(shared.url, head + second) as connection:
        got = _whole(connection)
    assert got.split()[1] == b"400"
    assert got.count(b"\r\n\r\n") == 1
    assert b"application/problem+json" in got


def test_a_body_in_one_way_is_still_read(shared: Any, examples: dict[str, Any]) -> None:
    body = json.dumps({"joint": examples[TYPES[0]], "fixture": "porch"}).encode()
    url = f"{shared.url}/v1/joint-types/{TYPES[0]}/settings"
    kind = {"Content-Type": "application/json"}
    for data in (body, iter([body[:100], body[100:]])):
        assert shared.session.post(url, data=data, headers=kind).status_code == 200


@pytest.mark.parametrize("coding", ["gzip", "br", "x-odd", "gzip, identity"])
def test_a_packed_body_is_refused_as_such(client: Any, coding: str) -> None:
    answer = client.post("/v1/batch", data=b"x", headers={"Content-Encoding": coding})
    assert answer.status_code == 415
    assert answer.headers["Accept-Encoding"] == "identity"  # RFC 9110, 12.5.3
    assert answer.json["errors"][0]["field"] == "Content-Encoding"


def test_a_body_said_not_to_be_packed_is_read(client: Any) -> None:
    plain = client.post("/v1/batch", json={"items": []}, headers={"Content-Encoding": "identity"})
    assert plain.status_code == 200


@contextlib.contextmanager
def _in_a_thread(app: flask.Flask) -> Iterator[tuple[str, server.Service, list[bool]]]:
    """A service whose limits a test has shortened; what its ``run`` gave stands in the list."""
    with socket.create_server(("127.0.0.1", 0)) as listening:
        url = f"http://127.0.0.1:{listening.getsockname()[1]}"
        service, done = server.Service(app, listening), []
        thread = threading.Thread(target=lambda: done.append(service.run()))
        thread.start()
        try:
            yield url, service, done
        finally:
            service.stop()
            thread.join(timeout=60)
            assert not thread.is_alive()


@pytest.mark.parametrize("reads", [True, False])
def test_a_long_answer_takes_little_memory_whether_or_not_it_is_fetched(reads: bool) -> None:
    """64 MB, in pieces like those of a batch: a few buffers of 4 MiB at once are in memory."""

    def app(_: Any, begin: Any) -> Iterator[bytes]:
        begin("200 OK", [("Content-Type", "text/plain")])
        return (b"x" * 40_000 for _ in range(1600))

    made: Any = app
    tracemalloc.start()
    try:
        with _in_a_thread(made) as (url, service, _):
            with _opened(url, b"GET / HTTP/1.0\r\nHost: localhost\r\n\r\n") as client:
                if reads:
                    got = 0
                    while chunk := client.recv(1 << 20):
                        got += len(chunk)
                    assert got > 64_000_000
                else:
                    assert client.recv(1) == b"H"
                    time.sleep(2.0)
            service.stop()
        _, most = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert most < 24_000_000


def test_who_is_silent_too_long_is_hung_up_on(
    app: flask.Flask, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(server, "IDLE_SECONDS", 1)
    with _in_a_thread(app) as (url, _, _), _held(url, 2, b"GET /healthz HT") as clients:
        for client in clients:
            client.settimeout(15)
            assert client.recv(1) == b""


def test_a_stop_gives_up_answers_that_nobody_reads_and_says_so(
    app: flask.Flask, examples: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(server, "UNREAD_SECONDS", 0.5)
    # More than the system's own buffers take for both ends of a connection.
    with _in_a_thread(app) as (url, service, done), _opened(url, _batch(examples, 300)) as client:
        assert client.recv(1) == b"H"
        service.stop()
        for _ in range(600):
            if done:
                break
            time.sleep(0.1)
        assert done == [False]


def test_batches_leave_threads_for_short_questions() -> None:
    assert BATCHES + BATCHES_WAITING < THREADS
    turns = Turns(1, 1, 0.05, "batches are being answered")
    give_back = turns.take()
    with pytest.raises(RefusedError) as waited:  # the one that may wait, until its time is over
        turns.take()
    assert waited.value.status == 503
    assert waited.value.headers == {"Retry-After": "10"}
    give_back()
    give_back()  # by the answer's end and by the connection's
    turns.take()
    with pytest.raises(RefusedError):
        turns.take()
    with pytest.raises(RefusedError):
        Turns(0, 0, 60, "batches are being answered").take()  # at once


def test_a_batch_that_is_hung_up_on_gives_its_turn_back(
    start: Start, examples: dict[str, Any]
) -> None:
    service = start()
    for _ in range(BATCHES + BATCHES_WAITING + 1):
        with _opened(service.url, _batch(examples, 50)) as client:
            assert client.recv(1) == b"H"
    item = {"joint_type": TYPES[0], "want": "both", "joint": examples[TYPES[0]], "fixture": "porch"}
    last = service.session.post(f"{service.url}/v1/batch", json={"items": [item]}, timeout=60)
    assert last.status_code == 200
