"""Whole pieces over HTTP: piece types, each part of an answer, a piece file's data, many at once.

Knows the piece questions and shapes; knows no type by name: routes are made for whatever piece
types there are. What takes seconds waits for a turn, so that short questions overtake it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from typing import Any

import attrs
import flask
from werkzeug.exceptions import NotFound

from jointgeo_service.answers import ref
from jointgeo_service.api import Routes
from jointgeo_service.elsewhere import Elsewhere
from jointgeo_service.piece_answers import answer_schema
from jointgeo_service.piece_batches import piece_answers
from jointgeo_service.piece_queries import PieceQuery
from jointgeo_service.piece_questions import PieceAsked, PieceQuestions
from jointgeo_service.piece_shapes import TABLES, csv_table, picked, tsv_table
from jointgeo_service.problems import as_not_found, takes_query
from jointgeo_service.strict_json import encode, read_json
from jointgeo_service.turns import Turns

__all__ = ["answer_content", "in_turn", "piece_routes", "shaped", "unknown_piece_routes"]

SUMMARIES = {
    "answer": "The whole piece: bars, joints, cut list, settings, checks",
    "cut-list": "Its cut list, the wood it takes, and what a tape must show",
    "settings": "What to set and cut",
    "feasibility": "Whether it is feasible, by how much, and what to change",
    "marks": "Where to strike mortises and housings",
    "closing": "Whether it closes",
    "assembly": "How it is put together",
}
#: Parts of the answer that take seconds.
SLOW = ("closing", "assembly")


def piece_routes(questions: PieceQuestions, turns: Turns) -> Routes:
    """Every route about pieces; those of one type too."""
    routes = Routes("pieces", __name__, description="Whole pieces from the drawing of the room")
    types, elsewhere = questions.types, questions.elsewhere
    listed = {
        "piece_types": [types.summary(name) for name in types.known],
        "refused": [attrs.asdict(f) for f in types.refused],
    }

    def piece_types() -> flask.Response:
        return _json(listed)

    def piece_type(name: str) -> flask.Response:
        with as_not_found():
            types.get(name)
        examples = elsewhere.run({name}, "examples", name)
        return _json({**types.summary(name), "examples": examples})

    _add(routes, "/v1/piece-types", "get_piece_types", piece_types, "Every piece type",
         "piece_types")  # fmt: skip
    name = {
        "in": "path",
        "name": "name",
        "required": True,
        "description": "Name of the piece type",
        "schema": {"enum": list(types.known)},
    }
    _add(routes, "/v1/piece-types/<name>", "get_piece_type", piece_type,
         "One piece type with examples", "piece_type", [name])  # fmt: skip
    for want in SUMMARIES:
        for known in types.known:
            _of_type(routes, questions, turns, known, want)
        url, at = f"/v1/pieces/{want}", f"post_piece_{want.replace('-', '_')}"
        _post(routes, questions, turns, "", want, url, at)
    _batch(routes, questions, turns)
    return routes


def unknown_piece_routes(app: flask.Flask, questions: PieceQuestions) -> None:
    """The same URLs for a type that there is not: an error, in cell mode too."""

    @takes_query
    def unknown(name: str) -> flask.Response:
        with as_not_found():
            questions.types.get(name)
        raise NotFound

    for want in SUMMARIES:
        url, at = f"/v1/piece-types/<name>/{want}", f"unknown_piece_{want}"
        app.add_url_rule(url, at, unknown, methods=["GET", "POST"])


def answer_content(schema: str, *, forms: tuple[str, ...] = ()) -> dict[int, Any]:
    """The documented answer. forms: the media types beside JSON."""
    content: dict[str, Any] = {form: {"schema": {"type": "string"}} for form in forms}
    content["application/json"] = {"schema": ref(schema)}
    return {200: {"description": "The answer", "content": content}}


def shaped(want: str, answer: dict[str, Any], own: Mapping[str, Any]) -> flask.Response:
    """An answer as JSON, as a table, or the one value at a path. own: the query's arguments."""
    shape = own["shape"]
    written = encode(answer)
    if shape == "json":
        return flask.Response(written, mimetype="application/json")
    plain: Any = read_json(written)
    if shape == "csv":
        text = csv_table(want, plain)
        return flask.Response(text, content_type="text/csv; charset=utf-8; header=present")
    if shape == "tsv":
        text = tsv_table(want, plain, own["heading"])
        kind = "text/tab-separated-values; charset=utf-8; header=present"
        return flask.Response(text, content_type=kind)
    return flask.Response(picked(plain, own["pick"]), mimetype="text/plain")


