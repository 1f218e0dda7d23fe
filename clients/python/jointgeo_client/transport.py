"""One HTTP exchange with the service, whole or an error of ours.

Knows requests and ``errors``; knows no address of the service below its root.

Theory of operation. Every question to the service is a pure computation, POST included,
so a lost connection may be tried again without harm: a few times, each wait twice the
last. So may a question that was turned away because the service is busy or stopping
(503), or because whoever stands before several of them lost one (502, 504); where the
answer says after how many seconds, not before that, and not at all if that is longer
than the timeout. A timeout is not tried again: a service that is busy is not helped by
a second copy of the same work.

The trap: requests reads the surroundings by default. A proxy variable would send
loopback traffic to the proxy, and a .netrc entry would replace the token. ``trust_env``
is off; who needs a proxy hands in a session of their own.
"""

from __future__ import annotations

import json
import time
from collections.abc import Mapping
from typing import Any

import requests

from jointgeo_client.errors import (
    ProblemError,
    ServiceTimeoutError,
    ServiceUnreachableError,
    UnexpectedAnswerError,
)

__all__ = ["Transport"]

Params = Mapping[str, str | list[str]] | None
PROBLEM = "application/problem+json"
# Turned away unanswered, by the service or by what stands before it.
COME_AGAIN = (502, 503, 504)
# The connection was refused or reset, or broke off in the middle of the answer.
LOST = (requests.ConnectionError, requests.exceptions.ChunkedEncodingError)


class Transport:
    """Sends, waits, tries again, and turns every failure into a ClientError."""

    def __init__(
        self,
        base_url: str,
        token: str | None,
        timeout_s: float,
        retries: int,
        backoff_s: float,
        session: requests.Session | None,
    ) -> None:
        if not base_url.startswith(("http://", "https://")):
            raise ValueError(f"base_url must begin with http:// or https://, given {base_url!r}")
        if not timeout_s > 0 or retries < 0 or backoff_s < 0:
            raise ValueError("timeout_s must be above 0, retries and backoff_s at least 0")
        self.base_url = base_url.rstrip("/")
        self.timeout_s = timeout_s
        self.retries = retries
        self.backoff_s = backoff_s
        self.token = token
        self.own_session = session is None
        self.session = session or requests.Session()
        if self.own_session:
            self.session.trust_env = False

    def json(self, method: str, path: str, body: Any = None, *, member: str = "") -> Any:
        """The table that the answer's JSON is, or one list of it, by its name."""
        answer = self._ask(method, path, body, None)
        try:
            data = answer.json()
        except ValueError:
            data = None
        if isinstance(data, dict) and not member:
            return data
        if isinstance(data, dict) and isinstance(data.get(member), list):
            return data[member]
        wanted = f"a JSON table with a list of {member}" if member else "a JSON table"
        raise UnexpectedAnswerError(
            f"{answer.url} answered with {_kind(answer)!r} where {wanted} was expected"
        )

    def text(self, path: str, params: Mapping[str, str | list[str]]) -> str:
        """The text of the answer, always read as UTF-8."""
        return self._ask("GET", path, None, params).content.decode("utf-8")

    def posted_text(self, path: str, body: Any) -> str:
        """The same of a question in JSON."""
        return self._ask("POST", path, body, None).content.decode("utf-8")

    def _ask(self, method: str, path: str, body: Any, params: Params) -> requests.Response:
        url = self.base_url + path
        headers = {"Accept": f"application/json, {PROBLEM}, text/plain, text/csv"}
        data = None
        if body is not None:
            # allow_nan: JSON has only finite numbers, and a bare NaN is no JSON at all.
            data = json.dumps(body, allow_nan=False).encode("utf-8")
            headers["Content-Type"] = "application/json"
        if self.token is not None:
            headers["Authorization"] = f"Bearer {self.token}"
        answer = self._send(method, url, data, headers, params)
        if 200 <= answer.status_code < 300:
            return answer
        raise _refusal(answer)

    def _send(
        self,
        method: str,
        url: str,
        data: bytes | None,
        headers: dict[str, str],
        params: Params,
    ) -> requests.Response:
        attempt = 0
        while True:
            attempt += 1
            wait = self.backoff_s * 2 ** (attempt - 1)
            try:
                answer = self.session.request(
                    method,
                    url,
                    data=data,
                    headers=headers,
                    params=params,
                    timeout=self.timeout_s,
                    # The service never redirects; following one would carry the question,
                    # and perhaps the token, to another host.
                    allow_redirects=False,
                )
                wait = max(wait, _told_to_wait(answer))
                hopeless = answer.status_code not in COME_AGAIN or wait > self.timeout_s
                if hopeless or attempt > self.retries:
                    return answer
            except requests.Timeout:
                raise ServiceTimeoutError(url, self.timeout_s) from None
            except LOST as lost:
                # A certificate that is refused once is refused again.
                hopeless = isinstance(lost, requests.exceptions.SSLError)
                if hopeless or attempt > self.retries:
                    raise ServiceUnreachableError(url, attempt, _reason(lost)) from lost
            except requests.RequestException as failed:
                raise UnexpectedAnswerError(f"{url}: {failed}") from failed
            time.sleep(wait)


def _told_to_wait(answer: requests.Response) -> float:
    """Seconds by Retry-After (RFC 9110, 10.2.3); 0 where there is none, or a date."""
    text = answer.headers.get("Retry-After", "")
    return float(text) if text.isascii() and text.isdecimal() and len(text) < 6 else 0.0


def _kind(answer: requests.Response) -> str:
    return str(answer.headers.get("Content-Type", "no content type"))


def _refusal(answer: requests.Response) -> ProblemError | UnexpectedAnswerError:
    if _kind(answer).split(";")[0].strip() == PROBLEM:
        try:
            data = answer.json()
        except ValueError:
            data = None
        if isinstance(data, dict):
            return ProblemError.of(data, answer.status_code)
    return UnexpectedAnswerError(
        f"{answer.url} answered with status {answer.status_code} and {_kind(answer)!r}, "
        "without the problem details that a jointgeo service gives"
    )


def _reason(lost: BaseException) -> str:
    """The system's own words where it has some: what wraps them names objects, not reasons."""
    inner: BaseException | None = lost
    while inner is not None:
        if isinstance(inner, OSError) and inner.strerror:
            return inner.strerror.lower()
        reason = getattr(inner, "reason", None)
        deeper = reason if isinstance(reason, BaseException) else None
        inner = deeper or inner.__cause__ or inner.__context__
    return "the connection was closed before the answer was whole"
