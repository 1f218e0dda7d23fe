"""Test pieces: what to cut, what to measure on it, and what it should show.

Knows the fixture and passes; the readings go into a file that ``calibrate`` takes.

One axis at a time, so that each piece tells of one unknown. Scale figures already have
the fixture's corrections in them, and positions are made from the corrected kerf and lead,
so a fixture that is calibrated should find the expected reading.
"""

from __future__ import annotations

from typing import Any

import attrs
import numpy as np

from jointgeo.fixtures.calibrated import scale_figure
from jointgeo.fixtures.model import Cutter, Fixture
from jointgeo.planning.passes import passes

__all__ = ["TrialPiece", "coupon_of_fits", "trial_pieces"]

STEP_MM = 0.05  # from slot to slot; our choice
STEPS = 4  # slots to either side of the middle one; our choice
WALL_MM = 6.0  # wood between the coupon's slots; common practice, no published source
THIN_MM = 20.0  # of the test pieces; our choice


@attrs.frozen
class TrialPiece:
    """One piece. section: width × thickness × length, mm. cuts: settings and positions.
    measure: where, and with what. expected: the reading, name ending in its unit. enter: the
    table of the readings file it goes into."""

    name: str
    section_mm: tuple[float, float, float]
    cuts: tuple[dict[str, Any], ...]
    measure: str
    expected: dict[str, float]
    enter: str

    def to_dict(self) -> dict[str, Any]:
        out = attrs.asdict(self, recurse=False)
        out["section_mm"] = list(self.section_mm)
        out["cuts"] = [dict(c) for c in self.cuts]
        return out


def trial_pieces(fixture: Fixture, across_mm: float = 100.0) -> tuple[TrialPiece, ...]:
    """The test pieces of one fixture, most telling first; across_mm: size of stock to test with."""
    return (*_squares(fixture, across_mm), *_angles(fixture, across_mm), *_cutters(fixture))


def _scales(fixture: Fixture, swivel: float = 0.0, tilt: float = 0.0) -> dict[str, float]:
    """What the scales must show. An angle whose figure lies outside its axis's range is asked for
    at the end of the range instead: a tilt at its stop shows 0, however far off it stands."""
    return {
        f"scale_{axis}_deg": limits.figure_deg(
            min(max(scale_figure(fixture, axis, a).scale_deg, limits.min_deg), limits.max_deg)
        )
        for axis, a, limits in (
            ("swivel", swivel, fixture.swivel),
            ("tilt", tilt, fixture.tilt),
        )
    }


def _squares(fixture: Fixture, across: float) -> tuple[TrialPiece, ...]:
    wide = min(across, fixture.plate.width_mm)
    deep = min(across, fixture.clamp.opening_mm - fixture.backing.thickness_mm)
    how = (
        "cut both pieces at this one setting; lay them flat, ends together, one turned over, both "
        "against one straight edge; feeler gauge at {far}, where it gapes, near one end of the "
        "cut, in its middle and near the other end"
    )
    return (
        TrialPiece(
            "square across",
            (wide, THIN_MM, 300.0),
            (_scales(fixture),) * 2,
            how.format(far="the far edge"),
            {"gap_mm": 0.0},
            'turned_over, axis = "swivel"',
        ),
        TrialPiece(
            "square through",
            (deep, THIN_MM, 300.0),
            (_scales(fixture),) * 2,
            "clamped with an edge on the plate, its width from plate to you; "
            + how.format(far="the far edge"),
            {"gap_mm": 0.0},
            'turned_over, axis = "tilt"',
        ),
    )


def _angles(fixture: Fixture, across: float) -> tuple[TrialPiece, ...]:
    out = []
    for axis, limits in (("swivel", fixture.swivel), ("tilt", fixture.tilt)):
        reach = limits.max_deg if limits.max_deg >= -limits.min_deg else limits.min_deg
        half = float(np.round(reach / 2))
        if half == 0.0:
            continue
        clamped = (
            "the back on the plate" if axis == "swivel" else "an edge on the plate, width to you"
        )
        out.append(
            TrialPiece(
                f"{axis} half way",
                (across, THIN_MM, 300.0),
                (_scales(fixture, **{axis: half}),),
                f"clamped with {clamped}; angle off square, with a vernier bevel protractor",
                {"measured_deg": half},
                f'angle, axis = "{axis}"',
            )
        )
    return tuple(out)


def _cutters(fixture: Fixture) -> tuple[TrialPiece, ...]:
    made = fixture.corrected
    grooves = tuple(
        TrialPiece(
            f"groove of {c.name}",
            (60.0, THIN_MM, 150.0),
            ({**_scales(fixture), "cutter": c.name, "travel_mm": 30.0},),
            "width of the groove cut in one pass, calipers or gauge blocks, in its middle",
            {"width_mm": c.kerf_mm},
            "groove",
        )
        for c in made.cutter
    )
    first = made.cutter[0]
    # Whole turns, so that no rounding of the handwheel enters.
    room = min(120.0, made.traverse.max_mm - made.traverse.min_mm - 2 * WALL_MM)
    turns = max(1, int(room / made.traverse.lead_mm))
    travel = turns * fixture.traverse.lead_mm
    spacing = TrialPiece(
        "two grooves",
        (travel + first.kerf_mm + 2 * WALL_MM, THIN_MM, 150.0),
        tuple(
            {**_scales(fixture), "cutter": first.name, "turns": n, "divisions": 0}
            for n in (0, turns)
        ),
        "from the left wall of one groove to the left wall of the other, calipers; the "
        "handwheel turned one way only between them",
        {"measured_mm": turns * made.traverse.lead_mm},
        f"spacing, travel_mm = {travel:g}",
    )
    return (*grooves, spacing, *(coupon_of_fits(fixture, c) for c in fixture.cutter))


def coupon_of_fits(fixture: Fixture, cutter: Cutter) -> TrialPiece:
    """Slots around one width in steps of 0.05 mm: how many a tongue enters tells the kerf."""
    made = fixture.corrected
    own = next(c for c in made.cutter if c.name == cutter.name)
    middle = float(np.ceil(own.kerf_mm + 2 * STEPS * STEP_MM))
    cuts = []
    left = WALL_MM
    for i in range(-STEPS, STEPS + 1):
        width = middle + i * STEP_MM
        steps = passes(left, left + width, own, made.traverse, fixture.practice.overlap_mm)
        cuts.append(
            {
                **_scales(fixture),
                "cutter": own.name,
                "slot_mm": width,
                "left_mm": left,
                "right_mm": left + width,
                "passes": [attrs.asdict(p) for p in steps],
            }
        )
        left += width + WALL_MM
    return TrialPiece(
        f"coupon of fits, {own.name}",
        (left, THIN_MM, 150.0),
        tuple(cuts),
        f"a tongue planed to about {middle - STEP_MM / 2:.3f} mm (measured with a micrometer): how "
        f"many of the {2 * STEPS + 1} slots it enters by hand",
        {"entered": STEPS + 1},
        f"coupon, widest_mm = {middle + STEPS * STEP_MM:.2f}",
    )
