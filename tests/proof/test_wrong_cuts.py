"""What is cut wrongly must not fit: passes, depths, trims, layouts, a finger cut off.

As in ``test_wrong``, settings of the library with one value spoilt.
"""

from __future__ import annotations

import numpy as np
import pytest

import jointgeo
from jointgeo.proof import dry_fit
from jointgeo.proof.faces import Facets, flat

from .handmade import alone, part
from .samples import BRIDLE, TENON, faults, named, setups, solved


@named
def test_passes_that_leave_wood_standing_are_caught(joint: jointgeo.JointType) -> None:
    """Any one pass left out, of every cut."""
    tried = 0
    for i, j in setups(solved(joint)):
        for k, cut in enumerate(solved(joint)["parts"][i]["setups"][j]["cuts"]):
            for drop in range(len(cut["passes"])):
                settings = solved(joint)
                settings["parts"][i]["setups"][j]["cuts"][k]["passes"].pop(drop)
                if cut["outer"] and drop in (0, len(cut["passes"]) - 1):
                    continue  # it may lie outside the wood, and not be missed at all
                said = faults(settings)
                what = f"clamping {j + 1}, cut {k + 1}: wood its passes leave standing"
                assert what in said
                tried += 1
    assert tried >= 4


def test_a_pass_that_goes_too_far_is_caught() -> None:
    settings = solved(TENON)
    cuts = settings["parts"][0]["setups"][0]["cuts"]
    cuts[0]["passes"][-1]["travel_mm"] += 0.4  # towards the tenon
    said = faults(settings)
    beside = said["clamping 1, cut 1: wood its passes take beside it"]
    assert beside.measured == pytest.approx(0.4, abs=1e-6)


@named
def test_a_cut_outside_the_stock_is_caught(joint: jointgeo.JointType) -> None:
    for i, j in setups(solved(joint)):
        settings = solved(joint)
        cut = settings["parts"][i]["setups"][j]["cuts"][0]
        for key in ("left_mm", "right_mm"):
            cut[key] += 1000
        for one in cut["passes"]:
            one["travel_mm"] += 1000
        assert f"clamping {j + 1}, cut 1: wood in its way" in faults(settings)


def test_a_layout_outside_the_stock_is_caught() -> None:
    settings = solved(TENON)
    settings["parts"][1]["layout"][0]["frame"][1][3] -= 500
    assert "layout mortise: wood in its way" in faults(settings)


def test_a_mirrored_layout_frame_is_caught() -> None:
    settings = solved(BRIDLE)
    for row in settings["parts"][1]["layout"][0]["frame"][:3]:
        row[2] *= -1
    assert "layout housing: its frame is a rotation" in faults(settings)


@named
def test_any_one_cut_too_deep_is_caught(joint: jointgeo.JointType) -> None:
    """Undercut, a shoulder or a floor leaves a gap that no part's blank claims."""
    haunch_end = (0, 0, 1)  # with room beyond it on purpose: the settings alone say it
    for i, j in setups(solved(joint)):
        for k in range(len(solved(joint)["parts"][i]["setups"][j]["cuts"])):
            settings = solved(joint)
            settings["parts"][i]["setups"][j]["cuts"][k]["depth_mm"] += 0.1
            fit = dry_fit(settings)
            assert fit.verdict == "does not go together", (i, j, k)
            if joint is TENON and (i, j, k) == haunch_end:
                assert fit.gap_mm == pytest.approx(0.0, abs=1e-6)
            else:
                assert fit.gap_mm == pytest.approx(0.1, abs=1e-6), (i, j, k)


def test_a_trim_too_shallow_for_the_square_end_is_caught() -> None:
    settings = solved(BRIDLE)
    settings["parts"][0]["setups"][0]["trim_mm"] = 5.0
    said = faults(settings)
    room = said["clamping 1: trim plane above the highest corner of the square end"]
    # The end's spread: 44 mm of thickness by sin 12° and 66 of width by sin 7.8274° · cos 12°.
    spread = 44 * 0.207912 + 66 * 0.136187 * 0.978148
    assert room.measured == pytest.approx(5.0 - spread, abs=1e-3)


def test_nothing_left_to_touch_off_is_caught() -> None:
    settings = solved(TENON)
    first = settings["parts"][0]["setups"][0]
    cut = first["cuts"][0]
    cut["right_mm"] = 200.0
    cut["passes"] = [{"travel_mm": float(t)} for t in np.arange(0, 201, 2)]
    assert "clamping 2: corner to touch off" in faults(settings)


def test_a_finger_cut_off_at_its_root_is_caught() -> None:
    """On a steep corner the end finger of the thick board runs out over the board's edge."""
    joint = jointgeo.joint_type("angled_box_joint")(
        board_width_mm=100,
        thickness_a_mm=56,
        thickness_b_mm=8,
        length_a_mm=900,
        length_b_mm=900,
        plan_corner_deg=108,
        slope_deg=58,
        finger_count=9,
    )
    said = faults(solved(joint))
    pieces = said["pieces the part is in after cutting"]
    assert pieces.measured is not None
    assert pieces.measured > 1


@pytest.mark.parametrize("turn_deg", [0.0, 17.0, 31.0, -44.0])
def test_no_skin_is_left_over_a_mortise_that_ends_in_the_face(turn_deg: float) -> None:
    """Turned in the face, a box's end and the face agree but for rounding."""
    c, s = np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))
    across = np.array([[c, 0, s], [0, 1, 0], [-s, 0, c]])
    # The face itself leans in the box's frame, so that no coordinate is a round number.
    frame = np.eye(4)
    frame[:3, :3] = across @ np.linalg.inv(across) @ across
    frame[:3, 3] = [20.0, 27.0 / 2, 100.0]
    mortise = {"name": "mortise", "frame": frame.tolist(), "size_mm": [10.0, 27.0, 40.0]}
    blank = part("post", (40, 50, 200), layout=[mortise])
    post = dry_fit(alone(blank)).parts["post"]
    assert post.volume_mm3 == pytest.approx(40 * 50 * 200 - 10 * 27 * 40, abs=1e-6)
    outwards = np.array([0.0, -1.0, 0.0])
    seen = Facets(post).near(outwards, np.zeros(3), 1e-6)
    assert len(seen) == 1
    axes = np.array([[1.0, 0, 0], [0, 0, 1.0]])
    # The face side less the mortise's mouth, and no skin over it.
    assert flat(seen[0], axes).area_mm2 == pytest.approx(40 * 200 - 10 * 40, abs=1e-5)
