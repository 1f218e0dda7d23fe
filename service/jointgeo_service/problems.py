"""Every refusal as RFC 9457 problem details, or as a short text in a spreadsheet's cell.

Knows Flask and jointgeo's errors; knows no route and no joint type. Whose fault it is
decides the status: the caller's is a 4xx that names each field; a joint type's is a 500 that names
type, distribution, file and line; an extra that is not installed is a 501 that says how to install
it; anything else is a fault of this service and a plain 500.
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

from jointgeo.errors import InputError, MissingExtraError, PluginError, Problem, UnknownNameError
from jointgeo_service.limits import CELL_CHARACTERS, ERRORS
from jointgeo_service.strict_json import MalformedError, encode

__all__ = [
    "MEDIA_TYPE",
    "RefusedError",
    "as_not_found",
    "cell_reason",
    "cell_words",
    "in_a_cell",
    "input_problem",
    "missing_problem",
    "plugin_problem",
    "problem",
    "register",
    "takes_query",
    "unexpected_problem",
    "view_takes_query",
]

MEDIA_TYPE = "application/problem+json"
#: The status says what kind of problem it is, and ``errors``, or the members that name a joint type
#: and its distribution, say the rest. A type of our own would need a URI of our own to point to.
BLANK = "about:blank"
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


def problem(status: int, detail: str, errors: Iterable[Problem] = ()) -> dict[str, Any]:
    """The members of RFC 9457, and ``errors`` with one entry for each field at fault. The title is
    the status's own phrase, as that RFC asks for with its type (4.2.1)."""
    title = HTTPStatus(status).phrase
    out: dict[str, Any] = {"type": BLANK, "title": title, "status": status, "detail": detail}
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
    return problem(status, detail, error.problems[:ERRORS])


def plugin_problem(error: PluginError) -> dict[str, Any]:
    """Problem details of what only a joint type's author can mend; it is logged."""
    _record(error.__cause__ or error, error.joint_type, error.where)
    status = HTTPStatus.INTERNAL_SERVER_ERROR
    detail = f"The plug-in is at fault: {error.joint_type} from {error.distribution}: {error}"
    named = {error.kind.replace(" ", "_"): error.joint_type, "distribution": error.distribution}
    named |= {"where": error.where} if error.where else {}
    return problem(status, detail) | named


def missing_problem(error: MissingExtraError) -> dict[str, Any]:
    """Problem details of what only whoever installed the service can mend. Asking again does not
    help, so it is no 503."""
    return problem(HTTPStatus.NOT_IMPLEMENTED, f"{error}")


def unexpected_problem(error: Exception) -> dict[str, Any]:
    """Problem details of a fault of this service; it is logged."""
    _record(error, "")
    status = HTTPStatus.INTERNAL_SERVER_ERROR
    detail = "The service failed. Its log says where; the input is not at fault."
    return problem(status, detail)


def _answer(details: dict[str, Any], headers: Mapping[str, str] | None = None) -> flask.Response:
    if in_a_cell():
        return flask.Response(cell_words(details), mimetype="text/plain")
    return flask.Response(
        encode(details), details["status"], dict(headers or {}), mimetype=MEDIA_TYPE
    )


def cell_words(details: Mapping[str, Any]) -> str:
    """Problem details as one short line that begins with #."""
    errors = details.get("errors")
    says = details["detail"] or details["title"]
    if errors:
        first = errors[0]
        says = f"{first['field']} {first['message']}".strip()
        says += f"; given {first['given']}" if "given" in first else ""
        says += f"; allowed: {first['allowed']}" if "allowed" in first else ""
        more = len(errors) - 1
        says += f"; and {more} more error{'s' if more > 1 else ''}" if more else ""
    text = "# " + " ".join(says.split())
    return text if len(text) <= CELL_CHARACTERS else text[: CELL_CHARACTERS - 1] + "…"


def cell_reason(*wrong: Problem) -> str:
    """The same of what the caller can mend."""
    return cell_words(input_problem(InputError(*wrong)))


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
    return view_takes_query() and "1" in flask.request.args.getlist("cells")


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


def _on_missing(error: MissingExtraError) -> flask.Response:
    return _answer(missing_problem(error))


def _on_http(error: HTTPException) -> flask.Response:
    status = HTTPStatus(error.code or 500)
    # get_headers also gives the type of werkzeug's own page, which is not what is sent.
    headers = {k: v for k, v in error.get_headers() if k.lower() != "content-type"}
    detail = error.description or status.phrase
    return _answer(problem(status, detail), headers)


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
    app.register_error_handler(MissingExtraError, _on_missing)
    app.register_error_handler(HTTPException, _on_http)
    app.register_error_handler(Exception, _on_anything)
