"""What the browser tests share: one browser, and the page as a live service gives it."""

from __future__ import annotations

import os
import shutil
import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import pytest

from .browser import Browser, started
from .samples import JOBS, book_of


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """A headless Chromium; see ``browser.started`` for what happens without one."""
    with started() as found:
        yield found


@pytest.fixture(scope="session")
def poppler() -> None:
    """The PDF tools; a loud skip without them, a failure in CI."""
    if shutil.which("pdftotext") is None or shutil.which("pdftoppm") is None:
        says = "SKIPPED LOUDLY: poppler's tools are not installed, so no PDF was measured"
        if os.environ.get("CI") == "true":
            pytest.fail(says)
        pytest.skip(says)


@pytest.fixture(scope="session")
def service() -> Iterator[str]:
    """The URL of a live service on a free port of the loopback."""
    # Only here, so that the library's own pages are tested without a service.
    from werkzeug.serving import make_server

    from jointgeo_service.app import create_app

    app = create_app()
    server = make_server("127.0.0.1", 0, app, threaded=True)
    with _running(server):
        yield f"http://127.0.0.1:{server.server_port}"


class _Pages(BaseHTTPRequestHandler):
    """Demo jobs at /<name>."""

    def do_GET(self) -> None:
        name = self.path.strip("/")
        if name not in JOBS:
            self.send_error(404)
            return
        body = book_of(name)[0].encode()
        self.send_response(200)
        self.send_header("Content-Type", "text/html; charset=utf-8")
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *_: object) -> None:
        """Say nothing."""


@pytest.fixture(scope="session")
def jobs() -> Iterator[str]:
    """The URL under which the demo jobs' pages stand."""
    server = ThreadingHTTPServer(("127.0.0.1", 0), _Pages)
    with _running(server):
        yield f"http://127.0.0.1:{server.server_port}"


class _running:  # noqa: N801  # used as a word, like the standard library's own
    """Serves in a thread of its own until it is left."""

    def __init__(self, server: object) -> None:
        self.server = server
        self.thread = threading.Thread(target=server.serve_forever)  # type: ignore[attr-defined]  # both kinds have it

    def __enter__(self) -> None:
        self.thread.start()

    def __exit__(self, *_: object) -> None:
        self.server.shutdown()  # type: ignore[attr-defined]  # the same
        self.thread.join()
        self.server.server_close()  # type: ignore[attr-defined]  # the same
