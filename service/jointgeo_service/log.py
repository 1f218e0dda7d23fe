"""One line of JSON for each request, and none of the caller's data in it.

Knows Flask and logging. A line names the route's pattern and not the URL, since a URL
holds what the caller sent.
"""

from __future__ import annotations

import json
import logging
import math
import sys
import time
from datetime import UTC, datetime
from functools import lru_cache

import flask

__all__ = ["configure", "line", "requests"]

#: Characters; a longer text is no name that comes again.
MOST_KEPT = 100
METHODS = frozenset(("GET", "HEAD", "OPTIONS", "POST", "PUT", "PATCH", "DELETE", "TRACE"))
LOG = logging.getLogger("jointgeo_service.request")


class _Lines(logging.Formatter):
    """A record as one JSON object; ``fields`` of the record are members of it."""

    def format(self, record: logging.LogRecord) -> str:
        at = datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds")
        line = {"time": at, "level": record.levelname.lower(), "event": record.getMessage()}
        members = (line | getattr(record, "fields", {})).items()
        return "{" + ", ".join([f"{_text(name)}: {_json(found)}" for name, found in members]) + "}"


@lru_cache(maxsize=256)
def _text(text: str) -> str:
    """The same few names, routes and methods stand in every line."""
    return json.dumps(text)


def _json(found: object) -> str:
    """As ``json.dumps``, which makes an encoder anew for each line."""
    if type(found) is str:
        return _text(found) if len(found) <= MOST_KEPT else json.dumps(found)
    plain = type(found) is int or (type(found) is float and math.isfinite(found))
    return repr(found) if plain else json.dumps(found)


def configure() -> None:
    """Send the log of the whole process to standard error, one JSON object a line."""
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(_Lines())
    logging.basicConfig(level=logging.WARNING, handlers=[handler], force=True)
    LOG.setLevel(logging.INFO)
    # It warns of every request that waits for a free thread, which is what a queue is for.
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)
    # No line tells them, and each record would ask the system for them.
    logging.logThreads = logging.logProcesses = logging.logMultiprocessing = False
    # A warning of a joint type's arithmetic is a line like all others.
    logging.captureWarnings(True)


def line(method: str, route: str | None, status: int, ms: float = 0.0) -> None:
    """One request. method: as it came; route: the pattern of the route, None for none."""
    if not LOG.isEnabledFor(logging.INFO):
        return
    known = method if method in METHODS else "?"
    fields = {"method": known, "route": route, "status": status, "ms": round(ms, 3)}
    # As ``LOG.info`` makes it, but for the search for its caller, which no line tells.
    named = {"fields": fields}
    LOG.handle(
        LOG.makeRecord(LOG.name, logging.INFO, __file__, 0, "request", (), None, extra=named)
    )


def requests(app: flask.Flask) -> None:
    """Log every request to ``app``, one line each.

    Logged when the answer is ready to be sent, but one that is streamed when its last byte has
    been handed to the server, or when the stream ended before that: ``ms`` is the time until then.
    """

    def begin() -> None:
        flask.g.began = time.perf_counter()

    def end(response: flask.Response) -> flask.Response:
        rule, method, began = flask.request.url_rule, flask.request.method, flask.g.began
        route, status = rule.rule if rule is not None else None, response.status_code

        def done() -> None:
            line(method, route, status, (time.perf_counter() - began) * 1000)

        if response.is_streamed:
            response.call_on_close(done)
        else:
            done()
        return response

    app.before_request(begin)
    app.after_request(end)
