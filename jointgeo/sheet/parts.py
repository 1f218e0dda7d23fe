"""Small pieces that every section of the page is made of.

Knows markup, drawings and words; no sheet. ``Book`` keeps each drawing by name, so that
the same picture can be written as a file of its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import attrs

from jointgeo.joints.check import Check, Verdict, questions
from jointgeo.sheet import words
from jointgeo.sheet.markup import Markup, element, joined
from jointgeo.sheet.svg import Drawing

#: Tables of so few rows are not divided between pages.
_WHOLE = 8

__all__ = ["Book", "checked", "items", "pairs", "status", "table", "tick"]


@attrs.define(eq=False)
class Book:
    """pictures: every drawing shown so far, by the name that makes its ids."""

    pictures: dict[str, Drawing] = attrs.field(factory=dict)

    def figure(self, name: str, drawing: Drawing, caption: str | None = None) -> Markup:
        """The drawing with its title and ``caption``, its description if none is given."""
        self.pictures[name] = drawing
        words = drawing.description if caption is None else caption
        return element(
            "figure",
            drawing.svg(name),
            element("figcaption", element("strong", drawing.title), ". ", words),
        )


def items(rows: Iterable[str], kind: str = "ul") -> Markup:
    """A list; nothing for no rows."""
    found = [element("li", row) for row in rows]
    return element(kind, *found) if found else Markup()


def pairs(rows: Iterable[tuple[str, str]]) -> Markup:
    """A table of names and values."""
    return element(
        "table",
        element(
            "tbody",
            *(element("tr", element("th", k, scope="row"), element("td", v)) for k, v in rows),
        ),
        class_="whole",
    )


def table(
    head: Sequence[str], rows: Iterable[Sequence[str]], *, numbers: Sequence[int] = ()
) -> Markup:
    """A table with a heading; columns in ``numbers`` are set to the right."""
    body = [
        element(
            "tr",
            *(element("td", c, class_="number" if i in numbers else None) for i, c in enumerate(r)),
        )
        for r in rows
    ]
    top = element("tr", *(element("th", name, scope="col") for name in head))
    if not body:
        return Markup()
    whole = "whole" if len(body) <= _WHOLE else None
    return element("table", element("thead", top), element("tbody", *body), class_=whole)


def tick() -> Markup:
    """An empty box to tick."""
    return element("span", class_="box", aria_hidden="true")


def status(found: Verdict, open_questions: int) -> Markup:
    """The verdict, and beside it how many questions the fixture file does not answer."""
    says = words.STATUS[found] + questions(open_questions)
    return element("span", says, class_=f"status {found}")


def checked(checks: Sequence[Check]) -> Markup:
    """What does not fit, why, by how much and what to do; then what passed."""
    out = [_finding(c) for c in checks if c.status != "pass"]
    passed = dict.fromkeys(_passed(c) for c in checks if c.status == "pass")
    if passed:
        out.append(element("p", f"Passed: {', '.join(passed)}."))
    return joined(out)


def _passed(check: Check) -> str:
    name = words.check_name(check.name)
    if check.unit in ("mm", "deg") and check.margin > 0:
        return f"{name} (room {words.amount(check.margin, check.unit)})"
    return name


def _finding(check: Check) -> Markup:
    if check.status == "not_stated":
        head = element("strong", f"NOT STATED: {words.check_name(check.name)}. ")
        says = f"{check.because[:1].upper()}{check.because[1:]}."
        return element("div", element("p", head, says), class_="finding not-stated")
    word = "CAUTION" if check.status == "caution" else "DOES NOT FIT"
    value, limit, margin = (
        words.amount(v, check.unit) for v in (check.value, check.limit, abs(check.margin))
    )
    head = element("strong", f"{word}: {words.check_name(check.name)}. ")
    says = f"{value}, limit {limit}, short by {margin}: {check.because}."
    remedies = items(f"{r.says[:1].upper()}{r.says[1:]}." for r in check.remedies)
    more = joined([element("p", "What to change:"), remedies]) if check.remedies else Markup()
    return element("div", element("p", head, says), more, class_="finding")
