"""A joint as closing needs it: where its shoulder is, and how each error of a setting turns it.

Knows drawings, solved ends and the error model's turns; no piece, no uncertainty, no arrays.

Theory. An error of a setting turns the stock against its cut frame by a small turn w in the
machine's axes (``uncertainty.derivatives``): (-δτ, cos τ·δσ, -sin τ·δσ) of swivel σ and tilt τ.
Put together, the cut faces lie where they were drawn and the bar is turned against its mate by that
w, carried into the room by the machine's axes in the stock. Where both bars are cut the mate's turn
counts against; about the line in which the two ends meet either floor says how far the corner
closes, so that half of each is taken.
"""

from __future__ import annotations

from collections.abc import Mapping

import attrs

from jointgeo.fixtures.model import Fixture
from jointgeo.geometry.vectors import Vec
from jointgeo.joints.drawing import Bar, Drawing, Notch
from jointgeo.joints.placement import Placement
from jointgeo.joints.sides import clamped_sides
from jointgeo.planning.clampings import Candidate
from jointgeo.planning.orientation import machine_from_stock
from jointgeo.solution.end import EndSolution
from jointgeo.uncertainty.derivatives import derivatives
from jointgeo.uncertainty.shape import setup_shape
from jointgeo.uncertainty.sources import Source, sources

__all__ = ["KINDS", "Clamped", "CutEnd", "Tie", "tie"]

#: The errors of a setting that turn a cut.
KINDS = ("swivel_deg", "tilt_deg", "hinge_play_mm", "lock_difference_mm", "rail_difference_mm")
SAME_MM = 1e-6
PLACES = 6  # degrees; less apart is one position of an axis
PARALLEL = 1e-6  # length of the product of two unit normals


@attrs.frozen
class Clamped:
    """One way to clamp an end.

    position: of both axes, rounded; ends of one position are cut without touching either, and share
    what is new at every setting. plate: the marked side on it. usable: in the range of both axes,
    and no check that was run on it fails. turns: for one unit of each of ``KINDS``, how the bar is
    turned against its own cut faces, radians about the room's axes. sources: what is known of the
    setting.
    """

    position: tuple[float, float]
    plate: str
    usable: bool
    turns: tuple[Vec, ...]
    sources: tuple[Source, ...] = attrs.field(repr=False)


@attrs.frozen
class CutEnd:
    """An end that is cut. bar, end: which one. sense: 1 for the bar that the joint is about, -1 for
    its mate. grain: into its wood. ways: as it is clamped, and then the other way."""

    bar: str
    end: str
    sense: float
    grain: Vec
    ways: tuple[Clamped, ...]

    @property
    def name(self) -> tuple[str, str]:
        return self.bar, self.end

    def way(self, turned_over: frozenset[tuple[str, str]]) -> Clamped:
        """As it is clamped; the other way if it is one of ``turned_over``."""
        return self.ways[1 if self.name in turned_over else 0]


@attrs.frozen
class Tie:
    """A joint between two bars, in the room, mm.

    points: the corners of the shoulder, or of the line in which two cut ends meet. opens: unit
    normals along which the joint gapes; what of a gap lies across all of them is an offset. both:
    direction of that line, None where one bar is cut.
    """

    joint: str
    bar: str
    mate: str
    points: tuple[Vec, ...]
    opens: tuple[Vec, ...]
    both: Vec | None
    ends: tuple[CutEnd, ...]

    @property
    def name(self) -> str:
        return f"{self.bar} into {self.mate}"

    @property
    def middle(self) -> Vec:
        return sum(self.points, Vec(0.0, 0.0, 0.0)) / len(self.points)


