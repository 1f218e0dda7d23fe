"""What a type's numbers mean: said, drawn, measured again, and found between bars in a room.

Knows the contract of joint types; no fixture and no settings. Three checks, since each sees what
the others cannot. ``claims``: draw and measure agree. ``dimensions``: both agree with what the
fields say in marked sides; a sign misread in draw and in measure alike shows only here.
``between``: measure looks at the bars and not at the axes of the drawing's own world.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import attrs
import numpy as np

from jointgeo.conformance.report import Notes
from jointgeo.conformance.subject import Subject
from jointgeo.errors import InputError
from jointgeo.geometry.vectors import Vec
from jointgeo.joints.drawing import Bar
from jointgeo.joints.joint_type import JointType
from jointgeo.joints.placement import Placement
from jointgeo.schema.fields import plain

__all__ = ["between", "claims", "room", "same"]

#: Of a number's own size: rounding over metres of wood is 1e-12.
SAME = 1e-9
#: How far off the bars of a joint found in a room may lie; ``joints.placement`` has it so.
LIES_MM = 1e-6
ROOM_MM = 2000.0


def same(drawn: Any, asked: Any) -> bool:
    """Whether they are one number but for rounding, or equal where they are no numbers."""
    if isinstance(drawn, int | float) and isinstance(asked, int | float):
        return abs(drawn - asked) <= SAME * max(1.0, abs(asked))
    return bool(drawn == asked)


def claims(subject: Subject, notes: Notes) -> None:
    """every parameter, measured again on the drawing, is what was asked for"""
    known = {i.name for i in subject.fields}
    joints = (*subject.cases, *subject.taken)
    compared = 0
    for joint in joints:
        _ = joint.drawing  # first, so that what drawing changes is not put down to measuring
        for name in joint.unclaimed():
            if name in known:
                notes.fault(
                    f"{name}: nothing reads it back; return it from measure() where two bars show "
                    "it, from sizes() where only the cuts do"
                )
            else:
                notes.fault(f"{name}: it is measured and is no parameter; say it in also()")
        for claim in joint.claims():
            compared += 1
            if not same(claim.drawn, claim.asked):
                notes.fault(
                    f"{claim.name}: {claim.asked!r} asked for, {claim.drawn!r} measured on the "
                    f"drawing; see draw() and what measures it ({_shown(joint)})"
                )
    notes.did(f"{compared} claims of {len(joints)} joints")


def between(subject: Subject, notes: Notes) -> None:
    """bars that stand in a room give the joint back; what it cannot be is refused"""
    rng = np.random.default_rng(3)
    found = refused = 0
    for joint in subject.cases:
        place = room(rng)
        bar, mate = (place.bar(b) for b in joint.drawing.bars[:2])
        sizes = {n: v for n, v in plain(joint).items() if n not in joint.measure(bar, mate)}
        for longer in (0.0, 17.0):
            # Where along its line a bar begins is no part of the joint.
            given = attrs.evolve(
                bar, middle=bar.middle - bar.grain * longer, length=bar.length + longer
            )
            _given_back(joint, given, mate, sizes, notes)
            found += 1
        for what, one, other in _wrong(bar, mate):
            refused += _refused(joint, what, one, other, sizes, notes)
    notes.did(f"{found} pairs of bars in a room, and {refused} that no such joint has")
    if found and not refused:
        notes.fault("bars that stand anywhere are all taken; between() is to refuse some")


def room(rng: np.random.Generator) -> Placement:
    """Any turn, and any place within two metres."""
    q, _ = np.linalg.qr(rng.normal(size=(3, 3)))
    x, y, z = (q * np.sign(np.linalg.det(q))).T.tolist()
    at = rng.uniform(-ROOM_MM, ROOM_MM, size=3).tolist()
    return Placement((Vec(*x), Vec(*y), Vec(*z)), Vec(*at))


def _given_back(joint: JointType, bar: Bar, mate: Bar, sizes: dict[str, Any], notes: Notes) -> None:
    asked = plain(joint)
    try:
        again, placement = type(joint).between(bar, mate, **sizes)
    except InputError as error:
        notes.fault(
            f"turned and moved in a room its own bars are refused: {error}; measure() must look "
            f"at the bars, not at the axes of draw() ({asked})"
        )
        return
    for name, number in plain(again).items():
        if not same(number, asked[name]):
            notes.fault(
                f"{name}: {asked[name]!r} drawn, {number!r} measured once the bars are turned and "
                f"moved; measure() must look at the bars, not at the axes of draw() ({asked})"
            )
    _lies(again, placement, bar, mate, notes)


def _lies(joint: JointType, placement: Placement, bar: Bar, mate: Bar, notes: Notes) -> None:
    """A fault where a drawn bar, set up in the room, is not the wood of the one given."""
    for drawn, given in zip(joint.drawing.bars, (bar, mate), strict=False):
        set_up = placement.bar(drawn)
        line = np.array(given.grain)
        sideways = np.array(set_up.middle) - np.array(given.middle)
        off = float(np.abs(sideways - line * (sideways @ line)).max())
        turned = 1.0 - abs(float(line @ np.array(set_up.grain)))
        if off > LIES_MM or turned > SAME:
            notes.fault(
                f"{given.name}: between() sets it up {off:.3g} mm beside the bar that was given, "
                f"or turned against it ({_shown(joint)})"
            )


def _wrong(bar: Bar, mate: Bar) -> Iterator[tuple[str, Bar, Bar]]:
    """Pairs of bars of which no joint, or hardly any, can have some."""
    yield "parallel bars", bar, attrs.evolve(mate, grain=bar.grain, face=bar.face, edge=bar.edge)
    tilt = np.radians(7.0)
    face = mate.face * float(np.cos(tilt)) + mate.edge * float(np.sin(tilt))
    rolled = attrs.evolve(mate, face=face, edge=mate.grain ^ face)
    if rolled.edge @ mate.edge < 0:
        rolled = attrs.evolve(rolled, edge=-rolled.edge)
    yield "a mate rolled by 7° about its grain", bar, rolled
    for name, way in (("face", mate.face), ("edge", mate.edge)):
        moved = attrs.evolve(mate, middle=mate.middle + way * 3.7)
        yield f"a mate moved by 3.7 mm out of its {name}", bar, moved
    yield "a mirrored pair", bar.mirrored, mate.mirrored


def _refused(
    joint: JointType, what: str, bar: Bar, mate: Bar, sizes: dict[str, Any], notes: Notes
) -> bool:
    """Whether the pair is refused. What is taken must lie where the bars are."""
    names = {bar.name, mate.name, *plain(joint)}
    try:
        other, placement = type(joint).between(bar, mate, **sizes)
    except InputError as error:
        if unknown := {p.field for p in error.problems} - names:
            notes.fault(
                f"{what}: the error names {sorted(unknown)}; it must name a bar or a parameter"
            )
        return True
    except Exception as error:  # a third party's measure may raise anything; that is the fault
        notes.fault(
            f"{what}: measure() raises {type(error).__name__}: {error}; let it raise InputError "
            "naming the bar"
        )
        return True
    _lies(other, placement, bar, mate, notes)
    return False


def _shown(joint: JointType) -> str:
    return str(plain(joint))
