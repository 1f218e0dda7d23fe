"""What can be changed on a fixture: bounds, a price, and the fixture that comes of it.

Knows the fixture's values; searches nothing.

Prices are our choice, in the order of common practice, which has no published source: first what
takes minutes (a beam off or another one fitted, less overhang, thinner backing, the fence moved),
then what needs a part, and rebuilding last, since it costs the calibration as well. A person gives
others where theirs differ.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any, Literal

import attrs

from jointgeo.errors import InputError, shown
from jointgeo.fixtures.model import Cutter, Fixture

__all__ = ["KINDS", "Allowed", "Kind", "Undoes", "allowed", "applied", "usual"]

#: What has to be done again after a change, besides the change itself.
Undoes = Literal["nothing", "the zero of that axis", "the calibration"]


@attrs.frozen
class Kind:
    """One kind of change.

    says: with {target} and {by}. rising: the checks whose margin never falls as the amount grows.
    one_to_one: the checks whose margin grows by exactly the amount. bound: the most by default.
    price: for each unit; once: however little. unit: "" for one that is made or not.
    to_nothing: what it takes from ends at 0, so that its bound is the fixture's. forwards:
    they rise in clampings that tilt towards you, and in the others it is not asked to help.
    """

    says: str
    unit: str
    apply: Callable[[Fixture, str, float], Fixture]
    rising: frozenset[str] = frozenset()
    one_to_one: frozenset[str] = frozenset()
    bound: float = 0.0
    price: float = 0.0
    once: float = 0.0
    undoes: Undoes = "nothing"
    both_ways: bool = False
    to_nothing: bool = False
    forwards: bool = False


@attrs.frozen
class Allowed:
    """A change that a person allows. most: in the kind's unit, from 0. target: which beam, body,
    axis or cutter; "" where there is but one."""

    kind: str
    target: str = ""
    most: float = 0.0
    price: float = 0.0
    once: float = 0.0
    cutter: Cutter | None = None

    @property
    def of(self) -> Kind:
        return KINDS[self.kind]

    def costs(self, amount: float) -> float:
        """The price of so much of it; 0 for none."""
        return self.once + self.price * abs(amount) if amount else 0.0

    def words(self, amount: float) -> str:
        by = f"{abs(amount):.2f}{'°' if self.of.unit == 'deg' else ' mm'}"
        kind = self.of.says
        if self.of.both_ways:
            kind = kind.replace("{way}", "up" if amount > 0 else "down")
        return kind.format(target=self.target, by=by)


def allowed(kind: str, target: str = "", **given: Any) -> Allowed:
    """``Allowed`` with the kind's own bound and prices where none are given; InputError for no
    such kind."""
    if kind not in KINDS:
        raise InputError.of("change", "is no kind of change", shown(kind), ", ".join(KINDS))
    own = KINDS[kind]
    return Allowed(
        kind, target, **{"most": own.bound, "price": own.price, "once": own.once} | given
    )


def applied(fixture: Fixture, change: Allowed, amount: float) -> Fixture:
    """The fixture with so much of the change; FixtureError where there is no such fixture."""
    if change.cutter is not None:
        return attrs.evolve(fixture, cutter=(*fixture.cutter, change.cutter))
    return change.of.apply(fixture, change.target, amount)


def usual(fixture: Fixture) -> tuple[Allowed, ...]:
    """Every kind of change this fixture has something for, within the kinds' own bounds."""
    return tuple(_usual(fixture))


