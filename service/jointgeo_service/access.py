"""Who may ask: hosts by name, bearers of the token; and how long a URL may be.

Knows Flask's request only. Runs before anything else looks at a request.

A page on the internet can make a browser send requests to 127.0.0.1, and a name of the
page's own can be made to point there. So on the loopback only the loopback's names are
answered. Elsewhere a token does that work, and every name is taken.

Programs send the token as a bearer of it (RFC 6750). A browser cannot, but asks its user for a name
and a password where it is told to (RFC 7617): there any name does, and the token is the password.
Only who asks for a page is told so, since an office program would ask in the middle of a workbook.
"""

from __future__ import annotations

import base64
import binascii
import hmac
import re
from collections.abc import Collection
from http import HTTPStatus

import flask

from jointgeo.errors import Problem, shown
from jointgeo_service.limits import URL_CHARACTERS
from jointgeo_service.problems import RefusedError, view_takes_query

__all__ = ["LOOPBACK_NAMES", "guard"]

LOOPBACK_NAMES = ("localhost", "127.0.0.1", "[::1]")
_HOST = re.compile(r"(\[[0-9a-f:.]+\]|[a-z0-9.-]+)(?::[0-9]{1,5})?", re.ASCII | re.IGNORECASE)
_ALLOWED = "Bearer <token>; in a browser any name, with the token as the password"
#: Whoever watches over the service need not know the token to see that it answers.
OPEN = ("/healthz", "/readyz")


def guard(app: flask.Flask, token: str | None, hosts: Collection[str] | None) -> None:
    """Check every request to ``app``. hosts: names that are answered, None for all."""

    def check() -> None:
        environ = flask.request.environ  # looked up once: the request is found by its thread
        if hosts is not None:
            _check_host(environ.get("HTTP_HOST", ""), hosts)
        if token is not None and flask.request.path not in OPEN:
            pages = "text/html" in environ.get("HTTP_ACCEPT", "")
            _check_token(environ.get("HTTP_AUTHORIZATION", ""), token, pages)
        _check_length(environ)
        _check_coding(environ.get("HTTP_CONTENT_ENCODING", ""))
        if environ.get("QUERY_STRING") and not view_takes_query():
            _refuse_arguments(flask.request)

    app.before_request(check)


def _check_host(given: str, hosts: Collection[str]) -> None:
    found = _HOST.fullmatch(given)
    if found is None or found[1].lower() not in hosts:
        allowed = "one of " + ", ".join(hosts)
        problem = Problem("Host", "is not a name of this service", shown(given), allowed)
        raise RefusedError(HTTPStatus.BAD_REQUEST, problem)


def _check_token(given: str, token: str, pages: bool) -> None:
    scheme, _, key = given.partition(" ")
    scheme, borne = scheme.lower(), key.strip().encode("utf-8")
    if scheme == "basic":
        borne = _password(borne)
    # Compared as bytes and in constant time: how long it takes tells nothing of the token.
    same = hmac.compare_digest(borne, token.encode("utf-8"))
    if scheme not in ("bearer", "basic") or not same:
        problem = Problem("Authorization", "does not hold the token", None, _ALLOWED)
        challenge = f'{"Basic" if pages else "Bearer"} realm="jointgeo"'
        headers = {"WWW-Authenticate": challenge, "Vary": "Accept"}
        raise RefusedError(HTTPStatus.UNAUTHORIZED, problem, headers=headers)


def _password(key: bytes) -> bytes:
    """Of ``name:password`` in base 64; empty where it is none."""
    try:
        return base64.b64decode(key, validate=True).partition(b":")[2]
    except (binascii.Error, ValueError):
        return b""


def _check_length(environ: dict[str, str]) -> None:
    # A server gives the URL as it was sent, a test client its parts only.
    parts = len(environ.get("PATH_INFO", "")) + 1 + len(environ.get("QUERY_STRING", ""))
    length = max(parts, len(environ.get("REQUEST_URI", "")))
    if length > URL_CHARACTERS:
        allowed = f"at most {URL_CHARACTERS} characters"
        problem = Problem("URL", "is too long", f"{length} characters", allowed)
        raise RefusedError(HTTPStatus.REQUEST_URI_TOO_LONG, problem)


def _check_coding(given: str) -> None:
    """A body that is packed is refused as such, and not as JSON that cannot be read."""
    if given.strip().lower() not in ("", "identity"):
        problem = Problem(
            "Content-Encoding", "is not understood", shown(given), "identity, or none"
        )
        headers = {"Accept-Encoding": "identity"}
        raise RefusedError(HTTPStatus.UNSUPPORTED_MEDIA_TYPE, problem, headers=headers)


def _refuse_arguments(request: flask.Request) -> None:
    if request.method != "OPTIONS" and request.url_rule is not None:
        problems = [
            Problem(name[:60], "is not a known argument", shown(value), "no argument at all")
            for name, value in request.args.items()
        ]
        raise RefusedError(HTTPStatus.UNPROCESSABLE_ENTITY, *problems)
