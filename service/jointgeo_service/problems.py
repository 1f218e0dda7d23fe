"""Every refusal as RFC 9457 problem details, or as a short text in a spreadsheet's cell.

Knows Flask and jointgeo's errors; knows no route and no joint type. Whose fault it is
decides the status: the caller's is a 4xx that names each field; a joint type's is a 500 of a type
of its own that names type, distribution, file and line; anything else is a fault of this service
and a plain 500.
"""

from __future__ import annotations

import logging
import traceback
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from http import HTTPStatus
from typing import Any, TypeVar

import flask
from werkzeug.exceptions import HTTPException

from jointgeo.errors import InputError, PluginError, Problem, UnknownNameError
from jointgeo_service.limits import CELL_CHARACTERS, ERRORS
from jointgeo_service.strict_json import MalformedError, encode

__all__ = [
    "MEDIA_TYPE",
    "RefusedError",
    "as_not_found",
    "in_a_cell",
    "input_problem",
    "plugin_problem",
    "problem",
    "register",
    "takes_query",
    "unexpected_problem",
    "view_takes_query",
]

MEDIA_TYPE = "application/problem+json"
UNUSABLE = "urn:jointgeo:problem:unusable-input"
PLUGIN = "urn:jointgeo:problem:plug-in-at-fault"
FAULTS = logging.getLogger("jointgeo_service.fault")
View = TypeVar("View", bound=Callable[..., Any])


class RefusedError(InputError):
    """The caller's fault, with a status of its own and perhaps a header."""

    def __init__(
        self, status: int, *problems: Problem, headers: Mapping[str, str] | None = None
    ) -> None:
        self.status = HTTPStatus(status)
        self.headers = dict(headers or {})
        super().__init__(*problems)


def problem(
    status: int, title: str, detail: str, kind: str, errors: Iterable[Problem] = ()
) -> dict[str, Any]:
    """The members of RFC 9457, and ``errors`` with one entry for each field at fault."""
    out: dict[str, Any] = {"type": kind, "title": title, "status": status, "detail": detail}
    listed = [_entry(p) for p in errors]
    return out | ({"errors": listed} if listed else {})


def _entry(p: Problem) -> dict[str, Any]:
    # A name is the caller's own text and may hold what cannot be printed, half a surrogate
    # pair included; the other members are made printable where they are made.
    entry = p.as_dict()
    entry["field"] = "".join(c if c.isprintable() else "\ufffd" for c in p.field)
    return entry


def input_problem(error: InputError) -> dict[str, Any]:
    """Problem details of what the caller can mend."""
    status = HTTPStatus.UNPROCESSABLE_ENTITY
    if isinstance(error, RefusedError):
        status = error.status
    elif isinstance(error, MalformedError):
        status = HTTPStatus.BAD_REQUEST
    entries = [_entry(p) for p in error.problems[:3]]
    detail = "; ".join(f"{e['field']} {e['message']}".strip() for e in entries)
    if len(error.problems) > 3:
        detail += f"; and {len(error.problems) - 3} more"
    kind = UNUSABLE if status is HTTPStatus.UNPROCESSABLE_ENTITY else "about:blank"
    title = "The input cannot be used" if kind == UNUSABLE else status.phrase
    return problem(status, title, detail, kind, error.problems[:ERRORS])


def plugin_problem(error: PluginError) -> dict[str, Any]:
    """Problem details of what only a joint type's author can mend; it is logged."""
    _record(error.__cause__ or error, error.joint_type, error.where)
    status = HTTPStatus.INTERNAL_SERVER_ERROR
    title = f"The plug-in is at fault: {error.joint_type} from {error.distribution}"
    named = {"joint_type": error.joint_type, "distribution": error.distribution}
    named |= {"where": error.where} if error.where else {}
    return problem(status, title, str(error), PLUGIN) | named


def unexpected_problem(error: Exception) -> dict[str, Any]:
    """Problem details of a fault of this service; it is logged."""
    _record(error, "")
    status = HTTPStatus.INTERNAL_SERVER_ERROR
    detail = "The service failed. Its log says where; the input is not at fault."
    return problem(status, status.phrase, detail, "about:blank")


def _answer(details: dict[str, Any], headers: Mapping[str, str] | None = None) -> flask.Response:
    if in_a_cell():
        errors = details.get("errors")
        says = details["detail"] or details["title"]
        if errors:
            first = errors[0]
            says = f"{first['field']} {first['message']}"
            says += f"; given {first['given']}" if "given" in first else ""
            says += f"; allowed: {first['allowed']}" if "allowed" in first else ""
            more = len(errors) - 1
            says += f"; and {more} more error{'s' if more > 1 else ''}" if more else ""
        text = "# " + " ".join(says.split())
        if len(text) > CELL_CHARACTERS:
            text = text[: CELL_CHARACTERS - 1] + "…"
        return flask.Response(text, mimetype="text/plain")
    return flask.Response(
        encode(details), details["status"], dict(headers or {}), mimetype=MEDIA_TYPE
    )


def takes_query(view: View) -> View:
    """Marks a view that reads a query string, and so knows cell mode; all others refuse one."""
    view.takes_query = True  # type: ignore[attr-defined]  # a mark on the function
    return view


def view_takes_query() -> bool:
    """Whether the view of this request is marked so."""
    view = flask.current_app.view_functions.get(flask.request.endpoint or "")
    return hasattr(view, "takes_query")


def in_a_cell() -> bool:
    """Whether this request asks for its errors as text with status 200."""
    request = flask.request
    if request.method not in ("GET", "HEAD"):
        return False
    return view_takes_query() and "1" in request.args.getlist("cells")


@contextmanager
def as_not_found() -> Iterator[None]:
    """Answers 404 where a name in the URL is unknown; elsewhere that is a 422."""
    try:
        yield
    except UnknownNameError as error:
        raise RefusedError(HTTPStatus.NOT_FOUND, *error.problems) from None


def _on_input(error: InputError) -> flask.Response:
    headers = error.headers if isinstance(error, RefusedError) else None
    return _answer(input_problem(error), headers)


def _on_plugin(error: PluginError) -> flask.Response:
    return _answer(plugin_problem(error))


def _on_http(error: HTTPException) -> flask.Response:
    status = HTTPStatus(error.code or 500)
    # get_headers also gives the type of werkzeug's own page, which is not what is sent.
    headers = {k: v for k, v in error.get_headers() if k.lower() != "content-type"}
    detail = error.description or status.phrase
    return _answer(problem(status, status.phrase, detail, "about:blank"), headers)


def _on_anything(error: Exception) -> flask.Response:
    return _answer(unexpected_problem(error))


def _record(error: BaseException, joint_type: str, place: str = "") -> None:
    """Where it went wrong, without the message: that may hold the caller's values."""
    frames = traceback.extract_tb(error.__traceback__)[-4:]
    where = [f"{f.filename.rpartition('/')[2]}:{f.lineno}" for f in frames]
    name = type(error).__name__
    if isinstance(error, PluginError):
        # What it was in another process; its name only, as above.
        where = [place] if place else where
        kind = error.reason.partition(":")[0]
        name = kind if kind.isidentifier() else name
    FAULTS.error(
        "fault", extra={"fields": {"error": name, "joint_type": joint_type, "where": where}}
    )


def register(app: flask.Flask) -> None:
    """Let ``app`` answer every error of its own and of the library in this form."""
    app.register_error_handler(InputError, _on_input)
    app.register_error_handler(PluginError, _on_plugin)
    app.register_error_handler(HTTPException, _on_http)
    app.register_error_handler(Exception, _on_anything)
