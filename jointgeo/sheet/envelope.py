"""How far the plate may tilt with stock of each thickness, and where this job lies.

Knows sheets and ``checks.context.beam_room``; no joint type. Plain SVG like every other
drawing: a plotting library would be a dependency for two curves, and would letter and line
them by another hand.

Theory. The greatest tilt is where the room to the beam vanishes; trim and overhang follow
the tilt as they would on the machine. The curves are those of one setup, the one that comes
nearest to the beam in this job: others hang out more or less and have curves of their own,
so each is written with its own gap. Bodies that swing with the plate (a clamp bar) are not
in the curves; the feasibility check of each operation has them.
"""

from __future__ import annotations

import itertools
import math

import numpy as np

from jointgeo.checks.context import Context
from jointgeo.checks.envelope import greatest_tilt_deg
from jointgeo.fixtures.model import FrontBeam
from jointgeo.sheet import words
from jointgeo.sheet.dimension import Callouts
from jointgeo.sheet.lettering import READ, Measure
from jointgeo.sheet.model import EndSheet, SetupSheet, Sheet
from jointgeo.sheet.svg import Drawing
from jointgeo.sheet.tilt_axes import Axes, round_up

__all__ = ["envelope", "greatest_tilt_deg"]

#: The picture's plane on paper, for letters of 4.9 mm, and how many points a curve has.
WIDE, HIGH = 108.0, 110.0
_POINTS = 13


def envelope(sheet: Sheet, measure: Measure = READ) -> Drawing | None:
    """The picture; None where no beam is near or nothing is cut."""
    marked = [(e, s) for e in sheet.ends for s in e.setups]
    beams = sheet.fixture.front_beam
    if not marked or not beams:
        return None
    end, setup = min(marked, key=lambda m: _gap(m[1]))
    fixture = sheet.fixture
    deepest = max(s.scene.bench.deep_mm for _, s in marked)
    room = fixture.clamp.opening_mm - fixture.backing.thickness_mm
    thick = round_up(max(deepest * 1.1, min(room, 2.5 * deepest)), 10.0)
    tilts = [abs(s.plan.chosen.tilt_deg) for _, s in marked]
    tilt = round_up(max(*tilts, fixture.tilt.max_deg, -fixture.tilt.min_deg) * 1.15, 5.0)
    d = Drawing(
        f"Greatest tilt for each thickness on {fixture.name}",
        f"The curves are for operation {end.number}{_which(end, setup)}: beyond them the stock "
        "fouls the beam. " + " ".join(_sentence(e, s) for e, s in marked),
        measure,
    )
    gap = measure.of
    frame, labels = Axes(thick, tilt, gap(WIDE), gap(HIGH)), Callouts(measure)
    bench = setup.scene.bench
    for beam in sorted(beams, key=lambda b: not b.fitted):
        _curve(d, labels, frame, bench, beam)
    frame.draw(d)
    _limits(d, labels, frame, sheet)
    _marks(d, labels, frame, marked)
    line = measure.line_mm
    labels.draw(d, -gap(20), frame.wide + gap(4), -frame.high + line, -line)
    return d


def _gap(setup: SetupSheet) -> float:
    gap = setup.plan.chosen.gap_mm
    return math.inf if gap is None else gap


def _which(end: EndSheet, setup: SetupSheet) -> str:
    return f", clamping {setup.number}" if len(end.setups) > 1 else ""


def _sentence(end: EndSheet, setup: SetupSheet) -> str:
    gap = setup.plan.chosen.gap_mm
    room = "nothing at the beam's height"
    if gap is not None:
        room = f"gap {words.mm(gap)} mm" if gap >= 0 else f"fouls by {words.mm(-gap)} mm"
    return (
        f"Operation {end.number}{_which(end, setup)}: {words.mm(setup.scene.bench.deep_mm)} mm at "
        f"{abs(setup.plan.chosen.tilt_deg):.3f}°, {room}."
    )


def _curve(d: Drawing, labels: Callouts, frame: Axes, bench: Context, beam: FrontBeam) -> None:
    deep = np.linspace(1.0, frame.thick, _POINTS).tolist()
    found: list[float] = []
    for thick in reversed(deep):
        # Thicker stock comes nearer, so what it has room for is left to thinner stock as well.
        known = min(found[-1], frame.tilt) if found else 0.0
        found.append(greatest_tilt_deg(bench, beam, thick, frame.tilt, known))
    found.reverse()
    points = [frame.at(t, min(v, frame.tilt)) for t, v in zip(deep, found, strict=True)]
    if beam.fitted:
        for a, b in itertools.pairwise(points):
            d.hatch([a, b, (b[0], -frame.high), (a[0], -frame.high)], d.measure.of(2.5))
    inside = [p for p, v in zip(points, found, strict=True) if math.isfinite(v)]
    d.lines(inside, "outline" if beam.fitted else "phantom", mark="curve")
    note = beam.name if beam.fitted else f"{beam.name},\nnot fitted"
    if len(inside) > 1:
        labels.add("right", inside[-1], note)


def _limits(d: Drawing, labels: Callouts, frame: Axes, sheet: Sheet) -> None:
    """Where the tilt's own scale ends."""
    axis = sheet.fixture.tilt
    negative = all(s.plan.chosen.tilt_deg < 0 for e in sheet.ends for s in e.setups)
    most = -axis.min_deg if negative else axis.max_deg
    a, b = frame.at(0.0, most), frame.at(frame.thick, most)
    d.line(a, b, "hidden", mark="axis-limit")
    labels.add("right", b, f"the tilt's\nend, {most:g}°")


def _marks(
    d: Drawing, labels: Callouts, frame: Axes, marked: list[tuple[EndSheet, SetupSheet]]
) -> None:
    """This job's setups, those at one place together."""
    places: dict[tuple[float, float], list[str]] = {}
    for end, setup in marked:
        tilt = abs(setup.plan.chosen.tilt_deg)
        key = (round(setup.scene.bench.deep_mm, 1), round(tilt, 1))
        name = str(end.number) + (f".{setup.number}" if len(end.setups) > 1 else "")
        places.setdefault(key, []).append(name)
    for (thick, tilt), names in sorted(places.items()):
        x, y = frame.at(thick, tilt)
        d.circle((x, y), d.measure.of(1.8), "outline", fill="white", mark="job")
        many = "operations" if len(names) > 1 else "operation"
        room = 2 if any("." in n for n in names) else 4
        rows = [", ".join(names[i : i + room]) for i in range(0, len(names), room)]
        labels.add("right", (x, y), "\n".join([many, *rows]), bold=True)
