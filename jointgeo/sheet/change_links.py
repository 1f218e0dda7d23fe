"""Links that fill the form in again with one number changed, and what each leads to.

Knows changes and markup; knows no type by name and no HTTP. A link is made from the texts of the
form, so that a type's own process can write it whole.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from urllib.parse import urlencode

from jointgeo.joints.check import Verdict
from jointgeo.pieces.ways import Change
from jointgeo.schema.units import MM_PER_INCH, nearest_fraction
from jointgeo.sheet import words
from jointgeo.sheet.markup import Markup, element, joined

__all__ = ["MENDED", "STATUS", "change_link", "enough", "said"]

STATUS: dict[Verdict, str] = {
    "pass": "feasible",
    "caution": "feasible, with cautions",
    "fail": "not feasible",
}
#: What stands behind the change that takes one remedy.
MENDED: dict[Verdict, str] = {
    "pass": "this passes then, and all is feasible",
    "caution": "this passes then, and all is feasible, with cautions",
    "fail": "this passes then, and something else still fails",
}


def said(value: float, unit: str, inches: bool) -> str:
    """A length, in inches too where the form is, or an angle."""
    if unit != "mm":
        return f"{value:g}°"
    return f"{words.mm(value)} mm" + (f" ({nearest_fraction(value)})" if inches else "")


def change_link(
    change: Change,
    asked: Mapping[str, str],
    inches: bool,
    leads_to: Mapping[Verdict, str] = STATUS,
) -> Markup:
    """``tenon length 14.50 mm in place of 15.00 mm: feasible``, its first half a link. asked: the
    form's fields as they were filled in. leads_to: in words, by the whole answer's status then."""
    figure = f"{change.value:.10g}"
    if change.unit == "mm" and inches:
        # A 64th has six decimals: what is read is what was solved.
        figure = f"{change.value / MM_PER_INCH:.6f}".rstrip("0").rstrip(".")
    query = urlencode({**asked, change.name: figure})
    name = words.check_name(change.name.rpartition("_")[0])
    now, then = (said(v, change.unit, inches) for v in (change.given, change.value))
    link = element("a", f"{name} {then}", href=f"?{query}#answer")
    return joined([link, element("span", f" in place of {now}: {leads_to[change.status]}")])


def enough(changes: Sequence[Change], asked: Mapping[str, str], inches: bool) -> Markup:
    """All changes each of which is enough, above everything that is short."""
    if not changes:
        return Markup()
    rows = (element("li", change_link(c, asked, inches)) for c in changes)
    head = element("h3", "One change that is enough (each fills the form in)")
    how = (
        "Found by trying: one number of the form was moved alone, about as little as is enough, "
        "and the whole piece solved again with it. There may be other ways."
    )
    return element("section", head, element("ul", *rows), element("p", how), class_="helps")
