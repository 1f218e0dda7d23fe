"""What a sheet has found: why something is not feasible, by how much, and what to do.

Knows checks and words; no drawing. One finding that several operations share is said once, with the
operations it holds for, and nothing of it is left out.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from jointgeo.joints.check import Check
from jointgeo.sheet import words
from jointgeo.sheet.flow import Block, boxed, bullets, paragraph
from jointgeo.sheet.markup import element, joined
from jointgeo.sheet.words import listed

__all__ = ["finding_blocks", "least_room", "named"]

_ORDER = {"fail": 0, "caution": 1, "not_stated": 2}
_WORD = {"fail": "NOT FEASIBLE", "caution": "CAUTION", "not_stated": "NOT STATED"}
#: Passed checks whose room is told.
MOST_ROOMS = 2
#: Less is what a limit that follows from the value itself leaves, mm.
LEAST_ROOM = 0.005


def finding_blocks(found: Iterable[tuple[str, Check]]) -> list[Block]:
    """Every check that did not pass, the worst first; with each, where ("operation 1")."""
    said: dict[tuple[str, ...], list[str]] = {}
    for where, check in found:
        if check.status != "pass":
            places = said.setdefault(_said(check), [])
            if where and where not in places:
                places.append(where)
    order = sorted(said.items(), key=lambda item: _ORDER[item[0][0]])
    return [_block(key, places) for key, places in order]


def _said(check: Check) -> tuple[str, ...]:
    """Its status and all that is told of it."""
    name = words.check_name(check.name)
    if check.status == "not_stated":
        return check.status, name, f"{check.because[:1].upper()}{check.because[1:]}."
    value, limit = words.apart(check.value, check.limit, check.unit)
    short = words.short_by(check)
    says = f"{value}, limit {limit}, short by {short}: {check.because}."
    return check.status, name, says, *(f"{r.says[:1].upper()}{r.says[1:]}." for r in check.remedies)


def _block(said: Sequence[str], places: Sequence[str]) -> Block:
    status, name, says, *remedies = said
    where = f" ({_numbered(places)})" if places else ""
    head = element("strong", f"{_WORD[status]}: {name}{where}. ")
    first = joined([head, says])

    def build(wide: float) -> list[Block]:
        return (
            [paragraph(first, wide), bullets(remedies, wide)]
            if remedies
            else [paragraph(first, wide)]
        )

    return boxed(build, f"finding {status.replace('_', '-')}")


def _numbered(places: Sequence[str]) -> str:
    """``operation 1 and operation 2`` with the word once: ``operations 1 and 2``."""
    numbers = [p.removeprefix("operation ") for p in places]
    if len(places) > 1 and all(p != n for p, n in zip(places, numbers, strict=True)):
        return f"operations {listed(numbers)}"
    return listed(list(places))


def named(checks: Iterable[Check]) -> str:
    """Names of those that did not pass, with what they are."""
    found: dict[str, list[str]] = {}
    for check in sorted(checks, key=lambda c: _ORDER.get(c.status, 0)):
        names = found.setdefault(check.status, [])
        if words.check_name(check.name) not in names:
            names.append(words.check_name(check.name))
    found.pop("pass", None)
    return "; ".join(f"{_WORD[s].lower()}: {', '.join(names)}" for s, names in found.items())


def least_room(checks: Sequence[Check]) -> str:
    """How many passed, and the least room of those that have a measure."""
    passed = [c for c in checks if c.status == "pass"]
    if not passed:
        return ""
    rooms = [c for c in passed if c.unit == "mm" and c.margin > LEAST_ROOM]
    rooms.sort(key=lambda c: c.margin)
    told = dict.fromkeys(
        f"{words.check_name(c.name)} {words.amount(c.margin, c.unit)}" for c in rooms
    )
    least = f"; least room: {', '.join(list(told)[:MOST_ROOMS])}" if told else ""
    return f"{len(passed)} check{'s' * (len(passed) > 1)} passed{least}."
