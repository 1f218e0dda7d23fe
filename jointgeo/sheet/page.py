"""The whole sheet as one HTML page that needs nothing else.

Knows sheets, sections and style; no joint type. No script, no font, no file from
elsewhere: the page works from a memory stick at a machine.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from jointgeo.checks.accuracy import contradictions
from jointgeo.fixtures.file import fixture_words
from jointgeo.jobs.report import CAUTIONS
from jointgeo.joints.sides import in_words
from jointgeo.sheet import words
from jointgeo.sheet.develop import develop
from jointgeo.sheet.envelope import envelope
from jointgeo.sheet.gluing import grain_angle_deg
from jointgeo.sheet.joint_page import joint_section
from jointgeo.sheet.layout_drawing import HOW, MOST_SHEETS, layout_sheets, sheet_count
from jointgeo.sheet.markup import Markup, element, joined
from jointgeo.sheet.model import EndSheet, JointSheet, Sheet
from jointgeo.sheet.order import Step, steps, trim_words
from jointgeo.sheet.parts import Book, items, status, table, tick
from jointgeo.sheet.setting_page import setting_section
from jointgeo.sheet.style import css
from jointgeo.solution.end import EndSolution, Use

__all__ = ["document", "page"]


def page(
    sheet: Sheet, book: Book, *, paper: str | None = None, tell: Callable[[str], None] | None = None
) -> str:
    """HTML text; its drawings are left in ``book``. ``tell`` hears what is drawn next."""
    say = tell or (lambda _: None)
    body: list[Markup] = list(_first(sheet))
    for end in sheet.ends:
        say(f"setting {end.number} of {len(sheet.ends)}")
        body.append(setting_section(book, end))
    for number, joint in enumerate(sheet.joints, 1):
        say(f"joint {number} of {len(sheet.joints)}")
        body.append(joint_section(book, number, joint))
    say("envelope and layout")
    body += [_reach(sheet, book), _layouts(sheet, book)]
    return document(sheet.title, joined(body), paper)


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


def _reach(sheet: Sheet, book: Book) -> Markup:
    """What the fixture can do, and where this job lies in it."""
    drawing = envelope(sheet)
    if drawing is None:
        return Markup()
    head = element("h2", "What this fixture can do")
    return element("section", head, book.figure("envelope", drawing), class_="new-page")


def _layouts(sheet: Sheet, book: Book) -> Markup:
    """Every cut end unrolled, at full size."""
    figures = []
    for end in sheet.ends:
        name = f"Setting {end.number}, {end.part}"
        found = develop(end.solution.plan)
        if sheet_count(found) > MOST_SHEETS:
            says = f"{name}: too large for {MOST_SHEETS} sheets, {found.width:.0f} × "
            says += f"{found.height:.0f} mm. Have it plotted in one piece (--svg or --dxf)."
            figures.append(element("p", says))
            continue
        figures += [
            book.figure(f"setting-{end.number}-layout-{i}", d, d.description.removesuffix(HOW))
            for i, d in enumerate(layout_sheets(found, name), 1)
        ]
    if not figures:
        return Markup()
    head = element("h2", "Layout at full size")
    return element("section", head, element("p", HOW), *figures, class_="new-page")


def _first(sheet: Sheet) -> Iterator[Markup]:
    yield element("h1", sheet.title)
    yield element("div", element("h2", "Before anything else"), items(CAUTIONS), class_="cautions")
    fixture = fixture_words(sheet.fixture, sheet.fixture_source)
    edition = f", edition {sheet.fixture_edition}" if sheet.fixture_edition else ""
    fixture = f"On {fixture} ({sheet.fixture.title}{edition}): "
    yield element("p", fixture, status(sheet.status, sheet.not_stated))
    yield element("h2", "Blanks")
    rows = [(f"{u.count} × {u.member}", *_blank(end.solution)) for end, u in _pieces(sheet)]
    yield table(("Pieces", "Width, mm", "Thickness, mm", "Length, mm"), rows, numbers=(1, 2, 3))
    yield element("p", "Lengths are those of the blanks, before either end is trimmed.")
    yield element("h2", "Order of work")
    yield items(_order(sheet), "ol")


def _blank(end: EndSolution) -> tuple[str, str, str]:
    part = end.part
    return words.mm(part.width_mm), words.mm(part.thickness_mm), words.mm(end.blank_mm)


def _pieces(sheet: Sheet) -> Iterator[tuple[EndSheet, Use]]:
    """Each member once, whichever of its ends is cut first."""
    seen: set[str] = set()
    for end in sheet.ends:
        for use in end.solution.uses:
            if use.member not in seen:
                seen.add(use.member)
                yield end, use


def _order(sheet: Sheet) -> Iterator[Markup | str]:
    for because in contradictions(sheet.checks):
        yield element("strong", f"DO NOT CUT YET: {because}.")
    if sheet.status == "fail":
        yield element(
            "strong",
            "DO NOT CUT YET: something below does not fit. See what fails under “Will it fit?” and "
            "change it first.",
        )
    yield (
        "Saw the blanks and mark face side and face edge on every piece, on mirrored pieces with "
        "the face edge to the other hand: every side below is named by these marks."
    )
    for step in steps(sheet):
        yield _step(step)
    if any(j.solution.drawing.pockets for j in sheet.joints):
        yield "Lay out and cut what is not cut on end (see the joints below)."
    yield "Put everything together dry before there is glue on anything."
    for joint in sheet.joints:
        yield from _glue(joint)
    for meeting in sheet.meetings:
        if meeting.awkward:
            yield element(
                "strong",
                f"WARNING: {meeting.member}: its two ends slide along lines "
                f"{meeting.apart_deg:.2f}° apart. It cannot be pushed between two neighbours that "
                "are held, nor they onto it while they are held to each other. In an open frame "
                "one end goes home after the other. In a closed one several joints may have to "
                "close at one stroke, which one member does not show: find the order dry, before "
                "there is glue on anything.",
            )


def _step(step: Step) -> Markup:
    moves = []
    swivel, tilt = step.work[0][1].setup.axes
    for new, axis in ((step.new_tilt, tilt), (step.new_swivel, swivel)):
        if not new:
            moves.append(f"leave the {axis.axis}")
        elif axis.differs:
            moves.append(words.set_scale(axis))
        else:
            moves.append(f"set the {axis.axis} to {words.angle(axis.angle_deg)}")
    head = f"{moves[0][:1].upper()}{moves[0][1:]}, {moves[1]}."
    rows = []
    for end, setup in step.work:
        which = f"Setting {end.number}" + (f", setup {setup.number}" if len(end.setups) > 1 else "")
        pieces = words.listed([words.use(u) for u in end.solution.uses])
        side, trim = in_words(setup.setup.against_plate), trim_words(setup)
        rows.append(
            joined(
                [
                    tick(),
                    f" {which}, {side} on the plate: a test piece first, then {pieces}. {trim}",
                ]
            )
        )
    return joined([head, items(rows)])


def _glue(joint: JointSheet) -> Iterator[str]:
    """Which part moves, and at what angle to its own length."""
    drawing = joint.solution.drawing
    still = [bar.name for bar in drawing.bars if bar.name not in drawing.slides]
    for name in (bar.name for bar in drawing.bars if bar.name in drawing.slides):
        lean = grain_angle_deg(drawing, name)
        if lean is None:
            continue
        how = "straight along its length" if lean < 0.005 else f"at {lean:.2f}° to its own length"
        onto = f" onto {words.listed(still)}" if still else ""
        yield f"{joint.name}: {name} goes{onto} {how}; start it straight and keep it so."
