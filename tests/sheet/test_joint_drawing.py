"""The joint put together and apart: held against the dry fit and the way it slides."""

from __future__ import annotations

import numpy as np
import pytest

import jointgeo
from jointgeo.proof import dry_fit
from jointgeo.sheet import sheet_of_joint
from jointgeo.sheet.joint_drawing import joint_pictures, shortened
from jointgeo.sheet.model import JointSheet

from .samples import LappedStake, lines_of, points, scale_of, sheet_of

JOINTS = [
    (job, i) for job in ("bench", "chair", "planter") for i in range(len(sheet_of(job).joints))
]


@pytest.mark.parametrize(("job", "index"), JOINTS)
def test_shortening_takes_wood_off_far_ends_and_leaves_the_joint(job: str, index: int) -> None:
    """What the blanks both claim, and that nothing overlaps, is the same in short parts.

    A part that is cut on end loses its section times what its box lost, the rest of it being
    the same body; rounding of the kernel is 1e-3 mm³ and less.
    """
    data = sheet_of(job).joints[index].data
    short = shortened(data)
    whole, cut = dry_fit(data), dry_fit(short)
    assert cut.joint_mm3 == pytest.approx(whole.joint_mm3, rel=1e-9)
    assert cut.overlap_mm3 == pytest.approx(0.0, abs=1e-3)
    for before, after in zip(data["parts"], short["parts"], strict=True):
        lost = before["stock"]["length_mm"] - after["stock"]["length_mm"]
        assert lost >= 0
        if not any("rim" in box["name"] for box in before["layout"]):
            section = before["stock"]["width_mm"] * before["stock"]["thickness_mm"]
            name = before["part"]
            volumes = [fit.parts[name].volume_mm3 for fit in (whole, cut)]
            assert volumes[0] - volumes[1] == pytest.approx(section * lost, abs=1e-3)


def test_the_settings_that_were_given_are_left_alone() -> None:
    data = sheet_of("bench").joints[0].data
    before = [p["stock"]["length_mm"] for p in data["parts"]]
    shortened(data)
    assert [p["stock"]["length_mm"] for p in data["parts"]] == before


@pytest.mark.parametrize(("job", "index"), JOINTS)
def test_hidden_edges_are_dashed_and_seen_ones_are_not(job: str, index: int) -> None:
    for drawing in joint_pictures(sheet_of(job).joints[index]):
        seen, behind = lines_of(drawing, "seen"), lines_of(drawing, "behind")
        assert len(seen) > 10
        assert len(behind) > 3
        assert all(e.get("stroke-dasharray") is None for e in seen)
        assert all(e.get("stroke-dasharray") for e in behind)
        words = [w for w, _ in drawing.texts]
        assert {a.part for a in sheet_of(job).joints[index].settings.assembly} <= set(words)
        assert "face side" in words


def heights(joint: JointSheet) -> tuple[float, float]:
    """How high both pictures stand, in millimetres of the drawn thing."""
    out = []
    for drawing in joint_pictures(joint):
        ends = np.concatenate([points(e) for e in lines_of(drawing, "seen")])
        out.append(float(np.ptp(ends[:, 1])) / scale_of(drawing))
    return out[0], out[1]


def test_apart_means_clear_of_each_other() -> None:
    """A square tenon is drawn out straight down the page, seen 25° from above.

    It goes one and a half times its depth of 25 mm and three tenths of its width of 70 mm,
    of which the page shows the cosine. The post stands still.
    """
    tenon = jointgeo.joint_type("angled_tenon")
    joint = tenon.from_dict(
        tenon.examples()[0].to_dict() | {"width_angle_deg": 0.0, "thickness_angle_deg": 0.0}
    )
    sheet = sheet_of_joint(joint, jointgeo.load_fixture("porch")).joints[0]
    together, apart = heights(sheet)
    moved = (1.5 * 25.0 + 0.3 * 70.0) * np.cos(np.radians(25.0))
    assert apart - together == pytest.approx(moved, abs=0.02)


def test_a_strangers_joint_is_drawn_too() -> None:
    sheet = sheet_of_joint(LappedStake(), jointgeo.load_fixture("porch"))
    together, apart = joint_pictures(sheet.joints[0])
    assert together.title.startswith("lapped stake: put together, 1:")
    assert lines_of(apart, "seen")
