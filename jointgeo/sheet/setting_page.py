"""One setting on the page: how to clamp, what to set, what to cut, what to measure.

Knows sheets, drawings and markup; no joint type.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from jointgeo.checks.accuracy import closing_words
from jointgeo.joints.sides import in_words
from jointgeo.schema.units import degrees_minutes, fixed
from jointgeo.sheet import words
from jointgeo.sheet.aside import from_the_side
from jointgeo.sheet.cut_end import cut_end
from jointgeo.sheet.facing import facing
from jointgeo.sheet.markup import Markup, element, joined
from jointgeo.sheet.model import EndSheet, SetupSheet
from jointgeo.sheet.parts import Book, checked, items, pairs, table, tick
from jointgeo.solution.axis import AxisSetting
from jointgeo.solution.setup import Packing, Setup

__all__ = ["setting_section"]

#: Aids shown for one axis.
MOST_AIDS = 3


def setting_section(book: Book, end: EndSheet) -> Markup:
    """Everything that is done to one kind of end."""
    part = end.solution.part
    sizes = part.width_mm, part.thickness_mm, end.solution.blank_mm
    blank = " × ".join(words.mm(size) for size in sizes)
    finished = words.mm(part.length_mm)
    return element(
        "section",
        element("h2", f"Setting {end.number}: {end.part}", id=f"setting-{end.number}"),
        element("p", f"Blank {blank} mm: finished {finished} mm and what both ends need, for:"),
        items(words.use(u) for u in end.solution.uses),
        *(_setup(book, end, setup) for setup in end.setups),
        *_after(end),
        class_="new-page",
    )


def _setup(book: Book, end: EndSheet, setup: SetupSheet) -> Markup:
    many = len(end.setups) > 1
    name = f"setting-{end.number}" + (f"-setup-{setup.number}" if many else "")
    parts = [element("h3", f"Setup {setup.number}")] if many else []
    if setup.setup.cautions:
        said = items(f"{c[:1].upper()}{c[1:]}." for c in setup.setup.cautions)
        parts.append(element("div", element("h4", "Mind, here"), said, class_="cautions"))
    parts += [
        pairs(_clamping(setup)),
        book.figure(f"{name}-facing", facing(setup.scene, setup.nearest_edge)),
        _aids(setup.setup),
        book.figure(f"{name}-side", from_the_side(setup.scene)),
        *_cuts(setup.setup),
    ]
    if setup.plan.cuts:
        parts.append(book.figure(f"{name}-end", cut_end(setup.scene, setup.nearest_edge)))
    return joined([*parts, element("h3", "Will it fit?"), checked(end.checks_of(setup.number))])


def _clamping(sheet: SetupSheet) -> Iterator[tuple[str, str]]:
    setup, first = sheet.setup, sheet.number == 1
    names = setup.against_plate, setup.against_fence, setup.sides["you"]
    plate, fence, you = (in_words(name) for name in names)
    exits = in_words(setup.exit_side) if setup.exit_side else f"{plate} or the {you} (not stated)"
    yield "Sides", f"{plate} on the plate, {fence} on the fence, {you} to you"
    swivel, tilt = setup.axes
    yield "Swivel", _axis(swivel)
    yield "Tilt", _axis(tilt)
    if setup.packing is not None:
        yield "Packing", _packing(setup.packing_deg, setup.packing)
    # The corner it was first measured to goes with the trim.
    overhang = setup.overhang_mm if first else setup.overhang_trimmed_mm
    end = "" if first else " as trimmed"
    yield "Overhang", f"{words.mm(overhang)} mm, along the plate to the lowest corner{end}"
    kerf = words.mm(setup.kerf_mm)
    yield "Cutter", f"{setup.cutter}, kerf {kerf} mm; it leaves through the {exits}"
    yield "Cutter height", _heights(setup, again=not first)
    if setup.cuts:
        corner = in_words(sheet.nearest_edge)
        yield "Touch off", f"cutter's right-hand face to the corner nearest {corner}; travel 0"


def _heights(setup: Setup, *, again: bool) -> str:
    heights = setup.heights
    trim = (
        f"trim at {words.mm(heights.trim_mm)} mm "
        f"({words.mm(setup.trim_mm)} mm above the lowest corner)"
    )
    trim += _steps(heights.trim_steps_mm)
    if again:
        trim = "already trimmed in setup 1: do not trim again"
    cuts = [
        f"{words.mm(depth)} mm deep at {words.mm(at)} mm{_steps(steps)}"
        for (depth, at), steps in zip(heights.cuts, heights.steps_mm, strict=True)
    ]
    return f"above the {heights.datum}: {'; '.join([trim, *cuts])}"


def _steps(heights: Sequence[float]) -> str:
    """A depth that is not taken at once."""
    if len(heights) == 1:
        return ""
    return f" (in {len(heights)} steps: {', '.join(map(words.mm, heights))} mm)"


def _axis(axis: AxisSetting) -> str:
    """The scale's figure where it is known to differ; else the angle both ways a scale may read,
    and which way it goes."""
    if axis.differs:
        return words.set_scale(axis)
    if not axis.way:
        return "0.000° (at zero)"
    value, rest = axis.angle_deg, 90.0 - abs(axis.angle_deg)
    return f"{words.angle(value)}, {axis.way}; complement {rest:.3f}° ({degrees_minutes(rest)})"


def _packing(packing_deg: float, packing: Packing) -> str:
    off = words.mm(packing.error_if_ignored_mm)
    if packing.slips == 0:
        says = f"{packing.paper}; the cut is off by {off} mm"
    elif packing.paper:
        with_it = words.mm(packing.left_mm)
        says = f"{packing.paper}; left out, the cut is off by {off} mm, with it by {with_it} mm"
    else:
        says = (
            f"wedge {words.mm(packing.length_mm)} mm long, {words.mm(packing.thin_mm)} to "
            f"{words.mm(packing.thick_mm)} mm, thick along the {in_words(packing.thick_end)}; left "
            f"out, the cut is off by {off} mm"
        )
    return f"{words.angle(packing_deg)}: {says}"


def _aids(setup: Setup) -> Markup:
    """Ways to set the axes better than a scale can; the best of each axis comes first."""
    rows: list[tuple[str, str, str, str, str]] = []
    doubted = {axis.axis for axis in setup.axes if axis.doubted}  # most aids start at its zero
    for aid in setup.aids:
        if aid.axis not in doubted and sum(row[0] == aid.axis for row in rows) < MOST_AIDS:
            needed = "any" if aid.needed_deg is None else f"{aid.needed_deg:.3f}°"
            enough = "yes" if aid.enough else "no"
            rows.append((aid.axis, aid.says, needed, f"{aid.reach_deg:.3f}°", enough))
    head = ("Axis", "How to set it", "Needed ±", "Gives ±", "Good enough")
    says = closing_words(setup.budget.closing)
    return joined(
        [
            element("h3", "Setting aids"),
            table(head, rows, numbers=(2, 3)),
            element("p", f"Set by the scales, {says}."),
        ]
    )


def _cuts(setup: Setup) -> Iterator[Markup]:
    """One row for each pass, in cutting order, with a box to tick."""
    if not setup.cuts:
        return
    at, body = dict(setup.heights.cuts), []
    for number, cut in enumerate(setup.cuts, 1):
        says = (
            f"Cut {number}: {words.mm(cut.left_mm)} to {words.mm(cut.right_mm)} mm, depth "
            f"{words.mm(cut.depth_mm)} mm, cutter height {words.mm(at[cut.depth_mm])} mm"
        )
        body.append(element("tr", element("th", says, colspan="4", scope="rowgroup")))
        for step in cut.passes:
            cells = [element("td", tick(), class_="tick")]
            cells += [
                element("td", f"{words.mm(step.travel_mm)}", class_="number"),
                element("td", words.wheel(step.turns, step.divisions)),
                element("td", fixed(step.rounding_mm, 3, signed=True), class_="number"),
            ]
            body.append(element("tr", *cells))
    heads = ("Done", "Travel, mm", "Handwheel from zero", "Rounded by, mm")
    top = element("tr", *(element("th", h, scope="col") for h in heads))
    yield element("h3", "Cuts, from left to right")
    yield element("table", element("thead", top), element("tbody", *body))


def _after(end: EndSheet) -> Iterator[Markup]:
    """What holds for the whole end: layout lines, the test piece's measures, wood."""
    yield checked(end.checks_of(None))
    marks = end.solution.marks
    if marks:
        edges = list(marks[0].at_mm)
        rows = [(in_words(e), *(words.mm(m.at_mm[e]) for m in marks)) for e in edges]
        heads = ("Long edge", *(f"{m.line}, mm" for m in marks))
        yield element("h3", "Layout lines, from the square end")
        yield table(heads, rows, numbers=range(1, len(heads)))
    wanted = [(v.what, words.mm(v.expected_mm), v.instrument, "") for v in end.solution.verify]
    if wanted:
        yield element("h3", "Measure the test piece")
        yield table(("What", "Expected, mm", "With", "Measured"), wanted, numbers=(1,))
