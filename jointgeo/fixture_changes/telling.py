"""Found changes, comparisons and gains in words.

Knows answers of this folder; computes nothing.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from jointgeo.fixture_changes.compare import Cell, EnvelopePoint, Gain
from jointgeo.fixture_changes.demands import ROOM
from jointgeo.fixture_changes.found import Found, Margin, Option
from jointgeo.joints.check import VERDICT_WORDS, questions

__all__ = ["compared_lines", "envelope_lines", "found_lines", "gains_lines", "written_line"]

MOST_OPTIONS = 5
ROUNDING = 1e-9  # of a margin, as checks have it
_METHODS = {
    "exact": "exact",
    "halved": "halved between too little and enough",
    "tried": "tried",
}


def found_lines(found: Found) -> Iterator[str]:
    """For a person at the bench: the cheapest first, with what it leaves and what it costs."""
    room = f"with {found.room_mm:g} mm of room"
    if found.feasible_now and ROOM.intersection(found.unstated):
        yield "Nothing falls short of what the fixture file states."
    elif found.feasible_now and found.no_fixture_cures:
        yield f"The fixture needs no change: nothing falls short on it {room}."
    elif found.feasible_now:
        yield f"Nothing needs to change: everything is feasible {room}."
    else:
        yield f"Falls short now: {_names(found.short)}."
    for check in found.no_fixture_cures:
        yield f"No fixture cures {check.name.replace('_', ' ')} ({check.part}): {check.because}"
    if found.untouched and not found.options:
        yield f"No change that is allowed acts on {_names(found.untouched)}."
    for says in found.wedges:
        yield f"In place of a longer axis, without rebuilding: {says}; the rest must hold besides."
    for number, option in enumerate(found.options[:MOST_OPTIONS], 1):
        yield from _option(number, option)
    more = len(found.options) - MOST_OPTIONS
    if more > 0:
        yield f"and {more} dearer ways"
    if found.short and not found.options:
        yield "Nothing that is allowed is enough."
        for option in found.lifted[:MOST_OPTIONS]:
            yield f"  would be enough if its bound were lifted: {option.says}"
    if found.cautions:
        told = _names(found.cautions)
        yield f"Cautions now, which no change was looked for on account of: {told}."
    if found.unstated:
        told = _names(found.unstated)
        yield f"Not stated in the fixture file, so not known: {told}; solve says what to write."
    if found.options:
        yield "Prices rank trouble and are no money: --allow KIND:MOST:PRICE sets your own."
    if found.tried:
        whole = "" if found.whole else "; the search was cut short there, a cheaper way may exist"
        yield f"{found.tried} plans tried{whole}."


def written_line(found: Found, option: Option | None, file: str) -> str:
    """What was written to ``file``, or why nothing was, and what is still not feasible."""
    if option is not None:
        says = f"Written to {file}: {option.says}."
    elif found.feasible_now:
        says = f"Nothing was written to {file}: the fixture needs no change."
    else:
        says = f"Nothing was written to {file}: nothing that is allowed is enough."
    if found.no_fixture_cures:
        of = (
            f"{c.name.replace('_', ' ')} ({c.part})" if c.part else c.name.replace("_", " ")
            for c in found.no_fixture_cures
        )
        says += f" Still NOT FEASIBLE, and no fixture cures it: {', '.join(of)}."
    return says


def _option(number: int, option: Option) -> Iterator[str]:
    yield f"{number}. {option.says}  (price {option.price:.1f})"
    found = ", ".join(dict.fromkeys(_METHODS[n.method] for n in option.needs))
    yield f"   amounts: {found}; to do again afterwards: {option.undoes}"
    cured = [m for m in option.margins if m.before is not None and m.before < -ROUNDING]
    for margin in _least(cured):
        yield f"   {_margin(margin)}"
    for margin in _least(option.worse):
        if margin not in cured:
            yield f"   less room: {_margin(margin)}"


def _least(margins: Sequence[Margin]) -> list[Margin]:
    """Of each check the setup with the least left."""
    out: dict[str, Margin] = {}
    for m in sorted(margins, key=lambda m: math.inf if m.after is None else m.after):
        out.setdefault(m.check, m)
    return list(out.values())


def _margin(m: Margin) -> str:
    was = "not asked" if m.before is None else _room(m.before, m.unit, 2)
    now = "no longer asked" if m.after is None else _room(m.after, m.unit, 2)
    return f"{m.check.replace('_', ' ')} in {m.setup}: {was} before, {now} after"


def _room(margin: float, unit: str, digits: int) -> str:
    """A margin in its check's own unit, with its sign."""
    return f"{margin + 0.0:+.{digits}f}{'°' if unit == 'deg' else f' {unit}'}"


def _names(names: Sequence[str]) -> str:
    return ", ".join(n.replace("_", " ") for n in names)


def compared_lines(cells: Sequence[Cell]) -> Iterator[str]:
    """One line for each work on each fixture: verdict, least room to beam and bodies, failures."""
    wide = max((len(c.fixture) for c in cells), default=0)
    for work in dict.fromkeys(c.work for c in cells):
        yield work
        for cell in (c for c in cells if c.work == work):
            rooms = [
                f"{name.replace('_', ' ')} {_room(cell.least[name], cell.units[name], 1)}"
                for name in ("front_beam", "bodies")
                if name in cell.least
            ]
            fails = f"; fails: {_names(cell.fails)}" if cell.fails else ""
            verdict = VERDICT_WORDS[cell.verdict] + questions(cell.not_stated)
            yield f"  {cell.fixture:{wide}}  {verdict:22}  {', '.join(rooms)}{fails}"


def gains_lines(found: Sequence[Gain]) -> Iterator[str]:
    """What a change of the fixture makes possible and what it spoils."""
    for word in ("gained", "lost", "same"):
        for gain in (g for g in found if g.change == word):
            after = "feasible" if gain.after.feasible else "not feasible"
            after += questions(gain.after.not_stated)
            fails = f" ({_names(gain.after.fails)})" if gain.after.fails else ""
            yield f"{word:7} {gain.work}: {after}{fails}"
    counts = {w: sum(g.change == w for g in found) for w in ("gained", "lost", "same")}
    yield f"{counts['gained']} gained, {counts['lost']} lost, {counts['same']} as before"


def envelope_lines(names: Sequence[str], points: Sequence[EnvelopePoint]) -> Iterator[str]:
    """Greatest tilt by thickness, a column for each fixture."""
    yield "thickness   " + "  ".join(f"{n:>14}" for n in names)
    for p in points:
        cells = (_tilt(*told) for told in zip(p.tilt_deg, p.stated, strict=True))
        yield f"{p.thickness_mm:6g} mm   " + "  ".join(f"{c:>14}" for c in cells)


def _tilt(tilt_deg: float | None, stated: bool) -> str:
    if not stated:
        return "not stated"
    return "whole range" if tilt_deg is None else f"{tilt_deg:.2f}°"
