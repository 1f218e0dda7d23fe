"""What was found, in words for a screen: the verdict, what is short and by how much, what to do.

Knows checks and markup; no drawing, no joint type.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TypeAlias

from jointgeo.jobs.report import CAUTIONS
from jointgeo.joints.check import Check, Verdict, questions
from jointgeo.schema.units import fixed
from jointgeo.sheet import words
from jointgeo.sheet.markup import Markup, element

__all__ = ["Links", "cautions", "findings", "sentence", "verdict"]

VERDICTS: dict[Verdict, str] = {
    "pass": "Feasible on",
    "caution": "Feasible, with cautions, on",
    "fail": "Not feasible on",
}
#: A link by the finding (as of ``Check.finding``) and the sentence of the remedy.
Links: TypeAlias = Mapping[tuple[tuple[str, str, str], str], Markup]
#: Checks whose margin is room between solids, and to what.
ROOMS = {"front_beam": "to the front beam", "bodies": "between stock and the rest of the fixture"}


def sentence(text: str) -> str:
    """With a capital letter at its beginning."""
    return f"{text[:1].upper()}{text[1:]}"


def cautions() -> Markup:
    """What holds whatever is cut."""
    return element("p", " ".join(CAUTIONS), class_="caution-box")


def verdict(status: Verdict, not_stated: int, fixture: str, checks: Sequence[Check]) -> Markup:
    """The verdict in a frame, with what is short and by how much, or the room there is. fixture:
    what it is called."""
    says = f"{VERDICTS[status]} {fixture}{questions(not_stated)}."
    lines = list(_shortest(checks)) if status == "fail" else [_room(checks)]
    body = [element("h2", says), *(element("p", t) for t in lines if t)]
    return element("div", *body, class_=f"verdict {status}")


def _shortest(checks: Sequence[Check]) -> Iterable[str]:
    fails = [c for c in checks if c.status == "fail"]
    for name in dict.fromkeys(c.name for c in fails):
        worst = min((c for c in fails if c.name == name), key=lambda c: c.margin)
        yield f"{sentence(words.check_name(name))}: short by {_short(worst)}."
    yield "Nothing of this is to be cut."


def _short(check: Check) -> str:
    """By how much, in words where two decimals say nothing."""
    if check.unit == "mm" and fixed(abs(check.margin), 2) == "0.00":
        return "less than 0.01 mm"
    return words.amount(abs(check.margin), check.unit)


def _room(checks: Sequence[Check]) -> str:
    said = []
    for name, where in ROOMS.items():
        margins = [c.margin for c in checks if c.name == name and c.unit == "mm"]
        if margins:
            said.append(f"{words.amount(min(margins), 'mm')} {where}")
    return f"Room that is left: {', '.join(said)}." if said else ""


def findings(checks: Iterable[Check], links: Links | None = None) -> Markup:
    """All that did not pass, the worst first, each once with what to change. What the fixture file
    does not state is folded, since it is mended there and not here. links: what stands behind a
    remedy that the form can take, by ``Check.finding`` and what the remedy says."""
    order = {"fail": 0, "caution": 1, "not_stated": 2}
    found: dict[tuple[str, ...], tuple[Check, list[str]]] = {}
    for check in sorted((c for c in checks if c.status in order), key=lambda c: order[c.status]):
        found.setdefault(check.finding, (check, []))[1].append(check.part)

    def of(status: str, *, folded: bool) -> list[Markup]:
        told = [(c, p) for c, p in found.values() if c.status == status]
        return [_finding(c, p, links or {}, folded=folded) for c, p in told]

    said = [*of("fail", folded=False), *of("caution", folded=True)]
    asked = of("not_stated", folded=False)
    body = [element("h3", "What was found"), *said] if said else []
    if asked:
        summary = element("summary", f"Not stated in the fixture file: {len(asked)}")
        body.append(element("details", summary, *asked))
    return element("section", *body, class_="findings") if body else Markup()


_WORD = {"fail": "Fails", "caution": "Caution", "not_stated": "Not stated"}


def _finding(check: Check, parts: Sequence[str], links: Links, *, folded: bool) -> Markup:
    """folded: only what it is and by how much it is short stands open."""
    where = words.listed([p for p in dict.fromkeys(parts) if p])
    name = f"{_WORD[check.status]}: {words.check_name(check.name)}{f' ({where})' if where else ''}"
    says = f"{sentence(check.because)}."
    short = ""
    if check.status != "not_stated":
        value, limit = words.apart(check.value, check.limit, check.unit)
        less = _short(check)
        short, says = f", short by {less}", f"{value}, limit {limit}: {check.because}."
    remedies = []
    for remedy in check.remedies:
        link = links.get((check.finding, remedy.says))
        said = (
            [f"{sentence(remedy.says)}."] if link is None else [f"{sentence(remedy.says)}: ", link]
        )
        remedies.append(element("li", *said))
    more = [element("p", "What helps:"), element("ul", *remedies)] if remedies else []
    if folded:
        return element("details", element("summary", f"{name}{short}"), element("p", says), *more)
    head = element("strong", f"{name}{short}. ")
    return element("div", element("p", head, says), *more, class_="finding")
