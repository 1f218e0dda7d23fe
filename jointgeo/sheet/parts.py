"""Small pieces that every section of the page is made of.

Knows markup, drawings and words; no sheet. ``Book`` keeps each drawing by name, so that
the same picture can be written as a file of its own.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

import attrs

from jointgeo.joints.check import VERDICT_WORDS, Verdict, questions
from jointgeo.sheet.flow import Block, paragraph
from jointgeo.sheet.markup import Markup, element, joined
from jointgeo.sheet.svg import Drawing

__all__ = ["Book", "items", "status", "tick"]

#: A scale is true on paper only.
_SCALE = re.compile(r"(, (?:\d[\d.]*:\d[\d.]*))$")


@attrs.define(eq=False)
class Book:
    """pictures: every drawing shown so far, by the name that makes its ids."""

    pictures: dict[str, Drawing] = attrs.field(factory=dict)

    def figure(self, name: str, drawing: Drawing, *, captioned: bool = True) -> Block:
        """The drawing, and under it its title, with what is not written in it for want of room."""
        self.pictures[name] = drawing
        wide, high = drawing.size_mm
        picture = Block(drawing.svg(name), high)
        if not captioned:
            return Block(element("figure", picture.made), picture.high_mm)
        caption = paragraph(_caption(drawing), max(wide, 40.0))
        made = element("figure", picture.made, element("figcaption", _marked(drawing)))
        return Block(made, picture.high_mm + caption.high_mm)


def _caption(drawing: Drawing) -> str:
    return f"{drawing.title}{_not_there(drawing)}"


def _not_there(drawing: Drawing) -> str:
    return ". Its words need more room than there is" if drawing.crowded else ""


def _marked(drawing: Drawing) -> Markup:
    """The caption, its scale told apart."""
    found = _SCALE.search(drawing.title)
    if found is None:
        return joined([_caption(drawing)])
    plain, scale = drawing.title[: found.start()], element("span", found[1], class_="scale")
    return joined([plain, scale, _not_there(drawing)])


def items(rows: Iterable[str], kind: str = "ul") -> Markup:
    """A list; nothing for no rows."""
    found = [element("li", row) for row in rows]
    return element(kind, *found) if found else Markup()


def tick() -> Markup:
    """An empty box to tick."""
    return element("span", class_="tick", aria_hidden="true")


def status(found: Verdict, open_questions: int) -> Markup:
    """The verdict, and beside it how many questions the fixture file does not answer."""
    says = VERDICT_WORDS[found] + questions(open_questions)
    return element("span", says, class_=f"status {found}")
