"""What the forms of joints and of pieces have in common: choices of fixture, hand and unit, and how
form and answer stand beside each other.

Knows forms, fixtures and the frame; knows no type by name.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any
from urllib.parse import quote, urlencode

import attrs
import flask

from jointgeo.errors import InputError, Problem, shown
from jointgeo.schema.fields import FieldInfo
from jointgeo.sheet.markup import Markup, element
from jointgeo.sheet.screen_findings import cautions
from jointgeo_service import frame
from jointgeo_service.fixtures import Chosen, Fixtures
from jointgeo_service.forms import choice, faults, field_id, form, label
from jointgeo_service.problems import RefusedError
from jointgeo_service.typed import OWN, Typed, field_names, told

__all__ = ["Asked", "asked", "example_links", "is_first", "link", "page", "starting"]

UNITS = (("mm", "millimetres"), ("in", "inches"))
MEANING = "What the numbers mean"
HANDS = (("as_drawn", "as drawn"), ("mirrored", "mirrored"))
UNIT_HELP = (
    "12.5, 12,5 and 12 1/2 are the same. Changing this turns what is filled in into the other unit."
)


@attrs.frozen
class Asked:
    """What a form holds besides its own fields. fixture: None where ``name`` names none that can be
    used. choices: every fixture there is, in words. problems: at the choice that they name."""

    name: str
    fixture: Chosen | None
    hand: str
    choices: tuple[tuple[str, str], ...]
    problems: tuple[Problem, ...]

    @property
    def edition(self) -> Markup:
        """Which fixture the answer holds for, so that one that was printed can be told from it."""
        found = self.fixture
        edition = f", edition {found.edition}" if found is not None and found.edition else ""
        return element("p", f"Worked out for the fixture {self.name}{edition}.")


def asked(pairs: Sequence[tuple[str, str]], fixtures: Fixtures, *, hands: bool) -> Asked:
    """Fixture and hand; the first fixture there is where none is named. RefusedError, a 503, while
    the fixture's file is being changed."""
    given = dict(reversed(pairs))
    problems: list[Problem] = []
    choices = {
        entry.name: entry.chosen.fixture.title if entry.chosen else "cannot be used now"
        for entry in fixtures.listed()
    }
    name = given.get("fixture") or next(iter(choices))
    fixture: Chosen | None = None
    try:
        fixture = fixtures.get(name)
    except RefusedError:
        raise
    except InputError as error:
        problems += error.problems
    hand = given.get("hand") or "as_drawn"
    if hand not in dict(HANDS) or ("hand" in given and not hands):
        allowed = 'one of "as_drawn", "mirrored"' if hands else "no hand: a piece has none"
        problems.append(Problem("hand", "is not a choice", shown(hand), allowed))
    said = [(n, f"{n}: {title}") for n, title in choices.items()]
    said += [] if name in choices else [(name, name)]
    return Asked(name, fixture, hand, tuple(said), tuple(problems))


def is_first(pairs: Sequence[tuple[str, str]]) -> bool:
    """Whether nothing was filled in yet, but for a fixture that was chosen before."""
    return all(name in OWN for name, _ in pairs)


def starting(infos: Sequence[FieldInfo], example: Mapping[str, Any]) -> list[tuple[str, str]]:
    """The texts of a worked example, to fill the form in."""
    names = field_names(infos)
    texts = [(name, told(example.get(i.name), i, "mm")) for name, i in names.items()]
    return [(name, text) for name, text in texts if text]


def example_links(
    infos: Sequence[FieldInfo], examples: Sequence[Mapping[str, Any]], chosen: str
) -> Markup:
    """A link to each worked example, filled in and worked out."""
    links = []
    for number, example in enumerate(examples, 1):
        query = urlencode({"fixture": chosen, **dict(starting(infos, example))})
        links.append(element("a", f"example {number}", href=f"?{query}#answer"))
    parts: list[str] = ["To start from, worked out: "]
    for number, made in enumerate(links):
        parts += [", "] * (number > 0) + [made]
    return element("p", *parts, ".") if links else Markup()


def link(title: str, path: str, query: Mapping[str, str] | None = None) -> Markup:
    """A link within this service."""
    address = quote(path) + (f"?{urlencode(query)}" if query else "")
    return element("a", title, href=address)


def page(
    title: str,
    summary: str,
    typed: Typed,
    own: Asked,
    *,
    hands: bool,
    answer: Markup | None,
    start: Markup,
    meaning: Markup,
    meaning_title: str = MEANING,
) -> flask.Response:
    """Form and answer. answer: None where none was asked for. start: links to examples. meaning:
    what the numbers mean; large before anything is worked out, folded after.

    The answer stands first, so that a narrow screen shows it first; a wide one has the form at its
    left. What is wrong comes before both.
    """
    wrong = bool(typed.problems or typed.unknown or own.problems)
    entries = element(
        "section",
        element("h2", "Fill in", class_="entries-head"),
        start,
        form("#answer", typed, _choices(typed, own, hands=hands)),
        class_="entries",
        aria_label="Fill in",
    )
    top: list[Markup] = []
    if answer is not None and not wrong:
        folded = [element("details", element("summary", meaning_title), meaning)] if meaning else []
        skip = element("a", "To the entries", href="#form", class_="skip")
        first = element("section", answer, *folded, class_="answer", id="answer")
        order = [first, entries]
    else:
        if wrong:
            # Where the form leads, so that a narrow screen shows what is wrong first.
            top.append(element("div", _all_faults(typed, own), id="answer"))
        top.append(cautions())
        skip = element("a", f"To {meaning_title.lower()}", href="#meaning", class_="skip")
        drawn = [element("h2", meaning_title, id="meaning"), meaning] if meaning else []
        order = [entries, element("section", *drawn, class_="answer")]
    body = [skip, element("p", summary), *top, element("div", *order, class_="sides")]
    return frame.html(frame.document(title, *body), 422 if wrong else 200)


def _all_faults(typed: Typed, own: Asked) -> Markup:
    return faults(typed, [(field_id(p.field), label(p.field), p) for p in own.problems])


def _choices(typed: Typed, own: Asked, *, hands: bool) -> list[Markup]:
    wrong = {p.field: p for p in own.problems}
    out = [choice("fixture", "Fixture", own.choices, own.name, problem=wrong.get("fixture"))]
    if hands:
        says = "The mirror image is cut with the swivel turned the other way."
        out.append(choice("hand", "Hand", HANDS, own.hand, says, problem=wrong.get("hand")))
    out.append(choice("unit", "Lengths in", UNITS, typed.unit, UNIT_HELP))
    return out
