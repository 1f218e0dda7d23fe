"""The answer for one joint as a person reads it on a screen: the verdict first, then how to set it.

Knows solutions, drawings and markup; knows no joint type by name and no HTTP. What it makes is a
piece of a page; links in it are made from the texts that it is given, so that a joint type's own
process can write it whole.

Only what is looked at before an operation is printed stands here: no paths, no list of every check,
no cuts. Where something fails, the large figures that invite to set a scale are left out. A scale
such as 1:5 is true on paper only, so none is told.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from math import isfinite
from urllib.parse import urlencode

from jointgeo.checks.accuracy import contradictions
from jointgeo.errors import PluginError
from jointgeo.fixtures.model import Fixture
from jointgeo.joints.joint_type import JointType
from jointgeo.joints.sides import in_words
from jointgeo.schema.fields import describe
from jointgeo.schema.units import MM_PER_INCH, fixed
from jointgeo.sheet import words
from jointgeo.sheet.canvas import Room
from jointgeo.sheet.change_links import STATUS, said
from jointgeo.sheet.facing import facing
from jointgeo.sheet.lettering import FINE
from jointgeo.sheet.markup import Markup, element, joined
from jointgeo.sheet.model import SetupSheet, Sheet, sheet_of_joint
from jointgeo.sheet.parameter_picture import parameter_drawings
from jointgeo.sheet.screen_findings import cautions, findings, sentence, verdict
from jointgeo.sheet.side_view import from_the_side
from jointgeo.sheet.svg import Drawing
from jointgeo.solution.alternatives import Alternative, alternatives
from jointgeo.solution.axis import DOUBT, AxisSetting
from jointgeo.solution.setup import Hand, Setup

__all__ = ["joint_screen", "meaning_screen", "screen_figure"]

#: Half of a wide screen; on a telephone, some 80 mm wide, letters can still be read.
SCREEN = Room(106.0, 105.0, FINE)
MEANING = Room(100.0, 200.0, FINE)
#: At the end of a drawing's title.
_SCALE = re.compile(r", \d[\d.]*:\d[\d.]*$")


def joint_screen(
    joint: JointType, fixture: Fixture, hand: Hand, asked: Mapping[str, str], inches: bool = False
) -> str:
    """A piece of HTML. asked: the form's fields as they were filled in, by which a link fills it in
    again with one of them changed. inches: whether its lengths are inches, beside which each length
    is then told in inches too."""
    sheet = sheet_of_joint(joint, fixture, hand)
    stopped = sheet.status == "fail"
    changes = alternatives(joint, fixture, hand) if stopped else ()
    body = [
        verdict(sheet.status, sheet.not_stated, asked.get("fixture", fixture.name), sheet.checks),
        cautions(),
        _helps(joint, changes, asked, inches),
        findings(sheet.checks),
        *_operations(sheet, stopped=stopped, inches=inches),
        *_notes(sheet),
    ]
    return joined(body)


def meaning_screen(joint: JointType, hand: Hand = "as_drawn") -> str:
    """What each number means, drawn on the joint; a sentence where its type declares nothing."""
    try:
        drawings = parameter_drawings(joint, hand, MEANING)
    except PluginError as error:
        return element("p", f"There is no picture of what the numbers mean: {error}.")
    if not drawings:
        return element("p", "This joint type says nothing of where its numbers are measured.")
    return joined(screen_figure(f"meaning-{i}", d) for i, d in enumerate(drawings, 1))


# What helps ----------------------------------------------------------------------------------


def _helps(
    joint: JointType, changes: tuple[Alternative, ...], asked: Mapping[str, str], inches: bool
) -> Markup:
    if not changes:
        return Markup()
    rows = []
    for change in changes:
        unit = next(i.unit for i in describe(type(joint)) if i.name == change.name)
        length = unit == "mm"
        figure = f"{change.value / MM_PER_INCH:.4f}" if length and inches else f"{change.value:g}"
        query = {**asked, change.name: figure}
        name = words.check_name(change.name.rpartition("_")[0])
        now, then = (said(v, unit, inches) for v in (change.given, change.value))
        link = element("a", f"{name} {then}", href=f"?{urlencode(query)}#answer")
        rows.append(element("li", link, f" in place of {now}: {STATUS[change.status]}"))
    head = element("h3", "One change that is enough (each fills the form in)")
    return element("section", head, element("ul", *rows), class_="helps")


def _length(value: float, inches: bool) -> str:
    return said(value, "mm", inches)


# Operations ------------------------------------------------------------------------------------


def _operations(sheet: Sheet, *, stopped: bool, inches: bool) -> Iterator[Markup]:
    for because in contradictions(sheet.checks):
        yield element("p", element("strong", f"Do not cut yet: {because}."))
    for end in sheet.ends:
        part = end.solution.part
        size = " × ".join(
            _length(v, inches) for v in (part.width_mm, part.thickness_mm, end.solution.blank_mm)
        )
        yield element("h3", sentence(end.part))
        finished = _length(part.length_mm, inches)
        yield element("p", f"Blank {size}, finished {finished} long.")
        for setup in end.setups:
            name = f"operation-{end.number}-{setup.number}"
            many = len(end.setups) > 1
            yield _setup(setup, name, stopped=stopped, inches=inches, many=many)


def _setup(sheet: SetupSheet, name: str, *, stopped: bool, inches: bool, many: bool) -> Markup:
    setup = sheet.setup
    head = [element("h4", f"Clamping {sheet.number}")] if many else []
    tiles = [_tile(setup, axis, stopped=stopped) for axis in setup.axes]
    warned = [element("li", f"{sentence(c)}.") for c in setup.cautions]
    mind = element("strong", "Mind, here")
    minded = [element("div", element("p", mind), element("ul", *warned), class_="mind")]
    facing_it = facing(sheet.scene, sheet.nearest_edge, SCREEN)
    beside = from_the_side(sheet.scene, SCREEN)
    pictures = [screen_figure(f"{name}-facing", facing_it), screen_figure(f"{name}-side", beside)]
    return element(
        "section",
        *head,
        element("p", _sides(setup)),
        element("div", *tiles, class_="tiles"),
        *(minded if warned and not stopped else []),
        *(() if stopped else (element("p", _rest(sheet, inches)), _aids(setup))),
        element("div", *pictures, class_="pictures"),
        class_="setup",
    )


def _sides(setup: Setup) -> str:
    names = setup.against_plate, setup.against_fence, setup.sides["you"]
    plate, fence, you = (in_words(side) for side in names)
    return f"{sentence(plate)} on the plate, {fence} on the fence, {you} towards you."


def _tile(setup: Setup, axis: AxisSetting, *, stopped: bool) -> Markup:
    """One axis: the figure that its scale must show first, the way it goes, how near."""
    way = axis.way or "at zero"
    lines: list[str] = [element("span", f"{axis.axis} {way}", class_="way")]
    if stopped or axis.doubted:
        why = DOUBT if axis.doubted else "something fails, see above"
        lines.append(element("strong", "Not to be cut", class_="stop"))
        lines.append(f"{sentence(why)}. The drawing asks for {fixed(axis.angle_deg, 3)}°.")
    elif axis.wedge:
        lines += [element("strong", f"no {axis.axis} here"), f"{sentence(axis.wedge)}."]
    else:
        lines.append(element("strong", f"{fixed(axis.figure_deg, 3)}°", class_="figure"))
        beyond = ", which is beyond its range" if axis.beyond else ""
        shows = f"on its scale{beyond} (true angle {fixed(axis.angle_deg, 3)}°)"
        lines += [shows] if axis.differs else []
        lines.append(_near(setup, axis))
    return element("div", *(element("p", line) for line in lines), class_="tile")


def _near(setup: Setup, axis: AxisSetting) -> str:
    needed = setup.needed_deg(axis.axis)
    if needed is None:
        return "no other bar comes to this end"
    return f"to ± {needed:.3f}°" if isfinite(needed) else "any angle will do for the joint to close"


def _rest(sheet: SetupSheet, inches: bool) -> str:
    setup, first = sheet.setup, sheet.number == 1
    overhang = setup.overhang_mm if first else setup.overhang_trimmed_mm
    trim = f"trim at {_length(setup.heights.trim_mm, inches)}" if first else "already trimmed"
    cuts = [f"{_length(depth, inches)} deep at {_length(at, inches)}"
            for depth, at in setup.heights.cuts]  # fmt: skip
    heights = "; ".join([trim, *cuts])
    packing = f" Packing: {fixed(setup.packing_deg, 3)}°, see the page to print." if (
        setup.packing is not None) else ""  # fmt: skip
    return (
        f"Overhang {_length(overhang, inches)}, along the plate to the lowest corner. "
        f"{sentence(setup.cutter)}, kerf {_length(setup.kerf_mm, inches)}; heights above the "
        f"{setup.heights.datum}: {heights}.{packing}"
    )


def _aids(setup: Setup) -> Markup:
    """The first way to set each axis, folded."""
    rows = []
    for axis in setup.axes:
        found = [a for a in setup.aids if a.axis == axis.axis]
        if found and not axis.doubted:
            enough = ", good enough" if found[0].enough else ", NOT close enough"
            enough = "" if setup.closing is None else enough
            says = f": {found[0].says}; gives ± {found[0].reach_deg:.3f}°{enough}."
            rows.append(element("li", element("strong", axis.axis), says))
    if not rows:
        return Markup()
    return element("details", element("summary", "How to set them"), element("ul", *rows))


def _notes(sheet: Sheet) -> Iterator[Markup]:
    notes = [n for joint in sheet.joints for n in joint.solution.notes]
    if notes:
        yield element("h3", "Before you cut")
        yield element("ul", *(element("li", f"{sentence(n)}.") for n in dict.fromkeys(notes)))


def screen_figure(name: str, drawing: Drawing) -> Markup:
    """A drawing without its scale."""
    drawing.title = _SCALE.sub("", drawing.title)
    return element("figure", drawing.svg(name), element("figcaption", drawing.title))
