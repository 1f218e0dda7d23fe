"""Which numbers of a piece type carry a quantity that a remedy names, found by moving them.

Knows drawn pieces, their joints and remedies; knows no piece type and none of its fields by name. A
field is moved a little and the piece drawn again. Where the size of a joint or of a bar moves by as
much, the field carries that very size. A place is carried by whatever moves a bar bodily.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from typing import Literal

import attrs

from jointgeo.joints.check import Check, Remedy
from jointgeo.pieces.model import Piece
from jointgeo.pieces.trials import Trials

__all__ = ["Aim", "aims", "size_of"]

What = Literal["size", "section", "mates", "place"]
PROBE = 0.02  # of the number; small, so that what follows from it follows evenly
LEAST_DEG = 10.0
SAME = 1e-6
#: A bar that is moved by much less than its number is moved by something else; our choice.
SLOWEST, FASTEST = 0.3, 1.5
BODILY = 0.6  # how unlike its two ends may move: legs that lean let a rail's ends part a little
LEAST_RATE = 0.2
MOST = 8

#: What the library's own remedies change, by their short names: the amount, what it is of, and
#: whether it gets less or more; 0 for a place, which may have to be moved either way. "mates": of
#: the bars that come to the one that is judged, which stays; "place": of any.
OWN: dict[str, tuple[str, What, float]] = {
    "shorten_tenon": ("shorter_by_mm", "size", -1.0),
    "shorten_tenons": ("shorter_by_mm", "size", -1.0),
    "narrow_mortise": ("less_across_mm", "size", -1.0),
    "larger_bar": ("larger_by_mm", "section", 1.0),
    "aim_at_side": ("move_aside_mm", "mates", 0.0),
    "move_along": ("move_along_mm", "mates", 0.0),
    "move_bar": ("move_by_mm", "place", 0.0),
    "from_end": ("from_end_by_mm", "mates", 0.0),
    "stay_below": ("lower_by_mm", "place", 0.0),
}
#: Those whose amount is the size itself, of a bar's section.
SECTION = {"thinner_stock": "thickness_mm"}
#: And those that go to a middle, further than the check asks for.
FURTHER = frozenset({"aim_at_side"})
NEAR = 0.05  # a mortise that is turned in its side takes a little less than its width says
NEAR_PLACE = 0.15  # as much as 30° of lean make of a height that is moved along a leg


@attrs.frozen
class Aim:
    """A value that a field should have. near: taken by the very quantity that it is of, the amount
    of a remedy brings the check to its limit, within this share of it; infinite where the remedy
    goes further than it must."""

    name: str
    value: float
    near: float = math.inf


@attrs.frozen
class _Moved:
    """By how much everything moves for 1 mm or 1° of the field. places: of every bar that moves at
    all, 0 for one that turns or grows rather than moves."""

    sizes: dict[tuple[str, str], float]
    sections: dict[tuple[str, str], float]
    places: dict[str, float]


def size_of(name: str, given: float) -> float:
    """Of what the steps of a search are shares; a small angle is none to take shares of."""
    return max(abs(given), LEAST_DEG) if name.endswith("_deg") else abs(given)


def aims(trials: Trials, check: Check, remedy: Remedy) -> Iterator[Aim]:
    """What may be set so that the remedy is taken, worked out as it is asked for; nothing where its
    amount is no number of the piece's."""
    if remedy.do in OWN and OWN[remedy.do][0] in remedy.amounts:
        amount, what, sign = OWN[remedy.do]
        near = NEAR if sign else NEAR_PLACE
        near = math.inf if remedy.do in FURTHER else near
        by = float(remedy.amounts[amount])
        found = _by_amount(trials, check, by, what, sign, near)
    elif remedy.do in SECTION and SECTION[remedy.do] in remedy.amounts:
        found = _sections(trials, check, float(remedy.amounts[SECTION[remedy.do]]))
    else:
        found = _parameters(trials, check, remedy)
    return itertools.islice(found, MOST)


def _by_amount(
    trials: Trials, check: Check, amount: float, what: What, sign: float, near: float
) -> Iterator[Aim]:
    bars, joints = _touched(trials, check)
    for name, (_, given) in trials.fields.items():
        moved = _moved(trials, name)
        if moved is None:
            continue
        if what == "mates" and check.part in moved.places:
            continue
        if what in ("mates", "place"):
            rates = [moved.places[b] for b in bars if b in moved.places]
            rate = max(rates, default=0.0)
            # What sizes a bar or a joint moves nothing bodily, though a middle may follow it.
            if SLOWEST <= rate <= FASTEST and not moved.sizes and not moved.sections:
                yield Aim(name, given - amount / rate, near)
                yield Aim(name, given + amount / rate, near)
            continue
        own = moved.sizes if what == "size" else moved.sections
        owners = joints if what == "size" else {check.part}
        if any(o in owners and abs(rate - 1.0) < SAME for (o, _), rate in own.items()):
            yield Aim(name, given + sign * amount, near)


