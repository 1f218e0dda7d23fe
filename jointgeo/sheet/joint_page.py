"""What the numbers of a joint mean, and how far the fixture goes with it: a page of the joint.

Knows sheets, drawings and the flow of a page; no joint type.
"""

from __future__ import annotations

from collections.abc import Iterator

from jointgeo.errors import PluginError
from jointgeo.sheet.canvas import Room
from jointgeo.sheet.envelope import envelope
from jointgeo.sheet.flow import Block, Item, paged, paragraph, title
from jointgeo.sheet.lettering import FINE
from jointgeo.sheet.markup import Markup
from jointgeo.sheet.model import JointSheet, Sheet
from jointgeo.sheet.parameter_picture import HOW, parameter_drawings
from jointgeo.sheet.parts import Book
from jointgeo.sheet.style import TEXT_WIDE_MM, sizes

__all__ = ["joint_pages"]

_TITLE_MM = 20.0


def joint_pages(book: Book, sheet: Sheet, paper: str | None) -> Iterator[Markup]:
    """Every parameter as a dimension on the joint, and the greatest tilt for each thickness."""
    high = sizes(paper).high_mm
    items: list[Item] = []
    for number, joint in enumerate(sheet.joints, 1):
        items += _meaning(book, number, joint, high - _TITLE_MM)
    reach = envelope(sheet, FINE)
    if reach is not None:
        items.append(book.figure("envelope", reach))

    def top(again: bool) -> Block:
        more = ", continued" if again else ""
        return title(f"{sheet.title}: what the numbers mean{more}", Markup())

    if items:
        yield from paged(items, top, high)


def _meaning(book: Book, number: int, joint: JointSheet, high: float) -> Iterator[Block]:
    """Nothing for a type that declares no dimension, and a sentence for one whose declarations do
    not hold: its settings are right all the same."""
    room = Room(TEXT_WIDE_MM, high, FINE)
    try:
        drawings = parameter_drawings(joint.solution.joint, joint.solution.hand, room, joint.shape)
    except PluginError as error:
        yield paragraph(f"No picture of what the numbers mean: {error}.")
        return
    if drawings:
        yield paragraph(HOW)
    for i, drawing in enumerate(drawings, 1):
        yield book.figure(f"joint-{number}-parameters-{i}", drawing, captioned=False)