def _usual(fixture: Fixture) -> Iterator[Allowed]:
    for beam in fixture.front_beam:
        if beam.fitted and beam.removable:
            yield allowed("beam_off", beam.name)
        if not beam.fitted:
            yield allowed("other_beam", beam.name)
        yield allowed("beam_out", beam.name)
        yield allowed("beam_up", beam.name)
    if fixture.backing.thickness_mm > 0:
        yield allowed("backing_thinner", most=fixture.backing.thickness_mm)
    if fixture.practice.clearance_mm > 0:
        yield allowed("overhang_less", most=fixture.practice.clearance_mm)
    for kind in ("fence_right", "fence_left", "clamp_wider"):
        yield allowed(kind)
    if not fixture.tilt.lacking:
        yield allowed("hinge_lower")
    for body in fixture.body:
        if body.fixed_to == "tilt":
            yield allowed("body_up", body.name)
            yield allowed("body_out", body.name)
    there = [a for a in ("swivel", "tilt") if not getattr(fixture, a).lacking]
    for axis in there:  # another axis than it has is another fixture
        for end in ("more", "less"):
            most = (
                getattr(fixture, axis).max_deg if end == "more" else -getattr(fixture, axis).min_deg
            )
            yield allowed(f"range_{end}", axis, most=max(0.0, 85.0 - most))
    for travel in ("traverse", "feed", "cutter_height"):
        yield allowed("travel_more", travel)
        yield allowed("travel_less", travel)


# How each is made ------------------------------------------------------------------------


def _part(name: str, field: str, sign: float) -> Callable[[Fixture, str, float], Fixture]:
    """A number of one of the fixture's parts."""

    def apply(fixture: Fixture, _: str, by: float) -> Fixture:
        part = getattr(fixture, name)
        changed = attrs.evolve(part, **{field: getattr(part, field) + sign * by})
        return attrs.evolve(fixture, **{name: changed})

    return apply


def _target(field: str, sign: float) -> Callable[[Fixture, str, float], Fixture]:
    """A number of the part that the target names."""

    def apply(fixture: Fixture, name: str, by: float) -> Fixture:
        return _part(name, field, sign)(fixture, name, by)

    return apply


def _named(
    where: str, fields: tuple[str, ...], sign: float
) -> Callable[[Fixture, str, float], Fixture]:
    """Numbers of the beam or the body of that name."""

    def apply(fixture: Fixture, name: str, by: float) -> Fixture:
        items = tuple(
            attrs.evolve(i, **{f: getattr(i, f) + sign * by for f in fields})
            if i.name == name
            else i
            for i in getattr(fixture, where)
        )
        changed: dict[str, Any] = {where: items}
        return attrs.evolve(fixture, **changed)

    return apply


def _fence(sign: float) -> Callable[[Fixture, str, float], Fixture]:
    """The fence along the plate, with all that turns with it."""

    def apply(fixture: Fixture, _: str, by: float) -> Fixture:
        on = sign * by
        bodies = tuple(
            attrs.evolve(b, x_min_mm=b.x_min_mm + on, x_max_mm=b.x_max_mm + on)
            if b.fixed_to == "fence"
            else b
            for b in fixture.body
        )
        return attrs.evolve(_part("fence", "x_mm", sign)(fixture, "", by), body=bodies)

    return apply


def _beam_off(fixture: Fixture, name: str, _: float) -> Fixture:
    beams = tuple(attrs.evolve(b, fitted=b.fitted and b.name != name) for b in fixture.front_beam)
    return attrs.evolve(fixture, front_beam=beams)


def _other_beam(fixture: Fixture, name: str, _: float) -> Fixture:
    """That one in place of all that can be taken off."""
    beams = tuple(
        attrs.evolve(b, fitted=b.name == name or (b.fitted and not b.removable))
        for b in fixture.front_beam
    )
    return attrs.evolve(fixture, front_beam=beams)


def _same(fixture: Fixture, _: str, __: float) -> Fixture:
    return fixture


_BEAM = frozenset({"front_beam"})
_HEIGHT = ("z_min_mm", "z_max_mm")

