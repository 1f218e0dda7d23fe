"""The whole sheet as one HTML page that needs nothing else, in pages of paper.

Knows sheets, their pages and style; no joint type. No script, no font, no file from
elsewhere: the page works from a memory stick at a machine.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from jointgeo.sheet.canvas import Room
from jointgeo.sheet.develop import develop
from jointgeo.sheet.flow import boxed, paragraph, title
from jointgeo.sheet.joint_page import joint_pages
from jointgeo.sheet.layout_drawing import HOW, MOST_PIECES, layout_pages, piece_count
from jointgeo.sheet.lettering import FINE
from jointgeo.sheet.markup import Markup, element, joined
from jointgeo.sheet.model import Sheet
from jointgeo.sheet.operation_page import operation_pages
from jointgeo.sheet.overview import overview_pages
from jointgeo.sheet.parts import Book
from jointgeo.sheet.piece_model import PieceSheet
from jointgeo.sheet.piece_page import glue_pages, member_pages, piece_overview
from jointgeo.sheet.style import css, sizes

__all__ = ["document", "page"]


def page(
    sheet: Sheet | PieceSheet,
    book: Book,
    *,
    paper: str | None = None,
    tell: Callable[[str], None] | None = None,
) -> str:
    """HTML text of a job, a joint or a whole piece; its drawings are left in ``book``. ``tell``
    hears what is drawn next."""
    return document(
        sheet.title, joined(_pages(sheet, book, paper, tell or (lambda _: None))), paper
    )


def _pages(
    sheet: Sheet | PieceSheet, book: Book, paper: str | None, say: Callable[[str], None]
) -> Iterator[Markup]:
    say("overview")
    if isinstance(sheet, PieceSheet):
        yield from piece_overview(book, sheet, paper)
        say("members")
        yield from member_pages(book, sheet, paper)
    else:
        yield from overview_pages(book, sheet, paper)
    for end in sheet.ends:
        say(f"operation {end.number} of {len(sheet.ends)}")
        yield from operation_pages(book, sheet.title, end, paper)
    if isinstance(sheet, PieceSheet):
        yield from glue_pages(sheet, paper)
    say("layout")
    yield from _layouts(sheet, book, paper)
    if isinstance(sheet, Sheet) and sheet.explains:
        say("what the numbers mean")
        yield from joint_pages(book, sheet, paper)


def document(title: str, body: Markup, paper: str | None = None) -> str:
    """A page with this body."""
    head = element(
        "head",
        element("meta", charset="utf-8"),
        element("meta", name="viewport", content="width=device-width, initial-scale=1"),
        # Or a browser asks the server for a picture of its own accord.
        element("link", rel="icon", href="data:,"),
        element("title", title),
        element("style", Markup(css(paper))),
    )
    return f"<!DOCTYPE html>\n{element('html', head, element('body', body), lang='en')}\n"


def _layouts(sheet: Sheet | PieceSheet, book: Book, paper: str | None) -> Iterator[Markup]:
    """Every cut end unrolled, at full size, on paper that lies on its side."""
    size = sizes(paper)
    found = [(f"Operation {e.number}, {e.part}", develop(e.solution.plan)) for e in sheet.ends]
    how = boxed(lambda wide: [paragraph(HOW, wide)], "box", size.lying_wide_mm)
    head = title("Layout at full size", Markup())
    room = Room(size.lying_wide_mm, size.lying_high_mm - head.high_mm - how.high_mm, FINE)
    for number, drawing in enumerate(layout_pages(found, room), 1):
        figure = book.figure(f"layout-{number}", drawing, captioned=False)
        says = title(drawing.title, Markup())
        yield element("section", says.made, how.made, figure.made, class_="lying")
    for name, large in found:
        if piece_count(large, room) > MOST_PIECES:
            says_so = (
                f"{name}: its layout is too large for {MOST_PIECES} pieces, {large.width:.0f} × "
            )
            says_so += f"{large.height:.0f} mm. Have it plotted in one piece (--svg or --dxf)."
            yield element("section", element("p", says_so))
