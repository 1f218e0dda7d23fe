"""One joint on the page: notes, what is cut by other means, and how it looks put together.

Knows sheets, drawings and markup; no joint type.
"""

from __future__ import annotations

from jointgeo.errors import JointgeoError
from jointgeo.joints.sides import in_words
from jointgeo.proof import dry_fit
from jointgeo.sheet import words
from jointgeo.sheet.joint_drawing import joint_pictures
from jointgeo.sheet.markup import Markup, element, joined
from jointgeo.sheet.model import JointSheet
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
        class_="new-page",
    )


def _assembled(book: Book, number: int, joint: JointSheet) -> Markup:
    """Both pictures, or why there are none (what to install, if that is it)."""
    try:
        together, apart = joint_pictures(joint)
        fit = dry_fit(joint.data)
    except JointgeoError as error:
        return element("p", f"No picture of the joint put together: {error}.")
    says = (
        f"Cut and put together in the computer from these settings alone: {fit.verdict}; "
        f"widest gap beyond the stated fit {fit.gap_mm:.3f} mm, overlap {fit.overlap_mm3:.1f} mm³."
    )
    return joined(
        [
            book.figure(f"joint-{number}-together", together),
            book.figure(f"joint-{number}-apart", apart),
            element("p", says),
        ]
    )


def _marks(marks: dict[str, float]) -> str:
    return ", ".join(words.mark(k, v) for k, v in marks.items())
