"""Which single number of a piece type to change so that what was found is mended.

Knows piece types by their contract, answers and trials; knows no piece type by name.

    >>> import jointgeo
    >>> from jointgeo.pieces import piece_type, solve_piece
    >>> from jointgeo.pieces.ways import ways
    >>> stool = piece_type("three_legged_stool").examples()[0]
    >>> answer = solve_piece(stool.piece(), jointgeo.load_fixture("porch"))
    >>> found = ways(stool, answer, seconds=60)
    >>> [(w.remedy.do, w.change.name, w.change.value) for w in found.remedies]
    [('shorten_tenons', 'tenon_length_mm', 6.6)]

Two things are looked for. A remedy names an amount: where a field carries that quantity, the field
is set. And where the piece fails, each field is moved alone until all that fails passes: first a
little, to see how fast every margin moves, then as far as the slowest of them asks for, then back
to the least that holds, to the step that a person sets out to (``search.greatest`` closes on the
last bit, with more trials than there is time for). Both are solved whole as they are rounded, and
offered only then. A remedy that is offered lets its check pass, at every part that it is told of,
and makes no other check worse; with one change that is enough nothing fails. Two numbers at once
are not tried, and a search that takes too long ends with what it has.
"""

from __future__ import annotations

import itertools
import math
import time
from collections.abc import Iterable, Iterator, Mapping, Sequence

import attrs

from jointgeo.joints.check import Check, Remedy, Verdict, worst
from jointgeo.pieces.piece_type import PieceType
from jointgeo.pieces.reach import PROBE, Aim, aims, size_of
from jointgeo.pieces.solve import PieceAnswer
from jointgeo.pieces.trials import Key, Trials, end_key, own_key

__all__ = ["Change", "Mended", "Ways", "ways"]

SECONDS = 1.0  # of the processor, so that a page is there in little more than a second
#: Of them at most for the remedies, and for these and a first look at every number; the rest is for
#: following those that promise most.
REMEDIES, LOOKED = 0.4, 0.75
FURTHEST = 0.5  # of the number; a piece that is changed by more is another one; our choice
MOST = 4
TRIED = 6  # fields that promise most, each followed to its limit
STEPS = 10  # of one field's search; three do where margins move evenly
NEAR_MM = 0.05  # of a margin to 0, beside the share that the aim allows
HOLDS = -1e-9  # rounding, as a check allows it
_RANK = {"pass": 0, "not_stated": 0, "caution": 1, "fail": 2}


@attrs.frozen
class Change:
    """One number of the piece, changed. value, given: in the unit of the field ``name``; status: of
    the whole answer then."""

    name: str
    value: float
    given: float
    unit: str
    status: Verdict


@attrs.frozen
class Mended:
    """A remedy of a finding (as of ``Check.finding``), and the change that takes it: with it the
    check passes at every part, and no other is worse."""

    finding: tuple[str, str, str]
    remedy: Remedy
    change: Change


@attrs.frozen
class Ways:
    """enough: changes with each of which nothing fails, the least first; empty where nothing fails
    as it is. remedies: those that a number of the piece carries."""

    enough: tuple[Change, ...]
    remedies: tuple[Mended, ...]


def ways(
    drawn: PieceType, answer: PieceAnswer, *, inches: bool = False, seconds: float = SECONDS
) -> Ways:
    """What to change of a piece, each solved as it is offered.

    answer: of ``drawn``, solved with marks alike. inches: whether its lengths are set out in 64ths
    of an inch, else in tenths of a millimetre. seconds: of this thread's processor time; the trial
    that is under way then is ended. With ``math.inf`` the same is found on every machine.
    """
    begun = time.thread_time()
    trials = Trials(drawn, answer, inches=inches)
    trials.until = begun + (seconds if answer.feasible else REMEDIES * seconds)
    remedies = tuple(_remedies(trials))
    if answer.feasible:
        return Ways((), remedies)
    trials.until = begun + LOOKED * seconds
    promising = _promising(trials, [m.change for m in remedies])
    trials.until = begun + seconds
    return Ways(_enough(trials, promising), remedies)


# Remedies ----------------------------------------------------------------------------------


def _remedies(trials: Trials) -> Iterator[Mended]:
    findings: dict[tuple[str, str, str], list[Check]] = {}
    for check in trials.answer.every_check:
        if check.status in ("fail", "caution"):
            findings.setdefault(check.finding, []).append(check)
    for finding in sorted(findings, key=lambda f: -_RANK[f[0]]):
        checks = findings[finding]
        for remedy in checks[0].remedies:
            for aim in aims(trials, checks[0], remedy):
                change = _taken(trials, checks, aim)
                if change is not None:
                    yield Mended(finding, remedy, change)
                    break


def _taken(trials: Trials, checks: Sequence[Check], aim: Aim) -> Change | None:
    info, given = trials.fields[aim.name]
    value = trials.set_out(aim.name, aim.value, aim.value - given)
    if value == given:
        return None
    keys = _keys(trials, checks[0])
    if math.isfinite(aim.near):  # the amount unrounded leaves neither want nor much room
        found = trials.margins(aim.name, aim.value, keys)
        near = NEAR_MM + aim.near * abs(aim.value - given)
        if found is None or abs(min(found.values())) > near:
            return None
    found = trials.margins(aim.name, value, keys)
    if found is None or min(found.values()) < HOLDS:
        return None
    then = trials.checks(aim.name, value)
    if then is None or not _mended(trials.answer.every_check, then, checks):
        return None
    return Change(aim.name, value, given, info.unit, worst(then))


