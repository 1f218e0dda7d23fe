"""Settings: what a person sets and cuts, for one joint on one fixture.

Knows plans and joint types' contract; judges nothing (``feasibility`` does). Values
are unrounded; only reports round. ``to_dict`` is the JSON contract, and enough of it to
rebuild every cut without the library: blank, rotation, trim and cuts of each setup.
"""

from __future__ import annotations

import itertools
from typing import Any, Literal

import attrs

from jointgeo.errors import InputError, PluginError, shown
from jointgeo.fixtures.model import Fixture
from jointgeo.geometry.arith import least, place_of_least, radians, tan
from jointgeo.geometry.columns import fixed
from jointgeo.joints.contract import Expectation, Part, Placement, Verify
from jointgeo.joints.joint_type import JointType
from jointgeo.joints.sides import clamped_sides, edge_names
from jointgeo.planning.blank import corner_points, point_across
from jointgeo.planning.passes import Cut
from jointgeo.planning.setups import Candidate, EndPlan, SetupPlan, plan_end
from jointgeo.schema.fields import members
from jointgeo.setting_aids.aids import setting_aids

__all__ = ["HANDS", "Hand", "PartSettings", "Settings", "Use", "part_settings", "solve_settings"]

Hand = Literal["as_drawn", "mirrored"]
HANDS: tuple[Hand, ...] = ("as_drawn", "mirrored")


@attrs.frozen
class Use:
    """Who is cut at these settings: a member's end, its hand, and how many."""

    member: str
    end: Literal["near", "far"]
    hand: Hand
    count: int


@attrs.frozen(eq=False)
class PartSettings:
    """One part: its plan on the fixture and the pieces it is cut for."""

    part: Part
    plan: EndPlan
    uses: tuple[Use, ...]
    fixture: Fixture

    def to_dict(self) -> dict[str, Any]:
        plan = self.plan
        part = plan.part
        return {
            "part": part.name,
            "stock": {
                "width_mm": part.width_mm,
                "thickness_mm": part.thickness_mm,
                "length_mm": plan.blank_mm,
                "x_from": part.x_from,
            },
            "layout": _layout(plan),
            "setups": [self._setup(s) for s in plan.setups],
            "marks": _marks(plan),
            "verify": [members(v) for v in (*_verify(plan), *part.verify)],
        }

    def _setup(self, setup: SetupPlan) -> dict[str, Any]:
        fixture, chosen = self.fixture, setup.chosen
        x_from = self.plan.part.x_from
        sides = clamped_sides(chosen.side, x_from)
        exits = "plate" if fixture.feed.sense == "towards_plate" else "you"
        trim_z = chosen.clamped.lowest_mm + setup.trim_mm
        datum = fixture.cutter_height.datum_z_mm
        depths = _depths(setup.cuts)
        return {
            "for": [members(u) for u in self.uses],
            "against_plate": sides["plate"],
            "against_fence": sides[fixture.fence.side],
            "exit_side": sides[exits],
            "swivel_deg": chosen.swivel_deg,
            "tilt_deg": chosen.tilt_deg,
            "scale_swivel_deg": chosen.swivel_deg + fixture.correction.swivel_zero_deg,
            "scale_tilt_deg": chosen.tilt_deg + fixture.correction.tilt_zero_deg,
            "packing_deg": chosen.packing_deg,
            "packing": _packing(self.plan, setup, fixture),
            "overhang_mm": chosen.clamped.overhang_mm,
            "overhang_trimmed_mm": setup.overhang_trimmed_mm,
            "trim_mm": setup.trim_mm,
            "cutter": setup.cutter.name,
            "kerf_mm": setup.cutter.kerf_mm,
            "cutter_height_mm": {
                "datum": fixture.cutter_height.datum,
                "trim": trim_z - datum,
                "cuts": [{"depth_mm": d, "height": trim_z + d - datum} for d in depths],
            },
            "touch_off": _touch_off(self.plan, setup),
            "cuts": [_cut(c) for c in setup.cuts],
            "aids": [a.to_dict() for a in setting_aids(setup, fixture)],
            "candidates": [_candidate(c, setup, fixture, x_from) for c in setup.candidates],
        }


