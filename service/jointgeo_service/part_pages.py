"""Parts of a fixture as a page to print and as a DXF file, each drawn in its turn.

Knows jointgeo's parts and their drawings, finished pages and the frame; knows no part by name, no
route and no query. Another site's page cannot have either drawn.
"""

from __future__ import annotations

from collections.abc import Callable

import attrs
import flask

from jointgeo.errors import InputError, Problem
from jointgeo.fixture_parts.catalogue import Parts, fixture_parts
from jointgeo.fixture_parts.dxf import part_dxf
from jointgeo.fixture_parts.page import parts_page
from jointgeo.fixture_parts.wanted import Wanted
from jointgeo.fixtures.file import fixture_words
from jointgeo_service import frame
from jointgeo_service.drawn import Drawn
from jointgeo_service.fixtures import Chosen
from jointgeo_service.limits import DRAWN_HOLES

__all__ = ["DXF", "PartPages", "PartsAsked"]

#: As registered with IANA (from memory).
DXF = "image/vnd.dxf"


@attrs.frozen
class PartsAsked:
    """Parts of a fixture. kinds: by name; every one that can be made where there is none."""

    chosen: Chosen
    wanted: Wanted = attrs.field(factory=Wanted)
    kinds: tuple[str, ...] = ()

    @property
    def found(self) -> Parts:
        """InputError where one that is named cannot be made."""
        return fixture_parts(self.chosen.fixture, self.wanted, self.kinds)

    @property
    def title(self) -> str:
        """Which fixture it is, as the command line's page says it, and the edition of its file."""
        chosen = self.chosen
        words = fixture_words(chosen.fixture, chosen.name if chosen.file else "")
        edition = f", edition {chosen.edition}" if chosen.edition else ""
        return f"{words}{edition}: {chosen.fixture.title}"


class PartPages:
    """drawn: what all pages share."""

    def __init__(self, drawn: Drawn) -> None:
        self._drawn = drawn

    def page(self, asked: PartsAsked, paper: str | None = None) -> flask.Response:
        """The page to print. paper: as of the command line."""
        draw = lambda: parts_page(asked.found, asked.title, paper)  # noqa: E731  # said once, here
        return frame.html(self._made("page", asked, paper, draw), forms=False)

    def dxf(self, asked: PartsAsked) -> flask.Response:
        """The file of the one part that ``asked`` names. MissingExtraError without ezdxf."""
        (kind,) = asked.kinds

        def draw() -> str:
            (part,) = asked.found.parts
            return part_dxf(part).decode()

        answer = flask.Response(self._made("dxf", asked, None, draw), mimetype=DXF)
        answer.headers.update(frame.HEADERS)
        name = f"{asked.chosen.fixture.name}-{kind.replace('_', '-')}.dxf"
        answer.headers.set("Content-Disposition", "attachment", filename=name)
        return answer

    def _made(
        self, form: str, asked: PartsAsked, paper: str | None, draw: Callable[[], str]
    ) -> str:
        frame.not_from_elsewhere()
        holes = len(asked.wanted.hole)
        if holes > DRAWN_HOLES:
            allowed = f"at most {DRAWN_HOLES} where it is drawn"
            raise InputError(Problem("hole", "has too many items", str(holes), allowed))
        # Two fixtures that came with their questions may have one name and no digest.
        key = "parts", form, asked, asked.chosen.fixture, paper
        return self._drawn.page(key, draw)
