"""WSGI servers compared under clumsy clients: what each does by itself, with its public settings.

    python -m pip install waitress cheroot hypercorn granian
    python tests/service/servers.py

Knows sockets and processes; nothing of jointgeo. Each server runs the same small application with
four threads on a free port of the loopback. While each kind of client in turn misbehaves, another
one asks for /healthz; printed is how long it waited, "never" beyond ``PATIENCE``. Then what the
server makes of Content-Length beside Transfer-Encoding, and of SIGTERM with half a request sent.
"""

from __future__ import annotations

import contextlib
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

HOST = "127.0.0.1"
PATIENCE = 8.0  # seconds
SERVERS = {
    "waitress, as it comes": "import waitress; waitress.serve(app, listen=at, threads=4)",
    "waitress, set up": (
        "import waitress; waitress.serve(app, listen=at, threads=4, connection_limit=1000, "
        "asyncore_use_poll=True, channel_timeout=30, cleanup_interval=5, "
        "outbuf_high_watermark=2**30)"
    ),
    "cheroot": (
        "import cheroot.wsgi; s = cheroot.wsgi.Server((host, port), app, numthreads=4); s.start()"
    ),
    "hypercorn": (
        "import subprocess, sys; sys.exit(subprocess.call([sys.executable, '-m', 'hypercorn', "
        "'wsgi:servers:app', '-b', at]))"
    ),
    "granian": (
        "from granian import Granian; Granian('servers:app', address=host, port=port, "
        "interface='wsgi', blocking_threads=4, log_enabled=False).serve()"
    ),
}


def app(environ, start_response):  # type: ignore[no-untyped-def]  # WSGI has no types to import
    """/long is 40 MB in pieces of 40 kB, like a batch of the longest answers; all else is short."""
    start_response("200 OK", [("Content-Type", "text/plain")])
    if environ["PATH_INFO"] == "/long":
        return (b"x" * 40_000 for _ in range(1000))
    return [b"ok\n"]


def _connect(port: int, sent: bytes) -> socket.socket:
    opened = socket.create_connection((HOST, port), timeout=PATIENCE)
    opened.sendall(sent)
    return opened


def _healthy(port: int) -> str:
    """How long /healthz takes."""
    began = time.perf_counter()
    try:
        with _connect(port, b"GET /healthz HTTP/1.1\r\nHost: localhost\r\n\r\n") as connection:
            got = connection.recv(100)
    except OSError:
        return "never"
    return f"{(time.perf_counter() - began) * 1000:.0f} ms" if b" 200 " in got else "refused"


ATTACKS: dict[str, tuple[int, bytes]] = {
    "four read nothing": (4, b"GET /long HTTP/1.1\r\nHost: localhost\r\n\r\n"),
    "110 idle": (110, b""),
    "300 half headers": (300, b"GET /healthz HTTP/1.1\r\nHost: loc"),
}


def _attacked(port: int, count: int, sent: bytes) -> str:
    with contextlib.ExitStack() as stack:
        for _ in range(count):
            stack.enter_context(_connect(port, sent))
        time.sleep(1.0)
        return _healthy(port)


def _smuggled(port: int) -> str:
    body = (
        b"POST /healthz HTTP/1.1\r\nHost: localhost\r\nContent-Length: 4\r\n"
        b"Transfer-Encoding: chunked\r\n\r\n0\r\n\r\n"
    )
    try:
        with _connect(port, body) as connection:
            return connection.recv(100).split(b" ")[1].decode()
    except (OSError, IndexError):
        return "hung up"


def _stopped(port: int, process: subprocess.Popen[bytes]) -> str:
    with contextlib.closing(_connect(port, b"GET /healthz HTTP/1.1\r\nHost: loc")):
        time.sleep(0.3)
        began = time.perf_counter()
        process.send_signal(signal.SIGTERM)
        try:
            code = process.wait(timeout=PATIENCE)
        except subprocess.TimeoutExpired:
            return f"more than {PATIENCE:.0f} s"
        return f"{time.perf_counter() - began:.1f} s, code {code}"


@contextlib.contextmanager
def _running(code: str) -> Iterator[tuple[int, subprocess.Popen[bytes]]]:
    with socket.create_server((HOST, 0)) as free:
        port = free.getsockname()[1]
    head = f"from servers import app; host, port, at = {HOST!r}, {port}, '{HOST}:{port}'; "
    process = subprocess.Popen(
        [sys.executable, "-c", f"{head}\nif __name__ == '__main__':\n    {code}"],
        cwd=Path(__file__).parent,
        stderr=subprocess.DEVNULL,
    )
    try:
        for _ in range(100):
            if _healthy(port).endswith("ms"):
                break
            time.sleep(0.1)
        yield port, process
    finally:
        process.kill()
        process.wait()


def main(say: Callable[[str], None] = print) -> None:
    """Print a line for each server."""
    say(" | ".join(["server", *ATTACKS, "two lengths", "SIGTERM, half a request"]))
    for name, code in SERVERS.items():
        row = []
        for count, sent in ATTACKS.values():
            with _running(code) as (port, _):
                row.append(_attacked(port, count, sent))
        with _running(code) as (port, process):
            row += [_smuggled(port), _stopped(port, process)]
        say(" | ".join([name, *row]))


if __name__ == "__main__":
    main()
