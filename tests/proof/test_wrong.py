"""What is wrong must not fit: signs flipped, right answers to other questions, parts missing.

Settings come from the library and are then spoilt one value at a time, so that each test
says which slip it would catch.
"""

from __future__ import annotations

import copy
from collections.abc import Callable

import attrs
import numpy as np
import pytest

import jointgeo
from jointgeo.proof import DryFit, dry_fit
from jointgeo.proof.finding import TOLERANCE_MM3

from .handmade import box
from .samples import BOX, BRIDLE, TENON, Settings, faults, named, setups, solved


@named
def test_unspoilt_they_fit(joint: jointgeo.JointType) -> None:
    assert dry_fit(solved(joint)).faults == ()


ANGLES = ("swivel_deg", "tilt_deg", "packing_deg")


@named
def test_a_sign_flipped_in_any_one_angle_is_caught(joint: jointgeo.JointType) -> None:
    flipped = []
    for i, j in setups(solved(joint)):
        for angle in ANGLES:
            settings = solved(joint)
            setup = settings["parts"][i]["setups"][j]
            if abs(setup[angle]) < 0.01:
                continue  # nothing to flip
            setup[angle] *= -1
            fit = dry_fit(settings)
            assert fit.verdict == "does not go together", (i, j, angle)
            assert _visible(fit), (i, j, angle)
            flipped.append(angle)
    # Each type turns on both axes in every setup; of a tenon's two one needs packing too.
    wanted = {"splayed_bridle": 2, "angled_tenon": 5, "angled_box_joint": 4}
    assert len(flipped) == wanted[joint.name]


def _visible(fit: DryFit) -> bool:
    """A person would see it: 0.1 mm open or tight, or a face that is not there at all."""
    off = [abs(f.measured) for f in fit.faults if f.measured is not None and f.unit == "mm"]
    return max(off, default=0.0) > 0.1 or any(f.measured is None for f in fit.faults)


@named
@pytest.mark.parametrize("angle", ANGLES)
@pytest.mark.parametrize("off", [0.05, -0.05])
def test_a_twentieth_of_a_degree_is_seen(joint: jointgeo.JointType, angle: str, off: float) -> None:
    for i, j in setups(solved(joint)):
        settings = solved(joint)
        settings["parts"][i]["setups"][j][angle] += off
        assert dry_fit(settings).verdict == "does not go together", (i, j)


@named
def test_a_sign_flipped_in_a_pose_is_caught(joint: jointgeo.JointType) -> None:
    """Turned by half a turn about one of its own axes a pose is still a rotation."""
    for index in (0, 1):
        for axis in range(3):
            settings = solved(joint)
            pose = np.array(settings["assembly"][index]["pose"])
            for column in {0, 1, 2} - {axis}:
                pose[:3, column] *= -1
            settings["assembly"][index]["pose"] = pose.tolist()
            faults(settings)


@pytest.mark.parametrize(
    ("joint", "field", "change"),
    [
        (BRIDLE, "splay_along_deg", 0.5),
        (BRIDLE, "splay_along_deg", -24.0),
        (BRIDLE, "splay_across_deg", 0.5),
        (BRIDLE, "splay_across_deg", -16.0),
        (TENON, "width_angle_deg", 0.5),
        (TENON, "width_angle_deg", -10.0),
        (TENON, "thickness_angle_deg", 0.5),
        (TENON, "thickness_angle_deg", -16.0),
        (BOX, "plan_corner_deg", 0.5),
        (BOX, "plan_corner_deg", 15.0),
        (BOX, "slope_deg", 0.5),
        (BOX, "slope_deg", -30.0),
    ],
)
def test_a_right_answer_to_another_angle_is_caught(
    joint: jointgeo.JointType, field: str, change: float
) -> None:
    """All of it solved for one angle, held against what is drawn for another."""
    asked = attrs.evolve(joint, **{field: getattr(joint, field) + change})
    said = faults(solved(joint) | {"drawing": solved(asked)["drawing"]})
    assert any("that is drawn and the settings take" in what for what in said)


@named
def test_a_clearance_far_above_the_fit_is_caught(joint: jointgeo.JointType) -> None:
    loose = attrs.evolve(joint, fit_mm=joint.fit_mm + 0.8)
    fit = dry_fit(solved(loose) | {"drawing": solved(joint)["drawing"]})
    assert fit.verdict == "does not go together"
    assert fit.overlap_mm3 < TOLERANCE_MM3
    # Each stated gap is a half of the fit: two cheeks of a socket or a slot.
    assert fit.gap_mm == pytest.approx(0.4, abs=1e-6)


