"""How fast the service answers, against a bare Flask echo of JSON on the same server.

Not a test: it measures, and judges nothing by itself. Run it from the project's folder on
a quiet machine, with the extra ``service`` installed:

    python tests/service/benchmark.py                        # a few minutes
    python tests/service/benchmark.py --seconds 2 --memory-requests 0
    python tests/service/benchmark.py --types splayed_bridle --connections 1 --json out.json

Two processes: one server at a time on a free port of the loopback, and this one, which
keeps N connections busy with one question each. Echo and service are measured in turn at
each number of connections, with the same questions, so that the ratio means something even
where the machine has other work. Every question is a different joint, so that nothing
could be answered from memory. A batch's rate is given as joints in a second and as a ratio to
the rate of single requests. Each measurement ends after --requests or --seconds,
whichever is first; the servers are stopped at the end, and stop by themselves where this
process ends in any other way.
"""

from __future__ import annotations

import argparse
import itertools
import json
import random
import re
import selectors
import signal
import socket
import statistics
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import attrs
import flask

import jointgeo
from jointgeo.errors import InputError
from jointgeo.schema.fields import describe

FIXTURE = "porch"
ECHO, SERVICE = "echo", "service"


@attrs.frozen
class Server:
    """A server in a process of its own."""

    kind: str
    process: subprocess.Popen[str]
    address: tuple[str, int]

    def rss_mib(self) -> float | None:
        """Resident memory; None where the system has no /proc."""
        status = Path(f"/proc/{self.process.pid}/status")
        if not status.exists():
            return None
        found = re.search(r"VmRSS:\s+(\d+) kB", status.read_text())
        return int(found[1]) / 1024 if found else None


@attrs.frozen
class Measured:
    """One measurement. items: joints answered, which is more than requests for a batch."""

    name: str
    connections: int
    requests: int
    seconds: float
    latencies_ms: tuple[float, ...] = attrs.field(repr=False)
    failed: int
    items: int = 1

    @property
    def rate(self) -> float:
        return self.requests / self.seconds

    def line(self, echo: Measured | None = None) -> str:
        ordered = sorted(self.latencies_ms)
        middle, high = statistics.median(ordered), ordered[int(len(ordered) * 0.99)]
        text = (
            f"{self.name:34} {self.connections:4} {self.requests:7} {self.rate:9.1f}/s "
            f"{middle:8.2f} ms {high:8.2f} ms"
        )
        text += f"   {self.rate / echo.rate:5.3f} of echo" if echo else ""
        return text + (f"   {self.failed} NOT 200" if self.failed else "")


@contextmanager
def serving(kind: str) -> Iterator[Server]:
    """A server that is there while the block runs."""
    process = subprocess.Popen(
        [sys.executable, __file__, "--serve", kind],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    )
    try:
        assert process.stdout is not None
        port = int(process.stdout.readline())
        yield Server(kind, process, ("127.0.0.1", port))
    finally:
        process.send_signal(signal.SIGTERM)
        process.wait(timeout=150)
        for stream in (process.stdin, process.stdout):
            assert stream is not None
            stream.close()


def serve(kind: str) -> int:
    """Run one server until it is told to stop. Both kinds run on the same waitress."""
    from jointgeo_service import log
    from jointgeo_service.app import create_app
    from jointgeo_service.server import Service

    log.configure()
    app = create_app() if kind == SERVICE else _echo()
    listening = socket.create_server(("127.0.0.1", 0), backlog=1024)
    service = Service(app, listening)
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, service.stop)
    print(listening.getsockname()[1], flush=True)
    threading.Thread(target=_stop_with_parent, args=(service.stop,), daemon=True).start()
    return 0 if service.run() else 1


def _stop_with_parent(stop: Callable[[], None]) -> None:
    """The other end of standard input is the load's; it closes however that ends."""
    sys.stdin.read()
    stop()


def _echo() -> flask.Flask:
    app = flask.Flask("echo")

    def echo(**_: str) -> flask.Response:
        return flask.jsonify(flask.request.get_json())

    def constant(**_: str) -> flask.Response:
        return flask.Response("7.827371544844022", mimetype="text/plain")

    app.add_url_rule("/<path:path>", "echo", echo, methods=["POST"])
    app.add_url_rule("/<path:path>", "constant", constant, methods=["GET"])
    return app