#: Kind → what it is. The checks that rise were found to do so on random joints, each at many
#: amounts (``tests/fixture_changes/test_search.py``); where that is not so the kind says nothing.
KINDS: dict[str, Kind] = {
    "beam_off": Kind(
        "the {target} off for this cut",
        "",
        _beam_off,
        rising=frozenset({"front_beam", "cutter_clearance"}),
        once=1,
    ),
    "other_beam": Kind(
        "the {target} in place of what can be taken off", "", _other_beam, rising=_BEAM, once=2
    ),
    "overhang_less": Kind(
        "{by} less clearance kept between cutter and plate, and so much less overhang",
        "mm",
        _part("practice", "clearance_mm", -1),
        to_nothing=True,
        rising=frozenset({"held_length", "clamp_contact"}),
        bound=3,
        price=0.5,
    ),
    "backing_thinner": Kind(
        "a backing {by} thinner",
        "mm",
        _part("backing", "thickness_mm", -1),
        to_nothing=True,
        rising=_BEAM,
        one_to_one=frozenset({"clamp_opening"}),
        bound=18,
        price=0.5,
        once=2,
    ),
    "fence_right": Kind(
        "the fence {by} further to the right",
        "mm",
        _fence(1),
        bound=60,
        price=0.2,
        once=2,
    ),
    "fence_left": Kind(
        "the fence {by} further to the left",
        "mm",
        _fence(-1),
        bound=60,
        price=0.2,
        once=2,
    ),
    "clamp_wider": Kind(
        "a clamp that opens {by} more",
        "mm",
        _part("clamp", "opening_mm", 1),
        one_to_one=frozenset({"clamp_opening"}),
        bound=100,
        price=0.3,
        once=10,
    ),
    "body_up": Kind(
        "the {target} {by} higher on the plate",
        "mm",
        _named("body", _HEIGHT, 1),
        rising=_BEAM,
        bound=100,
        price=0.3,
        once=8,
        forwards=True,
    ),
    "body_out": Kind(
        "the {target} {by} nearer to you",
        "mm",
        _named("body", ("y_min_mm", "y_max_mm"), -1),
        rising=frozenset({"bodies"}),
        bound=60,
        price=0.3,
        once=8,
    ),
    "cutter": Kind("the cutter {target}", "", _same, once=6),
    "beam_out": Kind(
        "the {target} {by} further out",
        "mm",
        _named("front_beam", ("face_distance_mm",), 1),
        one_to_one=_BEAM,
        bound=120,
        price=1,
        once=20,
    ),
    "beam_up": Kind(
        "the {target} {by} further {way}",
        "mm",
        _named("front_beam", _HEIGHT, 1),
        bound=200,
        price=1,
        once=25,
        both_ways=True,
    ),
    "range_more": Kind(
        "a {target} that goes {by} further the way its scale counts up",
        "deg",
        _target("max_deg", 1),
        one_to_one=frozenset({"swivel_range", "tilt_range"}),
        bound=60,
        price=4,
        once=40,
        undoes="the zero of that axis",
    ),
    "range_less": Kind(
        "a {target} that goes {by} further the way its scale counts down",
        "deg",
        _target("min_deg", -1),
        one_to_one=frozenset({"swivel_range", "tilt_range"}),
        bound=60,
        price=4,
        once=40,
        undoes="the zero of that axis",
    ),
    "travel_more": Kind(
        "{by} more of the {target} at its upper end",
        "mm",
        _target("max_mm", 1),
        one_to_one=frozenset({"traverse_travel", "feed_travel", "cutter_height"}),
        bound=300,
        price=0.5,
        once=50,
    ),
    "travel_less": Kind(
        "{by} more of the {target} at its lower end",
        "mm",
        _target("min_mm", -1),
        one_to_one=frozenset({"traverse_travel", "feed_travel", "cutter_height"}),
        bound=300,
        price=0.5,
        once=50,
    ),
    "hinge_lower": Kind(
        "the hinge line {by} lower",
        "mm",
        _part("tilt", "hinge_z_mm", -1),
        rising=frozenset({"front_beam", "cutter_height"}),
        bound=80,
        price=3,
        once=80,
        undoes="the calibration",
        forwards=True,
    ),
}