def tie(
    joint: str,
    drawing: Drawing,
    placement: Placement,
    names: Mapping[str, tuple[str, str]],
    ends: Mapping[str, EndSolution],
) -> Tie:
    """names: of the drawing's bars, which bar of the piece it is and which end of it, "" for one
    that is not cut; ends: of those that are."""
    bar, mate = (placement.bar(b) for b in drawing.bars[:2])
    first = {n.bar: n for n in reversed(drawing.notches)}
    cut = [b for b in (bar, mate) if b.name in first]
    if not cut:
        cut = [bar]
    points, both = _line([(b, first[b.name]) for b in cut if b.name in first], placement)
    opens = []
    for b in cut:
        notch = first.get(b.name)
        if notch is None:
            opens.append(b.grain)
            continue
        opens.append(placement.way(notch.end.normal))
    out = [
        CutEnd(*names[b.name], 1.0 if b is bar else -1.0, b.grain, _ways(b, ends[b.name]))
        for b in cut
        if b.name in ends and ends[b.name].plan.setups
    ]
    if not points:
        points = tuple(_shoulder(bar, first.get(bar.name), placement))
    bar_name, mate_name = names[bar.name][0], names[mate.name][0]
    return Tie(joint, bar_name, mate_name, points, tuple(opens), both, tuple(out))


def _shoulder(bar: Bar, notch: Notch | None, placement: Placement) -> tuple[Vec, ...]:
    """Where the four long edges come to the shoulder, or to the end where there is none."""
    if notch is None:
        return bar.arrises(bar.near)
    plane = notch.floor if notch.channels else notch.end
    normal = placement.way(plane.normal)
    at = plane.at + normal @ placement.at
    return bar.arrises(type(plane)(normal, at))


def _line(cut: list[tuple[Bar, Notch]], placement: Placement) -> tuple[tuple[Vec, ...], Vec | None]:
    """The ends of the line in which two cut ends meet, and its direction."""
    if len(cut) < 2:
        return (), None
    ends = [
        type(n.end)(
            placement.way(n.end.normal), n.end.at + placement.way(n.end.normal) @ placement.at
        )
        for _, n in cut
    ]
    along = ends[0].normal ^ ends[1].normal
    if along.length < PARALLEL:
        return (), None
    found = []
    for (bar, _), own, other in ((cut[0], ends[0], ends[1]), (cut[1], ends[1], ends[0])):
        found += [p for p in bar.arrises(own) if abs(other.out(p)) < SAME_MM]
    return tuple(found), along.unit


def _ways(bar: Bar, end: EndSolution) -> tuple[Clamped, ...]:
    """bar: as it stands in the room."""
    setup, fixture = end.plan.setups[0], end.fixture
    others = [c for c in setup.candidates if c is not setup.chosen]
    out = []
    for chosen in (setup.chosen, *others):
        shape = setup_shape(attrs.evolve(setup, chosen=chosen), fixture)
        turns = derivatives(shape).turns
        axes = _machine(bar, chosen)
        plate = clamped_sides(chosen.side, end.part.x_from)["plate"]
        ways = tuple(_carried(axes, turns[kind]) for kind in KINDS)
        known = _known(fixture, setup.cutter.name, chosen)
        angles = chosen.swivel_deg, chosen.tilt_deg
        at = round(angles[0], PLACES) + 0.0, round(angles[1], PLACES) + 0.0
        fails = any(c.status == "fail" for c in setup.checks(chosen) or ())
        out.append(Clamped(at, plate, chosen.in_range and not fails, ways, known))
    return tuple(out)


def _known(fixture: Fixture, cutter: str, chosen: Candidate) -> tuple[Source, ...]:
    found = sources(fixture, cutter, chosen.swivel_deg, chosen.tilt_deg)
    return tuple(s for s in found if s.error in KINDS)


def _machine(bar: Bar, chosen: Candidate) -> tuple[Vec, Vec, Vec]:
    """The machine's X, Y and Z in the room."""
    rows = machine_from_stock(chosen.swivel_deg, chosen.tilt_deg, chosen.packing_deg, chosen.side)
    x, y, z = bar.axes
    a, b, c = (x * row[0] + y * row[1] + z * row[2] for row in rows)
    return a, b, c


def _carried(axes: tuple[Vec, Vec, Vec], turn: tuple[float, float, float]) -> Vec:
    x, y, z = axes
    return x * turn[0] + y * turn[1] + z * turn[2]
