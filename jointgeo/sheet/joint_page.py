"""One joint on the page: notes, what is cut by other means, and how it looks put together.

Knows sheets, drawings and markup; no joint type.
"""

from __future__ import annotations

from jointgeo.errors import JointgeoError, PluginError
from jointgeo.joints.sides import in_words
from jointgeo.proof import dry_fit
from jointgeo.sheet import words
from jointgeo.sheet.joint_drawing import joint_pictures
from jointgeo.sheet.markup import Markup, element, joined
from jointgeo.sheet.model import JointSheet
from jointgeo.sheet.parameter_picture import parameter_drawings
from jointgeo.sheet.parts import Book, checked, items, table

__all__ = ["joint_section"]


def joint_section(book: Book, number: int, joint: JointSheet) -> Markup:
    """One joint as drawn."""
    boxes = [
        (pocket.bar, in_words(pocket.side), pocket.name, _marks(pocket.marks))
        for pocket in joint.solution.drawing.pockets
    ]
    layout = [element("h3", "Not cut on end"), table(("Part", "Side", "What", "Marks"), boxes)]
    return element(
        "section",
        element("h2", f"Joint: {joint.name}", id=f"joint-{number}"),
        items(f"{n[:1].upper()}{n[1:]}." for n in joint.solution.notes),
        *(layout if boxes else []),
        checked(joint.checks),
        _assembled(book, number, joint),
        _meaning(book, number, joint),
        class_="new-page",
    )


def _assembled(book: Book, number: int, joint: JointSheet) -> Markup:
    """Both pictures, and whether it fits."""
    together, apart = joint_pictures(joint)
    return joined(
        [
            book.figure(f"joint-{number}-together", together),
            book.figure(f"joint-{number}-apart", apart),
            element("p", _fit(joint)),
        ]
    )


def _meaning(book: Book, number: int, joint: JointSheet) -> Markup:
    """Every parameter as a dimension on the joint; nothing for a type that declares none, and a
    sentence for one whose declarations do not hold: its settings are right all the same."""
    try:
        drawings = parameter_drawings(joint.solution.joint, joint.solution.hand)
    except PluginError as error:
        return element("p", f"No picture of what the numbers mean: {error}.")
    if not drawings:
        return Markup()
    figures = [
        book.figure(f"joint-{number}-parameters-{i}", drawing)
        for i, drawing in enumerate(drawings, 1)
    ]
    return joined([element("h3", "What the numbers mean"), *figures])


def _fit(joint: JointSheet) -> str:
    """What the dry fit says, or why there is none (what to install, if that is it)."""
    try:
        fit = dry_fit(joint.data)
    except JointgeoError as error:
        return f"Not put together in the computer: {error}."
    return (
        f"Cut and put together in the computer from these settings alone: {fit.verdict}; "
        f"widest gap beyond the stated fit {fit.gap_mm:.3f} mm, overlap {fit.overlap_mm3:.1f} mm³."
    )


def _marks(marks: dict[str, float]) -> str:
    return ", ".join(words.mark(k, v) for k, v in marks.items())