def questions(name: str, count: int) -> list[dict[str, Any]]:
    """Different joints of one type, near its first example; the same on every run."""
    source = random.Random(name)  # noqa: S311  # it picks dimensions, no secret
    cls = jointgeo.joint_type(name)
    example = cls.examples()[0].to_dict()
    numbers = [i.name for i in describe(cls) if i.kind == "number" and example[i.name]]
    out: list[dict[str, Any]] = []
    while len(out) < count:
        joint = {**example, **{n: example[n] * source.uniform(0.97, 1.03) for n in numbers}}
        try:
            cls.from_dict(joint)
        except InputError:  # a rule between two fields; the next draw will do
            continue
        out.append(joint)
    return out


def request(path: str, body: Any) -> bytes:
    """A POST as it goes over the wire."""
    data = json.dumps(body).encode()
    head = (
        f"POST {path} HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\n"
        f"Content-Length: {len(data)}\r\n\r\n"
    )
    return head.encode() + data


def get(url: str) -> bytes:
    """A GET as it goes over the wire."""
    return f"GET {url} HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n".encode()


class Connection:
    """One keep-alive connection with one question under way."""

    def __init__(self, address: tuple[str, int]) -> None:
        self.address = address
        self.socket = socket.create_connection(address, timeout=60)
        self.got = bytearray()
        self.began = 0.0
        self.closing = False

    def ask(self, question: bytes) -> None:
        if self.closing:
            self.socket.close()
            self.socket = socket.create_connection(self.address, timeout=60)
        self.got.clear()
        self.began = time.perf_counter()
        self.socket.sendall(question)

    def read(self) -> bool:
        """Take what has come; True where the answer is whole."""
        chunk = self.socket.recv(1 << 20)
        if not chunk:
            raise ConnectionError("the server hung up")
        self.got += chunk
        end = self.got.find(b"\r\n\r\n")
        if end < 0:
            return False
        head = bytes(self.got[:end]).lower()
        self.closing = b"connection: close" in head
        found = re.search(rb"content-length: (\d+)", head)
        if found:
            return len(self.got) >= end + 4 + int(found[1])
        return self.got.endswith(b"0\r\n\r\n")


def load(
    name: str,
    server: Server,
    asked: Sequence[bytes],
    connections: int,
    most: int,
    seconds: float,
    *,
    items: int = 1,
    watch: Callable[[int], None] | None = None,
) -> Measured:
    """Keep ``connections`` busy until ``most`` answers or ``seconds`` are reached."""
    source = itertools.cycle(asked)
    latencies: list[float] = []
    failed = 0
    with selectors.DefaultSelector() as selector:
        open_ones = [Connection(server.address) for _ in range(connections)]
        began = time.perf_counter()
        for connection in open_ones:
            connection.ask(next(source))
            selector.register(connection.socket, selectors.EVENT_READ, connection)
        under_way = connections
        while under_way:
            ready = selector.select(timeout=120)
            if not ready:
                raise TimeoutError(f"{name}: no answer in two minutes")
            for key, _ in ready:
                connection = key.data
                if not connection.read():
                    continue
                now = time.perf_counter()
                latencies.append((now - connection.began) * 1000)
                failed += not connection.got.startswith(b"HTTP/1.1 200")
                under_way -= 1
                if watch is not None:
                    watch(len(latencies))
                selector.unregister(connection.socket)  # the server may hang up after a stream
                if len(latencies) + under_way < most and now - began < seconds:
                    connection.ask(next(source))
                    selector.register(connection.socket, selectors.EVENT_READ, connection)
                    under_way += 1
        took = time.perf_counter() - began
        for connection in open_ones:
            connection.socket.close()
    return Measured(name, connections, len(latencies), took, tuple(latencies), failed, items)


def singles(options: argparse.Namespace, echo: Server, service: Server) -> list[Measured]:
    """Settings and feasibility of each type, each beside an echo of the same questions."""
    out = []
    for name in options.types:
        joints = questions(name, 997)
        for connections in options.connections:
            first: Measured | None = None
            for want in ("settings", "feasibility"):
                path = f"/v1/joint-types/{name}/{want}"
                asked = [request(path, {"joint": j, "fixture": FIXTURE}) for j in joints]
                limits = (connections, options.requests, options.seconds)
                if first is None:
                    load("warm", echo, asked, connections, 200, 1.0)
                    first = load(f"echo of {name}", echo, asked, *limits)
                    print(first.line())
                    out.append(first)
                load("warm", service, asked, connections, 50, 1.0)
                found = load(f"{name} {want}", service, asked, *limits)
                print(found.line(first))
                out.append(found)
    return out