@attrs.frozen(eq=False)
class Settings:
    """The answer of ``solve_settings``; ``to_dict`` gives the JSON contract's ``settings``."""

    joint_type: str
    fixture: str
    parts: tuple[PartSettings, ...]
    expect: tuple[Expectation, ...]
    assembly: tuple[Placement, ...]
    notes: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """Plain data: numbers, text, lists and tables only."""
        return {
            "joint_type": self.joint_type,
            "fixture": self.fixture,
            "parts": [p.to_dict() for p in self.parts],
            "expect": [e.as_dict() for e in self.expect],
            "assembly": [
                {"part": p.part, "instance": p.instance, "pose": _pose(p, self.parts)}
                for p in self.assembly
            ],
            "notes": list(self.notes),
        }


def solve_settings(joint: JointType, fixture: Fixture, hand: Hand = "as_drawn") -> Settings:
    """Settings of every part of ``joint`` on ``fixture``; ``hand`` may ask for the mirror image.

    An infeasible joint has settings all the same. Raises PluginError where the joint type
    breaks its contract.
    """
    if hand not in HANDS:
        raise InputError.of("hand", "is not a choice", shown(hand), 'one of "as_drawn", "mirrored"')
    own = joint.own_settings(fixture, hand)
    if own is not None:
        if not isinstance(own, Settings):
            raise PluginError(f"{joint.name}.own_settings must give Settings, not {type(own)!r}")
        return own
    parts, placements = joint.parts(), joint.placements()
    _agree(joint, parts, placements)
    if hand == "mirrored":
        widths = {p.name: p.width_mm for p in parts}
        parts = tuple(p.mirrored() for p in parts)
        placements = tuple(p.mirrored(widths[p.part]) for p in placements)
    solved = tuple(part_settings(p, fixture, (Use(p.name, "near", hand, 1),)) for p in parts)
    expect = joint.expectations()
    if hand == "mirrored":
        expect = tuple(e.mirrored() for e in expect)
    return Settings(joint.name, fixture.name, solved, expect, placements, joint.notes())


def part_settings(
    part: Part, fixture: Fixture, uses: tuple[Use, ...], other_allowance_mm: float = 0.0
) -> PartSettings:
    """Settings of one part (hand already settled) for the given pieces."""
    return PartSettings(part, plan_end(part, fixture, other_allowance_mm), uses, fixture)


def _agree(joint: JointType, parts: tuple[Part, ...], placed: tuple[Placement, ...]) -> None:
    names = [p.name for p in parts]
    if len(set(names)) != len(names):
        raise PluginError(f"{joint.name}: two parts have one name: {names}")
    missing = {p.part for p in placed} ^ set(names)
    if missing:
        raise PluginError(f"{joint.name}: parts and placements disagree about {sorted(missing)}")


def _pose(placed: Placement, parts: tuple[PartSettings, ...]) -> list[list[float]]:
    """World from blank: a joint type measures z from its datum, a sheet from the blank's end."""
    allowance = next(p.plan.allowance_mm for p in parts if p.part.name == placed.part)
    *turned, last = placed.rows
    return [*([x, y, z, at - allowance * z] for x, y, z, at in turned), list(last)]


def _layout(plan: EndPlan) -> list[dict[str, Any]]:
    out = []
    for box in plan.part.layout:
        frame = [list(row) for row in box.rows]
        frame[2][3] += plan.allowance_mm
        out.append(
            {
                "name": box.name,
                "frame": frame,
                "size_mm": list(box.edges),
                "side": box.side,
                "marks": dict(box.marks),
            }
        )
    return out


