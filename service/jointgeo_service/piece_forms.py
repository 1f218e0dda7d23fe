"""GET /piece/<type>: a form for a whole piece, and the answer to it, as a page for a person.

Knows forms, piece types by their contract and finished pages; knows no piece type by name.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import flask

from jointgeo.errors import InputError
from jointgeo.pieces.piece_type import PieceType
from jointgeo.schema.fields import describe
from jointgeo.sheet.markup import Markup, element, joined
from jointgeo_service import frame
from jointgeo_service.drawn import Drawn
from jointgeo_service.elsewhere import Elsewhere, PieceTypes
from jointgeo_service.fixtures import Fixtures
from jointgeo_service.form_parts import asked, example_links, is_first, link, page, starting
from jointgeo_service.forms import label
from jointgeo_service.problems import RefusedError, as_not_found, takes_query
from jointgeo_service.typed import read_typed

__all__ = ["piece_form_routes"]


def piece_form_routes(
    types: PieceTypes, elsewhere: Elsewhere, fixtures: Fixtures, drawn: Drawn
) -> flask.Blueprint:
    """The form of every piece type, and its pages to print."""
    routes = flask.Blueprint("piece_forms", __name__)

    def read(name: str) -> _Piece:
        with as_not_found():
            cls = types.get(name)
        return _Piece(cls, elsewhere, fixtures, drawn)

    def piece(name: str) -> flask.Response:
        return frame.at_page(lambda: read(name).screen())

    def sheet(name: str) -> flask.Response:
        return frame.at_page(lambda: read(name).sheet())

    routes.add_url_rule("/piece/<name>", "piece", takes_query(piece))
    routes.add_url_rule("/piece/<name>/sheet", "piece_sheet", takes_query(sheet))
    return routes


class _Piece:
    """One request for a piece of that type, read."""

    def __init__(
        self, cls: type[PieceType], elsewhere: Elsewhere, fixtures: Fixtures, drawn: Drawn
    ) -> None:
        self.cls, self._elsewhere, self._drawn = cls, elsewhere, drawn
        infos = describe(cls)
        pairs = list(flask.request.args.items(multi=True))
        examples = self._ask("examples")
        self.own = asked(pairs, fixtures, hands=False)
        self.start = example_links(infos, examples, self.own.name)
        first = is_first(pairs)
        filled = pairs + starting(infos, examples[0]) if first and examples else pairs
        self.typed = read_typed(infos, filled)
        self.works = False
        if first:
            return
        try:
            self._ask("page checked", self._table)
        except RefusedError:
            raise
        except InputError as error:
            self.typed = self.typed.with_faults(error)
            return
        self.works = not (self.typed.problems or self.typed.unknown or self.own.problems)

    def _ask(self, what: str, *given: object) -> Any:
        return self._elsewhere.run({self.cls.name}, what, self.cls.name, *given)

    @property
    def _table(self) -> dict[str, Any]:
        return dict(self.typed.table)

    @property
    def _texts(self) -> dict[str, str]:
        return {"fixture": self.own.name, **self.typed.texts}

    def _page(self, what: str, *more: object) -> str:
        """Drawn in its turn, or kept."""
        chosen = self.own.fixture
        assert chosen is not None  # noqa: S101  # or there is a problem

        def draw() -> str:
            return str(self._ask(what, self._table, chosen.fixture, *more))

        key = "piece", what, self.cls.name, tuple(self._texts.items()), chosen
        return self._drawn.page(key, draw, own_process=self._apart)

    @property
    def _apart(self) -> bool:
        return bool(self._elsewhere.third_party({self.cls.name}))

    def sheet(self) -> flask.Response:
        """Its page to print; the form where something is wrong with what was filled in."""
        chosen = self.own.fixture
        if not self.works or chosen is None:
            return self.screen()
        names = chosen.name if chosen.file else "", chosen.edition or ""
        made = self._page("page printed", names)
        return frame.html(made, forms=False)

    def screen(self) -> flask.Response:
        """Form and answer."""
        answer: Markup | None = None
        meaning = Markup()
        if self.works:
            texts, inches = self._texts, self.typed.unit == "in"
            made = self._page("page screen", texts, inches)
            answer = joined([Markup(made), self.own.edition, self._more(texts)])
        elif self.own.fixture is not None:
            meaning = Markup(
                self._drawn.page(("views", self.cls.name), self._views, own_process=self._apart)
            )
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

    def _more(self, texts: Mapping[str, str]) -> Markup:
        """Where the same answer stands in other forms."""
        base = f"/v1/piece-types/{self.cls.name}"
        flags = {True: "true", False: "false"}
        wire = {
            name: flags[value] if isinstance(value, bool) else str(value)
            for name, value in self._table.items()
        } | {"fixture": self.own.name}
        rows = [
            link("Pages to print for the machine", f"/piece/{self.cls.name}/sheet", texts),
            link("Cut list as a table", f"{base}/cut-list", {**wire, "shape": "csv"}),
            link("Settings for programs (JSON)", f"{base}/settings", wire),
            link("Every check for programs (JSON)", f"{base}/feasibility", wire),
        ]
        return joined([element("h3", "Further"), element("ul", *(element("li", r) for r in rows))])

    def _views(self) -> str:
        """Of the first example; which fixture it is made for does not show."""
        assert self.own.fixture is not None  # noqa: S101  # asked for only where there is one
        return str(self._ask("page views", self.own.fixture.fixture))
