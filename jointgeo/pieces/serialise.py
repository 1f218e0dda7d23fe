"""A solved piece as plain data: enough to rebuild every bar and stand it in the room.

Knows the answer's typed values; works nothing out. Numbers are unrounded, millimetres and degrees.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from jointgeo.joints.check import Check
from jointgeo.joints.placement import Placement
from jointgeo.pieces.cutlist import Member, Total
from jointgeo.pieces.joining import EndName, PlacedJoint
from jointgeo.pieces.marks import Mark
from jointgeo.pieces.rims import Planed
from jointgeo.pieces.solvedbar import SolvedBar
from jointgeo.schema.fields import members
from jointgeo.solution.drawing_form import drawing_form
from jointgeo.solution.end import EndSolution
from jointgeo.solution.serialise import end_settings, feasibility

__all__ = ["bars_form", "cut_list_form", "settings_form"]


def bars_form(
    bars: Iterable[SolvedBar],
    joints: Iterable[PlacedJoint],
    ends: Mapping[tuple[str, EndName], EndSolution],
) -> dict[str, Any]:
    """What a virtual shop needs to cut every bar and to put the piece together.

    bars: each with its pose, room from blank (z = 0 at the blank's square near end), and the
    settings of both ends, each in its own stock frame; the far one is the near one's turned end for
    end about the thickness axis. joints: each with its drawing, and room from the drawing's world.
    """
    return {"bars": [_bar(b, ends) for b in bars], "joints": [_joint(j) for j in joints]}


def cut_list_form(members_: Iterable[Member], totals: Iterable[Total]) -> dict[str, Any]:
    """Members and totals."""
    return {"members": [members(m) for m in members_], "totals": [members(t) for t in totals]}


def settings_form(ends: Iterable[EndSolution], checks: Iterable[Check]) -> dict[str, Any]:
    """Each operation once, and whether everything can be cut."""
    return {"settings": [end_settings(e) for e in ends], **feasibility(tuple(checks))}


def _bar(bar: SolvedBar, ends: Mapping[tuple[str, EndName], EndSolution]) -> dict[str, Any]:
    return {
        "bar": bar.name,
        "pose": [list(row) for row in bar.pose],
        "near": end_settings(ends[bar.name, "near"], aids=False),
        "far": end_settings(ends[bar.name, "far"], aids=False),
        "marks": [_mark(m) for m in bar.marks],
        "planed": [_planed(p) for p in bar.planed],
    }


def _mark(mark: Mark) -> dict[str, Any]:
    out = members(mark)
    del out["through"], out["proud_mm"]  # they follow from the depth and the drawing
    out["points"] = [members(p) for p in mark.points]
    out["size_mm"] = list(mark.size_mm)
    return out


def _planed(edge: Planed) -> dict[str, Any]:
    out = members(edge)
    del out["box"]  # among the layout of the near end
    return {**out, "plane": {"normal": list(edge.plane.normal), "at_mm": edge.plane.at}}


def _joint(joint: PlacedJoint) -> dict[str, Any]:
    bar, mate = joint.drawing.bars[:2]
    return {
        "joint": joint.name,
        "joint_type": joint.joint.name,
        "hand": joint.hand,
        "parameters": joint.joint.to_dict(),
        "cut": {"bar": joint.bar, "end": joint.end, "drawn_as": bar.name},
        "mate": {
            "bar": joint.mate,
            "side": joint.side,
            "end": joint.mate_end,
            "drawn_as": mate.name,
        },
        "pose": _pose(joint.placement),
        "drawing": drawing_form(joint.drawing),
    }


def _pose(placement: Placement) -> list[list[float]]:
    rows = zip(*placement.axes, placement.at, strict=True)
    return [*(list(row) for row in rows), [0.0, 0.0, 0.0, 1.0]]