def _marks(plan: EndPlan) -> list[dict[str, Any]]:
    """Where trim, shoulder and floor lines cross the four long edges, from the square end."""
    names = edge_names(plan.part.x_from)
    return [
        {"line": line, "at_mm": dict(zip(names, z, strict=True))}
        for line, planes in plan.lines().items()
        for _, z in planes
    ]


def _verify(plan: EndPlan) -> list[Verify]:
    """Widths and depths that calipers can check on the cut end, in cutting order."""
    out = []
    for number, setup in enumerate(plan.setups, 1):
        where = f"setup {number}"
        cuts = setup.cuts
        for i, (c, d) in enumerate(itertools.pairwise(cuts), 1):
            if d.left_mm > c.right_mm:
                what = f"{where}: wood left between cut {i} and cut {i + 1}, square across"
                out.append(Verify(what, d.left_mm - c.right_mm, "calipers"))
        for i, c in enumerate(cuts, 1):
            if not c.outer:
                what = f"{where}: width of cut {i}, square across"
                out.append(Verify(what, c.right_mm - c.left_mm, "calipers"))
        for depth in _depths(cuts):
            which = [str(i) for i, c in enumerate(cuts, 1) if c.depth_mm == depth]
            of = f"cut {', '.join(which)}: " if len(which) < len(cuts) else ""
            what = f"{where}: {of}depth below the trimmed end, square to it"
            out.append(Verify(what, depth, "depth gauge"))
    return out


def _depths(cuts: tuple[Cut, ...]) -> list[float]:
    """Every depth once, ascending."""
    found: list[float] = []
    for cut in cuts:
        if cut.depth_mm not in found:
            found.append(cut.depth_mm)
    return sorted(found)


def _packing(plan: EndPlan, setup: SetupPlan, fixture: Fixture) -> dict[str, Any] | None:
    """The wedge between stock and backing, and what ignoring it costs; None for none."""
    kappa = setup.chosen.packing_deg
    if abs(kappa) < 1e-9:
        return None
    part = plan.part
    odd = setup.chosen.side % 2 == 1
    across = part.thickness_mm if odd else part.width_mm
    feed = part.width_mm if odd else part.thickness_mm
    sides = clamped_sides(setup.chosen.side, part.x_from)
    slope = tan(radians(abs(kappa)))
    rise = across * slope
    thin = fixture.practice.wedge_thin_mm
    return {
        # A turn from X towards Y presses the right-hand edge on and lifts the left one.
        "thick_end": sides["left" if kappa > 0 else "right"],
        "length_mm": across,
        "thin_mm": thin,
        "thick_mm": thin + rise,
        "error_if_ignored_mm": feed * slope,
    }


def _touch_off(plan: EndPlan, setup: SetupPlan) -> dict[str, Any]:
    """The long edge whose trimmed corner stands, or stood before earlier cuts, furthest left."""
    notch, chosen = setup.notch, setup.chosen
    end = corner_points(notch, 0.0, plan.corners)
    across = [chosen.sense * point_across(notch, p) for p in end]
    return {
        "nearest_edge": edge_names(plan.part.x_from)[fixed(place_of_least(across))],
        "machine_x_mm": setup.corner_x_mm,
        "cut_away_mm": setup.corner_x_mm - (chosen.clamped.machine(notch.at)[0] + least(across)),
    }


def _cut(cut: Cut) -> dict[str, Any]:
    return members(cut) | {"passes": [members(p) for p in cut.passes]}


def _candidate(c: Candidate, setup: SetupPlan, fixture: Fixture, x_from: Any) -> dict[str, Any]:
    sides = clamped_sides(c.side, x_from)
    return {
        "against_plate": sides["plate"],
        "against_fence": sides[fixture.fence.side],
        "swivel_deg": c.swivel_deg,
        "tilt_deg": c.tilt_deg,
        "packing_deg": c.packing_deg,
        "front_beam_gap_mm": c.gap_mm,
        "in_range": c.in_range,
        "degenerate": c.degenerate,
        "chosen": c is setup.chosen,
    }