def batches(options: argparse.Namespace, service: Server, alone: list[Measured]) -> list[Measured]:
    """A thousand joints in one request; prints the ratio to the rate of single requests."""
    out = []
    for name in options.types:
        for want in ("settings", "feasibility"):
            items = [
                {"joint_type": name, "want": want, "joint": joint, "fixture": FIXTURE}
                for joint in questions(name, options.items)
            ]
            asked = [request("/v1/batch", {"items": items})]
            found = load(
                f"batch of {len(items)} {name} {want}", service, asked, 1, options.batches,
                options.seconds * 3, items=len(items),
            )  # fmt: skip
            rate = found.rate * found.items
            single = [m for m in alone if m.name == f"{name} {want}"]
            best = max((m.rate for m in single), default=0.0)
            one = next((m.rate for m in single if m.connections == 1), 0.0)
            ratios = "".join(
                f"   {rate / r:5.2f} of singles, {says}"
                for says, r in (("one connection", one), ("best", best))
                if r
            )
            print(f"{found.name:48} {rate:9.1f} joints/s{ratios}")
            out.append(found)
    return out


def memory(options: argparse.Namespace, service: Server) -> list[tuple[int, float]]:
    """Resident memory over many requests of every kind, right and wrong ones."""
    if service.rss_mib() is None:
        print("memory: not measured, this system has no /proc")
        return []
    asked = [get("/healthz")] * 100 + [get("/v1/joint-types")] * 20 + [get("/v1/nowhere")] * 50
    for name in options.types:
        url = f"/v1/joint-types/{name}"
        for joint in questions(name, 60):
            whole, flat = (
                {"joint": joint, "fixture": FIXTURE},
                urlencode({**joint, "fixture": FIXTURE}),
            )
            asked.append(request(f"{url}/settings", whole))
            asked.append(get(f"{url}/values?{flat}&pick=status"))
            asked.append(get(f"{url}/settings?{flat}&shape=csv&nocache={len(asked)}"))
            # Most requests are refused: it is there that text of the caller's is handled.
            asked += [request(f"{url}/settings", {**whole, f"name {i}": i}) for i in range(4)]
            asked.append(get(f"{url}/feasibility?{flat}&shape=csv&cells=1&wrong={len(asked)}"))
        asked += [
            request(f"{url}/feasibility", {"joint": joint, "fixture": FIXTURE})
            for joint in questions(name, 10)
        ]
    random.Random(1).shuffle(asked)  # noqa: S311  # an order, no secret
    seen: list[tuple[int, float]] = []
    step = max(1, options.memory_requests // 10)

    def watch(done: int) -> None:
        if done % step == 0 or done == 100:
            seen.append((done, service.rss_mib() or 0.0))
            print(f"memory after {done:7} requests: {seen[-1][1]:7.1f} MiB", flush=True)

    load("memory", service, asked, 8, options.memory_requests, options.memory_seconds, watch=watch)
    return seen


def main() -> int:
    names = sorted(jointgeo.joint_types())
    parser = argparse.ArgumentParser(description="Measure the service against a bare echo.")
    parser.add_argument("--serve", choices=(ECHO, SERVICE), help=argparse.SUPPRESS)
    parser.add_argument("--types", nargs="+", choices=names, default=names)
    parser.add_argument("--connections", nargs="+", type=int, default=[1, 8, 64])
    parser.add_argument("--requests", type=int, default=2000, help="most for one measurement")
    parser.add_argument("--seconds", type=float, default=8.0, help="most for one measurement")
    parser.add_argument("--items", type=int, default=1000, help="joints in a batch")
    parser.add_argument("--batches", type=int, default=3, help="0 for none")
    parser.add_argument("--memory-requests", type=int, default=100_000, help="0 for none")
    parser.add_argument("--memory-seconds", type=float, default=1800.0)
    parser.add_argument("--json", type=Path, help="write the figures to this file too")
    options = parser.parse_args()
    if options.serve:
        return serve(options.serve)
    head = ("what", "conn", "answers", "rate", "median", "99 %")
    print(f"{head[0]:34} {head[1]:>4} {head[2]:>7} {head[3]:>11} {head[4]:>11} {head[5]:>11}")
    with serving(ECHO) as echo, serving(SERVICE) as service:
        alone = singles(options, echo, service)
        many = batches(options, service, alone) if options.batches else []
        rss = memory(options, service) if options.memory_requests else []
    if options.json:
        rows = [
            {**attrs.asdict(m), "rate": m.rate, "latencies_ms": sorted(m.latencies_ms)}
            for m in (*alone, *many)
        ]
        options.json.write_text(json.dumps({"measured": rows, "rss_mib": rss}))
    return 0


if __name__ == "__main__":
    sys.exit(main())
