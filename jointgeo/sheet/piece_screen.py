"""The answer for a whole piece as a person reads it on a screen.

Knows solved pieces and markup; knows no piece type by name and no HTTP. The verdict first, then
what a tape shows, the cut list, every clamping once, and what was found with what to change, as a
link where a number of the form does it. Where anything fails no operation is shown as one to be
cut: a bar is no use without the others.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from math import isfinite

import attrs

from jointgeo.checks.accuracy import contradictions
from jointgeo.fixtures.model import Fixture
from jointgeo.joints.sides import in_words
from jointgeo.pieces.answerfile import solve_piece_file
from jointgeo.pieces.file import PieceFile
from jointgeo.pieces.piece_type import PieceType
from jointgeo.pieces.solve import PieceAnswer
from jointgeo.pieces.ways import ways
from jointgeo.schema.units import fixed, nearest_fraction
from jointgeo.sheet import words
from jointgeo.sheet.canvas import Room
from jointgeo.sheet.change_links import MENDED, change_link, enough
from jointgeo.sheet.lettering import FINE
from jointgeo.sheet.markup import Markup, element, joined
from jointgeo.sheet.page import page
from jointgeo.sheet.parts import Book
from jointgeo.sheet.piece_model import PieceSheet, sheet_of_piece
from jointgeo.sheet.piece_views import put_together, three_views
from jointgeo.sheet.screen import screen_figure
from jointgeo.sheet.screen_findings import cautions, findings, verdict
from jointgeo.solution.axis import DOUBT, AxisSetting
from jointgeo.solution.end import EndSolution
from jointgeo.solution.setup import Setup

__all__ = ["piece_printed", "piece_screen", "piece_views"]

Length = Callable[[float], str]
#: As wide as half of a wide screen; on a telephone letters can still be read.
TOGETHER = Room(106.0, 85.0, FINE)
VIEWS = Room(120.0, 120.0, FINE)


def piece_screen(
    drawn: PieceType, fixture: Fixture, asked: Mapping[str, str], inches: bool = False
) -> str:
    """A piece of HTML. asked and inches: as of ``joint_screen``."""
    sheet = _sheet(drawn, fixture)
    answer = sheet.solved.answer
    stopped = not answer.feasible

    def mm(value: float) -> str:
        return words.mm(value) + (f" ({nearest_fraction(value)})" if inches else "")

    name = asked.get("fixture", fixture.name)
    found = ways(drawn, answer, inches=inches)
    links = {(m.finding, m.remedy.says): change_link(m.change, asked, inches, MENDED)
             for m in found.remedies}  # fmt: skip
    body = [
        verdict(answer.status, answer.not_stated, name, answer.every_check),
        cautions(),
        *(_doubt(because) for because in contradictions(answer.every_check)),
        enough(found.enough, asked, inches),
        findings(answer.every_check, links) if stopped else Markup(),
        _pictures(sheet),
        element("h3", "What a tape shows, mm"),
        _table((), ((what, mm(v)) for what, v in drawn.measured().items())),
        *_cut_list(answer, mm),
        *_operations(answer, mm, stopped=stopped),
        *_closing(answer, mm),
        Markup() if stopped else findings(answer.every_check, links),
    ]
    return joined(body)


def piece_views(drawn: PieceType, fixture: Fixture) -> str:
    """The piece put together and in three views."""
    return _pictures(_sheet(drawn, fixture))


def piece_printed(drawn: PieceType, fixture: Fixture, names: tuple[str, str]) -> str:
    """Its sheet, a page to print. names: of the fixture's file, "" for one that ships, and its
    edition."""
    sheet = _sheet(drawn, fixture, names[0])
    return page(attrs.evolve(sheet, fixture_edition=names[1]), Book())


def _sheet(drawn: PieceType, fixture: Fixture, source: str = "") -> PieceSheet:
    piece = drawn.piece()
    file = PieceFile(piece.title, fixture, piece, {}, fixture_source=source)
    return sheet_of_piece(solve_piece_file(file))


def _pictures(sheet: PieceSheet) -> Markup:
    drawings = {
        "together": put_together(sheet, TOGETHER),
        "views": three_views(sheet, VIEWS),
    }
    made = (screen_figure(name, drawing) for name, drawing in drawings.items())
    return element("div", *made, class_="pictures")


def _doubt(because: str) -> Markup:
    return element("p", element("strong", f"Do not cut yet: {because}."))


def _cut_list(answer: PieceAnswer, mm: Length) -> Iterator[Markup]:
    yield element("h3", "Cut list, mm")
    rows = []
    for member in answer.members:
        hands = f", {member.mirrored} of them mirrored" if member.mirrored else ""
        size = f"{mm(member.width_mm)} × {mm(member.thickness_mm)}"
        row = (f"{member.count} × {member.name}{hands}", size, mm(member.blank_mm))
        rows.append((*row, mm(member.length_mm)))
    yield _table(("Pieces", "Section", "Blank", "Finished"), rows)


def _operations(answer: PieceAnswer, mm: Length, *, stopped: bool) -> Iterator[Markup]:
    if not answer.settings:
        return
    if stopped:
        yield element("h3", "Not to be cut")
        yield element(
            "p",
            "Something fails, see above. What the drawing asks for, so that it can be compared "
            "with what the fixture can do:",
        )
    else:
        yield element("h3", "Each operation, in the order to cut them")
    rows = [_operation(n, end, s, mm, stopped=stopped)
            for n, end in enumerate(answer.settings, 1) for s in end.setups]  # fmt: skip
    heads = ("For", "Sides", "True swivel", "True tilt") if stopped else (
        "For", "Sides", "Swivel", "Tilt", "Overhang, mm")  # fmt: skip
    yield _table(heads, rows)
    warned: dict[str, list[str]] = {}
    for number, end in enumerate(answer.settings, 1):
        for caution in dict.fromkeys(c for s in end.setups for c in s.cautions):
            warned.setdefault(caution, []).append(str(number))
    if warned and not stopped:
        rows_of = (
            element("li", f"Operation {words.listed(numbers)}: {caution}.")
            for caution, numbers in warned.items()
        )
        mind = element("p", element("strong", "Mind, at the machine"))
        yield element("div", mind, element("ul", *rows_of), class_="mind")


def _operation(
    number: int, end: EndSolution, setup: Setup, mm: Length, *, stopped: bool
) -> tuple[str, ...]:
    many = f", clamping {setup.number}" if len(end.setups) > 1 else ""
    pieces = words.listed([words.use(u) for u in end.uses])
    sides = f"{in_words(setup.against_plate)} on the plate, {in_words(setup.against_fence)} on the "
    axes = [_axis(setup, axis, stopped=stopped) for axis in setup.axes]
    first = setup.number == 1
    overhang = () if stopped else (mm(setup.overhang_mm if first else setup.overhang_trimmed_mm),)
    return (f"Operation {number}{many}: {pieces}", f"{sides}fence", *axes, *overhang)


def _axis(setup: Setup, axis: AxisSetting, *, stopped: bool) -> str:
    """The figure that the scale must show; of what is not to be cut the true angle."""
    way = axis.way or "at zero"
    if stopped:
        return f"{fixed(axis.angle_deg, 3)}° {way}"
    if axis.doubted:
        return f"not known: {DOUBT}"
    if axis.wedge:
        return f"{axis.wedge} ({axis.true_words})"
    needed = setup.needed_deg(axis.axis)
    near = "" if needed is None or not isfinite(needed) else f", to ± {needed:.3f}°"
    true = f" (true angle {fixed(axis.angle_deg, 3)}°)" if axis.differs else ""
    beyond = ", beyond its range" if axis.beyond else ""
    figure = element("strong", f"{fixed(axis.figure_deg, 3)}°")
    return joined([figure, f"{true} {way}{near}{beyond}"])


def _closing(answer: PieceAnswer, mm: Length) -> Iterator[Markup]:
    from jointgeo.pieces.closing.words import closing_lines  # loads numpy

    lines = list(closing_lines(answer.closing, lambda v: f"{mm(v)} mm"))
    yield element("h3", "Does it close? (95 %)")
    yield element("ul", *(element("li", line) for line in lines))


def _table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> Markup:
    """A table whose rows stand one below the other on a narrow screen; the first cell of each is
    its head."""
    labels = heads[1:] or ("",)
    body = [
        element(
            "tr",
            element("th", first, scope="row"),
            *(
                element("td", cell, data_label=label or None)
                for cell, label in zip(rest, labels, strict=True)
            ),
        )
        for first, *rest in rows
    ]
    top = element("tr", *(element("th", h, scope="col") for h in heads))
    parts = [element("thead", top)] if heads else []
    kind = "stack" if len(heads) > 2 else None
    return element("table", *parts, element("tbody", *body), class_=kind)