def _sections(trials: Trials, check: Check, value: float) -> Iterator[Aim]:
    """The sizes of the bar that are more than it may have."""
    sizes = _sections_of(trials.piece_now)
    for name, (_, given) in trials.fields.items():
        moved = _moved(trials, name)
        for (bar, which), rate in moved.sections.items() if moved else ():
            size = sizes[bar, which]
            if bar == check.part and abs(rate - 1.0) < SAME and size > value:
                yield Aim(name, given + value - size, NEAR)


def _parameters(trials: Trials, check: Check, remedy: Remedy) -> Iterator[Aim]:
    """Of a joint whose own parameter the remedy names: what of the piece reaches it, whether it is
    handed on or measured from the bars."""
    at = [i for i, j in enumerate(trials.answer.joints)
          if j.name == check.part and any(_same(c, check) for c in j.joint.checks())]  # fmt: skip
    if not at:
        return
    now = trials.answer.joints[at[0]].joint.to_dict()
    found = []
    for parameter, value in remedy.amounts.items():
        if not (isinstance(value, float) and isinstance(now.get(parameter), float)):
            continue
        for name, (info, given) in trials.fields.items():
            if info.unit != parameter.rpartition("_")[2]:
                continue
            at_probe = _probed(trials, name)
            answer = trials.alone(name, at_probe) if at_probe is not None else None
            if at_probe is None or answer is None:
                continue
            then = answer.joints[at[0]].joint.to_dict()[parameter]
            rate = (then - now[parameter]) / (at_probe - given)
            if abs(rate) > LEAST_RATE:
                aim = Aim(name, given + (value - now[parameter]) / rate)
                found.append((name != parameter, abs(rate - 1.0), aim))
    yield from (aim for _, _, aim in sorted(found, key=lambda f: f[:2]))


def _same(one: Check, other: Check) -> bool:
    return one.name == other.name and abs(one.margin - other.margin) < SAME


def _touched(trials: Trials, check: Check) -> tuple[set[str], set[str]]:
    """The bars that a check is of, with those that come to them, and the joints between these."""
    names = {b.name for b in trials.answer.bars}
    own = {check.part} & names or {n for n in names if n in check.part.split(" and ")}
    met = [j for j in trials.answer.joints if j.bar in own or j.mate in own]
    return own | {n for j in met for n in (j.bar, j.mate)}, {j.name for j in met}


def _probed(trials: Trials, name: str) -> float | None:
    """A value near by at which there is such a piece."""
    given = trials.fields[name][1]
    step = PROBE * size_of(name, given)
    near = (given + step, given - step)
    return next((v for v in near if trials.piece(name, v) is not None), None)


def _moved(trials: Trials, name: str) -> _Moved | None:
    at = _probed(trials, name)
    piece = None if at is None else trials.piece(name, at)
    if at is None or piece is None:
        return None
    by, was = at - trials.fields[name][1], trials.piece_now
    new, old = _sizes_of(piece), _sizes_of(was)
    sizes = {k: (v - old[k]) / by for k, v in new.items() if k in old and v != old[k]}
    wide, before = _sections_of(piece), _sections_of(was)
    sections = {k: (v - before[k]) / by for k, v in wide.items() if v != before[k]}
    places = {}
    for bar in piece.bars:
        then = was.bar(bar.name)
        start, end = bar.start - then.start, bar.end - then.end
        run = max(start.length, end.length)
        if run > 0:
            places[bar.name] = run / abs(by) if (start - end).length < BODILY * run else 0.0
    return _Moved(sizes, sections, places)


def _sizes_of(piece: Piece) -> dict[tuple[str, str], float]:
    """Of the joints, as they are handed on."""
    return {
        (j.name, size): float(value)
        for j in piece.joints
        for size, value in j.sizes.items()
        if isinstance(value, int | float) and not isinstance(value, bool)
    }


def _sections_of(piece: Piece) -> dict[tuple[str, str], float]:
    sizes = ("width", "thickness")
    return {(b.name, which): float(getattr(b, which)) for b in piece.bars for which in sizes}
