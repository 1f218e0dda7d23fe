"""How answers leave: with many connections at once, and to somebody who reads slowly."""

from __future__ import annotations

import json
import socket
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from types import SimpleNamespace
from typing import Any

import requests
from waitress.adjustments import Adjustments

import jointgeo
from jointgeo_service.server import _Channel

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
        {"joint_type": name, "want": "settings", "joint": examples[name], "fixture": "porch"}
        for name in TYPES
    ] * 333
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
