"""Small servers on the loopback address that misbehave in one way each."""

from __future__ import annotations

import contextlib
import socket
import threading
from collections.abc import Callable, Iterator

Behaviour = Callable[[socket.socket], None]

PATIENCE_S = 20.0


def read_question(connection: socket.socket) -> bytes:
    """Everything up to the end of the question's headers."""
    got = b""
    while b"\r\n\r\n" not in got:
        piece = connection.recv(65536)
        if not piece:
            break
        got += piece
    return got


def hang_up(connection: socket.socket) -> None:
    """Read the question and close without a word."""
    read_question(connection)


def stop_half_way(connection: socket.socket) -> None:
    """Promise a thousand bytes and send a few."""
    read_question(connection)
    connection.sendall(
        b"HTTP/1.1 200 OK\r\nContent-Type: application/json\r\n"
        b'Content-Length: 1000\r\n\r\n{"joint_types": ['
    )


def reply(text: str, *, status: str = "200 OK", kind: str = "application/json") -> Behaviour:
    """A whole answer."""

    def behave(connection: socket.socket) -> None:
        read_question(connection)
        body = text.encode()
        head = f"HTTP/1.1 {status}\r\nContent-Type: {kind}\r\nContent-Length: {len(body)}\r\n"
        connection.sendall(f"{head}Connection: close\r\n\r\n".encode() + body)

    return behave


def silence(until: threading.Event) -> Behaviour:
    """Read the question and say nothing until told."""

    def behave(connection: socket.socket) -> None:
        read_question(connection)
        until.wait(PATIENCE_S)

    return behave


@contextlib.contextmanager
def behaving(*behaviours: Behaviour) -> Iterator[tuple[str, list[bytes]]]:
    """A server that meets each connection in turn with the next behaviour, the last one for ever.

    Gives its address and the list of connections met so far, one entry each.
    """
    met: list[bytes] = []
    with socket.create_server(("127.0.0.1", 0)) as listener:
        listener.settimeout(PATIENCE_S)
        done = threading.Event()

        def serve() -> None:
            while not done.is_set():
                try:
                    connection, _ = listener.accept()
                except OSError:
                    return
                with connection:
                    if done.is_set():
                        return
                    connection.settimeout(PATIENCE_S)
                    behave = behaviours[min(len(met), len(behaviours) - 1)]
                    met.append(b"")
                    with contextlib.suppress(OSError):
                        behave(connection)

        thread = threading.Thread(target=serve)
        thread.start()
        port = listener.getsockname()[1]
        try:
            yield f"http://127.0.0.1:{port}", met
        finally:
            done.set()
            # A last connection wakes the listener, so that nothing waits for a timeout.
            with contextlib.suppress(OSError):
                socket.create_connection(("127.0.0.1", port), PATIENCE_S).close()
            thread.join(PATIENCE_S)


def unused_port() -> int:
    """A port on which nothing listens."""
    with socket.create_server(("127.0.0.1", 0)) as listener:
        port: int = listener.getsockname()[1]
        return port
