"""What a piece type draws: that it says the same twice, joins what it has, and is symmetrical.

Knows pieces and bars that stand; cuts nothing.
"""

from __future__ import annotations

from collections.abc import Iterator

import attrs

from jointgeo.conformance.declared import summary_line
from jointgeo.conformance.pieces.subject import PieceSubject
from jointgeo.conformance.report import Notes
from jointgeo.errors import InputError, PluginError
from jointgeo.joints.drawing import Bar
from jointgeo.pieces.joining import decided
from jointgeo.pieces.model import Joined, Piece, PieceJoint, Plain
from jointgeo.pieces.registry import admitted
from jointgeo.pieces.room import PlacedBar, placed_bars
from jointgeo.pieces.symmetry import Image, group
from jointgeo.schema.fields import plain

__all__ = ["bars", "declaration", "nothing_changed", "twins"]

NEAR_MM = 1e-6  # rounding of a drawing is 1e-13 mm
SAME = 1e-9


def declaration(subject: PieceSubject, notes: Notes) -> None:
    """name, summary, edition and symmetry are such as the registry takes, and fit on a line"""
    try:
        admitted(subject.cls, subject.name)
        group(subject.cls.symmetry)
    except (PluginError, InputError) as error:
        notes.fault(str(error))
    summary_line(subject.name, getattr(subject.cls, "summary", None), notes)


def nothing_changed(subject: PieceSubject, notes: Notes) -> None:
    """the same parameters give the same piece, and drawing, measuring and solving change nothing"""
    for made in subject.made:
        one, before = made.piece_type, repr(plain(made.piece_type))
        first, told = repr(one.piece()), dict(one.measured())
        for other in subject.examples:
            other.piece()
            other.measured()
        again = subject.cls(**plain(one))
        if repr(one.piece()) != first or repr(again.piece()) != first:
            notes.fault(
                f"{made.number}: piece() gives another piece the second time; draw it from the "
                "parameters alone, and keep nothing between two calls"
            )
        if dict(one.measured()) != told or dict(again.measured()) != told:
            notes.fault(f"{made.number}: measured() gives other lengths the second time")
        if repr(plain(one)) != before:
            notes.fault(f"{made.number}: its parameters change: {before} to {plain(one)}")
    name = subject.fields[0].name
    example = subject.examples[0]
    try:
        setattr(example, name, getattr(example, name))
    except attrs.exceptions.FrozenInstanceError:
        pass
    else:
        notes.fault(f"{name} can be assigned; make the class with attrs.frozen")
    notes.did(f"{len(subject.made)} pieces")


# Joined ---------------------------------------------------------------------------------


def bars(subject: PieceSubject, notes: Notes) -> None:
    """every joint is used, every end comes to its mate, and the bars hang together"""
    for example in subject.examples:
        for fault in _joint_faults(example.piece()):
            notes.fault(fault)
    if notes.faults:  # none of it need be solvable
        return
    for made in subject.made:
        piece = made.piece_type.piece()
        placed = placed_bars(piece)
        for bar in piece.bars:
            for where, end, own in zip(
                ("near", "far"), (bar.near, bar.far), placed[bar.name].ends, strict=True
            ):
                if isinstance(end, Plain):
                    continue
                if isinstance(end, Joined) and _is_corner(piece.joint(end.joint)):
                    continue
                fault = _misses(own, placed[end.mate])
                if fault:
                    notes.fault(f"{made.number}: {bar.name}, {where} end: {fault}")
        parts = _hanging_together(piece)
        if len(parts) > 1:
            alone = min(parts, key=len)
            notes.fault(
                f"{made.number}: {', '.join(sorted(alone))} is joined to nothing else; give an end "
                "a Joined or an Against, or leave the bar out"
            )
    notes.did(f"{sum(len(m.answer.bars) for m in subject.made)} bars")


