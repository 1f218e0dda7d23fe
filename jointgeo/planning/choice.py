"""Which clamping of one setup is taken: the first that fails no check, or the one asked for.

Knows clampings and checks as values; makes neither plan nor check, both are handed in.

Theory. A clamping outside an axis's range fails there, so it is never worth judging. With one
clamping left there is nothing to choose and nothing is judged: whoever wants the checks runs
them. With two, the preferred one is judged; only where it fails a check is the other. The first
by preference that fails nothing is taken, else the preferred one. A wider range only adds
clampings to choose from, so it never turns what is feasible into what is not. A caution chooses
nothing: it asks for care, and the order of preference is kept.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import attrs

from jointgeo.joints.check import Check, Remedy
from jointgeo.joints.sides import in_words
from jointgeo.planning.clampings import Candidate

__all__ = ["NO_WISH", "Judge", "Taken", "Wish", "failing", "honest", "taken"]

#: The checks, of those that can fail, of one clamping.
Judge = Callable[[Candidate], tuple[Check, ...]]

#: What ``preference`` goes by, in words.
ORDER = "least packing, then most room to the beam, least tilt, least swivel, marked sides"


@attrs.frozen
class Wish:
    """What a person asks for at one end; None leaves it to the library. against_plate: the marked
    side on the plate, which settles the sense as well, since the two clampings of a frame lie on
    opposite sides; it holds for each setup that can be clamped so. cutter: its name."""

    against_plate: str | None = None
    cutter: str | None = None

    def __bool__(self) -> bool:
        return self.against_plate is not None or self.cutter is not None


NO_WISH = Wish()


@attrs.frozen(eq=False)
class Taken:
    """The clamping, why, and the checks of every one that was judged."""

    candidate: Candidate
    because: str
    judged: tuple[tuple[Candidate, tuple[Check, ...]], ...] = ()


def failing(checks: Sequence[Check]) -> tuple[str, ...]:
    """Names of the checks that fail, each once."""
    return tuple(dict.fromkeys(c.name for c in checks if c.status == "fail"))


def honest(
    chosen: Candidate, judged: Sequence[tuple[Candidate, tuple[Check, ...]]]
) -> tuple[tuple[Candidate, tuple[Check, ...]], ...]:
    """The same checks; where one of the chosen clamping's sends a person to the other side of the
    stock and that is known to fail, it says so."""
    fails = [name for c, found in judged if c is not chosen for name in failing(found)]
    if not fails:
        return tuple(judged)
    also = ", ".join(dict.fromkeys(fails))

    def told(remedy: Remedy) -> Remedy:
        if remedy.do != "turn_stock":
            return remedy
        says = f"{remedy.says}, but fails {also} there"
        return attrs.evolve(remedy, says=says, amounts={**remedy.amounts, "fails": also})

    return tuple(
        (c, tuple(attrs.evolve(k, remedies=tuple(map(told, k.remedies))) for k in found))
        if c is chosen
        else (c, found)
        for c, found in judged
    )


def taken(
    ordered: Sequence[Candidate], judge: Judge | None, plate: Callable[[Candidate], str]
) -> Taken:
    """The one to take of ``ordered``, the preferred first.

    judge: None takes the preferred one. plate: the marked side that a clamping has on the plate.
    """
    first, *rest = ordered
    if not first.in_range:
        return Taken(first, "no clamping is inside both axes' ranges; this one is least far out")
    others = [c for c in rest if c.in_range]
    if not others:
        return Taken(first, "the only clamping inside both axes' ranges")
    if judge is None:
        return Taken(first, f"the first by {ORDER}; not judged")
    judged = [(first, judge(first))]
    if not failing(judged[0][1]):
        return Taken(first, f"the first by {ORDER}; it fails no check", tuple(judged))
    said = f"the {in_words(plate(first))} on the plate comes first by {ORDER}, but fails "
    said += ", ".join(failing(judged[0][1]))
    for other in others:
        judged.append((other, judge(other)))
        if not failing(judged[-1][1]):
            return Taken(other, f"{said}; this clamping fails no check", tuple(judged))
    because = f"every clamping fails a check; this one is the first by {ORDER}"
    return Taken(first, because, honest(first, judged))
