"""A headless Chromium that is asked over its own pipe.

Knows the DevTools protocol as far as these tests need it: pages opened at a width, texts
measured, every request and every complaint written down, PDFs printed. The protocol goes
over two file descriptors, so no port is opened and no client library is needed.
"""

from __future__ import annotations

import base64
import json
import os
import select
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import attrs
import pytest

__all__ = ["Browser", "Page", "started"]

_SWITCHES = (
    "--headless",
    "--no-sandbox",  # CI runs as root, where the sandbox cannot start
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--remote-debugging-pipe",
)
_SECONDS = 90


@attrs.define
class Page:
    """What came of opening a page.

    texts: (words, left, top, right, bottom), CSS pixels. spilt: what runs out of what holds
    it. narrow: texts of drawings wider than the room that was left for them.
    """

    width: float
    scroll_width: float
    texts: list[tuple[str, float, float, float, float]]
    requests: list[str]
    complaints: list[str]
    spilt: list[str] = attrs.field(factory=list)
    narrow: list[str] = attrs.field(factory=list)


@attrs.define
class Browser:
    """One running browser and one tab in it."""

    process: subprocess.Popen[bytes]
    into: int
    out: int
    session: str = ""
    _count: int = 0
    _held: bytes = b""
    _events: list[dict[str, Any]] = attrs.field(factory=list)

    def ask(self, method: str, **params: Any) -> dict[str, Any]:
        """Send one command and wait for its answer; events on the way are kept."""
        self._count += 1
        message: dict[str, Any] = {"id": self._count, "method": method, "params": params}
        if self.session:
            message["sessionId"] = self.session
        os.write(self.into, json.dumps(message).encode() + b"\0")
        while True:
            heard = self._hear()
            if heard.get("id") == self._count:
                if "error" in heard:
                    raise RuntimeError(f"{method}: {heard['error']}")
                return dict(heard["result"])
            self._events.append(heard)

    def _hear(self) -> dict[str, Any]:
        while b"\0" not in self._held:
            ready, _, _ = select.select([self.out], [], [], _SECONDS)
            if not ready:
                raise TimeoutError("the browser has said nothing for too long")
            piece = os.read(self.out, 1 << 20)
            if not piece:
                raise RuntimeError("the browser has gone")
            self._held += piece
        message, _, self._held = self._held.partition(b"\0")
        return dict(json.loads(message))

    def until(self, method: str) -> None:
        """Wait for an event, keeping the others."""
        if any(e.get("method") == method for e in self._events):
            return
        while True:
            heard = self._hear()
            self._events.append(heard)
            if heard.get("method") == method:
                return

    def open(self, url: str, width: int, measure: str) -> Page:
        """Open ``url`` in a window of that width; ``measure`` is a script giving the texts."""
        self._events.clear()
        self.ask(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=900,
            deviceScaleFactor=1,
            mobile=False,
        )
        self.ask("Page.navigate", url=url)
        self.until("Page.loadEventFired")
        asked = self.ask("Runtime.evaluate", expression=measure, returnByValue=True)
        found = json.loads(asked["result"]["value"])
        return Page(
            found["width"],
            found["scroll"],
            [tuple(t) for t in found["texts"]],
            [e["params"]["request"]["url"] for e in self._of("Network.requestWillBeSent")],
            [json.dumps(e["params"]) for e in self._of("Runtime.exceptionThrown")]
            + [json.dumps(e["params"]) for e in self._of("Runtime.consoleAPICalled")]
            + [json.dumps(e["params"]) for e in self._of("Log.entryAdded")],
            found["spilt"],
            found["narrow"],
        )

    def _of(self, method: str) -> list[dict[str, Any]]:
        return [e for e in self._events if e.get("method") == method]

    def pdf(self, width_mm: float, height_mm: float, *, css_size: bool) -> bytes:
        """The open page printed; ``css_size`` lets the page's own @page size stand."""
        answer = self.ask(
            "Page.printToPDF",
            paperWidth=width_mm / 25.4,
            paperHeight=height_mm / 25.4,
            preferCSSPageSize=css_size,
            printBackground=False,
        )
        return base64.b64decode(answer["data"])


@contextmanager
def started() -> Iterator[Browser]:
    """A browser for as long as it is needed; a loud skip without one, a failure in CI."""
    program = shutil.which("chromium") or shutil.which("chromium-browser")
    if program is None:
        says = "SKIPPED LOUDLY: Chromium is not installed, so no page was opened or printed"
        if os.environ.get("CI") == "true":
            pytest.fail(says)
        pytest.skip(says)
    to_read, into = os.pipe()
    out, to_write = os.pipe()
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        # The browser reads commands on descriptor 3 and answers on 4, by its own rule.
        command = ["bash", "-c", f'exec "$@" 3<&{to_read} 4>&{to_write}', "browser", program]
        command += [*_SWITCHES, f"--user-data-dir={Path(folder) / 'profile'}", "about:blank"]
        process = subprocess.Popen(
            command,
            pass_fds=(to_read, to_write),
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
        os.close(to_read)
        os.close(to_write)
        browser = Browser(process, into, out)
        try:
            targets = browser.ask("Target.getTargets")["targetInfos"]
            tab = next(t["targetId"] for t in targets if t["type"] == "page")
            attached = browser.ask("Target.attachToTarget", targetId=tab, flatten=True)
            browser.session = attached["sessionId"]
            for domain in ("Page", "Network", "Runtime", "Log"):
                browser.ask(f"{domain}.enable")
            yield browser
        finally:
            browser.session = ""
            try:
                browser.ask("Browser.close")
            except (RuntimeError, OSError, TimeoutError):
                process.kill()
            process.wait(timeout=_SECONDS)
            os.close(into)
            os.close(out)