def _is_corner(joint: PieceJoint) -> bool:
    """Whether the mate's end is cut too, so that neither lies at the other's side."""
    drawing = joint.type.examples()[0].drawing
    return any(notch.bar == drawing.bars[1].name for notch in drawing.notches)


def _misses(own: Bar, mate: PlacedBar) -> str:
    """How an end that stands at its mate's side lies beside it; "" for not at all."""
    bar, point = mate.near, own.middle
    along = bar.grain @ (point - bar.middle)
    beyond = max(-along, along - bar.length)
    if beyond > NEAR_MM:
        return (
            f"comes {beyond:.4g} mm beyond the end of {bar.name}; draw its line to where "
            f"{bar.name} is, or {bar.name} longer"
        )
    beside = -bar.room(point)
    if beside > NEAR_MM:
        return f"passes {beside:.4g} mm beside {bar.name}; draw its line to a point of its middle"
    return ""


def _joint_faults(piece: Piece) -> Iterator[str]:
    ends = [end for bar in piece.bars for end in (bar.near, bar.far)]
    used = {end.joint for end in ends if isinstance(end, Joined)}
    for joint in piece.joints:
        if joint.name not in used:
            yield (
                f"joint {joint.name}: no end of a bar has it; use it, or leave it out of the piece"
            )
        for name in sorted(set(joint.sizes) & decided(joint.type)):
            yield f"joint {joint.name}: its sizes say {name}, which the bars decide; leave it out"


def _hanging_together(piece: Piece) -> list[set[str]]:
    """The bars in groups of which no end comes to another's."""
    groups = [{b.name} for b in piece.bars]
    for bar in piece.bars:
        for end in (bar.near, bar.far):
            if not isinstance(end, Plain):
                both = [g for g in groups if bar.name in g or end.mate in g]
                groups = [g for g in groups if g not in both] + [set().union(*both)]
    return groups


# Symmetrical ----------------------------------------------------------------------------


def twins(subject: PieceSubject, notes: Notes) -> None:
    """every bar has its image where the type's symmetry asks for one, cut alike"""
    images = group(subject.cls.symmetry)[1:]
    held = 0
    for made in subject.made:
        firsts = {like.bar: like.first for like in made.answer.likes}
        placed = {b.name: b.placed for b in made.answer.bars}
        for image in images:
            for name, bar in placed.items():
                held += 1
                twin, apart = _twin(bar, image, placed)
                if twin is None:
                    words = ", ".join(subject.cls.symmetry)
                    notes.fault(
                        f"{made.number}: {name} has no image where the symmetry ({words}) asks "
                        f"for one: the nearest bar of its size is {apart:.4g} mm off, or stands "
                        "otherwise about its length; draw both from one number, or say less in "
                        "symmetry"
                    )
                elif firsts[twin] != firsts[name]:
                    notes.fault(
                        f"{made.number}: {name} and its image {twin} are not cut alike; give both "
                        "the same joints, and each other's mirrored mates"
                    )
    notes.did(f"{held} images" if images else "nothing: the type says no symmetry")


def _twin(bar: PlacedBar, image: Image, placed: dict[str, PlacedBar]) -> tuple[str | None, float]:
    """The bar that lies where the image carries this one, and how far the nearest is off."""
    near, far = (image.way(end.middle) for end in bar.ends)
    face, nearest = image.way(bar.near.face), float("inf")
    for name, other in placed.items():
        if _size(other) != _size(bar):
            continue
        a, b = other.near.middle, other.far.middle
        off = min(
            max((near - a).length, (far - b).length), max((near - b).length, (far - a).length)
        )
        if off <= NEAR_MM and _squared(other.near, face):
            return name, off
        nearest = min(nearest, off)
    return None, nearest


def _size(bar: PlacedBar) -> list[float]:
    return sorted((round(bar.near.width, 6), round(bar.near.thickness, 6)))


def _squared(bar: Bar, face: tuple[float, float, float]) -> bool:
    """Whether a side of the bar looks that way."""
    return max(abs(bar.face @ face), abs(bar.edge @ face)) > 1 - SAME
