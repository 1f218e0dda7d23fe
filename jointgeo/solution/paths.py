"""One number of an answer by its path, which reads as the sheet does: ``leg.1.swivel_deg``.

Knows the answer's typed values and how each is written; knows no joint type by name and no HTTP.

A path begins with a part and the number of the clamping, counted from 1 as on paper, and names a
quantity: ``leg.1.trim_mm``, ``leg.1.cuts.2.left_mm``, ``leg.stock.length_mm``. What holds for the
joint as a whole stands alone: ``status``, ``trouble.because``. Everything that is counted is
counted from 1. Only what a path asks for is worked out.

What no scale can show, or no longer shows reliably, is refused by its path and never a number: a
cell holds one figure and not the verdict beside it, and somebody would set it.

A check is entered by its name, ``leg.1.checks.front_beam.margin``. Where there are several of one
name, one for each beam, the worst of them answers, since the first need not be the least.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from typing import Any

import attrs

from jointgeo.errors import InputError, Problem, shown
from jointgeo.joints.check import Check
from jointgeo.solution import serialise
from jointgeo.solution.axis import AxisSetting
from jointgeo.solution.end import EndSolution
from jointgeo.solution.meanings import meaning
from jointgeo.solution.setup import Setup
from jointgeo.solution.solution import Solution

__all__ = ["Listed", "Scalar", "listed", "trouble", "value"]

Scalar = float | int | bool | str | None
_INDEX = re.compile(r"[1-9][0-9]{0,5}", re.ASCII)
_RANK = {"fail": 0, "caution": 1, "not_stated": 2, "pass": 3}


@attrs.frozen
class Listed:
    """A path that can be asked, the value that it leads to, and what that is."""

    path: str
    value: Scalar
    meaning: str


class _Branch:
    """A place in the answer: what stands below it by name, worked out of ``of`` when entered."""

    __slots__ = ("below", "of")

    def __init__(self, below: Mapping[str, Callable[[Any], Any]], of: object) -> None:
        self.below, self.of = below, of


@attrs.frozen
class _NotToSet:
    """In place of a scale's figure. why: in words."""

    why: str


def value(solution: Solution, path: str, field: str = "pick") -> Scalar:
    """The number, text or flag at ``path``; None where the answer has none there, as below a wedge
    that is not needed.

    InputError of ``field`` where the path leads nowhere or to more than one value, and for the
    figure of a scale that cannot be set to it.
    """
    at: Any = None
    for i, step in enumerate(path.split(".")):
        try:
            at = _root(solution, step) if i == 0 else _into(at, step)
        except KeyError:
            at = _tree(solution) if i == 0 else at
            raise InputError(_astray(field, path, f"leads nowhere at {shown(step)}", at)) from None
    at = _python(at)
    if at is None or isinstance(at, (bool, int, float, str)):
        return at
    if isinstance(at, _NotToSet):
        raise InputError(Problem(field, f"is not to be set: {at.why}", shown(path)))
    raise InputError(_astray(field, path, "does not lead to a single value", at))


def listed(solution: Solution) -> Iterator[Listed]:
    """Every path of this answer: first the whole, then part after part as on paper."""
    for path, found in _walk(_tree(solution), ""):
        yield Listed(path, found, meaning(path))


def trouble(checks: Iterable[Check]) -> Check | None:
    """What to look at first: the first of the worst checks, None where none cautions or fails."""
    worst = min(checks, key=lambda c: _RANK[c.status], default=None)
    return worst if worst is not None and _RANK[worst.status] < _RANK["not_stated"] else None


_WHOLE: dict[str, Callable[[Solution], Any]] = {
    "joint_type": lambda s: s.joint.name,
    "hand": lambda s: s.hand,
    "feasible": lambda s: s.feasible,
    "status": lambda s: s.status,
    "not_stated": lambda s: s.not_stated,
    "trouble": lambda s: _first(s.checks),
    "checks": lambda s: _checks(c for c in s.joint_checks if not c.part),
    "notes": lambda s: list(s.notes),
}


def _root(solution: Solution, step: str) -> Any:
    if step in _WHOLE:
        return _WHOLE[step](solution)
    return _part(solution, solution.end(step))


def _tree(solution: Solution) -> _Branch:
    ends = {bar.name: _named(bar.name) for bar in solution.drawing.bars}
    return _Branch(_WHOLE | ends, solution)


def _named(part: str) -> Callable[[Solution], Any]:
    return lambda solution: _part(solution, solution.end(part))


def _part(solution: Solution, end: EndSolution) -> _Branch:
    return _Branch(_below_part(len(end.setups)), (solution, end))


@lru_cache(maxsize=16)
def _below_part(setups: int) -> Mapping[str, Callable[[Any], Any]]:
    """What stands below a part that has so many setups."""
    return {str(place + 1): _numbered(place) for place in range(setups)} | _PART


