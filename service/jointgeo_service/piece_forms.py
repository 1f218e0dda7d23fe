"""GET /piece/<type>: a form for a whole piece, and the answer to it, as a page for a person.

Knows forms, piece types by their contract and finished pages; knows no piece type by name.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import flask

from jointgeo.errors import InputError
from jointgeo.fixtures.model import Fixture
from jointgeo.joints.faults import answers, origin
from jointgeo.pieces.piece_type import PieceType
from jointgeo.pieces.registry import piece_type
from jointgeo.schema.fields import describe
from jointgeo.sheet.markup import Markup, element, joined
from jointgeo.sheet.piece_screen import piece_printed, piece_screen, piece_views
from jointgeo_service import frame
from jointgeo_service.drawn import Drawn
from jointgeo_service.fixtures import Fixtures
from jointgeo_service.form_parts import asked, example_links, is_first, link, page, starting
from jointgeo_service.forms import label
from jointgeo_service.problems import RefusedError, as_not_found, takes_query
from jointgeo_service.typed import read_typed

__all__ = ["piece_form_routes"]


def piece_form_routes(fixtures: Fixtures, drawn: Drawn) -> flask.Blueprint:
    """The form of every piece type that is installed, and its page to print."""
    routes = flask.Blueprint("piece_forms", __name__)

    def piece(name: str) -> flask.Response:
        return frame.at_page(lambda: _Piece(_found(name), fixtures, drawn).screen())

    def sheet(name: str) -> flask.Response:
        return frame.at_page(lambda: _Piece(_found(name), fixtures, drawn).sheet())

    routes.add_url_rule("/piece/<name>", "piece", takes_query(piece))
    routes.add_url_rule("/piece/<name>/sheet", "piece_sheet", takes_query(sheet))
    return routes


def _found(name: str) -> type[PieceType]:
    with as_not_found():
        return piece_type(name)


class _Piece:
    """One request for a piece of that type, read."""

    def __init__(self, cls: type[PieceType], fixtures: Fixtures, drawn: Drawn) -> None:
        self.cls, self._drawn = cls, drawn
        infos = describe(cls)
        pairs = list(flask.request.args.items(multi=True))
        with self._answers():
            examples = [example.to_dict() for example in cls.examples()]
        self.own = asked(pairs, fixtures, hands=False)
        self.start = example_links(infos, examples, self.own.name)
        first = is_first(pairs)
        filled = pairs + starting(infos, examples[0]) if first and examples else pairs
        self.typed = read_typed(infos, filled)
        self.piece: Any = None
        if first:
            return
        try:
            with self._answers():
                piece = cls.from_dict(dict(self.typed.table))
                piece.piece()  # whose faults are those of the fields too
        except RefusedError:
            raise
        except InputError as error:
            self.typed = self.typed.with_faults(error)
            return
        if not (self.typed.problems or self.typed.unknown or self.own.problems):
            self.piece = piece

    def _answers(self) -> answers:
        return answers(self.cls.name, origin(self.cls), self.cls.__module__)

    @property
    def _texts(self) -> dict[str, str]:
        return {"fixture": self.own.name, **self.typed.texts}

    def _page(self, kind: str, draw: Callable[[Fixture], str]) -> str:
        """Drawn in its turn, or kept."""
        chosen = self.own.fixture
        assert chosen is not None  # noqa: S101  # or there is a problem and no piece

        def drawing() -> str:
            with self._answers():
                return draw(chosen.fixture)

        key = kind, self.cls.name, tuple(self._texts.items()), chosen
        return self._drawn.page(key, drawing)

    def sheet(self) -> flask.Response:
        """Its page to print; the form where something is wrong with what was filled in."""
        chosen = self.own.fixture
        if self.piece is None or chosen is None:
            return self.screen()
        names = chosen.name if chosen.file else "", chosen.edition or ""
        made = self._page("piece sheet", lambda f: piece_printed(self.piece, f, names))
        return frame.html(made, forms=False)

    def screen(self) -> flask.Response:
        """Form and answer."""
        answer: Markup | None = None
        meaning = Markup()
        if self.piece is not None:
            texts, inches = self._texts, self.typed.unit == "in"
            made = self._page("piece", lambda f: piece_screen(self.piece, f, texts, inches))
            printed = link("Pages to print for the machine", f"/piece/{self.cls.name}/sheet", texts)
            answer = joined([Markup(made), self.own.edition, element("p", printed)])
        elif self.own.fixture is not None:
            meaning = Markup(self._drawn.page(("views", self.cls.name), self._views))
        return page(
            label(self.cls.name),
            f"{self.cls.summary.rstrip('.')}.",
            self.typed,
            self.own,
            hands=False,
            answer=answer,
            start=self.start,
            meaning=meaning,
            meaning_title="The first example",
        )

    def _views(self) -> str:
        """Of the first example; which fixture it is made for does not show."""
        assert self.own.fixture is not None  # noqa: S101  # asked for only where there is one
        with self._answers():
            return piece_views(self.cls.examples()[0], self.own.fixture.fixture)
