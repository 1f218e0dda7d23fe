"""A piece cut from its settings and put up: that it goes together, stands, and measures as said.

Knows the answer of a piece and the dry fit, which shares no code with the solver; feet, footprint
and height are measured on the cut solids.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from math import isfinite

import numpy as np

from jointgeo.conformance.pieces.subject import Made, PieceSubject
from jointgeo.conformance.report import Notes
from jointgeo.errors import shown
from jointgeo.pieces.room import placed_bars
from jointgeo.pieces.solve import solve_piece
from jointgeo.pieces.tape import tape
from jointgeo.pieces.taped import tape_of
from jointgeo.proof.mesh import Array

__all__ = ["examples", "goes_together", "measured", "stands"]

TAPE_MM = 1e-3  # cut solids are met within 1e-9 mm; a tape shows no thousandth
#: What every piece type must measure, as the solids are measured.
FEET = ("feet, left to right", "feet, front to back")
HEIGHT = "height"
#: What the cut solids show.
SOLID = (*FEET, "over all, left to right", "over all, front to back", HEIGHT)


def examples(subject: PieceSubject, notes: Notes) -> None:
    """there is a worked example; each solves, is feasible given room, and is written as JSON"""
    found = subject.cls.examples()
    if not isinstance(found, tuple) or not found:
        notes.fault(f"examples() must give a tuple of at least one piece, not {shown(found)}")
        return
    for number, example in enumerate(found, 1):
        if type(example) is not subject.cls:
            notes.fault(f"example {number} is no {subject.cls.__name__}: {shown(example)}")
            continue
        answer = solve_piece(example.piece(), subject.fixture)
        for check in answer.every_check:
            if check.status == "fail":
                notes.fault(
                    f"example {number}: {check.name} of {check.part} fails though there is room: "
                    f"{check.because}; change the example's sizes"
                )
        json.dumps(answer.to_dict(), allow_nan=False)
    notes.did(f"{len(found)} examples")
    near = len(subject.drawn)
    notes.did(f"{near} random pieces near them can be made")
    if near < subject.wanted:
        notes.fault(
            f"only {near} pieces near the examples can be made, and {subject.wanted} are wanted: a "
            "twentieth more or less of each size must not spoil most of them; choose examples with "
            "more room"
        )


def goes_together(subject: PieceSubject, notes: Notes) -> None:
    """every bar is cut by the settings of its ends alone, and all of them go together"""
    held = 0
    for made in subject.made:
        held += len(made.fit.findings)
        for fault in made.fit.faults[:2]:
            measured = "nothing" if fault.measured is None else f"{fault.measured:.4g}"
            notes.fault(
                f"{made.number}: {fault.what}: {measured} {fault.unit}, expected "
                f"{fault.expected:.4g}; move the bars apart, or join them"
            )
    notes.did(f"{len(subject.made)} pieces: {held} findings of the dry fit")


def stands(subject: PieceSubject, notes: Notes) -> None:
    """the piece stands on the floor: nothing below it, and at least three corners in it"""
    for made in subject.made:
        low = made.fit.extents_mm[0, 2]
        if abs(low) > TAPE_MM:
            where = "under" if low < 0 else "above"
            notes.fault(
                f"{made.number}: its lowest point is {abs(low):.4g} mm {where} the floor; the "
                "floor is Z = 0, and a foot's end is Plain(FLOOR)"
            )
            continue
        corners = _in_floor(made)
        if np.linalg.matrix_rank(corners - corners[0], tol=1.0) < 2:
            notes.fault(
                f"{made.number}: it stands on a point or a line, and falls; draw feet that span a "
                "plane"
            )
    notes.did(f"{len(subject.made)} pieces")


def _in_floor(made: Made) -> Array:
    points: Array = np.concatenate([p.mesh.vertices for p in made.fit.assembly])
    there: Array = points[np.abs(points[:, 2]) <= TAPE_MM][:, :2]
    return there


def measured(subject: PieceSubject, notes: Notes) -> None:
    """measured() says what a tape shows: feet and height on the cut solids, members on the bars"""
    held = 0
    for made in subject.made:
        told = made.piece_type.measured()
        for fault in _measured_faults(told, made):
            notes.fault(f"{made.number}: {fault}")
        held += len(told)
    notes.did(f"{held} lengths")


def _measured_faults(told: object, made: Made) -> Iterator[str]:
    if not isinstance(told, Mapping):
        yield f"measured() must give names and lengths, not {shown(told)}"
        return
    known = _known(made)
    for name in (HEIGHT, *FEET):
        if name not in told:
            yield f'measured() must say "{name}"; tape_of(placed_bars(piece).values()) does'
    for name, value in told.items():
        if not (isinstance(name, str) and name.isprintable() and name.strip()):
            yield f"what a tape is laid on must be named in words, not {shown(name)}"
        elif not (isinstance(value, float) and isfinite(value)):
            yield f'"{name}" is {shown(value)}, and must be a finite number of mm'
        elif name in known and abs(value - known[name]) > TAPE_MM:
            on = "cut solids" if name in SOLID else "bars"
            yield (
                f'measured() says {value:.4f} mm for "{name}", and the {on} show '
                f"{known[name]:.4f}; work it out from the bars as they stand, not from what was "
                "asked"
            )


def _known(made: Made) -> dict[str, float]:
    """What the bars show, and the solids where they can."""
    out = tape_of(placed_bars(made.piece_type.piece()).values())
    out |= tape((b.placed for b in made.answer.bars), made.answer.members)
    low, high = made.fit.extents_mm
    feet = made.fit.extents_at_mm(float(low[2]))
    sizes = [*(feet[1] - feet[0]).tolist(), *(high - low).tolist()]
    return out | dict(zip(SOLID, sizes, strict=True))
