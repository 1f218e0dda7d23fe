"""One setting on the page: how to clamp, what to set, what to cut, what to measure.

Knows sheets, drawings and markup; no joint type.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from jointgeo.joints.sides import in_words
from jointgeo.schema.units import degrees_minutes
from jointgeo.sheet import words
from jointgeo.sheet.aside import from_the_side
from jointgeo.sheet.cut_end import cut_end
from jointgeo.sheet.facing import facing
from jointgeo.sheet.markup import Markup, element, joined
from jointgeo.sheet.model import EndSheet, SetupSheet
from jointgeo.sheet.parts import Book, checked, items, pairs, table, tick

__all__ = ["setting_section"]

#: Aids shown for one axis.
MOST_AIDS = 3


def setting_section(book: Book, end: EndSheet) -> Markup:
    """Everything that is done to one kind of end."""
    stock = end.data["stock"]
    size = " × ".join(words.mm(stock[n]) for n in ("width_mm", "thickness_mm", "length_mm"))
    finished = words.mm(end.settings.part.length_mm)
    return element(
        "section",
        element("h2", f"Setting {end.number}: {end.data['part']}", id=f"setting-{end.number}"),
        element("p", f"Blank {size} mm: finished {finished} mm and what both ends need, for:"),
        items(words.use(u) for u in end.settings.uses),
        *(_setup(book, end, setup) for setup in end.setups),
        *_after(end),
        class_="new-page",
    )


def _setup(book: Book, end: EndSheet, setup: SetupSheet) -> Markup:
    many = len(end.setups) > 1
    name = f"setting-{end.number}" + (f"-setup-{setup.number}" if many else "")
    parts = [element("h3", f"Setup {setup.number}")] if many else []
    parts += [
        pairs(_clamping(setup)),
        book.figure(f"{name}-facing", facing(setup.scene, setup.nearest_edge)),
        _aids(setup.data.get("aids") or ()),
        book.figure(f"{name}-side", from_the_side(setup.scene)),
        *_cuts(setup),
    ]
    if setup.plan.cuts:
        parts.append(book.figure(f"{name}-end", cut_end(setup.scene, setup.nearest_edge)))
    return joined([*parts, element("h3", "Will it fit?"), checked(end.checks_of(setup.number))])


def _clamping(setup: SetupSheet) -> Iterator[tuple[str, str]]:
    data, sides = setup.data, setup.scene.bench.sides
    plate, fence, exits = (
        in_words(data[n]) for n in ("against_plate", "against_fence", "exit_side")
    )
    yield "Sides", f"{plate} on the plate, {fence} on the fence, {in_words(sides['you'])} to you"
    yield "Swivel", _axis(data["swivel_deg"], "clockwise", "anticlockwise")
    yield "Tilt", _axis(data["tilt_deg"], "cut end towards you", "cut end away from you")
    if data["packing"]:
        yield "Packing", _wedge(data)
    # The corner it was first measured to goes with the trim.
    key, end = ("overhang_mm", "") if setup.number == 1 else ("overhang_trimmed_mm", " as trimmed")
    yield "Overhang", f"{words.mm(data[key])} mm, along the plate to the lowest corner{end}"
    kerf = words.mm(data["kerf_mm"])
    yield "Cutter", f"{data['cutter']}, kerf {kerf} mm; it leaves through the {exits}"
    yield "Cutter height", _heights(data, again=setup.number > 1)
    if data["cuts"]:
        corner = in_words(setup.nearest_edge)
        yield "Touch off", f"cutter's right-hand face to the corner nearest {corner}; travel 0"


def _heights(data: dict[str, Any], *, again: bool) -> str:
    heights = data["cutter_height_mm"]
    before = ", trimmed before" if again else ""
    trim = (
        f"trim at {words.mm(heights['trim'])} mm "
        f"({words.mm(data['trim_mm'])} mm above the lowest corner{before})"
    )
    cuts = [
        f"{words.mm(c['depth_mm'])} mm deep at {words.mm(c['height'])} mm" for c in heights["cuts"]
    ]
    return f"above the {heights['datum']}: {'; '.join([trim, *cuts])}"


def _axis(value: float, positive: str, negative: str) -> str:
    """The angle both ways a scale may read, and which way it goes."""
    if abs(value) < 5e-7:
        return "0.000° (at zero)"
    rest = 90.0 - abs(value)
    way = positive if value > 0 else negative
    return f"{words.angle(value)}, {way}; complement {rest:.3f}° ({degrees_minutes(rest)})"


def _wedge(data: dict[str, Any]) -> str:
    packing = data["packing"]
    return (
        f"{words.angle(data['packing_deg'])}: wedge {words.mm(packing['length_mm'])} mm long, "
        f"{words.mm(packing['thin_mm'])} to {words.mm(packing['thick_mm'])} mm, thick along the "
        f"{in_words(packing['thick_end'])}; left out, the cut is off by "
        f"{words.mm(packing['error_if_ignored_mm'])} mm"
    )


def _aids(aids: Any) -> Markup:
    """Ways to set the axes better than a scale can; the settings list the best of each first."""
    if not aids:
        return Markup()
    rows: list[tuple[str, str, str, str]] = []
    for aid in aids:
        axis = str(aid["axis"])
        if sum(row[0] == axis for row in rows) < MOST_AIDS:
            # Its error and twice its standard uncertainty: how far off the axis may then be.
            off = abs(float(aid["error_deg"])) + 2 * float(aid["u_deg"])
            enough = "close enough" if aid["enough"] else "not close enough"
            rows.append((axis, str(aid["says"]), f"{off:.3f}°", enough))
    head = ("Axis", "How to set it", "Within", "")
    return joined([element("h3", "Setting aids"), table(head, rows, numbers=(2,))])


def _cuts(setup: SetupSheet) -> Iterator[Markup]:
    """One row for each pass, in cutting order, with a box to tick."""
    data = setup.data
    if not data["cuts"]:
        return
    at = {h["depth_mm"]: h["height"] for h in data["cutter_height_mm"]["cuts"]}
    body = []
    for number, cut in enumerate(data["cuts"], 1):
        says = (
            f"Cut {number}: {words.mm(cut['left_mm'])} to {words.mm(cut['right_mm'])} mm, depth "
            f"{words.mm(cut['depth_mm'])} mm, cutter height {words.mm(at[cut['depth_mm']])} mm"
        )
        body.append(element("tr", element("th", says, colspan="4", scope="rowgroup")))
        for step in cut["passes"]:
            cells = [element("td", tick(), class_="tick")]
            cells += [
                element("td", f"{words.mm(step['travel_mm'])}", class_="number"),
                element("td", words.wheel(step["turns"], step["divisions"])),
                element("td", f"{step['rounding_mm']:+.3f}", class_="number"),
            ]
            body.append(element("tr", *cells))
    heads = ("Done", "Travel, mm", "Handwheel from zero", "Rounded by, mm")
    top = element("tr", *(element("th", h, scope="col") for h in heads))
    yield element("h3", "Cuts, from left to right")
    yield element("table", element("thead", top), element("tbody", *body))


def _after(end: EndSheet) -> Iterator[Markup]:
    """What holds for the whole end: layout lines, the test piece's measures, wood."""
    yield checked(end.checks_of(None))
    marks = end.data["marks"]
    if marks:
        lines = [m["line"] for m in marks]
        edges = list(marks[0]["at_mm"])
        rows = [(in_words(e), *(words.mm(m["at_mm"][e]) for m in marks)) for e in edges]
        heads = ("Long edge", *(f"{line}, mm" for line in lines))
        yield element("h3", "Layout lines, from the square end")
        yield table(heads, rows, numbers=range(1, len(heads)))
    if end.data["verify"]:
        rows = [
            (v["what"], words.mm(v["expected_mm"]), v["instrument"], "") for v in end.data["verify"]
        ]
        yield element("h3", "Measure the test piece")
        yield table(("What", "Expected, mm", "With", "Measured"), rows, numbers=(1,))