@named
def test_a_missing_mate_is_caught(joint: jointgeo.JointType) -> None:
    for index in (0, 1):
        settings = solved(joint)
        gone = settings["parts"].pop(index)["part"]
        said = faults(settings)
        assert f"{gone}: there are settings for this part" in said
        assert "parts put together" in said
        assert f"{gone}: is drawn, and there are settings for it" in said


@named
def test_a_part_without_a_place_is_caught(joint: jointgeo.JointType) -> None:
    for index in (0, 1):
        settings = solved(joint)
        gone = settings["assembly"].pop(index)["part"]
        assert f"{gone}: has a place in the assembly" in faults(settings)


def test_a_part_that_is_not_drawn_is_caught() -> None:
    settings = solved(BRIDLE)
    spare = copy.deepcopy(settings["parts"][0]) | {"part": "spare"}
    pose = copy.deepcopy(settings["assembly"][0]) | {"part": "spare"}
    pose["pose"][0][3] += 5000
    settings["parts"].append(spare)
    settings["assembly"].append(pose)
    assert list(faults(settings)) == ["spare: is drawn"]


@named
def test_settings_of_the_other_hand_are_caught(joint: jointgeo.JointType) -> None:
    other = solved(joint, "mirrored")
    assert dry_fit(other).faults == ()
    said = faults(solved(joint) | {"drawing": other["drawing"]})
    assert any("that is drawn and the settings take" in what for what in said)


@named
@pytest.mark.parametrize(
    "matrix",
    [
        pytest.param(np.diag([-1.0, 1, 1, 1]), id="mirrored"),
        pytest.param(np.diag([1.001, 1.001, 1.001, 1]), id="larger"),
        pytest.param(np.eye(4) + 0.01 * np.eye(4, k=1) * [[0], [1], [0], [0]], id="sheared"),
        pytest.param(np.diag([1.0, 1, 0, 1]), id="flat"),
        pytest.param(np.eye(4) + 0.1 * np.eye(4, k=-3), id="projective"),
    ],
)
def test_a_pose_that_is_no_rotation_is_caught(
    joint: jointgeo.JointType, matrix: np.ndarray
) -> None:
    for index in (0, 1):
        settings = solved(joint)
        placed = settings["assembly"][index]
        placed["pose"] = (np.array(placed["pose"]) @ matrix).tolist()
        assert f"{placed['part']}: its pose is a rotation" in faults(settings)


SLIPS: dict[str, Callable[[Settings], None]] = {
    "trim_mm": lambda s: s.update(trim_mm=s["trim_mm"] + 0.3),
    "kerf_mm": lambda s: s.update(kerf_mm=s["kerf_mm"] + 0.1),
    "depth_mm": lambda s: [c.update(depth_mm=c["depth_mm"] + 0.1) for c in s["cuts"]],
    "travel_mm": lambda s: [p.update(travel_mm=p["travel_mm"] + 0.1) for p in passes(s)],
    "the other side on the plate": lambda s: s.update(against_plate=OTHER[s["against_plate"]]),
}
OTHER = {
    "back": "face_side",
    "face_side": "back",
    "face_edge": "back_edge",
    "back_edge": "face_edge",
}


def passes(setup: Settings) -> list[Settings]:
    return [p for c in setup["cuts"] for p in c["passes"]]


@named
@pytest.mark.parametrize("slip", SLIPS.values(), ids=SLIPS)
def test_every_number_of_a_setup_counts(
    joint: jointgeo.JointType, slip: Callable[[Settings], None]
) -> None:
    for i, j in setups(solved(joint)):
        settings = solved(joint)
        slip(settings["parts"][i]["setups"][j])
        faults(settings)


@pytest.mark.parametrize(
    ("joint", "index", "key"),
    [
        # A wider mortised piece, or a board with more above its upper rim, would still fit.
        (BRIDLE, 0, "width_mm"),
        (BRIDLE, 0, "thickness_mm"),
        (BRIDLE, 1, "width_mm"),
        (BRIDLE, 1, "thickness_mm"),
        (TENON, 0, "width_mm"),
        (TENON, 0, "thickness_mm"),
        (BOX, 0, "thickness_mm"),
        (BOX, 1, "thickness_mm"),
    ],
)
def test_a_blank_of_another_section_is_caught(
    joint: jointgeo.JointType, index: int, key: str
) -> None:
    settings = solved(joint)
    settings["parts"][index]["stock"][key] += 2.0
    faults(settings)