@contextmanager
def in_turn(turns: Turns, *, wanted: bool = True) -> Iterator[None]:
    """Holds a turn, where one is wanted; RefusedError, a 503, where there is none."""
    give_back = turns.take() if wanted else lambda: None
    try:
        yield
    finally:
        give_back()


def _json(value: Any) -> flask.Response:
    return flask.Response(encode(value), mimetype="application/json")


def _add(
    routes: Routes,
    url: str,
    at: str,
    view: Callable[..., flask.Response],
    summary: str,
    schema: str,
    parameters: list[Any] | None = None,
) -> None:
    described = routes.doc(summary=summary, operationId=at, responses=answer_content(schema))(view)
    routes.add_url_rule(url, at, described, parameters=parameters or [])


def _answered(elsewhere: Elsewhere, turns: Turns, asked: PieceAsked, want: str) -> dict[str, Any]:
    # Who answers in a process of its own takes nobody else's turn.
    here = want in SLOW and not elsewhere.third_party(asked.types)
    with in_turn(turns, wanted=here):
        return asked.answered(elsewhere, want)[want]


def _of_type(routes: Routes, questions: PieceQuestions, turns: Turns, name: str, want: str) -> None:
    url, at = f"/v1/piece-types/{name}/{want}", f"{name}_piece_{want.replace('-', '_')}"
    query = PieceQuery(
        name, questions.types.get(name), want, questions.elsewhere, questions.fixtures
    )

    def get() -> flask.Response:
        asked, own = query.read(flask.request.args.items(multi=True))
        return shaped(want, _answered(questions.elsewhere, turns, asked, want), own)

    tables = ("text/csv", "text/tab-separated-values") if want in TABLES else ()
    forms = (*tables, "text/plain")
    view = routes.doc(
        summary=SUMMARIES[want],
        operationId=f"get_{at}",
        parameters=[{"in": "query", "schema": query.schema}],
        responses=answer_content(answer_schema(want), forms=forms),
    )(get)
    routes.add_url_rule(url, f"get_{at}", takes_query(view))
    _post(routes, questions, turns, name, want, url, f"post_{at}")


def _post(
    routes: Routes,
    questions: PieceQuestions,
    turns: Turns,
    name: str,
    want: str,
    url: str,
    at: str,
) -> None:
    body = questions.bodies[name] if name else questions.file

    def post(loaded: dict[str, Any]) -> flask.Response:
        asked = questions.asked(name, loaded)
        return _json(_answered(questions.elsewhere, turns, asked, want))

    described = routes.doc(
        summary=SUMMARIES[want],
        operationId=at,
        responses=answer_content(answer_schema(want)),
    )(post)
    routes.add_url_rule(url, at, routes.arguments(body)(described), methods=["POST"])


def _batch(routes: Routes, questions: PieceQuestions, turns: Turns) -> None:
    def batch(loaded: dict[str, Any]) -> flask.Response:
        give_back = turns.take()
        answer = flask.Response(
            _written(piece_answers(questions, loaded["items"]), give_back),
            mimetype="application/json",
        )
        answer.call_on_close(give_back)
        return answer

    described = routes.doc(
        summary="Many pieces, each answered by itself, in order",
        operationId="post_piece_batch",
        responses=answer_content("piece_batch_answer"),
    )(batch)
    view = routes.arguments(questions.batch)(described)
    routes.add_url_rule("/v1/pieces/batch", "post_piece_batch", view, methods=["POST"])


def _written(answers: Iterator[bytes], give_back: Callable[[], None]) -> Iterator[bytes]:
    """The JSON of all answers, an item at a time."""
    lead = b'{"items":['
    try:
        for answer in answers:
            yield lead + answer
            lead = b","
        yield b"]}" if lead == b"," else b'{"items":[]}'
    finally:
        give_back()
