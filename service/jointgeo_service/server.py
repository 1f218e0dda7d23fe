"""The service on waitress: where it listens, and how it stops without losing an answer.

Knows sockets, signals and waitress; knows no route.

Theory of operation. One loop reads and writes for every connection, so that a client that is slow
at either takes no thread; threads only answer. An answer that nobody reads waits in a file, not in
the thread that made it, and its connection is closed after ``IDLE_SECONDS``, as one is that says
nothing. waitress does all this by its settings; DEVELOPERS.md says what it was compared with.

Its own ``run`` ends on a signal with whatever is under way cut off. Here the same loop is turned by
hand: the first signal closes the listening socket; connections with nothing under way are closed,
those with half a request after ``HALF_SECONDS``, those whose answer nobody reads after
``UNREAD_SECONDS``; and the loop goes on until the others have their answers or ``STOP_SECONDS`` are
over. A second signal does not wait.
"""

from __future__ import annotations

import contextlib
import gc
import ipaddress
import logging
import os
import select
import signal
import socket
import sys
import threading
import time
from collections.abc import Callable, Iterable
from http import HTTPStatus
from pathlib import Path
from typing import Any

import waitress.channel  # type: ignore[import-untyped]  # waitress ships no types
import waitress.parser  # type: ignore[import-untyped]  # waitress ships no types
import waitress.server  # type: ignore[import-untyped]  # waitress ships no types
import waitress.task  # type: ignore[import-untyped]  # waitress ships no types
from waitress import wasyncore
from waitress.buffers import OverflowableBuffer  # type: ignore[import-untyped]  # no types

from jointgeo.errors import FixtureError
from jointgeo_service import log
from jointgeo_service.access import LOOPBACK_NAMES
from jointgeo_service.app import create_app
from jointgeo_service.fixtures import Fixtures
from jointgeo_service.limits import (
    BATCH_BYTES,
    CONNECTIONS,
    HALF_SECONDS,
    IDLE_SECONDS,
    STOP_SECONDS,
    THREADS,
    UNREAD_SECONDS,
)
from jointgeo_service.problems import MEDIA_TYPE, problem
from jointgeo_service.strict_json import encode

__all__ = ["Service", "StartError", "answered_hosts", "serve"]

TOKEN = "JOINTGEO_TOKEN"  # noqa: S105  # the name of the variable, not its value
LOG = logging.getLogger("jointgeo_service.server")
#: A body beyond its limit is still read up to this, so that its sender gets to read the
#: refusal; beyond this waitress hangs up.
MOST_READ = 4 * BATCH_BYTES
#: No answer is so long that the thread which makes it must wait for whoever reads it: what is not
#: fetched beyond so many bytes waits in a temporary file.
MOST_WAITING, IN_MEMORY = 2**40, 256 * 1024
#: A buffer that is fetched as fast as it is filled never gets that far, and gives nothing back
#: before it is closed: after so many bytes another one takes its place.
PER_BUFFER = 4 * 1024 * 1024


#: So many more objects than before are looked through for rings of garbage. Hardly any question
#: leaves one, and what is kept for those who ask again goes by itself, most of it before that.
GARBAGE = 50_000


class StartError(Exception):
    """The service cannot start as it was asked to; the message says why."""


class _Parser(waitress.parser.HTTPRequestParser):  # type: ignore[misc]  # waitress ships no types
    """Refuses a request whose length is told in two ways (RFC 9112, 6.1 and 6.3).

    Whoever stands between might believe the other one, and take the rest for a second request.
    """

    def parse_header(self, header_plus: bytes) -> None:
        super().parse_header(header_plus)
        # waitress takes the coding out of the headers where it obeys it.
        coded = self.chunked or "TRANSFER_ENCODING" in self.headers
        if coded and ("CONTENT_LENGTH" in self.headers or self.version == "1.0"):
            raise waitress.parser.ParsingError(
                "Transfer-Encoding beside Content-Length, or in HTTP/1.0"
            )


class _ProblemTask(waitress.task.ErrorTask):  # type: ignore[misc]  # waitress ships no types
    """What waitress refuses before any route sees it, in the form of all other refusals."""

    def execute(self) -> None:
        error = self.request.error
        status = HTTPStatus(error.code)
        body = encode(problem(status, str(error.body)))
        self.status = f"{status.value} {status.phrase}"
        self.response_headers.append(("Content-Type", MEDIA_TYPE))
        self.response_headers.append(("X-Content-Type-Options", "nosniff"))
        self.set_close_on_finish()
        self.content_length = len(body)
        self.write(body)
        log.line("?", None, status)