@named
@pytest.mark.parametrize("more", [2.0, -2.0])
def test_a_blank_of_another_length_is_caught(joint: jointgeo.JointType, more: float) -> None:
    for index in (0, 1):
        settings = solved(joint)
        settings["parts"][index]["stock"]["length_mm"] += more
        name = settings["parts"][index]["part"]
        what = "leave where none is drawn" if more > 0 else "that is drawn and the settings take"
        assert [w for w in faults(settings) if w.startswith(f"{name}: wood") and w.endswith(what)]


def test_the_face_edge_on_the_other_side_is_caught() -> None:
    """x_from decides which edge lies on the plate, where an edge does."""
    settings = solved(TENON)
    assert settings["parts"][0]["setups"][1]["against_plate"].endswith("_edge")
    settings["parts"][0]["stock"]["x_from"] = "back_edge"
    faults(settings)


def test_wood_where_nothing_should_be_is_caught() -> None:
    settings = solved(TENON)
    # 30 mm out along the shoulder's inward normal from the middle: inside the rail.
    space = box("a peg's way", (-2, -2, 28), (2, 2, 32))
    settings["drawing"]["empty"].append(space)
    wood = faults(settings)["wood of rail in a peg's way"]
    assert wood.measured == pytest.approx(4 * 4 * 4, abs=1e-6)


@named
def test_a_drawing_of_bare_bars_is_no_proof(joint: jointgeo.JointType) -> None:
    """The same bars with nothing cut, in drawing and settings alike."""
    settings = solved(joint)
    for piece in settings["parts"]:
        piece["setups"], piece["layout"] = [], []
    settings["drawing"] |= {"notches": [], "pockets": [], "empty": []}
    assert "faces that bear" in faults(settings)


def test_a_mirrored_frame_of_the_drawing_is_caught() -> None:
    settings = solved(TENON)
    for what, where in (("pockets", "mortise of mortised piece"), ("empty", "glue room")):
        spoilt = copy.deepcopy(settings)
        for row in spoilt["drawing"][what][0]["frame"][:3]:
            row[2] *= -1
        assert f"drawing, {where}: its frame is a rotation" in faults(spoilt)


def test_an_end_plane_along_the_grain_is_caught() -> None:
    settings = solved(BRIDLE)
    notch = settings["drawing"]["notches"][0]
    pose = np.array(settings["drawing"]["bars"][0]["pose"])
    notch["end"]["normal"], notch["across"] = pose[:3, 0].tolist(), pose[:3, 1].tolist()
    assert "drawing, leg: end planes that cross its grain" in faults(settings)


def test_a_housing_that_the_leg_does_not_cover_is_seen() -> None:
    """The leg's side lies inside the rail's face: the housing is open there. Every parameter is
    as asked for, and the bars touch wherever they meet; only the type's own check says it too."""
    joint = attrs.evolve(
        BRIDLE,
        leg_width_mm=42.7,
        splay_across_deg=12.4,
        rail_thickness_mm=24,
        tongue_thickness_mm=18.5,
        rail_depth_mm=52,
    )
    assert [c.name for c in joint.checks() if c.status == "fail"] == ["housing_covered"]
    fit = dry_fit(solved(joint))
    assert [f.what for f in fit.faults] == ["rail: open space where it was cut"]
    # Half across the leg, square to its own side n = (0.97765, -0.04371, -0.20566), are 21.35 mm:
    # 21.838 across the rail. The leg's middle line is 52 · tan 12.4° = 11.433 mm off at the rail's
    # lower edge, so the side lies 10.405 from the middle there, and the face at 12: 1.595 mm deep.
    # Along the rail, v from the leg's middle, deeper by 0.04471 · v; upwards shallower by tan 12.4°
    # = 0.21986. Over v from -22.49 to 22.49, which is 44 / cos 12° / 2:
    wedges = (1.595**2 * 44.98 + 0.04471**2 * 2 * 22.49**3 / 3) / (2 * 0.21986)
    assert fit.open_mm3 == pytest.approx(wedges, rel=2e-3)  # of four digits