def _keys(trials: Trials, check: Check) -> list[Key]:
    if check in trials.answer.checks:
        return [own_key(check)]
    ends = trials.answer.solved_ends.items()
    return [end_key(check, bar, end) for (bar, end), solved in ends if check in solved.checks]


def _ranks(checks: Iterable[Check]) -> tuple[dict[Key, int], dict[str, int]]:
    """How bad each check is, by name and part, and by name alone."""
    by_part: dict[Key, int] = {}
    by_name: dict[str, int] = {}
    for check in checks:
        rank = _RANK[check.status]
        by_part[own_key(check)] = max(rank, by_part.get(own_key(check), 0))
        by_name[check.name] = max(rank, by_name.get(check.name, 0))
    return by_part, by_name


def _mended(now: Iterable[Check], then: Iterable[Check], found: Sequence[Check]) -> bool:
    """Whether those that were found pass, and nothing is worse than it was. An operation may stand
    under another of its bars then: it is held against the worst of its name, and must pass where
    that is what was found."""
    parts, names = _ranks(now)
    names |= dict.fromkeys((c.name for c in found), 0)
    parts |= dict.fromkeys(map(own_key, found), 0)
    after, _ = _ranks(then)
    return all(rank <= parts.get(key, names.get(key[0], 0)) for key, rank in after.items())


# One change that is enough --------------------------------------------------------------------


def _failing(trials: Trials) -> dict[Key, float]:
    """The margins of all that fails."""
    short = {own_key(c) for c in trials.answer.checks if c.status == "fail"}
    for (bar, end), solved in trials.answer.solved_ends.items():
        short |= {end_key(c, bar, end) for c in solved.checks if c.status == "fail"}
    return trials.now(sorted(short))


def _promising(trials: Trials, known: Iterable[Change]) -> list[tuple[str, float]]:
    """The numbers that may be enough, with how far to go; the least part of a number first. known:
    changes that a remedy asks for."""
    now = _failing(trials)
    found = {c.name: c.value - c.given for c in known if c.status != "fail"}
    for name, (_, given) in trials.fields.items():
        for step in (PROBE, -PROBE) if name not in found else ():
            near = step * size_of(name, given)
            then = trials.margins(name, given + near, now)
            if then is not None:
                need = _needed(now, then, near)
                if abs(need) <= FURTHEST * size_of(name, given):
                    found[name] = need
                break

    def share(item: tuple[str, float]) -> float:
        name, need = item
        return abs(need) / size_of(name, trials.fields[name][1])

    return sorted(found.items(), key=share)


def _enough(trials: Trials, promising: Iterable[tuple[str, float]]) -> tuple[Change, ...]:
    now = _failing(trials)
    tried = (_least(trials, name, need, now) for name, need in itertools.islice(promising, TRIED))
    out = [c for c in tried if c is not None]
    out.sort(key=lambda c: abs(c.value - c.given) / size_of(c.name, c.given))
    return tuple(out[:MOST])


def _needed(now: Mapping[Key, float], then: Mapping[Key, float], by: float) -> float:
    """How far to go so that every check holds, if margins go on as they do between the two;
    infinite where one does not move, or two ask for opposite ways."""
    needs = []
    for key, margin in now.items():
        if then[key] == math.inf:
            needs.append(by)
        elif then[key] == margin:
            return math.inf
        else:
            needs.append(-margin * by / (then[key] - margin))
    if min(needs) < 0 < max(needs):
        return math.inf
    return max(needs, key=abs)


def _least(trials: Trials, name: str, need: float, now: Mapping[Key, float]) -> Change | None:
    """The least change that holds: the limit stays between one that does not, first none at all,
    and one that does."""
    info, given = trials.fields[name]
    way, most, grain = math.copysign(1.0, need), FURTHEST * size_of(name, given), trials.grain(name)
    low, below = given, now
    high: float | None = None
    aim = given + need
    for _ in range(STEPS):
        at = trials.set_out(name, aim, way)
        if high is not None and (high - at) * way < grain / 2:
            at = trials.set_out(name, high - way * grain, way)
        found = trials.margins(name, at, now)
        if (at - low) * way < grain / 2 or abs(at - given) > most or found is None:
            break
        if min(found.values()) >= HOLDS:
            one_step = high is not None and (high - at) * way < 1.5 * grain
            high = at
            aim = (low + high) / 2 if one_step else low + _needed(below, found, at - low)
        else:
            aim = low + _needed(below, found, at - low) if high is None else (at + high) / 2
            low, below = at, found
        if not math.isfinite(aim):
            break
    then = None if high is None else trials.checks(name, high)
    if high is None or then is None or worst(then) == "fail":
        return None
    return Change(name, high, given, info.unit, worst(then))