class _Task(waitress.task.WSGITask):  # type: ignore[misc]  # waitress ships no types
    """A request whose every failure is one that waitress sees.

    It refuses what raised an Exception, or hangs up where part of the answer is sent, without the
    last chunk, so that the rest is missed. Anything else that Python can raise would leave the
    connection open for ever, and its client waiting.
    """

    def service(self) -> None:
        try:
            super().service()
        except Exception:
            raise
        except BaseException as error:
            raise RuntimeError(f"{type(error).__name__} ended a request") from error


class _Channel(waitress.channel.HTTPChannel):  # type: ignore[misc]  # waitress ships no types
    parser_class = _Parser
    task_class = _Task
    error_task_class = _ProblemTask
    current_outbuf_count: int

    def write_soon(self, data: Any) -> int:
        """Called by the thread that answers, with the next piece."""
        if self.current_outbuf_count >= PER_BUFFER:
            with self.outbuf_lock:
                self.outbufs.append(OverflowableBuffer(self.adj.outbuf_overflow))
                self.current_outbuf_count = 0
        return int(super().write_soon(data))

    def writable(self) -> bool:
        """Whether the loop has something to send, and may.

        While a thread that answers is sending by itself, the loop can do nothing for this
        connection, though the system calls it ready: it would turn round and round, and keep
        the interpreter from the very thread it waits for. With many connections no answer got
        through any more. That thread wakes the loop when its answer is whole; what it leaves
        over before waits for its next piece, or for the next turn of the loop, which comes
        within a second. If it has so much that it must wait for the loop, the loop may turn.
        """
        if self.outbuf_lock.acquire(blocking=False):
            self.outbuf_lock.release()
        elif not self.will_close and self.total_outbufs_len <= self.adj.outbuf_high_watermark:
            return False
        return bool(super().writable())

    def left(self, stopping: float) -> str:
        """What keeps it open while the server stops, since ``stopping`` seconds: "" for nothing,
        "unread" for an answer that is not fetched, else "under way"."""
        if self.requests:
            return "under way"
        if self.total_outbufs_len:
            silent = time.time() - self.last_activity
            return "unread" if silent > UNREAD_SECONDS else "under way"
        return "" if self.request is None or stopping > HALF_SECONDS else "under way"


