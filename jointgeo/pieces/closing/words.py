"""What closing comes to, in sentences for the bench.

Knows the answer only; lengths are written by whoever asks.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from jointgeo.joints.sides import in_words
from jointgeo.pieces.closing.answer import Closing, Hint, LastGap
from jointgeo.schema.units import fixed

__all__ = ["closing_lines"]

Length = Callable[[float], str]
CANCELS_MM = 0.005  # a gap for each mm; less is nothing that a tape shows over some mm


def closing_lines(closing: Closing, mm: Length) -> Iterator[str]:
    """The last gap, what joints must give, lengths, and the hint. mm: a length in words."""
    if not closing.frames:
        yield "No closed frame: every joint closes by itself."
        return
    last = max(closing.last, key=lambda g: (round(g.total.opening_mm, 6), g.total.offset_mm))
    count = len(closing.frames)
    which = "Its closed frame" if count == 1 else f"The worst of its {count} closed frames"
    yield f"{which}: {'; '.join(last.bars)}."
    yield from _last(last, mm)
    most = max(closing.drawn_up, key=lambda g: g.opening_mm)
    # Of joints that are alike the first is named, whatever the rounding.
    most = next(g for g in closing.drawn_up if g.opening_mm >= most.opening_mm * (1 - 1e-9))
    verdict = (
        "within what glue fills, if each joint's own operation is"
        if closing.closes
        else "more than glue fills"
    )
    yield (
        f"Drawn up all at once, no joint must give more than {fixed(most.total_deg, 3)}° "
        f"({fixed(most.common_deg, 3)}° by errors that all operations share, "
        f"{fixed(most.random_deg, 3)}° by those of setting each anew), which opens {most.name} by "
        f"{mm(most.opening_mm)}: {verdict} (glue line {mm(most.limit_mm)})."
    )
    long = max(closing.lengths, key=lambda g: round(g.all_mm, 6))
    if long.all_mm > CANCELS_MM:
        yield (
            f"Lengths: with every bar {mm(1.0)} too long the last joint of {'; '.join(long.bars)} "
            f"is {mm(long.all_mm)} off; here that does not cancel, so lengths must be right and "
            "not only alike."
        )
    else:
        yield "Lengths: bars that are all too long by the same close; let them be alike."
    if closing.hint is not None:
        yield _hint(closing.hint)


def _last(last: LastGap, mm: Length) -> Iterator[str]:
    total, common, random = last.total, last.common, last.random
    yield (
        f"Glued one joint after the other, each closed tight, the last one ({last.joint}) may open "
        f"by {mm(total.opening_mm)}: {mm(common.opening_mm)} by errors that all operations share, "
        f"{mm(random.opening_mm)} by those of setting each anew. It may be "
        f"{mm(total.offset_mm)} out of line, by the two {mm(common.offset_mm)} and "
        f"{mm(random.offset_mm)}. Let no glue set before all joints are drawn up."
    )


def _hint(hint: Hint) -> str:
    ends = "; ".join(
        f"{e.bar}, {e.end} end, with the {in_words(e.against_plate)} on the plate"
        for e in hint.ends
    )
    return (
        f"Errors cancel if these ends are clamped the other way: {ends}. What a joint must give by "
        f"what all operations share falls from {fixed(hint.before_deg, 3)}° to "
        f"{fixed(hint.after_deg, 3)}°."
    )
