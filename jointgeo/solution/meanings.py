"""What each member of an answer means, in one sentence; said here and nowhere else.

Knows the names in the JSON contract; no values. The list of paths and the API document read it.
"""

from __future__ import annotations

from collections.abc import Mapping

__all__ = ["MEANINGS", "meaning"]

_ANSWER = {
    "joint_type": "Name of the joint type",
    "fixture": "The fixture, by the name that it is asked by",
    "edition": "First signs of the SHA-256 of the fixture's file, which change whenever it does",
    "hand": "As drawn, or its mirror image",
    "feasible": "Whether no check fails; with cautions it is feasible",
    "not_stated": "Questions the fixture file does not answer, each counted once",
    "status": "pass, caution or fail; not_stated where the fixture file does not say, never a pass",
    "notes": "What to read before cutting",
    "parts": "Every part of the joint, in its order",
    "part": "Name of the part",
    "setups": "Its clampings in the order they are cut",
    "setup": "Number of the clamping, counted from 1",
    "assembly": "Where each part stands in the joint put together",
    "pose": "4×4, row-major, world from the blank, z = 0 at its square end, millimetres",
    "name": "Its name",
}
_STOCK = {
    "stock": "The blank before trimming",
    "stock.width_mm": "Width of the blank, across its face side",
    "stock.thickness_mm": "Thickness of the blank",
    "stock.length_mm": "Length of the blank before anything is cut",
    "stock.x_from": "The edge that x is counted from at this end",
    "layout": "What is only laid out, and cut by other means",
    "layout.name": "What is laid out",
    "layout.side": "The marked side that it is laid out on",
    "layout.size_mm": "Size of what is taken out, along its own axes",
    "layout.marks": "Measures to lay it out by",
    "layout.marks.*": "A measure to lay it out by",
    "layout.frame": "Its place in the blank, from the square end: 3×4, row-major, millimetres",
    "marks": "Lines to mark on the blank",
    "marks.line": "Which line it is: trim, shoulder or floor, the bottom of the cuts",
    "marks.at_mm": "Where the line crosses the four long edges, from the square end",
    "marks.at_mm.*": "Where the line crosses that long edge, from the square end",
    "verify": "What to measure on the cut end",
    "verify.what": "What to measure on the cut end",
    "verify.expected_mm": "What it should measure",
    "verify.instrument": "What to measure it with",
}
_SETUP = {
    "for": "Which pieces are cut by this operation",
    "for.member": "The member of the piece",
    "for.end": "Its near or far end",
    "for.hand": "As drawn, or mirrored",
    "for.count": "How many",
    "against_plate": "The marked side that lies on the plate",
    "against_fence": "The marked side that lies on the fence",
    "exit_side": "The marked side where the cutter leaves the wood; nothing where not known",
    "swivel_deg": "True angle of the swivel, positive clockwise as you face the plate",
    "tilt_deg": "True angle of the tilt, positive when the cut end swings towards you",
    "scale_swivel_deg": "What the swivel's scale must show for that, by all that is known of it; "
    "nothing where it cannot show that",
    "scale_tilt_deg": "What the tilt's scale must show for that, by all that is known of it; "
    "nothing where it cannot show that",
    "packing_deg": "Turn about the stock's own length that a wedge must give; 0 for none",
    "packing": "The wedge between stock and backing; null where none is needed",
    "packing.thick_end": "The marked side at which the wedge's thick end lies",
    "packing.length_mm": "Length of the wedge",
    "packing.thin_mm": "Its thin end",
    "packing.thick_mm": "Its thick end",
    "packing.error_if_ignored_mm": "Error over the feed without the wedge",
    "packing.slips": "Slips of paper that do instead; nothing where a wedge can be planed",
    "packing.left_mm": "Error over the feed that is left with those slips",
    "wedges": "Wedges that turn the stock for want of an axis; null where none is needed",
    "wedges.plate_tilt_deg": "True angle that the plate stands at",
    "wedges.fence_swivel_deg": "True angle that the fence stands at",
    "wedges.stands_off_fence_deg": "How far the stock stands off the fence by them",
    "tilt_wedge": "The wedge that tilts the stock; nothing where none is needed",
    "swivel_wedge": "The wedge that swivels the stock; nothing where none is needed",
    "tilt_wedge.*": "Of the wedge that tilts the stock, as the sheet says",
    "swivel_wedge.*": "Of the wedge that swivels the stock, as the sheet says",
    "tilt_wedge.wedges": "How many wedges that tilt the stock are stacked",
    "swivel_wedge.wedges": "How many wedges that swivel the stock are stacked",
    "aids.wedges": "How many wedges are stacked",
    "swivel.wedges": "How many wedges are stacked",
    "tilt.wedges": "How many wedges are stacked",
    "closing": "Whether the joint will close, set by the scales",
    "closing.limit_mm": "The gap that may be left, the fixture file's glue line",
    "closing.gap_95_mm": "The gap that 95 of 100 settings by the scales keep within",
    "closing.chance": "The chance that the joint closes, from 0 to 1",
    "closing.swivel_needed_deg": "How closely the swivel must be set, ±",
    "closing.tilt_needed_deg": "How closely the tilt must be set, ±",
    "overhang_mm": "From the plate's lower edge down to the lowest corner of the square end",
    "overhang_trimmed_mm": "The same to the end as it stands when the clamping begins",
    "trim_mm": "Depth of the trim above the lowest corner of the square end",
    "cutter": "Name of the cutter",
    "kerf_mm": "Width of its kerf",
    "cutter_height_mm": "Heights of the cutter",
    "cutter_height_mm.datum": "What the heights are counted from",
    "cutter_height_mm.trim": "Height of the cutter for the trim",
    "cutter_height_mm.trim_steps": "Heights for the trim, a step each; the last is full depth",
    "cutter_height_mm.cuts": "Heights for each depth, shallowest first",
    "cutter_height_mm.cuts.depth_mm": "A depth of cut below the trimmed end",
    "cutter_height_mm.cuts.height": "Height of the cutter for that depth",
    "cutter_height_mm.cuts.steps": "Heights for that depth, a step each; the last is full depth",
    "touch_off": "Where the cutter touches off",
    "touch_off.nearest_edge": "The long edge whose trimmed corner is touched off",
    "touch_off.machine_x_mm": "X of that corner along the traverse",
    "touch_off.cut_away_mm": "How far that corner lies right of where it stood before earlier cuts",
    "cuts": "Channels, left to right",
    "cuts.left_mm": "Left side of the channel, from the touch-off corner",
    "cuts.right_mm": "Right side of the channel, from the touch-off corner",
    "cuts.depth_mm": "Depth of the channel below the trimmed end",
    "cuts.outer": "Whether it runs out of the stock on one side",
    "passes": "Passes that clear it, left to right",
    "travel_mm": "Where the cutter's right-hand face stands, from the touch-off corner",
    "turns": "Whole turns of the handwheel from 0",
    "divisions": "Divisions of the handwheel beyond those turns",
    "rounding_mm": "What rounding to divisions changes",
    "chosen_because": "Why this clamping and no other",
    "by_hand": "What a choice by hand costs; null where there is none",
    "candidates": "Every way to clamp this end, the chosen one among them",
    "candidates.front_beam_gap_mm": "Room to the front beam; nothing where none is near",
    "candidates.in_range": "Whether both axes' ranges hold it",
    "candidates.degenerate": "Whether its angles are not settled by the cut",
    "candidates.chosen": "Whether it is the one chosen",
    "candidates.judged": "Whether its checks were run, which is where there was a choice",
    "candidates.failing": "A check that fails",
}
_AIDS = {
    "aids": "Ways to set both axes, best first for each",
    "aids.*": "A size that the sentence beside it names",
    "aid.*": "A size that the sentence beside it names",
    "aid": "What kind of aid it is",
    "axis": "The axis that is set: swivel or tilt",
    "says": "What to do, in one sentence",
    "angle_deg": "The true angle that it gives",
    "error_deg": "That minus the angle wanted",
    "u_deg": "Its standard uncertainty",
    "needed_deg": "How near it must come, ±; nothing where the axis does not matter here",
    "reach_deg": "How near it comes, ±",
    "enough": "Whether that is near enough",
}
_CHECKS = {
    "checks": "Every check",
    "value": "What the check found",
    "limit": "What is allowed",
    "margin": "Room that is left; negative is too little, whichever way the limit points",
    "unit": "Unit of value, limit and margin",
    "because": "What was checked, and why",
    "remedies": "What would help",
    "remedy": "What would help first; nothing where nothing is listed",
    "trouble": "What to look at first; nothing where every check passes",
    "do": "What to do, by a short name for programs",
}

#: By name, or by the name before it and its own; ``*`` is any name below that one.
MEANINGS: Mapping[str, str] = _ANSWER | _STOCK | _SETUP | _AIDS | _CHECKS


def meaning(path: str) -> str:
    """What stands at a path of ``paths``; "" where nothing is said of it."""
    steps = [step for step in path.split(".") if not step.isdecimal()]
    for i in range(len(steps)):
        found = MEANINGS.get(".".join(steps[i:]))
        if found:
            return found
    for i in range(len(steps) - 1):
        found = MEANINGS.get(".".join((*steps[i:-1], "*")))
        if found:
            return found
    # What an aid says of its sizes stands below the axis: aid.swivel.length_mm.
    return MEANINGS["aid.*"] if "aid" in steps else ""
