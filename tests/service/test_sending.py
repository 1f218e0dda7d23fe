"""How answers leave: with many connections at once, and to somebody who reads slowly."""

from __future__ import annotations

import contextlib
import gc
import json
import socket
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from types import SimpleNamespace
from typing import Any

import pytest
import requests
from waitress.adjustments import Adjustments

import jointgeo
from jointgeo.joints.joint_type import JointType
from jointgeo_service.app import create_app
from jointgeo_service.plugins import Catalogue
from jointgeo_service.questions import Questions
from jointgeo_service.server import Service, _Channel

TYPES = sorted(jointgeo.joint_types())


def test_the_loop_leaves_a_connection_to_the_thread_that_sends() -> None:
    """Else it turns round and round, and keeps the interpreter from that very thread."""
    ours, theirs = socket.socketpair()
    with ours, theirs:
        server = SimpleNamespace(active_channels={})
        channel: Any = _Channel(server, ours, ("", 0), Adjustments(), map={})
        assert not channel.writable()
        channel.total_outbufs_len = 1
        assert channel.writable()
        holds, done = threading.Event(), threading.Event()

        def send() -> None:
            with channel.outbuf_lock:
                holds.set()
                done.wait(30)

        thread = threading.Thread(target=send)
        thread.start()
        assert holds.wait(30)
        assert not channel.writable()
        # With so much left over the thread waits for the loop; both waiting would be the end.
        channel.total_outbufs_len = channel.adj.outbuf_high_watermark + 1
        assert channel.writable()
        done.set()
        thread.join()
        assert channel.writable()


def test_sixty_four_connections_are_all_answered(shared: Any, examples: dict[str, Any]) -> None:
    questions = [
        (f"{shared.url}/v1/joint-types/{name}/settings", {"joint": joint, "fixture": "porch"})
        for name, joint in examples.items()
    ]
    expected = [requests.post(url, json=question, timeout=60).json() for url, question in questions]

    def ask() -> bool:
        with requests.Session() as session:
            return all(
                session.post(url, json=question, timeout=60).json() == answer
                for (url, question), answer in zip(questions, expected, strict=True)
            )

    with ThreadPoolExecutor(64) as pool:
        asked = [pool.submit(ask) for _ in range(64)]
        assert all(one.result() for one in asked)


def test_a_slow_reader_gets_all_of_a_long_answer(shared: Any, examples: dict[str, Any]) -> None:
    """More than the server holds back for a reader (16 MiB), so that it must wait for this one."""
    items = [
        {"joint_type": name, "want": "both", "joint": examples[name], "fixture": "porch"}
        for name in TYPES
    ] * (1000 // len(TYPES))
    body = json.dumps({"items": items}).encode()
    host, port = shared.url.removeprefix("http://").split(":")
    head = (
        f"POST /v1/batch HTTP/1.0\r\nHost: localhost\r\nContent-Type: application/json\r\n"
        f"Content-Length: {len(body)}\r\n\r\n"
    )
    got = bytearray()
    with socket.create_connection((host, int(port)), timeout=60) as connection:
        connection.sendall(head.encode() + body)
        time.sleep(1.0)  # by then it has sent what it can
        while chunk := connection.recv(1 << 20):
            got += chunk
    answer = json.loads(got.partition(b"\r\n\r\n")[2])
    assert len(got) > 16 * 1024 * 1024
    assert [i["status"] for i in answer["items"]] == [200] * len(items)
    assert answer["items"][-1] == answer["items"][len(TYPES) - 1]


@contextlib.contextmanager
def _offering(cls: type[JointType]) -> Iterator[tuple[str, int]]:
    """A service in a thread of this process that offers the given type; its address."""
    listening = socket.create_server(("127.0.0.1", 0))
    service = Service(create_app(catalogue=Catalogue.of({cls.name: cls})), listening)
    thread = threading.Thread(target=service.run)
    thread.start()
    try:
        yield listening.getsockname()
    finally:
        service.stop()
        service.stop()  # at once, whatever is left unanswered
        thread.join(30)
        listening.close()
        gc.unfreeze()  # what the service froze for good
    assert not thread.is_alive()


def _answer(address: tuple[str, int], path: str, body: Any, version: str) -> bytes:
    """All that comes back until the service hangs up."""
    data = json.dumps(body).encode()
    head = (
        f"POST {path} HTTP/{version}\r\nHost: localhost\r\nContent-Type: application/json\r\n"
        f"Content-Length: {len(data)}\r\n\r\n"
    )
    got = b""
    with socket.create_connection(address, timeout=20) as connection:
        connection.sendall(head.encode() + data)
        while chunk := connection.recv(65536):
            got += chunk
    return got


class _Untold(BaseException):
    """Caught by nobody: a fault of the service that no item can tell."""


@pytest.mark.parametrize("version", ["1.0", "1.1"])
def test_an_answer_that_breaks_off_does_not_look_whole(
    slotted: Callable[..., type[JointType]], monkeypatch: pytest.MonkeyPatch, version: str
) -> None:
    """The service hangs up, and in HTTP/1.1 the chunk that ends an answer is missing (RFC 9112,
    section 8)."""

    read = Questions.item

    def item(self: Questions, data: Any) -> Any:
        if data["joint"]["width_mm"] > 100:
            raise _Untold
        return read(self, data)

    def single(*_: Any) -> Any:
        raise _Untold

    monkeypatch.setattr(Questions, "item", item)
    monkeypatch.setattr("jointgeo_service.joint_views.kept_or_solved", single)
    cls = slotted()
    items = [
        {"joint_type": "slotted", "want": "settings", "joint": joint, "fixture": "porch"}
        for joint in ({"width_mm": 50.0}, {"width_mm": 200.0}, {"width_mm": 50.0})
    ]
    with _offering(cls) as address:
        got = _answer(address, "/v1/batch", {"items": items}, version)
        first = {name: items[1][name] for name in ("joint", "fixture")}
        alone = _answer(address, "/v1/joint-types/slotted/settings", first, "1.0")
    assert b" 200 OK" in got.partition(b"\r\n")[0]
    assert got.count(b'"status":200') == 1
    assert not got.endswith((b"]}", b"0\r\n\r\n"))
    assert b" 500 " in alone.partition(b"\r\n")[0]  # nothing was sent yet, so it can be told
    assert json.loads(alone.partition(b"\r\n\r\n")[2])["status"] == 500
