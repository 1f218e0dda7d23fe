"""An end that is trimmed and no more bears as a whole: a wrong setting shows as a gap there."""

from __future__ import annotations

from math import radians, tan

import pytest

from jointgeo.proof import dry_fit
from jointgeo.types.angled_butt import AngledButt

from .samples import solved

BUTT = AngledButt.examples()[0]


@pytest.mark.parametrize("hand", ["as_drawn", "mirrored"])
def test_a_plain_end_goes_together(hand: str) -> None:
    for joint in AngledButt.examples():
        fit = dry_fit(solved(joint, hand))
        assert fit.faults == ()
        assert any("cut end, end" in f.what for f in fit.findings)
        assert fit.overlap_mm3 == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize("wrong", [{"swivel_deg": 0.1}, {"tilt_deg": 0.1}])
def test_a_mis_set_angle_opens_it(wrong: dict[str, float]) -> None:
    """By the end's size times the angle: 60 mm (cut longer by its slope) over the swivel, 22 mm
    over the tilt; the post is as wide as the rail is thick, and carries all of it."""
    fit = dry_fit(solved(BUTT), wrong)
    size = 60 if "swivel_deg" in wrong else 22
    opening = size * tan(radians(0.1))
    assert not fit.goes_together
    assert fit.gap_mm + fit.press_mm == pytest.approx(opening, rel=0.05)


def test_the_rail_comes_off_the_post_and_cannot_go_on() -> None:
    data = solved(BUTT)
    data["drawing"]["slides"] = {"rail": [0.0, 0.0, -1.0]}
    fit = dry_fit(data)
    assert any("slide" in f.what for f in fit.faults)
