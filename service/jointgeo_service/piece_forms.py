"""GET /piece/<type>: a form for a whole piece, and the answer to it, as a page for a person.

Knows forms, piece types by their contract and finished pages; knows no piece type by name.
"""

from __future__ import annotations

from typing import Any

import flask

from jointgeo.errors import InputError
from jointgeo.joints.faults import answers, origin
from jointgeo.pieces.piece_type import PieceType
from jointgeo.pieces.registry import piece_type
from jointgeo.schema.fields import describe
from jointgeo.sheet.markup import Markup, joined
from jointgeo.sheet.piece_screen import piece_screen
from jointgeo_service import frame
from jointgeo_service.drawn import Drawn
from jointgeo_service.fixtures import Fixtures
from jointgeo_service.form_parts import asked, example_links, is_first, page, starting
from jointgeo_service.forms import label
from jointgeo_service.problems import RefusedError, as_not_found, takes_query
from jointgeo_service.typed import read_typed

__all__ = ["piece_form_routes"]


def piece_form_routes(fixtures: Fixtures, drawn: Drawn) -> flask.Blueprint:
    """The form of every piece type that is installed."""
    routes = flask.Blueprint("piece_forms", __name__)

    def piece(name: str) -> flask.Response:
        def work() -> flask.Response:
            with as_not_found():
                cls = piece_type(name)
            return _page(cls, fixtures, drawn)

        return frame.at_page(work)

    routes.add_url_rule("/piece/<name>", "piece", takes_query(piece))
    return routes


def _answers(cls: type[PieceType]) -> answers:
    return answers(cls.name, origin(cls), cls.__module__)


def _page(cls: type[PieceType], fixtures: Fixtures, drawn: Drawn) -> flask.Response:
    infos = describe(cls)
    pairs = list(flask.request.args.items(multi=True))
    with _answers(cls):
        examples = [example.to_dict() for example in cls.examples()]
    first = is_first(pairs)
    own = asked(pairs, fixtures, hands=False)
    typed = read_typed(infos, pairs + starting(infos, examples[0]) if first else pairs)
    answer: Markup | None = None
    if not first:
        piece: Any = None
        try:
            with _answers(cls):
                piece = cls.from_dict(dict(typed.table))
                piece.piece()  # whose faults are those of the fields too
        except RefusedError:
            raise
        except InputError as error:
            typed = typed.with_faults(error)
        if not (typed.problems or typed.unknown or own.problems) and own.fixture is not None:
            fixture, inches = own.fixture, typed.unit == "in"
            texts = {"fixture": own.name, **typed.texts}

            def draw() -> str:
                with _answers(cls):
                    return piece_screen(piece, fixture.fixture, texts, inches)

            key = "piece", cls.name, tuple(texts.items()), fixture
            answer = joined([Markup(drawn.page(key, draw)), own.edition])
    return page(
        label(cls.name),
        f"{cls.summary.rstrip('.')}.",
        typed,
        own,
        hands=False,
        answer=answer,
        start=example_links(infos, examples, own.name),
        meaning=Markup(),
    )
