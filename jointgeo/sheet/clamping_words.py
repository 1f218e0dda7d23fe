"""What an operation page says of one clamping: both axes, sides and heights, marks and measures.

Knows setups, words and pieces of a page; no drawing.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from math import isfinite

from jointgeo.joints.sides import in_words
from jointgeo.planning.end_plan import LINE_WORDS
from jointgeo.planning.packing import Packing
from jointgeo.planning.passes import sweep
from jointgeo.schema.units import degrees_minutes, fixed
from jointgeo.setting_aids.aid import Aid
from jointgeo.sheet import words
from jointgeo.sheet.flow import Block, Rows, boxed, paragraph, rows
from jointgeo.sheet.lettering import text_mm
from jointgeo.sheet.markup import Markup, element, joined
from jointgeo.sheet.model import EndSheet, SetupSheet
from jointgeo.sheet.order import trim_words
from jointgeo.sheet.style import LETTER_MM, TEXT_WIDE_MM
from jointgeo.solution.axis import DOUBT, AxisSetting
from jointgeo.solution.setup import Setup

__all__ = ["axis_block", "facts", "marks_table", "measures", "measures_table", "packing_words"]

#: A finer aid must reach at least so much nearer than the first.
_FINER = 0.8
#: Height of a row with room to write in.
_WRITE_MM = 5.4


# Both axes -----------------------------------------------------------------------------------


def axis_block(setup: Setup, axis: AxisSetting, wide_mm: float, *, stopped: bool) -> Block:
    """One axis in a frame: which way, the figure in large letters, how near, and how to get there.

    stopped: the operation is not to be cut, so nothing here invites to set it.
    """

    def build(wide: float) -> list[Block]:
        return [paragraph(text, wide) for text in _axis_says(setup, axis, stopped=stopped)]

    framed = boxed(build, "axis", wide_mm)
    # The line with the large figure is higher than others.
    return framed if stopped or axis.doubted else Block(framed.made, framed.high_mm + 3.1)


def _axis_says(setup: Setup, axis: AxisSetting, *, stopped: bool) -> Iterator[str]:
    name = axis.axis.upper()
    way = f" {axis.way}" if axis.way else " at zero"
    if axis.doubted or stopped:
        because = DOUBT if axis.doubted else "this operation is not to be cut"
        yield joined([element("strong", f"{name}: do not set"), f", {because}."])
        yield f"The drawing asks for a {axis.true_words}."
        return
    if axis.wedge:
        yield joined([element("strong", f"{name}: no such axis, by wedges"), *_within(setup, axis)])
        yield f"{_upper(axis.wedge)} ({axis.true_words})."
        yield from _how(setup, axis)
        return
    if (setup.fixture.swivel if axis.axis == "swivel" else setup.fixture.tilt).lacking:
        yield joined([element("strong", f"{name}: no such axis"), ", and none is needed here."])
        return
    large = element("strong", f"{fixed(axis.figure_deg, 3)}°")
    if axis.differs:
        beyond = ", beyond its range" if axis.beyond else ""
        within = _within(setup, axis)
        yield joined([element("strong", f"{name}: set its scale to"), beyond, *within])
        yield _large([large, f" or {degrees_minutes(axis.figure_deg)} ({axis.true_words})"])
    else:
        yield joined([element("strong", name), way, *_within(setup, axis)])
        rest = 90.0 - abs(axis.angle_deg)
        more = f"; complement {rest:.3f}°" if axis.way else ""
        yield _large([large, f" {degrees_minutes(axis.angle_deg)}", more])
    yield from _how(setup, axis)


def _large(texts: Sequence[str]) -> Markup:
    return Markup(joined([element("span", *texts, class_="large")]))


def _how(setup: Setup, axis: AxisSetting) -> Iterator[str]:
    """What gets near enough with the least trouble, and what comes nearer."""
    aids = [a for a in setup.aids if a.axis == axis.axis]
    if not aids:
        yield "Nothing here can set it."
        return
    first = aids[0]
    yield f"{_upper(first.says)}: {_reach(first)}."
    finer = [a for a in aids[1:] if a.reach_deg < _FINER * first.reach_deg]
    if finer:
        # In the order of the list the first that is enough takes the least trouble.
        best = finer[0]
        yield f"Finer: {best.says}: {_reach(best)}."


def _within(setup: Setup, axis: AxisSetting) -> list[str]:
    """How near it must come."""
    needed = setup.needed_deg(axis.axis)
    if needed is None:  # no joint has to close
        return []
    if not isfinite(needed):
        return [", any angle will do"]
    return [", must be within ", element("strong", f"± {needed:.3f}°")]


def _reach(aid: Aid) -> str:
    """How near it comes, and whether that is near enough; with digits that tell both apart."""
    if aid.needed_deg is None:
        return f"± {aid.reach_deg:.3f}°"
    reach, _ = words.apart(aid.reach_deg, aid.needed_deg, "deg")
    return f"± {reach}, {'good enough' if aid.enough else 'NOT close enough'}"


def _upper(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}"


# Clamping ------------------------------------------------------------------------------------


def facts(sheet: SetupSheet) -> Rows:
    """How it is clamped, what it is cut with, and how high."""
    widths = (21.0, TEXT_WIDE_MM - 21.0)
    return rows("", (), list(_facts(sheet)), widths, first_is_head=True)


def _facts(sheet: SetupSheet) -> Iterator[tuple[str, str]]:
    setup, first = sheet.setup, sheet.number == 1
    names = setup.against_plate, setup.against_fence, setup.sides["you"]
    plate, fence, you = (in_words(name) for name in names)
    exits = in_words(setup.exit_side) if setup.exit_side else f"{plate} or the {you} (not stated)"
    yield "Sides", f"{plate} on the plate, {fence} on the fence, {you} to you"
    if setup.packing is not None:
        yield "Packing", packing_words(setup, setup.packing)
    # The corner it was first measured to goes with the trim.
    overhang = setup.overhang_mm if first else setup.overhang_trimmed_mm
    end = "" if first else " as trimmed"
    yield "Overhang", f"{words.mm(overhang)} mm, along the plate to the lowest corner{end}"
    heights = setup.heights
    if first:
        above = words.mm(setup.trim_mm)
        steps = _steps(heights.trim_steps_mm)
        at = f"at {words.mm(heights.trim_mm)} mm, {above} mm above the lowest corner{steps}"
        yield "Trim", f"{at}; {_trim(setup)}"
    else:
        yield "Trim", trim_words(sheet)
    cuts = [
        f"{words.mm(depth)} mm deep at {words.mm(at)} mm{_steps(steps)}"
        for (depth, at), steps in zip(heights.cuts, heights.steps_mm, strict=True)
    ]
    said = "; ".join(cuts) or "trim only"
    yield (
        "Cutter",
        f"{setup.cutter}, kerf {words.mm(setup.kerf_mm)} mm, leaves through the {exits}; {said}. "
        f"Heights are above the {heights.datum}",
    )
    if setup.cuts:
        corner = in_words(sheet.nearest_edge)
        yield (
            "Touch off",
            f"right-hand face to the trimmed corner nearest {corner}: wheel to 0; every pass from "
            "the left",
        )


def _trim(setup: Setup) -> str:
    """How often, and from where to where; as ``jobs.report.trimming`` has it, in fewer words."""
    practice, mm = setup.fixture.practice, words.mm
    over = sweep(setup.plan.trim_travel_mm, setup.plan.cutter, practice.overlap_mm)
    if over.count == 1:
        return "one pass over the whole width"
    past = mm(practice.run_past_mm)
    return (
        f"{over.count} passes over {mm(over.over_mm)} mm, the cutter's left face from {past} mm "
        f"left of the wood, its right face to {past} mm right of it, each "
        f"{mm(over.most_mm)} mm further at most"
    )


def _steps(heights: Sequence[float]) -> str:
    """A depth that is not taken at once."""
    if len(heights) == 1:
        return ""
    return f" (in {len(heights)} steps: {', '.join(map(words.mm, heights))} mm)"


def packing_words(setup: Setup, packing: Packing) -> str:
    """What to put between stock and plate, and what comes of leaving it out."""
    says = packing.says(setup.against_plate, lambda value: f"{words.mm(value)} mm")
    return f"{words.angle(setup.packing_deg)}: {says}"


# Marks and measures --------------------------------------------------------------------------


def marks_table(end: EndSheet, wide_mm: float) -> Rows:
    """Where lines cross the long edges."""
    marks = end.solution.marks
    edges = list(marks[0].at_mm)
    found = [(in_words(e), *(words.mm(m.at_mm[e]) for m in marks)) for e in edges]
    heads = [LINE_WORDS[m.line][1] for m in marks]
    least = [max(text_mm(t, LETTER_MM, bold=True) for t in (h, "000.00")) + 2.6 for h in heads]
    more = max(0.0, min(10.0, (wide_mm - 38.0 - sum(least)) / len(marks)))
    each = [wide + more for wide in least]
    widths = [wide_mm - sum(each), *each]
    head = ("Corner edge", *heads)
    numbers = range(1, len(head))
    return rows("Mark from square end, mm", head, found, widths, numbers=numbers)


def measures(end: EndSheet, setup: SetupSheet) -> list[tuple[str, str, str]]:
    """What to measure on the test piece after this clamping, with what, and what is wanted."""
    last = setup.number == len(end.setups)
    wanted: list[tuple[str, str, str]] = []
    for item in end.solution.verify:
        found = re.match(r"clamping (\d+): (.*)", item.what)
        number, what = (int(found[1]), found[2]) if found else (None, item.what)
        if number == setup.number or (number is None and last):
            wanted.append((what, item.instrument, words.mm(item.expected_mm)))
    return wanted


def measures_table(wanted: Sequence[tuple[str, str, str]], wide_mm: float) -> Rows:
    """The same with room to write beside it."""
    table = [(f"{what} ({tool})", value, "") for what, tool, value in _alike(wanted)]
    widths = (wide_mm - 32.4, 16.8, 15.6)
    head = ("What", "Wanted", "Found")
    name = "Measure the test piece, mm"
    return rows(name, head, table, widths, numbers=(1,), least_mm=_WRITE_MM)


def _alike(wanted: Sequence[tuple[str, str, str]]) -> Iterator[tuple[str, str, str]]:
    """Equal measures that differ in the numbers of their cuts only, as one line."""
    groups: dict[tuple[str, str, str], list[str]] = {}
    for what, tool, value in wanted:
        groups.setdefault((re.sub(r"\d+", "#", what), tool, value), []).append(what)
    for (_, tool, value), whats in groups.items():
        more = f", and {len(whats) - 1} alike" if len(whats) > 1 else ""
        yield f"{whats[0]}{more}", tool, value
