"""A line of the log is the JSON that the standard library writes of the same members."""

from __future__ import annotations

import io
import json
import logging
import math
from collections.abc import Iterator
from typing import Any

import pytest

from jointgeo_service import log


@pytest.fixture
def lines() -> Iterator[io.StringIO]:
    """What ``configure`` lets be written, until the test ends."""
    root, before = logging.getLogger(), logging.getLogger().handlers[:]
    level, own = root.level, log.LOG.level
    flags = logging.logThreads, logging.logProcesses, logging.logMultiprocessing
    log.configure()
    (handler,) = root.handlers
    assert isinstance(handler, logging.StreamHandler)
    written = io.StringIO()
    handler.setStream(written)
    yield written
    logging.captureWarnings(False)
    logging.logThreads, logging.logProcesses, logging.logMultiprocessing = flags
    root.handlers[:] = before
    root.setLevel(level)
    log.LOG.setLevel(own)


def test_a_request_is_one_line(lines: io.StringIO) -> None:
    log.line("GET", "/v1/joint-types/<name>/values", 200, 0.12345)
    log.line("BREW", None, 404)
    first, second = lines.getvalue().splitlines()
    told = json.loads(first)
    assert list(told) == ["time", "level", "event", "method", "route", "status", "ms"]
    assert first == json.dumps(told)
    assert told["time"].endswith("+00:00")
    rest = {k: v for k, v in told.items() if k != "time"}
    assert rest == {
        "level": "info",
        "event": "request",
        "method": "GET",
        "route": "/v1/joint-types/<name>/values",
        "status": 200,
        "ms": 0.123,
    }
    assert second.endswith('"method": "?", "route": null, "status": 404, "ms": 0.0}')


@pytest.mark.parametrize(
    "value",
    ["", 'a "b" \\ c', "über\n\t\x00", "\ud800", "x" * 5000, 0, -7, True, False, None, 1e300,
     1e-7, -0.0, 12345678.9, math.inf, ["a", {"b": 1}], {"c": None}],
)  # fmt: skip
def test_every_member_is_written_as_json_is(lines: io.StringIO, value: Any) -> None:
    fields = {"a name": value, 'of "x"': value}
    for _ in range(2):  # what is kept from the first time is the same again
        log.LOG.warning("it happened: %s", "ö", extra={"fields": fields})
    for line in lines.getvalue().splitlines():
        time = json.loads(line)["time"]
        head = {"time": time, "level": "warning", "event": "it happened: ö"}
        assert line == json.dumps(head | fields)
