"""How far the plate may tilt with stock of each thickness, on several fixtures, as one drawing.

Knows the comparison of fixtures (``fixture_changes.compare``) and drawings; no joint type. In the
style of a sheet's ``envelope``. Curves differ in their dashes, and each has its fixture's name;
two fixtures that have the same for every thickness share one curve with both names.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import dist

import attrs

from jointgeo.errors import InputError
from jointgeo.fixture_changes.compare import EnvelopePoint, Envelopes
from jointgeo.fixtures.model import Fixture
from jointgeo.sheet.dimension import Callouts
from jointgeo.sheet.envelope import HIGH, WIDE
from jointgeo.sheet.lettering import READ, Measure
from jointgeo.sheet.plane import Point
from jointgeo.sheet.svg import Drawing
from jointgeo.sheet.tilt_axes import Axes, round_up

__all__ = ["MOST_FIXTURES", "fixture_envelopes"]

_STYLES = ("outline", "hidden", "phantom", "centre", "heavy")
#: As many as have a line type of their own.
MOST_FIXTURES = len(_STYLES)
#: So wide a drawing goes on A4 and Letter with a printer's own margins (our choice).
_PAGE_MM = 186.0
#: Letters of a name in one line; a name has no spaces to be broken at.
_LETTERS = 16
#: From the axes to the labels, for letters of 4.9 mm: clear of the last figure.
_ASIDE = 8.0
_SAME_MM = 1e-6


@attrs.frozen
class _Curve:
    """names: rows of the label. points: on the page."""

    names: tuple[str, ...]
    style: str
    points: tuple[Point, ...]


def fixture_envelopes(found: Envelopes, work: str, measure: Measure = READ) -> Drawing:
    """The picture. work: what is cut, for its title. InputError for more than ``MOST_FIXTURES``."""
    if len(found.fixtures) > MOST_FIXTURES:
        allowed = f"at most {MOST_FIXTURES} in one drawing"
        raise InputError.of("fixture", "is given too often", len(found.fixtures), allowed)
    names = [f.name for f in found.fixtures]
    says = (
        f"{work}: the curves are for {found.setup}, {found.thickness_mm:.2f} mm thick and tilted "
        f"by {found.tilt_deg:.2f}°. Beyond its curve the stock fouls a beam; where a curve is "
        "level the tilt's own range ends. Bodies that swing with the plate are not in the curves."
    )
    d = Drawing(
        f"Greatest tilt for each thickness on {_listed(names)}",
        " ".join([says, *(_sentence(names, point) for point in found.asked)]),
        measure,
    )
    gap, labels = measure.of, Callouts(measure)
    axes = _axes(found, measure)
    curves = list(_curves(found, axes))
    for curve in curves:
        d.lines(curve.points, curve.style, mark="curve")
    axes.draw(d)
    for curve in curves:
        others = [c.points for c in curves if c is not curve]
        labels.add("right", _told_at(curve.points, others, gap(6)), "\n".join(curve.names))
    for point in found.asked:
        for tilt, most in zip(point.tilt_deg, found.most_deg, strict=True):
            d.dot(axes.at(point.thickness_mm, most if tilt is None else tilt), gap(1), "asked")
    own = axes.at(found.thickness_mm, found.tilt_deg)
    d.circle(own, gap(1.8), "outline", fill="white", mark="work")
    labels.add("right", own, "this work", bold=True)
    line = measure.line_mm
    labels.draw(d, -gap(20), axes.wide + gap(_ASIDE), -axes.high + line, -line)
    left, _, _, bottom = d.box
    for number, row in enumerate(_filled(says, _PAGE_MM - gap(4), measure), 1):
        d.text((left + 1, bottom + number * line), row)
    return d


def _axes(found: Envelopes, measure: Measure) -> Axes:
    """As wide as the labels leave room for."""
    rows = [row for fixture in found.fixtures for row in _label(fixture)]
    label = max(measure.width("this work", bold=True), *(measure.width(row) for row in rows))
    # From the turned word at the left to the axes, and from them to the labels.
    wide = min(measure.of(WIDE), _PAGE_MM - measure.of(26 + _ASIDE) - label)
    tilt = round_up(max(*found.most_deg, found.tilt_deg, 1.0) * 1.15, 5.0)
    return Axes(found.points[-1].thickness_mm, tilt, wide, measure.of(HIGH))


def _curves(found: Envelopes, axes: Axes) -> Iterator[_Curve]:
    drawn: dict[tuple[Point, ...], list[str]] = {}
    for number, fixture in enumerate(found.fixtures):
        points = tuple(axes.at(*place) for place in found.curve(number))
        same = next((p for p in drawn if _apart(p, points) < _SAME_MM), points)
        names = drawn.setdefault(same, [])
        names += ["and"] * bool(names) + _label(fixture)
    for (points, names), style in zip(drawn.items(), _STYLES, strict=False):
        yield _Curve(tuple(names), style, points)


def _apart(a: Sequence[Point], b: Sequence[Point]) -> float:
    return max(dist(p, q) for p, q in zip(a, b, strict=True))


def _label(fixture: Fixture) -> list[str]:
    """Its name, and what it was changed from."""
    rows = _rows(fixture.name)
    if fixture.changed_from:
        rows += ["changed from", *_rows(fixture.changed_from)]
    return rows


def _rows(name: str) -> list[str]:
    return [name[i : i + _LETTERS] for i in range(0, len(name), _LETTERS)]


def _told_at(points: Sequence[Point], others: Sequence[Sequence[Point]], clear: float) -> Point:
    """Where a label points at: the curve's right end where no other curve is near, else the place
    where the others are furthest away."""

    def room(number: int) -> float:
        return min((dist(points[number], other[number]) for other in others), default=clear)

    last = len(points) - 1
    return points[last if room(last) >= clear else max(range(last + 1), key=room)]


def _filled(text: str, room_mm: float, measure: Measure) -> list[str]:
    """Rows of words that are no wider than that, but for a word that is."""
    rows = [""]
    for word in text.split():
        longer = f"{rows[-1]} {word}".strip()
        if rows[-1] and measure.width(longer) > room_mm:
            rows.append(word)
        else:
            rows[-1] = longer
    return rows


def _sentence(names: Sequence[str], point: EnvelopePoint) -> str:
    """The table's row in words."""
    said = (
        f"{name} {'the whole range' if tilt is None else f'{tilt:.2f}°'}"
        for name, tilt in zip(names, point.tilt_deg, strict=True)
    )
    return f"{point.thickness_mm:g} mm: {', '.join(said)}."


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