class Service:
    """A waitress server on an open socket. stopping: set by the first ``stop``."""

    def __init__(
        self, app: Any, listening: socket.socket, stopping: threading.Event | None = None
    ) -> None:
        self._stopping = stopping or threading.Event()
        self._sockets: dict[int, Any] = {}
        self._server = waitress.server.create_server(
            app,
            map=self._sockets,
            sockets=[listening],
            threads=THREADS,
            ident="jointgeo",
            max_request_body_size=MOST_READ,
            connection_limit=_connections(),
            channel_timeout=IDLE_SECONDS,
            cleanup_interval=max(1, IDLE_SECONDS // 6),
            outbuf_high_watermark=MOST_WAITING,
            outbuf_overflow=IN_MEMORY,
        )
        self._server.channel_class = _Channel
        self._signals, self._ended = 0, False

    def stop(self, *_: object) -> None:
        """Ask for a stop; asked twice, it does not wait. May be called from a signal handler."""
        self._signals += 1
        self._stopping.set()
        if not self._ended:
            self._server.pull_trigger()

    def run(self) -> bool:
        """Answer requests until ``stop``. True if every request under way was finished."""
        # What was loaded stays loaded: a full collection need not look through it each time.
        gc.collect()
        gc.freeze()
        gc.set_threshold(GARBAGE)
        while not self._signals:
            self._turn(1.0)
        # The listening socket only: the trigger by which threads wake the loop stays.
        wasyncore.dispatcher.close(self._server)
        self._turn(0.0)
        done = self._drained()
        self._ended = True
        self._server.close()
        return done

    def _turn(self, seconds: float) -> None:
        wasyncore.loop(timeout=seconds, use_poll=True, map=self._sockets, count=1)

    def _drained(self) -> bool:
        began, lost = time.monotonic(), False
        while (stopping := time.monotonic() - began) < STOP_SECONDS and self._signals < 2:
            for channel in list(self._server.active_channels.values()):
                left = channel.left(stopping)
                lost = lost or left == "unread"
                if left != "under way":
                    channel.handle_close()
            if not self._server.active_channels:
                return not lost
            self._turn(0.1)
        return False


def _connections() -> int:
    """As many connections as the system lets a process hold, each with a file for its answer."""
    if not hasattr(select, "poll"):
        return min(CONNECTIONS, 400)  # select() takes 512 sockets on Windows, and knows no poll()
    import resource

    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    wanted = 2 * CONNECTIONS + 100
    if soft < wanted:
        # The most that may be asked for without being refused is told by the system itself.
        soft = wanted if hard == resource.RLIM_INFINITY else min(wanted, hard)
        with contextlib.suppress(ValueError, OSError):
            resource.setrlimit(resource.RLIMIT_NOFILE, (soft, hard))
        soft = resource.getrlimit(resource.RLIMIT_NOFILE)[0]
    return max(50, min(CONNECTIONS, (soft - 100) // 2))


def serve(
    host: str,
    port: int,
    say: Callable[[str], None] = print,
    *,
    folder: Path | None = None,
    files: Iterable[Path] = (),
) -> int:
    """Serve until a signal says stop; the exit code. Raises StartError where it cannot.

    say: is told the address, once the socket is open. folder, files: of fixtures, beside those that
    ship.
    """
    token = _token()
    fixtures = _fixtures(folder, files)
    family, address = _resolved(host, port)
    hosts = answered_hosts(address[0], token)
    with _open(family, address) as listening:
        port = listening.getsockname()[1]
        log.configure()
        stopping = threading.Event()
        app = create_app(token=token, hosts=hosts, fixtures=fixtures, stopping=stopping)
        service = Service(app, listening, stopping)
        for kind in (signal.SIGINT, signal.SIGTERM):
            signal.signal(kind, service.stop)
        url = f"http://{_name(address[0])}:{port}"
        say(f"jointgeo serve: listening at {url} (pages to fill in; API page at /docs)")
        sys.stdout.flush()
        if service.run():
            return 0
    LOG.error("stopped with requests unanswered")
    return 1


def _fixtures(folder: Path | None, files: Iterable[Path]) -> Fixtures:
    if folder is not None and not folder.is_dir():
        raise StartError(f"the folder of fixtures {str(folder)!r} is not there or no folder")
    try:
        return Fixtures(folder, files)
    except FixtureError as error:
        raise StartError(str(error)) from None


def _token() -> str | None:
    token = os.environ.get(TOKEN) or None
    if token is not None and not (token.isascii() and token.isprintable() and " " not in token):
        raise StartError(f"{TOKEN} must be printable ASCII without spaces, to stand in a header")
    return token


def answered_hosts(address: str, token: str | None) -> tuple[str, ...] | None:
    """The names in Host that are answered at an address; None for all, which takes a token.

    Raises StartError where other machines can reach the address and there is no token.
    """
    if ipaddress.ip_address(address.partition("%")[0]).is_loopback:
        return tuple(dict.fromkeys((*LOOPBACK_NAMES, _name(address))))
    if token is None:
        raise StartError(
            f"{address} can be reached from other machines: set {TOKEN} to a secret of your "
            "own, which every request must then bear, or listen at 127.0.0.1"
        )
    return None


def _name(address: str) -> str:
    return f"[{address}]" if ":" in address else address


def _resolved(host: str, port: int) -> tuple[int, Any]:
    """Family and address of the socket to open; StartError says that there is none."""
    try:
        found = socket.getaddrinfo(host or "?", port, type=socket.SOCK_STREAM)
    except (OSError, UnicodeError) as error:
        raise StartError(f"the host {host!r} cannot be resolved: {error}") from None
    family, _, _, _, address = min(found, key=lambda f: f[0] != socket.AF_INET)
    return family, address


def _open(family: int, address: Any) -> socket.socket:
    """A listening socket; StartError says in words why there is none."""
    opened = socket.socket(family, socket.SOCK_STREAM)
    try:
        if os.name == "posix":  # elsewhere it would let two services share one port
            opened.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        opened.bind(address)
        # Two sockets may be bound to one port; it is listening that is refused.
        opened.listen(1024)
    except OSError as error:
        opened.close()
        reason = (error.strerror or str(error)).lower()
        where = f"port {address[1]} of {address[0]}"
        raise StartError(f"{where} cannot be opened: {reason}") from None
    return opened