def _numbered(place: int) -> Callable[[Any], Any]:
    return lambda of: _Branch(_SETUP, (*of, of[1].setups[place]))


def _written(write: Callable[[Any], Any]) -> Callable[[Any], Any]:
    """What is written of the last of a place's objects."""
    return lambda of: write(of[-1])


#: Below a part, of (solution, end): what is written of it, but for the layout's frames, which are
#: for programs; and below a setup, of (solution, end, setup).
_PART: dict[str, Callable[[Any], Any]] = {
    **{name: _written(write) for name, write in serialise.PART.items()},
    "layout": lambda of: [_plain_layout(box) for box in serialise.PART["layout"](of[1])],
    "checks": lambda of: _checks(_of(of[0], of[1], None)),
}
_SETUP: dict[str, Callable[[Any], Any]] = {
    **{name: _written(write) for name, write in serialise.SETUP.items()},
    "scale_swivel_deg": lambda of: _figure(of[2].axes[0]),
    "scale_tilt_deg": lambda of: _figure(of[2].axes[1]),
    "aid": lambda of: _best_aids(of[2]),
    "checks": lambda of: _checks(_of(of[0], of[1], of[2].number)),
}


def _figure(axis: AxisSetting) -> float | _NotToSet:
    figure = axis.to_set_deg
    return _NotToSet(axis.scale_words) if figure is None else figure


def _of(solution: Solution, end: EndSolution, setup: int | None) -> Iterator[Check]:
    """The checks of one setup, or of the end as a whole, those of the joint type among them."""
    own = (c for c in solution.joint_checks if c.part == end.part.name)
    return (c for c in (*end.checks, *own) if c.setup == setup)


def _plain_layout(box: Mapping[str, Any]) -> dict[str, Any]:
    """Without the frame."""
    return {name: found for name, found in box.items() if name != "frame"}


def _best_aids(setup: Setup) -> dict[str, Any]:
    """The best aid of each axis; None where there is none."""
    out: dict[str, Any] = {"swivel": None, "tilt": None}
    for aid in reversed(setup.aids):
        out[aid.axis] = aid.to_dict()
    return out


def _checks(checks: Iterable[Check]) -> dict[str, Any]:
    """By name, the worst of each name."""
    out: dict[str, Check] = {}
    for check in checks:
        known = out.get(check.name)
        if known is None or _order(check) < _order(known):
            out[check.name] = check
    return {name: _check(check) for name, check in out.items()}


def _order(check: Check) -> tuple[int, float]:
    return _RANK[check.status], check.margin


def _check(check: Check) -> dict[str, Any]:
    out = check.as_dict()
    remedies = out.pop("remedies")
    return out | {"remedy": remedies[0]["says"] if remedies else None}


def _first(checks: Iterable[Check]) -> dict[str, Any]:
    found = trouble(checks)
    if found is None:
        names = (f.name for f in attrs.fields(Check) if f.name != "remedies")
        return dict.fromkeys((*names, "remedy"))
    return {"setup": None} | _check(found)


def _python(at: Any) -> Any:
    """Numbers of numpy, which a joint type may give, as Python's own; all else as it is."""
    return at.tolist() if hasattr(at, "tolist") else at


def _into(at: Any, step: str) -> Any:
    """What stands at ``step``: nothing below nothing; KeyError where there is no such place."""
    at = _python(at)
    if at is None:
        return None
    if isinstance(at, _Branch):
        return at.below[step](at.of)
    if isinstance(at, Mapping):
        return at[step]
    counted = isinstance(at, Sequence) and not isinstance(at, str)
    if counted and _INDEX.fullmatch(step) and int(step) <= len(at):
        return at[int(step) - 1]
    raise KeyError(step)


def _below(at: Any) -> Iterator[tuple[str, Any]]:
    if isinstance(at, _Branch):
        yield from ((name, found(at.of)) for name, found in at.below.items())
    elif isinstance(at, Mapping):
        yield from at.items()
    else:
        yield from ((str(i), found) for i, found in enumerate(at, 1))


def _walk(at: Any, path: str) -> Iterator[tuple[str, Scalar]]:
    for step, entered in _below(at):
        there, found = f"{path}.{step}" if path else step, _python(entered)
        if isinstance(found, _NotToSet):
            yield there, None
        elif found is None or isinstance(found, (bool, int, float, str)):
            yield there, found
        else:
            yield from _walk(found, there)


def _astray(field: str, path: str, message: str, at: Any) -> Problem:
    allowed = "a number, a text, true or false"
    if isinstance(at, _Branch | Mapping):
        names = at.below if isinstance(at, _Branch) else at
        allowed = "there: one of " + ", ".join(str(name) for name in names)
    elif isinstance(at, Sequence) and not isinstance(at, str) and at:
        allowed = f"there: 1 to {len(at)}"
    return Problem(field, message, shown(path), allowed)
