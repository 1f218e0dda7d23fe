"""A solution as plain data, under the JSON contract's names.

Knows the answer's typed values; works nothing out. Numbers are unrounded.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from jointgeo.fixtures.wedging import stands_off_deg, wedge, wedge_place
from jointgeo.joints.check import Check, unanswered, worst
from jointgeo.joints.drawing import Drawing, Pose
from jointgeo.joints.stock import LayoutBox
from jointgeo.schema.fields import members
from jointgeo.solution.drawing_form import drawing_form
from jointgeo.solution.end import EndSolution
from jointgeo.solution.setup import ByHand, CutterHeights, Packing, Setup

__all__ = ["PART", "SETUP", "end_settings", "feasibility", "settings"]


def settings(
    ends: Sequence[EndSolution],
    drawing: Drawing,
    poses: Sequence[Pose],
    notes: Sequence[str],
    *,
    aids: bool,
) -> dict[str, Any]:
    """What ``settings`` holds beside the names of joint type and fixture.

    poses: world from blank, of each end. aids: whether the setting aids, which take the longest,
    are wanted.
    """
    return {
        "parts": [end_settings(end, aids=aids) for end in ends],
        "drawing": drawing_form(drawing),
        "assembly": [
            {"part": end.part.name, "pose": [list(row) for row in pose]}
            for end, pose in zip(ends, poses, strict=True)
        ],
        "notes": list(notes),
    }


def feasibility(checks: Sequence[Check]) -> dict[str, Any]:
    """What ``feasibility`` holds beside the names of joint type and fixture."""
    status = worst(checks)
    return {
        "feasible": status != "fail",
        "status": status,
        "not_stated": unanswered(checks),
        "checks": [c.as_dict() for c in checks],
    }


#: The same of one part, but for its setups.
PART: dict[str, Callable[[EndSolution], Any]] = {
    "stock": lambda end: {
        "width_mm": end.part.width_mm,
        "thickness_mm": end.part.thickness_mm,
        "length_mm": end.blank_mm,
        "x_from": end.part.x_from,
    },
    "layout": lambda end: [_layout(box, end.plan.allowance_mm) for box in end.part.layout],
    "marks": lambda end: [members(line) for line in end.marks],
    "verify": lambda end: [members(v) for v in end.verify],
}


def end_settings(end: EndSolution, *, aids: bool = True) -> dict[str, Any]:
    """One part of ``settings``."""
    uses = [members(u) for u in end.uses]
    return {
        "part": end.part.name,
        "stock": PART["stock"](end),
        "layout": PART["layout"](end),
        "setups": [_setup(s, uses, aids) for s in end.setups],
        "marks": PART["marks"](end),
        "verify": PART["verify"](end),
    }


def _layout(box: LayoutBox, allowance_mm: float) -> dict[str, Any]:
    """From the blank's square end."""
    frame = [list(row) for row in box.rows]
    frame[2][3] += allowance_mm
    return {
        "name": box.name,
        "frame": frame,
        "size_mm": list(box.size),
        "side": box.side,
        "marks": dict(box.marks),
    }


def _wedges(setup: Setup) -> dict[str, Any] | None:
    """How the stock comes to its angles for want of an axis; None where no wedge is needed.

    ``wedge_deg`` is of the whole stack, signed as the axis.
    """
    held_at, fixture = setup.held, setup.fixture
    if not held_at.wedged:
        return None
    out: dict[str, Any] = {
        "plate_tilt_deg": held_at.plate_deg,
        "fence_swivel_deg": held_at.fence_deg,
    }
    for axis, angle in (("tilt", held_at.behind_deg), ("swivel", held_at.beside_deg)):
        out[f"{axis}_wedge"] = None
        if angle:
            found, (where, thick_at) = wedge(fixture, angle), wedge_place(fixture, axis, angle)
            out[f"{axis}_wedge"] = {
                "wedge_deg": angle,
                "length_mm": found.length_mm,
                "thin_mm": found.thin_mm,
                "thick_mm": found.thick_mm,
                "wedges": found.count,
                "counter_wedges": found.count,
                "lies": where,
                "thick_end_at": thick_at,
            }
    off = stands_off_deg(held_at.swivel_set_deg, held_at.behind_deg)
    return out | {"stands_off_fence_deg": abs(off)}


#: What is written of a setup, by name. Each is worked out when it is written, so that whoever wants
#: one of them (``paths``) pays for that one.
SETUP: dict[str, Callable[[Setup], Any]] = {
    "against_plate": lambda s: s.against_plate,
    "against_fence": lambda s: s.against_fence,
    "exit_side": lambda s: s.exit_side,
    "swivel_deg": lambda s: s.swivel_deg,
    "tilt_deg": lambda s: s.tilt_deg,
    "scale_swivel_deg": lambda s: s.axes[0].to_set_deg,
    "scale_tilt_deg": lambda s: s.axes[1].to_set_deg,
    "packing_deg": lambda s: s.packing_deg,
    "packing": lambda s: _optional(s.packing),
    "wedges": lambda s: _wedges(s),
    "closing": lambda s: s.budget.closing.to_dict(),
    "overhang_mm": lambda s: s.overhang_mm,
    "overhang_trimmed_mm": lambda s: s.overhang_trimmed_mm,
    "trim_mm": lambda s: s.trim_mm,
    "cutter": lambda s: s.cutter,
    "kerf_mm": lambda s: s.kerf_mm,
    "cutter_height_mm": lambda s: _heights(s.heights),
    "touch_off": lambda s: members(s.touch_off),
    "cuts": lambda s: [members(c) | {"passes": [members(p) for p in c.passes]} for c in s.cuts],
    "aids": lambda s: [a.to_dict() for a in s.aids],
    "candidates": lambda s: [members(c) | {"failing": list(c.failing)} for c in s.candidates],
    "chosen_because": lambda s: s.chosen_because,
    "by_hand": lambda s: _by_hand(s.by_hand),
}


def _setup(setup: Setup, uses: list[dict[str, Any]], aids: bool) -> dict[str, Any]:
    wanted = ((name, write) for name, write in SETUP.items() if aids or name != "aids")
    return {"for": uses} | {name: write(setup) for name, write in wanted}


def _optional(packing: Packing | None) -> dict[str, Any] | None:
    return None if packing is None else members(packing)


def _heights(heights: CutterHeights) -> dict[str, Any]:
    return {
        "datum": heights.datum,
        "trim": heights.trim_mm,
        "trim_steps": list(heights.trim_steps_mm),
        "cuts": [
            {"depth_mm": depth, "height": height, "steps": list(steps)}
            for (depth, height), steps in zip(heights.cuts, heights.steps_mm, strict=True)
        ],
    }


def _by_hand(by_hand: ByHand | None) -> dict[str, Any] | None:
    if by_hand is None:
        return None
    return members(by_hand) | {"costs": [members(c) for c in by_hand.costs]}
