"""Wedge pairs as parts, for angles that an axis does not give, or that a fixture has no axis for.

Knows the fixture; the angles of the stock are given.

Behind backing and stock, upright on the plate, a wedge adds tilt alone; but the fence stands
square to the plate and not to the wedge. For stock at swivel s and tilt t with a wedge of w the
plate is set to t - w and the fence to atan(tan s / cos w), and the stock touches it with one arris
only. Between stock and fence a wedge turns the stock in the plate's own plane: it takes up what
the fence cannot be set to. Each has a counter-wedge of the same size on the opposite side, so that
clamps bear square.
"""

from __future__ import annotations

from math import cos, radians

import attrs

from jointgeo.errors import InputError
from jointgeo.fixture_parts.model import Figure, FixturePart, Note, Path, Span, closed
from jointgeo.fixture_parts.wanted import Facts
from jointgeo.fixtures.corrections import Aids
from jointgeo.fixtures.model import Practice
from jointgeo.fixtures.wedging import (
    MOST_WEDGES,
    STEEPEST_WEDGE_DEG,
    Wedge,
    fence_deg,
    stands_off_deg,
    wedge,
    wedge_place,
)
from jointgeo.joints.check import Check, Remedy, at_most
from jointgeo.planning.packing import LEAST_RISE_MM
from jointgeo.schema.fields import describe

__all__ = ["beyond_deg", "wedge_pairs"]


def beyond_deg(angle_deg: float, low_deg: float, high_deg: float) -> float:
    """What of an angle lies outside a range; signed as the angle."""
    return angle_deg - min(max(angle_deg, low_deg), high_deg)


def _default(cls: type, name: str, table: str) -> str:
    """What else such a figure may be: a file need not state it, and then this stands in."""
    info = next(i for i in describe(cls) if i.name == name)
    return f"{table}.{name}, {info.default:g} {info.unit} where the file does not state it"


def wedge_pairs(facts: Facts) -> FixturePart:
    """InputError where no angle was given, or the axes reach both."""
    fixture = facts.fixture
    swivel, tilt = facts.asked("swivel_deg") or 0.0, facts.asked("tilt_deg") or 0.0
    behind = beyond_deg(tilt, fixture.tilt.min_deg, fixture.tilt.max_deg)
    fence = fence_deg(swivel, behind)
    beside = beyond_deg(fence, fixture.swivel.min_deg, fixture.swivel.max_deg)
    if behind == 0 and beside == 0:
        raise InputError.of(
            "tilt_deg",
            "needs no wedge: the fixture's axes reach it",
            tilt,
            "a swivel_deg or tilt_deg outside the fixture's ranges",
            "deg",
        )
    length = facts.asked("wedge_mm")
    if length is None:
        because = _default(Aids, "wedge_length_mm", "aids")
        length = facts.stated("wedge_mm", fixture.aids.wedge_length_mm, because)
    made = attrs.evolve(fixture, aids=attrs.evolve(fixture.aids, wedge_length_mm=length))
    because = _default(Practice, "wedge_thin_mm", "practice")
    thin = facts.stated("thin_end_mm", fixture.practice.wedge_thin_mm, because)
    stock = facts.take("stock_mm")
    figures = [
        Figure("plate_set_to_deg", tilt - behind, "deg", "worked out"),
        Figure("fence_set_to_deg", fence - beside, "deg", "worked out"),
    ]
    checks: list[Check] = []
    shapes: list[Path] = []
    notes: list[Note] = []
    spans: list[Span] = []
    measure, up = "", 0.0
    for name, size in (("behind_stock", abs(behind)), ("at_fence", abs(beside))):
        if size == 0:
            continue
        why = "a steeper wedge would lie flatter than it is thick (our choice)"
        checks.append(at_most("wedge_angle", size, STEEPEST_WEDGE_DEG, "deg", why))
        if size > STEEPEST_WEDGE_DEG:
            continue
        found = wedge(made, size)
        thick, pieces = found.thick_mm, found.count
        rise = pieces * (thick - thin)
        figures += [
            Figure(f"{name}_thick_end_mm", thick, "mm", "worked out", "of each wedge"),
            Figure(f"{name}_angle_deg", size, "deg", "worked out"),
            Figure(f"{name}_wedges", float(pieces), "1", "worked out", "and as many against"),
        ]
        measure = measure or f"{name}_thick_end_mm"
        why = f"{pieces} wedges in one stack slip on each other beyond {MOST_WEDGES} (our choice)"
        checks.append(at_most("wedges_in_stack", float(pieces), MOST_WEDGES, "1", why))
        if rise < LEAST_RISE_MM:
            why = "it hardly rises: slips of paper do the same"
            checks.append(at_most("wedge_rises", LEAST_RISE_MM, rise, "mm", why, short="caution"))
        if name == "behind_stock":
            checks.append(_opening(facts, stock, found))
        corners = [(0.0, up), (length, up), (length, up + thick), (0.0, up + thin)]
        shapes.append(Path("outline", closed(corners), f"wedge {name.replace('_', ' ')}"))
        says = f"{name.replace('_', ' ')}: {thin:.2f} to {thick:.2f} over {length:.1f}, make"
        notes.append(Note((length / 2, up), f"{says} {2 * pieces}"))
        spans += [
            Span((0.0, up), (0.0, up + thin), f"{thin:.2f}"),
            Span((length, up), (length, up + thick), f"{thick:.2f}", -9.0),
            Span((0.0, up), (length, up), f"{length:.2f}", -9.0),
        ]
        up += thick + 40.0
    if behind and fence:
        figures.append(
            Figure(
                "stands_off_fence_deg",
                abs(stands_off_deg(fence, behind)),
                "deg",
                "worked out",
                "the stock touches the fence with one arris only",
            )
        )
    if beside:
        why = "what the fence cannot be set to is taken up by the wedge beside it"
        checks.append(at_most("fence_short_of", abs(beside), STEEPEST_WEDGE_DEG, "deg", why))
    steps = ["Plane all wedges of one kind together, and measure the thick end of each."]
    for axis, angle in (("tilt", behind), ("swivel", beside)):
        if angle:
            where, thick_at = wedge_place(fixture, axis, angle)
            steps.append(
                f"The wedge goes {where}, thick at the {thick_at}; its counter-wedge the other way "
                "round on the opposite side of the stock."
            )
    return FixturePart(
        "wedges",
        f"Wedges for stock at swivel {swivel:g}° and tilt {tilt:g}°",
        "from the side, as each lies on its long edge",
        facts.figures(*figures),
        tuple(checks),
        tuple(shapes),
        tuple(notes),
        tuple(spans),
        measure,
        tuple(steps),
        (
            "A wedge slips: screw or tape the pair so that it cannot creep, and pull at the stock "
            "by hand, power off, before every cut.",
            "Saw thin wedges off a long piece that is held safely; never plane a short one by hand "
            "on a machine.",
        ),
    )


def _opening(facts: Facts, stock: float, found: Wedge) -> Check:
    fixture = facts.fixture
    # The pair's outer faces are parallel; backing and stock between them are crossed aslant.
    aslant = (fixture.backing.thickness_mm + stock) / cos(radians(found.angle_deg))
    opening = aslant + found.together_mm
    why = f"backing, both wedges and {stock:g} mm of stock in the clamp"
    check = at_most("clamp_opening", opening, fixture.clamp.opening_mm, "mm", why)
    if check.status == "pass":
        return check
    less = -check.margin
    remedy = Remedy("thinner", f"stock, backing or wedges {less:.1f} mm thinner", {"less_mm": less})
    return attrs.evolve(check, remedies=(remedy,))
